"""Calendars must open at some time of the run."""

from __future__ import annotations

from collections.abc import Iterator

from twin.scenario.building import Draft, Placed
from twin.scenario.calendars import public_holidays, turns
from twin.scenario.faults import Problem, Refusal
from twin.scenario.models import Calendar, Time

YEAR = 53 * 7 * 86400.0
"""How far it is looked, at most: every week of a year with its holidays. [s]"""


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
    horizon = min(time.warm_up + time.length, YEAR)
    if horizon == YEAR or not calendar.closed:
        horizon = min(max(horizon, 8 * 86400.0), YEAR)
    is_open, toggles = turns(calendar, time, horizon)
    if not is_open and not toggles:
        message = f"the calendar never opens in the {horizon / 86400:.0f} days from {time.start:%Y-%m-%d}"
        way_out = "Check its breaks, holidays and closed days, or write always"
        yield ("calendars", name), Problem(message, name, "open at some time", way_out)
