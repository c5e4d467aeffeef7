"""One event of the day otherwise: it comes at another time, lasts otherwise, or did not happen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from dash import Dash, Input, Output, State, dcc, html, no_update
from dash.development.base_component import Component

from dashboard import answers
from dashboard.ask import AskError, from_plain
from dashboard.drive import Office
from dashboard.parts import messages
from dashboard.parts.amounts import Units, units_of
from dashboard.parts.drawing import drawing
from dashboard.yesterday_again import Again
from dashboard.yesterday_log import brought
from dashboard.yesterday_view import if_so
from dashboard.yesterday_words import changed, event_words, minutes, tonnes
from twin.scenario import ScenarioError
from twin.version import VERSION

NEWS_MS = 300
PATIENCE_S = 0.9
"""How long a press waits for the day before the page asks again: most days are there by then."""
LONGEST_MIN = 1440.0
CHOOSE = "Choose an event of the list."
CHANGED = "The plant or its log has changed since this answer was made: run it again first."
UNDER_WAY = "The day is being run again."
READING = "day"
WORK = ("stop", "rolls", "setup")
NO_TARGET = (
    "This tells what the time was worth, and is no target: work at rolls, knives, metal and cranes takes its time."
)
Plain = dict[str, Any]


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
        html.Div(id="day-if-curve"),
        dcc.Store(id="day-asked"),
        dcc.Interval(id="day-news", interval=NEWS_MS, disabled=True),
    ]
    note = (
        "One event of the day comes earlier or later, lasts otherwise, or does not happen; all else stays as recorded."
    )
    return messages.section("Move one event", note, inner)


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


def asked_of(answer: Mapping[str, Any], text: str | None, later: str | None, lasts: str | None) -> Plain:
    """Return how an event is to be otherwise; no edit, and why, where what is written says no such thing."""
    event = event_of(answer, text)
    if event is None:
        return {"edit": None, "said": CHOOSE}
    try:
        return {"edit": edit_of(event, later, lasts), "said": ""}
    except ValueError as wrong:
        return {"edit": None, "said": str(wrong)}


def try_key(answer: Mapping[str, Any], what: str) -> str:
    """Return the name under which a day with something otherwise is kept."""
    return answers.key_of("otherwise", answer["key"], (what,), 0, answer["seed"], VERSION)


def order_of(office: Office, asked: Plain, answer: Mapping[str, Any], edits: list[Plain]) -> Plain | None:
    """Return what the process at hand is told; with no edits it only reads the day. None if the plant has changed."""
    ask = from_plain(asked)
    try:
        opened, more = office.plants.open(ask), brought(office.settings, ask)
    except (ScenarioError, AskError):
        return None
    if opened is None or opened.scenario.digest != answer["digest"] or more["stamp"] != answer.get("stamp"):
        return None
    what = repr([sorted(edit.items()) for edit in edits]) if edits else READING
    order = {"file": str(opened.file), "digest": opened.scenario.digest, "options": list(ask.options)}
    order |= {name: more[name] for name in ("log", "stamp", "invented")} | {"day": answer["day"], "edits": edits}
    return {**order, "seed": answer["seed"], "kept": str(office.settings.kept), "key": try_key(answer, what)}


def tried(office: Office, again: Again, asked: Plain, answer: Mapping[str, Any], edits: list[Plain]) -> Plain:
    """Return the key of a day with events otherwise, and whether it is still being run; it is begun if need be."""
    order = order_of(office, asked, answer, edits)
    if order is None:
        return {"key": "", "going": False, "words": CHANGED}
    key = order["key"]
    if answers.read(office.settings.kept, key) is not None:
        return {"key": key, "going": False, "words": ""}
    if again.became(key) == "":
        again.forget(key)  # it was kept once, and thrown away since
    again.send(order)
    words = again.became(key, PATIENCE_S)
    return {"key": key, "going": words is None, "words": words or ""}


def said_of(found: Mapping[str, Any], zone: str, units: Units) -> str:
    """Return what the day would have given."""
    event = event_words(found["events"][0], zone)
    made, change = tonnes(found["made_t"], units), changed(found, units)
    said = f"If {event} {how_words(found['edits'][0])}: {made}, {change} against what was booked; all else as recorded."
    return f"{said} {NO_TARGET}" if shortened(found["events"][0], found["edits"][0]) else said


def shortened(event: Mapping[str, Any], edit: Mapping[str, Any]) -> bool:
    """Tell whether work at a machine is left out or takes less time than it did."""
    if event["kind"] not in WORK:
        return False
    lasts = edit.get("lasts_s")
    return bool(edit.get("remove")) or (lasts is not None and lasts < event["end_s"] - event["start_s"])


def how_words(edit: Mapping[str, Any]) -> str:
    """Return how an event is otherwise: `had come 20 min later and lasted 1 h`."""
    if edit.get("remove"):
        return "had not happened"
    later, lasts = edit.get("later_s", 0.0), edit.get("lasts_s")
    moved = [f"come {minutes(abs(later))} {'later' if later > 0.0 else 'earlier'}"] if later else []
    moved += [f"lasted {minutes(lasts)}"] if lasts is not None else []
    return f"had {' and '.join(moved)}" if moved else "had been as it was"


def shown_try(office: Office, answer: Mapping[str, Any], state: Plain, units: Units) -> tuple[str, list[Component]]:
    """Return what is said of a day with an event otherwise, and its curve beside that of the day."""
    found = answers.read(office.settings.kept, state["key"]) if state["key"] else None
    if found is None:
        said = UNDER_WAY if state["going"] else messages.ended(state["words"] or "It cannot be run")
        return said, []
    drawn = if_so(answer, found, units) if found.get("curve_t") else ()
    return said_of(found, answer["review"]["zone"], units), [
        drawing(text, id=f"day-if-{i}") for i, text in enumerate(drawn)
    ]


@dataclass(frozen=True, slots=True)
class Bench:
    """Where days are run again: the kept answers, and the process that has the log at hand."""

    office: Office
    again: Again

    def kept(self, shown: Plain | None) -> dict[str, Any] | None:
        """Return the day on the page."""
        found = answers.read(self.office.settings.kept, shown["key"]) if shown and shown.get("key") else None
        return found if found and "review" in found else None

    def at_hand(self, ask: Plain, answer: Mapping[str, Any]) -> None:
        """Have the log read before anybody presses."""
        order = order_of(self.office, ask, answer, [])
        if order is not None:
            self.again.send(order)

    def result(self, ask: Plain, answer: Mapping[str, Any], asked: Plain | None) -> list[Any]:
        """Return what is said, the curve, whether nothing more is to come, and what was asked."""
        if asked is None or asked["key"] != answer["key"]:  # nothing is asked yet, or it was asked of another day
            return ["", [], True, asked]
        if asked["edit"] is None:
            return [asked["said"], [], True, asked]
        state = tried(self.office, self.again, ask, answer, [asked["edit"]])
        said, drawn = shown_try(self.office, answer, state, units_of(ask["units"]))
        return [said, drawn, not state["going"], asked]


def register_event(app: Dash, office: Office, again: Again) -> None:
    """Put the day with one event otherwise on the page."""
    bench = Bench(office, again)
    register_choice(app, bench)
    register_press(app, bench)


def register_choice(app: Dash, bench: Bench) -> None:
    """Fill in how long the event that is chosen lasted; by then the log is to be at hand."""

    @app.callback(
        Output("day-lasts", "value"),
        Output("day-later", "value"),
        Input("day-event", "value"),
        State("answer", "data"),
        State("ask", "data"),
    )
    def choose(text: str | None, shown: Plain | None, ask: Plain | None) -> list[Any]:
        answer = bench.kept(shown)
        event = event_of(answer, text) if answer and ask else None
        if answer is None or ask is None or event is None:
            return [no_update, no_update]
        bench.at_hand(ask, answer)
        return [f"{(event['end_s'] - event['start_s']) / 60.0:.0f}", "0"]


def register_press(app: Dash, bench: Bench) -> None:
    """Run the day again at a press, and ask for it until it is there."""

    @app.callback(
        Output("day-if-said", "children"),
        Output("day-if-curve", "children"),
        Output("day-news", "disabled"),
        Output("day-asked", "data"),
        Input("day-try", "n_clicks"),
        Input("day-news", "n_intervals"),
        Input("day-drawn", "data"),
        State("day-asked", "data"),
        State("day-event", "value"),
        State("day-later", "value"),
        State("day-lasts", "value"),
        State("answer", "data"),
        State("ask", "data"),
        prevent_initial_call=True,
    )
    def move(clicks: int, _n: int, _drawn: str, asked: Plain | None, *written: Any) -> list[Any]:  # noqa: ANN401
        *words, shown, ask = written
        answer = bench.kept(shown)
        if answer is None or ask is None:
            return ["", [], True, asked]
        bench.at_hand(ask, answer)
        if clicks and (asked is None or asked["clicks"] != clicks):
            asked = {"clicks": clicks, "key": answer["key"], **asked_of(answer, *words)}
        return bench.result(ask, answer, asked)
