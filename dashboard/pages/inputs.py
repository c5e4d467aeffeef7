"""Inputs: what is known of the line, and from where; the plant's own records brought in, doubted and learned from."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import orjson
from dash import Dash, Input, Output, State, ctx, dcc, html, no_update
from dash.development.base_component import Component
from flask import Flask, Response, request

from dashboard import answers
from dashboard.ask import Ask, AskError, address, from_plain
from dashboard.drive import Office, Study
from dashboard.inputs_files import (
    INVENTED,
    LARGEST_UPLOAD,
    brings,
    find_log,
    keep_log,
    kept_logs,
    logs_beside,
    unpacked,
)
from dashboard.inputs_fit_view import accept_part, fit_parts, ticks
from dashboard.inputs_numbers import Draft, SaveError, draft, new_file, save_as
from dashboard.inputs_tables import MAKERS
from dashboard.inputs_view import (
    CARE,
    change_part,
    draft_parts,
    found_parts,
    log_part,
    numbers_part,
    runs_part,
    sketch,
)
from dashboard.inputs_words import sure, verdict
from dashboard.jobs import Jobs, View
from dashboard.parts import messages
from dashboard.parts.amounts import units_of
from dashboard.parts.bar import clock
from dashboard.parts.marks import data
from dashboard.plants import Opened
from dashboard.yesterday_log import DEMO
from twin.indicators import Part
from twin.logs import LogError
from twin.scenario import ScenarioError, numbers
from twin.store import Saved, Store, StoreError

PATH = "/inputs"
NAME = "Inputs"
QUESTION = "What is known of the line, and from where?"
STUDY = Study("inputs", "dashboard.inputs_work:inputs", brings=brings)
TABLES = MAKERS
RUNS_SHOWN = 20
Plain = dict[str, Any]


def layout() -> html.Div:
    """Return the page with room for its answers."""
    return html.Div(
        [
            html.Div(id="in-verdict"),
            html.Div(id="in-sketch"),
            html.Div(id="in-log"),
            html.Div(id="in-found"),
            html.Div(id="in-fits"),
            html.Div(accept_part(), id="in-accept-part", hidden=True),
            html.Div(id="in-numbers-part"),
            change_part(),
            html.Div(id="in-runs"),
            messages.care_note(CARE),
            dcc.Store(id="in-drawn"),
        ]
    )


def spoken(parts: Sequence[Part]) -> list[Any]:
    """Return the parts of a sentence as the page sets them."""
    return [html.Strong(part.text) if part.strong else part.text for part in parts]


def verdict_block(answer: Mapping[str, Any], shown: Mapping[str, Any]) -> html.Div:
    """Return question, verdict and what it rests on, in the light in which the answer stands."""
    kind = shown["kind"]
    below: list[Component] = [html.P(sure(answer), className="sure")]
    if kind == "last":
        below.append(messages.last_answer(clock(answer["made"])))
    if kind == "old":
        below.append(messages.old_answer(shown["changes"]))
    return html.Div(
        [
            html.H1(QUESTION, className="question"),
            html.P(spoken(verdict(answer)), className="verdict"),
            *below,
        ],
        className="answer old" if kind in ("old", "last") else "answer",
        **data("kind", kind),
    )


def opened(office: Office, ask: Ask) -> Opened | None:
    """Return the plant that is asked for, without options; None where none can be opened."""
    try:
        return office.plants.open(Ask(plant=ask.plant))
    except (ScenarioError, ValueError):
        return None


def draft_of(office: Office, ask: Ask) -> Draft:
    """Return the draft that the address holds."""
    plant = opened(office, ask)
    return draft(plant.base, ask.sets) if plant is not None else Draft(())


def shown_answer(office: Office, shown: Mapping[str, Any] | None, ask: Ask, drawn: str) -> list[Any]:
    """Return verdict, sketch, what is wrong in the log, what it tells, the numbers, what to take, what is drawn."""
    key = (shown or {}).get("key", "")
    answer = answers.read(office.settings.kept, key) if key else None
    if shown is None or answer is None:
        asked = html.H1(QUESTION, className="question") if shown and shown["kind"] == "plain" else None
        return [asked, None, None, None, None, True, None, [], ""]
    units = units_of(ask.units)
    block = verdict_block(answer, shown)
    mark = f"{key} {units.name} {answer['made']} {ask.sets}"
    if mark == drawn:
        return [block, *[no_update] * 7, mark]
    values = numbers_part(answer, draft_of(office, ask), units)
    listed, ticked = ticks(answer["fits"])
    fits = fit_parts(answer, units)
    return [block, sketch(answer), found_parts(answer, units), fits, values, not ticked, listed, ticked, mark]


def checked(office: Office, ask: Ask, path: str | None, value: str | None) -> tuple[str, str]:
    """Return what would come of a change, in words, and the address that puts it into the draft; "" where it cannot."""
    plant = opened(office, ask)
    if plant is None or not path or not path.strip():
        return "Choose a number, or press change beside it.", ""
    there = {one.path: one.text for one in numbers(plant.base)}
    today = there.get(path.strip())
    if not value or not value.strip():
        return f"{path}: {today} in the file." if today is not None else f"{path} is not in the file so far.", ""
    wanted = f"{path.strip()}={value.strip()}"
    rest = tuple(one for one in ask.sets if one.partition("=")[0].strip() != path.strip())
    alone = draft(plant.base, (wanted,))
    told = " ".join(f"{fault.message}. {fault.way_out}".strip() for fault in alone.faults[:2])
    change = f"{today or 'Not in the file'} → {value.strip()}"
    said = messages.ended(f"It cannot be so alone: {told}") if told else f"{change}: this can be."
    return said, address(replace(ask, sets=(*rest, wanted)))


def saved_as(office: Office, ask: Ask, name: str | None) -> Component:
    """Write the draft as a new file, and say where it is; or say why not."""
    plant = opened(office, ask)
    if plant is None or not ask.sets:
        return messages.box("Nothing was saved.", [html.P("There is no draft to save.")])
    try:
        target = save_as(plant.file.parent, name or "", plant.base, ask.sets)
    except SaveError as error:
        return messages.box("Nothing was saved.", [html.P(str(error))])
    except ScenarioError as error:
        told = [{"place": one.place, "message": one.message, "way_out": one.way_out} for one in error.faults]
        return messages.box("Nothing was saved.", [messages.fault_line(one) for one in told])
    there = target.stem in office.plants.names()
    link = html.A("Open it", href=PATH + address(replace(ask, plant=target.stem, sets=())))
    where: list[Any] = [f"Saved as {target.name}, beside {plant.file.name}. ", link, "."]
    alone = [f"Saved as {target.name}, beside {plant.file.name}. This server shows {plant.file.name} alone."]
    return html.P(where if there else alone, className="note")


def kept_runs() -> list[Saved] | None:
    """Return the runs that were kept last; None where the store cannot be opened."""
    try:
        store = Store()
    except StoreError:
        return None
    try:
        return store.recent(limit=RUNS_SHOWN)
    except StoreError:
        return None
    finally:
        store.close()


def register(app: Dash, office: Office) -> None:
    """Put the page's callbacks and its door for files on the app."""
    serve_door(app.server, office)
    register_answer(app, office)
    register_change(app, office)
    register_accept(app, office)


def register_answer(app: Dash, office: Office) -> None:
    """Put what is known on the page."""

    @app.callback(
        Output("in-verdict", "children"),
        Output("in-sketch", "children"),
        Output("in-found", "children"),
        Output("in-fits", "children"),
        Output("in-numbers-part", "children"),
        Output("in-accept-part", "hidden"),
        Output("in-accept-list", "children"),
        Output("in-accept-paths", "data"),
        Output("in-drawn", "data"),
        Input("answer", "data"),
        Input("ask", "data"),
        State("in-drawn", "data"),
    )
    def show(shown: Plain | None, ask: Plain | None, drawn: str | None) -> list[Any]:
        return shown_answer(office, shown, from_plain(ask) if ask else Ask(), drawn or "")

    @app.callback(Output("in-log", "children"), Output("in-runs", "children"), Input("ask", "data"))
    def offer(ask: Plain | None) -> tuple[Component | None, Component]:
        own = from_plain(ask) if ask else Ask()
        if not own.plant:
            return None, runs_part(kept_runs())
        beside = list(logs_beside(office.settings, own.plant)) or ([INVENTED] if own.plant == DEMO else [])
        logs = log_part(own, beside, kept_logs(office.settings.kept))
        return logs, runs_part(kept_runs())


def register_change(app: Dash, office: Office) -> None:
    """Put numbers to change, the draft and its saving on the page."""

    @app.callback(
        Output("in-paths", "children"),
        Output("in-draft", "children"),
        Output("in-saving", "hidden"),
        Input("ask", "data"),
    )
    def name_numbers(ask: Plain | None) -> tuple[list[Component], list[Component], bool]:
        own = from_plain(ask) if ask else Ask()
        plant = opened(office, own)
        if plant is None:
            return [], [], True
        now = draft(plant.base, own.sets)
        paths: list[Component] = [html.Option(value=one.path) for one in numbers(plant.base)]
        return paths, draft_parts(own, now), not now.changes or bool(now.faults)

    @app.callback(
        Output("in-checked", "children"),
        Output("in-add", "hidden"),
        Output("in-add", "data-ask"),
        Input("in-path", "value"),
        Input("in-value", "value"),
        Input("ask", "data"),
    )
    def check(path: str | None, value: str | None, ask: Plain | None) -> tuple[str, bool, str]:
        said, add = checked(office, from_plain(ask) if ask else Ask(), path, value)
        return said, not add, add

    @app.callback(
        Output("in-saved", "children"),
        Input("in-save", "n_clicks"),
        State("in-name", "value"),
        State("ask", "data"),
        prevent_initial_call=True,
    )
    def save(clicks: int | None, name: str | None, ask: Plain | None) -> Any:  # noqa: ANN401
        return saved_as(office, from_plain(ask), name) if clicks and ask else no_update


def register_accept(app: Dash, office: Office) -> None:
    """Put the taking of measured numbers on the page: it reads the log once more, in a process of its own."""
    jobs = Jobs(limit=1, stale_s=office.settings.stale_s, early=("dashboard.inputs_work",))

    @app.callback(
        Output("in-accepted", "children"),
        Output("in-accept-news", "disabled"),
        Output("in-accept-key", "data"),
        Input("in-accept", "n_clicks"),
        Input("in-accept-news", "n_intervals"),
        State("in-accept-paths", "data"),
        State("in-accept-name", "value"),
        State("ask", "data"),
        State("owner", "data"),
        State("in-accept-key", "data"),
        prevent_initial_call=True,
    )
    def take(
        _c: int,
        _n: int,
        paths: list[str] | None,
        name: str | None,
        ask: Plain | None,
        owner: str | None,
        key: str | None,
    ) -> list[Any]:
        if ask is None:
            return [no_update, True, None]
        own = from_plain(ask)
        if ctx.triggered_id == "in-accept":
            order = accept_order(office, own, paths or [], name or "")
            if isinstance(order, Component):
                return [order, True, None]
            key = hashlib.sha256(f"{order} {time.time()}".encode()).hexdigest()[:20]
            jobs.start(key, "dashboard.inputs_work:accepted", order, owner or "")
        view = jobs.look(key) if key else View()
        return [accept_said(view, own), not view.going, key]


def accept_order(office: Office, ask: Ask, paths: Sequence[str], name: str) -> dict[str, Any] | Component:
    """Return what the process is told that writes the new scenario; or why it cannot be."""
    plant = opened(office, ask)
    if plant is None or not ask.log or not paths:
        return messages.box("Nothing was written.", [html.P("Tick the numbers to take.")])
    try:
        target = new_file(plant.file.parent, name)
        place = find_log(office.settings, ask.plant, ask.log)
    except (SaveError, AskError) as error:
        return messages.box("Nothing was written.", [html.P(str(error))])
    told = {"file": str(plant.file), "target": str(target), "log": place.name, "place": str(place.path)}
    return told | {"kept": str(office.settings.kept), "paths": list(paths)}


def accept_said(view: View, ask: Ask) -> Component | None:
    """Return how the writing of a new scenario stands."""
    if view.going:
        return html.P("The log is read once more and the numbers are written ...", className="note")
    if view.state == "done":
        link = html.A("Open it", href=PATH + address(replace(ask, plant=view.data["plant"], sets=(), log="")))
        count = view.data["count"]
        said = f"{count} numbers" if count > 1 else "One number"
        return html.P([f"{said} written to {view.data['name']}, beside the old file. ", link, "."], className="note")
    if view.state == "input":
        return messages.box("Nothing was written.", [messages.fault_line(one) for one in view.data["faults"]])
    if view.state == "failed":
        return messages.box("Nothing was written.", [html.P(f"{view.words} Note {view.note} is in the log.")])
    return None


def serve_door(server: Flask, office: Office) -> None:
    """Take a log in at `/bring/log`: looked at, kept under a name made of its content, or refused in words."""

    @server.post("/bring/log")
    def bring() -> Response:
        if request.mimetype != "application/octet-stream":
            return _told({"faults": [{"file": "the request", "message": "it is of another type"}]}, 415)
        if (request.content_length or 0) > LARGEST_UPLOAD + 20_000:
            most = f"more than {LARGEST_UPLOAD // 1_000_000} MB"
            way_out = "Put the log into a folder beside the plant's file."
            return _told({"faults": [{"file": "the log", "message": most, "way_out": way_out}]}, 413)
        try:
            name = keep_log(office.settings.kept, unpacked(request.get_data(cache=False)))
        except LogError as error:
            told = [
                {"file": one.file, "line": one.line, "message": one.message, "way_out": one.way_out}
                for one in error.faults[:30]
            ]
            return _told({"faults": told}, 422)
        return _told({"name": name}, 200)


def _told(content: Mapping[str, Any], status: int) -> Response:
    return Response(orjson.dumps(content), status, mimetype="application/json")
