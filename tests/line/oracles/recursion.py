"""The line of single stations as a recursion of sums and maxima: no clock, no event, no state.

Job n leaves station i when it is done there and job n - places - 1 has left station i + 1. Only sums and maxima
of given times appear, so a simulation that is fed the same times must give the same answer.
"""

from collections.abc import Sequence
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
UNLIMITED = 10**9


def departures(
    times: Floats,
    places: Sequence[int],
    *,
    arrivals: Floats | None = None,
    rests: Sequence[float] | None = None,
) -> Floats:
    """Return the instant each job leaves each station, shape (jobs, stations).

    Parameters
    ----------
    times : What each job takes at each station, shape (jobs, stations).
    places : Jobs that fit between station i and i + 1; `UNLIMITED` for no bound.
    arrivals : Instants at which the jobs come to the first station; all at 0 when left out.
    rests : Time a job must lie before each station before it may be taken there; 0 when left out.
    """
    jobs, stations = times.shape
    ready = np.zeros(jobs) if arrivals is None else arrivals
    lie = [0.0] * stations if rests is None else list(rests)
    left, begun = np.zeros((jobs, stations)), np.zeros((jobs, stations))
    for job in range(jobs):
        reached = float(ready[job])
        for station in range(stations):
            free = left[job - 1, station] if job else 0.0
            begun[job, station] = max(reached + lie[station], free)
            done = begun[job, station] + times[job, station]
            left[job, station] = reached = max(done, _room(left, begun, places, job, station))
    return left


def _room(left: Floats, begun: Floats, places: Sequence[int], job: int, station: int) -> float:
    """Return the instant from which this job finds room behind the station.

    A place is free once a job has been taken from it; without places the next station itself must be free.
    """
    if station == len(places):
        return 0.0
    if places[station] == 0:
        return float(left[job - 1, station + 1]) if job else 0.0
    before = job - places[station]
    return float(begun[before, station + 1]) if before >= 0 else 0.0


def drawn_out(times: Floats, lives: Floats, repairs: Floats) -> Floats:
    """Return the times of the jobs of one station with its stops in them.

    The station stops each time it has worked through the next life; the job then waits for the repair.
    """
    fails_at = np.cumsum(lives)
    done = np.cumsum(times)
    if fails_at[-1] < done[-1]:
        raise ValueError(f"the lives given end at {fails_at[-1]:g}, before the work does at {done[-1]:g}: give more")
    stops = np.searchsorted(fails_at, done, side="left")
    lost = np.concatenate(([0.0], np.cumsum(repairs)))[stops]
    return np.asarray(times + np.diff(lost, prepend=0.0), dtype=np.float64)


def makespan(times: Floats, places: Sequence[int]) -> float:
    """Return the instant the last job leaves the last station."""
    return float(departures(times, places)[-1, -1])


def sequences(times: Floats, places: Sequence[int]) -> dict[tuple[int, ...], float]:
    """Return the makespan of every order in which the jobs can be run. Meant for at most seven jobs."""
    return {order: makespan(times[list(order)], places) for order in permutations(range(len(times)))}


def waits(gaps: Floats, times: Floats) -> Floats:
    """Return how long each job waits before one machine: gaps between arrivals, times of service (Lindley).

    `gaps[0]` is the instant of the first arrival. The first job does not wait.
    """
    walk = np.concatenate(([0.0], np.cumsum(times[:-1] - gaps[1:])))
    return np.asarray(walk - np.minimum.accumulate(walk), dtype=np.float64)
