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

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from twin.indicators.intervals import FloatArray, Interval, mean_interval, t_quantile
from twin.line.model import SHOP
from twin.scenario.models import Station, Supply
from twin.study.dice import best_of
from twin.study.maker import Maker, weekly
from twin.study.relief import (
    has_end,
    has_shop,
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
ROUNDS = (2, 8)  # runs after which what cannot be the limit is left out
RUNS = 20
WHAT = "what limits"
RULED_OUT = 0.99  # sure, thing by thing, that it is less than the best
SILENT = 0.5  # chances that add up to less: more likely than not, no single thing is felt
NAMED = 0.005  # chance below which a limit is not named


Apply: TypeAlias = "Callable[[Scenario], Scenario]"


@dataclass(frozen=True, slots=True)
class Relief:
    """A little more of one thing that could limit a line: what, how much more, and how a line comes to have it."""

    name: str
    more: str
    apply: Apply


def reliefs(scenario: Scenario, more: float = MORE) -> list[Relief]:
    """Return a little more of each thing that could limit the line."""
    return [*_stations(scenario, more), *_rolls(scenario, more), *_places(scenario, more)]


def _stations(scenario: Scenario, more: float) -> Iterator[Relief]:
    """Yield more hours for each station; a supply that always has a coil ready limits only by its own limit."""
    for name, station in scenario.stations.items():
        if not isinstance(station, Supply) or station.every is not None:
            yield Relief(
                name, f"{100 * more:.0f} % more hours", _at_station(name, partial(more_hours, factor=1.0 + more))
            )
        elif station.limit is not None:
            extra = max(1, round(more * station.limit))
            larger = partial(_more_at_once, extra=extra)
            yield Relief(name, f"{extra} more coils at once", _at_station(name, larger))


def _more_at_once(station: Station, extra: int) -> Station:
    """Return a supply that lets more coils into the line."""
    assert isinstance(station, Supply)
    return station.model_copy(update={"limit": (station.limit or 0) + extra})


def _at_station(name: str, change: Callable[[Station], Station]) -> Apply:
    """Return what changes one station of a line."""
    return lambda line: with_station(line, change(line.stations[name]))


def _rolls(scenario: Scenario, more: float) -> Iterator[Relief]:
    """Yield more hours in each roll shop, and one more roll set for each mill."""
    for name, station in scenario.stations.items():
        if has_shop(station):
            hours = f"{100 * more:.0f} % more hours"
            yield Relief(name + SHOP, hours, _at_station(name, partial(more_shop_hours, factor=1.0 + more)))
            yield Relief(roll_sets(name), "one more", _at_station(name, one_more_set))


def roll_sets(mill: str) -> str:
    """Return the name under which the roll sets of a mill may limit."""
    return f"{mill} roll sets"


def _places(scenario: Scenario, more: float) -> Iterator[Relief]:
    """Yield more room in each store that has an end, and one more of each crane and crew."""
    for name, store in scenario.stores.items():
        if has_end(store):
            added = more_room(scenario, name, 1.0 + more).stores[name].capacity or 0.0
            added -= store.capacity or 0.0
            bulk = store.holds in ("metal", "strip")
            what = f"{added / 1000.0:.3g} t more room" if bulk else f"{added:.0f} more places"
            yield Relief(name, what, partial(more_room, store=name, factor=1.0 + more))
    for name in scenario.shared:
        yield Relief(name, "one more", partial(one_more, shared=name))


@dataclass(frozen=True, slots=True)
class Limits:
    """What limits a line.

    Attributes
    ----------
    chance : Of being the limit, for everything that may be; they add up to less than 1 where nothing may limit.
    gain : What the relief of each brings [t/week]; from the first runs only for what was ruled out by them.
    more : The relief in words.
    runs : How many runs the answer rests on.
    joint : True where nothing limits by itself: then the chances are of being what holds the line when all else has a
        tenth more, and only more of several together brings anything.
    """

    chance: dict[str, float]
    gain: dict[str, Interval]
    more: dict[str, str]
    runs: int
    joint: bool = False

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
    """The search in one line for what moves its output most.

    Attributes
    ----------
    base : Output of the line that the others are set against. [t/week]
    least : The smallest difference that would be felt. [t/week]
    names, lines : The lines that differ from it by one thing each.
    sign : 1 where that thing is more, -1 where it is less.
    made, left : Runs as far as they are made; what may still be the one.
    """

    base: FloatArray
    least: float
    names: list[str]
    lines: list[Scenario]
    sign: float = 1.0
    made: list[Replications] = field(default_factory=list)
    left: list[int] = field(default_factory=list)

    def gains(self, place: int) -> FloatArray:
        """Return what one thing brings, run by run. [t/week]"""
        good = weekly(self.made[place])
        return self.sign * (good - self.base[: good.size])

    def rule_out(self) -> None:
        """Leave out what is clearly less than the best.

        From so few runs a scatter is known badly: none is taken to be less than that of all the things on average.
        """
        best = max(self.left, key=lambda i: float(self.gains(i).mean()))
        behind = {i: self.gains(best) - self.gains(i) for i in self.left if i != best}
        if not behind:
            return
        common = float(np.mean([one.var(ddof=1) for one in behind.values()]))
        left = {best} | {i for i, one in behind.items() if _may_be_more(one, common, len(behind), self.least)}
        self.left = [i for i in self.left if i in left]

    def chances(self, seed: int) -> dict[str, float]:
        """Return the chance of each thing to be the one."""
        values = np.column_stack([self.gains(i) for i in self.left]) if self.left else np.zeros((1, 0))
        found = dict(zip(self.left, best_of(values, self.least, seed=seed).tolist(), strict=True))
        return {name: found.get(i, 0.0) for i, name in enumerate(self.names)}


def _may_be_more(behind: FloatArray, common: float, things: int, least: float) -> bool:
    """Return whether one thing may bring more than the best so far, as far as paired runs tell.

    `common` is the mean variance of so many `things`.
    """
    runs = behind.size
    error = (max(float(behind.var(ddof=1)), common) / runs) ** 0.5
    return bool(behind.mean() <= max(least, t_quantile(RULED_OUT, things * (runs - 1)) * error))


def limits(designs: Sequence[Replications], maker: Maker, *, runs: int = RUNS, more: float = MORE) -> list[Limits]:
    """Return what limits each of several lines of which runs are known; the reliefs are run with their random numbers.

    A maker of runs with the best inputs makes the runs of lines anew that are known with uncertain ones only.

    Everything gets a few runs; what could not be the limit is then left out, the rest get more, up to `runs`. Where
    nothing is felt by itself, all get more at once, and the limit is what then must not be left out.
    """
    runs = min(runs, *(one.runs for one in designs))
    if runs < 2:
        raise ValueError(f"what limits a line cannot be told from {runs} run: make at least 2")
    if maker.vary is None and any(one.group for one in designs):  # gains are between runs that took the same inputs
        designs = maker.make(WHAT, [one.scenario for one in designs], runs)
    things = [reliefs(one.scenario, more) for one in designs]
    searches = [_one_by_one(made, own) for made, own in zip(designs, things, strict=True)]
    _run(searches, runs, maker)
    found = [_limits(search, own, maker.seed) for search, own in zip(searches, things, strict=True)]
    silent = [i for i, one in enumerate(found) if sum(one.chance.values()) < SILENT and things[i]]
    together = _all_at_once([designs[i] for i in silent], [things[i] for i in silent], runs, maker)
    for i, search in zip(silent, together, strict=True):
        if search is not None:
            found[i] = replace(found[i], chance=search.chances(maker.seed), joint=True)
    return found


def _one_by_one(made: Replications, things: list[Relief]) -> _Search:
    """Return the search among lines that have more of one thing each."""
    base = weekly(made)
    lines = [one.apply(made.scenario) for one in things]
    return _Search(base, LEAST_GAIN * float(base.mean()), [one.name for one in things], lines)


def _limits(search: _Search, things: list[Relief], seed: int) -> Limits:
    """Return what a finished search found."""
    return Limits(
        chance=search.chances(seed),
        gain={name: mean_interval(search.gains(i)) for i, name in enumerate(search.names)},
        more={one.name: one.more for one in things},
        runs=min((search.made[i].runs for i in search.left), default=0),
    )


def _all_at_once(
    designs: list[Replications], things: list[list[Relief]], runs: int, maker: Maker
) -> list[_Search | None]:
    """Return the search in lines that have more of everything, among those that have more of everything but one."""
    if not designs:
        return []
    bases = maker.make(WHAT, [_with_all(made.scenario, own) for made, own in zip(designs, things, strict=True)], runs)
    searches: list[_Search | None] = []
    for made, own, base in zip(designs, things, bases, strict=True):
        today, least = weekly(made)[: base.runs], LEAST_GAIN * float(weekly(made).mean())
        felt = float((weekly(base) - today[: base.runs]).mean()) > least
        lines = [_with_all(made.scenario, [one for one in own if one is not left_out]) for left_out in own]
        searches.append(_Search(weekly(base), least, [one.name for one in own], lines, sign=-1.0) if felt else None)
    _run([one for one in searches if one is not None], runs, maker)
    return searches


def _with_all(line: Scenario, things: list[Relief]) -> Scenario:
    """Return the line with a little more of several things."""
    for one in things:
        line = one.apply(line)
    return line


def _run(searches: list[_Search], runs: int, maker: Maker) -> None:
    """Make runs of all lines, then more of what may still be the one; where only one is left, it needs none."""
    lines = [line for search in searches for line in search.lines]
    made = iter(maker.make(WHAT, lines, min(ROUNDS[0], runs)) if lines else [])
    for search in searches:
        search.made = [next(made) for _ in search.lines]
        search.left = list(range(len(search.lines)))
    for further in (*(one for one in ROUNDS[1:] if one < runs), runs):
        _go_on(searches, further, maker)


def _go_on(searches: list[_Search], runs: int, maker: Maker) -> None:
    """Leave out what cannot limit and make more runs of what may."""
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
