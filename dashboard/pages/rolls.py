"""Roll changes: when do the rolls come out, what does another hour cost, and how far should a set run?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dash import Dash, Input, Output, State, dcc, html, no_update
from dash.development.base_component import Component
from flask import Flask, Response, abort

from dashboard import answers
from dashboard.ask import from_plain
from dashboard.doubt_words import sure as sure_of_inputs
from dashboard.drive import Office, Study
from dashboard.pages.line import spoken
from dashboard.parts import messages, rolls_parts
from dashboard.parts.amounts import Units, units_of
from dashboard.parts.bar import clock
from dashboard.parts.marks import data
from dashboard.parts.rolls_tables import MAKERS
from dashboard.parts.rolls_words import turned
from dashboard.rolls_state import OWN, TOLD, brought
from twin.indicators import Part

PATH = "/rolls"
NAME = "Roll changes"
QUESTION = "When do the rolls come out?"
STUDY = Study("rolls", "dashboard.rolls_work:rolls", brings=brought, doubts=True)
TABLES = MAKERS
AT_BEST = " Inputs at their best estimates."
SO_FAR = "The coming changes stand. How far a set should run is being worked out."
CUT_SHORT = "The coming changes stand. How far a set should run was not worked out to the end."
CALENDAR = "text/calendar; charset=utf-8"
Plain = dict[str, Any]


def layout() -> html.Div:
    """Return the page with room for its answers."""
    return html.Div(
        [html.Div(id="rolls-verdict"), html.Div(id="rolls-drawings"), dcc.Store(id="rolls-drawn")], id="rolls-page"
    )


def verdict_block(answer: Mapping[str, Any], shown: Mapping[str, Any], units: Units) -> html.Div:
    """Return question, verdict and how sure it is, in the light in which the answer stands."""
    kind = shown["kind"]
    if "refused" in answer:
        said = "There is no plan of roll changes." if answer["rolls"] else "No rolls are changed in this plant."
        parts, sure = [Part(said)], refusal(answer["refused"])
    else:
        told = answer["results"]["verdict"]
        parts = [Part(turned(one["text"], units), one["strong"], one["soft"]) for one in told["parts"]]
        begins = told["sure"].replace(OWN, TOLD) if answer.get("state", {}).get("log") else told["sure"]
        sure = turned(begins, units) + (sure_of_inputs(answer.get("doubt")) or AT_BEST)
    below: list[Component] = [html.P(sure, className="sure")]
    if kind == "last":
        below.append(messages.last_answer(clock(answer["made"])))
    if kind == "old":
        below.append(messages.old_answer(shown["changes"]))
    if kind == "part":
        below.append(html.P(SO_FAR, className="note"))
    if kind == "stopped":
        below += [html.P(CUT_SHORT, className="note"), messages.stopped_answer()]
    return html.Div(
        [html.H1(QUESTION, className="question"), html.P(spoken(parts), className="verdict"), *below],
        className="answer old" if kind in ("old", "last") else "answer",
        **data("kind", kind),
    )


def refusal(text: str) -> str:
    """Return why there is no plan as a sentence of its own."""
    return messages.ended(text[:1].upper() + text[1:])


def shown_answer(office: Office, shown: Mapping[str, Any] | None, units: Units, drawn: str) -> tuple[Any, Any, str]:
    """Return verdict, drawings, and a mark of what is drawn."""
    key = (shown or {}).get("key", "")
    answer = answers.read(office.settings.kept, key) if key else None
    if shown is None or answer is None:
        asked = html.H1(QUESTION, className="question") if shown and shown["kind"] == "plain" else None
        return asked, None, ""
    verdict = verdict_block(answer, shown, units)
    mark = f"{key} {units.name} {answer['made']}"
    if mark == drawn:
        return verdict, no_update, mark
    return verdict, rolls_parts.sections(answer, units) if "results" in answer else None, mark


def register(app: Dash, office: Office) -> None:
    """Put the page's callback and its calendar on the app."""
    serve_calendar(app.server, office)

    @app.callback(
        Output("rolls-verdict", "children"),
        Output("rolls-drawings", "children"),
        Output("rolls-drawn", "data"),
        Input("answer", "data"),
        Input("ask", "data"),
        State("rolls-drawn", "data"),
    )
    def show(shown: Plain | None, ask: Plain | None, drawn: str | None) -> tuple[Any, Any, str]:
        return shown_answer(office, shown, units_of(from_plain(ask).units if ask else "t"), drawn or "")


def serve_calendar(server: Flask, office: Office) -> None:
    """Answer `/calendar/KEY.ics` with the coming changes of a kept answer, as a calendar to import."""

    @server.get("/calendar/<key>.ics")
    def calendar(key: str) -> Response:
        answer = answers.read(office.settings.kept, key) if answers.KEY.fullmatch(key) else None
        if answer is None or "results" not in answer:
            abort(404)
        try:
            content = answers.path_of(office.settings.kept, key, "ics").read_bytes()
        except OSError:
            abort(404)
        name = "".join(sign for sign in answer["plant"] if sign.isascii() and (sign.isalnum() or sign in "-_"))
        kept = f'attachment; filename="{name}-roll-changes.ics"'
        return Response(content, mimetype=CALENDAR, headers={"Content-Disposition": kept})
