"""The page Before you buy below its verdict: pieces in their places, sums to put together, a number to move."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.ask import Ask, address
from dashboard.charts.plant import titled
from dashboard.doubt_view import doubt_section
from dashboard.parts.amounts import Units
from dashboard.parts.drawing import drawing
from dashboard.parts.frame import choice
from dashboard.parts.marks import named
from dashboard.parts.messages import section
from dashboard.parts.options_view import Piece, pieces
from dashboard.parts.taking import table_links
from twin.scenario import Scenario
from twin.study.compare import possible

Plain = Mapping[str, Any]
PAIRS = (("chances", ("turns", "rests")), ("hours", ("added",)))
MOST_SUMS = 28
MOVED_AT_BEST = "The other numbers are at their best estimates here, so intervals are narrower than those above."
AT_BEST = "What limits each line, and the curve of any number below, take the best estimates."


def sections(answer: Plain, units: Units, ask: Ask | None = None) -> list[Component]:
    """Return all parts of the page that are drawn from the answer, in order; their links keep what is asked."""
    drawn = pieces(answer["results"], units, key="buy-", uncertain=answer.get("doubt") is not None)
    found = {piece.name: shown(piece, answer, units) for piece in drawn}
    made: list[Component] = [found[name] for name in ("ways",) if name in found]
    made += doubt_section(answer, units, AT_BEST, ask)
    for at, (left, right) in enumerate(PAIRS):
        sides = [found[left]] if left in found else []
        beside = [found[name] for name in right if name in found]
        if sides and beside:
            made.append(html.Div([*sides, html.Div(beside)], className="two" if at else "two break-before"))
        else:
            made += [*sides, *beside]
    return [*made, *(found[name] for name in ("place", "cheaper", "stairs") if name in found)]


def shown(piece: Piece, answer: Plain, units: Units) -> html.Section:
    """Return one piece as the page has it."""
    drawn = [drawing(text, id=f"buy-{piece.name}-{i}") for i, text in enumerate(piece.drawings)]
    return section(piece.title, piece.note, drawn, take(answer, units, piece))


def take(answer: Plain, units: Units, piece: Piece) -> list[Component]:
    """Return the links that take a piece's tables away, and with the first one the report."""
    called = {name: titled(name.removesuffix("-of-options")) for name in piece.tables}
    found: list[Component] = [table_links(answer["key"], name, words, units) for name, words in called.items()]
    if piece.name == "ways":
        place = f"/report/{answer['key']}.html?units={units.name}"
        found.append(html.Span(["Report on two pages: ", html.A("HTML", href=place, download="", **named("Report"))]))
    return found


def sums(scenario: Scenario, ask: Ask) -> html.Div:
    """Return what can be put together of the options asked for, and what is beside today already."""
    names = list(ask.options) or list(scenario.options)
    together = [" + ".join(pair) for pair in combinations(names, 2) if possible(scenario, pair)][:MOST_SUMS]
    listed = list(dict.fromkeys([*ask.sums, *together]))
    buttons: list[Component] = [_sum(ask, one) for one in listed]
    buttons += [_set(ask, one) for one in ask.sets]
    words = html.P("Choose options above; sums of two are here. With nothing chosen, pairs that help are found.")
    beside = html.Strong(_count(len(ask.sums) + len(ask.sets)))
    listed_here = html.Div([words, *buttons], className="panel")
    shown_first = html.Summary([html.Span("Put together"), beside])
    return html.Div([html.Details([shown_first, listed_here], className="chooser")], className="buy-sums")


def _count(number: int) -> str:
    """Return how much more stands beside today, in words."""
    return "nothing more" if number == 0 else f"{number} more beside today"


def _sum(ask: Ask, text: str) -> html.Button:
    """Return a sum to add or to take away."""
    chosen = text in ask.sums
    rest = tuple(one for one in ask.sums if one != text) if chosen else (*ask.sums, text)
    return choice(text, address(replace(ask, sums=rest)), chosen=chosen, many=True)


def _set(ask: Ask, text: str) -> html.Button:
    """Return a single value beside today, to be taken away."""
    rest = tuple(one for one in ask.sets if one != text)
    return choice(text, address(replace(ask, sets=rest)), chosen=True, many=True)


def any_number() -> html.Section:
    """Return the place where any number of the scenario can be moved, with the curve of the answer."""
    number = dcc.Input(id="buy-number", list="buy-numbers", type="text", debounce=True, value="", maxLength=200)
    slider = dcc.Input(id="buy-slider", type="range", min=0, max=8, step=1, value=4)
    position = [html.Span("Position", className="unseen"), slider]
    inner: list[Component] = [
        html.Div(
            [
                html.Label(["Number ", number], className="buy-pick"),
                html.Datalist(id="buy-numbers"),
                html.Label(position, id="buy-slide", className="buy-slide", hidden=True),
                html.Button("Put beside the others", id="buy-add", className="small", type="button", hidden=True),
            ],
            className="buy-dial",
        ),
        html.P(id="buy-at", className="note", role="status"),
        html.Div(id="buy-curve", className="drawing"),
    ]
    note = "Any number of the scenario: how the line answers as it is moved, on the same random weeks."
    inner.insert(0, html.P(MOVED_AT_BEST, id="buy-at-best", className="note", hidden=True))
    return section("Move any number", note, inner)


def listed(paths: Sequence[str]) -> list[Component]:
    """Return the numbers to choose from."""
    return [html.Option(value=path) for path in paths]


def add_address(ask: Ask, text: str) -> str:
    """Return the address that puts a single value beside today."""
    return address(replace(ask, sets=tuple(dict.fromkeys([*ask.sets, text]))))
