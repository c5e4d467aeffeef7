"""What the doctor of a log says: each finding with its rows, their count, what was done, and its effect in tonnes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np

from twin.logs.hours import Hours, station_hours
from twin.logs.mapping import Mapping as LogMapping
from twin.logs.reasons import known_reasons
from twin.logs.tables import Array, Log, Table

if TYPE_CHECKING:
    from twin.scenario import Scenario

Done = Literal["mended", "marked", "refused"]
"""Put right and counted; left as it is, but known; so bad that the log is not used."""
Spans = tuple[tuple[float, float], ...]
"""Starts and ends [s since 1970 UTC]."""
LISTED = 1000
"""The most rows that a finding lists one by one; all are counted."""


@dataclass(frozen=True)
class Finding:
    """One thing that is wrong with a log.

    Attributes
    ----------
    kind : Which fault it is; see KINDS.
    table, station : Where; empty where it is everywhere.
    lines : Lines of the file, rising.
    done : What was done about it.
    effect_t : Good tonnes that the mended rows stand for, or that are in doubt; None where mass says nothing.
    words : A sentence.
    way_out : What to do.
    spans : Starts and ends, where it is about times [s since 1970 UTC].
    value : The number behind it: an offset [s], a share, a factor.
    """

    kind: str
    table: str
    station: str
    lines: tuple[int, ...]
    count: int
    done: Done
    words: str
    way_out: str = ""
    effect_t: float | None = None
    spans: Spans = ()
    value: float | None = None
    file: str = ""


@dataclass(frozen=True)
class Case:
    """A log under examination, with what else is known of the plant."""

    log: Log
    scenario: Scenario | None = None
    mapping: LogMapping = field(default_factory=LogMapping)
    findings: tuple[Finding, ...] = ()

    def with_log(self, log: Log, *findings: Finding) -> Case:
        """Return the case with a mended log and more findings."""
        return Case(log, self.scenario, self.mapping, (*self.findings, *findings))

    @cached_property
    def hours(self) -> Mapping[str, Hours]:
        """Return when each station of the scenario works, until the end of the log."""
        return {} if self.scenario is None else station_hours(self.scenario, self.log.span[1] + 1.0)

    @cached_property
    def reasons(self) -> Mapping[str, set[str]]:
        """Return the failures that the scenario knows at each station."""
        return {} if self.scenario is None else known_reasons(self.scenario)

    @cached_property
    def density(self) -> float | None:
        """Return the density of the plant's metal [kg/m3]."""
        if self.scenario is None:
            return None
        from twin.materials import material, own_material

        metal = self.scenario.metal
        return (material(metal) if isinstance(metal, str) else own_material(metal.values(), like=metal.like)).density

    @cached_property
    def rates(self) -> Mapping[str, float]:
        """Return what each station made in a working second [kg/s]."""
        output, (start, end) = self.log["output"], self.log.span
        found = {}
        for name in set(output["station"].tolist()):
            made = float(np.nansum(output["good_kg"][output["station"] == name]))
            hours = self.hours.get(name)
            worked = float(hours.between(np.array(start), np.array(end))) if hours else end - start
            found[str(name)] = made / worked if worked > 0.0 else 0.0
        return found

    def worked(self, station: str, start: Array, end: Array) -> Array:
        """Return the working seconds of a station between two times; all of them where no calendar is known."""
        hours = self.hours.get(station)
        return hours.between(start, end) if hours is not None else np.asarray(end - start)

    def tonnes(self, station: str, seconds: float) -> float:
        """Return what a station makes in so many working seconds [t]."""
        return abs(seconds) * self.rates.get(station, 0.0) / 1000.0


def machines(table: Table) -> list[tuple[str, int, Array]]:
    """Return each machine of a table with the places of its rows, in the order of the file."""
    return _groups(table, ("station", "machine"))


def stations(table: Table) -> list[tuple[str, Array]]:
    """Return each station of a table with the places of its rows."""
    return [(name, rows) for name, _, rows in _groups(table, ("station",))]


def _groups(table: Table, names: tuple[str, ...]) -> list[tuple[str, int, Array]]:
    places: dict[tuple[str, int], list[int]] = {}
    numbers = table["machine"].tolist() if "machine" in names else [1] * len(table)
    for at, (station, number) in enumerate(zip(table["station"].tolist(), numbers, strict=True)):
        key = (station, 1 if number != number else int(number))
        places.setdefault(key, []).append(at)
    return [(station, number, np.array(rows)) for (station, number), rows in sorted(places.items())]


def listed(table: Table, rows: Array) -> tuple[int, ...]:
    """Return the lines of some rows, rising; not more than a reader can look at."""
    return tuple(sorted(int(line) for line in table.line[rows]))[:LISTED]


def spans_of(start: Array, end: Array) -> Spans:
    """Return the spans of some rows; not more than a reader can look at."""
    known = np.isfinite(start) & np.isfinite(end)
    return tuple(zip(start[known].tolist(), end[known].tolist(), strict=True))[:LISTED]


def counted(count: int, word: str, many: str = "") -> str:
    """Return how many there are of something: 1 stop, 12 stops."""
    return f"{count} {word if count == 1 else many or word + 's'}"


def lasted(seconds: float) -> str:
    """Return a time in minutes, or in hours where it is long."""
    return f"{seconds / 60.0:.0f} min" if seconds < 7200.0 else f"{seconds / 3600.0:.1f} h"
