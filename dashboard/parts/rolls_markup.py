"""Plain tables of the page Roll changes as markup."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dashboard.charts.svg import tag, words
from dashboard.parts.amounts import Units
from dashboard.parts.rolls_words import best, chance, clock, half_hour, moment, run, title, turned, window
from twin.words import NO_BREAK, NOT_ASKED, plain

Plain = Mapping[str, Any]
OPEN_END = "and beyond"


def folding(heads: Sequence[str], rows: Sequence[Sequence[str]], said: frozenset[str], name: str) -> str:
    """Return a table whose rows become blocks on a phone; columns in `said` hold words."""
    head = "".join(tag("th", words(one), scope="col", class_=None if one in said else "pl-number") for one in heads)
    body = ""
    for row in rows:
        cells = "".join(
            tag("td", words(cell), data_label=one, class_="pl-words" if one in said else None)
            for one, cell in zip(heads[1:], row[1:], strict=True)
        )
        body += tag("tr", tag("th", words(row[0]), scope="row"), cells)
    caption = tag("caption", words(name), class_="pl-hidden")
    made = caption + tag("thead", tag("tr", head)) + tag("tbody", body)
    return tag("table", made, class_="pl-table pl-drawn roll-plan" if "why" in heads else "pl-table pl-drawn")


def plan_table(results: Plain, units: Units) -> str:
    """Return the coming changes: window, prices, risk, who and what is needed, and why."""
    early, late = f"per ½{NO_BREAK}h early", f"per ½{NO_BREAK}h late"
    heads = ["change", "window", "best", early, late, "set has run", "damage before", "needs", "why"]
    rows = [[title(change), *_cells(results, change, units)] for change in results["changes"]]
    return folding(heads, rows, frozenset({"change", "window", "best", "needs", "why"}), "The coming changes")


def _cells(results: Plain, change: Plain, units: Units) -> list[str]:
    first = change["earliest"] <= change["prices"][0]["at"] if change["prices"] else True
    risks = dict.fromkeys(chance(change[name]) for name in ("risk", "risk_latest"))
    risk = " to ".join(risks) if results["life"]["law"] else NOT_ASKED
    return [
        window(results, change),
        best(results, change),
        NOT_ASKED if first else half_hour(change["early"], units),
        half_hour(change["late"], units),
        run(change["distance"], units),
        risk,
        _needs(results, change),
        turned(change["why"], units),
    ]


def _needs(results: Plain, change: Plain) -> str:
    """Return who and what a change needs: people, the set and when it is ready, when to heat it."""
    said = [*change["needs"]]
    if change["on"] is not None:
        ready = "ready" if change["ready"] is None else f"ready {clock(moment(results, change['ready']))}"
        said.append(f"set {change['on']} ({ready})")
    if change["heat_from"] is not None:
        said.append(f"heat it from {clock(moment(results, change['heat_from']))}")
    return ", ".join(said)


def facts_table(results: Plain, units: Units) -> str:
    """Return how rolls live, and what a change costs the mill."""
    rows = [*_life(results["life"], units), *_age(results["age"], results["limit"], units)]
    body = "".join(tag("tr", tag("th", words(name), scope="row"), tag("td", words(value))) for name, value in rows)
    caption = tag("caption", "How rolls fail here", class_="pl-hidden")
    return tag("table", caption, tag("tbody", body), class_="pl-table roll-facts")


def _life(life: Plain, units: Units) -> list[tuple[str, str]]:
    if not life["law"]:
        return [("Damage", f"not planned by: {life['unknown']}")]
    rows = []
    if life["shape"] is not None:
        grows = "yes" if life["shape"] > 1.0 else "no"
        rows.append(
            ("Damage gets likelier with distance", f"{grows}: {life['law'].capitalize()}, shape {life['shape']:.3g}")
        )
    else:
        rows.append(("Law of damage", life["law"].capitalize()))
    if life["scale"] is not None:
        rows.append(("Scale of the life", run(life["scale"], units)))
    if life["mean"] is not None:
        rows.append(("Mean life, if nobody changed before", run(life["mean"], units)))
    return rows


def _age(age: Plain | None, limit: float | None, units: Units) -> list[tuple[str, str]]:
    if age is None:
        return []
    rows = [
        ("Planned change, with a slower first coil and scrap", f"{plain(age['planned'])}{NO_BREAK}min of the mill"),
        ("Change after damage, likewise", f"{plain(age['damaged'])}{NO_BREAK}min of the mill"),
    ]
    if age["best"] is None:
        rows.append(("Cheapest distance for the mill alone", age["reason"]))
        return rows
    low, high = (None if end is None else run(end, units) for end in age["flat"])
    flat = f"{low or 'the beginning'} to {high}" if high else f"{low or 'the beginning'} {OPEN_END}"
    best = run(age["best"], units)
    rows.append(("Cheapest distance for the mill alone", f"{best}; within 5{NO_BREAK}% from {flat}"))
    if age["today"] is not None and limit is not None:
        each = age["today"] / units.per_km
        rows.append((f"Lost at today’s {run(limit, units)}", f"{plain(each, 2)}{NO_BREAK}min/{units.distance}"))
    return rows
