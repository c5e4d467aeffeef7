"""Closed forms for single queues, effective process times, machine repair and closed loops.

Times and rates share one unit of time, which the caller chooses.

References
----------
D. Gross and C. M. Harris, Fundamentals of Queueing Theory, chapters 2 and 5 (from memory).
W. J. Hopp and M. L. Spearman, Factory Physics, chapters 7 and 8 (from memory).
M. Reiser and S. S. Lavenberg, Mean-value analysis of closed multichain queueing networks, Journal of the ACM 27, 1980
(from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Queue:
    """What a queue in its steady state shows to an observer.

    `idle` and `turned_away` are shares; `waiting` and `present` are mean numbers; `wait` and `stay` are mean times
    of those who were let in; `must_wait` is the share of arrivals let in that find no free machine.
    """

    idle: float
    waiting: float
    present: float
    wait: float
    stay: float
    must_wait: float
    turned_away: float
    throughput: float


def birth_death(births: Sequence[float], deaths: Sequence[float]) -> Floats:
    """Return the steady shares of the states 0..n of a birth and death process.

    `births[k]` is the rate from k to k + 1 and `deaths[k]` the rate from k + 1 to k.
    """
    ratios = np.concatenate(([1.0], np.cumprod(np.asarray(births) / np.asarray(deaths))))
    return np.asarray(ratios / ratios.sum(), dtype=np.float64)


def exponential_queue(arrival: float, service: float, machines: int = 1, places: int = 6000) -> Queue:
    """Return the exponential queue with so many machines and so many places in all (waiting and at work).

    `arrival` is the rate of arrivals and `service` the rate of one machine. Those who find no place are turned away.
    """
    shares = birth_death([arrival] * places, [service * min(k + 1, machines) for k in range(places)])
    number = np.arange(places + 1)
    present = float(shares @ number)
    waiting = float(shares @ np.maximum(number - machines, 0))
    throughput = arrival * (1.0 - float(shares[-1]))
    return Queue(
        idle=float(shares[0]),
        waiting=waiting,
        present=present,
        wait=waiting / throughput,
        stay=present / throughput,
        must_wait=float(shares[machines:-1].sum()) / (1.0 - float(shares[-1])),
        turned_away=float(shares[-1]),
        throughput=throughput,
    )


def general_queue(arrival: float, mean: float, scv: float) -> Queue:
    """Return the queue of one machine with any service time (Pollaczek and Khinchine).

    `mean` is the mean service time and `scv` its squared coefficient of variation; arrivals are Poisson.
    """
    load = arrival * mean
    if load >= 1.0:
        raise ValueError(f"the machine is loaded {load:g} times over: the queue has no steady state")
    wait = (1.0 + scv) / 2.0 * load / (1.0 - load) * mean
    return Queue(1.0 - load, arrival * wait, arrival * (wait + mean), wait, wait + mean, load, 0.0, arrival)


def with_stops(mean: float, scv: float, up: float, down: float, down_scv: float) -> tuple[float, float]:
    """Return mean and squared coefficient of variation of a process time that random stops draw out.

    `up` is the mean working time between stops (exponential, counted while working), `down` the mean stop.
    """
    share_up = up / (up + down)
    drawn_out = mean / share_up
    return drawn_out, scv + (1.0 + down_scv) * share_up * (1.0 - share_up) * down / mean


def with_changes(mean: float, cv: float, jobs: float, change: float, change_cv: float) -> tuple[float, float]:
    """Return mean and variance of a process time that takes in one change after `jobs` jobs on average."""
    variance = (cv * mean) ** 2 + (change_cv * change) ** 2 / jobs + (jobs - 1.0) / jobs**2 * change**2
    return mean + change / jobs, variance


def many_machines_wait(machines: int, load: float, time: float, arrival_scv: float, scv: float) -> float:
    """Return the approximate mean wait before several equal machines (Sakasegawa 1977)."""
    crowding = load ** (np.sqrt(2.0 * (machines + 1)) - 1.0) / (machines * (1.0 - load))
    return float((arrival_scv + scv) / 2.0 * crowding * time)


def machine_repair(machines: int, repairers: int, life: float, repair: float) -> Floats:
    """Return the shares of time with 0, 1, ... machines down, for exponential lives and repairs."""
    births = [(machines - k) / life for k in range(machines)]
    deaths = [min(k + 1, repairers) / repair for k in range(machines)]
    return birth_death(births, deaths)


def closed_loop(demands: Sequence[float], jobs: int) -> tuple[float, Floats]:
    """Return throughput and mean numbers at each station of a loop that holds `jobs` jobs (mean value analysis).

    `demands` are the mean times of a visit; each station is one machine with exponential times, first come first.
    """
    visit = np.asarray(demands, dtype=np.float64)
    number = np.zeros_like(visit)
    throughput = 0.0
    for present in range(1, jobs + 1):
        stay = visit * (1.0 + number)
        throughput = present / float(stay.sum())
        number = throughput * stay
    return throughput, number
