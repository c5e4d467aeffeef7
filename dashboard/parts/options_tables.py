"""The tables of a comparison to take away: numbers as numbers, each head with its unit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboard.parts.amounts import Units
from dashboard.parts.options_markup import price
from dashboard.tables import Cell, Maker, Table
from twin.study.advice import title

Plain = Mapping[str, Any]


def three(found: Plain | None, scale: float = 1.0) -> list[Cell]:
    """Return mean and the two ends of an interval, blank where there is none."""
    if found is None:
        return [None, None, None]
    return [None if found[end] is None else scale * found[end] for end in ("mean", "low", "high")]


def options_table(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return today and the ways to change it."""
    mass, per = f"{units.mass.replace(' ', '_')}_per_week", units.per_tonne
    money = f"k{answer['results']['currency'] or ''}"
    heads = ["change"]
    for name in (
        f"good_{mass}",
        f"change_{mass}",
        "lead_time_h",
        f"contribution_{money}_per_week",
        f"value_{money}",
        "payback_years",
    ):
        heads += [name, f"{name}_low", f"{name}_high"]
    heads += [
        "crews",
        f"capital_{money}",
        f"running_{money}_per_year",
        "chance_of_payback",
        "chance_of_being_best",
        "limits",
    ]
    rows: list[list[Cell]] = []
    for row in answer["results"]["rows"]:
        cells: list[Cell] = [title(row["options"]), *three(row["good"], per), *three(row["change"], per)]
        for key in ("lead_time", "contribution", "npv", "payback"):
            cells += three(row[key])
        cells += [
            row["crews"]["change"],
            *(None if row[key] is None else row[key]["mean"] for key in ("capex", "yearly")),
        ]
        limits = ", ".join(f"{name} {chance:.2f}" for name, chance in row["limits"].items())
        rows.append([*cells, row["p_pays_back"], row["p_best"], limits])
    return Table("options", tuple(heads), rows)


def odds_table(answer: Plain, _week: Plain, _units: Units) -> Table:
    """Return the chances of having the money back, by years from the order."""
    rows = [row for row in answer["results"]["rows"] if row["odds"] is not None]
    years = rows[0]["odds"]["years"] if rows else []
    cells: list[list[Cell]] = [[at, *(row["odds"]["chance"][i] for row in rows)] for i, at in enumerate(years)]
    return Table("odds", ("years_from_order", *(title(row["options"]) for row in rows)), cells)


def added_cells(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return what each product adds, row by row."""
    mass, per = f"{units.mass.replace(' ', '_')}_per_week", units.per_tonne
    rows: list[list[Cell]] = [
        [title(row["options"]), name, *three(product["change"], per), product.get("price")]
        for row in answer["results"]["rows"][1:]
        for name, product in row["products"].items()
    ]
    return Table("added", ("change", "product", f"added_{mass}", "low", "high", "contribution_per_t"), rows)


def hours_cells(answer: Plain, _week: Plain, _units: Units) -> Table:
    """Return the hours of each station in a mean week, row by row."""
    states = ("running", "setup", "changing_rolls", "down", "waiting", "starved", "blocked", "closed")
    rows: list[list[Cell]] = [
        [title(row["options"]), name, own["machines"], *(168.0 * own["share"][state] for state in states)]
        for row in answer["results"]["rows"]
        for name, own in row["stations"].items()
    ]
    return Table("hours", ("change", "station", "machines", *(f"{state}_h" for state in states)), rows)


def place_cells(answer: Plain, _week: Plain, _units: Units) -> Table:
    """Return crews and coils, row by row."""
    rows: list[list[Cell]] = []
    for row in answer["results"]["rows"]:
        name = title(row["options"])
        rows += [[name, "more crews", place, more, None] for place, more in row["crews"]["by"].items()]
        rows += [
            [name, "coils", store, own["level"]["mean"], own["peak"]["mean"]] for store, own in row["stores"].items()
        ]
    return Table("place", ("change", "what", "where", "mean", "most"), rows)


def moves_cells(answer: Plain, _week: Plain, units: Units) -> Table:
    """Return the cheaper moves that were tried."""
    mass, per = f"{units.mass.replace(' ', '_')}_per_week", units.per_tonne
    found = answer["results"].get("ladder")
    rows: list[list[Cell]] = [
        [
            " + ".join(one["moves"]),
            ", ".join(one["on"]),
            *three(one["change"], per),
            None if not one["priced"] else price(one),
        ]
        for one in (found["rungs"] if found else ())
    ]
    return Table("moves", ("moves", "at", f"change_{mass}", "low", "high", "cost_per_t"), rows)


MAKERS: dict[str, Maker] = {
    "options": options_table,
    "odds": odds_table,
    "added": added_cells,
    "hours-of-options": hours_cells,
    "place": place_cells,
    "moves": moves_cells,
}
