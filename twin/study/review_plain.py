"""A review as plain values, for files and other programs: the fixed keys, and everything else that was worked out."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from twin.study.review_answer import QUANTILES, Expected, Review


def review_json(found: Review) -> dict[str, Any]:
    """Return the results; masses in t, times ISO 8601 with the plant's offset."""
    zone = ZoneInfo(found.zone)
    expected = found.expected
    return {
        "passline": 1,
        "scenario": found.scenario,
        "digest": found.digest,
        "version": found.version,
        "seed": found.seed,
        "runs": found.runs,
        "day": found.day,
        "begin": _iso(found.begin_s, zone),
        "end": _iso(found.end_s, zone),
        "verdict": found.verdict.text,
        "how_sure": found.verdict.sure,
        "actual": found.actual_t,
        "expected": _expected(expected),
        "expected_mean": {
            "mean": expected.mean_t,
            "low": expected.mean_low_t,
            "high": expected.mean_high_t,
            "unit": "t",
        },
        "position": found.position,
        "signal": found.signal,
        "one_day_in": found.days_in,
        "such_days": _expected(found.such),
        "start_state": asdict(found.morning),
        "ladder": [asdict(one) for one in (*found.ladder, *([found.booking] if found.booking is not None else []))],
        "replay": found.replay_t,
        "booked_on_another_day": found.edges_t,
        "unexplained": found.unexplained_t,
        "exact": found.exact,
        "tells": found.tells,
        "why_not": found.why_not,
        "top_sure": found.top_sure,
        "largest": found.largest,
        "suspect": [
            {
                "file": one.file,
                "row": one.rows[0] if one.rows else None,
                "what": one.what,
                "effect": one.effect_t,
                "rows": list(one.rows),
                "kind": one.kind,
                "station": one.station,
                "way_out": one.way_out,
            }
            for one in found.suspect
        ],
        "look_at": [asdict(one) for one in found.look_at],
        "events": [
            asdict(one) | {"start": _iso(one.start_s, zone), "end": _iso(one.end_s, zone)} for one in found.events
        ],
        "curve": _curve(found, zone),
        "quality": asdict(found.quality),
        "hand_over": asdict(found.hand_over),
        "assumed": list(found.assumed),
    }


def _expected(found: Expected | None) -> dict[str, Any] | None:
    """Return a day's mean and the band in which nine of ten end."""
    return None if found is None else {"mean": found.mean_t, "low": found.low_t, "high": found.high_t, "unit": "t"}


def _iso(moment: float, zone: ZoneInfo) -> str:
    return datetime.fromtimestamp(moment, zone).isoformat(timespec="seconds")


def _curve(found: Review, zone: ZoneInfo) -> dict[str, Any]:
    """Return the day's curve in its fan."""
    fan = found.fan
    return {
        "time": [_iso(at, zone) for at in fan.time_s],
        "expected": {f"{q:g}": list(own) for q, own in zip(QUANTILES, fan.quantiles_t, strict=True)},
        "actual": list(fan.actual_t),
        "replay": list(fan.replay_t),
    }
