"""The tables of Roll changes to take away: numbers as numbers, times in local time, each head with its unit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboard.parts.amounts import Units
from dashboard.parts.options_tables import three
from dashboard.parts.rolls_words import moment, turned
from dashboard.tables import Cell, Maker, Table

Plain = Mapping[str, Any]
HOUR_S = 3600.0


def at(results: Plain, seconds: float | None) -> str | None:
    """Return a local time as ISO 8601 has it."""
    return None if seconds is None else moment(results, seconds).isoformat(timespec="minutes")


def mass_of(units: Units) -> str:
    """Return the unit of mass as part of a head."""
    return units.mass.replace(" ", "_")


def times(value: float | None, scale: float) -> float | None:
    """Return a number in another unit, nothing for nothing."""
    return None if value is None else value * scale


def changes_table(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return the coming changes."""
    found, mass = answer["results"], mass_of(units)
    heads = ["set_off", "set_on", "earliest", "best", "latest", f"half_hour_early_{mass}", f"half_hour_late_{mass}"]
    heads += [f"run_{units.distance}", "damage_before_best", "damage_before_latest", "set_ready", "heat_from"]
    rows: list[list[Cell]] = [
        [
            change["off"],
            change["on"],
            *(at(found, change[name]) for name in ("earliest", "best", "latest")),
            *(times(change[name], units.per_tonne) for name in ("early", "late")),
            change["distance"] * units.per_km,
            change["risk"],
            change["risk_latest"],
            at(found, change["ready"]),
            at(found, change["heat_from"]),
            ", ".join(change["needs"]),
            turned(change["why"], units),
        ]
        for change in found["changes"]
    ]
    return Table("roll changes", (*heads, "needs", "why"), rows)


def prices_table(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return what each change costs every quarter of an hour; a time that is not allowed has no price."""
    found = answer["results"]
    heads = ("change", "set_off", "set_on", "time", f"lost_{mass_of(units)}", "lost_min_of_mill", "damage_before")
    rows: list[list[Cell]] = [
        [place, change["off"], change["on"], at(found, price["at"]), times(price["tonnes"], units.per_tonne)]
        + [price["minutes"], price["risk"]]
        for place, change in enumerate(found["changes"], 1)
        for price in change["prices"]
    ]
    return Table("prices", heads, rows)


def sets_table(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return where each set is now."""
    found = answer["results"]
    rows: list[list[Cell]] = [
        [
            one["number"],
            one["place"],
            at(found, one["since"]),
            at(found, one["until"]),
            times(one["diameter"], 1000.0 * units.per_mm),
            "yes" if one["damaged"] else "no",
        ]
        for one in found["sets"]
    ]
    return Table("sets", ("set", "place", "since", "until", f"diameter_{units.thickness}", "damaged"), rows)


def stays_table(answer: Plain, _week: Plain, _units: Units) -> Table:
    """Return where each set was and will be."""
    found = answer["results"]
    rows: list[list[Cell]] = [
        [stay["number"], stay["place"], at(found, stay["start"]), at(found, stay["end"])]
        + [(stay["end"] - stay["start"]) / HOUR_S, "planned" if stay["start"] >= 0.0 else "happened"]
        for stay in found["stays"]
    ]
    return Table("sets along time", ("set", "place", "start", "end", "hours", "how"), rows)


def of_line(row: Plain, units: Units) -> list[Cell]:
    """Return what a distance and a rule have in common."""
    per = units.per_tonne
    counts = [row[name]["mean"] for name in ("changes", "damages", "waits")]
    return [
        *three(row["good"], per),
        *three(row["change"], per),
        *counts,
        None if row["grinding"] is None else row["grinding"]["mean"],
    ]


def heads_of_line(units: Units) -> tuple[str, ...]:
    """Return the heads of what a distance and a rule have in common."""
    mass = f"{mass_of(units)}_per_week"
    made: list[str] = []
    for name in (f"good_{mass}", f"change_{mass}"):
        made += [name, f"{name}_low", f"{name}_high"]
    return (*made, "changes_per_week", "damaged_per_week", "waits_for_set_h_per_week", "roll_shop_at_work")


def distances_table(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return the whole line against the distance a set runs."""
    sweep = answer["results"]["sweep"]
    heads = (f"distance_{units.distance}", *heads_of_line(units), f"scrap_{mass_of(units)}_per_week", "sets_ready")
    rows: list[list[Cell]] = [
        [
            times(point["distance"], units.per_km),
            *of_line(point, units),
            point["scrap"]["mean"] * units.per_tonne,
            point["ready"],
        ]
        for point in (sweep["points"] if sweep else ())
    ]
    return Table("distances", heads, rows)


def rules_table(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return the whole line under each rule."""
    rows: list[list[Cell]] = [
        [turned(rule["name"], units), *of_line(rule, units)] for rule in answer["results"]["rules"]
    ]
    return Table("rules", ("rule", *heads_of_line(units)), rows)


MAKERS: dict[str, Maker] = {
    "roll-changes": changes_table,
    "roll-prices": prices_table,
    "roll-sets": sets_table,
    "roll-stays": stays_table,
    "roll-distances": distances_table,
    "roll-rules": rules_table,
}
