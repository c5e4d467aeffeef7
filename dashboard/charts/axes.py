"""A plot that keeps its letters and lines at any width: an axis of fixed width, beside it an area of shares."""

from collections.abc import Sequence
from math import floor, log10

from dashboard.charts.svg import at_mark, number, picture, tag, text

AXIS_PX = 40.0


def round_step(span: float, most: int = 4) -> float:
    """Return a round step, 1, 2 or 5 times a power of ten, so that a span takes at most so many of them."""
    if span <= 0:
        return 1.0
    size = 10.0 ** floor(log10(span / most))
    return next(size * factor for factor in (1.0, 2.0, 5.0, 10.0) if span / (size * factor) <= most + 1e-9)


def ticks(low: float, high: float, most: int = 4) -> list[float]:
    """Return the round values between two ends."""
    step = round_step(high - low, most)
    first = round(low / step + 0.4999999)
    return [step * i for i in range(first, floor(high / step + 1e-9) + 1)]


def share(value: float, low: float, high: float) -> float:
    """Return where a value lies between two ends [%]."""
    return 100.0 * (value - low) / (high - low)


def percent(value: float) -> str:
    """Return a share of the width as it is written."""
    return f"{number(value, 3)}%"


class Upright:
    """An upright scale: its round values (only whole ones if asked), and the y of any value [px]."""

    def __init__(self, high: float, *, top: float, floor_y: float, low: float = 0.0, whole: bool = False) -> None:
        self.low, self.top, self.floor_y = low, top, floor_y
        self.high = high if high > low else low + 1.0
        self.ticks = [value for value in ticks(low, self.high) if not whole or value == round(value)]

    def y(self, value: float) -> float:
        """Return the y of a value [px]."""
        return self.floor_y - (self.floor_y - self.top) * (value - self.low) / (self.high - self.low)


def grid_lines(scale: Upright) -> str:
    """Return a hairline at each round value, the floor a little stronger."""
    made = ""
    for value in scale.ticks:
        class_ = "pl-floor-line" if value == scale.low else "pl-grid-line"
        y = round(scale.y(value)) + 0.5
        made += tag("line", x1=0, x2="100%", y1=y, y2=y, class_=class_)
    return made


def plot(name: str, scale: Upright, height: float, *body: str, form: str = "{}") -> str:
    """Return a plot: the scale's words at the left, the area with its hairlines at the right."""
    labels = "".join(
        text(AXIS_PX - 6, scale.y(value) + 4, form.replace("{}", at_mark(value)), "pl-axis pl-end")
        for value in scale.ticks
    )
    axis = tag("svg", labels, width=AXIS_PX, height=height, aria_hidden="true")
    area = picture(name, grid_lines(scale), *body, width="100%", height=height, class_="pl-area")
    return tag("div", axis, area, class_="pl-plot")


def stretched(path: str, class_: str, length: float, height: float) -> str:
    """Return a path in seconds along and pixels down, stretched over the width; its line keeps its thickness."""
    box = f"0 0 {number(length)} {number(height)}"
    drawn = tag("path", d=path, class_=class_)
    return tag("svg", drawn, viewBox=box, width="100%", height=height, preserveAspectRatio="none")


def names_along(names: Sequence[str], y: float) -> str:
    """Return names in the middle of equal parts of the width."""
    each = 100.0 / max(1, len(names))
    return "".join(text(percent(each * (i + 0.5)), y, name, "pl-axis pl-middle") for i, name in enumerate(names))
