"""The tables of the Line page to take away: numbers as numbers, each head with its unit."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from dashboard.parts.amounts import HOURS_A_WEEK, Units
from dashboard.parts.line_numbers import STATES, changes_of, days_of
from dashboard.parts.week import rows_of, shown_unit, start_of
from dashboard.tables import Cell, Maker, Table

Answer = Mapping[str, Any]
Kept = Mapping[str, Any]


def three(found: Mapping[str, Any], scale: float = 1.0) -> list[Cell]:
    """Return mean and the two ends of the interval."""
    return [None if found[key] is None else found[key] * scale for key in ("mean", "low", "high")]


def days_table(answer: Answer, week: Kept, units: Units) -> Table:
    """Return the good mass of each day of the shown week beside what is expected."""
    heads = (
        "day",
        *(f"{name}_{units.mass.replace(' ', '_')}" for name in ("good", "expected", "low_1_in_10", "high_1_in_10")),
    )
    rows = [
        [
            row.name,
            *(None if value is None else value * units.per_tonne for value in (row.good, row.mean, row.low, row.high)),
        ]
        for row in days_of(answer, week)
    ]
    return Table("days", heads, rows)


def states_table(answer: Answer, week: Kept, units: Units) -> Table:
    """Return the states of the shown week, row by row, in local time."""
    begin, zone = start_of(week).timestamp(), ZoneInfo(week["zone"])

    def local(at: float) -> str:
        return datetime.fromtimestamp(begin + at, zone).isoformat(timespec="seconds")

    rows = [
        [row["station"], row["machine"], row["state"], row["reason"], "yes" if row["slowed"] else "no",
         local(max(0.0, row["start_s"])), local(min(week["length_s"], row["end_s"]))]
        for row in rows_of(week["tables"]["states"])
    ]  # fmt: skip
    return Table("week", ("station", "machine", "state", "reason", "slowed", "start", "end"), rows)


def limits_table(answer: Answer, week: Kept, units: Units) -> Table:
    """Return for how much of the time each station limits the line."""
    rows = [[name, *three(found["share"])] for name, found in answer["results"]["bottleneck"].items()]
    return Table("limits", ("station", "share", "low", "high"), rows)


def stores_table(answer: Answer, week: Kept, units: Units) -> Table:
    """Return the level of each store along the shown week, in local time."""
    begin, zone = start_of(week).timestamp(), ZoneInfo(week["zone"])
    shown = {row["name"]: shown_unit(row["holds"], units) for row in answer["line"]["stores"]}
    rows: list[list[Cell]] = []
    for row in rows_of(week["tables"]["levels"]):
        if 0.0 <= row["time_s"] <= week["length_s"]:
            unit, per = shown[row["store"]]
            when = datetime.fromtimestamp(begin + row["time_s"], zone).isoformat(timespec="seconds")
            rows.append([row["store"], when, row["level"] * per, row["ready"] * per, unit])
    return Table("stores", ("store", "time", "level", "ready", "unit"), rows)


def rolls_table(answer: Answer, week: Kept, units: Units) -> Table:
    """Return the roll changes of the shown week."""
    heads = ("when", "mill", "sets", f"run_{units.distance}", "why", "took_min", "waited_for_set_min")
    rows: list[list[Cell]] = [
        [row.when, row.mill, row.sets, row.run_km * units.per_km, row.why, row.took_s / 60.0, row.waited_s / 60.0]
        for row in changes_of(week)
    ]
    return Table("rolls", heads, rows)


def hours_table(answer: Answer, week: Kept, units: Units) -> Table:
    """Return the hours of a mean week that each station spends in each state, with intervals."""
    heads = ("station", "machines", *(f"{state}_h{end}" for state in STATES for end in ("", "_low", "_high")))
    rows = [
        [name, found["machines"], *(cell for state in STATES for cell in three(found["share"][state], HOURS_A_WEEK))]
        for name, found in answer["results"]["stations"].items()
    ]
    return Table("hours", heads, rows)


def products_table(answer: Answer, week: Kept, units: Units) -> Table:
    """Return the good mass of each product a week, with its interval."""
    unit = f"{units.mass.replace(' ', '_')}_per_week"
    scale = HOURS_A_WEEK * units.per_tonne
    rows = [[name, *three(found["good"], scale)] for name, found in answer["results"]["products"].items()]
    return Table("products", ("product", f"good_{unit}", "low", "high"), rows)


MAKERS: dict[str, Maker] = {
    "days": days_table,
    "week": states_table,
    "limits": limits_table,
    "stores": stores_table,
    "rolls": rolls_table,
    "hours": hours_table,
    "products": products_table,
}
