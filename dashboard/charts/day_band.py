"""One day among the last ones: was it an ordinary day?"""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.axes import percent, share
from dashboard.charts.drawn import Scale
from dashboard.charts.svg import amount, figure, picture, tag, text, words

RULE, NAME_Y, LOW_Y, HEIGHT = 50.0, 18.0, 104.0, 112.0


@dataclass(frozen=True)
class DayAmong:
    """A day's tonnes, what was expected, the band in which nine such days of ten end, and the last days."""

    actual: float
    expected: float
    band: tuple[float, float]
    days: Sequence[float] = ()


def band_scale(day: DayAmong) -> Scale:
    """Return a scale on which the band, the day and all last days have room."""
    values = [day.actual, day.expected, *day.band, *day.days]
    room = 0.25 * (max(values) - min(values)) or 1.0
    return Scale(min(values) - room, max(values) + room)


def _at(scale: Scale, value: float, *marks: str) -> str:
    return tag("svg", *marks, x=scale.x(value), overflow="visible")


def _band(scale: Scale, day: DayAmong) -> str:
    low, high = (share(value, scale.low, scale.high) for value in day.band)
    bar = tag("rect", class_="pl-span", x=percent(low), y=RULE - 9, width=percent(high - low), height=18)
    end = tag("rect", class_="pl-ink", x=-1, y=RULE - 16, width=2, height=32)
    ends = (_at(scale, value, end, text(0, RULE + 32, figure(value), "pl-note pl-middle")) for value in day.band)
    return bar + "".join(ends)


def _last_days(scale: Scale, days: Sequence[float]) -> str:
    """Return a ring a day, a little up or down so that equal days can be counted."""
    made = ""
    for i, value in enumerate(days):
        made += _at(scale, value, tag("circle", cy=RULE + (i * 7) % 11 - 5, r=4.4, class_="pl-last-day"))
    return made


def _named(said: str, apart: float) -> str:
    """Return the name of the day over its ring, or under it where the name of the expected plate is too near [%]."""
    if apart < 16:
        return text(0, LOW_Y, said, "pl-name pl-middle")
    over = "pl-name pl-middle" if apart > 48 else "pl-name pl-middle pl-at-wide"
    under = text(0, LOW_Y, said, "pl-name pl-middle pl-at-phone") if apart <= 48 else ""
    return text(0, NAME_Y, said, over) + under


def day_among(day: DayAmong, *, unit: str = "t", when: str = "yesterday") -> str:
    """Return the band, the plate expected, the last days as rings, the day as a heavy ring; the same in a sentence."""
    scale = band_scale(day)
    apart = abs(share(day.actual, scale.low, scale.high) - share(day.expected, scale.low, scale.high))
    said, expected = f"{when} {amount(day.actual, unit)}", f"expected {amount(day.expected, unit)}"
    plate = tag("rect", class_="pl-ink", x=-1.5, y=RULE - 22, width=3, height=44)
    ring = tag("circle", cy=RULE, r=9, class_="pl-heavy-ring")
    marks = _at(scale, day.expected, plate, text(0, NAME_Y, expected, "pl-name pl-middle"))
    marks += _at(scale, day.actual, ring, _named(said, apart))
    rule = tag("line", x1=0, x2="100%", y1=RULE, y2=RULE, class_="pl-closed-line")
    low, high = (figure(value) for value in day.band)
    name = f"{said}, {expected}, nine days of ten lie between {low} and {high} {unit}"
    body = (rule, _band(scale, day), _last_days(scale, day.days), marks)
    drawn = picture(name, *body, width="100%", height=HEIGHT, class_="pl-area")
    return tag("div", drawn, tag("p", words(name), class_="pl-hidden"), class_="pl-chart")
