"""The runs of a comparison as they are made, kept in a file, so that one that was stopped goes on where it stood.

A study of several lines asks for the same runs in the same order when it is begun again, so what is on the shelf is
handed to it and only what is missing is made. Plain arrays only: nothing that is read back can run code.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from dashboard import answers
from twin.indicators.intervals import FloatArray
from twin.line.model import prepare
from twin.study.maker import Maker
from twin.study.replications import Replications

if TYPE_CHECKING:
    from twin.scenario import Scenario

PARTS = ("values", "days", "starts", "spans")


@dataclass
class Shelf:
    """The runs that lie in the file of an answer, by the name of their line."""

    folder: Path
    key: str
    arrays: dict[str, FloatArray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Take out what an earlier part of the same question has put there."""
        self.arrays = answers.read_arrays(self.folder, self.key) or {}

    def runs(self, name: str) -> int:
        """Return how many runs of a line there are."""
        return len(self.arrays[f"{name} values"]) if all(f"{name} {part}" in self.arrays for part in PARTS) else 0

    def take(self, name: str, scenario: Scenario, seed: int, runs: int, group: int) -> Replications:
        """Return the first runs of a line."""
        values, days, starts, spans = (self.arrays[f"{name} {part}"] for part in PARTS)
        length, warm_up = spans.tolist()
        layout = prepare(scenario).layout
        return Replications(
            scenario, seed, layout, length, warm_up, values[:runs], days[:runs], starts, runs, "asked", group
        )

    def put(self, name: str, made: Replications) -> None:
        """Lay the runs of a line on the shelf, where they are more than lie there."""
        if made.runs > self.runs(name):
            spans = np.array([made.length_s, made.warm_up_s])
            kept = (made.values, made.day_good_kg, made.day_start_s, spans)
            self.arrays |= {f"{name} {part}": values for part, values in zip(PARTS, kept, strict=True)}

    def write(self) -> None:
        """Write the file."""
        answers.write_arrays(self.folder, self.key, self.arrays)


@dataclass(frozen=True, slots=True)
class ShelfMaker(Maker):
    """A maker that keeps what it makes, and makes only what is not kept."""

    shelf: Shelf | None = None

    def make(
        self, what: str, scenarios: Sequence[Scenario], runs: int, known: Sequence[Replications] | None = None
    ) -> list[Replications]:
        """Return so many runs of each scenario, those on the shelf included."""
        if self.shelf is None:
            return Maker.make(self, what, scenarios, runs, known)
        names = [self._name(scenario) for scenario in scenarios]
        there = min((min(runs, self.shelf.runs(name)) for name in names), default=0)
        if there > min((one.runs for one in known or ()), default=0):
            group = int(getattr(self.vary, "group", 0))
            pairs = zip(names, scenarios, strict=True)
            known = [self.shelf.take(name, scenario, self.seed, there, group) for name, scenario in pairs]
        made = Maker.make(self, what, scenarios, runs, known)
        for name, one in zip(names, made, strict=True):
            self.shelf.put(name, one)
        self.shelf.write()
        return made

    def _name(self, scenario: Scenario) -> str:
        """Return the name of a line on the shelf: its digest, and whether its inputs are at their best or uncertain."""
        return f"{scenario.digest[:24]}{' varied' if self.vary is not None else ''}"
