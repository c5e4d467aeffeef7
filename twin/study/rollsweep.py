"""The whole line against the distance after which rolls are changed, and against other rules for the moment.

The same runs, seed and draws serve every distance and rule (common random numbers), so that changes are taken run by
run and their intervals are narrower than those of the tonnes themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np

from twin.indicators.intervals import FloatArray, Interval, mean_interval
from twin.line import simulate
from twin.line.model import SHOP, shop_people
from twin.scenario import Scenario, ScenarioError, apply_set
from twin.scenario.rolls import AtLimit, AtTimes, WhenIdle
from twin.study.maker import Maker, weekly
from twin.study.replications import WEEK_H, Replications
from twin.study.rollmoments import evenly, planned_stops
from twin.study.rollnow import rolls_of
from twin.study.rollresult import Limit, Point, Rule, Sweep
from twin.study.rollwear import Facts
from twin.words import NO_BREAK, number, plain

STEPS = (0.55, 0.7, 0.85, 1.0, 1.15, 1.3, 1.6, 2.0, 2.6)
FLAT = 0.025  # of the output: a loss below this is hardly a reason to choose a distance
NOISE = 0.01  # of the output: below this a loss is not worth a word
SMALL_KM = 10.0
SHOP_LIMITS = "The roll shop, not the roll, is the limit: a set that comes off early is missing later."
ELSEWHERE = "However far a set runs, the line makes as much: what limits it stands elsewhere."
WAITS_H = 0.5  # a week: less waiting for sets is none
IDLE_AFTER = 0.5  # of the limit, from which an idle moment is taken
BY_CLOCK = 0.8  # of today's changes are made by the clock under a rule of fixed times; the limit brings the others


def usual_distances(facts: Facts, best: float | None) -> list[float]:
    """Return the distances to sweep: around today's limit, or around the cheapest one where there is none. [km]"""
    middle = facts.limit if facts.limit < inf else best
    if middle is None or middle == inf:
        middle = facts.law.mean if facts.law is not None else 100.0
    return [tidy(step * middle) if step != 1.0 else middle for step in STEPS]


def tidy(value: float) -> float:
    """Return a number with two or three digits that people would write."""
    digits = 10.0 ** (np.floor(np.log10(value)) - 1)
    return float(round(round(value / digits) * digits, 9))


def with_distance(scenario: Scenario, mill: str, facts: Facts, distance: float) -> Scenario:
    """Return the scenario with another campaign, in the unit that its file counts in."""
    limit = rolls_of(scenario, mill).change_after
    place = f"stations.{mill}.rolls.change_after"
    if limit is not None and limit.dimension == "mass":
        return apply_set(scenario, place, f"{distance * facts.coil.kilograms / facts.coil.km:.6f} kg")
    return apply_set(scenario, place, f"{distance:.9g} km")


# The sweep


def sweep(scenario: Scenario, mill: str, facts: Facts, distances: Sequence[float], runs: int, maker: Maker) -> Sweep:
    """Return the whole line at each distance, today's included.

    Raises
    ------
    NothingMadeError, KeyboardInterrupt : Stopped before each had a run.
    """
    lines: list[tuple[float | None, Scenario]] = []
    for distance in sorted(set(distances)):
        if distance != facts.limit:
            try:
                lines.append((distance, with_distance(scenario, mill, facts, distance)))
            except ScenarioError:  # shorter than an idle rule of the file allows
                continue
    lines.append((facts.limit if facts.limit < inf else None, scenario))
    lines.sort(key=lambda line: inf if line[0] is None else line[0])
    made = maker.make("the line at each distance", [line for _, line in lines], runs)
    today = next(one for one, (_, line) in zip(made, lines, strict=True) if line is scenario)
    points = tuple(_point(mill, distance, one, today) for (distance, _), one in zip(lines, made, strict=True))
    return _judged(points, [weekly(one) for one in made])


def _point(mill: str, distance: float | None, made: Replications, today: Replications) -> Point:
    """Return one distance in numbers of a week."""
    of_rolls = {key: made.column("rolls", mill, key) for key in ("changes", "damages", "waiting_for_set")}
    return Point(
        distance,
        made is today,
        made.good,
        mean_interval(_against(made, today)),
        mean_interval(of_rolls["changes"]),
        mean_interval(of_rolls["damages"]),
        mean_interval(WEEK_H * made.column("line", "scrap")),
        mean_interval(WEEK_H * of_rolls["waiting_for_set"]),
        grinding(made, mill),
        sets_ready(made.scenario, mill, made.seed),
    )


def _against(made: Replications, today: Replications) -> FloatArray:
    runs = min(made.runs, today.runs)
    return np.asarray(weekly(made)[:runs] - weekly(today)[:runs])


def grinding(made: Replications, mill: str) -> Interval | None:
    """Return the share of its open hours in which the roll shop works; None where there is no shop."""
    if shop_people(made.scenario, mill) == 0:
        return None
    closed = made.column("stations", mill + SHOP, "share", "closed")
    working = made.column("stations", mill + SHOP, "share", "running")
    return mean_interval(working / np.maximum(1.0 - closed, 1e-9))


def sets_ready(scenario: Scenario, mill: str, seed: int) -> float | None:
    """Return how many sets lie ready on average, in the first run; None where sets are unlimited."""
    if rolls_of(scenario, mill).sets is None:
        return None
    run = simulate(scenario, seed=seed, run=0, trace=True, clock="compiled")
    assert run.trace is not None
    rows = run.trace.tables["sets"]
    mine = (rows["station"] == mill) & (rows["state"] == "ready")
    return float((rows["end_s"] - rows["start_s"])[mine].sum() / run.totals.duration_s)


def _judged(points: tuple[Point, ...], goods: Sequence[FloatArray]) -> Sweep:
    """Return the sweep with what it means."""
    best = max(range(len(points)), key=lambda place: points[place].good.mean)
    lost = [_lost(goods[best], one) for one in goods]
    low = high = best
    while low > 0 and not _surely(lost[low - 1], FLAT, points[best]):
        low -= 1
    while high + 1 < len(points) and not _surely(lost[high + 1], FLAT, points[best]):
        high += 1
    distances = [inf if point.distance is None else point.distance for point in points]
    matters = any(_surely(one, NOISE, points[best]) for one in lost)
    limit = _limit(points, low)
    today = next(place for place, point in enumerate(points) if point.today)
    flat = distances[low], distances[high]
    limit = limit if matters else "neither"
    less = ""
    if matters and _surely(lost[today], NOISE, points[best]):
        less = _today(points[today], points[best], lost[today])
    said = _said(points, best, flat, limit) if matters else ELSEWHERE
    brief = {"roll shop": SHOP_LIMITS, "rolls": less, "neither": less}[limit] if matters else ELSEWHERE
    return Sweep(points, points[best].distance, flat, matters, limit, " ".join(filter(None, (said, less))), brief)


def _lost(best: FloatArray, one: FloatArray) -> Interval:
    """Return what is lost against the best distance, run by run. [t/week]"""
    runs = min(best.size, one.size)
    return mean_interval(best[:runs] - one[:runs])


def _surely(lost: Interval, share: float, best: Point) -> bool:
    """Tell whether surely something is lost, and more than a share of the best output."""
    return lost.low is not None and lost.low > 0.0 and lost.mean > share * best.good.mean


def _limit(points: tuple[Point, ...], low: int) -> Limit:
    """Say what loses tonnes below the flat range: waiting for sets, or the changes themselves."""
    if low == 0:
        return "neither"
    more_waits = points[low - 1].waits.mean - points[low].waits.mean
    return "roll shop" if more_waits > WAITS_H else "rolls"


def _said(points: tuple[Point, ...], best: int, flat: tuple[float, float], limit: Limit) -> str:
    """Say in a sentence from where to where a distance is as good as any, and what limits beyond."""
    to = f"to {_km(flat[1])}" if flat[1] < inf else "on"
    level = f"From {_km(flat[0])} {to} the line makes as much within {100.0 * FLAT:g}{NO_BREAK}%."
    if limit == "roll shop":
        first = points[0]
        waits = number(first.waits.mean, first.waits.half, "h/week")
        return (
            f"{level} Shorter is not safer: the roll shop, not the roll, is the limit, and at "
            f"{_km(first.distance or 0.0)} the mill waits {waits} for a ground set."
        )
    if limit == "rolls":
        return f"{level} Shorter runs lose tonnes by the changes themselves."
    longest = points[-1]
    if longest.damages.mean > points[best].damages.mean and flat[1] < (longest.distance or inf):
        return f"{level} Longer runs lose tonnes by damage."
    return level


def _today(today: Point, best: Point, lost: Interval) -> str:
    """Say what today's distance loses against the best one."""
    now = "Running until damage" if today.distance is None else f"Today's {_km(today.distance)}"
    other = "running until damage" if best.distance is None else _km(best.distance)
    return f"{now} makes {number(lost.mean, lost.half, 't/week')} less than {other}."


def _km(distance: float) -> str:
    return f"{plain(distance, 0 if distance >= SMALL_KM else 1)}{NO_BREAK}km"


# Rules for the moment of a change


@dataclass(frozen=True, slots=True)
class Offer:
    """A rule in words and as the file writes it."""

    name: str
    rule: Any


def offers(scenario: Scenario, mill: str, facts: Facts, changes: float) -> list[Offer]:
    """Return the rules to compare: at the limit, in idle moments with sets kept ready, at stops, by the clock.

    Parameters
    ----------
    changes : Made in a week today. [1/week]
    """
    found = [Offer("at the limit", "at limit")]
    rolls = rolls_of(scenario, mill)
    if rolls.change_after is not None:
        after = rolls.change_after.value * IDLE_AFTER
        text = f"{after / 1e3:.6g} {'km' if rolls.change_after.dimension == 'length' else 't'}"
        keeps = (0,) if rolls.sets is None else tuple(range(min(3, rolls.sets)))
        for keep in keeps:
            kept = f", keeping {keep} more ready" if keep else ""
            rule = {"when idle after": text, "keep ready": keep}
            found.append(Offer(f"when idle after {text.replace(' ', NO_BREAK)}{kept}", rule))
    stops = planned_stops(scenario, mill)
    if stops:
        found.append(Offer(f"with the planned stop, {_listed(stops)}", {"at": stops}))
    times = evenly(scenario, mill, max(1, int(BY_CLOCK * changes)))
    often = f"at {len(times)} fixed times a week" if len(times) > 1 else f"at a fixed time, {times[0]}"
    return [*found, Offer(often, {"at": times})]


def _listed(moments: Sequence[str]) -> str:
    return moments[0] if len(moments) == 1 else f"{len(moments)} a week"


def rules(scenario: Scenario, mill: str, facts: Facts, changes: float, runs: int, maker: Maker) -> tuple[Rule, ...]:
    """Return the whole line under each rule; today's first.

    Raises
    ------
    NothingMadeError, KeyboardInterrupt : Stopped before each had a run.
    """
    now = rolls_of(scenario, mill).rule
    place = f"stations.{mill}.rolls.rule"
    tried = [Offer(f"today: {in_words(now)}", None)] + [
        offer for offer in offers(scenario, mill, facts, changes) if offer.rule != "at limit" or now != (AtLimit(),)
    ]
    lines = [scenario, *(apply_set(scenario, place, offer.rule) for offer in tried[1:])]
    made = maker.make("the line under each rule", lines, runs)
    return tuple(_rule(mill, offer, one, made[0]) for offer, one in zip(tried, made, strict=True))


def _rule(mill: str, offer: Offer, made: Replications, today: Replications) -> Rule:
    return Rule(
        offer.name,
        offer.rule,
        made is today,
        made.good,
        mean_interval(_against(made, today)),
        mean_interval(made.column("rolls", mill, "changes")),
        mean_interval(made.column("rolls", mill, "damages")),
        mean_interval(WEEK_H * made.column("rolls", mill, "waiting_for_set")),
        grinding(made, mill),
    )


def in_words(rule: tuple[AtLimit | WhenIdle | AtTimes, ...]) -> str:
    """Return a rule of a file in words."""
    words = []
    for one in rule:
        if isinstance(one, WhenIdle):
            unit = "km" if one.after.dimension == "length" else "t"
            words.append(f"when idle after {one.after.value / 1e3:g}{NO_BREAK}{unit}")
        elif isinstance(one, AtTimes):
            words.append("at fixed times")
        else:
            words.append("at the limit")
    return ", ".join(dict.fromkeys(words)) or "at the limit"
