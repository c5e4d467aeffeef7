"""The Line page: what does the line make, and what holds it back?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dash import Dash, Input, Output, State, dcc, html, no_update
from dash.development.base_component import Component

from dashboard import answers
from dashboard.ask import Ask, address, from_plain
from dashboard.doubt_view import DOUBT_TABLES
from dashboard.doubt_words import sure as sure_of_inputs
from dashboard.drive import Office, Study
from dashboard.parts import messages
from dashboard.parts.amounts import Units, units_of
from dashboard.parts.bar import clock
from dashboard.parts.line_drawings import line_drawings
from dashboard.parts.line_numbers import so_far_parts, stopped_parts, sure, verdict_parts, waits_part
from dashboard.parts.line_orders import ORDER_TABLES
from dashboard.parts.line_tables import MAKERS
from dashboard.parts.marks import data
from twin.indicators import Part

PATH = "/"
NAME = "Line"
QUESTION = "What does the line make, and what holds it back?"
STUDY = Study("line", "dashboard.work:line", doubts=True)
TABLES = MAKERS | DOUBT_TABLES | ORDER_TABLES
Plain = dict[str, Any]


def layout() -> html.Div:
    """Return the page with room for its answers."""
    return html.Div([html.Div(id="line-verdict"), html.Div(id="line-drawings"), dcc.Store(id="line-drawn")])


def spoken(parts: Sequence[Part]) -> list[Any]:
    """Return the parts of a sentence as the page sets them."""
    return [
        html.Strong(part.text) if part.strong else html.Span(part.text, className="soft") if part.soft else part.text
        for part in parts
    ]


def verdict_block(
    answer: Mapping[str, Any], week: Mapping[str, Any] | None, shown: Mapping[str, Any], units: Units
) -> html.Div:
    """Return question, verdict and how sure it is, in the light in which the answer stands."""
    kind = shown["kind"]
    parts = {"part": so_far_parts, "stopped": stopped_parts}.get(kind, verdict_parts)(answer, units)
    parts += waits_part(answer, week) if kind not in ("part", "stopped") else ()
    below: list[Component] = [html.P(sure(answer, week) + sure_of_inputs(answer.get("doubt")), className="sure")]
    if kind == "last":
        below.append(messages.last_answer(clock(answer["made"])))
    if kind == "old":
        below.append(messages.old_answer(shown["changes"]))
    if kind == "stopped":
        below.append(messages.stopped_answer())
    return html.Div(
        [html.H1(QUESTION, className="question"), html.P(spoken(parts), className="verdict"), *below],
        className="answer old" if kind in ("old", "last") else "answer",
        **data("kind", kind),
    )


def stage(done: int) -> int:
    """Return how often the drawings have been refined when so many runs are made: each stage has three times more."""
    return sum(1 for step in range(12) if done >= 3**step)


def shown_answer(office: Office, shown: Mapping[str, Any] | None, ask: Ask, drawn: str) -> tuple[Any, Any, str]:
    """Return verdict, drawings, and a mark of what is drawn; drawings wait for a first and then for a whole answer."""
    key = (shown or {}).get("key", "")
    answer = answers.read(office.settings.kept, key) if key else None
    if shown is None or answer is None:
        question = html.H1(QUESTION, className="question") if shown and shown["kind"] == "plain" else None
        return question, None, ""
    week, units = answers.read(office.settings.kept, key, "week.json"), units_of(ask.units)
    verdict = verdict_block(answer, week, shown, units)
    mark = f"{key} {address(ask)} {answer['made'] if shown['kind'] != 'part' else stage(answer['done'])}"
    if week is None or mark == drawn:
        return verdict, no_update, drawn
    return verdict, line_drawings(answer, week, units, ask), mark


def register(app: Dash, office: Office) -> None:
    """Put the page's callbacks on the app."""

    @app.callback(
        Output("line-verdict", "children"),
        Output("line-drawings", "children"),
        Output("line-drawn", "data"),
        Input("answer", "data"),
        Input("ask", "data"),
        State("line-drawn", "data"),
    )
    def show(shown: Plain | None, ask: Plain | None, drawn: str | None) -> tuple[Any, Any, str]:
        return shown_answer(office, shown, from_plain(ask) if ask else Ask(), drawn or "")
