"""Parts of a comparison in words: where it stops being true, and what it rests on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from twin.words import NO_BREAK, number, plain

Plain = Mapping[str, Any]
RATHER_LARGE = 10.0


def amount(value: float, unit: str) -> str:
    """Write a number of a threshold: whole where it is large."""
    places = 0 if abs(value) >= RATHER_LARGE else 1
    return f"{plain(value, places)}{NO_BREAK}{unit}"


def threshold_words(one: Plain, scale: float = 1.0, unit: str | None = None) -> tuple[str, str]:
    """Return the condition in bold and its consequence: where a change stops paying, or would begin to.

    `scale` and `unit` turn tonnes into another unit.
    """
    gate = amount(scale * one["gate"], unit or one["unit"])
    if one["kind"] == "input":
        side = "Under" if one["stops"] == "below" else "Above"
        return f"{one['what'][:1].upper()}{one['what'][1:]}.", f"{side} {gate}: {one['rival']} is worth more."
    pays = (one["now"] > one["gate"]) == (one["stops"] == "below")
    turns = {
        "capex": ("The price rises.", f"Above {gate} it no longer pays.", f"It pays only below {gate}."),
        "yearly": ("Running it costs more.", f"Above {gate} it no longer pays.", f"It pays only below {gate}."),
        "gain": ("It earns less.", f"Under {gate} more than today it no longer pays.", f"It pays only from {gate} on."),
        "delivery": ("It comes late.", f"After {gate} it no longer pays.", f"It pays only within {gate}."),
        "demand": ("Orders fall.", f"Under {gate} sold in all it no longer pays.", f"It pays only from {gate} on."),
    }
    condition, no_longer, only = turns[one["kind"]]
    return condition, no_longer if pays else only


def spoken_of(results: Plain) -> Plain | None:
    """Return the row that is spoken of: that of the most value, where that is today the one asked for."""
    told = results["advice"]
    return results["rows"][told["best"] or told["focus"]] if told else None


def rests_on(results: Plain) -> list[tuple[str, str, bool]]:
    """Return what the money rests on: what, its value, whether it was measured here; nothing where there is none."""
    terms, best = results["terms"], spoken_of(results)
    if terms is None or best is None:
        return []
    doubts = {name: terms[f"doubt_{name}"] for name in ("capex", "contribution", "delivery")}
    found = []
    if best["capex"] is not None:
        price = f"{plain(best['capex']['mean'])}{NO_BREAK}{best['capex']['unit']}{_off(doubts['capex'])}"
        found.append(("price of the change", price, False))
        running = f"{plain(best['yearly']['mean'])}{NO_BREAK}{best['yearly']['unit']}"
        found.append(("running cost", running, False))
    crews = best["crews"]["change"]
    if crews > 0.0:
        found.append(("more crews can be found", number(crews, places=1 if crews % 1 else 0), False))
    if best["change"] is not None and not results["capped"]:
        found.append(("the added tonnes find buyers", f"{plain(best['change']['mean'])}{NO_BREAK}t/week", False))
    found.append(("contribution of each product", f"as the file says{_off(doubts['contribution'])}", False))
    years = f"{terms['years']:g} years at {100 * terms['rate']:g}{NO_BREAK}%, {terms['weeks']:g} weeks a year"
    return [*found, ("how money is counted", years, False)]


def _off(doubt: float) -> str:
    return f"{NO_BREAK}±{NO_BREAK}{100 * doubt:g}{NO_BREAK}%" if doubt else ""
