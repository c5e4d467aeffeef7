"""The exact Markov chain of a line of exponential stations with few places between them.

The first station always finds a part and the last always a place. A finished part stays on its station until the
next place is free (blocking after service).

References
----------
F. S. Hillier and R. W. Boling, Finite queues in series, Operations Research 15, 1967, pp. 286-303 (from memory).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Parts = tuple[int, ...]


@dataclass(frozen=True)
class Tandem:
    """Parts made in a unit of time, and the shares of time each station stands blocked or starved."""

    output: float
    blocked: NDArray[np.float64]
    starved: NDArray[np.float64]


def exponential_tandem(rates: Sequence[float], places: Sequence[int]) -> Tandem:
    """Solve the chain: `places[i]` parts fit between station i and station i + 1.

    A state holds, for each station but the first, the parts waiting before it, on it, and held back on the station
    behind it: so `places + 2` means that the station behind is blocked.
    """
    if len(places) != len(rates) - 1:
        raise ValueError(f"{len(rates)} stations have {len(rates) - 1} gaps between them, but {len(places)} are given")
    full = tuple(room + 2 for room in places)
    states = _reachable(full)
    generator = np.zeros((len(states), len(states)))
    for state, row in states.items():
        for station in _working(state, full):
            generator[row, states[_finish(state, station, full)]] += rates[station]
            generator[row, row] -= rates[station]
    balance = np.vstack([generator.T, np.ones(len(states))])
    shares = np.linalg.lstsq(balance, np.append(np.zeros(len(states)), 1.0), rcond=None)[0]
    return _figures(states, shares, rates, full)


def _blocked(state: Parts, station: int, full: Parts) -> bool:
    return station < len(state) and state[station] == full[station]


def _starved(state: Parts, station: int) -> bool:
    return station > 0 and state[station - 1] == 0


def _working(state: Parts, full: Parts) -> Iterator[int]:
    return (i for i in range(len(full) + 1) if not _blocked(state, i, full) and not _starved(state, i))


def _finish(state: Parts, station: int, full: Parts) -> Parts:
    """Return the state after this station has finished the part it works on."""
    parts = list(state)
    if station < len(full):
        parts[station] += 1
        if parts[station] == full[station]:
            return tuple(parts)
    _leave(parts, station, full)
    return tuple(parts)


def _leave(parts: list[int], station: int, full: Parts) -> None:
    """Take one part away from a station, and let every part that this frees move up."""
    while station > 0:
        held_back = parts[station - 1] == full[station - 1]
        parts[station - 1] -= 1
        if not held_back:
            return
        station -= 1


def _reachable(full: Parts) -> dict[Parts, int]:
    empty: Parts = (0,) * len(full)
    states = {empty: 0}
    to_visit = [empty]
    while to_visit:
        state = to_visit.pop()
        for station in _working(state, full):
            following = _finish(state, station, full)
            if following not in states:
                states[following] = len(states)
                to_visit.append(following)
    return states


def _figures(states: dict[Parts, int], shares: NDArray[np.float64], rates: Sequence[float], full: Parts) -> Tandem:
    blocked, starved = np.zeros(len(rates)), np.zeros(len(rates))
    for state, row in states.items():
        for station in range(len(rates)):
            blocked[station] += shares[row] * _blocked(state, station, full)
            starved[station] += shares[row] * _starved(state, station)
    return Tandem(float(rates[-1] * (1.0 - starved[-1])), blocked, starved)
