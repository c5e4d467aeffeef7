"""The windows of the coming roll changes as a calendar that any calendar program opens (iCalendar, RFC 5545)."""

from __future__ import annotations

from datetime import UTC, datetime
from math import inf
from typing import TYPE_CHECKING

from twin.study.rollresult import Answer, Change
from twin.version import VERSION
from twin.words import number

if TYPE_CHECKING:
    from icalendar import Event

LONGEST = 75
LEAST_S = 15.0 * 60.0  # an event of no length cannot be seen in a calendar


def calendar(answer: Answer, *, stamp: datetime | None = None) -> bytes:
    """Return the calendar: one event for each window, in UTC so that every program shows it at the right local time.

    Parameters
    ----------
    stamp : When it was made; left out, now.
    """
    from icalendar import Calendar

    made = Calendar()
    made.add("prodid", f"-//passline//roll changes {VERSION}//EN")
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    made.add("method", "PUBLISH")
    made.add("x-wr-calname", f"Roll changes, {answer.scenario}")
    for order, change in enumerate(answer.changes):
        made.add_component(_event(answer, change, order, stamp or datetime.now(UTC)))
    return b"".join(folded(line) for line in made.to_ical().replace(b"\r\n ", b"").split(b"\r\n") if line)


def folded(line: bytes) -> bytes:
    """Return a line of a calendar cut to 75 octets and less, no character split, each with its end."""
    parts = []
    room = LONGEST
    while len(line) > room:
        cut = room
        while line[cut] & 0xC0 == 0x80:  # inside a character of UTF-8
            cut -= 1
        parts.append(line[:cut])
        line = line[cut:]
        room = LONGEST - 1  # a line that goes on begins with a blank
    return b"\r\n ".join([*parts, line]) + b"\r\n"


def _event(answer: Answer, change: Change, order: int, stamp: datetime) -> Event:
    """Return the window of one change."""
    from icalendar import Event

    made = Event()
    day = answer.now.astimezone(UTC)
    made.add("uid", f"{answer.digest[:16]}-{answer.station.replace(' ', '-')}-{day:%Y%m%dT%H%M}-{order}@passline")
    made.add("dtstamp", stamp.astimezone(UTC))
    made.add("dtstart", _utc(answer, change.earliest))
    made.add("dtend", _utc(answer, max(change.latest, change.earliest + LEAST_S)))
    made.add("summary", summary(answer, change))
    made.add("description", description(answer, change))
    made.add("location", answer.station)
    made.add("categories", ["roll change"])
    made.add("transp", "TRANSPARENT")
    return made


def _utc(answer: Answer, seconds: float) -> datetime:
    """Return a moment on the whole minute."""
    return answer.moment(60.0 * round(seconds / 60.0)).astimezone(UTC)


def summary(answer: Answer, change: Change) -> str:
    """Return the title of an event."""
    if change.off is None or change.on is None:
        return f"{answer.station}: change rolls"
    return f"{answer.station}: set {change.off} off, set {change.on} on"


def description(answer: Answer, change: Change) -> str:
    """Return what an event says: the best moment, the prices, why, what is needed, and the cautions."""
    best = answer.moment(change.best)
    lines = [f"Best at {best:%H:%M} on {best:%Y-%m-%d}. {change.why}"]
    if change.early > 0.0:
        lines.append(f"Each half hour earlier costs the line {number(change.early, unit='t', places=2)}.")
    if change.late == inf:
        lines.append("Later the set is beyond its limit.")
    elif change.late > 0.0:
        lines.append(f"Each half hour later costs the line {number(change.late, unit='t', places=2)}.")
    lines.append(f"Chance of damage before the best moment: {100.0 * change.risk:.0f} %.")
    if change.heat_from is not None:
        lines.append(f"Start heating the set by {answer.moment(change.heat_from):%H:%M}.")
    lines.append(f"Needed: {', '.join(change.needs)}.")
    return "\n".join([*lines, *answer.cautions])
