"""Plain tables of a comparison as markup, for the page and the report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dashboard.charts.plant import titled
from dashboard.charts.svg import tag, words
from dashboard.parts.amounts import Units
from twin.study.advice import option_words, title
from twin.words import NOT_ASKED, indicator, plain, share

Plain = Mapping[str, Any]
MOST_MOVES = 12
KINDS = {"coil": "Coil and rings", "sheet": "Sheet"}


def markup(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    said: Sequence[int] = (0,),
    last: bool = False,
    folds: bool = False,
) -> str:
    """Return a table: columns in `said` hold words, the others numbers; `last` sets the last row apart.

    One that `folds` has too many columns for a phone: each row becomes a block of values under their heads.
    """
    head = "".join(
        tag("th", words(one), scope="col", class_=None if i in said else "pl-number") for i, one in enumerate(heads)
    )
    body = ""
    for place, row in enumerate(rows):
        first = tag("th", words(row[0]), scope="row")
        cells = "".join(
            tag("td", words(cell), class_=None if i in said else "pl-number", data_label=heads[i])
            for i, cell in enumerate(row)
            if i
        )
        body += tag("tr", first, cells, class_="pl-sum" if last and place == len(rows) - 1 else None)
    return tag(
        "table", tag("thead", tag("tr", head)), tag("tbody", body), class_="pl-table pl-folds" if folds else "pl-table"
    )


def groups(row: Plain) -> list[tuple[str, Plain]]:
    """Return the change by product; what is sold as coil or sheet at one price is put together."""
    found: dict[tuple[str, Any], list[Plain]] = {}
    for name, product in row["products"].items():
        kind = product["sold"]
        found.setdefault((KINDS.get(kind, titled(name)), product.get("price")), []).append(product)
    names = [name for name, _ in found]
    rows: list[tuple[str, Plain]] = []
    for (name, each), parts in found.items():
        shown = name if names.count(name) == 1 or each is None else f"{name} at {plain(each)}"
        mean = sum(part["change"]["mean"] for part in parts)
        rows.append((shown, {"mean": mean, "price": each}))
    return rows


def added_table(row: Plain, units: Units, currency: str | None) -> str:
    """Return what the added tonnes are and what they earn."""
    per = units.per_tonne
    heads = ["product", f"added {units.mass}/week"]
    heads += [f"{currency}/{units.mass}", f"k{currency}/week"] if currency else []
    rows = []
    for name, part in groups(row):
        cells = [name, plain(per * part["mean"], 1, sign=True)]
        if currency:
            each = part["price"]
            worth = (
                [NOT_ASKED, NOT_ASKED]
                if each is None
                else [plain(each / per), plain(part["mean"] * each / 1000.0, 1, sign=True)]
            )
            cells += worth
        rows.append(cells)
    total = ["All", indicator(row["change"], "", scale=per, sign=True)]
    if currency:
        earned = sum(part["mean"] * (part["price"] or 0.0) for _, part in groups(row)) / 1000.0
        total += ["", plain(earned, 1, sign=True)]
    return markup(heads, [*rows, total], last=True)


def place_table(rows: Sequence[Plain]) -> str:
    """Return crews, cranes and coils of each row, today first."""
    first = rows[0]
    stores, cranes = list(first["stores"]), list(first["shared"])
    heads = ["change", "crews", *(f"{name} in use" for name in cranes), *(f"coils in {name}" for name in stores)]
    cells = []
    for row in rows:
        crews = ", ".join(
            f"{plain(more, 1 if more % 1 else 0, sign=True)} {name}" for name, more in row["crews"]["by"].items()
        )
        busy = [_share(row["shared"].get(name)) for name in cranes]
        cells.append(
            [title(row["options"]), crews or NOT_ASKED, *busy, *(_coils(row["stores"].get(name)) for name in stores)]
        )
    return markup(heads, cells, said=(0, 1), folds=True)


def _share(found: Plain | None) -> str:
    """Return how much of the time a crane is busy."""
    return NOT_ASKED if not found else share(found["in_use"]["mean"] / found["count"])


def _coils(store: Plain | None) -> str:
    """Return mean and most coils of a store, and how many it holds."""
    if not store or store["level"]["mean"] is None:
        return NOT_ASKED
    room = "" if store["capacity"] is None else f" of {plain(store['capacity'])}"
    return f"{plain(store['level']['mean'])}, most {plain(store['peak']['mean'])}{room}"


def rungs(found: Plain, most: int = MOST_MOVES) -> list[Plain]:
    """Return the moves that add something measurable, the cheapest tonne first, those without a price last."""
    useful = [one for one in found["rungs"] if one["adds"]]
    return sorted(useful, key=lambda one: (not one["priced"], price(one), -one["change"]["mean"]))[:most]


def price(rung: Plain) -> float:
    """Return what a tonne more costs, none counting as the dearest."""
    found = rung["per_tonne"]["mean"] if rung["per_tonne"] else None
    return float("inf") if found is None else float(found)


def ladder_table(found: Plain, units: Units, most: int = MOST_MOVES) -> str:
    """Return the cheaper moves with what a tonne more costs; nothing where none adds anything."""
    per, rows = units.per_tonne, []
    for one in rungs(found, most):
        cost = (
            f"{plain(price(one) / per)} {one['per_tonne']['unit'].split('/')[0]}/{units.mass}"
            if one["priced"]
            else "not given"
        )
        where = ", ".join(dict.fromkeys(one["on"]))
        rows.append(
            [
                " + ".join(map(option_words, one["moves"])),
                where,
                indicator(one["change"], "", scale=per, sign=True),
                cost,
            ]
        )
    heads = ["move", "at", f"change {units.mass}/week", f"a {units.mass} more costs"]
    return markup(heads, rows, said=(0, 1), folds=True) if rows else ""
