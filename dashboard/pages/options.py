"""Before you buy: does it pay, what limits then, and what is cheaper for the same?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State, dcc, html, no_update
from dash.development.base_component import Component
from flask import Flask, Response, abort, request

from dashboard import answers
from dashboard.ask import UNCERTAIN, Ask, address, from_plain
from dashboard.doubt_view import DOUBT_TABLES
from dashboard.doubt_words import sure
from dashboard.drive import Office, Study
from dashboard.jobs import Jobs
from dashboard.options_report import report_of
from dashboard.parts import messages, options_numbers, options_parts
from dashboard.parts.amounts import Units, units_of
from dashboard.parts.bar import clock
from dashboard.parts.marks import data
from dashboard.parts.options_numbers import Dial
from dashboard.parts.options_tables import MAKERS
from dashboard.parts.options_view import CARE, scale_of
from dashboard.plants import Opened
from twin.indicators import Part
from twin.scenario import Scenario, ScenarioError
from twin.study.advice import how_sure, question, verdict_parts
from twin.version import VERSION

PATH = "/options"
NAME = "Before you buy"
QUESTION = "Does it pay, and what would be better?"
STUDY = Study("options", "dashboard.options_work:options", together=False, doubts=True)
TABLES = MAKERS | DOUBT_TABLES
CURVE = "dashboard.options_work:response"
NEWS_MS = 300
FIRST_ANSWER_S = 0.8
NO_NUMBER = "Choose a number from the list, or write part of its name."
Plain = dict[str, Any]


def layout() -> html.Div:
    """Return the page with room for its answers."""
    return html.Div(
        [
            html.Div(id="buy-verdict"),
            html.Div(id="buy-sums"),
            html.Div(id="buy-drawings"),
            options_parts.any_number(),
            messages.care_note(CARE),
            dcc.Store(id="buy-drawn"),
            dcc.Store(id="buy-dial"),
            dcc.Store(id="buy-along"),
            dcc.Interval(id="buy-news", interval=NEWS_MS, disabled=True),
        ]
    )


def spoken(parts: Sequence[Part]) -> list[Any]:
    """Return the parts of a sentence as the page sets them."""
    return [
        html.Strong(part.text) if part.strong else html.Span(part.text, className="soft") if part.soft else part.text
        for part in parts
    ]


def so_far(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return a sentence as one that may still change: `So far yes: ...`."""
    first, *rest = parts
    answers_yes_or_no = first.text.startswith(("Yes", "No"))
    text = f"So far {first.text[:1].lower()}{first.text[1:]}" if answers_yes_or_no else f"So far: {first.text}"
    return Part(text, first.strong, first.soft), *rest


def verdict_block(answer: Mapping[str, Any], shown: Mapping[str, Any], units: Units) -> html.Div:
    """Return question, verdict and how sure it is, in the light in which the answer stands."""
    kind, results = shown["kind"], answer["results"]
    parts = verdict_parts(results, scale_of(units))
    if kind == "part":
        parts = so_far(parts)
    below: list[Component] = [html.P(how_sure(results) + sure(answer.get("doubt")), className="sure")]
    if kind == "last":
        below.append(messages.last_answer(clock(answer["made"])))
    if kind == "old":
        below.append(messages.old_answer(shown["changes"]))
    if kind == "stopped":
        below.append(messages.stopped_answer())
    return html.Div(
        [html.H1(question(results), className="question"), html.P(spoken(parts), className="verdict"), *below],
        className="answer old" if kind in ("old", "last") else "answer",
        **data("kind", kind),
    )


def shown_answer(office: Office, shown: Mapping[str, Any] | None, ask: Ask, drawn: str) -> tuple[Any, Any, str]:
    """Return verdict, drawings, and a mark of what is drawn."""
    key = (shown or {}).get("key", "")
    answer = answers.read(office.settings.kept, key) if key else None
    if shown is None or answer is None:
        asked = html.H1(QUESTION, className="question") if shown and shown["kind"] == "plain" else None
        return asked, None, ""
    units = units_of(ask.units)
    verdict = verdict_block(answer, shown, units)
    mark = f"{key} {address(ask)} {answer['made']}"
    return verdict, no_update if mark == drawn else options_parts.sections(answer, units, ask), mark


def opened(office: Office, asked: Plain | None) -> Opened | None:
    """Return the plant that is asked for, without options; None where none can be opened."""
    try:
        return office.plants.open(Ask(plant=asked["plant"])) if asked else None
    except (ScenarioError, ValueError):
        return None


def sums_of(office: Office, asked: Plain | None) -> Component | None:
    """Return what can be put together, where there are options at all."""
    plant = opened(office, asked)
    if plant is None or asked is None or not plant.base.options:
        return None
    return options_parts.sums(plant.base, from_plain(asked))


def dial_of(office: Office, asked: Plain | None, path: str | None) -> Dial | None:
    """Return the number that is moved."""
    plant = opened(office, asked)
    return options_numbers.dial(plant.base, path) if plant is not None and path else None


def curve_key(scenario: Scenario, own: Dial, seed: int) -> str:
    """Return the name under which the curve of a number is kept."""
    return answers.key_of("curve", scenario.digest, (own.path, *own.texts), 0, seed, VERSION)


def moved(office: Office, curves: Jobs, asked: Plain, own: Dial, owner: str) -> tuple[str, bool]:
    """Return the key of a number's curve and whether more of it is to come; it is begun where it is not there."""
    plant = opened(office, asked)
    if plant is None:
        return "", False
    seed = from_plain(asked).seed
    key = curve_key(plant.base, own, seed)
    found = answers.read(office.settings.kept, key)
    if found is not None and found["whole"]:
        return key, False
    view = curves.look(key)
    if not view.going and view.state not in ("failed", "input"):
        order = {"file": str(plant.file), "path": own.path, "values": list(own.texts), "first": own.today, "seed": seed}
        view = curves.start(key, CURVE, {**order, "kept": str(office.settings.kept), "key": key}, owner)
        view = curves.look(key, after=0, wait_s=FIRST_ANSWER_S) if view.state == "running" else view
    return key, view.going


def said_along(folder: Path, key: str, own: Dial, ask: Ask) -> Plain:
    """Return what the slider says at each position, and the address that puts each beside today; today's has none.

    The page holds all of it, so that a moved slider asks nobody.
    """
    found, units = answers.read(folder, key) if key else None, units_of(ask.units)
    places = range(len(own.values))
    return {
        "said": [options_numbers.answer_at(found, own, place, units) for place in places],
        "asks": [
            "" if place == own.today else options_parts.add_address(ask, f"{own.path}={own.texts[place]}")
            for place in places
        ],
    }


def curve_of(folder: Path, key: str, own: Dial, units: Units) -> str:
    """Return the drawing of the curve as far as it is known."""
    found = answers.read(folder, key) if key else None
    return options_numbers.curve_drawing(found, own, units) if found is not None else ""


def register(app: Dash, office: Office) -> None:
    """Put the page's callbacks and its report on the app."""
    curves = Jobs(limit=2, stale_s=office.settings.stale_s, early=("dashboard.options_work", "scipy.special"))
    serve_report(app.server, office)
    register_answer(app, office)
    register_number(app, office, curves)
    register_curve(app, office, curves)


def register_answer(app: Dash, office: Office) -> None:
    """Put the comparison on the page."""

    @app.callback(
        Output("buy-verdict", "children"),
        Output("buy-drawings", "children"),
        Output("buy-drawn", "data"),
        Input("answer", "data"),
        Input("ask", "data"),
        State("buy-drawn", "data"),
    )
    def show(shown: Plain | None, ask: Plain | None, drawn: str | None) -> tuple[Any, Any, str]:
        return shown_answer(office, shown, from_plain(ask) if ask else Ask(), drawn or "")

    @app.callback(Output("buy-sums", "children"), Input("ask", "data"))
    def put_together(ask: Plain | None) -> Component | None:
        return sums_of(office, ask)


def register_number(app: Dash, office: Office, curves: Jobs) -> None:
    """Put the numbers of the plant into the list, and the chosen one on the slider."""

    @app.callback(Output("buy-numbers", "children"), Output("buy-at-best", "hidden"), Input("ask", "data"))
    def name_numbers(ask: Plain | None) -> tuple[list[Component], bool]:
        plant = opened(office, ask)
        curves.warm()
        at_best = not ask or from_plain(ask).inputs != UNCERTAIN
        return options_parts.listed(options_numbers.movable(plant.base)) if plant is not None else [], at_best

    @app.callback(
        Output("buy-slider", "max"),
        Output("buy-slider", "value"),
        Output("buy-dial", "data"),
        Input("buy-number", "value"),
        Input("ask", "data"),
    )
    def choose(path: str | None, ask: Plain | None) -> tuple[Any, Any, Any]:
        plant = opened(office, ask)
        found = options_numbers.named(plant.base, path) if plant is not None and path else []
        own = dial_of(office, ask, found[0]) if len(found) == 1 else None
        if own is None:
            return no_update, no_update, {"none": options_numbers.which(path, found) if path else NO_NUMBER}
        return len(own.values) - 1, own.today, {"path": own.path}


def register_curve(app: Dash, office: Office, curves: Jobs) -> None:
    """Put the curve of a number on the page, and what it says at each position of the slider."""

    app.clientside_callback(  # type: ignore[no-untyped-call]
        ClientsideFunction("passline_options", "move"),
        Output("buy-at", "children"),
        Output("buy-slide", "hidden"),
        Output("buy-add", "hidden"),
        Output("buy-add", "data-ask"),
        Input("buy-slider", "value"),
        Input("buy-along", "data"),
    )

    @app.callback(
        Output("buy-along", "data"),
        Output("buy-curve", "data-drawing"),
        Output("buy-news", "disabled"),
        Input("buy-dial", "data"),
        Input("buy-news", "n_intervals"),
        State("ask", "data"),
        State("owner", "data"),
    )
    def draw(chosen: Plain | None, _n: int, ask: Plain | None, owner: str | None) -> list[Any]:
        own = dial_of(office, ask, chosen["path"]) if chosen and "path" in chosen else None
        if own is None or ask is None:
            return [{"none": (chosen or {}).get("none", NO_NUMBER)}, "", True]
        key, going = moved(office, curves, ask, own, owner or "")
        asked, folder = from_plain(ask), office.settings.kept
        return [said_along(folder, key, own, asked), curve_of(folder, key, own, units_of(asked.units)), not going]


def serve_report(server: Flask, office: Office) -> None:
    """Answer `/report/KEY.html` with the report of a kept comparison, as a file to keep."""

    @server.get("/report/<key>.html")
    def report(key: str) -> Response:
        answer = answers.read(office.settings.kept, key) if answers.KEY.fullmatch(key) else None
        if answer is None or "rows" not in answer.get("results", {}):
            abort(404)
        text = report_of(answer["results"], units_of(request.args.get("units", "t")), sure(answer.get("doubt")))
        name = "".join(sign for sign in answer["plant"] if sign.isascii() and (sign.isalnum() or sign in "-_"))
        kept = f'attachment; filename="{name}-report.html"'
        return Response(text, mimetype="text/html", headers={"Content-Disposition": kept})
