"""Futures of a plant from its present state, with roll changes as they are wished for; the same luck for every wish.

What the line delivers until an end is what a wish is judged by. A change that was wished for is made at the end of the
coil that comes nearest to it, or before where the mill stands, unless fresh rolls have come on for another reason
shortly before.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import inf

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.line.model import Scripts
from twin.line.steered import Steered
from twin.study.pool import Door, Here
from twin.study.rollnow import Present, future
from twin.study.stream import Stream

LOOK_S = 3600.0
BATCH = 4
KM = 1e3


@dataclass(frozen=True, slots=True)
class Wish:
    """When the rolls are wished to come off.

    Attributes
    ----------
    points : Strip through the mill from now on at which each change is due, in order; none for only at the limit. [km]
    slack : A coil that ends so much before a point is the last one before the change. [km]
    least : A set that has run less is not changed for a wish. [km]
    stands : Spells in which the mill is to stand besides. [s from now]
    """

    points: tuple[float, ...] = ()
    slack: float = 0.0
    least: float = 0.0
    stands: tuple[tuple[float, float], ...] = ()


AT_LIMIT = Wish()


@dataclass(frozen=True, slots=True)
class Played:
    """What one future gave: good mass until its end [t], and looks at the mill every hour.

    Attributes
    ----------
    km : Strip through the mill. [km]
    idle : Whether the mill stood with nothing to do.
    changes, damages : Counts at the end.
    """

    good: float
    km: FloatArray
    idle: FloatArray
    changes: int
    damages: int


Planner = Callable[[Steered, float, float], Sequence[float]]
"""Is asked at its times for the points of the changes to come, from the line, the time and the strip so far [km]."""


def play(
    now: Present, wish: Wish, run: int, *, seed: int, end: float, planner: Planner | None = None, every: float = inf
) -> Played:
    """Return one future.

    Parameters
    ----------
    run, seed : Its luck.
    end : Up to when it goes. [s from now]
    planner, every : Makes the points anew so often. [s]
    """
    scripts = Scripts(closed={(now.mill, 1): wish.stands}) if wish.stands else None
    line = future(now, run, seed=seed, scripts=scripts)
    mate = _Mate(line, wish, limit_km(now))
    plans_at = 0.0
    rows = []
    for at in [LOOK_S * number for number in range(int(end // LOOK_S) + 1)]:
        line.run_to(at)
        if planner is not None and at >= plans_at:
            mate.points = tuple(planner(line, at, mate.look()))
            plans_at = at + every
        mate.act()
        rows.append((mate.rolled, line.rolls().stands))
    line.run_to(end)
    line.book()
    seen, columns = line.rolls(), np.array(rows, dtype=float).T
    return Played(line.good_kg / KM, columns[0], columns[1], seen.changes, seen.damages)


def limit_km(now: Present) -> float:
    """Return how far a set may run; where the limit is a mass, as far as the set on the mill would come. [km]"""
    limit = now.rolls.change_after
    if limit is None:
        return inf
    if limit.dimension == "length":
        return limit.value / KM
    return limit.value * km_per_kg(now)


def km_per_kg(now: Present) -> float:
    """Return strip through the bite for the mass that enters the mill, over its usual coils. [km/kg]"""
    from twin.line.model import model_of, strip_per_kg

    return strip_per_kg(model_of(now.scenario), now.mill) / KM


@dataclass
class _Mate:
    """Stands at the mill and tells its rolls when to come off."""

    line: Steered
    wish: Wish
    limit: float
    points: tuple[float, ...] = field(init=False)
    rolled: float = 0.0

    def __post_init__(self) -> None:
        self.points = self.wish.points
        self.start = self.line.rolls().run / KM

    def look(self) -> float:
        """Return the strip rolled so far. [km]"""
        seen = self.line.rolls()
        self.rolled = (seen.before + seen.run) / KM - self.start
        return self.rolled

    def act(self) -> None:
        """Look at the mill and tell it how far this set may run."""
        mounted = self.look() - self.line.rolls().run / KM
        due = [point - mounted for point in self.points if point - mounted >= max(self.wish.least, self.wish.slack)]
        if self.points:
            told = due and self._set_is_ready()
            self.line.let_run(self._share(due[0] - self.wish.slack) if told else None)

    def _set_is_ready(self) -> bool:
        """Tell whether a set could go on: nobody stops a mill before its limit to wait for one."""
        sets = self.line.sets()
        return not sets or any(one.place == "ready" for one in sets)

    def _share(self, run: float) -> float:
        """Return how far the set on the mill may run, as a share of its limit (as metres where there is none)."""
        return run * KM if self.limit == inf else min(1.0, run / self.limit)


# Many futures of many wishes


@dataclass(frozen=True, slots=True)
class Task:
    """A few futures of several wishes, as a worker gets them."""

    now: bytes
    wishes: tuple[Wish, ...]
    seed: int
    first: int
    count: int
    end: float

    def __str__(self) -> str:
        return f"futures {self.first} to {self.first + self.count - 1}"


@lru_cache(maxsize=8)
def _unpacked(packed: bytes) -> Present:
    found: Present = pickle.loads(packed)  # our own bytes, from our own parent process
    return found


def play_task(task: Task) -> list[list[Played]]:
    """Return the futures of a task, wish by wish."""
    now = _unpacked(task.now)
    runs = range(task.first, task.first + task.count)
    return [[play(now, wish, run, seed=task.seed, end=task.end) for run in runs] for wish in task.wishes]


@dataclass(frozen=True)
class Outcomes:
    """Futures of several wishes: the same luck along a row. [futures, wishes]"""

    wishes: tuple[Wish, ...]
    played: tuple[tuple[Played, ...], ...]
    """Wish by wish, future by future."""

    @property
    def good(self) -> FloatArray:
        """Return the good mass of each future (row) and wish (column). [t]"""
        return np.array([[one.good for one in row] for row in self.played]).T

    @property
    def futures(self) -> int:
        """Return how many futures there are."""
        return len(self.played[0]) if self.played else 0

    def mean(self, name: str, wish: int = 0) -> FloatArray:
        """Return strip rolled (`km`) or the chance that the mill stands idle (`idle`), every hour, over all futures."""
        return np.asarray(np.mean([getattr(one, name) for one in self.played[wish]], axis=0))


def play_all(
    now: Present,
    wishes: Sequence[Wish],
    *,
    seed: int,
    futures: int,
    end: float,
    door: Door | None = None,
    tell: Callable[[int], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Outcomes:
    """Return as many futures of every wish; fewer, but as many of each, if stopped.

    Parameters
    ----------
    tell : Is told how many futures of every wish are done.
    """
    packed = pickle.dumps(now, protocol=pickle.HIGHEST_PROTOCOL)
    tasks = (
        Task(packed, tuple(wishes), seed, first, min(BATCH, futures - first), end) for first in range(0, futures, BATCH)
    )
    played: list[list[Played]] = [[] for _ in wishes]
    for _, made in Stream(play_task, door or Here(), stop).results(tasks):
        for row, more in zip(played, made, strict=True):
            row.extend(more)
        if tell is not None:
            tell(len(played[0]))
    return Outcomes(tuple(wishes), tuple(tuple(row) for row in played))
