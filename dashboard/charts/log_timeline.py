"""A plant's records along time, station by station: where they are, where none are, where two tell of the same time."""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.axes import percent
from dashboard.charts.svg import hatch, number, picture, table, tag, text, words

PITCH, HIGH, BAR, TOP = 34.0, 18.0, 8.0, 22.0
WIDE_PX, PHONE_PX = 1072.0, 350.0
LEAST_PX = 2.5
LETTER_PX = 15.0
KINDS = {"gap": "no record", "overlap": "two stops at once", "inferred": "an end that nobody wrote down"}
"""What can be drawn on the records, in the order in which it lies over them."""


@dataclass(frozen=True)
class Piece:
    """A stretch of time in which something is wrong: its kind, start and end from the start of the log [s]."""

    kind: str
    start: float
    end: float


@dataclass(frozen=True)
class LogRow:
    """One station: when its records begin and end [s from the start of the log], and what is wrong meanwhile."""

    title: str
    first: float
    last: float
    pieces: Sequence[Piece] = ()


@dataclass(frozen=True)
class LogSpan:
    """How long the log is [s], and the days that are named on its axis: seconds from its start and the name."""

    length: float
    days: Sequence[tuple[float, str]]

    def x(self, time: float) -> float:
        """Return a time as a share of the width [%]."""
        return 100.0 * min(max(time, 0.0), self.length) / self.length


def log_timeline(rows: Sequence[LogRow], span: LogSpan, *, key: str = "log", name: str = "") -> str:
    """Return the drawing for wide pages and for phones, with the same as a table."""
    called = name or "The records of each station along time"
    names = "".join(tag("div", words(row.title), class_="pl-log-name") for row in rows)
    drawn = _drawing(rows, span, f"{key}-wide", called, WIDE_PX, names=False)
    wide = tag("div", tag("div", names, class_="pl-log-names"), drawn, class_="pl-wide pl-log-grid")
    phone = tag("div", _drawing(rows, span, f"{key}-phone", called, PHONE_PX, names=True), class_="pl-phone")
    return tag("div", wide, phone, _table(rows, span, called), class_="pl-chart")


def _drawing(rows: Sequence[LogRow], span: LogSpan, key: str, called: str, pixels: float, *, names: bool) -> str:
    pitch = PITCH + 16 if names else PITCH
    height = TOP + pitch * len(rows) + 4
    body = hatch(f"{key}-over") + _axis(span, height, pixels)
    for i, row in enumerate(rows):
        y = TOP + pitch * (i + 0.5) + (8 if names else 0)
        body += text(0, y - 16, row.title, "pl-name") if names else ""
        body += _row(row, span, y, pixels, key)
    return picture(called, body, width="100%", height=height, class_="pl-area")


def _axis(span: LogSpan, height: float, pixels: float) -> str:
    """Return a hairline at each named day; names that would run into one another are left out."""
    made, free = "", -1e9
    for at, name in span.days:
        x = span.x(at) / 100.0 * pixels
        shown = text(4, 13, name, "pl-axis") if x >= free and x < pixels - 50 else ""
        free = x + 64 if shown else free
        rule = tag("path", d=f"M0.5 {number(18.0)}V{number(height)}", class_="pl-grid-line")
        made += tag("svg", rule, shown, x=percent(span.x(at)), overflow="visible")
    return made


def _row(row: LogRow, span: LogSpan, y: float, pixels: float, key: str) -> str:
    base = tag("line", class_="pl-closed-line", x1=0, x2="100%", y1=y, y2=y)
    width = span.x(row.last) - span.x(row.first)
    bar = tag("rect", class_="pl-strip", x=percent(span.x(row.first)), y=y - BAR / 2, width=percent(width), height=BAR)
    order = list(KINDS)
    pieces = sorted(row.pieces, key=lambda one: (order.index(one.kind), one.start - one.end))
    return base + bar + "".join(_piece(one, span, y, pixels, key) for one in pieces)


def _piece(one: Piece, span: LogSpan, y: float, pixels: float, key: str) -> str:
    least = 100.0 * LEAST_PX / pixels
    width = max(span.x(one.end) - span.x(one.start), least)
    x = min(span.x(one.start), 100.0 - width)
    face = tag("rect", class_=f"pl-log-{one.kind}", x=0, y=0, width="100%", height=HIGH)
    if one.kind == "overlap":
        face += tag("rect", x=0, y=0, width="100%", height=HIGH, fill=f"url(#{key}-over)")
    if one.kind == "gap" and width / 100.0 * pixels >= LETTER_PX:
        face += tag("svg", text(0, HIGH / 2 + 4.5, "?", "pl-log-mark"), x="50%", overflow="visible")
    return tag("svg", face, x=percent(x), y=y - HIGH / 2, width=percent(width), height=HIGH)


def _table(rows: Sequence[LogRow], span: LogSpan, called: str) -> str:
    """Return the same for readers who do not see the drawing: how many and how long, by station."""
    body = []
    for row in rows:
        cells = []
        for kind in KINDS:
            own = [one for one in row.pieces if one.kind == kind]
            hours = sum(one.end - one.start for one in own) / 3600.0
            cells.append(f"{len(own)}, {hours:.1f} h" if own else "none")
        body.append((row.title, *cells))
    return table(called, ("station", *KINDS.values()), body)


def log_key() -> str:
    """Return what the marks mean."""
    marks = {"recorded": tag("rect", class_="pl-strip", x=0, y=5, width=30, height=BAR)}
    for kind, said in KINDS.items():
        face = tag("rect", class_=f"pl-log-{kind}", x=0.5, y=0.5, width=29, height=HIGH - 1)
        over = tag("rect", x=0, y=0, width=30, height=HIGH, fill="url(#log-key-over)") if kind == "overlap" else ""
        mark = text(15, HIGH / 2 + 4.5, "?", "pl-log-mark") if kind == "gap" else ""
        marks[said] = (hatch("log-key-over") if over else "") + face + over + mark
    items = "".join(
        tag("li", tag("svg", mark, width=30, height=HIGH, aria_hidden="true", class_="pl-key-mark"), words(said))
        for said, mark in marks.items()
    )
    return tag("ul", items, class_="pl-key")
