"""What stands round every page: brand, page names on the pass line, what is asked, how the run stands, the foot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.ask import INPUTS
from dashboard.parts.marks import data, named, polite, unseen

POLL_MS = 250
WATCH_MS = 5000
CARE = "A plan, not a permit: local rules, the machine maker's manual and your own people decide."


def press(text: str, button: str) -> html.Button:
    """Return a small button in a sentence that does what the button of that id in the bar does."""
    return html.Button(text, className="small", type="button", **data("press", button))


def nip() -> html.Span:
    """Return the two rolls that nip the pass line under the name of the current page."""
    return html.Span([html.I(), html.I()], className="nip", **unseen())


def links(pages: Sequence[tuple[str, str]], search: str, current: str) -> list[Component]:
    """Return the page names, each keeping what is asked; the rolls nip the line at the current one."""
    found: list[Component] = []
    for path, name in pages:
        here: dict[str, Any] = {"aria-current": "page"} if path == current else {}
        link = html.A([name, nip()], href=path + search, className="page-name", **here)
        found.append(link if here else dcc.Link([name, nip()], href=path + search, className="page-name"))
    return found


def switches() -> html.Div:
    """Return units, theme and print."""
    return html.Div(
        [
            html.Button("Units: t", id="units", className="small", type="button", n_clicks=0),
            html.Button("Dark", id="theme", className="small", type="button"),
            html.Button("Print", id="print", className="small", type="button"),
        ],
        className="switches",
    )


def chooser(name: str, title: str, panel: Sequence[Component]) -> html.Details:
    """Return a word that opens a list to choose from."""
    shown = html.Summary([html.Span(title), html.Strong("–", id=f"{name}-shown")])
    return html.Details([shown, html.Div(panel, className="panel")], className="chooser", id=f"{name}-chooser")


def choice(text: str, address: str, *, chosen: bool, many: bool = False) -> html.Button:
    """Return one thing to choose: pressed, the page goes to the address that asks for it."""
    state: dict[str, Any] = {"aria-pressed" if many else "aria-current": "true" if chosen else "false"}
    return html.Button(text, className="choice", type="button", **state, **data("ask", address))


def either(name: str, words: str) -> html.Button:
    """Return one of the two ways to take the numbers of the plant; the press stays the same, so that it keeps focus."""
    return html.Button(words, id=f"inputs-{name}", className="choice", type="button", **data("ask", ""))


def choices(name: str, label: str) -> html.Div:
    """Return the place of a list of choices, which a screen reader hears under one name."""
    return html.Div(id=name, role="group", className="choices", **named(label))


def controls() -> html.Div:
    """Return plant, options, runs and seed, and how the numbers of the plant are taken."""
    seed = dcc.Input(id="seed", type="text", debounce=True, value="2026", inputMode="numeric", maxLength=16)
    runs = [choices("runs", "Number of runs"), html.Label(["Seed", seed], className="seed")]
    return html.Div(
        [
            chooser("plant", "Plant", [choices("plant", "Plant")]),
            chooser("options", "Options", [choices("options", "Options")]),
            chooser("runs", "Runs", runs),
            html.Div(
                [html.Span("Inputs"), *(either(name, words) for name, words in INPUTS.items())],
                id="inputs-taken",
                role="group",
                className="either",
                **named("Inputs"),
            ),
        ],
        className="controls",
    )


def status() -> html.Div:
    """Return the place that tells how the run stands, with what can be done about it."""
    return html.Div(
        [
            html.Div(id="coil", className="coil", hidden=True),
            html.Span(id="status-words"),
            html.Button("Stop", id="stop", className="small", type="button", hidden=True, n_clicks=0),
            html.Button("Go on", id="go-on", className="small", type="button", hidden=True, n_clicks=0),
            html.Button("Run again", id="again", className="filled", type="button", hidden=True, n_clicks=0),
            html.Span(id="said", className="unseen", role="status"),
        ],
        className="status",
    )


def frame(pages: Sequence[tuple[str, str]]) -> html.Div:
    """Return the whole frame with room for a page."""
    head = html.Header(
        [
            html.A("Skip to the answer", href="#page", className="skip"),
            html.Div(
                [
                    html.Span("passline", className="brand"),
                    html.Nav(links(pages, "", ""), id="menu", **named("Pages")),
                    switches(),
                ],
                className="head-row",
            ),
        ],
        className="head",
    )
    return html.Div(
        [
            head,
            html.Div(
                "The server does not answer. The page shows what it last said.", id="lost", role="alert", hidden=True
            ),
            html.Section([controls(), status()], className="bar", **named("Plant and run")),
            html.Div(id="trouble", role="alert"),
            html.Section(id="message", **named("Message"), **polite()),
            html.Main(id="page", tabIndex=-1),
            html.Footer(id="foot", className="foot"),
            *works(),
        ],
        className="frame",
    )


def works() -> list[Component]:
    """Return what works unseen: the address, what is asked and answered, the clocks."""
    return [
        dcc.Location(id="address", refresh=False),
        dcc.Store(id="owner", storage_type="session"),
        dcc.Store(id="ask"),
        dcc.Store(id="answer"),
        dcc.Interval(id="poll", interval=POLL_MS, disabled=True),
        dcc.Interval(id="watch", interval=WATCH_MS),
    ]


def foot(answer: Mapping[str, Any] | None) -> list[Component]:
    """Return the foot: what made the answer, so that it can be made again."""
    said = []
    if answer is not None:
        digest = answer["digest"]
        options = f" with {', '.join(answer['options'])}" if answer["options"] else ""
        runs = "one run" if answer["done"] == 1 else f"{answer['done']} runs"
        inputs = ", inputs as uncertain as they are" if answer.get("known") else ""
        said = [
            f"{answer['name']}{options}, digest {digest[:4]}…{digest[-4:]}",
            f"seed {answer['seed']}, {runs}, model {answer['version']}{inputs}",
        ]
    return [html.Span(text) for text in [*said, CARE]]
