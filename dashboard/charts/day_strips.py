"""The recorded day as strips, each above the thin strip of the same machine in the model's typical day."""

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.charts.pieces import LETTER_PX, Piece, hours_of, visible
from dashboard.charts.states import LOOKS, css, face, letter, patterns
from dashboard.charts.strips import percent
from dashboard.charts.svg import group, number, picture, table, tag, text, words
from dashboard.charts.week import CODES, NO_RECORD

HEAD, FULL, THIN, PITCH, FOLD = 28.0, 18.0, 8.0, 44.0, 62.0
WIDE_PX, DAY_PX = 1072.0, 350.0
"""Widths of the strips for which the smallest pieces and letters are chosen. [px]"""


@dataclass(frozen=True)
class Spell:
    """A stretch of one state in the words of the states, in seconds from the begin of the day.

    A word that is none of the states stands for a time of which there is no record.
    """

    state: str
    start: float
    end: float


@dataclass(frozen=True)
class DayStrip:
    """One machine: its name, what was recorded of it, what it does on a typical day of the model."""

    title: str
    recorded: Sequence[Spell]
    typical: Sequence[Spell]


@dataclass(frozen=True)
class DaySpan:
    """The day: its length [s] and the times with the words that stand at them."""

    length: float
    marks: Sequence[tuple[float, str]]


def pieces_of(spells: Sequence[Spell]) -> list[Piece]:
    """Return spells as pieces that can be drawn."""
    codes = {state.replace("_", " "): code for state, code in CODES.items()} | CODES
    return [Piece(one.start, one.end, codes.get(one.state, NO_RECORD)) for one in spells if one.end > one.start]


def drawn_spell(key: str, piece: Piece, y: float, span: DaySpan, height: float, pixel_s: float) -> str:
    """Return one piece of a strip whose middle is at y; its pattern starts at its own corner."""
    if piece.state == "closed":
        return ""
    x, width = percent(piece.start, span.length), percent(piece.length, span.length)
    wide = piece.length / pixel_s
    if piece.state == "running":
        return tag("rect", class_=css("running"), x=x, y=y - height / 2, width=width, height=height)
    inner = face(key, piece.state, "100%", height)
    if height == FULL and wide >= LETTER_PX and LOOKS[piece.state].letter:
        inner += tag("svg", letter(piece.state, 0, height), x="50%", overflow="visible")
    look = f"pl-piece {css(piece.state)}"
    return tag("svg", inner, class_=look, x=x, y=y - height / 2, width=width, height=height)


def strip(key: str, spells: Sequence[Spell], y: float, span: DaySpan, height: float, pixel_s: float) -> str:
    """Return one strip on its hairline; what is short is drawn last, over its neighbours."""
    seen = visible(pieces_of(spells), pixel_s)
    seen.sort(key=lambda piece: -piece.length)
    base = tag("line", class_="pl-closed-line", x1=0, x2="100%", y1=y, y2=y)
    return base + "".join(drawn_spell(key, piece, y, span, height, pixel_s) for piece in seen)


def _hours(span: DaySpan, height: float, every: int) -> str:
    """Return the times along the top with their lines."""
    made = ""
    for i, (time, said) in enumerate(span.marks):
        if i % every:
            continue
        rule = tag("path", d=f"M0.5 20V{number(height)}", class_="pl-grid-line")
        edge = "" if 0.03 < time / span.length < 0.97 else " pl-start" if time < span.length / 2 else " pl-end"
        label = text(0, 13, said, f"pl-axis{edge or ' pl-middle'}")
        made += tag("svg", rule, label, x=percent(time, span.length), overflow="visible")
    return made


def _pair(key: str, row: DayStrip, top: float, span: DaySpan, pixel_s: float) -> str:
    """Return the strip of the recorded day and under it that of the typical one."""
    recorded = strip(key, row.recorded, top + FULL / 2, span, FULL, pixel_s)
    return recorded + strip(key, row.typical, top + FULL + 5 + THIN / 2, span, THIN, pixel_s)


def _wide(rows: Sequence[DayStrip], span: DaySpan, key: str, name: str) -> str:
    height = HEAD + PITCH * len(rows)
    body = [patterns(key), _hours(span, height, 1)]
    body += [_pair(key, row, HEAD + 4 + PITCH * i, span, span.length / WIDE_PX) for i, row in enumerate(rows)]
    plot = picture(name, *body, width="100%", height=height, class_="pl-strip-plot", overflow="visible")
    names = "".join(
        tag("div", tag("span", words(row.title)), tag("span", "model", class_="pl-model"), class_="pl-pair-name")
        for row in rows
    )
    grid = tag("div", tag("div", names, class_="pl-strip-names"), plot, class_="pl-pair-grid")
    return tag("div", grid, class_="pl-wide")


def _phone(rows: Sequence[DayStrip], span: DaySpan, key: str, name: str) -> str:
    height = HEAD + FOLD * len(rows)
    body = [patterns(key), _hours(span, height, 2)]
    for i, row in enumerate(rows):
        top = HEAD + FOLD * i
        body.append(_pair(key, row, top + 22, span, span.length / DAY_PX))
        body.append(group(text(0, top + 16, row.title, "pl-name pl-halo")))
    return tag("div", picture(name, *body, width="100%", height=height, class_="pl-strip-plot"), class_="pl-phone")


def day_strips(
    rows: Sequence[DayStrip], span: DaySpan, *, key: str = "day", name: str = "The day, recorded and modelled"
) -> str:
    """Return the strips for wide pages and for phones, with the hours of each state as a table."""
    made = (_wide(rows, span, f"{key}-pairs", name), _phone(rows, span, f"{key}-folds", name), _table(rows, name))
    return tag("div", *made, class_="pl-strips")


def _table(rows: Sequence[DayStrip], name: str) -> str:
    every = [(row.title, kind, hours_of(pieces_of(spells))) for row in rows for kind, spells in _kinds(row)]
    states = [state for state in LOOKS if any(state in hours for _, _, hours in every)]
    body = [(title, kind, *(f"{hours.get(state, 0.0):.1f} h" for state in states)) for title, kind, hours in every]
    return table(name, ("machine", "day", *(LOOKS[state].word for state in states)), body)


def _kinds(row: DayStrip) -> tuple[tuple[str, Sequence[Spell]], ...]:
    return (("recorded", row.recorded), ("model", row.typical))
