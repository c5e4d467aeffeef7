"""The whole line against the distance after which rolls are changed, and against rules for the moment."""

from __future__ import annotations

from functools import cache
from math import inf
from pathlib import Path

import pytest

from twin.indicators.intervals import Interval
from twin.scenario import Scenario, apply_options, apply_set, load, loads
from twin.study.maker import Maker
from twin.study.rollmoments import evenly, planned_stops
from twin.study.rollnow import rolls_of
from twin.study.rollresult import Point, Rule, Sweep
from twin.study.rollsweep import in_words, offers, rules, sweep, tidy, usual_distances
from twin.study.rollwear import facts_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
RUNS = 6


@cache
def plant(name: str, option: str = "") -> Scenario:
    """Return one of the invented plants."""
    found = load(SCENARIOS / f"{name}.yaml")
    return apply_options(found, [option]) if option else found


@cache
def swept(name: str, *distances: float) -> Sweep:
    """Return a quick sweep."""
    scenario = plant(name)
    return sweep(scenario, "mill", facts_of(scenario, "mill"), distances, RUNS, Maker(workers=1))


def at(found: Sweep, distance: float) -> Point:
    """Return one distance of a sweep."""
    return next(point for point in found.points if point.distance == pytest.approx(distance))


def test_short_campaigns_lose_tonnes_where_the_roll_shop_runs_dry() -> None:
    """Demo Z by an independent model of the same inputs: 48 km loses 59 t/week against 57 km (invented plant)."""
    found = swept("hollin_weir", 48.0, 57.0, 66.0, 75.0, 90.0)

    lost = at(found, 48.0).change
    assert lost.high is not None
    assert lost.high < 0.0
    assert lost.mean == pytest.approx(-59.0, abs=15.0)  # the other model resolves 15 t/week
    assert at(found, 48.0).waits.mean > at(found, 57.0).waits.mean + 10.0
    short = at(found, 48.0).grinding
    assert short is not None
    assert short.mean > 0.98
    assert found.limit == "roll shop"
    assert "the roll shop, not the roll, is the limit" in found.said


def test_from_57_to_90_km_the_line_makes_as_much() -> None:
    """By the same independent model 619, 628, 627 and 628 t/week, none of which it can tell apart (15 t/week)."""
    found = swept("hollin_weir", 48.0, 57.0, 66.0, 75.0, 90.0)

    goods = [at(found, distance).good.mean for distance in (57.0, 66.0, 75.0, 90.0)]
    assert max(goods) - min(goods) < 15.0
    assert found.flat == (57.0, 90.0)
    assert found.matters


def test_longer_campaigns_trade_changes_for_damage() -> None:
    found = swept("hollin_weir", 48.0, 57.0, 66.0, 75.0, 90.0)

    damages = [point.damages.mean for point in found.points]
    ready = [point.ready for point in found.points if point.ready is not None]
    assert damages == sorted(damages)
    assert ready == sorted(ready)
    assert [point.today for point in found.points] == [False, True, False, False, False]
    assert at(found, 57.0).change == Interval(0.0, 0.0, 0.0)


def test_where_the_mill_has_time_to_spare_no_distance_matters() -> None:
    """Demo L by the independent model: 90, 150 and 250 km all make the same."""
    found = swept("marram", 90.0, 150.0, 250.0)

    assert not found.matters
    assert found.flat == (90.0, 250.0)
    assert found.limit == "neither"
    assert "However far a set runs, the line makes as much" in found.said
    for point in found.points:
        assert abs(point.change.mean) < 0.01 * point.good.mean


def test_a_limit_in_tonnes_is_swept_in_tonnes() -> None:
    scenario = plant("skerry")
    facts = facts_of(scenario, "mill")
    found = sweep(scenario, "mill", facts, [2.0 * facts.limit], 2, Maker(workers=1))

    assert at(found, 2.0 * facts.limit).changes.mean < at(found, facts.limit).changes.mean


@cache
def ruled(name: str, option: str = "") -> tuple[Rule, ...]:
    """Return a quick comparison of rules."""
    scenario = plant(name, option)
    facts = facts_of(scenario, "mill")
    return rules(scenario, "mill", facts, 7.0, 12, Maker(workers=1))


def test_idle_moments_hurt_where_sets_are_few_unless_sets_are_kept_ready() -> None:
    """By the independent model 607 against 622 t/week in demo Z; it advises to keep two sets ready."""
    today, greedy, one, two = ruled("hollin_weir")[:4]

    assert today.today and today.name == "today: at the limit"
    assert greedy.rule == {"when idle after": "28.5 km", "keep ready": 0}
    assert greedy.change.high is not None
    assert greedy.change.high < 0.0
    assert greedy.waits.mean > today.waits.mean + 2.0
    assert greedy.change.mean < one.change.mean < two.change.mean + 1.0
    assert two.change.low is not None and two.change.high is not None
    assert two.change.low < 0.0 < two.change.high + 2.0


def test_with_a_second_shift_in_the_roll_shop_idle_moments_cost_nothing_and_spare_damage() -> None:
    """By the independent model 630 against 630 t/week, with fewer damages and more grinding."""
    today, greedy = ruled("hollin_weir", "roll-shop second shift")[:2]

    assert abs(greedy.change.mean) < 3.0
    assert greedy.damages.mean < today.damages.mean
    assert greedy.grinding is not None and today.grinding is not None
    assert greedy.grinding.mean > today.grinding.mean


def test_fixed_times_that_the_roll_shop_cannot_follow_are_worst() -> None:
    made = ruled("hollin_weir")
    fixed = next(rule for rule in made if rule.name.endswith("fixed times a week"))

    assert fixed.change.mean == min(rule.change.mean for rule in made)


def test_planned_stops_are_those_of_the_mills_own_hours() -> None:
    assert planned_stops(plant("hollin_weir"), "mill") == ["Sat 06:00"]
    assert len(planned_stops(plant("marram"), "mill")) == 5
    assert planned_stops(plant("skerry"), "mill") == []


def test_fixed_times_are_spread_over_open_hours() -> None:
    times = evenly(plant("hollin_weir"), "mill", 5)

    assert times == ["Mon 18:00", "Tue 18:00", "Wed 18:00", "Thu 18:00", "Fri 18:00"]


def test_rules_that_cannot_be_are_not_offered() -> None:
    """Without a limit there is no share of it, and without hours no stop."""
    free = apply_set(plant("skerry"), "stations.mill.rolls.change_after", "null")
    names = [offer.name for offer in offers(free, "mill", facts_of(free, "mill"), 3.0)]

    assert names == ["at the limit", "at 2 fixed times a week"]
    two = apply_set(plant("hollin_weir"), "stations.mill.rolls.sets", "2")
    kept = [offer.name for offer in offers(two, "mill", facts_of(two, "mill"), 3.0)]
    assert sum("idle" in name for name in kept) == 2


def test_a_rule_of_a_file_is_told_in_words() -> None:
    both = "[{when idle after: 40 km, keep ready: 2}, {at: [Wed 14:00]}]"
    scenario = apply_set(plant("hollin_weir"), "stations.mill.rolls.rule", both)

    assert in_words(rolls_of(scenario, "mill").rule) == "when idle after 40\u00a0km, at fixed times"


def test_distances_are_numbers_that_people_would_write() -> None:
    facts = facts_of(plant("hollin_weir"), "mill")

    assert usual_distances(facts, None) == [31.0, 40.0, 48.0, 57.0, 66.0, 74.0, 91.0, 110.0, 150.0]
    assert (tidy(0.0731), tidy(1234.0)) == (0.073, 1200.0)


def test_without_limit_and_damage_known_the_sweep_goes_around_the_mean_life() -> None:
    endless = plant("hollin_weir")
    free = apply_set(endless, "stations.mill.rolls.change_after", "null")
    facts = facts_of(free, "mill")

    assert facts.limit == inf
    assert facts.law is not None
    assert usual_distances(facts, None)[3] == facts.law.mean
    found = sweep(free, "mill", facts, [60.0], 2, Maker(workers=1))
    assert [point.distance for point in found.points] == [60.0, None]
    assert found.points[-1].today


def test_damage_that_cannot_be_planned_by_is_told() -> None:
    text = (SCENARIOS / "hollin_weir.yaml").read_text(encoding="utf-8")
    listed = loads(text.replace("{weibull: {shape: 2.4, scale: 110 km}}", "{empirical: [50 km, 90 km, 140 km]}"))
    facts = facts_of(listed, "mill")

    assert facts.law is None
    assert "write the damage as weibull" in facts.unknown
