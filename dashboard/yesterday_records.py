"""A plant with its log, read and examined once for all of its days; a shelf that keeps the last ones at hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from datetime import time as clock
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dashboard.yesterday_log import invent
from twin.logs import read_log
from twin.logs.mapping import Mapping as LogMapping
from twin.logs.mapping import load_mapping
from twin.scenario import Scenario, apply_options, load
from twin.study.review_day import Day, bounds, day_of, days_of, last_day, prepare_day
from twin.study.watchdays import day_begins

if TYPE_CHECKING:
    from twin.logs import Log
    from twin.logs.doctor import Examined

MOST_LOGS, MOST_DAYS = 2, 4


@dataclass(frozen=True)
class Records:
    """A plant with its log, which is examined once for all days."""

    scenario: Scenario
    log: Log
    mapping: LogMapping | None

    @cached_property
    def begins(self) -> clock | None:
        """Return when the plant's production day begins, where its mapping says so."""
        return day_begins(self.mapping)

    @cached_property
    def days(self) -> tuple[date, ...]:
        """Return the production days that the log covers."""
        return days_of(self.scenario, self.log, self.begins)

    @cached_property
    def last(self) -> date:
        """Return the last day on which something was finished; where none is whole, the last that is told of."""
        found = last_day(self.scenario, self.log, self.begins)
        return found or (self.days[-1] if self.days else date.today())

    @cached_property
    def examined(self) -> Examined:
        """Return the log with what is wrong with it. Raises LogError where it is not fit for use."""
        return self._asked(self.days[-1]).examined

    def day(self, day: date | str) -> Day:
        """Return one day, ready to be run. Raises LogError where the log does not tell of it or is not fit for use."""
        when = date.fromisoformat(day) if isinstance(day, str) else day
        if when not in self.days:
            return self._asked(when)
        return day_of(self.scenario, self.examined, when, bounds(self.scenario, when, self.begins))

    def _asked(self, when: date) -> Day:
        return prepare_day(self.scenario, self.log, when, begins=self.begins, mapping=self.mapping)


def records(file: str, options: Sequence[str], log: str, invented: bool) -> Records:
    """Return a plant with its log, which is made first where it is invented."""
    base, place = load(file), Path(log)
    if invented:
        invent(base, place)
    scenario = apply_options(base, list(options)) if options else base
    folder = place if place.is_dir() else place.parent
    mapping = load_mapping(folder / "mapping.yaml") if (folder / "mapping.yaml").is_file() else None
    return Records(scenario, read_log(place, zone=scenario.time.zone), mapping)


@dataclass
class Shelf:
    """The last logs that were read, each with the last days that were asked of it."""

    logs: dict[tuple[Any, ...], tuple[Records, dict[str, Day]]] = field(default_factory=dict)

    def day(self, order: Mapping[str, Any]) -> Day:
        """Return a day, read only if it is not at hand; a file or a log that has changed is another one."""
        key = tuple(str(order[name]) for name in ("file", "digest", "options", "log", "stamp"))
        found = self.logs.pop(key, None)
        if found is None:
            found = records(order["file"], order["options"], order["log"], order["invented"]), {}
        self.logs[key] = found  # the last one asked for stands last
        _keep_last(self.logs, MOST_LOGS)
        own, days = found
        if order["day"] not in days:
            days[order["day"]] = own.day(order["day"])
            _keep_last(days, MOST_DAYS)
        return days[order["day"]]


def _keep_last(kept: dict[Any, Any], most: int) -> None:
    while len(kept) > most:
        del kept[next(iter(kept))]
