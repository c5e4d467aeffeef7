"""The page of inputs: what the log tells of the numbers, beside what was assumed, and how it is accepted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import log
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.charts.drawn import DrawnRow, Scale, drawn_table
from dashboard.charts.fit_curve import FitCurve, fit_curve, fit_key
from dashboard.charts.plant import titled
from dashboard.charts.svg import tag, words
from dashboard.inputs_view import folded, take
from dashboard.parts.amounts import Units
from dashboard.parts.drawing import drawing
from dashboard.parts.messages import section
from twin.words import NOT_ASKED, plain, share

Plain = Mapping[str, Any]
HEADS = ("events", "measured", "assumed so far", "goodness", "inferred")
SAID = frozenset({"measured", "assumed so far"})
WIDEST = 3.0
"""The scale of measured against assumed ends here; what lies beyond stands at its end, its number in the table."""
LEAST_DRAWN = 3
OPEN_AT_FIRST = 3
MOST_AT_FIRST = 8
KG_PER_TONNE = 1000.0


def fit_parts(answer: Plain, units: Units) -> list[Component]:
    """Return what the log tells of the numbers; nothing before it was fitted."""
    found = answer["fits"]
    if not found or not found["causes"]:
        return []
    return [_beside(answer, units), *_curves(found["causes"]), *_figures(answer, units)]


def _row(one: Plain) -> DrawnRow:
    """Return a number as it is drawn: measured against assumed, today's 1 the pass line."""
    ratio = one["ratio"] or [None, None, None]
    mean, low, high = (None if value is None else min(value, WIDEST) for value in ratio)
    fits = NOT_ASKED if one["fits"] is None else plain(one["fits"], 2)
    cells = (plain(one["n"]), one["law_words"], one["assumed_words"], fits, share(min(1.0, one["inferred"])))
    ends = WIDEST if mean is not None and high is None else high
    note = "outside what was assumed" if one["differs"] else ""
    return DrawnRow(titled(one["title"]), cells, mean, low, ends, note)


def _beside(answer: Plain, units: Units) -> Component:
    causes = sorted(answer["fits"]["causes"], key=_far_off, reverse=True)
    first = max(MOST_AT_FIRST, sum(1 for one in causes if one["differs"]))
    note = (
        "Each number as the log has it, against what the file assumes: on the line they are the same. The bar is the "
        "95 % interval of the mean; those farthest off stand first. Goodness: the chance that values of the law lie as "
        "far off it as these do; a dash where there are too few to tell. Failures count by running time or by what was "
        "processed, never by the clock."
    )
    inner: list[Component] = [drawing(_table(causes[:first]), id="in-fits-drawn")]
    if causes[first:]:
        rest = drawing(_table(causes[first:]), id="in-fits-rest")
        inner.append(folded(f"{len(causes) - first} more, none outside what was assumed", rest))
    notes = answer["fits"]["notes"]
    if notes:
        inner.append(html.Ul([html.Li(_ended(one)) for one in notes], className="assumed in-notes"))
    return section("Measured beside assumed", note, inner, take(answer, units, "fits"))


def _far_off(one: Plain) -> tuple[bool, float]:
    """Return by what the numbers are put in order: those outside what was assumed first, then by how far off."""
    ratio = one["ratio"][0] if one["ratio"] else 1.0
    return bool(one["differs"]), abs(log(ratio)) if ratio > 0.0 else 0.0


def _table(causes: Sequence[Plain]) -> str:
    """Return numbers as a drawn table: measured against assumed."""
    scale = Scale(0.0, WIDEST, 1.0, "measured against assumed")
    rows = [_row(one) for one in causes]
    return drawn_table(rows, heads=HEADS, scale=scale, first="number", said=SAID, name="Measured beside assumed")


def _ended(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith(".") else ".")


def _curves(causes: Sequence[Plain]) -> list[Component]:
    """Return the laws drawn over the data, those with the most events first; the rest folded."""
    drawn = [one for one in causes if one["curve"] and one["n"] >= LEAST_DRAWN]
    drawn.sort(key=lambda one: -int(one["n"]))
    if not drawn:
        return []
    note = "How much of what was recorded was not longer than so long; the fitted law goes through it or it does not."
    made = [_curve(place, one) for place, one in enumerate(drawn)]
    inner: list[Component] = [html.Div(made[:OPEN_AT_FIRST], className="in-curves"), drawing(fit_key())]
    if made[OPEN_AT_FIRST:]:
        rest = html.Div(made[OPEN_AT_FIRST:], className="in-curves")
        inner.append(folded(f"{len(made) - OPEN_AT_FIRST} more", rest))
    return [section("The laws over the data", note, inner)]


def _curve(place: int, one: Plain) -> Component:
    size = one["size"]

    def scaled(values: Sequence[float]) -> list[float]:
        return [value / size for value in values]

    fit = FitCurve(
        f"{titled(one['title'])}, {one['shown_unit']}",
        one["shown_unit"],
        scaled(one["seen"]),
        (scaled(one["curve"][0]), one["curve"][1]),
        (scaled(one["assumed_curve"][0]), one["assumed_curve"][1]),
        scaled(one["cut_short"]),
    )
    said = f"{plain(one['n'])} recorded; {one['law']}"
    return html.Figure(
        [
            html.Figcaption([html.Strong(titled(one["title"])), html.Span(said)]),
            drawing(fit_curve(fit), id=f"in-fit-{place}"),
        ],
        className="in-figure",
    )


def _figures(answer: Plain, units: Units) -> list[Component]:
    """Return rates and yields of the plant beside the twin's, which no single number of the file tells."""
    found = answer["fits"]["beside"]
    if not found:
        return []
    note = (
        "Rates and yields come out of many numbers at once. Where the plant lies outside what the model makes in as "
        "many days, a number of that station is wrong."
    )
    outside, within = ([one for one in found if bool(one["differs"]) is is_so] for is_so in (True, False))
    inner = [_figures_table(outside, units)] if outside else []
    inner += [folded(f"{len(within)} of {len(found)} lie within it", _figures_table(within, units))] if within else []
    return [section("Rates and yields beside the model", note, inner)]


def _figures_table(found: Sequence[Plain], units: Units) -> Component:
    """Return rates and yields of the plant beside those of the model."""
    rows = []
    for one in found:
        rate = one["unit"] == "t/h"
        scale, places = (units.per_tonne, 2) if rate else (100.0, 1)
        unit = f"{units.mass}/h" if rate else "%"
        values = (one["measured"], one["twin"], one["low"], one["high"])
        measured, twin, low, high = (plain(scale * value, places) for value in values)
        rows.append(
            html.Tr(
                [
                    html.Th(f"{titled(one['station'])}, {one['what']}", scope="row"),
                    html.Td(f"{measured} {unit}", className="pl-number"),
                    html.Td(f"{twin} ({low} to {high}) {unit}", className="pl-number"),
                    html.Td("lies outside" if one["differs"] else "", className="in-source"),
                ]
            )
        )
    heads = (("figure", None), ("in the log", "pl-number"), ("the model of this file", "pl-number"))
    columns = [html.Th(said, scope="col", className=class_) for said, class_ in heads]
    columns.append(html.Th(html.Span("where it lies", className="unseen"), scope="col"))
    head = html.Thead(html.Tr(columns))
    return html.Table([head, html.Tbody(rows)], className="pl-table in-values")


def accept_part() -> html.Section:
    """Return where measured numbers are taken into a new scenario file."""
    name = dcc.Input(id="in-accept-name", type="text", value="", maxLength=60)
    inner: list[Component] = [
        html.Div(id="in-accept-list"),
        html.Div(
            [
                html.Label([html.Span("Save as"), name], className="in-field"),
                html.Button("Write a new scenario", id="in-accept", className="filled", type="button", n_clicks=0),
            ],
            className="in-change",
        ),
        html.Div(id="in-accepted", role="status"),
        dcc.Store(id="in-accept-paths"),
        dcc.Store(id="in-accept-key"),
        dcc.Interval(id="in-accept-news", interval=400, disabled=True),
    ]
    note = (
        "The numbers ticked go into a new file with their law, their count and the dates behind them; beside it a "
        "second file keeps how far off each may be. The old file stays as it is."
    )
    return section("Take what was measured", note, inner)


def ticks(found: Plain | None) -> tuple[Component | None, list[str]]:
    """Return the numbers that can be taken, each to be ticked, and those ticked at first: all that was recorded."""
    causes = found["causes"] if found else []
    if not causes:
        return None, []
    ticked = [one["path"] for one in causes if one["n"]]
    boxes = "".join(_tick(one, one["path"] in ticked) for one in causes)
    legend = tag("legend", "Numbers to take", class_="unseen")
    listed = drawing(tag("fieldset", legend, boxes, class_="in-checks"))
    return folded(f"{len(causes)} numbers, {len(ticked)} of them ticked at first", listed), ticked


def _tick(one: Plain, ticked: bool) -> str:
    said = f"{titled(one['title'])}: {one['assumed_words']} → {one['law_words']}"
    field = tag("input", type="checkbox", data_take=one["path"], checked="checked" if ticked else None)
    return tag("label", field, tag("span", words(said)))
