"""A tandem of exponential stations with few places between them, as SimPy processes and in ciw, a queueing library."""

from collections.abc import Generator, Sequence
from typing import Any

import numpy as np
import simpy


def run_by_simpy(stations: int, places: int, coils: int, seed: int = 2026) -> float:
    """Run until so many coils have left, a coil always ready; return the time taken in mean service times.

    One process a station; a finished coil is put into the next gap, and the station waits while that is full.
    """
    env = simpy.Environment()
    gaps = [simpy.Store(env, places) for _ in range(stations - 1)]
    times = np.random.default_rng(seed).exponential(1.0, (stations, coils)).tolist()
    done = env.event()
    for i in range(stations):
        take = gaps[i - 1] if i else None
        give = gaps[i] if i < stations - 1 else None
        env.process(_station(env, take, give, times[i], done))
    env.run(done)
    return float(env.now)


def _station(
    env: simpy.Environment,
    take: simpy.Store | None,
    give: simpy.Store | None,
    times: Sequence[float],
    done: simpy.Event,
) -> Generator[simpy.Event, Any, None]:
    for coil, time in enumerate(times):
        if take is not None:
            yield take.get()
        yield env.timeout(time)
        if give is not None:
            yield give.put(coil)
    if give is None:
        done.succeed()


def run_by_ciw(stations: int, places: int, until: float, seed: int = 2026) -> int:
    """Run to a time in mean service times, coils coming at random, seven in ten services; return how many left.

    Raises
    ------
    ImportError : ciw is not installed: it comes with what the tests use.
    """
    import ciw

    ciw.seed(seed)
    network = ciw.create_network(
        arrival_distributions=[ciw.dists.Exponential(0.7)] + [None] * (stations - 1),
        service_distributions=[ciw.dists.Exponential(1.0)] * stations,
        number_of_servers=[1] * stations,
        queue_capacities=[float("inf")] + [places] * (stations - 1),
        routing=np.eye(stations, k=1).tolist(),
    )
    simulation = ciw.Simulation(network)
    simulation.simulate_until_max_time(until)
    return len(simulation.nodes[-1].all_individuals)
