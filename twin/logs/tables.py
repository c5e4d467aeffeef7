"""A log in memory: columns as arrays, times as seconds since 1970 UTC, and for each row where it came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from twin.logs.schema import TABLES

Array = NDArray[Any]

# what is known of a time that was read
PLAIN, TWICE, NEVER = 0, 1, 2
"""A time that is clear; one that the clocks showed twice that night; one that they never showed."""


@dataclass(frozen=True)
class Table:
    """Columns of equal length; a column that a file lacks is filled with nothing (NaN or empty text)."""

    name: str
    file: str
    columns: Mapping[str, Array]
    line: Array
    """Line (or row of the sheet) on which each row stands in its file."""
    marks: Mapping[str, Array] = field(default_factory=dict)
    """Of each time column: PLAIN, TWICE or NEVER."""
    inferred: Array = field(default_factory=lambda: np.zeros(0, dtype=bool))
    """Rows of which a value was mended."""

    def __post_init__(self) -> None:
        if len(self.inferred) != len(self.line):
            object.__setattr__(self, "inferred", np.zeros(len(self.line), dtype=bool))

    def __len__(self) -> int:
        return len(self.line)

    def __getitem__(self, name: str) -> Array:
        return self.columns[name]

    def has(self, name: str) -> bool:
        """Return whether a column holds anything at all."""
        own = self.columns[name]
        return bool(np.isfinite(own).any()) if own.dtype.kind == "f" else bool((own != "").any())

    def take(self, which: Array) -> Table:
        """Return some rows, by places or by a mask."""
        return replace(
            self,
            columns={name: own[which] for name, own in self.columns.items()},
            line=self.line[which],
            marks={name: own[which] for name, own in self.marks.items()},
            inferred=self.inferred[which],
        )

    def put(self, rows: Array | None = None, **columns: Array) -> Table:
        """Return a table with other values in some columns; `rows` (a mask) are marked as inferred."""
        inferred = self.inferred if rows is None else self.inferred | rows
        return replace(self, columns={**self.columns, **columns}, inferred=inferred)


def empty(name: str, file: str = "") -> Table:
    """Return a table without rows."""
    return table_of(name, {}, file)


def table_of(name: str, columns: Mapping[str, Array], file: str = "") -> Table:
    """Return a table from the columns there are; the others are filled with nothing."""
    length = len(next(iter(columns.values()))) if columns else 0
    filled = {}
    for one in TABLES[name]:
        if one.name in columns:
            filled[one.name] = np.asarray(columns[one.name], dtype=object if one.kind == "text" else np.float64)
        elif one.kind == "text":
            filled[one.name] = np.full(length, "", dtype=object)
        else:
            filled[one.name] = np.full(length, 1.0 if one.name == "machine" else np.nan)
    return Table(name, file or f"{name}.csv", filled, np.arange(length) + 2)


@dataclass(frozen=True)
class Log:
    """A plant's log: its tables and the settings it was read with."""

    tables: Mapping[str, Table]
    zone: str
    place: str = ""
    digests: Mapping[str, str] = field(default_factory=dict)
    """SHA-256 of each file that was read."""

    def __getitem__(self, name: str) -> Table:
        return self.tables[name] if name in self.tables else empty(name)

    def put(self, *tables: Table) -> Log:
        """Return a log with these tables in the place of those of their names."""
        return replace(self, tables={**self.tables, **{one.name: one for one in tables}})

    @property
    def span(self) -> tuple[float, float]:
        """Return the first and the last time that any table names [s since 1970 UTC].

        Rolls may have gone on the mill before the log began.
        """
        times = [
            own
            for table in self.tables.values()
            for one in TABLES[table.name]
            if one.kind == "time" and one.name not in ("version", "on") and len(own := _known(table[one.name]))
        ]
        if not times:
            return 0.0, 0.0
        return float(min(own.min() for own in times)), float(max(own.max() for own in times))

    @property
    def stations(self) -> tuple[str, ...]:
        """Return the names of the stations, sorted."""
        names = {str(one) for name in ("stops", "output", "rolls", "coils") for one in set(self[name]["station"])}
        return tuple(sorted(names - {""}))


def _known(times: Array) -> Array:
    return times[np.isfinite(times)]
