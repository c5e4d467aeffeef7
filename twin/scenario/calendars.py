"""When things are open, in seconds that really pass: local wall-clock times, with the two nights the clocks change.

A night shift from 22:00 to 06:00 lasts 7 hours when the clocks go forward and 9 when they go back. A local time that
comes twice means its first coming; one that is left out means the same moment by the clock before the change
(as RFC 5545, section 3.3.5, has it).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from datetime import time as clock_time
from functools import lru_cache
from typing import Any

from twin.scenario.faults import did_you_mean, refuse
from twin.scenario.plant import Calendar, Time
from twin.scenario.weekly import DAY_MINUTES, Moment, Window

_DAY = 86400


def timestamp(time: Time, local: datetime) -> float:
    """Return the UTC second of a local wall-clock time."""
    return local.replace(tzinfo=time.tz).timestamp()


def elapsed(time: Time, local: datetime) -> float:
    """Return the seconds from the start of the run to a local wall-clock time; negative before the start."""
    return timestamp(time, local) - timestamp(time, time.start)


def wall_clock(time: Time, t_s: float) -> datetime:
    """Return the local date and time, with its zone, when ``t_s`` seconds of the run have passed."""
    begin = datetime.fromtimestamp(timestamp(time, time.start), UTC)
    return (begin + timedelta(seconds=t_s)).astimezone(time.tz)


class _Days:
    """Turns local days and minutes into seconds of the run; days without a change of the clocks are plain sums."""

    def __init__(self, time: Time) -> None:
        self.time = time
        self.begin = timestamp(time, time.start)
        self.midnights: dict[int, float] = {}

    def midnight(self, day: int) -> float:
        """Return the second of the run at local 00:00 of a day, by its proleptic number."""
        found = self.midnights.get(day)
        if found is None:
            local = datetime.combine(date.fromordinal(day), clock_time())
            found = self.midnights[day] = timestamp(self.time, local) - self.begin
        return found

    def second(self, day: int, minute: int) -> float:
        """Return the second of the run at a minute of a local day; minutes may run past the day's end."""
        day, minute = day + minute // DAY_MINUTES, minute % DAY_MINUTES
        midnight = self.midnight(day)
        if minute == 0 or self.midnight(day + 1) - midnight == _DAY:
            return midnight + 60.0 * minute
        local = datetime.combine(date.fromordinal(day), clock_time(minute // 60, minute % 60))
        return timestamp(self.time, local) - self.begin

    def span(self, horizon_s: float, before: int = 8) -> range:
        """Return the local days that can matter to a run, some before its start among them."""
        first = self.time.start.date().toordinal() - before
        return range(first, first + before + int(horizon_s // _DAY) + 3)


def turns(calendar: Calendar, time: Time, horizon_s: float) -> tuple[bool, list[float]]:
    """Return whether a calendar is open at the start, and the seconds at which it closes and opens in turn.

    Parameters
    ----------
    calendar : A calendar of the scenario.
    time : The clock of the scenario.
    horizon_s : How far to look, from the start. [s]
    """
    if calendar.always:
        return True, []
    days = _Days(time)
    edges: list[tuple[float, int, int]] = []
    for start, end in _windows(calendar.open, days, horizon_s):
        edges += [(start, 1, 0), (end, -1, 0)]
    for start, end in _closings(calendar, days, horizon_s):
        edges += [(start, 0, 1), (end, 0, -1)]
    return _sweep(sorted(edges), horizon_s)


def _sweep(edges: list[tuple[float, int, int]], horizon_s: float) -> tuple[bool, list[float]]:
    opened = closed = 0
    now_open = at_start = False
    toggles: list[float] = []
    for number, (second, opens, closes) in enumerate(edges):
        opened, closed = opened + opens, closed + closes
        if number + 1 < len(edges) and edges[number + 1][0] == second:
            continue
        is_open = opened > 0 and closed == 0
        if is_open == now_open:
            continue
        now_open = is_open
        if second <= 0.0:
            at_start = is_open
        elif second < horizon_s:
            toggles.append(second)
    return at_start, toggles


def _windows(windows: Iterable[Window], days: _Days, horizon_s: float) -> Iterator[tuple[float, float]]:
    by_day: list[list[Window]] = [[] for _ in range(7)]
    for window in windows:
        by_day[window.start // DAY_MINUTES % 7].append(window)
    for day in days.span(horizon_s):
        for window in by_day[(day + 6) % 7]:
            minute = window.start % DAY_MINUTES
            start = days.second(day, minute)
            end = days.second(day, minute + window.end - window.start)
            if end > start:
                yield start, end


def _closings(calendar: Calendar, days: _Days, horizon_s: float) -> Iterator[tuple[float, float]]:
    yield from _windows(calendar.breaks, days, horizon_s)
    for span in calendar.closed:
        yield elapsed(days.time, span.start), elapsed(days.time, span.end)
    if calendar.holidays:
        span_days = days.span(horizon_s)
        free = public_holidays(calendar.holidays)
        for day in span_days:
            if date.fromordinal(day) in free:
                yield days.midnight(day), days.midnight(day + 1)


@lru_cache(maxsize=16)
def public_holidays(country: str) -> Any:  # noqa: ANN401 - the library's own mapping of dates
    """Return the public holidays of a country, ``AT``, or of a region, ``DE-BY``; filled in as years are asked."""
    import holidays

    code, _, region = country.partition("-")
    try:
        return holidays.country_holidays(code, subdiv=region or None)
    except NotImplementedError:
        known = sorted(holidays.list_supported_countries(include_aliases=False))
        regions = holidays.list_supported_countries().get(code, []) if region else []
        raise refuse(
            f"the holidays of '{country}' are not known",
            value=country,
            way_out=did_you_mean(region, regions, "regions") if region else did_you_mean(code, known, "countries"),
        ) from None


def moments(times: Iterable[Moment], time: Time, horizon_s: float) -> list[float]:
    """Return the seconds of the run at which weekly and single moments fall, within the horizon."""
    days = _Days(time)
    found: set[float] = set()
    for moment in times:
        if moment.once is not None:
            found.add(elapsed(time, moment.once))
            continue
        for day in days.span(horizon_s):
            if (day + 6) % 7 == moment.weekday:
                found.add(days.second(day, moment.minute))
    return sorted(second for second in found if 0.0 <= second < horizon_s)


def open_seconds(calendar: Calendar, time: Time, horizon_s: float) -> float:
    """Return how long a calendar is open from the start to the horizon. [s]"""
    is_open, toggles = turns(calendar, time, horizon_s)
    total, since = 0.0, 0.0
    for second in (*toggles, horizon_s):
        total += second - since if is_open else 0.0
        is_open, since = not is_open, second
    return total
