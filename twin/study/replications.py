"""The numbers of many runs of one scenario, and what is kept of them."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy as np

from twin.indicators import Column, assemble, columns
from twin.indicators.intervals import FloatArray, Interval, plant_interval
from twin.study.work import Batch

if TYPE_CHECKING:
    from twin.line import Layout
    from twin.scenario import Scenario

WEEK_H = 168.0

Stopped: TypeAlias = Literal["", "runs", "precision", "time", "asked"]
"""Why no more runs were made: enough of them, precise enough, out of time, or somebody said stop."""


@dataclass(frozen=True, slots=True)
class Replications:
    """Runs of one scenario that differ in their random numbers only: runs 0, 1, 2 ... of one seed."""

    scenario: Scenario
    seed: int
    layout: Layout
    length_s: float
    warm_up_s: float
    values: FloatArray
    """[runs, columns], see `columns`."""
    day_good_kg: FloatArray
    """[runs, local calendar days]"""
    day_start_s: FloatArray
    wanted: int
    stopped: Stopped = ""
    group: int = 0
    """Runs in a row that share a plant, where each draws its inputs; 0 where all have the same."""
    product_day_kg: FloatArray | None = None
    """[runs, days x (products and what has none)], only where the scenario has orders."""

    @property
    def runs(self) -> int:
        """Return how many runs there are."""
        return len(self.values)

    @property
    def columns(self) -> tuple[Column, ...]:
        """Return what each column of `values` is."""
        return columns(self.layout)

    def column(self, *path: str) -> FloatArray:
        """Return one indicator of every run, by its place in the results: `column("line", "good")` in t/h."""
        for number, column in enumerate(self.columns):
            if column.path == path:
                one: FloatArray = self.values[:, number]
                return one
        raise KeyError(f"no indicator at {' > '.join(path)} in the results of {self.scenario.name}")

    @property
    def good(self) -> Interval:
        """Return what the line makes, with its interval. [t/week]"""
        return plant_interval(WEEK_H * self.column("line", "good"), self.group)

    def summary(self) -> dict[str, Any]:
        """Return the results as they are written down."""
        return assemble(
            self.layout,
            self.values,
            scenario=self.scenario,
            seed=self.seed,
            length_s=self.length_s,
            warm_up_s=self.warm_up_s,
            group=self.group,
        )

    @property
    def digest(self) -> str:
        """Return the SHA-256 of all numbers: the same on 1, 2 or 8 workers."""
        numbers = (np.ascontiguousarray(self.values).tobytes(), np.ascontiguousarray(self.day_good_kg).tobytes())
        return hashlib.sha256(b"".join(numbers)).hexdigest()


class Gathering:
    """The runs of one scenario as they come in, in order."""

    def __init__(
        self, scenario: Scenario, seed: int, wanted: int, known: Replications | None = None, group: int = 0
    ) -> None:
        if known is not None and (known.scenario.digest, known.seed) != (scenario.digest, seed):
            raise ValueError(
                f"the runs to go on from are of seed {known.seed} and scenario {known.scenario.digest[:8]}, "
                f"not of seed {seed} and {scenario.digest[:8]}: start anew"
            )
        self.scenario, self.seed, self.wanted, self.group = scenario, seed, wanted, group
        self.runs = 0
        self._values = np.empty((0, 0))
        self._days = np.empty((0, 0))
        self._products: FloatArray | None = np.empty((0, 0)) if scenario.orders else None
        self._good = 0
        self._last: Batch | Replications | None = None
        if known is not None:
            self.take(known)

    def take(self, made: Batch | Replications) -> None:
        """Add the runs that come next."""
        if self._last is None:
            self._good = next(i for i, column in enumerate(columns(made.layout)) if column.path == ("line", "good"))
        self._last = made
        self._values = _with(self._values, self.runs, made.values, self.wanted)
        self._days = _with(self._days, self.runs, made.day_good_kg, self.wanted)
        if self._products is not None:
            more = made.product_day_kg
            self._products = None if more is None else _with(self._products, self.runs, more, self.wanted)
        self.runs += len(made.values)

    @property
    def good(self) -> FloatArray:
        """Return what the line made in each run so far. [t/h]"""
        return self._values[: self.runs, self._good] if self.runs else np.empty(0)

    def replications(self, runs: int | None = None, stopped: Stopped = "") -> Replications:
        """Return the first `runs` runs, all of them if left out."""
        last = self._last
        if last is None:
            raise ValueError("no run has been made yet")
        return Replications(
            scenario=self.scenario,
            seed=self.seed,
            layout=last.layout,
            length_s=last.length_s,
            warm_up_s=last.warm_up_s,
            values=self._values[: self.runs][:runs],
            day_good_kg=self._days[: self.runs][:runs],
            day_start_s=last.day_start_s,
            wanted=self.wanted,
            stopped=stopped,
            group=self.group,
            product_day_kg=None if self._products is None else self._products[: self.runs][:runs],
        )


def _with(rows: FloatArray, used: int, more: FloatArray, wanted: int) -> FloatArray:
    """Return rows, of which some are used, with more behind these: in their place if there is room, else in a new one.

    Rows that are used never change, so that whoever has seen them may keep them.
    """
    end = used + len(more)
    if end > len(rows):
        room = np.empty((max(end, wanted if used == 0 else 2 * used), more.shape[1]))
        if used:
            room[:used] = rows[:used]
        rows = room
    rows[used:end] = more
    return rows
