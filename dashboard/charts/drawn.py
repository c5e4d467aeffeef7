"""A drawn table: an ordinary table whose second column is a common scale with a mark in every row.

Hairlines at round values run through all rows, and so does the line of today.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.axes import percent, share, ticks
from dashboard.charts.svg import at_mark, picture, tag, text, words

ROW = 36.0


@dataclass(frozen=True)
class DrawnRow:
    """One row: name and a note under it, its mark on the scale, its cells; `holds` marks the row that counts.

    A row without an interval has low and high equal to its mean; a row without a number has the mark it brings.
    """

    title: str
    cells: tuple[str, ...] = ()
    mean: float | None = None
    low: float | None = None
    high: float | None = None
    note: str = ""
    holds: bool = False
    mark: str = ""


@dataclass(frozen=True)
class Scale:
    """The common scale of a drawn table."""

    low: float
    high: float
    today: float | None = None
    unit: str = ""

    def x(self, value: float) -> str:
        """Return where a value lies, as a share of the width."""
        return percent(share(value, self.low, self.high))


def scale_for(rows: Sequence[DrawnRow], *, today: float | None = None, unit: str = "", zero: bool = False) -> Scale:
    """Return a scale that shows every mark with a little room at both ends."""
    values = [v for row in rows for v in (row.mean, row.low, row.high) if v is not None]
    values += [today] if today is not None else []
    values += [0.0] if zero else []
    if not values:
        return Scale(0.0, 1.0, today, unit)
    room = 0.08 * (max(values) - min(values)) or max(1.0, abs(values[0]) * 0.1)
    return Scale(0.0 if zero and min(values) >= 0 else min(values) - room, max(values) + room, today, unit)


def interval_marks(scale: Scale, low: float, mean: float, high: float, y: float) -> str:
    """Return a number with its interval: a pale bar between two metal ends, the mean a mark of ink."""
    width = percent(100.0 * (high - low) / (scale.high - scale.low))
    made = ""
    if high > low:
        made += tag("rect", class_="pl-span", x=scale.x(low), y=y - 5, width=width, height=10)
        end_mark = tag("rect", class_="pl-strip", x=-1, y=y - 5, width=2, height=10)
        made += "".join(tag("svg", end_mark, x=scale.x(end), overflow="visible") for end in (low, high))
    mark = tag("rect", class_="pl-ink", x=-1.5, y=y - 10, width=3, height=20)
    return made + tag("svg", mark, x=scale.x(mean), overflow="visible")


def _lines(scale: Scale, height: str) -> str:
    made = ""
    for value in ticks(scale.low, scale.high, 5):
        x = scale.x(value)
        made += tag("line", class_="pl-grid-line", x1=x, x2=x, y1=0, y2=height)
    if scale.today is not None:
        x = scale.x(scale.today)
        made += tag("line", class_="pl-today", x1=x, x2=x, y1=0, y2=height)
    return made


def _mark(row: DrawnRow, scale: Scale) -> str:
    """Return the drawing in a row's second cell; it is as high as the row, so that the lines of all rows meet."""
    mark = row.mark
    if row.mean is not None:
        low = row.mean if row.low is None else row.low
        high = row.mean if row.high is None else row.high
        mark = tag("svg", interval_marks(scale, low, row.mean, high, 0), y="50%", overflow="visible")
    named = f"{row.title} on the scale"
    return picture(named, _lines(scale, "100%"), mark, width="100%", height="100%", class_="pl-in-row")


def _head(scale: Scale) -> str:
    marks = ticks(scale.low, scale.high, 5)
    said = "".join(text(scale.x(value), 13, at_mark(value), "pl-axis pl-middle") for value in marks)
    return tag("svg", said, width="100%", height=18, aria_hidden="true", class_="pl-scale-head")


def _class(index: int, words_only: bool) -> str | None:
    return " ".join(["pl-first-cell"] * (index == 0) + ["pl-words"] * words_only) or None


def _row(row: DrawnRow, heads: Sequence[str], scale: Scale, said: frozenset[str]) -> str:
    note = tag("span", words(row.note), class_="pl-row-note") if row.note else ""
    title = tag("th", words(row.title), note, scope="row")
    cells = "".join(
        tag("td", words(cell), data_label=head, class_=_class(i, head in said))
        for i, (head, cell) in enumerate(zip(heads, row.cells, strict=True))
    )
    drawn = tag("td", _mark(row, scale), class_="pl-drawn-cell")
    return tag("tr", title, drawn, cells, class_="pl-holds" if row.holds else None)


def drawn_table(
    rows: Sequence[DrawnRow],
    *,
    heads: Sequence[str],
    scale: Scale,
    first: str = "change",
    name: str = "",
    said: frozenset[str] = frozenset(),
) -> str:
    """Return the table. `heads` are the heads of the cells behind the scale; those in `said` hold words."""
    columns = tag("th", words(first), scope="col")
    unit = tag("span", words(scale.unit or "on one scale"), class_="pl-hidden")
    columns += tag("th", _head(scale), unit, scope="col", class_="pl-drawn-cell")
    columns += "".join(
        tag("th", words(head), scope="col", class_=None if head in said else "pl-number") for head in heads
    )
    caption = tag("caption", words(name), class_="pl-hidden") if name else ""
    body = tag("tbody", *(_row(row, heads, scale, said) for row in rows))
    return tag("table", caption, tag("thead", tag("tr", columns)), body, class_="pl-table pl-drawn")
