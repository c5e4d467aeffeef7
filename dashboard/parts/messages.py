"""What a page says when it has no plain answer: nothing open, a fault of the input, a fault of ours, an old answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import PurePath
from typing import Any

from dash import html
from dash.development.base_component import Component

from dashboard.parts.drawing import drawing
from dashboard.parts.frame import press
from dashboard.parts.marks import named


def box(title: str, inner: Sequence[Any], *, alone: bool = False) -> html.Div:
    """Return a message with a title, marked at its left edge; alone on the page its title heads the page."""
    return html.Div([html.H1(title) if alone else html.H2(title), *inner], className="box")


def place(fault: Mapping[str, Any]) -> str:
    """Return where a fault stands: the file and the line, when known."""
    file, line = fault.get("file"), fault.get("line")
    if not file:
        return ""
    name = PurePath(file).name
    return f"{name}, line {line}" if line else name


def fault_line(fault: Mapping[str, Any]) -> html.P:
    """Return one fault: file and line, which value, what is wrong and the way out."""
    where, key, way_out = place(fault), fault.get("place"), fault.get("way_out")
    said: list[Any] = [html.Code(where), " "] if where else []
    said += [html.Strong(f"{key}"), ": "] if key else []
    said.append(ended(str(fault.get("message") or "")))
    return html.P([*said, " ", ended(str(way_out))] if way_out else said)


def ended(text: str) -> str:
    """Return a sentence with its full stop."""
    return text if text.endswith((".", "?")) else f"{text}."


def is_of_log(file: str | None) -> bool:
    """Tell whether a file belongs to a log: a table, a workbook, how they are to be read, or the folder of them."""
    return bool(file) and (PurePath(str(file)).suffix not in (".yaml", ".yml") or PurePath(str(file)).stem == "mapping")


def input_faults(
    faults: Sequence[Mapping[str, Any]], words: str = "", *, alone: bool = True, asked: bool = False
) -> html.Div:
    """Return all faults of a scenario file or a log, each with its place and way out.

    `asked` says that the file itself could be read: without a line the fault is in what is asked of it.
    """
    if not faults:
        return box("This cannot be shown.", [html.P(ended(words[:1].upper() + words[1:]))], alone=alone)
    what = "log" if all(is_of_log(fault.get("file")) for fault in faults) else "scenario file"
    if asked and what != "log" and not any(fault.get("line") for fault in faults):
        return box("The plant cannot be as asked.", [fault_line(fault) for fault in faults], alone=alone)
    title = f"The {what} has a fault." if len(faults) == 1 else f"The {what} has {len(faults)} faults."
    return box(title, [fault_line(fault) for fault in faults], alone=alone)


def our_fault(words: str, note: str, standing: str) -> html.Div:
    """Return what is said when a run failed: what happened, the note in the log, which answer still stands."""
    sentences = [words if words.endswith(".") else f"{words}.", f"Note {note} is in the log."]
    if standing:
        sentences.append(f"The answer of {standing} still stands below.")
    return box(
        "The run ended without a result.",
        [html.P([" ".join(sentences), " ", press("Run again", "again")])],
        alone=not standing,
    )


def trouble(words: str, note: str) -> html.Div:
    """Return what is said when the page itself failed."""
    return box("The page could not be drawn.", [html.P(f"{words} Note {note} is in the log; the rest still stands.")])


def nothing_open(rack: str, plants: Sequence[str]) -> html.Div:
    """Return the empty page: a rack of free places, and where to begin."""
    way = "Start it with a scenario file or a folder of them: passline serve FILE."
    if plants:
        way = "Choose one under Plant, at the top left."
    return html.Div([drawing(rack), html.H1("No plant is open."), html.P(way)], className="empty")


def old_answer(changes: Sequence[str]) -> html.P:
    """Return what has changed since the answer was made."""
    what = f": {'; '.join(changes)}." if changes else "."
    return html.P([f"The scenario has changed since{what} ", press("Run again", "again")], className="note")


def last_answer(made: str) -> html.P:
    """Return what is said of an answer whose file has got faults since."""
    return html.P(f"This is the answer of {made}, before the file had its faults.", className="note")


def stopped_answer() -> html.P:
    """Return what can be done about a run that was stopped."""
    return html.P([press("Go on", "go-on"), " or leave it: what was made is kept."], className="note")


def care_note(sentences: str) -> html.Aside:
    """Return the caution at the foot of a page."""
    return html.Aside([html.Strong("Care."), " ", sentences], className="care", **named("Care"))


def section(title: str, note: str, inner: Sequence[Component], tables: Sequence[Component] = ()) -> html.Section:
    """Return one part of a page: rule, heading, one sentence, drawing, and its table to take away."""
    head = [html.H2(title), html.P(note, className="note")]
    return html.Section([*head, *inner, html.P(tables, className="take")] if tables else [*head, *inner])
