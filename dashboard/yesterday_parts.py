"""The page Yesterday below its verdict: pieces in their places, the days to go to, tables to take away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.ask import Ask, address
from dashboard.charts.plant import titled
from dashboard.parts.amounts import Units
from dashboard.parts.drawing import drawing
from dashboard.parts.frame import choice
from dashboard.parts.marks import named
from dashboard.parts.messages import section
from dashboard.parts.options_view import Piece
from dashboard.parts.taking import table_links
from dashboard.yesterday_view import pieces
from dashboard.yesterday_words import long_day
from twin.indicators import Part

Plain = Mapping[str, Any]
ABOVE = (("among",), ("ladder",), ("curve", "look"), ("strips",), ("suspects", "ifs"))
BELOW = (("days handover", "book"),)
"""Rows of the page, each of one or two columns; a column may hold several pieces."""
Rows = tuple[tuple[str, ...], ...]
MOST_DAYS = 60


def spoken(parts: Sequence[Part]) -> list[Any]:
    """Return the parts of a sentence as the page sets them."""
    return [
        html.Strong(part.text) if part.strong else html.Span(part.text, className="soft") if part.soft else part.text
        for part in parts
    ]


def sections(answer: Plain, units: Units) -> tuple[list[Component], list[Component]]:
    """Return the parts of the page that are drawn from the answer: those of the day, and those behind it."""
    found = {piece.name: shown(piece, answer, units) for piece in pieces(answer, units)}
    return arranged(ABOVE, found), arranged(BELOW, found)


def arranged(rows: Rows, found: Mapping[str, Component]) -> list[Component]:
    """Return pieces in rows of one or two columns; where one column is empty the other takes the width."""
    made: list[Component] = []
    for row in rows:
        columns = [[found[name] for name in column.split() if name in found] for column in row]
        filled = [column for column in columns if column]
        if len(filled) > 1:
            made.append(html.Div([html.Div(column) for column in filled], className="two"))
        else:
            made += [part for column in filled for part in column]
    return made


def shown(piece: Piece, answer: Plain, units: Units) -> Component:
    """Return one piece as the page has it."""
    drawn: list[Component] = [drawing(text, id=f"day-{piece.name}-{i}") for i, text in enumerate(piece.drawings)]
    if piece.name == "among":
        return html.Section([*drawn, html.P(piece.note, className="note")], className="plain", **named(piece.title))
    return section(piece.title, piece.note, drawn, take(answer, units, piece))


def take(answer: Plain, units: Units, piece: Piece) -> list[Component]:
    """Return the links that take a piece's tables away, at the end of the day also the sheet of the shift."""
    key = answer["key"]
    found: list[Component] = [table_links(key, name, titled(name.replace("-", " ")), units) for name in piece.tables]
    if piece.name == "handover":
        found.append(html.Span(["On one page: ", sheet_link(answer, units.name, "hand-over sheet")]))
    return found


def sheet_link(answer: Plain, units: str, said: str) -> html.A:
    """Return the link to the sheet of the shift, which opens beside the page to be printed."""
    return html.A(said, href=f"/sheet/{answer['key']}.html?units={units}", target="_blank")


def day_links(answer: Plain, ask: Ask) -> html.Nav:
    """Return the day before, the list of days, the day after, and the sheet of the shift; each day has its address."""
    days, place = answer["days"], answer["days"].index(answer["day"]) if answer["day"] in answer["days"] else 0
    before = _step(ask, days[place - 1] if place > 0 else None, "Day before", "no day before")
    after = _step(ask, days[place + 1] if place + 1 < len(days) else None, "Day after", "no day after")
    near = [one for one in reversed(days)][:MOST_DAYS]
    listed = [choice(long_day(one), address(replace(ask, day=one)), chosen=one == answer["day"]) for one in near]
    panel = html.Div(listed, role="group", className="panel choices", **named("Days of the log"))
    chosen = html.Summary([html.Span("Day"), html.Strong(long_day(answer["day"]))])
    days_list = html.Details([chosen, panel], className="chooser")
    sheet = sheet_link(answer, ask.units, "Hand-over sheet")
    return html.Nav([before, days_list, after, sheet], className="day-pick", **named("Days"))


def _step(ask: Ask, day: str | None, said: str, none: str) -> Component:
    """Return the link to a neighbouring day, plain words where there is none."""
    if day is None:
        return html.Span(none, className="gone")
    return dcc.Link(said, href=f"/yesterday{address(replace(ask, day=day))}", title=long_day(day))
