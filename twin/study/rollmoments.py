"""Moments of an ordinary week at which rolls could be changed by the clock."""

from __future__ import annotations

from twin.scenario import Scenario
from twin.scenario.calendars import turns, wall_clock

WEEK_S = 7 * 86400.0
HALF_HOUR_S = 1800.0
MANY = 7  # closings a week beyond which they are breaks and shift ends, not planned stops
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def open_spells(scenario: Scenario, station: str) -> list[tuple[float, float]]:
    """Return when a station works in the second week of a scenario; that week has no beginning. [s]"""
    calendar = scenario.calendar(scenario.stations[station].calendar)
    is_open, edges = turns(calendar, scenario.time, 2 * WEEK_S)
    times = [WEEK_S, *(edge for edge in edges if WEEK_S < edge < 2 * WEEK_S), 2 * WEEK_S]
    begins_open = is_open != (sum(edge <= WEEK_S for edge in edges) % 2 == 1)
    spells = list(zip(times, times[1:], strict=False))
    return spells[0 if begins_open else 1 :: 2]


def weekly_moment(scenario: Scenario, seconds: float) -> str:
    """Return a moment as the grammar writes one that comes back each week."""
    local = wall_clock(scenario.time, seconds)
    return f"{DAYS[local.weekday()]} {local:%H:%M}"


def planned_stops(scenario: Scenario, station: str) -> list[str]:
    """Return the moments at which a station stops for the night or the week-end; none where it never does."""
    ends = [end for _, end in open_spells(scenario, station) if end < 2 * WEEK_S]
    return [weekly_moment(scenario, end) for end in ends] if len(ends) <= MANY else []


def evenly(scenario: Scenario, station: str, count: int) -> list[str]:
    """Return so many moments of a week, evenly spread over the hours of a station, on whole half hours."""
    spells = open_spells(scenario, station)
    total = sum(end - start for start, end in spells)
    found = []
    for place in range(count):
        left = (place + 0.5) * total / count
        for start, end in spells:
            if left < end - start:
                found.append(weekly_moment(scenario, start + left // HALF_HOUR_S * HALF_HOUR_S))
                break
            left -= end - start
    return list(dict.fromkeys(found))
