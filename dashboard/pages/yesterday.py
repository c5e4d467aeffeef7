"""Yesterday: was it an ordinary day, what explains how much of it, what nobody can explain, and what if?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dash import Dash, Input, Output, State, dcc, html, no_update
from dash.development.base_component import Component
from flask import Flask, Response, abort, request

from dashboard import answers
from dashboard.ask import Ask, from_plain
from dashboard.drive import Office, Study
from dashboard.parts import messages
from dashboard.parts.amounts import Units, units_of
from dashboard.parts.bar import clock
from dashboard.parts.marks import data
from dashboard.yesterday_again import Again
from dashboard.yesterday_event import one_event, register_event
from dashboard.yesterday_log import brought
from dashboard.yesterday_parts import day_links, sections, spoken
from dashboard.yesterday_report import INVENTED, sheet_of
from dashboard.yesterday_tables import MAKERS
from dashboard.yesterday_view import CARE, explained, nothing_asked
from dashboard.yesterday_words import named_event, question, sure_line, verdict_parts
from twin.indicators import Part

PATH = "/yesterday"
NAME = "Yesterday"
QUESTION = "What happened yesterday?"
STUDY = Study("yesterday", "dashboard.yesterday_work:yesterday", brings=brought, doubts=True)
TABLES = MAKERS
TO_COME = {"part": "What moved it is being worked out.", "stopped": "What moved it was not worked out."}
WAY_OUT = "To see your own days, start with passline serve FILE --logs FOLDER."
Plain = dict[str, Any]


def layout() -> html.Div:
    """Return the page with room for its answers."""
    return html.Div(
        [
            html.Div(id="day-links"),
            html.Div(id="day-verdict"),
            html.Div(id="day-drawings"),
            html.Div(one_event(), id="day-other", hidden=True),
            html.Div(id="day-behind"),
            messages.care_note(CARE),
            dcc.Store(id="day-drawn"),
        ]
    )


def verdict_block(answer: Mapping[str, Any], shown: Mapping[str, Any], units: Units) -> html.Div:
    """Return question, verdict and how sure it is, in the light in which the answer stands."""
    kind = shown["kind"]
    below: list[Component] = [html.P(sure_line(answer, units), className="sure")]
    if answer["invented"]:
        below.append(html.P(f"{INVENTED} {WAY_OUT}", className="note"))
    if kind == "last":
        below.append(messages.last_answer(clock(answer["made"])))
    if kind == "old":
        below.append(messages.old_answer(shown["changes"]))
    if kind == "stopped":
        below.append(messages.stopped_answer())
    parts = verdict_parts(answer, units)
    if not explained(answer) and not nothing_asked(answer):
        parts.append(Part(TO_COME.get(kind, ""), soft=True))
    head = [html.H1(question(answer), className="question"), html.P(spoken(parts), className="verdict")]
    return html.Div(
        [*head, *below], className="answer old" if kind in ("old", "last") else "answer", **data("kind", kind)
    )


def shown_answer(office: Office, shown: Mapping[str, Any] | None, ask: Ask, drawn: str) -> list[Any]:
    """Return the days to go to, verdict, drawings, whether an event can be moved, and a mark of what is drawn."""
    key = (shown or {}).get("key", "")
    answer = answers.read(office.settings.kept, key) if key else None
    if shown is None or answer is None:
        asked = html.H1(QUESTION, className="question") if shown and shown["kind"] == "plain" else None
        return [None, asked, None, True, None, [], ""]
    units = units_of(ask.units)
    verdict = verdict_block(answer, shown, units)
    mark = f"{key} {units.name} {answer['made']}"
    if mark == drawn:
        return [no_update, verdict, no_update, no_update, no_update, no_update, mark]
    found = answer["review"]
    listed = [html.Option(value=named_event(one, found["zone"])) for one in found["events"]]
    above, below = sections(answer, units)
    return [day_links(answer, ask), verdict, above, not listed, below, listed, mark]


def register(app: Dash, office: Office) -> None:
    """Put the page's callbacks and its sheet on the app."""
    again = Again()
    serve_sheet(app.server, office)
    register_answer(app, office)
    register_event(app, office, again)


def register_answer(app: Dash, office: Office) -> None:
    """Put the day on the page."""

    @app.callback(
        Output("day-links", "children"),
        Output("day-verdict", "children"),
        Output("day-drawings", "children"),
        Output("day-other", "hidden"),
        Output("day-behind", "children"),
        Output("day-events", "children"),
        Output("day-drawn", "data"),
        Input("answer", "data"),
        Input("ask", "data"),
        State("day-drawn", "data"),
    )
    def show(shown: Plain | None, ask: Plain | None, drawn: str | None) -> list[Any]:
        return shown_answer(office, shown, from_plain(ask) if ask else Ask(), drawn or "")


def serve_sheet(server: Flask, office: Office) -> None:
    """Answer `/sheet/KEY.html` with the hand-over sheet of a kept day."""

    @server.get("/sheet/<key>.html")
    def sheet(key: str) -> Response:
        answer = answers.read(office.settings.kept, key) if answers.KEY.fullmatch(key) else None
        if answer is None or "review" not in answer:
            abort(404)
        return Response(sheet_of(answer, units_of(request.args.get("units", "t"))), mimetype="text/html")
