"""Good tonnes a day as bars, with what was expected of each day and the band in which most such days end."""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.axes import Upright, names_along, percent, plot
from dashboard.charts.svg import NO_BREAK, figure, table, tag, text

HEIGHT, TOP, FLOOR = 220.0, 22.0, 190.0


@dataclass(frozen=True)
class DayBar:
    """One day: what it made (nothing where it has not been), what was expected, and the band around that."""

    name: str
    made: float | None
    expected: float | None = None
    low: float | None = None
    high: float | None = None


def _band(day: DayBar, scale: Upright, x: float, width: float) -> str:
    if day.low is None or day.high is None:
        return ""
    top = scale.y(day.high)
    height = max(1.0, scale.y(day.low) - top)
    return tag("rect", class_="pl-pale", x=percent(x), y=top, width=percent(width), height=height)


def _bar(day: DayBar, scale: Upright, x: float, width: float) -> str:
    """Return the bar with its figure at its head, above it where it is too short to hold it."""
    if day.made is None:
        return ""
    top = scale.y(max(0.0, day.made))
    bar = tag("rect", class_="pl-strip", x=percent(x), y=top, width=percent(width), height=FLOOR - top)
    inside = FLOOR - top > 24
    middle, y = percent(x + width / 2), top + 15 if inside else top - 5
    line = None if day.expected is None else scale.y(day.expected)
    if inside and line is not None and -3 < y - line < 13:
        y = line + 15
    return bar + text(middle, y, figure(day.made), "pl-on-metal pl-middle" if inside else "pl-text pl-middle")


def _expected(day: DayBar, scale: Upright, x: float, width: float) -> str:
    if day.expected is None:
        return ""
    y = scale.y(day.expected)
    return tag("line", class_="pl-level-line", x1=percent(x), x2=percent(x + width), y1=y, y2=y)


def day_bars(days: Sequence[DayBar], *, unit: str = "t", name: str = "Good tonnes a day") -> str:
    """Return the bars of some days, with the same numbers as a table."""
    values = [v for day in days for v in (day.made, day.expected, day.high) if v is not None]
    scale = Upright(max([*values, 1.0]) * 1.04, top=TOP, floor_y=FLOOR)
    each = 100.0 / max(1, len(days))
    body = []
    for i, day in enumerate(days):
        left = each * i
        body.append(_band(day, scale, left + 0.08 * each, 0.84 * each))
        body.append(_bar(day, scale, left + 0.24 * each, 0.52 * each))
        body.append(_expected(day, scale, left + 0.08 * each, 0.84 * each))
    body.append(names_along([day.name for day in days], FLOOR + 17))
    drawn = plot(name, scale, HEIGHT, *body)
    return tag("div", drawn, _table(days, unit, name), class_="pl-chart")


def _said(value: float | None, unit: str) -> str:
    return "" if value is None else f"{figure(value)}{NO_BREAK}{unit}"


def _table(days: Sequence[DayBar], unit: str, name: str) -> str:
    rows = [tuple([day.name, *(_said(v, unit) for v in (day.made, day.expected, day.low, day.high))]) for day in days]
    return table(name, ("day", "made", "expected", "band from", "band to"), rows)
