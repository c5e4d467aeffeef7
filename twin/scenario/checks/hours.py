"""Calendars must open at some time of the run, and what comes in it must be so little that it can be counted."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from twin.scenario.building import Draft
from twin.scenario.calendars import public_holidays, turns
from twin.scenario.faults import Placed, Problem, Refusal
from twin.scenario.models import Calendar, Supply, Time

DAY = 86400.0
LOOKS = (8, 60, 371)
"""How far it is looked, one after the other: every day of a week, then every week of a year. [days]"""
MOST_COILS = 10_000_000
"""The most coils that one supply may deliver in a run; more would take hours and all memory."""


def check(found: Draft) -> list[Placed]:
    """Return a problem for every calendar that never opens, and for holidays that nobody knows."""
    time = found.parts.get("time", Time())
    problems: list[Placed] = []
    for name, calendar in found.parts.get("calendars", {}).items():
        problems += _one(name, calendar, time)
    for name, station in found.parts.get("stations", {}).items():
        if isinstance(station, Supply) and station.every is not None:
            problems += _deliveries(name, station.every.average, time.warm_up + time.length)
    return problems


def _deliveries(name: str, every: float, run: float) -> Iterator[Placed]:
    """Yield a problem where a supply would deliver more coils than a run can hold. Times in [s]."""
    coils = run / every if every > 0.0 else math.inf
    if coils > MOST_COILS:
        message = f"a coil every {every:g} s makes {coils:.3g} coils in a run, more than {MOST_COILS:.0e}"
        way_out = "Check the number and its unit, or shorten time.length"
        yield ("stations", name, "every"), Problem(message, f"{every:g} s", f"at most {MOST_COILS:.0e} coils", way_out)


def _one(name: str, calendar: Calendar, time: Time) -> Iterator[Placed]:
    if name == "always" and not calendar.always:
        yield (
            ("calendars", name),
            Problem("'always' is open day and night", name, way_out="Give this calendar another name"),
        )
    if calendar.holidays is not None:
        try:
            public_holidays(calendar.holidays)
        except Refusal as refusal:
            yield ("calendars", name, "holidays"), refusal.problems[0]
            return
    run_days = (time.warm_up + time.length) / DAY
    for days in LOOKS:
        if any_open(calendar, time, days * DAY):
            return
        if days >= run_days:
            break
    message = (
        f"the calendar never opens in the {min(days, max(run_days, LOOKS[0])):.0f} days from {time.start:%Y-%m-%d}"
    )
    way_out = "Check its breaks, holidays and closed days, or write always"
    yield ("calendars", name), Problem(message, name, "open at some time", way_out)


@lru_cache(maxsize=256)
def any_open(calendar: Calendar, time: Time, horizon_s: float) -> bool:
    """Tell whether a calendar opens at some time before the horizon."""
    is_open, toggles = turns(calendar, time, horizon_s)
    return is_open or bool(toggles)
