"""The part of a page that shows how much of its answer is not known, and the table of what to record next."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard import doubt_words as said
from dashboard.ask import UNCERTAIN, Ask, address
from dashboard.charts.doubt import Ends, ToRecord, honest_interval, known_rings, parts_bar, record_next
from dashboard.charts.plant import titled
from dashboard.doubt import half_of
from dashboard.parts.amounts import Units
from dashboard.parts.drawing import drawing
from dashboard.parts.messages import section
from dashboard.parts.taking import table_links
from dashboard.tables import Cell, Maker, Table
from twin.words import share

Plain = Mapping[str, Any]
TITLE = "How much of it is not known"
RINGS = "Full ring: a number that is measured. Open ring: one that is not. Which they are stands in "


def doubt_section(answer: Plain, units: Units, more: str = "", ask: Ask | None = None) -> list[Component]:
    """Return the part, nothing for an answer that took best estimates.

    `more` is said of what the page shows else; `ask` is what the page is asked, which the link to Inputs keeps.
    """
    told = answer.get("doubt")
    if told is None:
        return []
    parts = told["split"]
    note = " ".join(one for one in (said.both(told, units) if told["group"] > 1 else "", more) if one)
    known = _known(told, ask or asked_by(answer, units))
    inner: list[Component] = [html.Div([*_intervals(told, units), known], className="two")]
    tables: list[Component] = []
    if parts is not None and parts["log_share"] > 0.0:
        inner += _next(told, units)
        tables = (
            [table_links(answer["key"], "record-next", "What to record next", units)] if parts["record_next"] else []
        )
    return [html.Div([section(TITLE, note or said.rests(told), inner, tables)], id="doubt", className="doubt")]


def _intervals(told: Plain, units: Units) -> list[Component]:
    """Return the two intervals one within the other, and the parts of the doubt."""
    parts = told["split"]
    if parts is None:
        return []
    outer, inner = (_ends(parts[name], units) for name in ("answer", "runs_only"))
    unit = f"{units.mass}/week"
    today = 0.0 if told["of"] else None
    drawn = honest_interval(outer, inner, said=said.above_and_below(told, units), unit=unit, today=today)
    shares = parts_bar(parts["log_share"], said=said.parts_said(told))
    note = "The bar: how the variance of the answer divides."
    bar = [drawing(shares, id="doubt-parts"), html.P(note, className="note")]
    return [html.Div([drawing(drawn, id="doubt-interval"), *bar])]


def _ends(one: Plain, units: Units) -> Ends:
    return Ends(*(units.per_tonne * one[end] for end in ("mean", "low", "high")))


def asked_by(answer: Plain, units: Units) -> Ask:
    """Return the question of an answer, as far as the answer tells it."""
    return Ask(
        plant=answer["plant"],
        options=tuple(answer["options"]),
        runs=answer["wanted"],
        seed=answer["seed"],
        units=units.name,
        inputs=UNCERTAIN,
    )


def _known(told: Plain, ask: Ask) -> html.Div:
    """Return how many numbers are measured, with the way to the page that lists them."""
    link = dcc.Link("Inputs", href=f"/inputs{address(ask)}")
    return html.Div(
        [
            drawing(known_rings(told["measured"], told["numbers"]), id="doubt-known"),
            html.P(said.rests(told), className="note"),
            html.P([RINGS, link, "."], className="note"),
        ]
    )


def _next(told: Plain, units: Units) -> list[Component]:
    """Return what to record next."""
    parts, head = told["split"], html.H3("What to record next")
    if not parts["record_next"]:
        return [head, html.P(said.no_leads(told), className="note")]
    wide = half_of(parts["answer"])
    rows = [
        ToRecord(
            title=titled(one["name"]),
            known_from=said.known_from(one),
            share=share(one["share"]),
            becomes=said.half(one["half_without"], units),
            half=units.per_tonne * one["half_without"],
        )
        for one in parts["record_next"]
    ]
    now = f"{said.half(wide, units)} {units.mass}/week would become"
    note = said.NEAR + (said.MORE_THAN_ALL if sum(one["share"] for one in parts["record_next"]) > 1.0 else "")
    drawn = record_next(rows, _ends(parts["answer"], units), becomes=now, unit=f"{units.mass}/week")
    return [head, html.P(note, className="note"), drawing(drawn, id="doubt-next")]


def record_table(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return what to record next: each number, what it rests on, its share, what the half-width would become."""
    unit = f"{units.mass.replace(' ', '_')}_per_week"
    heads = ("number", "path", "known_from", "values", "share", f"half_width_{unit}", f"half_width_if_known_{unit}")
    parts = (answer.get("doubt") or {}).get("split") or {"record_next": []}
    rows: list[list[Cell]] = [
        [
            one["name"],
            one["path"],
            one["how"],
            one["n"],
            one["share"],
            units.per_tonne * one["half"],
            units.per_tonne * one["half_without"],
        ]
        for one in parts["record_next"]
    ]
    return Table("record next", heads, rows)


DOUBT_TABLES: dict[str, Maker] = {"record-next": record_table}
