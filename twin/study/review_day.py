"""One production day of a line: its scenario, its morning, what was recorded of it, and runs of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.line import clock_loop
from twin.line.build import build
from twin.line.engine import compiled_available
from twin.line.model import NO_SCRIPTS, Model, Scripts, prepare
from twin.line.ready import Ready
from twin.line.simulate import collector_resting
from twin.line.totals import made_by
from twin.logs import LogError, LogFault
from twin.logs.doctor import Examined, examine
from twin.logs.hours import station_hours
from twin.logs.mapping import Mapping
from twin.scenario import Scenario, ScenarioError
from twin.scenario.beginning import MachineNow, Start
from twin.scenario.calendars import timestamp
from twin.study.assumed import finished_stores
from twin.study.review_morning import NEAR_S, Morning, morning_of
from twin.study.review_reconcile import Reconciled, reconciled
from twin.study.review_records import Records

if TYPE_CHECKING:
    from twin.line.rules.state import Line
    from twin.logs import Log

HOUR_S = 3600.0
Vary = Callable[[Scenario, int, int], Scenario]


@dataclass(frozen=True)
class Day:
    """A production day, ready to be run again and again.

    Attributes
    ----------
    plant : The line as its file has it.
    scenario : The line on that day, from its morning on.
    date : On which the day begins.
    begin, end : [s since 1970 UTC]
    examined : The log with what is wrong with it.
    records : Its rows.
    morning : How the day begins.
    settled : What its recorded durations were corrected by.
    """

    plant: Scenario
    scenario: Scenario
    date: date
    begin: float
    end: float
    examined: Examined
    records: Records
    morning: Morning
    settled: Reconciled

    @cached_property
    def model(self) -> Model:
        """Return the model of the day; what would be noted at midnight is noted every hour."""
        return hourly(self.scenario)

    @cached_property
    def varied(self) -> dict[tuple[int, int], tuple[Vary, Model]]:
        """Return the models of runs with inputs of their own, by seed and run, with what drew them."""
        return {}

    @property
    def base(self) -> Scripts:
        """Return what is known of the morning, with everything else drawn."""
        return replace(NO_SCRIPTS, found=self.morning.found)

    @property
    def told_now(self) -> bool:
        """Return whether the morning is told by the scenario itself, not by the log."""
        return not self.morning.told

    @property
    def begun_unknown(self) -> bool:
        """Return whether the log begins with the day, so that nobody knows what was going on in its morning."""
        return not self.told_now and self.begin <= self.records.log.span[0] + NEAR_S

    def begun(self, station: str, machine: int) -> MachineNow | None:
        """Return what a machine was in the middle of in the morning, as the scenario itself tells.

        A log that begins with such a morning may tell of the rest of it as if it began then.
        """
        if not self.told_now:
            return None
        return next((own for own in self.scenario.start.machines.get(station, ()) if own.machine == machine), None)

    def since(self, moment: float) -> float:
        """Return the seconds from the begin of the day."""
        return moment - self.begin


def hourly(scenario: Scenario) -> Model:
    """Return the model of a day in which the good output is noted each hour."""
    model = prepare(scenario)
    return replace(model, days=tuple(np.arange(HOUR_S, model.end, HOUR_S).tolist()))


def at_moment(scenario: Scenario, begin: datetime, length: float) -> Scenario:
    """Return a scenario that begins at a local time, without a warm-up."""
    clock = scenario.time.model_copy(update={"start": begin, "length": length, "warm_up": 0.0})
    return fresh(scenario, time=clock)


def fresh(scenario: Scenario, **parts: object) -> Scenario:
    """Return a scenario with other parts, and a digest of its own."""
    made = scenario.model_copy(update=parts)
    made.__dict__.pop("digest", None)
    return made


def bounds(scenario: Scenario, day: date, begins: time | None) -> tuple[datetime, float, float]:
    """Return when a production day begins, local and absolute, and when it ends: 23 or 25 h later in two nights."""
    local = datetime.combine(day, begins or scenario.time.start.time())
    after = datetime.combine(day + timedelta(days=1), local.time())
    return local, timestamp(scenario.time, local), timestamp(scenario.time, after)


def days_of(scenario: Scenario, log: Log, begins: time | None = None) -> tuple[date, ...]:
    """Return the production days that a log covers from begin to end, allowing for a quiet hour at either side."""
    first, last = log.span
    if last <= first:
        return ()
    zone, found = scenario.time.tz, list[date]()
    day = datetime.fromtimestamp(first, zone).date() - timedelta(days=1)
    while True:
        _, begin, end = bounds(scenario, day, begins)
        if begin > last:
            return tuple(found)
        if begin >= first - 2 * HOUR_S and end <= last + 12 * HOUR_S and _works(log, begin, end):
            found.append(day)
        day += timedelta(days=1)


def _works(log: Log, begin: float, end: float) -> bool:
    times = log["output"]["time"]
    return bool(((times >= begin) & (times < end)).any())


def prepare_day(
    scenario: Scenario, log: Log, day: date, *, begins: time | None = None, mapping: Mapping | None = None
) -> Day:
    """Return a day of a log, with the log examined and the morning found.

    Raises
    ------
    LogError : A log that is not fit for use, or that tells nothing of that day.
    """
    known = days_of(scenario, log, begins)
    if day not in known:
        said = f"it tells of {known[0]} to {known[-1]}" if known else "it covers no whole day"
        raise LogError(LogFault(log.place, 0, f"the log tells nothing of {day}: {said}", "Give another day"))
    _same_line(scenario, log)
    local, begin, end = bounds(scenario, day, begins)
    examined = examine(log, _from_first_day(scenario, log), mapping).trusted()
    return day_of(scenario, examined, day, (local, begin, end))


def _same_line(scenario: Scenario, log: Log) -> None:
    """Raise LogError for a log of another line: more of its stations are strange than known."""
    strange = [name for name in log.stations if name not in scenario.stations]
    if 2 * len(strange) > len(log.stations):
        names = ", ".join(strange[:5])
        message = f"of its {len(log.stations)} stations the scenario does not know {len(strange)}: {names}"
        raise LogError(LogFault(log.place, 0, message, "Give the log of this line, or map its names in mapping.yaml"))


def unknown_stations(scenario: Scenario, log: Log) -> tuple[str, ...]:
    """Return, in sentences, whose records are left out because the scenario knows no such station."""
    strange = [name for name in log.stations if name not in scenario.stations]
    return tuple(f"The scenario has no station '{name}': its records are left out." for name in strange)


def last_day(scenario: Scenario, log: Log, begins: time | None = None) -> date | None:
    """Return the last day on which about as much was finished as usual; None where there is no whole day.

    A caster that runs through a Sunday makes no day of it that anybody would review.
    """
    known = days_of(scenario, log, begins)
    done = finished_stores(scenario)
    finishing = [name for name, own in scenario.stations.items() if own.to is None or own.to in done]
    output = log["output"]
    finished = np.isin(output["station"].astype(str), finishing)
    times = output["time"][finished] if finished.any() else output["time"]
    rows = [
        int(((times >= begin) & (times < end)).sum()) for _, begin, end in (bounds(scenario, d, begins) for d in known)
    ]
    usual = sorted(rows)[len(rows) // 2] if rows else 0
    return next((day for day, count in zip(reversed(known), reversed(rows), strict=True) if 2 * count >= usual), None)


def day_of(scenario: Scenario, examined: Examined, day: date, when: tuple[datetime, float, float]) -> Day:
    """Return a day of an examined log."""
    local, begin, end = when
    early = _from_first_day(scenario, examined.log)
    hours = dict(station_hours(early, max(examined.log.span[1], end) + 1.0))
    settled = reconciled(_Case(scenario, Records(examined.log, prepare(scenario), hours)), examined, begin, end)
    records = settled.records
    on_day = at_moment(scenario, local, end - begin)
    told_now = scenario.start.mode != "typical" and scenario.time.start == local
    morning = Morning({}) if told_now else morning_of(records, begin)
    if not told_now:
        on_day, morning = _with_morning(on_day, morning)
    said = (*unknown_stations(scenario, examined.log), *settled.said(begin, end))
    morning = replace(morning, assumed=(*said, *morning.assumed))
    return Day(scenario, on_day, day, begin, end, examined, records, morning, settled)


@dataclass(frozen=True, slots=True)
class _Case:
    """A line with its records, before its morning is known."""

    plant: Scenario
    records: Records

    @property
    def model(self) -> Model:
        return self.records.model


def _with_morning(scenario: Scenario, morning: Morning) -> tuple[Scenario, Morning]:
    """Return the scenario with its morning; what cannot be is left out, and said."""
    told, assumed = {key: dict(own) for key, own in morning.told.items()}, list(morning.assumed)
    while True:
        made = fresh(scenario, start=Start.model_validate(told))
        try:
            build(prepare(made), 0, 0, replace(NO_SCRIPTS, found=morning.found))
        except ScenarioError as error:
            place = error.faults[0].place.split(".")
            if len(place) < 3 or place[2] not in told.get(place[1], {}):
                raise
            del told[place[1]][place[2]]
            assumed.append(f"What {place[2]} was doing in the morning does not fit the line: taken as idle or empty.")
        else:
            return made, replace(morning, told=told, assumed=tuple(assumed))


def _from_first_day(scenario: Scenario, log: Log) -> Scenario:
    """Return the scenario with its clock set to the first day of a log, as calendars are asked from there on."""
    first = datetime.fromtimestamp(log.span[0], scenario.time.tz) - timedelta(days=1)
    return at_moment(scenario, datetime.combine(first.date(), time()), scenario.time.length)


def run_days(day: Day, scripts: Scripts, runs: Sequence[int], *, seed: int, vary: Vary | None = None) -> FloatArray:
    """Return the good tonnes cumulated through the day, of several runs: [runs, moments] in t.

    The moments are its begin, each hour, its end.
    """
    made, pure, ready = [], not compiled_available(), None
    with collector_resting():
        for place, run in enumerate(runs, start=1):
            model = model_of_run(day, vary, seed, run)
            if ready is None or vary is not None:
                ready = Ready(model, scripts, pure=pure)
            ready.begin(seed, run, runs[place:] if vary is None else ())
            clock_loop.run(ready.line, ready.draws, model, pure=pure)
            made.append(_curve(ready.line))
    return np.array(made) / 1000.0


def _curve(line: Line) -> list[float]:
    return [0.0, *made_by(line).sum(axis=1).tolist()]


def model_of_run(day: Day, vary: Vary | None, seed: int, run: int) -> Model:
    """Return the model of one run, with inputs of its own where they are uncertain; each is made once.

    It is the plant whose numbers are drawn: hours and morning are those of the day.
    """
    if vary is None:
        return day.model
    known = day.varied.get((seed, run))
    if known is None or known[0] is not vary:
        drawn = fresh(vary(day.plant, seed, run), time=day.scenario.time, start=day.scenario.start)
        known = day.varied[seed, run] = vary, hourly(drawn)
    return known[1]
