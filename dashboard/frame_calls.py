"""The frame's callbacks: which page, what is asked, how the run stands. Each asks, draws and returns."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State, ctx, html, no_update
from dash.development.base_component import Component

from dashboard.ask import (
    BEST,
    LARGEST_SEED,
    LEAST_UNCERTAIN_RUNS,
    RUNS,
    UNCERTAIN,
    Ask,
    AskError,
    address,
    from_plain,
    read,
    taken,
    to_plain,
    whole_number,
)
from dashboard.charts.moments import empty_rack
from dashboard.drive import Knock, Office, Standing, Study, standing
from dashboard.page import Page
from dashboard.parts import bar, frame, messages
from dashboard.parts.amounts import units_of
from twin.scenario import ScenarioError

PRESSES = ("again", "go-on", "stop")
Plain = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Asked:
    """What the controls show, in the order of their outputs."""

    search: Any
    plants: list[Component]
    plant_shown: str
    options: list[Component]
    options_shown: str
    runs: list[Component]
    runs_shown: str
    seed: str
    units: str
    inputs_hidden: bool
    to_best: str
    best_pressed: str
    to_uncertain: str
    uncertain_pressed: str
    menu: list[Component]
    ask: dict[str, Any]
    trouble: Component | None = None


def in_order(shown: Asked | bar.Bar) -> list[Any]:
    """Return the values in the order in which they were declared, which is that of the outputs."""
    return [getattr(shown, part.name) for part in fields(shown)]


def changed(ask: Ask, trigger: str | None, seed: str | None) -> Ask:
    """Return the question after the seed was written or the units were turned."""
    if trigger == "seed" and seed is not None:
        return replace(ask, seed=whole_number("seed", seed, 0, LARGEST_SEED))
    if trigger == "units":
        return replace(ask, units="t" if ask.units == "us" else "us")
    return ask


def options_of(office: Office, plant: str) -> list[str]:
    """Return the options that a plant's file names; none while the file has faults."""
    try:
        return list(office.plants.base(plant).options) if plant else []
    except ScenarioError:
        return []


def name_of(office: Office, plant: str) -> str:
    """Return the name that a plant's file gives it, the file's own while it has faults."""
    try:
        return office.plants.base(plant).name if plant else "none"
    except ScenarioError:
        return plant


def plant_choices(office: Office, ask: Ask) -> list[Component]:
    """Return the plants to choose from; another plant begins without options."""
    return [
        frame.choice(
            name_of(office, name),
            address(replace(ask, plant=name, options=(), sums=(), sets=(), day="")),
            chosen=name == ask.plant,
        )
        for name in office.plants.names()
    ]


def option_choices(office: Office, ask: Ask) -> list[Component]:
    """Return the options of the plant, each to be added or taken away."""
    found: list[Component] = []
    there = options_of(office, ask.plant)
    for name in there:
        chosen = name in ask.options
        with_it = [other for other in there if (other == name) != (other in ask.options)]
        found.append(frame.choice(name, address(replace(ask, options=tuple(with_it))), chosen=chosen, many=True))
    return found or [html.P("The scenario file names no options.")]


def run_choices(ask: Ask, own: Ask) -> list[Component]:
    """Return the numbers of runs to choose from, with the one that is made; uncertain inputs need some."""
    least = LEAST_UNCERTAIN_RUNS if own.inputs == UNCERTAIN else 1
    return [
        frame.choice(f"{number} runs", address(replace(ask, runs=number)), chosen=number == own.runs)
        for number in sorted({*RUNS, own.runs})
        if number >= least
    ]


def pressed(ask: Ask, inputs: str) -> str:
    """Return whether the numbers of the plant are taken so, as an attribute has it."""
    return "true" if ask.inputs == inputs else "false"


def settled(
    office: Office,
    menu: Callable[[str], list[Component]],
    trigger: str | None,
    search: str | None,
    seed: str | None,
    *,
    doubts: bool = False,
) -> Asked:
    """Return what the controls and the address should show now, on a page that knows doubts of its inputs or not."""
    error = ""
    try:
        ask = changed(read(search), trigger, seed)
        ask = replace(ask, plant=office.plants.chosen(ask))
    except AskError as trouble:
        ask, error = Ask(), str(trouble)
    here, own = address(ask), taken(ask, doubts=doubts)
    return Asked(
        search=here if trigger in ("seed", "units") and not error else no_update,
        plants=plant_choices(office, ask),
        plant_shown=name_of(office, ask.plant),
        options=option_choices(office, ask),
        options_shown=bar.options_words(ask.options),
        runs=run_choices(ask, own),
        runs_shown=bar.runs_words(own),
        seed=str(ask.seed),
        units=f"Units: {units_of(ask.units).mass}",
        inputs_hidden=not doubts,
        to_best=address(replace(ask, inputs=BEST)),
        best_pressed=pressed(ask, BEST),
        to_uncertain=address(replace(ask, inputs=UNCERTAIN)),
        uncertain_pressed=pressed(ask, UNCERTAIN),
        menu=menu(here),
        ask=to_plain(ask) | {"error": error, "search": here},
    )


def message(now: Standing, office: Office) -> Component | None:
    """Return what has to be said above the page."""
    if now.kind == "empty":
        return messages.nothing_open(empty_rack(), office.plants.names())
    if now.kind == "asked" or (now.kind == "input" and not now.faults):
        return messages.input_faults((), now.words)
    if now.kind == "input":
        return messages.input_faults(now.faults, alone=now.answer is None)
    if now.view.state == "input":
        faults = now.view.data.get("faults", ())
        return messages.input_faults(faults, now.view.words, alone=now.answer is None, asked=True)
    if now.view.state == "failed":
        made = bar.clock(now.answer["made"]) if now.answer else ""
        return messages.our_fault(now.view.words, now.view.note, made)
    return None


def token(now: Standing) -> dict[str, Any]:
    """Return which answer the page shows, and in what light."""
    if now.answer is None:
        return {"key": "", "kind": now.kind}
    light = (
        "last"
        if now.kind == "input"
        else "old"
        if now.old
        else "whole"
        if now.answer["whole"]
        else "stopped"
        if now.stopped
        else "part"
    )
    return {"key": now.key, "kind": light, "done": now.answer["done"], "made": now.answer["made"]} | {
        "changes": list(now.changes)
    }


def driven(office: Office, study: Study, asked: Plain, press: str, owner: str, shown: Plain | None) -> list[Any]:
    """Return all that the frame shows of a question: bar, message, foot, and which answer the page is to show."""
    ask = from_plain(asked)
    if asked.get("error"):
        now = Standing("asked", words=asked["error"])
    else:
        now = standing(office, study, ask, Knock(press, owner, (shown or {}).get("step", -1)))
    mark = token(now) | {"step": now.view.steps if now.view.going else -1}
    return [*in_order(bar.bar(now, units_of(ask.units))), message(now, office), frame.foot(now.answer), mark]


def press_among(triggers: Iterable[Any]) -> str:
    """Return the button that was pressed, `visit` for a question that comes on the page; a clock may tick with both."""
    told = set(triggers)
    return next((button for button in PRESSES if button in told), "visit" if "ask" in told else "")


def not_found(path: str) -> html.Div:
    """Return what stands at an address without a page."""
    return messages.box(
        "There is no such page.", [html.P([f"Nothing is at {path}. ", html.A("To the line", href="/")])]
    )


def register(app: Dash, office: Office, pages: Sequence[Page]) -> None:
    """Put the frame's callbacks on the app."""
    register_browser(app)
    register_route(app, pages)
    register_settle(app, office, pages)
    register_drive(app, office, pages)


def register_browser(app: Dash) -> None:
    """Put what the browser does by itself: give each of its windows a name, write the whole address."""
    app.clientside_callback(  # type: ignore[no-untyped-call]
        ClientsideFunction("passline_frame", "owner"),
        Output("owner", "data"),
        Input("owner", "modified_timestamp"),
        State("owner", "data"),
    )
    app.clientside_callback(  # type: ignore[no-untyped-call]
        ClientsideFunction("passline_frame", "settle"), Input("ask", "data")
    )


def register_route(app: Dash, pages: Sequence[Page]) -> None:
    """Put the page of an address into the frame."""

    @app.callback(Output("page", "children"), Input("address", "pathname"))
    def route(path: str) -> Component:
        page = next((page for page in pages if path == page.PATH), None)
        return page.layout() if page else not_found(path)


def register_settle(app: Dash, office: Office, pages: Sequence[Page]) -> None:
    """Put what is asked from the address into the controls, and what the controls ask into the address."""
    names = [(page.PATH, page.NAME) for page in pages]

    @app.callback(
        Output("address", "search"),
        Output("plant", "children"),
        Output("plant-shown", "children"),
        Output("options", "children"),
        Output("options-shown", "children"),
        Output("runs", "children"),
        Output("runs-shown", "children"),
        Output("seed", "value"),
        Output("units", "children"),
        Output("inputs-taken", "hidden"),
        Output("inputs-best", "data-ask"),
        Output("inputs-best", "aria-pressed"),
        Output("inputs-uncertain", "data-ask"),
        Output("inputs-uncertain", "aria-pressed"),
        Output("menu", "children"),
        Output("ask", "data"),
        Output("trouble", "children"),
        Input("address", "search"),
        Input("seed", "value"),
        Input("units", "n_clicks"),
        Input("address", "pathname"),
    )
    def settle(search: str, seed: str | None, _units: int, path: str) -> list[Any]:
        page = next((page for page in pages if path == page.PATH), pages[0])
        to_pages, doubts = lambda here: frame.links(names, here, path), page.STUDY.doubts
        shown = settled(office, to_pages, ctx.triggered_id, search, seed, doubts=doubts)
        if not page.STUDY.together:
            shown = replace(shown, options_shown=bar.beside_words(from_plain(shown.ask)))
        return in_order(shown)


def register_drive(app: Dash, office: Office, pages: Sequence[Page]) -> None:
    """Put how the question stands into bar, message and foot, and tell the page which answer to show."""

    @app.callback(
        Output("status-words", "children"),
        Output("coil", "data-drawing"),
        Output("coil", "hidden"),
        Output("stop", "hidden"),
        Output("go-on", "hidden"),
        Output("again", "hidden"),
        Output("said", "children"),
        Output("poll", "disabled"),
        Output("message", "children"),
        Output("foot", "children"),
        Output("answer", "data"),
        Input("ask", "data"),
        Input("again", "n_clicks"),
        Input("go-on", "n_clicks"),
        Input("stop", "n_clicks"),
        Input("poll", "n_intervals"),
        Input("watch", "n_intervals"),
        State("address", "pathname"),
        State("owner", "data"),
        State("answer", "data"),
        prevent_initial_call=True,
    )
    def drive(
        ask: Plain, _a: int, _g: int, _s: int, _p: int, _w: int, path: str, owner: str | None, shown: Plain | None
    ) -> list[Any]:
        press = press_among(ctx.triggered_prop_ids.values())
        study = next((page.STUDY for page in pages if path == page.PATH), pages[0].STUDY)
        out = driven(office, study, ask, press, owner or "", shown)
        return [*out[:-1], no_update if out[-1] == shown else out[-1]]
