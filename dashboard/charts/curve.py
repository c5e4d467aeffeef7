"""Good tonnes against a distance that can be chosen, each with its interval; where it is flat, any will do."""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.axes import Upright, percent, plot, share
from dashboard.charts.svg import NO_BREAK, number, table, tag, text

HEIGHT, TOP, FLOOR = 240.0, 14.0, 206.0
NEAR, NEAR_PHONE = 4.5, 9.5
"""Distances nearer than this share of the width cannot both be named, on wide pages and on phones. [%]"""


@dataclass(frozen=True)
class Point:
    """One choice and what it gives: mean and ends of its interval."""

    x: float
    mean: float
    low: float
    high: float


def _marks(points: Sequence[Point], place: Sequence[float], scale: Upright) -> str:
    made = ""
    for point, x in zip(points, place, strict=True):
        top, bottom = scale.y(point.high), scale.y(point.low)
        bar = tag("rect", class_="pl-span", x=-5, y=top, width=10, height=max(0.0, bottom - top))
        ends = "".join(tag("rect", class_="pl-strip", x=-5, y=y - 1, width=10, height=2) for y in (top, bottom))
        mean = tag("rect", class_="pl-ink", x=-10, y=scale.y(point.mean) - 1.5, width=20, height=3)
        made += tag("svg", bar, ends, mean, x=percent(x), overflow="visible")
    return made


def _line(points: Sequence[Point], place: Sequence[float], scale: Upright) -> str:
    spots = (f"{number(10 * x, 1)} {number(scale.y(p.mean), 1)}" for x, p in zip(place, points, strict=True))
    line = tag("path", d="M" + "L".join(spots), class_="pl-curve")
    return tag("svg", line, viewBox=f"0 0 1000 {HEIGHT}", width="100%", height=HEIGHT, preserveAspectRatio="none")


def distance_curve(
    points: Sequence[Point],
    *,
    today: float | None = None,
    flat: tuple[float, float] | None = None,
    units: tuple[str, str] = ("km", "t/week"),
    name: str = "Good tonnes a week against the distance a set runs",
) -> str:
    """Return the curve with its intervals, today named, the flat part shaded; the same numbers as a table."""
    low, high = min(p.low for p in points), max(p.high for p in points)
    room = 0.12 * (high - low) or 1.0
    scale = Upright(high + 2 * room, top=TOP, floor_y=FLOOR, low=low - room)
    left, right = min(p.x for p in points), max(p.x for p in points)
    margin = 0.06 * (right - left) or 1.0
    place = [share(p.x, left - margin, right + margin) for p in points]
    body = _flat(flat, (left - margin, right + margin), units[0])
    body += _line(points, place, scale) + _marks(points, place, scale)
    body += _distances(points, place, units[0])
    for point, x in zip(points, place, strict=True):
        if today is not None and point.x == today:
            body += _today(x, scale.y(point.mean), f"today {number(point.x)}{NO_BREAK}{units[0]}")
    rows = [
        (f"{number(p.x)} {units[0]}", *(f"{number(v, 0)} {units[1]}" for v in (p.mean, p.low, p.high))) for p in points
    ]
    return tag(
        "div", plot(name, scale, HEIGHT, body), table(name, ("runs", "mean", "from", "to"), rows), class_="pl-chart"
    )


def _distances(points: Sequence[Point], place: Sequence[float], unit: str) -> str:
    """Return the distances below the plot; those too near to the one before are not named, fewer still on phones."""
    made, wide, phone = "", -100.0, -100.0
    for point, x in zip(points, place, strict=True):
        last = point is points[-1]
        if not last and (x - wide < NEAR or place[-1] - x < 2 * NEAR):
            continue
        wide = x
        class_ = "pl-axis pl-middle"
        if not last and (x - phone < NEAR_PHONE or place[-1] - x < 2 * NEAR_PHONE):
            class_ += " pl-hour"
        else:
            phone = x
        said = f"{number(point.x)}{NO_BREAK}{unit}" if last else number(point.x)
        made += text(percent(x), FLOOR + 18, said, class_)
    return made


def _today(x: float, y: float, said: str) -> str:
    """Return the name of today's point, led away from the curve to the floor, where no interval reaches."""
    lead = tag("path", d=f"M2 {number(y + 4)}L14 {number(FLOOR - 10)}", class_="pl-lead")
    return tag("svg", lead, text(18, FLOOR - 5, said, "pl-text pl-halo"), x=percent(x), overflow="visible")


def _flat(flat: tuple[float, float] | None, ends: tuple[float, float], unit: str) -> str:
    if flat is None:
        return ""
    start, end = (share(value, *ends) for value in flat)
    area = tag("rect", class_="pl-pale", x=percent(start), y=TOP, width=percent(end - start), height=FLOOR - TOP)
    said = f"flat: {number(flat[0])} to {number(flat[1])} {unit}"
    return area + text(percent((start + end) / 2), TOP + 16, said, "pl-note pl-middle")
