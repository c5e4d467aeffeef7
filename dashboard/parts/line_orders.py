"""The orders of the Line page: which are late, how sure, how much; shown only where the scenario has an order book."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dash import html
from dash.development.base_component import Component

from dashboard.parts.amounts import Units
from dashboard.parts.drawing import drawing
from dashboard.parts.messages import section
from dashboard.parts.options_markup import markup
from dashboard.parts.taking import table_links
from dashboard.tables import Cell, Maker, Table
from twin.study.promises_told import HEADS, MOST, beyond, cells, notes, ranked, verdict

WORDS = (0, 1, 3, 4, 7)
Plain = Mapping[str, Any]


def orders_section(answer: Plain, units: Units) -> list[Component]:
    """Return the section of the order book, or nothing where there is none."""
    book = answer.get("orders")
    if not book:
        return []
    rows, runs = ranked(book), book["runs"]
    inner: list[Component] = []
    if rows:
        table = [cells(row, runs, units.per_tonne, units.mass) for row in rows[:MOST]]
        heads = [f"{units.mass} late" if head == "mass late" else head for head in HEADS]
        inner.append(drawing(markup(heads, table, said=WORDS, folds=True), id="orders"))
    more = beyond(rows[MOST:], runs)
    inner += [html.P(more, className="note")] if more else []
    items = html.Ul([html.Li(sentence) for sentence in notes(book)], className="assumed")
    said = verdict(book, units.per_tonne, units.mass)
    return [section("Orders", said, [*inner, items], [table_links(answer["key"], "orders", "Orders", units)])]


def orders_table(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return the whole order book, in the order of the file."""
    mass = units.mass.replace(" ", "_")
    heads = (
        *("order", "product", "quantity", "unit", f"mass_{mass}", "due", "state"),
        *("on_time", "on_time_low", "on_time_high", "days_late", "days_late_low", "days_late_high"),
        *(f"late_{mass}", f"late_low_{mass}", f"late_high_{mass}"),
        *("filled_1_in_10", "filled_half", "filled_9_in_10", "filled_in_runs"),
    )
    rows = [_row(row, units) for row in (answer.get("orders") or {"rows": []})["rows"]]
    return Table("orders", heads, rows)


def _row(row: Plain, units: Units) -> list[Cell]:
    """Return one order as cells."""
    ends = ("mean", "low", "high")
    late, mass = row["days_late"] or {}, row["late_mass"] or {}
    return [
        *(row[key] for key in ("order", "product", "quantity", "unit")),
        row["mass"] * units.per_tonne,
        *(row[key] for key in ("due", "state")),
        *((row["on_time"] or {}).get(end) for end in ends),
        *(late.get(key) for key in ("median", "low", "high")),
        *(None if mass.get(end) is None else mass[end] * units.per_tonne for end in ends),
        *(row["filled"].get(share) for share in ("0.1", "0.5", "0.9")),
        row["filled_within"],
    ]


ORDER_TABLES: dict[str, Maker] = {"orders": orders_table}
