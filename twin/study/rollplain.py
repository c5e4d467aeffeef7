"""The answer about the rolls as plain values: for JSON, for a table of windows, for a table of the sweep."""

from __future__ import annotations

from dataclasses import asdict
from math import inf
from typing import Any

from twin.indicators.intervals import Interval
from twin.study.rollresult import Answer, Change, Point, Rule
from twin.version import VERSION


def plain(answer: Answer) -> dict[str, Any]:
    """Return the fixed results of `passline rolls`, with more beside them; what is infinite or unknown is null."""
    return _heading(answer) | _life_and_age(answer) | _line(answer) | _coming(answer)


def _heading(answer: Answer) -> dict[str, Any]:
    """Return what the answer is of, and its sentences."""
    return {
        "passline": 1,
        "version": VERSION,
        "scenario": answer.scenario,
        "digest": answer.digest,
        "seed": answer.seed,
        "runs": answer.runs,
        "futures": answer.futures,
        "station": answer.station,
        "now": answer.now.isoformat(),
        "source": answer.source,
        "days": answer.days,
        "verdict": answer.verdict.text,
        "sure": answer.verdict.sure,
        "matters": answer.matters,
        "hour_matters": answer.hour_matters,
        "assumed": list(answer.assumed),
        "cautions": list(answer.cautions),
        "stopped": answer.stopped,
    }


def _life_and_age(answer: Answer) -> dict[str, Any]:
    """Return how rolls live, and the cheapest distance for the mill alone."""
    life, age = answer.life, answer.age
    told = {"law": life.law or None, "shape": life.shape, "scale": life.scale, "mean": life.mean, "unit": "km"}
    if age is None:
        return {"life": told | {"unknown": life.unknown or None}, "age": None}
    prices = {"planned_min": age.planned, "damaged_min": age.damaged}
    best = {"best": age.best, "flat": list(age.flat), "pays": age.pays, "reason": age.reason, "unit": "km"}
    return {"life": told | {"unknown": life.unknown or None}, "age": best | prices}


def _line(answer: Answer) -> dict[str, Any]:
    """Return the sweep and the rules."""
    found, compared = answer.sweep, [_rule(one) for one in answer.rules]
    if found is None:
        return {"line": [], "sweep": None, "rules": compared}
    told = {"matters": found.matters, "limit": found.limit, "said": found.said}
    best = {"best": found.best, "flat": [_finite(end) for end in found.flat], "unit": "km"}
    return {"line": [_point(one) for one in found.points], "sweep": best | told, "rules": compared}


def _coming(answer: Answer) -> dict[str, Any]:
    """Return where the sets are and will be, and the coming changes."""
    checked = answer.checked
    tested = None
    if checked is not None:
        numbers = {"good": interval(checked.good, "t"), "change": interval(checked.change, "t")}
        tested = numbers | {"hours": checked.hours, "futures": checked.futures}
    return {
        "sets": [asdict(one) for one in answer.sets],
        "stays": [
            {"set": one.number, "place": one.place, "start": _at(answer, one.start), "end": _at(answer, one.end)}
            for one in answer.stays
        ],
        "changes": [_change(answer, one) for one in answer.changes],
        "hour_worth": interval(answer.hour_worth, "t/h"),
        "waits": {"mean": answer.waits, "unit": "h"},
        "checked": tested,
    }


def interval(value: Interval, unit: str) -> dict[str, Any]:
    """Return an interval as all results write one."""
    return {"mean": value.mean, "low": value.low, "high": value.high, "unit": unit}


def _finite(value: float | None) -> float | None:
    return None if value is None or abs(value) == inf else value


def _at(answer: Answer, seconds: float) -> str:
    return answer.moment(seconds).isoformat(timespec="seconds")


def _point(one: Point) -> dict[str, Any]:
    return {
        "change_after": one.distance,
        "today": one.today,
        "good": interval(one.good, "t/week"),
        "change": interval(one.change, "t/week"),
        "changes": interval(one.changes, "1/week"),
        "damages": interval(one.damages, "1/week"),
        "scrap": interval(one.scrap, "t/week"),
        "waits": interval(one.waits, "h/week"),
        "grinding": None if one.grinding is None else interval(one.grinding, "1"),
        "ready": one.ready,
    }


def _rule(one: Rule) -> dict[str, Any]:
    return {
        "name": one.name,
        "rule": one.rule,
        "today": one.today,
        "good": interval(one.good, "t/week"),
        "change": interval(one.change, "t/week"),
        "changes": interval(one.changes, "1/week"),
        "damages": interval(one.damages, "1/week"),
        "waits": interval(one.waits, "h/week"),
        "grinding": None if one.grinding is None else interval(one.grinding, "1"),
    }


def _change(answer: Answer, one: Change) -> dict[str, Any]:
    """Return a change; its price is that of half an hour later, or earlier where later is not allowed."""
    late = _finite(one.late)
    return {
        "set": one.on,
        "off": one.off,
        "earliest": _at(answer, one.earliest),
        "best": _at(answer, one.best),
        "latest": _at(answer, one.latest),
        "price_per_half_hour": one.early if late is None else max(late, one.early),
        "early_per_half_hour": one.early,
        "late_per_half_hour": late,
        "unit": "t",
        "why": one.why,
        "distance": one.distance,
        "risk": one.risk,
        "risk_latest": one.risk_latest,
        "ready": None if one.ready is None else _at(answer, one.ready),
        "heat_from": None if one.heat_from is None else _at(answer, one.heat_from),
        "needs": list(one.needs),
        "fixed": one.fixed,
        "prices": [{"at": _at(answer, price.at), "t": price.tonnes, "risk": price.risk} for price in one.prices],
    }


def change_rows(answer: Answer) -> list[dict[str, Any]]:
    """Return the windows as rows of a table; times are local, with their offset."""
    return [
        {
            "set_off": one.off,
            "set_on": one.on,
            "earliest": _at(answer, one.earliest),
            "best": _at(answer, one.best),
            "latest": _at(answer, one.latest),
            "early_t_per_half_hour": one.early,
            "late_t_per_half_hour": _finite(one.late),
            "distance_km": one.distance,
            "damage_risk_percent": 100.0 * one.risk,
            "damage_risk_at_latest_percent": 100.0 * one.risk_latest,
            "set_ready": None if one.ready is None else _at(answer, one.ready),
            "heat_from": None if one.heat_from is None else _at(answer, one.heat_from),
            "needs": ", ".join(one.needs),
            "why": one.why,
        }
        for one in answer.changes
    ]


def sweep_rows(answer: Answer) -> list[dict[str, Any]]:
    """Return the sweep as rows of a table."""
    if answer.sweep is None:
        return []
    return [
        {
            "change_after_km": one.distance,
            "today": one.today,
            "good_t_per_week": one.good.mean,
            "good_low_t_per_week": one.good.low,
            "good_high_t_per_week": one.good.high,
            "change_t_per_week": one.change.mean,
            "change_low_t_per_week": one.change.low,
            "change_high_t_per_week": one.change.high,
            "changes_per_week": one.changes.mean,
            "damages_per_week": one.damages.mean,
            "scrap_t_per_week": one.scrap.mean,
            "waits_h_per_week": one.waits.mean,
            "grinding_percent": None if one.grinding is None else 100.0 * one.grinding.mean,
            "sets_ready": one.ready,
        }
        for one in answer.sweep.points
    ]
