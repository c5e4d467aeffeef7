"""The good tonnes of a day as they grew, in the fan of what such days bring; the same numbers as a table."""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.axes import Upright, grid_lines, percent, plot, stretched
from dashboard.charts.svg import NO_BREAK, figure, number, picture, table, tag, text

HEIGHT, TOP, FLOOR = 250.0, 12.0, 220.0
APART = 17.0
GUTTER = 108.0
HOUR_S = 3600.0


@dataclass(frozen=True)
class DayCurve:
    """A day along time [s from its begin], in the unit of the page.

    `fan` holds the tonnes at each time for five shares of such days, lowest first: 5, 25, 50, 75 and 95 in 100.
    `second` is the line beside the day itself, with its name; it may be left empty. `marks` are times with the words
    that stand at them.
    """

    times: Sequence[float]
    fan: Sequence[Sequence[float]]
    actual: Sequence[float]
    second: tuple[str, Sequence[float]]
    expected: float
    marks: Sequence[tuple[float, str]]

    @property
    def length(self) -> float:
        """How long the day is [s]."""
        return self.times[-1] - self.times[0]

    def x(self, time: float) -> float:
        """Return a time as a share of the width [%]."""
        return 100.0 * (time - self.times[0]) / self.length


def refuse_uneven(day: DayCurve) -> None:
    """Refuse curves that do not have one value for each time: they would be drawn against the wrong hours."""
    count = len(day.times)
    named = {"the actual": day.actual} | {f"fan line {i}": x for i, x in enumerate(day.fan)}
    name, beside = day.second
    named |= {f"the {name}": beside} if beside else {}
    for name, values in named.items():
        if len(values) != count:
            raise ValueError(f"{name} has {len(values)} values for {count} times: give one for each")
    if len(day.fan) != 5:
        raise ValueError(f"the fan has {len(day.fan)} lines: give five, for 5, 25, 50, 75 and 95 days in 100")


def _path(day: DayCurve, values: Sequence[float], scale: Upright) -> str:
    spots = (
        f"{number(time - day.times[0])} {number(scale.y(value), 1)}"
        for time, value in zip(day.times, values, strict=True)
    )
    return "L".join(spots)


def _area(day: DayCurve, low: Sequence[float], high: Sequence[float], scale: Upright, class_: str) -> str:
    back = _path(day, high, scale).split("L")
    path = f"M{_path(day, low, scale)}L{'L'.join(reversed(back))}Z"
    return stretched(path, class_, day.length, HEIGHT)


def _line(day: DayCurve, values: Sequence[float], scale: Upright, class_: str) -> str:
    return stretched(f"M{_path(day, values, scale)}", class_, day.length, HEIGHT)


def _hours(day: DayCurve) -> str:
    """Return the words along the time, fewer on phones."""
    made = ""
    for i, (time, said) in enumerate(day.marks):
        spare = "" if i % 2 == 0 else " pl-at-wide"
        made += text(percent(day.x(time)), FLOOR + 18, said, f"pl-axis pl-middle{spare}")
    return made


def spaced(wanted: Sequence[float], apart: float, lowest: float) -> list[float]:
    """Return ys in the order given, none nearer than `apart` to the one before it, none under `lowest`."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    made = list(wanted)
    for before, here in zip(order, order[1:], strict=False):
        made[here] = max(made[here], made[before] + apart)
    for after, here in zip(reversed(order), list(reversed(order))[1:], strict=False):
        made[after] = min(made[after], lowest)
        made[here] = min(made[here], made[after] - apart)
    return made


def _names(day: DayCurve, scale: Upright) -> str:
    """Return the names of the lines at their ends, kept apart; their unit is said beside the drawing."""
    ends = [("actual", day.actual[-1], "pl-name"), ("expected", day.expected, "pl-text")]
    name, beside = day.second
    ends += [(name, beside[-1], "pl-second")] if beside else []
    places = spaced([scale.y(value) + 5 for _, value, _ in ends], APART, FLOOR + 5)
    made = ""
    for (name, value, class_), y in zip(ends, places, strict=True):
        made += text(18, y, f"{name} {figure(value)}", class_)
    return tag("svg", made, width=GUTTER, height=HEIGHT, aria_hidden="true", class_="pl-day-ends")


def day_curve(day: DayCurve, *, unit: str = "t", name: str = "Good tonnes through the day") -> str:
    """Return the fan, the middle of such days, the second line dashed and the day itself heavy, named at their ends."""
    refuse_uneven(day)
    beside = day.second[1]
    highest = max([*day.fan[-1], *day.actual, *beside, day.expected, 1.0])
    scale = Upright(highest * 1.04, top=TOP, floor_y=FLOOR)
    mean = tag("rect", class_="pl-ink", x=-1.5, y=scale.y(day.expected) - 1.5, width=14, height=3)
    body = (
        _area(day, day.fan[0], day.fan[4], scale, "pl-pale"),
        _area(day, day.fan[1], day.fan[3], scale, "pl-span"),
        grid_lines(scale),
        _line(day, day.fan[2], scale, "pl-curve pl-thin"),
        _line(day, beside, scale, "pl-curve pl-dashed") if beside else "",
        _line(day, day.actual, scale, "pl-curve-heavy"),
        tag("svg", mean, x="100%", overflow="visible"),
        _hours(day),
    )
    drawn = plot(name, scale, HEIGHT, *body)
    grid = tag("div", drawn, _names(day, scale), class_="pl-day-plot")
    return tag("div", grid, _table(day, unit, name), class_="pl-chart")


def _table(day: DayCurve, unit: str, name: str) -> str:
    rows = []
    called, beside = day.second
    for i, time in enumerate(day.times):
        hours = f"{number((time - day.times[0]) / HOUR_S, 1)}{NO_BREAK}h"
        values = (day.fan[0][i], day.fan[2][i], day.fan[4][i], day.actual[i], *beside[i : i + 1])
        rows.append((hours, *(f"{figure(value, 1)}{NO_BREAK}{unit}" for value in values)))
    heads = ["after", "one day in 20 lower", "middle", "one day in 20 higher", "actual", *([called] if beside else [])]
    return table(name, heads, rows)


def curve_key(second: str = "") -> str:
    """Return the key to the curve's lines and areas; `second` says what the dashed line is, where there is one."""
    entries = [
        ('<path class="pl-curve-heavy" d="M0 8H26"/>', "as booked"),
        ('<path class="pl-curve pl-thin" d="M0 8H26"/>', "middle of such days"),
        *([('<path class="pl-curve pl-dashed" d="M0 8H26"/>', second)] if second else []),
        ('<rect class="pl-span" y="2" width="26" height="12"/>', "half of such days"),
        ('<rect class="pl-pale" y="2" width="26" height="12"/>', "nine of ten"),
    ]
    made = "".join(
        tag("li", picture(said, drawn, width=28, height=16, class_="pl-key-mark"), said) for drawn, said in entries
    )
    return tag("ul", made, class_="pl-key")
