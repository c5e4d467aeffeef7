"""The Line page below its verdict: the line, the week, days and stores, roll changes and hours, what was assumed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil
from typing import Any

import orjson
from dash import html
from dash.development.base_component import Component

from dashboard.ask import Ask
from dashboard.charts.changes import RollChange, roll_changes
from dashboard.charts.days import DayBar, day_bars
from dashboard.charts.drawn import DrawnRow, drawn_table, scale_for
from dashboard.charts.flow import flow_drawing
from dashboard.charts.hours import HoursRow, station_hours
from dashboard.charts.levels import store_levels
from dashboard.charts.plant import titled
from dashboard.charts.player import play_bar
from dashboard.charts.states import legend
from dashboard.charts.strips import rows_from, week_strips
from dashboard.charts.week import Week
from dashboard.doubt_view import doubt_section
from dashboard.parts.amounts import HOURS_A_WEEK, Units, tonnes_a_week
from dashboard.parts.drawing import drawing
from dashboard.parts.line_numbers import (
    DayRow,
    change_cells,
    changes_note,
    changes_of,
    days_of,
    hours_of,
    limit_shares,
)
from dashboard.parts.line_orders import orders_section
from dashboard.parts.marks import data, named
from dashboard.parts.messages import care_note, section
from dashboard.parts.taking import table_links
from dashboard.parts.week import ROLL_SHOP, packed_week, plant_of
from twin.words import number

SHORT_WEEK_H = 84.0
AT_S = 2 * 86_400.0 + 8 * 3600.0 + 40 * 60.0
MOLTEN = "Molten metal and water explode: dry and preheat what is charged, keep the heel and the skimming as they are. "
ROLLS = "A roll change is done isolated and locked; its planned minutes are a time to be safe in, not to beat. "
CARE = (
    "Nobody stands under a lifted coil or reaches into a nip, a knife or a strapped ring; local rules, the machine "
    "maker's manual and licensed people decide."
)
Answer = Mapping[str, Any]
Kept = Mapping[str, Any]


def take(answer: Answer, units: Units, *names: str) -> list[Component]:
    """Return the links that take a section's tables away."""
    return [table_links(answer["key"], name, titled(name), units) for name in names]


def line_drawings(answer: Answer, week: Kept, units: Units, ask: Ask | None = None) -> list[Component]:
    """Return all sections of the page, in order; their links keep what is asked."""
    plant = plant_of(answer, week, units)
    packed = packed_week(answer, week, units)
    at = min(AT_S, packed["length"] / 2)
    return [
        html.Div(id="week-data", hidden=True, **data("week", orjson.dumps(packed).decode())),
        html.Section(
            [
                drawing(flow_drawing(plant, packed, at), id="flow"),
                html.P(
                    "Full ring: a coil that may be taken. Open ring: still cooling. Dot: a free place. "
                    "The strip is drawn thinner as it gets thinner.",
                    className="note",
                ),
                drawing(play_bar(packed, at), id="player"),
            ],
            className="plain",
            **named("The line"),
        ),
        the_week(answer, packed, units, at),
        *orders_section(answer, units),
        *doubt_section(answer, units, ask=ask),
        html.Div([good_days(answer, week, units), stores(answer, packed, units)], className="two break-before"),
        html.Div([changes(answer, week, units), hours(answer, units)], className="two"),
        taken_for_granted(answer),
        care_note(care_of(answer)),
    ]


def care_of(answer: Answer) -> str:
    """Return the caution for what there is in the plant."""
    melts = any(row["kind"] in ("furnace", "caster") for row in answer["line"]["stations"])
    return f"{MOLTEN if melts else ''}{ROLLS if answer['results']['rolls'] else ''}{CARE}"


def the_week(answer: Answer, packed: Week, units: Units, at: float) -> Component:
    """Return the strips of the week with what limits."""
    rows = rows_from(packed, shares=limit_shares(answer))
    strips = week_strips(rows, packed, at_s=at)
    return section(
        "The week",
        "Each strip is one machine along time; a thin strip runs slowed. The heavy line under the strips shows what "
        "limits the whole line, hour by hour.",
        [drawing(strips, id="strips"), drawing(legend(), id="legend")],
        take(answer, units, "week", "limits"),
    )


def good_days(answer: Answer, week: Kept, units: Units) -> Component:
    """Return the good tonnes of each day of the shown week."""
    rows = [day_bar(row, units.per_tonne) for row in days_of(answer, week)]
    mean, low, high = (answer["working_day"][end] * units.per_tonne for end in ("mean", "low", "high"))
    note = (
        f"Bars: this week. Line: expected, {number(mean, unit=units.mass, places=0)} on a working day. "
        f"Pale: four such days in five, {number(low, places=0)} to {number(high, unit=units.mass, places=0)}."
    )
    title = f"Good {units.mass if units.name == 'us' else 'tonnes'} a day"
    bars = day_bars(rows, unit=units.mass, name=title)
    return section(title, note, [drawing(bars, id="days")], take(answer, units, "days", "products"))


def day_bar(row: DayRow, per: float) -> DayBar:
    """Return a day as it is drawn, in the unit of the page."""
    mean, low, high = (None if value is None else value * per for value in (row.mean, row.low, row.high))
    return DayBar(row.name, row.good * per, mean, low, high)


def stores(answer: Answer, packed: Week, units: Units) -> Component:
    """Return the level of the coil stores along the week."""
    coils = [row["name"] for row in answer["line"]["stores"] if row["holds"] == "coils" and row["capacity"]]
    names = coils or [row["name"] for row in packed["stores"]][:2]
    title = "Coils in the stores" if coils else "In the stores"
    return section(
        title, levels_note(names), [drawing(store_levels(packed, names), id="levels")], take(answer, units, "stores")
    )


def levels_note(names: Sequence[str]) -> str:
    """Return which line is which store."""
    dashes = ("Solid", "Dashed", "Dotted")
    said = [f"{dash}: {name}." for dash, name in zip(dashes, names, strict=False)]
    return " ".join([*said, "A level at its line means full."])


def changes(answer: Answer, week: Kept, units: Units) -> Component:
    """Return the roll changes of the week; a line without rolls shows its products in their place."""
    if not answer["results"]["rolls"]:
        return products(answer, units)
    limits = {row["name"]: row["change_after_km"] for row in answer["line"]["stations"]}
    rows = [
        RollChange(*change_cells(row, units), part=row.run_km / limits[row.mill] if limits[row.mill] else None)
        for row in changes_of(week)
    ]
    return section(
        "Roll changes this week",
        changes_note(answer),
        [drawing(roll_changes(rows), id="changes")],
        take(answer, units, "rolls"),
    )


def products(answer: Answer, units: Units) -> Component:
    """Return the good mass of each product in a mean week, with its interval."""
    rows = []
    for name, found in answer["results"]["products"].items():
        if found["good"]["mean"]:
            mean, low, high = weekly(found["good"], units)
            rows.append(DrawnRow(titled(name), (tonnes_a_week(found["good"], units),), mean, low or mean, high or mean))
    table = drawn_table(rows, heads=["good"], scale=scale_for(rows, unit=units.mass, zero=True), first="product")
    return section(
        "Products",
        f"Good {units.mass} in a mean week; the bar is the 95 % interval, its middle mark the mean.",
        [drawing(table, id="products")],
        take(answer, units, "products"),
    )


def weekly(found: Mapping[str, Any], units: Units) -> list[float | None]:
    """Return mean and ends of an indicator in t/h as mass a week."""
    scale = HOURS_A_WEEK * units.per_tonne
    return [None if found[end] is None else found[end] * scale for end in ("mean", "low", "high")]


def hours(answer: Answer, units: Units) -> Component:
    """Return the hours of each station in a mean week."""
    rows = [
        HoursRow(shown_name(row.station) + (f" × {row.machines}" if row.machines > 1 else ""), dict(row.hours))
        for row in hours_of(answer)
    ]
    runs = "one run" if answer["done"] == 1 else f"{answer['done']} runs"
    length = axis_h(answer)
    note = f"168 hours of a mean week, from {runs}; of several machines, the mean."
    if length < HOURS_A_WEEK:
        note += f" Nothing is open for more than the {length:.0f} hours drawn."
    drawn = drawing(station_hours(rows, length_h=length), id="hours")
    return section("Hours of each station", note, [drawn], take(answer, units, "hours"))


def axis_h(answer: Answer) -> float:
    """Return the hours that are drawn: the whole week, or whole days where every station is closed for most of it."""
    most = max((HOURS_A_WEEK - row.hours["closed"] for row in hours_of(answer)), default=HOURS_A_WEEK)
    return max(24.0, 24.0 * ceil(most / 24.0)) if most <= SHORT_WEEK_H else HOURS_A_WEEK


def shown_name(station: str) -> str:
    """Return a station as a heading; the roll shop needs no mill before its name."""
    return titled(ROLL_SHOP.strip()) if station.endswith(ROLL_SHOP) else titled(station)


def taken_for_granted(answer: Answer) -> Component:
    """Return what the answer assumed."""
    said = [*answer["assumed"], f"What limits is found by the {answer['results']['bottleneck_method']}."]
    items = html.Ul([html.Li(sentence) for sentence in said], className="assumed")
    return section(
        "What this assumed", "Open ring: taken for granted here; the scenario file can say otherwise.", [items]
    )
