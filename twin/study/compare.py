"""Options beside today: the same random days, changes run by run, what limits then, what it is worth, which is best."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from twin.indicators.intervals import FloatArray, Interval, plant_interval
from twin.scenario import ScenarioError, apply_options
from twin.study.dice import best_of
from twin.study.futures import NO_DOUBT, Doubts
from twin.study.limits import Limits, limits
from twin.study.maker import Maker, weekly
from twin.study.race import Race, looks
from twin.study.replicate import NothingMadeError
from twin.study.value import purchase_of
from twin.study.worth import Ledger, Worth, ledger_of

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.study.replications import Replications

RUNS = 20
MOST_RUNS = 100
LEAST_SHARE = 0.01  # of what today's line makes or earns: a difference below it is not worth finding
ERROR = 0.05
WHAT = "options on the same random weeks"


@dataclass(frozen=True, slots=True)
class Asked:
    """What to compare, and how sure the answer must be.

    Attributes
    ----------
    options : Sums of options, each a tuple of names; today is always there.
    runs : Runs that every design gets.
    most : Runs at which to stop even if the best one is not sure.
    first : Runs after which a first answer is told.
    share : The smallest difference worth finding, as a share of what today's line earns (or makes).
    doubts : How far off the money may be.
    with_limits : Whether to find what limits each design.
    """

    options: tuple[tuple[str, ...], ...]
    runs: int = RUNS
    most: int = MOST_RUNS
    first: int = 4
    share: float = LEAST_SHARE
    doubts: Doubts = NO_DOUBT
    with_limits: bool = True


@dataclass(frozen=True, slots=True)
class Row:
    """One design: today, or a sum of options.

    Attributes
    ----------
    options : Names, none for today.
    made : Its runs.
    change : Of good output against today, run by run. [t/week]
    limits : What limits it, if asked for.
    worth : What it is worth; None for today, or where the file has no money.
    best : Chance that it is the best of all.
    """

    options: tuple[str, ...]
    made: Replications
    change: Interval | None
    limits: Limits | None
    worth: Worth | None
    best: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """Designs side by side, today first.

    Attributes
    ----------
    scenario : Today's line.
    rows : In the order in which they were asked for.
    ledger : How money was counted, if it was.
    made : All runs, those of half-built designs included, by the options that work in them.
    decided : Whether one design is the best for sure, with the promised chance.
    stopped : Whether it was stopped before that.
    """

    scenario: Scenario
    seed: int
    rows: tuple[Row, ...]
    ledger: Ledger | None
    made: dict[frozenset[str], Replications]
    decided: bool
    stopped: bool

    @property
    def today(self) -> Row:
        """Return the line as it is."""
        return self.rows[0]

    @property
    def best(self) -> Row:
        """Return the row with the greatest chance of being the best."""
        return max(self.rows, key=lambda row: row.best)


def read_options(scenario: Scenario, texts: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """Return sums of options from texts such as `second slitter + night shift`; none: each option by itself.

    Raises
    ------
    ScenarioError : No such option, or two that set one number differently.
    """
    given = [tuple(dict.fromkeys(name.strip() for name in text.split(" + "))) for text in texts]
    sums = tuple({frozenset(one): one for one in reversed(given or [(name,) for name in scenario.options])}.values())
    for one in sums:
        apply_options(scenario, one)
    return tuple(reversed(sums))


def compare(
    scenario: Scenario,
    asked: Asked,
    maker: Maker | None = None,
    *,
    known: Mapping[frozenset[str], Replications] | None = None,
    known_limits: Mapping[tuple[str, ...], Limits] | None = None,
    so_far: Callable[[Comparison], None] | None = None,
) -> Comparison:
    """Return options beside today.

    Parameters
    ----------
    known, known_limits : What was found before with the same seed: runs by the options that work in them, limits by the
        options asked for.
    so_far : Is handed the answer again and again: after the first runs, after more, and with the limits.

    Raises
    ------
    ScenarioError : An option that does not exist or contradicts another; money with which nothing can be said.
    NothingMadeError, KeyboardInterrupt : Stopped before every design had a run.
    """
    return _Study(scenario, asked, maker or Maker(), so_far, dict(known or {}), dict(known_limits or {})).run()


def possible(scenario: Scenario, options: Sequence[str]) -> bool:
    """Return whether a scenario stays sound with options: two may set one number differently."""
    try:
        apply_options(scenario, options)
    except ScenarioError:
        return False
    return True


@dataclass(slots=True)
class _Study:
    """A comparison being made."""

    scenario: Scenario
    asked: Asked
    maker: Maker
    so_far: Callable[[Comparison], None] | None
    made: dict[frozenset[str], Replications] = field(default_factory=dict)
    limits: dict[tuple[str, ...], Limits] = field(default_factory=dict)
    ledger: Ledger | None = None
    left: list[int] = field(default_factory=list)
    stopped: bool = False

    @property
    def designs(self) -> list[tuple[str, ...]]:
        """Return today and what was asked for."""
        return [(), *self.asked.options]

    def run(self) -> Comparison:
        """Make runs until it is decided, then find what limits."""
        wanted = self._all_stages(self.designs)
        self._grow(wanted, min(self.asked.first, self.asked.runs))
        products, lasting = self.made[frozenset()].layout.products, self.maker.vary is not None
        self.ledger = ledger_of(self.scenario, products, self.asked.doubts, lasting=lasting)
        if self.ledger is not None:
            self.ledger.check(self.made)
        self.left = list(range(len(self.designs)))
        for runs in looks(self.asked.first, self.asked.runs):
            self._tell()
            if not self.stopped:
                self._grow(wanted, runs)
        self._decide()
        if self.asked.with_limits and not self.stopped:
            self._find_limits()
        return self.result()

    def _all_stages(self, designs: Sequence[tuple[str, ...]]) -> list[frozenset[str]]:
        """Return the designs and what works of them while the rest is still to come."""
        wanted: dict[frozenset[str], None] = {frozenset(): None}
        for options in designs:
            stages = purchase_of([self.scenario.options[name] for name in options]).stages if options else ()
            wanted |= dict.fromkeys([frozenset(options), *(frozenset(stage.options) for stage in stages)])
        return list(wanted)

    def _grow(self, wanted: Sequence[frozenset[str]], runs: int) -> None:
        """Make runs of designs up to a number: first of those that have none, then of those that have fewer."""
        fresh = [one for one in wanted if one not in self.made]
        begun = [one for one in wanted if one in self.made and self.made[one].runs < runs]
        if fresh:
            scenarios = [apply_options(self.scenario, sorted(one)) for one in fresh]
            self._take(fresh, self.maker.make(WHAT, scenarios, runs))
        if begun and not self.stopped:
            known = [self.made[one] for one in begun]
            self._take(begun, self.maker.make(WHAT, [one.scenario for one in known], runs, known))

    def _take(self, designs: Sequence[frozenset[str]], made: Sequence[Replications]) -> None:
        self.made |= dict(zip(designs, made, strict=True))
        self.stopped = any(one.stopped in ("asked", "time") for one in made)

    def _decide(self) -> None:
        """Go on with what may still be the best until it is sure, there are enough runs, or somebody says stop."""
        race = Race(self._difference(), ERROR, first_runs=self.made[frozenset()].runs)
        self.left = race.look([self._values(one) for one in self.designs])
        while len(self.left) > 1 and not self.stopped and self.made[frozenset()].runs < self.asked.most:
            self._tell()
            more = min(self.made[frozenset()].runs + RUNS, self.asked.most)
            self._grow(self._all_stages([self.designs[i] for i in self.left]), more)
            self.left = race.look([self._values(one) for one in self.designs])
        self._tell()

    def _difference(self) -> float:
        """Return the smallest difference worth finding, in the unit of the values."""
        if self.ledger is not None:
            return max(1.0, self.ledger.difference(self.made, self.asked.share))
        return max(1e-6, self.asked.share * float(weekly(self.made[frozenset()]).mean()))

    def _values(self, options: tuple[str, ...]) -> FloatArray:
        """Return by what designs are ranked, run by run: value, or tonnes where the file has no money."""
        if self.ledger is not None:
            return self.ledger.values(options, self.made)
        return weekly(self.made[frozenset(options)])

    def _find_limits(self) -> None:
        """Find what limits each design of which it is not known yet."""
        wanted = [one for one in self.designs if one not in self.limits]
        made = [self.made[frozenset(one)] for one in wanted]
        if not made or min(one.runs for one in made) < 2:
            return
        try:
            self.limits |= dict(zip(wanted, limits(made, self.maker.with_best_inputs()), strict=True))
        except (NothingMadeError, KeyboardInterrupt):
            self.stopped = True

    def _tell(self) -> None:
        if self.so_far is not None:
            self.so_far(self.result())

    def _chances(self) -> list[float]:
        """Return the chance of each design to be the best: of those that are left, on all their runs."""
        values = [self._values(self.designs[i]) for i in self.left]
        runs = min(one.size for one in values)
        chances = best_of(np.column_stack([one[:runs] for one in values]), -np.inf, seed=self.maker.seed)
        found = dict(zip(self.left, chances.tolist(), strict=True))
        return [found.get(i, 0.0) for i in range(len(self.designs))]

    def result(self) -> Comparison:
        """Return the answer so far."""
        chances = self._chances()
        rows = [
            Row(
                options=options,
                made=self.made[frozenset(options)],
                change=self._change(options),
                limits=self.limits.get(options),
                worth=self.ledger.worth(options, self.made) if self.ledger is not None and options else None,
                best=chances[i],
            )
            for i, options in enumerate(self.designs)
        ]
        return Comparison(
            scenario=self.scenario,
            seed=self.maker.seed,
            rows=tuple(rows),
            ledger=self.ledger,
            made=dict(self.made),
            decided=len(self.left) == 1,
            stopped=self.stopped,
        )

    def _change(self, options: tuple[str, ...]) -> Interval | None:
        """Return the change against today, on the runs that both have. [t/week]"""
        if not options:
            return None
        one, today = self.made[frozenset(options)], self.made[frozenset()]
        runs = min(one.runs, today.runs)
        return plant_interval(weekly(one)[:runs] - weekly(today)[:runs], one.group)
