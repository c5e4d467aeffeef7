"""The tables of a day to take away: numbers as numbers, each head with its unit, times in the plant's own zone."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from dashboard.parts.amounts import Units
from dashboard.tables import Cell, Maker, Table
from dashboard.yesterday_words import event_words

Plain = Mapping[str, Any]
SHARES = (5, 25, 50, 75, 95)


def _mass(units: Units) -> str:
    return units.mass.replace(" ", "_")


def _time(found: Plain, moment: float) -> str:
    return datetime.fromtimestamp(moment, ZoneInfo(found["zone"])).isoformat(timespec="seconds")


def _scaled(value: float | None, units: Units) -> float | None:
    return None if value is None else value * units.per_tonne


def causes(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return the ladder with all its rungs: it adds up from expected to actual."""
    found, mass = answer["review"], _mass(units)
    heads = ("cause", "kind", "station", mass, "lowest_order", "highest_order", "low", "high", "place_is_sure")
    rows: list[list[Cell]] = [["expected", "", "", found["expected"]["mean_t"] * units.per_tonne, *[None] * 7]]
    booking = [found["booking"]] if found["booking"] else []
    for one in (*found["ladder"], *booking):
        values = (one[name] * units.per_tonne for name in ("t", "low", "high", "sample_low", "sample_high"))
        rows.append(
            [one["cause"], one["kind"], one["station"], *values, one["sure"], one["minutes"], one["record"]],
        )
    rows.append(["unexplained", "", "", found["unexplained_t"] * units.per_tonne, *[None] * 7])
    rows.append(["actual", "", "", found["actual_t"] * units.per_tonne, *[None] * 7])
    return Table("causes", (*heads, "minutes", "record"), rows)


def events(answer: Plain, _week: Plain, _units: Units) -> Table:
    """Return all that was recorded of the day."""
    found = answer["review"]
    rows: list[list[Cell]] = [
        [
            one["number"],
            one["kind"],
            one["station"],
            one["machine"],
            one["reason"],
            _time(found, one["start_s"]),
            _time(found, one["end_s"]),
            (one["end_s"] - one["start_s"]) / 60.0,
            one["file"],
            " ".join(map(str, one["lines"])),
            "yes" if one["inferred"] else "no",
        ]
        for one in found["events"]
    ]
    heads = ("event", "kind", "station", "machine", "reason", "start", "end", "minutes", "file", "lines", "inferred")
    return Table("events", heads, rows)


def curve(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return the good output through the day with its fan."""
    found, fan = answer["review"], answer["review"]["fan"]
    mass = _mass(units)
    rows: list[list[Cell]] = []
    for i, moment in enumerate(fan["time_s"]):
        replay = fan["replay_t"][i] if fan["replay_t"] else None  # there is none at first sight
        values = [fan["actual_t"][i], replay, *(row[i] for row in fan["quantiles_t"])]
        rows.append([_time(found, moment), *(_scaled(value, units) for value in values)])
    heads = ("time", f"actual_{mass}", f"replay_{mass}", *(f"{share}_days_in_100_below_{mass}" for share in SHARES))
    return Table("day-curve", heads, rows)


def states(answer: Plain, _week: Plain, _units: Units) -> Table:
    """Return what each machine did, as recorded and on the model's typical day."""
    found = answer["review"]
    rows: list[list[Cell]] = [
        [
            day,
            one["station"],
            one["machine"],
            spell["state"],
            spell["reason"],
            _time(found, spell["start_s"]),
            _time(found, spell["end_s"]),
        ]
        for day, strips in (("recorded", found["recorded"]), ("model", found["typical"]))
        for one in strips
        for spell in one["spells"]
    ]
    return Table("day-states", ("day", "station", "machine", "state", "reason", "start", "end"), rows)


def suspects(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return the records that look wrong."""
    rows: list[list[Cell]] = [
        [
            one["file"],
            " ".join(map(str, one["rows"])),
            one["station"],
            one["kind"],
            one["what"],
            _scaled(one["effect_t"], units),
            one["way_out"],
        ]
        for one in answer["review"]["suspect"]
    ]
    heads = ("file", "lines", "station", "kind", "what", f"effect_{_mass(units)}", "way_out")
    return Table("suspects", heads, rows)


def what_if(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return the day without some of its events."""
    found = answer["review"]
    rows: list[list[Cell]] = [
        [
            "; ".join(event_words(found["events"][number], found["zone"]) for number in one["events"]),
            *(_scaled(one[name], units) for name in ("made_t", "change_t", "low_t", "high_t")),
        ]
        for one in answer["ifs"]
    ]
    mass = _mass(units)
    return Table("what-if", ("without", f"good_{mass}", f"change_{mass}", "low", "high"), rows)


def last_days(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return the days before with their forecasts."""
    mass = _mass(units)
    names = ("actual_t", "mean_t", "low_t", "high_t")
    rows: list[list[Cell]] = [
        [one["day"], *(_scaled(one[name], units) for name in names), one["position"]] for one in answer["past"]
    ]
    heads = ("day", f"actual_{mass}", f"forecast_{mass}", f"one_day_in_20_below_{mass}", f"one_day_in_20_above_{mass}")
    return Table("last-days", (*heads, "position"), rows)


def forecasts(answer: Plain, _week: Plain, _units: Units) -> Table:
    """Return how many days ended inside their bands."""
    rows: list[list[Cell]] = [
        [one["name"], one["asked"], one["share"], one["low"], one["high"], one["days"]]
        for one in (answer["book"] or {"coverage": ()})["coverage"]
    ]
    return Table("forecasts", ("band", "asked", "inside", "low", "high", "days"), rows)


def next_shift(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return what the next shift finds."""
    found = answer["review"]
    own = found["hand_over"]
    rows: list[list[Cell]] = []
    for one in own["stores"]:
        metal = one["unit"] == "kg"
        scale = units.per_tonne / 1000.0 if metal else 1.0
        room = None if one["capacity"] is None else one["capacity"] * scale
        unit = units.mass if metal else one["unit"]
        told = "recorded" if one["recorded"] else "modelled"
        rows.append(["store", one["store"], one["amount"] * scale, unit, room, told])
    for one in own["rolls"]:
        km, limit = ((None if one[name] is None else one[name] * units.per_km) for name in ("km", "limit_km"))
        rows.append(["rolls", one["station"], km, units.distance, limit, ""])
    for name, number, reason, since in own["standing"]:
        rows.append(["stands", f"{name} {number}", None, "", None, f"{reason} since {_time(found, since)}"])
    return Table("hand-over", ("what", "where", "amount", "unit", "room_or_limit", "told"), rows)


MAKERS: dict[str, Maker] = {
    "causes": causes,
    "events": events,
    "day-curve": curve,
    "day-states": states,
    "suspects": suspects,
    "what-if": what_if,
    "last-days": last_days,
    "forecasts": forecasts,
    "hand-over": next_shift,
}
