"""A comparison as plain values: what `compare --json` writes, and what the page and the report are drawn from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from twin.indicators.intervals import FloatArray, Interval, indicator, plant_interval
from twin.study.advice import advice, question, verdict_parts
from twin.study.breakeven import Threshold
from twin.study.compare import Comparison, Row
from twin.study.money import good_tonnes, oversold
from twin.study.people import CREW_H, crews
from twin.study.worth import Ledger, Worth
from twin.version import VERSION

THOUSAND = 1000.0
QUANTILES = (0.1, 0.5, 0.9)
LOW, HIGH = 0.025, 0.975
QUARTERS = 4
STATES = ("running", "setup", "changing_rolls", "down", "waiting", "starved", "blocked", "closed")


def compared(found: Comparison) -> dict[str, Any]:
    """Return the results of a comparison."""
    told = advice(found)
    today = found.today
    results: dict[str, Any] = {
        "passline": 1,
        "version": VERSION,
        "scenario": found.scenario.name,
        "digest": found.scenario.digest,
        "seed": found.seed,
        "runs": max(row.made.runs for row in found.rows),
        "length_h": today.made.length_s / 3600.0,
        "warm_up_h": today.made.warm_up_s / 3600.0,
        "verdict": "",
        "decided": found.decided,
        "stopped": found.stopped,
        "currency": found.ledger.currency if found.ledger is not None else None,
        "capped": bool(found.ledger is not None and found.ledger.prices.ceilings),
        "oversold": _oversold(found),
        "terms": _terms(found.ledger),
        "advice": told.plain() if told is not None else None,
        "rows": [_row(found, row) for row in found.rows],
    }
    results["question"] = question(results)
    results["verdict"] = "".join(part.text for part in verdict_parts(results))
    return results


def _oversold(found: Comparison) -> list[dict[str, Any]]:
    """Return of what today's line makes more than can be sold."""
    if found.ledger is None:
        return []
    over = oversold(found.ledger.prices, good_tonnes(found.today.made))
    return [{"name": one.name, "made": made.mean, "sells": one.tonnes, "unit": "t/week"} for one, made in over]


def _terms(ledger: Ledger | None) -> dict[str, float] | None:
    """Return how money was counted."""
    if ledger is None:
        return None
    doubts = ledger.doubts
    return {
        "rate": ledger.terms.rate,
        "years": ledger.terms.years,
        "weeks": ledger.terms.weeks,
        "doubt_capex": doubts.capex,
        "doubt_contribution": doubts.contribution,
        "doubt_delivery": doubts.delivery,
    }


def _row(found: Comparison, row: Row) -> dict[str, Any]:
    """Return one design."""
    summary = row.made.summary()
    limits = row.limits
    return {
        "options": list(row.options),
        "about": found.scenario.options[row.options[0]].about if len(row.options) == 1 else "",
        "runs": row.made.runs,
        "good": indicator(row.made.good, "t/week"),
        "change": None if row.change is None else indicator(row.change, "t/week"),
        "limits": {} if limits is None else limits.named,
        "relief": {} if limits is None else _relief(row),
        "wip": summary["line"]["wip"],
        "lead_time": summary["line"]["lead_time"],
        "p_best": row.best,
        **_money(found.ledger, row),
        **_people(found, row),
        "stores": _coil_stores(found, row, summary),
        "shared": _shared(row, summary),
        "products": _products(found, row),
        "stations": {name: _hours(own) for name, own in summary["stations"].items()},
    }


def _shared(row: Row, summary: Mapping[str, Any]) -> dict[str, Any]:
    """Return how many of each crane and crew there are, and how many are in use on average."""
    there = row.made.scenario.shared
    return {name: {"count": there[name].count, **own} for name, own in summary["shared"].items()}


def _relief(row: Row) -> dict[str, Any]:
    """Return what a little more of each thing brings, where it may limit."""
    limits = row.limits
    if limits is None:
        return {}
    return {name: {"more": limits.more[name], "gain": indicator(limits.gain[name], "t/week")} for name in limits.named}


def _hours(station: Mapping[str, Any]) -> dict[str, Any]:
    """Return how the week of a station divides among its states."""
    return {"machines": station["machines"], "share": {s: station["share"][s]["mean"] for s in STATES}}


def _money(ledger: Ledger | None, row: Row) -> dict[str, Any]:
    """Return what the row earns, costs and is worth; today has no price."""
    keys = (
        "contribution",
        "capex",
        "yearly",
        "npv",
        "payback",
        "p_pays_back",
        "irr",
        "per_tonne",
        "thresholds",
        "odds",
    )
    if ledger is None:
        return dict.fromkeys(keys)
    unit = f"k{ledger.currency}"
    earned = indicator(_scaled(plant_interval(ledger.weekly(row.made), row.made.group)), f"{unit}/week")
    if row.worth is None:
        return {**dict.fromkeys(keys), "contribution": earned}
    worth = row.worth
    return {
        "contribution": earned,
        "capex": _given(worth.capex / THOUSAND, unit),
        "yearly": _given(worth.yearly / THOUSAND, f"{unit}/year"),
        "npv": {**indicator(_scaled(worth.value), unit), "quantiles": _quantiles(worth.odds.value / THOUSAND)},
        "payback": _payback(worth),
        "p_pays_back": worth.odds.pays_back_within(ledger.terms.years),
        "irr": {"rate": worth.rate.rate, "rates": list(worth.rate.rates), "warning": worth.rate.warning},
        "per_tonne": None if worth.per_tonne is None else _given(worth.per_tonne, f"{ledger.currency}/t"),
        "thresholds": [_threshold(one) for one in worth.thresholds],
        "odds": _odds(worth, ledger.terms.years),
    }


def _scaled(interval: Interval) -> Interval:
    """Return money in thousands."""
    low, high = interval.low, interval.high
    return Interval(
        interval.mean / THOUSAND, None if low is None else low / THOUSAND, None if high is None else high / THOUSAND
    )


def _given(value: float, unit: str) -> dict[str, Any]:
    """Return a number that is given, not found: its interval has no width."""
    return {"mean": value, "low": value, "high": value, "unit": unit}


def _quantiles(values: FloatArray) -> dict[str, float | None]:
    """Return quantiles of futures, each a future that happened; infinite ones are null."""
    found = np.quantile(values, QUANTILES, method="inverted_cdf")
    return {f"{q:g}": _finite(float(one)) for q, one in zip(QUANTILES, found, strict=True)}


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _payback(worth: Worth) -> dict[str, Any]:
    """Return when the average money is back, with the middle 95 % of futures; null for never."""
    low, high = np.quantile(worth.odds.payback, [LOW, HIGH], method="inverted_cdf")
    return {
        "mean": worth.payback,
        "low": _finite(float(low)),
        "high": _finite(float(high)),
        "unit": "years",
        "quantiles": _quantiles(worth.odds.payback),
    }


def _odds(worth: Worth, years: float) -> dict[str, list[float]]:
    """Return the chance of having the money back, by quarters of a year from the order."""
    at = [step / QUARTERS for step in range(round(QUARTERS * years) + 1)]
    return {"years": at, "chance": [worth.odds.pays_back_within(one) for one in at]}


def _threshold(one: Threshold) -> dict[str, Any]:
    """Return where a change stops paying; money in thousands."""
    money = one.kind in ("capex", "yearly", "gain")
    scale, unit = (1.0 / THOUSAND, f"k{one.unit}") if money else (1.0, one.unit)
    return {"kind": one.kind, "now": scale * one.now, "gate": scale * one.gate, "unit": unit, "stops": one.stops}


def _people(found: Comparison, row: Row) -> dict[str, Any]:
    """Return the crews that the row takes beyond today's, and where."""
    now, then = crews(found.scenario).by_place, crews(row.made.scenario).by_place
    more = {name: value - now.get(name, 0.0) for name, value in then.items() if abs(value - now.get(name, 0.0)) > 1e-6}
    return {"crews": {"change": sum(more.values()), "by": more, "hours": CREW_H}}


def _coil_stores(found: Comparison, row: Row, summary: Mapping[str, Any]) -> dict[str, Any]:
    """Return how many coils lie in each store that somebody draws on."""
    sources = {station.source for station in found.scenario.stations.values()}
    stores = row.made.scenario.stores
    return {
        name: {"level": own["level"], "peak": own["peak"], "capacity": stores[name].capacity}
        for name, own in summary["stores"].items()
        if stores[name].holds == "coils" and name in sources
    }


def _products(found: Comparison, row: Row) -> dict[str, Any]:
    """Return what each product adds against today, and what that earns; what is not made at all is left out."""
    runs = min(row.made.runs, found.today.made.runs)
    tonnes, today = good_tonnes(row.made)[:runs], good_tonnes(found.today.made)[:runs]
    names = row.made.layout.products
    rows: dict[str, Any] = {}
    for place, name in enumerate(names):
        if tonnes[:, place].max() + today[:, place].max() <= 0.0:
            continue
        change = plant_interval(tonnes[:, place] - today[:, place], row.made.group)
        rows[name] = {"change": indicator(change, "t/week"), "sold": _sold(found, name)}
        if found.ledger is not None:
            rows[name]["price"] = _finite(float(found.ledger.prices.per_tonne[place]))
    return rows


def _sold(found: Comparison, name: str) -> str:
    product = found.scenario.products.get(name)
    return name if product is None else product.sold
