"""Calendars must open at some time of the run."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from twin.scenario.building import Draft
from twin.scenario.calendars import public_holidays, turns
from twin.scenario.faults import Placed, Problem, Refusal
from twin.scenario.models import Calendar, Time

DAY = 86400.0
LOOKS = (8, 60, 371)
"""How far it is looked, one after the other: every day of a week, then every week of a year. [days]"""


def check(found: Draft) -> list[Placed]:
    """Return a problem for every calendar that never opens, and for holidays that nobody knows."""
    time = found.parts.get("time", Time())
    problems: list[Placed] = []
    for name, calendar in found.parts.get("calendars", {}).items():
        problems += _one(name, calendar, time)
    return problems


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
