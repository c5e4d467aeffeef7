"""A log while faults are put into it, with the truth about them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from twin.logs.doctor.findings import Case
from twin.logs.tables import Array, Table


@dataclass(frozen=True)
class Planted:
    """One kind of fault at one place, and where.

    Attributes
    ----------
    groups : Sets of lines of the written file; a fault of rows is found when any line of its group is.
    value : Offset [s], factor or mass [kg], where there is one.
    """

    kind: str
    table: str
    station: str
    groups: tuple[frozenset[int], ...] = ()
    value: float = 0.0
    span: tuple[float, float] = (0.0, 0.0)


@dataclass
class Soil:
    """A log while faults are put into it; the lines of its tables name rows until all is done."""

    case: Case
    rng: np.random.Generator
    planted: list[Planted] = field(default_factory=list)
    used: set[tuple[str, int]] = field(default_factory=set)

    def table(self, name: str) -> Table:
        """Return a table as it is by now."""
        return self.case.log[name]

    def put(self, table: Table) -> None:
        """Put a table in the place of the one of its name."""
        self.case = replace(self.case, log=self.case.log.put(table))

    def free(self, table: Table, rows: Iterable[int]) -> Array:
        """Return the rows that no other fault has touched yet."""
        return np.array([at for at in rows if (table.name, int(table.line[at])) not in self.used], dtype=np.int64)

    def some(self, table: Table, rows: Iterable[int], share: tuple[float, float]) -> Array:
        """Draw a share of some rows that are still clean, at least one, and remember them."""
        rows = self.free(table, rows)
        count = max(1, int(len(rows) * self.rng.uniform(*share)))
        drawn = np.sort(self.rng.choice(rows, size=min(count, len(rows)), replace=False))
        self.used |= {(table.name, int(table.line[at])) for at in drawn}
        return np.asarray(drawn)

    def say(self, kind: str, table: Table, station: str, groups: Iterable[Iterable[int]], value: float = 0.0) -> None:
        """Remember what was planted."""
        told = tuple(frozenset(int(table.line[at]) for at in group) for group in groups)
        self.planted.append(Planted(kind, table.name, station, told, value))


def pick(soil: Soil, names: Sequence[str]) -> str | None:
    """Draw one of some names, nothing where there is none."""
    return str(soil.rng.choice(np.array(sorted(names), dtype=object))) if names else None


def insert(soil: Soil, table: Table, rows: Array, changes: dict[str, Array] | None = None) -> Table:
    """Append copies of rows with new names; return the table with them."""
    copy = table.take(rows).put(None, **(changes or {}))
    lines = table.line.max() + 1 + np.arange(len(rows))
    columns = {name: np.concatenate([table[name], copy[name]]) for name in table.columns}
    return replace(
        table,
        columns=columns,
        line=np.concatenate([table.line, lines]),
        marks={},
        inferred=np.zeros(len(table) + len(rows), dtype=bool),
    )
