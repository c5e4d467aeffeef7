"""A law over the data that it was learned from: the share that is not longer, as seen, as fitted, as assumed before."""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.axes import Upright, percent, plot, share, ticks
from dashboard.charts.svg import NO_BREAK, at_mark, number, table, tag, text

HEIGHT, TOP, FLOOR = 172.0, 10.0, 142.0
QUARTERS = (0.1, 0.5, 0.9)
Line = tuple[Sequence[float], Sequence[float]]
"""Values, rising, and the share that is not longer than each."""


@dataclass(frozen=True)
class FitCurve:
    """What was seen and the laws for it, all in one unit.

    `seen` are values seen to their end, rising; `cut_short` what ended by something else or still goes on.
    """

    title: str
    unit: str
    seen: Sequence[float]
    law: Line
    assumed: Line | None = None
    cut_short: Sequence[float] = ()


def steps(seen: Sequence[float], cut_short: Sequence[float] = ()) -> Line:
    """Return the share that was not longer than each value, those cut short counted as long as they lasted.

    The product-limit estimate of E. L. Kaplan and P. Meier (1958); without any cut short it is the plain share.
    """
    marks = sorted([(value, 0) for value in seen] + [(value, 1) for value in cut_short])
    at, below, left, still = [0.0], [0.0], 1.0, len(marks)
    for value, cut in marks:
        if not cut:
            left *= (still - 1) / still
            at.append(value)
            below.append(1.0 - left)
        still -= 1
    return at, below


def _path(line: Line, scale: Upright, most: float, *, stepped: bool) -> str:
    made, last = "", None
    for value, part in zip(*line, strict=True):
        if value > most:
            break
        x, y = number(1000.0 * value / most, 1), number(scale.y(part), 1)
        made += f"M{x} {y}" if last is None else f"H{x}V{y}" if stepped else f"L{x} {y}"
        last = y
    return made + ("H1000" if stepped else "")


def fit_curve(fit: FitCurve) -> str:
    """Return the drawing, with the tenth, the middle and the ninth tenth of each line as a table."""
    seen = steps(fit.seen, fit.cut_short)
    most = 1.04 * max([*fit.seen, *fit.cut_short, *fit.law[0][-1:]], default=1.0) or 1.0
    scale = Upright(1.0, top=TOP, floor_y=FLOOR)
    lines = [(fit.assumed, "pl-fit-assumed", False), (seen, "pl-fit-seen", True), (fit.law, "pl-fit-law", False)]
    drawn = "".join(
        tag("path", d=_path(line, scale, most, stepped=stepped), class_=class_)
        for line, class_, stepped in lines
        if line is not None
    )
    box = f"0 0 1000 {number(HEIGHT)}"
    body = tag("svg", drawn, viewBox=box, width="100%", height=HEIGHT, preserveAspectRatio="none")
    body += "".join(_cut(value, most, scale) for value in fit.cut_short if value <= most)
    marks = ticks(0.0, most, 4)
    for value in marks:
        said = f"{at_mark(value)}{NO_BREAK}{fit.unit}" if value == marks[-1] else at_mark(value)
        class_ = "pl-axis" if value == 0.0 else "pl-axis pl-middle"
        body += text(percent(share(value, 0.0, most)), FLOOR + 18, said, class_)
    named = {"as recorded": seen, "fitted law": fit.law} | ({"assumed so far": fit.assumed} if fit.assumed else {})
    rows = [(name, *(_at(line, part, fit.unit) for part in QUARTERS)) for name, line in named.items()]
    heads = ("line", "one in ten is shorter than", "half are shorter than", "nine in ten are shorter than")
    return tag("div", plot(fit.title, scale, HEIGHT, body), table(fit.title, heads, rows), class_="pl-chart")


def _cut(value: float, most: float, scale: Upright) -> str:
    """Return the mark of a value that was cut short: a short stroke on the floor."""
    mark = tag("rect", class_="pl-ink", x=-0.75, y=scale.y(0.0) - 8, width=1.5, height=8)
    return tag("svg", mark, x=percent(share(value, 0.0, most)), overflow="visible")


def _at(line: Line, part: float, unit: str) -> str:
    """Return the value below which a part of a line lies."""
    found = next((value for value, own in zip(*line, strict=True) if own >= part), None)
    return "longer than was seen" if found is None else f"{number(found)} {unit}"


def fit_key() -> str:
    """Return what the lines mean."""
    names = {"pl-fit-seen": "as recorded", "pl-fit-law": "fitted law", "pl-fit-assumed": "assumed so far"}
    items = "".join(
        tag("li", tag("svg", tag("path", d="M0 9H30", class_=class_), width=30, height=18, aria_hidden="true"), said)
        for class_, said in names.items()
    )
    cut = tag(
        "svg", tag("rect", class_="pl-ink", x=14, y=5, width=1.5, height=8), width=30, height=18, aria_hidden="true"
    )
    return tag("ul", items, tag("li", cut, "cut short: lasted longer than this"), class_="pl-key")
