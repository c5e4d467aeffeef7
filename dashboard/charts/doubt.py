"""What is not known of an answer: an interval within an interval, the parts of the doubt, what to record next."""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.axes import percent, share, ticks
from dashboard.charts.drawn import DrawnRow, Scale, drawn_table, interval_marks
from dashboard.charts.svg import figure, picture, tag, text, words

OUTER, LABEL_PX = 22.0, 14.0
ROOM = 0.3
HEADS = ("share", "known from")
SAID = frozenset({"known from"})
LEAST_LABEL = 0.001


@dataclass(frozen=True)
class Ends:
    """A mean with the two ends of its interval, in the unit of the page."""

    mean: float
    low: float
    high: float

    @property
    def half(self) -> float:
        """Return half its width."""
        return (self.high - self.low) / 2.0


@dataclass(frozen=True)
class ToRecord:
    """A number to record: its name, what it rests on, its share in words, the half-width that it would leave."""

    title: str
    known_from: str
    share: str
    becomes: str
    half: float
    note: str = ""


def scale_about(one: Ends, unit: str = "") -> Scale:
    """Return a scale about an interval, with a little room at both ends."""
    half = one.half or max(1.0, 0.01 * abs(one.mean))
    return Scale(one.mean - (1.0 + ROOM) * half, one.mean + (1.0 + ROOM) * half, unit=unit)


def nested(scale: Scale, outer: Ends, half: float, y: float = 0.0) -> str:
    """Return an interval within a wider one about the same mean: the wider one paler and higher, both with ends."""
    width = percent(share(outer.high, scale.low, scale.high) - share(outer.low, scale.low, scale.high))
    top = y - OUTER / 2.0
    made = tag("rect", class_="pl-wider", x=scale.x(outer.low), y=top, width=width, height=OUTER)
    end = tag("rect", class_="pl-strip", x=-1, y=top, width=2, height=OUTER)
    made += "".join(tag("svg", end, x=scale.x(at), overflow="visible") for at in (outer.low, outer.high))
    return made + interval_marks(scale, outer.mean - half, outer.mean, outer.mean + half, y)


def honest_interval(
    outer: Ends, runs_only: Ends, *, said: tuple[str, str], unit: str, today: float | None = None
) -> str:
    """Return the two intervals of an answer, one within the other; `said` are the words above and below them.

    Each word stands at its own interval: above the wider one, below the narrower one. `today` is where nothing changes.
    """
    scale = scale_about(outer, unit)
    lines = ""
    if today is not None and scale.low < today < scale.high:
        lines = tag("line", class_="pl-today", x1=scale.x(today), x2=scale.x(today), y1=22, y2=68)
    for value in ticks(scale.low, scale.high, 6):
        x = scale.x(value)
        lines += tag("line", class_="pl-grid-line", x1=x, x2=x, y1=24, y2=86)
        lines += text(x, 104, figure(value, 0 if value == round(value) else 1), "pl-axis pl-middle")
    named = text("50%", 14, said[0], "pl-text pl-middle") + text("50%", 82, said[1], "pl-note pl-middle")
    name = f"{said[0]}; {said[1]}, in {unit}"
    drawn = picture(
        name, lines, nested(scale, outer, runs_only.half, 45), named, width="100%", height=108, overflow="visible"
    )
    return tag("div", drawn, class_="pl-doubt")


def parts_bar(log_share: float, *, said: tuple[str, str]) -> str:
    """Return the two parts of the doubt as one bar: what is not known of the plant, and the luck of the runs."""
    split = percent(100.0 * log_share)
    bar = tag("rect", class_="pl-strip", x=0, y=0, width=split, height=18)
    bar += tag("rect", class_="pl-span", x=split, y=0, width=percent(100.0 * (1.0 - log_share)), height=18)
    if LEAST_LABEL < log_share < 1.0 - LEAST_LABEL:
        edge = tag("rect", class_="pl-ink", x=-0.75, y=-3, width=1.5, height=24)
        bar += tag("svg", edge, x=split, overflow="visible")
    drawn = picture(f"{said[0]}, {said[1]}", bar, width="100%", height=22, class_="pl-parts", overflow="visible")
    ends = tag("span", words(said[0])) + tag("span", words(said[1]))
    return drawn + tag("div", ends, class_="pl-parts-said")


def known_rings(measured: int, numbers: int) -> str:
    """Return a ring for each number that a log can tell of: full where it is measured, open where it is not."""
    made = ""
    for place in range(numbers):
        full = place < measured
        ring = tag("circle", cx=8, cy=8, r=4 if full else 5, class_="pl-full" if full else "pl-cools")
        made += tag("svg", ring, width=16, height=16)
    return tag("div", made, class_="pl-known", role="img", aria_label=f"{measured} of {numbers} numbers are measured")


def record_next(rows: Sequence[ToRecord], outer: Ends, *, becomes: str, unit: str) -> str:
    """Return what to record next, the most rewarding first: the interval now, and within it what would be left.

    `becomes` is the head of the column that says the half-width that would be left.
    """
    scale = scale_about(outer, unit)
    drawn = [
        DrawnRow(
            one.title,
            (one.share, one.known_from, one.becomes),
            note=one.note,
            mark=tag("svg", nested(scale, outer, one.half), y="50%", overflow="visible"),
        )
        for one in rows
    ]
    heads = (*HEADS, becomes)
    return drawn_table(drawn, heads=heads, scale=scale, first="number", name="What to record next", said=SAID)
