"""Metal that runs as a stream through stations with a looper between them: exact answers and an own simulator.

A station runs at most at its speed; it is slowed by an empty store before it or a full one behind it. Lives count
what has passed, so that a slowed station fails more rarely and a still one never.

References
----------
S. B. Gershwin, Manufacturing Systems Engineering, 1994, chapter 3 (from memory).
Y. Dallery and S. B. Gershwin, Manufacturing flow line systems, Queueing Systems 12, 1992 (abstract seen).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

Floats = NDArray[np.float64]
BOTH_UP, SECOND_DOWN, FIRST_DOWN, BOTH_DOWN = range(4)


def equal_pair(repair: float, fail: float, speed: float, size: float) -> float:
    """Return the output of two equal stations with a looper of this size (closed form).

    `repair` is the rate of repairs, `fail` that of failures while running at full speed.
    """
    both = repair + fail
    hours = size / speed
    return speed * repair * (hours * both + 2.0) / (hours * both**2 + 2.0 * (both + fail))


@dataclass(frozen=True)
class Station:
    """One station of a pair: its speed, and its rates of failure (at full speed) and of repair."""

    speed: float
    fail: float
    repair: float


@dataclass(frozen=True)
class Pair:
    """Output in a unit of time, mean level of the looper, and the shares of time it is empty and full."""

    output: float
    level: float
    empty: float
    full: float


@dataclass(frozen=True)
class _Inside:
    """The densities inside the looper: those of the states that move the level grow by `growth`, the rest follow."""

    drift: Floats
    moving: NDArray[np.intp]
    carry: Floats
    growth: Floats
    size: float


def pair(first: Station, second: Station, size: float) -> Pair:
    """Solve the two stations and their looper exactly.

    Inside the looper the densities of the four states obey f' D = f Q, D being the speeds of the level; where a
    state leaves the level alone its density follows from the others. At both ends probability gathers in the states
    that press against them. Flow into and out of these masses, and a total of 1, fix everything.
    """
    inside = _inside(first, second, size)
    total, moment = _spread(inside.growth, size)
    solved = _boundary(first, second, inside, total)
    count = len(inside.moving)
    start, empty, full = solved[:count], solved[count : count + 4], solved[count + 4 :]
    shares = np.zeros(4)
    shares[inside.moving] = total @ start
    shares[inside.drift == 0.0] = inside.carry.T @ total @ start
    level = float((1.0 + inside.carry.sum(axis=1)) @ moment @ start + size * full.sum())
    runs = shares[BOTH_UP] + shares[FIRST_DOWN] + full[BOTH_UP] + full[FIRST_DOWN]
    output = second.speed * runs + min(first.speed, second.speed) * empty[BOTH_UP]
    return Pair(float(output), level, float(empty.sum()), float(full.sum()))


def _inside(first: Station, second: Station, size: float) -> _Inside:
    drift = np.array([first.speed - second.speed, first.speed, -second.speed, 0.0])
    rates = _rates(first, second, 1.0, 1.0, running=(True, True))
    moving, still = np.flatnonzero(drift), np.flatnonzero(drift == 0.0)
    carry = -rates[np.ix_(moving, still)] @ np.linalg.inv(rates[np.ix_(still, still)])
    reduced = rates[np.ix_(moving, moving)] + carry @ rates[np.ix_(still, moving)]
    return _Inside(drift, moving, carry, (reduced / drift[moving]).T, size)


def _rates(first: Station, second: Station, slow1: float, slow2: float, *, running: tuple[bool, bool]) -> Floats:
    """Return the rates between the states; `slow` is actual over nominal speed while both are up.

    `running` says whether a station goes on while its neighbour is down.
    """
    rates = np.zeros((4, 4))
    rates[BOTH_UP, FIRST_DOWN] = first.fail * slow1
    rates[BOTH_UP, SECOND_DOWN] = second.fail * slow2
    rates[SECOND_DOWN, BOTH_DOWN] = first.fail * running[0]
    rates[FIRST_DOWN, BOTH_DOWN] = second.fail * running[1]
    rates[FIRST_DOWN, BOTH_UP] = rates[BOTH_DOWN, SECOND_DOWN] = first.repair
    rates[SECOND_DOWN, BOTH_UP] = rates[BOTH_DOWN, FIRST_DOWN] = second.repair
    return rates - np.diag(rates.sum(axis=1))


def _ends(first: Station, second: Station) -> tuple[Floats, Floats]:
    """Return the rates between the states while the looper is empty, and while it is full."""
    common = min(first.speed, second.speed)
    empty = _rates(first, second, 1.0, common / second.speed, running=(True, False))
    full = _rates(first, second, common / first.speed, 1.0, running=(False, True))
    return empty, full


def _spread(growth: Floats, size: float) -> tuple[Floats, Floats]:
    """Return the integrals over the looper of expm(growth x) and of x expm(growth x)."""
    nodes, weights = np.polynomial.legendre.leggauss(80)
    level = (nodes + 1.0) * size / 2.0
    grown = np.array([expm(growth * x) for x in level])
    return np.tensordot(weights, grown, 1) * size / 2.0, np.tensordot(weights * level, grown, 1) * size / 2.0


def _boundary(first: Station, second: Station, inside: _Inside, total: Floats) -> Floats:
    """Solve for the densities at the empty end (moving states) and the masses at both ends (four states each)."""
    count = len(inside.moving)
    empty, full = _ends(first, second)
    across = expm(inside.growth * inside.size)
    rows = np.zeros((17, count + 8))
    for state in range(4):
        rows[state, count : count + 4] = empty[:, state]
        rows[4 + state, count + 4 :] = full[:, state]
        rows[8 + state, count + state] = inside.drift[state] > 0.0  # no mass where the level leaves the empty end
        rows[12 + state, count + 4 + state] = inside.drift[state] < 0.0  # nor where it leaves the full end
    for place, state in enumerate(inside.moving):
        rows[state, place] -= inside.drift[state]
        rows[4 + state, :count] += inside.drift[state] * across[place]
    rows[16] = 1.0
    rows[16, :count] = (1.0 + inside.carry.sum(axis=1)) @ total
    return np.asarray(np.linalg.lstsq(rows, np.append(np.zeros(16), 1.0), rcond=None)[0])


@dataclass(frozen=True)
class Flow:
    """What a simulated line has made, and the time integral of each store's level."""

    made: float
    level_time: Floats


def simulate_line(
    speeds: Sequence[float], sizes: Sequence[float], lives: Sequence[Floats], repairs: Sequence[Floats], until: float
) -> Flow:
    """Run a line of stations with stores between them, all stores empty at first, to a horizon.

    `lives[i]` are the amounts station i passes between its stops and `repairs[i]` the times of these stops, one
    after the other. Written for clearness: it finds the next event anew each time.
    """
    count = len(speeds)
    level, level_time = np.zeros(count - 1), np.zeros(count - 1)
    left = np.array([life[0] for life in lives])
    back_at = np.full(count, np.inf)
    used = [0] * count
    now = made = 0.0
    while now < until:
        speed = _speeds(speeds, sizes, level, np.isinf(back_at))
        step, station, kind = _next(speed, sizes, level, left, back_at - now)
        step = min(step, until - now)
        change = speed[:-1] - speed[1:]
        level_time += (level + change * step / 2.0) * step
        level += change * step
        left -= speed * step
        made += speed[-1] * step
        now += step
        if now >= until:
            break
        if kind == "level":
            level[station] = sizes[station] if change[station] > 0.0 else 0.0
        elif kind == "life":
            back_at[station] = now + repairs[station][used[station]]
        else:
            used[station] += 1
            left[station], back_at[station] = lives[station][used[station]], np.inf
    return Flow(made, level_time)


def _speeds(speeds: Sequence[float], sizes: Sequence[float], level: Floats, up: NDArray[np.bool_]) -> Floats:
    """Return the largest speeds that the full and the empty stores allow."""
    speed = np.where(up, speeds, 0.0)
    for _ in range(len(speeds)):
        for i in range(len(sizes)):
            if level[i] <= 0.0:
                speed[i + 1] = min(speed[i + 1], speed[i])
        for i, size in reversed(list(enumerate(sizes))):
            if level[i] >= size:
                speed[i] = min(speed[i], speed[i + 1])
    return speed


def _next(
    speed: Floats, sizes: Sequence[float], level: Floats, left: Floats, back_in: Floats
) -> tuple[float, int, str]:
    """Return the time to the next event, its station or store, and its kind."""
    found = [(float(t), i, "repair") for i, t in enumerate(back_in) if np.isfinite(t)]
    found += [(float(left[i] / speed[i]), i, "life") for i in range(len(speed)) if speed[i] > 0.0]
    change = speed[:-1] - speed[1:]
    room = [sizes[i] - level[i] if c > 0.0 else level[i] for i, c in enumerate(change)]
    found += [(float(room[i] / abs(c)), i, "level") for i, c in enumerate(change) if c != 0.0]
    return min(found)
