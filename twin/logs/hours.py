"""When a station works: its calendar on the clock of a log, and how much of a span is working time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from twin.logs.tables import Array
from twin.scenario.calendars import timestamp, turns

if TYPE_CHECKING:
    from twin.scenario import Scenario


@dataclass(frozen=True)
class Hours:
    """The open spells of a station, rising, as starts and ends [s since 1970 UTC]."""

    starts: Array
    ends: Array

    def worked(self, times: Array) -> Array:
        """Return the open seconds before each time, counted from the first spell."""
        lengths = np.concatenate([[0.0], np.cumsum(self.ends - self.starts)])
        place = np.searchsorted(self.starts, times, side="right")
        inside = np.maximum(np.minimum(times, self.ends[place - 1]) - self.starts[place - 1], 0.0)
        return np.asarray(np.where(place > 0, lengths[np.maximum(place - 1, 0)] + inside, 0.0))

    def between(self, start: Array, end: Array) -> Array:
        """Return the open seconds between two times."""
        return np.asarray(self.worked(np.asarray(end)) - self.worked(np.asarray(start)))

    def is_open(self, times: Array) -> Array:
        """Tell whether the station works at each time."""
        place = np.searchsorted(self.starts, times, side="right") - 1
        return np.asarray((place >= 0) & (times < self.ends[place.clip(min=0)]))


def hours_of(scenario: Scenario, name: str | None, until: float) -> Hours:
    """Return the open spells of a calendar (by its name) up to a time [s since 1970 UTC].

    A log that begins before the scenario's start is not open there: set the scenario's start to the log's first day.
    """
    begin = timestamp(scenario.time, scenario.time.start)
    horizon = max(until - begin, 0.0) + 1.0
    is_open, toggles = turns(scenario.calendar(name), scenario.time, horizon)
    edges = [0.0, *toggles] if is_open else list(toggles)
    if len(edges) % 2:
        edges.append(horizon)
    spells = begin + np.array(edges or [0.0, 0.0], dtype=np.float64).reshape(-1, 2)
    return Hours(spells[:, 0], spells[:, 1])


def station_hours(scenario: Scenario, until: float) -> Mapping[str, Hours]:
    """Return the open spells of every station."""
    by_calendar = {name: hours_of(scenario, name, until) for name in {s.calendar for s in scenario.stations.values()}}
    return {name: by_calendar[own.calendar] for name, own in scenario.stations.items()}
