"""A day at first sight: what was to be expected, what was made, and how the day went, before any cause is looked at."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twin.indicators.verdict import Verdict
from twin.study.review import expected_of, fan_of, place_of
from twin.study.review_answer import DayEvent, Expected, Fan, HandOver, LogQuality, Strip, Suspect
from twin.study.review_booked import booked
from twin.study.review_day import Day, Vary, run_days
from twin.study.review_events import events_of
from twin.study.review_pace import paces
from twin.study.review_strips import recorded_strips, typical_strips
from twin.study.review_told import hand_over, opening, quality_of, sure_words, suspects


@dataclass(frozen=True, slots=True)
class FirstSight:
    """What can be said of a day at once; the names are those of `twin.study.review_answer.Review`."""

    verdict: Verdict
    actual_t: float
    edges_t: float
    expected: Expected
    position: float
    signal: bool
    days_in: float
    fan: Fan
    events: tuple[DayEvent, ...]
    suspect: tuple[Suspect, ...]
    recorded: tuple[Strip, ...]
    typical: tuple[Strip, ...]
    hand_over: HandOver
    quality: LogQuality
    assumed: tuple[str, ...]
    runs: int
    begin_s: float
    end_s: float
    zone: str


def first_sight(day: Day, *, runs: int, seed: int, vary: Vary | None = None) -> FirstSight:
    """Return what can be said of a day from runs of it alone."""
    curves = run_days(day, day.base, range(runs), seed=seed, vary=vary)
    expected, made, pace = expected_of(curves[:, -1]), booked(day), paces(day)
    place = place_of(curves[:, -1], made.booked_t - made.edges_t)
    today = [one for one in day.records.stops if day.begin <= one.start < day.end]
    rows = [one for one in day.records.made if day.begin < one.time <= day.end]
    events, quality = events_of(day), quality_of(day, pace, len(today), len(rows))
    typical = int(np.abs(curves[:, -1] - np.median(curves[:, -1])).argmin())
    return FirstSight(
        verdict=Verdict(tuple(opening(made.booked_t, expected, place)), sure_words(day, quality)),
        actual_t=made.booked_t,
        edges_t=made.edges_t,
        expected=expected,
        position=place[0],
        signal=place[1],
        days_in=place[2],
        fan=fan_of(day, curves, made.curve_t, ()),
        events=events,
        suspect=suspects(day, pace),
        recorded=recorded_strips(day),
        typical=typical_strips(day, typical, seed),
        hand_over=hand_over(day, made, events),
        quality=quality,
        assumed=day.morning.assumed,
        runs=runs,
        begin_s=day.begin,
        end_s=day.end,
        zone=day.plant.time.zone,
    )
