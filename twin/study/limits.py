"""What limits a line: the thing of which a little more brings the most tonnes, on the same random days.

Not the busiest machine: a slitter that is busy 99 % of its hours may limit nothing, when what it would slit more is not
rolled. So each station gets a tenth more hours, each store a tenth more room, each mill one roll set more, each crane
one beside it, one at a time, and the line is run again with the same luck. What then brings the most is the limit; the
chance that it really is comes from how much the runs differ.

References
----------
C.-T. Kuo, J.-T. Lim, S. M. Meerkov, Bottlenecks in serial production lines: a system-theoretic approach, Mathematical
Problems in Engineering 2 (1996) 233-276: the station whose improvement raises the output most.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from twin.indicators.intervals import FloatArray, Interval, mean_interval, t_quantile
from twin.line.model import SHOP
from twin.scenario.models import Mill, Supply
from twin.study.dice import best_of
from twin.study.maker import Maker, weekly
from twin.study.relief import (
    more_hours,
    more_room,
    more_shop_hours,
    one_more,
    one_more_set,
    with_station,
)
from twin.study.replications import Replications

if TYPE_CHECKING:
    from twin.scenario import Scenario

MORE = 0.10  # of each thing
LEAST_GAIN = 0.0025  # of today's output; what brings less is no limit that anybody would feel
ROUNDS = (3, 8)  # runs after which what cannot be the limit is left out
RUNS = 20
WHAT = "what limits"
RULED_OUT = 0.99  # sure, thing by thing, that it is less than the best
NAMED = 0.005  # chance below which a limit is not named


@dataclass(frozen=True, slots=True)
class Relief:
    """A line that has a little more of one thing: what it is, how much more, in words, and the line."""

    name: str
    more: str
    scenario: Scenario


def reliefs(scenario: Scenario, more: float = MORE) -> list[Relief]:
    """Return the line with a little more of each thing that could limit it, one at a time."""
    return [*_stations(scenario, more), *_rolls(scenario, more), *_places(scenario, more)]


def _stations(scenario: Scenario, more: float) -> Iterator[Relief]:
    """Yield more hours for each station; a supply that always has a coil ready limits only by its own limit."""
    for name, station in scenario.stations.items():
        if isinstance(station, Supply) and station.every is None:
            if station.limit is not None:
                extra = max(1, round(more * station.limit))
                larger = station.model_copy(update={"limit": station.limit + extra})
                yield Relief(name, f"{extra} more coils at once", with_station(scenario, larger))
            continue
        yield Relief(name, f"{100 * more:.0f} % more hours", with_station(scenario, more_hours(station, 1.0 + more)))


def _rolls(scenario: Scenario, more: float) -> Iterator[Relief]:
    """Yield more hours in each roll shop, and one more roll set for each mill."""
    for name, station in scenario.stations.items():
        if not isinstance(station, Mill):
            continue
        shop, rolls = more_shop_hours(station, 1.0 + more), one_more_set(station)
        if shop is not None:
            yield Relief(name + SHOP, f"{100 * more:.0f} % more hours", with_station(scenario, shop))
        if rolls is not None:
            yield Relief(roll_sets(name), "one more", with_station(scenario, rolls))


def roll_sets(mill: str) -> str:
    """Return the name under which the roll sets of a mill may limit."""
    return f"{mill} roll sets"


def _places(scenario: Scenario, more: float) -> Iterator[Relief]:
    """Yield more room in each store that has an end, and one more of each crane and crew."""
    for name, store in scenario.stores.items():
        larger = more_room(scenario, name, 1.0 + more)
        if larger is not None and store.capacity is not None:
            added = (larger.stores[name].capacity or 0.0) - store.capacity
            what = (
                f"{added / 1000.0:.3g} t more room" if store.holds in ("metal", "strip") else f"{added:.0f} more places"
            )
            yield Relief(name, what, larger)
    for name in scenario.shared:
        yield Relief(name, "one more", one_more(scenario, name))


@dataclass(frozen=True, slots=True)
class Limits:
    """What limits a line.

    Attributes
    ----------
    chance : Of being the limit, for everything that may be; they add up to less than 1 where nothing may limit.
    gain : What the relief of each brings [t/week]; from the first runs only for what was ruled out by them.
    more : The relief in words.
    runs : How many runs the answer rests on.
    """

    chance: dict[str, float]
    gain: dict[str, Interval]
    more: dict[str, str]
    runs: int

    @property
    def named(self) -> dict[str, float]:
        """Return the chances worth naming, the greatest first."""
        return {name: p for name, p in sorted(self.chance.items(), key=lambda one: -one[1]) if p >= NAMED}

    @property
    def first(self) -> str | None:
        """Return what limits most likely, nothing where that is less likely than that nothing does."""
        name, most = max(self.chance.items(), key=lambda one: one[1], default=("", 0.0))
        return name if most > 1.0 - sum(self.chance.values()) else None


@dataclass(slots=True)
class _Search:
    """The search in one line: its own runs, those of its reliefs as far as they are made, and what may still limit."""

    base: FloatArray
    reliefs: list[Relief]
    made: list[Replications] = field(default_factory=list)
    left: list[int] = field(default_factory=list)

    @property
    def least(self) -> float:
        """Return the smallest gain that would be felt. [t/week]"""
        return LEAST_GAIN * float(self.base.mean())

    def gains(self, place: int) -> FloatArray:
        """Return what one relief brought, run by run. [t/week]"""
        good = weekly(self.made[place])
        return good - self.base[: good.size]

    def rule_out(self) -> None:
        """Leave out what is clearly less than the best."""
        best = max(self.left, key=lambda i: float(self.gains(i).mean()))
        self.left = [i for i in self.left if i == best or _may_be_more(self.gains(i), self.gains(best), self.least)]

    def result(self, seed: int) -> Limits:
        """Return what was found."""
        values = np.column_stack([self.gains(i) for i in self.left]) if self.left else np.zeros((1, 0))
        found = dict(zip(self.left, best_of(values, self.least, seed=seed).tolist(), strict=True))
        return Limits(
            chance={one.name: found.get(i, 0.0) for i, one in enumerate(self.reliefs)},
            gain={one.name: mean_interval(self.gains(i)) for i, one in enumerate(self.reliefs)},
            more={one.name: one.more for one in self.reliefs},
            runs=len(values),
        )


def _may_be_more(one: FloatArray, best: FloatArray, least: float) -> bool:
    """Return whether one thing may bring more than the best so far, as far as paired runs tell."""
    behind = best - one
    error = float(behind.std(ddof=1)) / behind.size**0.5
    return bool(behind.mean() <= max(least, t_quantile(RULED_OUT, behind.size - 1) * error))


def limits(designs: Sequence[Replications], maker: Maker, *, runs: int = RUNS, more: float = MORE) -> list[Limits]:
    """Return what limits each of several lines of which runs are known; the reliefs are run with their random numbers.

    Everything gets a few runs; what could not be the limit is then left out, the rest get more, up to `runs`.
    """
    runs = min(runs, *(one.runs for one in designs))
    if runs < 2:
        raise ValueError(f"what limits a line cannot be told from {runs} run: make at least 2")
    searches = [_Search(weekly(one), reliefs(one.scenario, more)) for one in designs]
    every = [relief.scenario for search in searches for relief in search.reliefs]
    made = iter(maker.make(WHAT, every, min(ROUNDS[0], runs)) if every else [])
    for search in searches:
        search.made = [next(made) for _ in search.reliefs]
        search.left = list(range(len(search.reliefs)))
    for further in (*(one for one in ROUNDS[1:] if one < runs), runs):
        _go_on(searches, further, maker)
    return [search.result(maker.seed) for search in searches]


def _go_on(searches: list[_Search], runs: int, maker: Maker) -> None:
    """Leave out what cannot limit and make more runs of what may; where only one is left, it needs none."""
    for search in searches:
        if search.left:
            search.rule_out()
    undecided = [(search, i) for search in searches if len(search.left) > 1 for i in search.left]
    known = [search.made[i] for search, i in undecided]
    if not known or known[0].runs >= runs:
        return
    made = maker.make(WHAT, [one.scenario for one in known], runs, known)
    for (search, i), one in zip(undecided, made, strict=True):
        search.made[i] = one
