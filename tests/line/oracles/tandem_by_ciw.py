"""The same tandem run by ciw, a library for networks of queues that others have written.

ciw blocks as we do: a customer who is done stays with the server until there is room behind (its documentation
calls it type I blocking).
"""

from collections.abc import Sequence

import ciw
import numpy as np


def mean_stay(
    gap: float, times: Sequence[float], places: Sequence[int], *, until: float, warm_up: float, seed: int
) -> float:
    """Return the mean time a customer spends in a line with Poisson arrivals and exponential times.

    `gap` is the mean time between arrivals, `times` the mean times of the stations and `places[i]` the room between
    station i and i + 1; the first queue has no bound. Only those who came after the warm-up and have left count.
    """
    ciw.seed(seed)
    count = len(times)
    onward = np.eye(count, k=1).tolist()
    network = ciw.create_network(
        arrival_distributions=[ciw.dists.Exponential(1.0 / gap)] + [None] * (count - 1),
        service_distributions=[ciw.dists.Exponential(1.0 / time) for time in times],
        number_of_servers=[1] * count,
        queue_capacities=[float("inf"), *places],
        routing=onward,
    )
    simulation = ciw.Simulation(network)
    simulation.simulate_until_max_time(until)
    records = simulation.get_all_records()
    came = {record.id_number: record.arrival_date for record in records if record.node == 1}
    stays = [r.exit_date - came[r.id_number] for r in records if r.node == count and came[r.id_number] > warm_up]
    return float(np.mean(stays))
