"""Weekly times as people write them: ``Mon-Fri 06:00-14:00``, ``Mon 06:00 - Sat 06:00``, ``Wed 14:00``, and dates."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time

from twin.scenario.faults import refuse

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
DAY_MINUTES = 1440
WEEK_MINUTES = 7 * DAY_MINUTES

_LONG = {
    name.casefold(): number
    for number, names in enumerate(
        (
            ("Mon", "Monday"),
            ("Tue", "Tues", "Tuesday"),
            ("Wed", "Wednesday"),
            ("Thu", "Thur", "Thurs", "Thursday"),
            ("Fri", "Friday"),
            ("Sat", "Saturday"),
            ("Sun", "Sunday"),
        )
    )
    for name in names
}
_CLOCK = r"([0-9]{1,2}):([0-9]{2})"
_DAYS_AND_HOURS = re.compile(rf"(?:([A-Za-z, \-]+?)\s+)?{_CLOCK}\s*[-\u2013]\s*{_CLOCK}")
_FROM_TO = re.compile(rf"([A-Za-z]+)\s+{_CLOCK}\s*[-\u2013]\s*([A-Za-z]+)\s+{_CLOCK}")
_WEEKLY = re.compile(rf"([A-Za-z]+)\s+{_CLOCK}")


@dataclass(frozen=True, slots=True)
class Window:
    """An opening in the week, in minutes of wall-clock time from Monday 00:00; ``end`` may pass the week's end."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Span:
    """From one local moment to another, the second not included."""

    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment that comes back each week (``weekday`` 0 = Monday, ``minute`` of the day) or comes once (``once``)."""

    weekday: int = 0
    minute: int = 0
    once: datetime | None = None


def _minutes(hour: str, minute: str, text: str) -> int:
    total = int(hour) * 60 + int(minute)
    if int(minute) > 59 or total > DAY_MINUTES:
        message = f"'{text}' has a time of day that does not exist"
        raise refuse(message, value=text, limit="00:00 to 24:00", way_out="Write times from 00:00 to 24:00")
    return total


def _weekday(word: str, text: str) -> int:
    if word.casefold() not in _LONG:
        raise refuse(f"'{word}' in '{text}' is not a day", value=text, way_out=f"Write one of {', '.join(DAYS)}")
    return _LONG[word.casefold()]


def _weekdays(words: str | None, text: str) -> list[int]:
    if words is None or words.strip().casefold() in ("daily", "every day"):
        return list(range(7))
    days: list[int] = []
    for part in words.split(","):
        ends = [_weekday(word.strip(), text) for word in part.split("-")]
        if len(ends) > 2:
            raise refuse(f"'{text}' is not a range of days", value=text, way_out="Write Mon-Fri 06:00-14:00")
        days += [(ends[0] + step) % 7 for step in range((ends[-1] - ends[0]) % 7 + 1)]
    return sorted(set(days))


def parse_windows(value: object) -> tuple[Window, ...]:
    """Return the openings that one text describes; hours that end before they begin run past midnight."""
    text = value.strip() if isinstance(value, str) else ""
    across = _FROM_TO.fullmatch(text)
    if across:
        first, last = _weekday(across[1], text), _weekday(across[4], text)
        start = first * DAY_MINUTES + _minutes(across[2], across[3], text)
        end = last * DAY_MINUTES + _minutes(across[5], across[6], text)
        return (Window(start, end if end > start else end + WEEK_MINUTES),)
    daily = _DAYS_AND_HOURS.fullmatch(text)
    if not daily:
        raise refuse(
            f"'{value}' is not a time of the week",
            value=value,
            way_out="Write 'Mon-Fri 06:00-14:00', '06:00-14:00' or 'Mon 06:00 - Sat 06:00'",
        )
    start, end = _minutes(daily[2], daily[3], text), _minutes(daily[4], daily[5], text)
    length = end - start if end > start else end - start + DAY_MINUTES
    opens = (day * DAY_MINUTES + start for day in _weekdays(daily[1], text))
    return tuple(Window(begin, begin + length) for begin in opens)


def parse_local(value: object) -> datetime:
    """Return a local date and time without zone; a date alone is its 00:00."""
    text = value.strip() if isinstance(value, str) else ""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        found = None
    if (
        found is None
        or found.tzinfo is not None
        or not 1970 <= found.year <= 2200
        or not re.match(r"\d{4}-\d\d-\d\d", text)
    ):
        raise refuse(
            f"'{value}' is not a local date or time",
            value=value,
            limit="1970 to 2200, without a zone: the zone is time.zone",
            way_out="Write 2026-03-02 or 2026-03-02 06:00",
        )
    return found


def parse_span(value: object) -> Span:
    """Return the days of ``2026-12-24`` or of ``2026-08-03 - 2026-08-16`` (the last day included), or exact times."""
    text = value.strip() if isinstance(value, str) else ""
    ends = re.split(r"\s+-\s+|\s+to\s+", text)
    if not 1 <= len(ends) <= 2 or not text:
        raise refuse(f"'{value}' is not a day", value=value, way_out="Write 2026-12-24 or 2026-08-03 - 2026-08-16")
    start, last = parse_local(ends[0]), parse_local(ends[-1])
    whole_day = len(ends[-1].strip()) == len("2026-12-24")
    end = datetime.combine(date.fromordinal(last.toordinal() + 1), time()) if whole_day else last
    if end <= start:
        raise refuse(f"'{value}' ends before it begins", value=value, way_out="Put the earlier day first")
    return Span(start, end)


def parse_moment(value: object) -> Moment:
    """Return ``Wed 14:00`` (each week) or a local date and time (once)."""
    text = value.strip() if isinstance(value, str) else ""
    weekly = _WEEKLY.fullmatch(text)
    if weekly:
        return Moment(_weekday(weekly[1], text), _minutes(weekly[2], weekly[3], text))
    return Moment(once=parse_local(value))
