"""A few days along time, and the roll sets in them."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from dashboard.charts.axes import percent
from dashboard.charts.states import LOOKS, css, face, letter, patterns
from dashboard.charts.svg import number, picture, table, tag, text, words
from dashboard.charts.week import Day

HOUR = 3600.0
WIDE_PX = 1072.0
PHONE_S = 36 * HOUR
"""How much of it a phone shows. [s]"""
CROWDED_S = 80 * HOUR
"""From this length on six in the morning is not named: the day's own name stands there. [s]"""


@dataclass(frozen=True)
class Span:
    """The days that are drawn: their length, the local days in them, and now, all from the start [s]."""

    length: float
    days: Sequence[Day]
    now: float | None = None

    def x(self, time: float) -> str:
        """Return a time as a share of the width."""
        return percent(100.0 * time / self.length)

    def named_hours(self) -> tuple[int, ...]:
        """Return the hours of a day that are named along the top."""
        return (12, 18) if self.length > CROWDED_S else (6, 12, 18)


@dataclass(frozen=True)
class SetRow:
    """One roll set along time: starts and ends [s from the start], and what it does meanwhile."""

    title: str
    start_s: Sequence[float]
    end_s: Sequence[float]
    state: Sequence[str]


def hours(span: Span, height: float) -> str:
    """Return the days and every sixth hour along the top, with their lines."""
    made = []
    for day in span.days:
        if not day.label:
            continue
        marks = [(0.0, day.label)]
        marks += [(h * HOUR - day.clock_s, f"{h:02d}" if h in span.named_hours() else "") for h in (6, 12, 18)]
        for offset, said in marks:
            time = day.start_s + offset
            if offset < 0 or time > span.length:
                continue
            named = said == day.label
            rule = tag("path", d=f"M0.5 20V{number(height)}", class_="pl-day-line" if named else "pl-grid-line")
            label = text(5 if named else 0, 13, said, "pl-axis" if named else "pl-axis pl-middle pl-hour")
            made.append(tag("svg", rule, label, x=span.x(time), overflow="visible"))
    return "".join(made)


def now_line(span: Span, height: float) -> str:
    """Return the line at now with its flag."""
    if span.now is None:
        return ""
    body = tag("path", d=f"M0 18V{number(height)}", class_="pl-cursor-line")
    flag = tag("rect", class_="pl-flag", x=-19, y=1, width=38, height=17) + text(0, 13.5, "now", "pl-flag-text")
    return tag("svg", body, flag, x=span.x(span.now), overflow="visible")


def folded(name: str, span: Span, height: float, wide: str, phone: str) -> str:
    """Return a plot for wide pages, and for phones one at a width at which it can be read, moved sideways."""
    across = percent(100.0 * max(1.0, span.length / PHONE_S))
    drawn = picture(name, wide, width="100%", height=height, class_="pl-area pl-wide")
    part = picture(name, phone, width=across, height=height, class_="pl-area")
    moved = tag("div", part, class_="pl-phone pl-along", tabindex=0, role="group", aria_label=f"{name}, move sideways")
    return tag("div", drawn, moved)


def _set_piece(key: str, span: Span, state: str, start: float, end: float, y: float) -> str:
    """Return a piece of a set's time; what is still to come is paler."""
    wide = (end - start) / span.length * WIDE_PX
    known = css(state)
    look = LOOKS[state]
    inner = face(key, state, "100%", 18)
    if state in ("on_mill", "ready") and wide > 90:
        inner += text(8, 13.5, look.word, "pl-in-bar")
    elif wide >= 15 and look.letter:
        inner += tag("svg", letter(state, 0, 18), x="50%", overflow="visible")
    later = " pl-later" if span.now is not None and start >= span.now else ""
    width = percent(100.0 * (end - start) / span.length)
    return tag("svg", inner, class_=f"pl-piece {known}{later}", x=span.x(start), y=y - 9, width=width, height=18)


def _set_row(key: str, span: Span, row: SetRow, y: float) -> str:
    """Return the strip of a set; the hairline goes on where nothing is done with it."""
    made, reached = "", 0.0
    for start, end, state in sorted(zip(row.start_s, row.end_s, row.state, strict=True)):
        begin, stop = max(0.0, start), min(span.length, end)
        if stop <= begin:
            continue
        made += _gap(span, reached, begin, y)
        now = [span.now] if span.now is not None and begin < span.now < stop else []
        cuts = [begin, *now, stop]
        made += "".join(_set_piece(key, span, state, left, right, y) for left, right in pairwise(cuts))
        reached = max(reached, stop)
    return made + _gap(span, reached, span.length, y)


def _gap(span: Span, start: float, end: float, y: float) -> str:
    if end <= start:
        return ""
    return tag("line", class_="pl-closed-line", x1=span.x(start), x2=span.x(end), y1=y, y2=y)


def _sets(
    key: str,
    rows: Sequence[SetRow],
    span: Span,
    height: float,
    states: tuple[str, ...],
    open_s: Sequence[tuple[float, float]],
) -> str:
    made = patterns(key, states) + hours(span, height)
    for start, end in open_s:
        width = percent(100.0 * (end - start) / span.length)
        made += tag("rect", class_="pl-strip", x=span.x(start), y=21, width=width, height=4)
    made += "".join(_set_row(key, span, row, 46.0 + 36.0 * i) for i, row in enumerate(rows))
    return made + now_line(span, height)


def sets_along(
    rows: Sequence[SetRow],
    span: Span,
    *,
    open_s: Sequence[tuple[float, float]] = (),
    name: str = "The roll sets along time",
) -> str:
    """Return the sets as strips: left of now as it happened, right of it as planned, paler.

    `open_s` are the hours of the roll shop, from the start of the span [s]: thin bars under the hours.
    """
    height = 28.0 + 36.0 * len(rows)
    states = tuple(state for state in LOOKS if any(state in row.state for row in rows))
    wide, phone = (_sets(key, rows, span, height, states, open_s) for key in ("sets-time", "sets-fold"))
    names = tag("div", *(tag("div", words(row.title), class_="pl-strip-name") for row in rows), class_="pl-strip-names")
    grid = tag("div", names, folded(name, span, height, wide, phone), class_="pl-sets-grid")
    heads = ("set", *(LOOKS[state].word for state in states))
    cells = [(row.title, *(f"{_hours_of(row, state):.1f} h" for state in states)) for row in rows]
    return tag("div", grid, table(name, heads, cells), class_="pl-strips")


def _hours_of(row: SetRow, state: str) -> float:
    spent = zip(row.start_s, row.end_s, row.state, strict=True)
    return sum(end - start for start, end, what in spent if what == state) / HOUR
