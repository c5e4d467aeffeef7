"""How well a doctor finds what was planted: recall and precision of each kind of fault."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from twin.logs.doctor.findings import Finding
from twin.logs.soil import Planted

BY_STATION = (
    *("clock", "clock order", "rounding", "minor stops", "unit", "tare", "mass closure", "gap"),
    *("like a plan", "production day"),
)
"""Faults that are found at a station, not at single rows."""


@dataclass(frozen=True)
class Score:
    """Of one kind of fault: how many were planted, how many of those found, how many findings had no fault."""

    planted: int = 0
    found: int = 0
    wrong: int = 0

    def __add__(self, other: Score) -> Score:
        return Score(self.planted + other.planted, self.found + other.found, self.wrong + other.wrong)

    @property
    def recall(self) -> float:
        """Return which share of the faults was found."""
        return self.found / self.planted if self.planted else 1.0

    @property
    def precision(self) -> float:
        """Return which share of what was found is a fault."""
        return self.found / (self.found + self.wrong) if self.found + self.wrong else 1.0


def score(planted: Sequence[Planted], findings: Sequence[Finding], known: Collection[str]) -> dict[str, Score]:
    """Return how well each kind of fault was found; of what was found wrongly only kinds that can be planted count."""
    kinds = {one.kind for one in planted} | {one.kind for one in findings if one.kind in known}
    return {kind: _score(kind, planted, findings) for kind in sorted(kinds)}


def _score(kind: str, planted: Sequence[Planted], findings: Sequence[Finding]) -> Score:
    truth = [one for one in planted if one.kind == kind]
    told = [one for one in findings if one.kind == kind]
    if kind in BY_STATION:
        places = {one.station for one in truth}
        seen = {one.station for one in told}
        return Score(len(places), len(places & seen), len(seen - places))
    groups = [(one.table, group) for one in truth for group in one.groups]
    lines = {(one.table, line) for one in told for line in one.lines}
    right = {(table, line) for table, group in groups for line in group}
    found = sum(1 for table, group in groups if any((table, line) in lines for line in group))
    return Score(len(groups), found, len(lines - right))
