"""The tables of the page of inputs to take away: numbers, findings, what is known of each station."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboard.parts.amounts import Units
from dashboard.tables import Cell, Maker, Table

Plain = Mapping[str, Any]
HOUR_S = 3600.0


def _unit(units: Units) -> str:
    return units.mass.replace(" ", "_")


def numbers_table(answer: Plain, _week: Plain, _units: Units) -> Table:
    """Return every number with its path, its text and where it is from."""
    heads = ("path", "group", "number", "value", "from", "note", "line")
    rows = [
        [one[name] for name in ("path", "group", "label", "text", "source", "note", "line")]
        for one in answer["numbers"]
    ]
    return Table("numbers", heads, rows)


def findings_table(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return what was wrong in the log."""
    heads = ("kind", "table", "station", "file", "lines", "rows", "done", f"effect_{_unit(units)}", "words", "way_out")
    rows: list[list[Cell]] = [
        [
            *(one[name] for name in ("kind", "table", "station", "file")),
            " ".join(map(str, one["lines"])),
            one["count"],
            one["done"],
            None if one["effect_t"] is None else one["effect_t"] * units.per_tonne,
            one["words"],
            one["way_out"],
        ]
        for one in (answer["log"] or {}).get("findings", ())
    ]
    return Table("findings", heads, rows)


def known_table(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return what the log tells of each station."""
    mass, per = _unit(units), units.per_tonne
    heads = (
        "station",
        "worked_h",
        "stopped_h",
        "stops",
        "inferred_h",
        "no_record_h",
        f"good_{mass}",
        f"in_doubt_{mass}",
    )
    rows: list[list[Cell]] = [
        [
            one["station"],
            one["worked_s"] / HOUR_S,
            one["stopped_s"] / HOUR_S,
            one["stops"],
            one["guessed_s"] / HOUR_S,
            one["unrecorded_s"] / HOUR_S,
            one["good_t"] * per,
            one["doubted_t"] * per,
        ]
        for one in (answer["log"] or {}).get("stations", ())
    ]
    return Table("known", heads, rows)


def fits_table(answer: Plain, _week: Plain, _units: Units) -> Table:
    """Return what the log tells of each number, in SI units."""
    heads: tuple[str, ...] = (
        *(
            "path",
            "station",
            "reason",
            "what",
            "unit",
            "events",
            "exposure",
            "law",
            "parameters",
            "mean",
            "low",
            "high",
        ),
        *("assumed_mean", "differs", "goodness", "inferred_share", "method"),
    )
    rows: list[list[Cell]] = [
        [
            *(one[name] for name in ("path", "station", "reason", "what", "unit", "n", "exposure", "law")),
            ", ".join(f"{name} {own['mean']:.6g}" for name, own in one["parameters"].items()),
            *(one["mean"][end] for end in ("mean", "low", "high")),
            one["assumed"],
            "yes" if one["differs"] else "no",
            one["fits"],
            one["inferred"],
            one["method"],
        ]
        for one in (answer["fits"] or {}).get("causes", ())
    ]
    return Table("fits", heads, rows)


MAKERS: dict[str, Maker] = {
    "numbers": numbers_table,
    "findings": findings_table,
    "known": known_table,
    "fits": fits_table,
}
