"""The page Roll changes below its verdict: pieces in their places, the cautions beside the plan, what to take away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dash import html
from dash.development.base_component import Component

from dashboard.doubt_view import doubt_section
from dashboard.parts import messages
from dashboard.parts.amounts import Units
from dashboard.parts.drawing import drawing
from dashboard.parts.messages import section
from dashboard.parts.rolls_view import Piece, pieces, rests_on
from dashboard.parts.taking import table_links
from dashboard.rolls_state import SIMULATED, WAY_OUT

Plain = Mapping[str, Any]
CALLED = {
    "roll-changes": "Changes",
    "roll-prices": "Prices by the quarter hour",
    "roll-sets": "Sets",
    "roll-stays": "Sets along time",
    "roll-distances": "Distances",
    "roll-rules": "Rules",
}
DRAWN = (
    "How far a set should run, and the rules, are found on plants drawn from what is not known, one for each run: "
    "those intervals hold it. The coming changes, their windows and prices take the best estimates."
)
SIDE_BY_SIDE = ("distances", "fails")


def sections(answer: Plain, units: Units) -> list[Component]:
    """Return all parts of the page that are drawn from the answer, in order."""
    results = answer["results"]
    found = {piece.name: shown(piece, answer, units) for piece in pieces(results, units)}
    made: list[Component] = [found[name] for name in ("places", "windows") if name in found]
    made.append(messages.care_note(" ".join(results["cautions"])))
    made += [found[name] for name in ("along",) if name in found]
    made.append(html.Div([found[name] for name in SIDE_BY_SIDE if name in found], className="two"))
    made += [found[name] for name in ("each", "rules") if name in found]
    made += doubt_section(answer, units, DRAWN)
    said = [
        *answer.get("state", {}).get("said", ()),
        *rests_on(results, units),
        *([WAY_OUT] if SIMULATED in results["verdict"]["sure"] else ()),
        *other_mills(results["station"], answer.get("others", ())),
    ]
    rests = html.Ul([html.Li(one) for one in said], className="assumed")
    return [*made, section("What this rests on", "Taken for granted, and how the plan was tried.", [rests])]


def other_mills(station: str, others: Sequence[str]) -> list[str]:
    """Say whose rolls are not planned here, and how they are."""
    return [
        f"This is the plan of the {station}; the {other} has rolls of its own: passline rolls --station '{other}'."
        for other in others
    ]


def shown(piece: Piece, answer: Plain, units: Units) -> html.Section:
    """Return one piece as the page has it."""
    drawn = [drawing(text, id=f"rolls-{piece.name}-{i}") for i, text in enumerate(piece.drawings) if text]
    return section(piece.title, piece.note, drawn, take(answer, units, piece))


def take(answer: Plain, units: Units, piece: Piece) -> list[Component]:
    """Return the links that take a piece's tables away, and with the windows the calendar."""
    found: list[Component] = []
    if piece.name == "windows":
        count = len(answer["results"]["changes"])
        place = f"/calendar/{answer['key']}.ics"
        link = html.A("Put the windows in a calendar", href=place, download="", className="button")
        found.append(html.Span([link, f" {count} {'event' if count == 1 else 'events'}, .ics"]))
    return found + [table_links(answer["key"], name, CALLED[name], units) for name in piece.tables]
