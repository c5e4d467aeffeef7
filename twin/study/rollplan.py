"""When to change rolls along a given sequence of coils, exactly.

Places are the ends of the coils, place 0 is now. An arc from one place to another means that one roll set rolls all
coils between them; it has a price. Without a limit on sets the cheapest plan is a shortest path. With few sets each
change needs one that is ready, which depends on the changes before: see `rollsearch`. Should that search ever run out
of room, the same arcs go into a mixed-integer program, which HiGHS (through scipy) proves: see `rollprogram`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from time import perf_counter
from typing import Any

import numpy as np

from twin.study.lifelaws import FloatArray
from twin.study.rollsearch import LEAST_S, Search
from twin.study.rollshop import Stock, follow

ROOM = 400  # courses kept at a place; 18 was the most that measured sequences needed


class NoPlanError(Exception):
    """There is no plan: its text says why, by places and times.

    Attributes
    ----------
    place : The last place that any plan reaches.
    why : "limit" where no set may run so far, "sets" where none is ready in time.
    ready : When the next set would be ready. [s]
    """

    def __init__(self, message: str, place: int, why: str, ready: float = inf) -> None:
        super().__init__(message)
        self.place, self.why, self.ready = place, why, ready


@dataclass(frozen=True)
class Problem:
    """The coils to come as places and arcs; an arc that may not be has an infinite price.

    Attributes
    ----------
    times : When each place is reached; place 0 is now. [n + 1], [s]
    first : Price of running the set on the mill up to each place and changing there. [n + 1]
    between : The same from a change at one place (row) to one at another (column). [n + 1, n + 1]
    last : Price of running from a change at each place to the end. [n + 1]
    stay : Price of no change at all.
    stock : Where the other sets are; None where sets are never short.
    """

    times: FloatArray
    first: FloatArray
    between: FloatArray
    last: FloatArray
    stay: float
    stock: Stock | None = None

    def __post_init__(self) -> None:
        size = len(self.times)
        shapes = self.first.shape, self.between.shape, self.last.shape
        if shapes != ((size,), (size, size), (size,)):
            raise ValueError(f"{size} places need arcs of {size}, {size} x {size} and {size}, not of {shapes}")
        if np.any(np.diff(self.times) < 0.0):
            raise ValueError("the places of a sequence must follow one another in time")


@dataclass(frozen=True)
class Plan:
    """The changes of a plan, by place, with its price."""

    places: tuple[int, ...]
    price: float


def cheapest(problem: Problem) -> Plan:
    """Return the cheapest plan, with or without scarce sets.

    Raises
    ------
    NoPlanError : None is possible; it says why.
    """
    free = shortest(problem)
    if problem.stock is None or not late(problem, free.places):
        return free
    return scarce(problem)


def scarce(problem: Problem, *, room: int = ROOM) -> Plan:
    """Return the cheapest plan in which every change finds a set ready, proved so.

    Parameters
    ----------
    room : How many courses the search may keep at a place before the program has to prove the plan.

    Raises
    ------
    NoPlanError : Sets are not ready in time, however the changes are laid.
    """
    shortest(problem)  # says so where there is no plan even with sets enough
    found = Search(problem, room).run()
    plan = None if found.places is None else Plan(found.places, found.price)
    if not found.proved:
        from twin.study.rollprogram import proved

        plan = proved(problem, most=found.price)
    if plan is None:
        raise NoPlanError(
            f"sets are too few: rolls must come off by place {found.reached}, and no set is ready then",
            found.reached,
            "sets",
            found.ready,
        )
    return plan


def shortest(problem: Problem) -> Plan:
    """Return the cheapest plan if a set were always ready: a shortest path over the places.

    Raises
    ------
    NoPlanError : A coil is longer than any set may run.
    """
    best, before = prices_from_now(problem)
    ends = best + problem.last
    end = int(ends.argmin())
    if min(float(ends[end]), problem.stay) == inf:
        raise _too_long(best)
    if problem.stay <= ends[end]:
        return Plan((), problem.stay)
    return Plan(_back(before, end), float(ends[end]))


def prices_from_now(problem: Problem) -> tuple[FloatArray, Any]:
    """Return the least price up to a change at each place if a set were always ready, and the change before it."""
    size = len(problem.times)
    best = problem.first.copy()
    before = np.full(size, -1)
    for place in range(1, size):
        ways = best[:place] + problem.between[:place, place]
        least = int(ways.argmin())
        if ways[least] < best[place]:
            best[place], before[place] = ways[least], least
    return best, before


def _back(before: Any, end: int) -> tuple[int, ...]:  # noqa: ANN401 - an array of whole numbers
    """Return the places of a path, first to last."""
    path = [end]
    while before[path[-1]] >= 0:
        path.append(int(before[path[-1]]))
    return tuple(reversed(path))


def _too_long(best: FloatArray) -> NoPlanError:
    reached = [place for place in range(len(best)) if best[place] < inf]
    place = reached[-1] if reached else 0
    return NoPlanError(
        f"no set may run from place {place} to the next: one coil alone is beyond the limit", place, "limit"
    )


def late(problem: Problem, places: Sequence[int]) -> bool:
    """Tell whether a change of a plan finds no set ready."""
    if problem.stock is None or not places:
        return False
    if problem.stock.others == 0:
        return True
    wished = [float(problem.times[place]) for place in places]
    course = follow(problem.stock, wished, 0, float(problem.times[0]), float(problem.times[-1]))
    return any(ready > wish + LEAST_S for ready, wish in zip(course.ready, wished, strict=True))


def time_planning(coils: int = 400, *, seed: int = 1, repeats: int = 3) -> dict[str, float]:
    """Return how long it takes to plan an invented sequence, without and with scarce sets. [s]"""
    from twin.study.rollarcs import example

    times = {}
    for name, few in (("without scarce sets", False), ("with scarce sets", True)):
        problem = example(coils, seed=seed, scarce=few)
        took = []
        for _ in range(repeats):
            begun = perf_counter()
            cheapest(problem)
            took.append(perf_counter() - begun)
        times[f"{coils} coils {name}"] = min(took)
    return times
