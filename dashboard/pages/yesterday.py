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
from dashboard.jobs import Jobs
from dashboard.parts import messages
from dashboard.parts.amounts import Units, units_of
from dashboard.parts.bar import clock
from dashboard.parts.marks import data
from dashboard.yesterday_log import brought
from dashboard.yesterday_parts import day_links, sections, spoken
from dashboard.yesterday_report import INVENTED, sheet_of
from dashboard.yesterday_tables import MAKERS
from dashboard.yesterday_view import CARE
from dashboard.yesterday_words import changed, event_words, question, sure_line, tonnes, verdict_parts
from twin.scenario import ScenarioError
from twin.version import VERSION

PATH = "/yesterday"
NAME = "Yesterday"
QUESTION = "What happened yesterday?"
STUDY = Study("yesterday", "dashboard.yesterday_work:yesterday", brings=brought)
TABLES = MAKERS
OTHERWISE = "dashboard.yesterday_work:otherwise"
NEWS_MS = 300
LONGEST_MIN = 1440.0
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
            dcc.Store(id="day-asked"),
            dcc.Interval(id="day-news", interval=NEWS_MS, disabled=True),
        ]
    )


def one_event() -> html.Section:
    """Return the place where one event of the day is moved, lasts otherwise, or did not happen."""
    event = dcc.Input(id="day-event", list="day-events", type="text", debounce=True, value="", maxLength=200)
    later = dcc.Input(id="day-later", type="text", value="0", maxLength=6)
    lasts = dcc.Input(id="day-lasts", type="text", value="", maxLength=6)
    inner: list[Component] = [
        html.Div(
            [
                html.Label(["Event", event], className="day-event"),
                html.Datalist(id="day-events"),
                html.Label(["comes later by, min (below 0: earlier)", later]),
                html.Label(["lasts, min (0: it did not happen)", lasts]),
                html.Button("Run the day again", id="day-try", className="filled", type="button", n_clicks=0),
            ],
            className="day-if",
        ),
        html.P(id="day-if-said", role="status"),
    ]
    note = (
        "One event of the day comes earlier or later, lasts otherwise, or does not happen; all else stays as recorded."
    )
    return messages.section("Move one event", note, inner)


def verdict_block(answer: Mapping[str, Any], shown: Mapping[str, Any], units: Units) -> html.Div:
    """Return question, verdict and how sure it is, in the light in which the answer stands."""
    kind = shown["kind"]
    below: list[Component] = [html.P(sure_line(answer), className="sure")]
    if answer["invented"]:
        below.append(html.P(f"{INVENTED} {WAY_OUT}", className="note"))
    if kind == "last":
        below.append(messages.last_answer(clock(answer["made"])))
    if kind == "old":
        below.append(messages.old_answer(shown["changes"]))
    if kind == "stopped":
        below.append(messages.stopped_answer())
    head = [
        html.H1(question(answer), className="question"),
        html.P(spoken(verdict_parts(answer, units)), className="verdict"),
    ]
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


def named_event(event: Mapping[str, Any], zone: str) -> str:
    """Return an event with its number, so that the name is its own."""
    return f"{event['number'] + 1}: {event_words(event, zone)}"


def event_of(answer: Mapping[str, Any], text: str | None) -> Mapping[str, Any] | None:
    """Return the event that was chosen, None where the words name none."""
    number = (text or "").partition(":")[0]
    found = answer["review"]["events"]
    place = int(number) - 1 if number.isdecimal() else -1
    return found[place] if 0 <= place < len(found) else None


def minutes_of(what: str, text: str | None, least: float) -> float | None:
    """Return the minutes that were written, None for none.

    Raises
    ------
    ValueError : What is written is no number of minutes of a day.
    """
    written = (text or "").strip().replace("\u2212", "-").replace(",", ".")
    if not written:
        return None
    try:
        value = float(written)
    except ValueError:
        value = float("nan")
    if not least <= value <= LONGEST_MIN:
        raise ValueError(f"{what} is {written!r}: write minutes from {least:g} to {LONGEST_MIN:g}.")
    return value


def edit_of(event: Mapping[str, Any], later: str | None, lasts: str | None) -> Plain:
    """Return how an event is otherwise, as a study is told. Raises ValueError where the minutes cannot be."""
    lasts_min, later_min = minutes_of("How long it lasts", lasts, 0.0), minutes_of("Later", later, -LONGEST_MIN)
    if lasts_min == 0.0:
        return {"event": event["number"], "remove": True}
    edit: Plain = {"event": event["number"], "later_s": 60.0 * (later_min or 0.0)}
    if lasts_min is not None and round(lasts_min) != round((event["end_s"] - event["start_s"]) / 60.0):
        edit["lasts_s"] = 60.0 * lasts_min
    return edit


def try_key(answer: Mapping[str, Any], edit: Plain) -> str:
    """Return the name under which a day with one event otherwise is kept."""
    return answers.key_of("otherwise", answer["key"], (repr(sorted(edit.items())),), 0, answer["seed"], VERSION)


def tried(office: Office, jobs: Jobs, asked: Plain, answer: Mapping[str, Any], edit: Plain, owner: str) -> Plain:
    """Return the key of a day with one event otherwise, and whether it is still being run; it is begun if need be."""
    ask = from_plain(asked)
    key = try_key(answer, edit)
    try:
        opened = office.plants.open(ask)
    except (ScenarioError, ValueError):
        opened = None
    if opened is None or answers.read(office.settings.kept, key) is not None:
        return {"key": key, "going": False}
    view = jobs.look(key)
    if not view.going and view.state not in ("failed", "input"):
        more = brought(office.settings, ask)
        order = {"file": str(opened.file), "options": list(ask.options), "log": more["log"]}
        order |= {"invented": more["invented"], "day": answer["day"], "edit": edit, "seed": answer["seed"]}
        view = jobs.start(key, OTHERWISE, {**order, "kept": str(office.settings.kept), "key": key}, owner)
    return {"key": key, "going": view.going, "words": view.words}


def said_of(office: Office, answer: Mapping[str, Any], state: Plain, units: Units) -> str:
    """Return what the day would have given."""
    found = answers.read(office.settings.kept, state["key"])
    if found is None:
        return (
            "The day is being run again." if state["going"] else f"It cannot be run: {state.get('words') or 'no log'}."
        )
    event = event_words(found["event"], answer["review"]["zone"])
    how = "had not happened" if found["edit"].get("remove") else "had come or lasted so"
    return (
        f"If {event} {how}: {tonnes(found['made_t'], units)}, {changed(found, units)} "
        "against what was booked; all else as recorded."
    )


def register(app: Dash, office: Office) -> None:
    """Put the page's callbacks and its sheet on the app."""
    jobs = Jobs(limit=1, stale_s=office.settings.stale_s, early=("dashboard.yesterday_work",))
    serve_sheet(app.server, office)
    register_answer(app, office)
    register_event(app, office, jobs)


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


def register_event(app: Dash, office: Office, jobs: Jobs) -> None:
    """Put the day with one event otherwise on the page."""

    def kept(shown: Plain | None) -> dict[str, Any] | None:
        return answers.read(office.settings.kept, shown["key"]) if shown and shown.get("key") else None

    @app.callback(
        Output("day-lasts", "value"), Output("day-later", "value"), Input("day-event", "value"), State("answer", "data")
    )
    def choose(text: str | None, shown: Plain | None) -> list[Any]:
        jobs.warm()
        answer = kept(shown)
        event = event_of(answer, text) if answer else None
        return [no_update, no_update] if event is None else [f"{(event['end_s'] - event['start_s']) / 60.0:.0f}", "0"]

    @app.callback(
        Output("day-if-said", "children"),
        Output("day-news", "disabled"),
        Output("day-asked", "data"),
        Input("day-try", "n_clicks"),
        Input("day-news", "n_intervals"),
        State("day-asked", "data"),
        State("day-event", "value"),
        State("day-later", "value"),
        State("day-lasts", "value"),
        State("answer", "data"),
        State("ask", "data"),
        State("owner", "data"),
        prevent_initial_call=True,
    )
    def move(
        clicks: int,
        _n: int,
        asked: Plain | None,
        text: str | None,
        later: str | None,
        lasts: str | None,
        shown: Plain | None,
        ask: Plain | None,
        owner: str | None,
    ) -> list[Any]:
        answer = kept(shown)
        if answer is None or ask is None:
            return ["", True, None]
        if asked is None or asked["clicks"] != clicks:
            event = event_of(answer, text)
            if event is None:
                return ["Choose an event of the list.", True, None]
            try:
                asked = {"clicks": clicks, "edit": edit_of(event, later, lasts)}
            except ValueError as wrong:
                return [str(wrong), True, None]
        state = tried(office, jobs, ask, answer, asked["edit"], owner or "")
        return [said_of(office, answer, state, units_of(ask["units"])), not state["going"], asked]


def serve_sheet(server: Flask, office: Office) -> None:
    """Answer `/sheet/KEY.html` with the hand-over sheet of a kept day."""

    @server.get("/sheet/<key>.html")
    def sheet(key: str) -> Response:
        answer = answers.read(office.settings.kept, key) if answers.KEY.fullmatch(key) else None
        if answer is None or "review" not in answer:
            abort(404)
        return Response(sheet_of(answer, units_of(request.args.get("units", "t"))), mimetype="text/html")
