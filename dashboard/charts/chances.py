"""Odds and what they rest on: rings of futures, curves of chance, thresholds, inputs measured and assumed."""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.axes import Upright, percent, plot, share, ticks
from dashboard.charts.drawn import Scale
from dashboard.charts.svg import hatch, number, picture, table, tag, text, words

RING = 15.2


def odds(rows: Sequence[tuple[str, int, int]], *, name: str = "How likely it pays back") -> str:
    """Return a row of rings for each title: full ones are futures in which it pays back; the count stands beside."""
    made = ""
    for title, full, of in rows:
        if not 0 <= full <= of:
            raise ValueError(f"{title} pays back in {full} of {of} futures, which cannot be")
        rings = "".join(
            tag(
                "circle",
                cx=RING * (i + 0.5),
                cy=8,
                r=4.6 if i < full else 5.4,
                class_="pl-full" if i < full else "pl-cools",
            )
            for i in range(of)
        )
        count = f"{full} of {of}"
        drawn = picture(count, rings, viewBox=f"0 0 {number(RING * of)} 16", width=RING * of, class_="pl-odds")
        made += tag("div", words(title), class_="pl-odds-title") + drawn + tag("div", count, class_="pl-odds-count")
    heads = ("change", "pays back in")
    return tag(
        "div",
        tag("div", made, class_="pl-odds-grid"),
        table(name, heads, [(t, f"{k} of {n}") for t, k, n in rows]),
        class_="pl-chart",
    )


@dataclass(frozen=True)
class Curve:
    """One curve: its name, years from the order, chances from 0 to 1."""

    title: str
    years: Sequence[float]
    chance: Sequence[float]

    def settled(self, year: float) -> bool:
        """Return whether nothing more happens after a year: it is certain by then, or it never comes."""
        last = self.chance[-1] if self.chance else 0.0
        return last - _at(self, year) < FLAT and not FLAT < last < 1.0 - FLAT


FLAT = 0.005
LINE_PX = 16.0
BESIDE, REACH = 0.25, 0.45
"""Curves that climb within so much of the years stand together, and names reach so far, as a share of the drawing."""
LOWEST_NAME_PX = 182.0
KINDS = ("pl-curve-heavy", "pl-curve", "pl-curve pl-dashed", "pl-curve pl-dotted")


def chance_curves(curves: Sequence[Curve], *, years: float, name: str = "Chances of having paid back") -> str:
    """Return the chances in 100 by years from the order; lines differ by weight and dash and are named beside them."""
    scale = Upright(104.0, top=8, floor_y=190.0)
    scale.ticks = [0.0, 50.0, 100.0]
    body, names = "", ""
    for i, curve in enumerate(curves):
        points = [(x, scale.y(100 * y)) for x, y in zip(curve.years, curve.chance, strict=True) if x <= years]
        path = "M" + "L".join(f"{number(1000 * x / years, 1)} {number(y, 1)}" for x, y in points)
        drawn = tag("path", d=path, class_=KINDS[min(i, len(KINDS) - 1)])
        body += tag("svg", drawn, viewBox="0 0 1000 212", width="100%", height=212, preserveAspectRatio="none")
        names += _curve_name(curve, curves, years, scale)
    marks = [text("0%", 207, "order", "pl-axis")]
    marks += [
        text(percent(100 * year / years), 207, number(year), "pl-axis pl-middle") for year in ticks(0, years, 8)[1:-1]
    ]
    rows = [(c.title, *(f"{100 * _at(c, year):.0f} %" for year in _whole(years))) for c in curves]
    said = table(name, ("change", *(f"after {year} years" for year in _whole(years))), rows)
    return tag("div", plot(name, scale, 212, body, names, *marks), said, class_="pl-chart")


def _whole(years: float) -> list[int]:
    return list(range(1, int(years) + 1))


def _at(curve: Curve, year: float) -> float:
    reached = [y for x, y in zip(curve.years, curve.chance, strict=True) if x <= year]
    return reached[-1] if reached else 0.0


def _half_way(curve: Curve, years: float) -> float | None:
    """Return the year in which a curve has climbed half its way within the years that are drawn; None at the floor."""
    most = _at(curve, years)
    if most <= 2 * FLAT:
        return None
    return next(x for x, y in zip(curve.years, curve.chance, strict=True) if y >= 0.5 * most)


def _curve_name(curve: Curve, curves: Sequence[Curve], years: float, scale: Upright) -> str:
    """Return the name of a curve, each part on a line: beside where it has climbed half its way, else above the floor.

    Names of curves that climb at about the same time stand one below the other, beside the last of them; a name as wide
    as half the drawing, as on a phone, does not reach into that of a curve that climbs later.
    """
    parts = curve.title.split(" + ")
    lines = [parts[0], *(f"+ {part}" for part in parts[1:])]
    at = _half_way(curve, years)
    near = [one for one in curves if _near(_half_way(one, years), at, BESIDE * years)]
    about = [one for one in curves if _near(_half_way(one, years), at, REACH * years)]
    taken = sum(1 + one.title.count(" + ") for one in about[: about.index(curve)])
    if at is None:
        x, y, left = 0.72 * years, scale.y(0.0) - 8 - LINE_PX * (len(lines) - 1 + taken), True
    else:
        x = max(found for one in near if (found := _half_way(one, years)) is not None)
        left = x / years < 0.55
        lines_of_all = sum(1 + one.title.count(" + ") for one in about)
        top = min(scale.y(50 * _at(curve, years)), max(LINE_PX, LOWEST_NAME_PX - LINE_PX * (lines_of_all - 1)))
        y = top + LINE_PX * taken
    place = percent(100 * x / years + (2.5 if left else -2.5))
    class_ = "pl-note pl-halo" + ("" if left else " pl-end")
    return "".join(text(place, y + LINE_PX * i, line, class_) for i, line in enumerate(lines))


def _near(one: float | None, other: float | None, within: float) -> bool:
    """Return whether two curves climb at about the same time, or both stay at the floor."""
    if one is None or other is None:
        return one is other
    return abs(one - other) < within


@dataclass(frozen=True)
class Threshold:
    """Where an advice turns: the bold condition, its consequence, today's value and the gate on one rule.

    `below` says that the advice turns below the gate, else above it.
    """

    condition: str
    consequence: str
    today: float
    gate: float
    today_words: str
    gate_words: str
    below: bool = True


def threshold(one: Threshold, key: str = "gate") -> str:
    """Return the sentence and its rule: a ring for today, a gate where the advice turns, hatch beyond."""
    low, high = min(one.today, one.gate), max(one.today, one.gate)
    room = 0.6 * (high - low) or 1.0
    scale = Scale(low - room, high + room)
    start, end = (
        (0.0, share(one.gate, scale.low, scale.high)) if one.below else (share(one.gate, scale.low, scale.high), 100.0)
    )
    beyond = tag("rect", x=percent(start), y=10, width=percent(end - start), height=12, fill=f"url(#{key}-hatch)")
    rule = tag("line", x1=0, x2="100%", y1=16, y2=16, class_="pl-level-line")
    gate = tag("rect", class_="pl-ink", x=-1.5, y=4, width=3, height=24) + text(
        0, 43, one.gate_words, "pl-note pl-middle"
    )
    ring = tag("circle", cy=16, r=6, class_="pl-heavy-ring") + text(0, 43, one.today_words, "pl-note pl-middle")
    marks = tag("svg", gate, x=scale.x(one.gate), overflow="visible") + tag(
        "svg", ring, x=scale.x(one.today), overflow="visible"
    )
    name = f"{one.condition} {one.gate_words}, {one.today_words}"
    drawn = picture(name, hatch(f"{key}-hatch"), beyond, rule, marks, width="100%", height=50, class_="pl-area")
    said = tag("p", tag("b", words(one.condition)), " ", words(one.consequence), class_="pl-said")
    return tag("div", said, drawn, class_="pl-chart")


def rests_on(rows: Sequence[tuple[str, str, bool]]) -> str:
    """Return the inputs that matter: full ring measured here with its value and count, open ring assumed."""
    made = ""
    for name, value, measured in rows:
        ring = tag("circle", cx=8, cy=8, r=4 if measured else 5, class_="pl-full" if measured else "pl-cools")
        drawn = picture("measured" if measured else "assumed", ring, width=16, height=16)
        made += tag("li", drawn, tag("span", words(name)), tag("span", words(value), class_="pl-value"))
    return tag("ul", made, class_="pl-rests")
