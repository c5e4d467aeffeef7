"""When do the rolls come out: the answer for invented plants, one with few sets, one with plenty, one in a row."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache
from itertools import pairwise
from math import inf
from pathlib import Path

import numpy as np
import pytest

from twin.indicators.intervals import Interval
from twin.line import simulate
from twin.scenario import Scenario, apply_options, apply_set, load, loads
from twin.study.lifelaws import WeibullLife
from twin.study.maker import Maker, Step
from twin.study.replicate import NothingMadeError
from twin.study.rollanswer import age_of, answer, best_of, matters
from twin.study.rollfutures import limit_km
from twin.study.rollnow import RollsError, chosen_mill, future, present
from twin.study.rollresult import Answer, Asked, Change, Price
from twin.study.rollshop import Hours
from twin.study.rollwear import facts_of
from twin.study.rollwindow import risk

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FEW = Asked(runs=2, futures=12, distances=(57.0,))


@cache
def plant(name: str, option: str = "") -> Scenario:
    """Return one of the invented plants."""
    found = load(SCENARIOS / f"{name}.yaml")
    return apply_options(found, [option]) if option else found


@cache
def answered(name: str, option: str = "") -> Answer:
    """Return a quick answer for it."""
    return answer(plant(name, option), FEW, Maker(workers=1))


def test_a_set_is_spent_before_its_limit_only_where_that_surely_pays() -> None:
    """Plans by columns, with ground sets worth more and more."""
    even = np.array([[100.0, 100.1, 99.9], [102.0, 101.9, 102.1], [98.0, 98.0, 98.0]])
    early = even + np.array([5.0, 0.0, 0.0])

    assert best_of(even) == 2
    assert best_of(early) == 0
    assert best_of(even + np.array([0.05, 0.0, 0.0])) == 2, "a thousandth is not worth a set"


def test_where_sets_are_few_a_set_runs_to_its_limit_and_the_roll_shop_is_named() -> None:
    found = answered("hollin_weir")

    assert [change.off for change in found.changes[:2]] == [3, 4]
    for before, change in pairwise(found.changes):
        assert before.best < change.best
        assert before.on == change.off
    for change in found.changes:
        assert change.earliest <= change.best <= change.latest
        assert change.late == inf
        assert change.distance <= 57.0 + facts_of(plant("hollin_weir"), "mill").coil.km
        assert "reaches its 57" in change.why or "stand anyway" in change.why
    first = found.changes[0].prices
    assert first[0].minutes > 120.0, "a set that comes off hours early is missing when the shop cannot follow"


def test_a_change_goes_by_hours_in_which_the_roll_shop_works() -> None:
    """Invented day shift, Mon-Fri 06:00-14:00: a set that is ground and fitted is ready only after such hours."""
    found = answered("hollin_weir")

    grinding = [stay for stay in found.stays if stay.place == "grinding" and stay.start > 0.0]
    assert grinding
    for stay in grinding:
        assert 6 <= found.moment(stay.start).hour < 14
        assert found.moment(stay.start).weekday() < 5
    assert found.shop_open[0][0] == 600.0  # 12:00 is in a break of ten minutes


def test_no_set_is_in_two_places_and_one_is_on_the_mill_at_any_time() -> None:
    found = answered("hollin_weir")
    numbers = sorted({stay.number for stay in found.stays})

    assert numbers == [1, 2, 3, 4, 5]
    for number in numbers:
        own = [stay for stay in found.stays if stay.number == number]
        assert all(a.end == pytest.approx(b.start, abs=1.0) for a, b in pairwise(own))
    mounted = sorted((stay.start, stay.end) for stay in found.stays if stay.place == "on mill" and stay.end > 0.0)
    assert all(a[1] == pytest.approx(b[0]) for a, b in pairwise(mounted))


def test_a_price_is_nothing_at_the_best_time_and_risk_rises_with_time() -> None:
    for name in ("hollin_weir", "skerry", "marram"):
        for change in answered(name).changes:
            tonnes = [price.tonnes for price in change.prices]
            assert min(tonnes) == pytest.approx(0.0, abs=1e-9)
            assert np.interp(change.best, [price.at for price in change.prices], tonnes) == pytest.approx(0.0, abs=1e-6)
            risks = [price.risk for price in change.prices]
            assert all(a <= b + 1e-12 for a, b in pairwise(risks))
            assert risks[0] >= 0.0 and risks[-1] < 1.0


def test_where_the_mill_has_time_to_spare_the_hour_does_not_matter_and_that_is_said() -> None:
    found = answered("marram")

    assert not found.hour_matters
    assert found.hour_worth.mean == pytest.approx(0.0, abs=0.2)
    assert found.verdict.text.startswith("The hour of the next change does not matter: any time until")


def test_in_a_line_without_a_store_an_hour_of_the_mill_is_dear() -> None:
    """The caster stops with the mill: an hour costs its 12 t and the restart, so far more than that."""
    found = answered("skerry")

    assert found.hour_worth.low is not None
    assert found.hour_worth.low > 6.0
    assert found.hour_matters
    assert all(change.heat_from is None or change.ready is not None for change in found.changes)


def test_the_plan_never_does_worse_in_futures_than_running_to_the_limit() -> None:
    for name in ("hollin_weir", "skerry", "marram"):
        checked = answered(name).checked
        assert checked is not None
        assert checked.change.high is not None
        assert checked.change.high > -0.002 * checked.good.mean


def test_an_earlier_plan_is_kept_near_now_and_moved_little_later_on() -> None:
    first = answered("hollin_weir")
    hour = 3600.0
    moved = tuple(change.best - 2 * hour for change in first.changes)
    kept = answer(
        plant("hollin_weir"),
        Asked(runs=2, futures=12, distances=(57.0,), earlier=moved, frozen=moved[0] + hour),
        Maker(workers=1),
    )

    assert kept.changes[0].best == pytest.approx(moved[0], abs=0.5 * hour)
    assert kept.changes[0].fixed
    assert "stays as it was planned" in kept.changes[0].why


def test_what_must_come_off_comes_off_whatever_was_planned_before() -> None:
    """A frozen zone may not keep rolls on beyond their limit."""
    now = apply_set(plant("marram"), "start", {"rolls": {"mill": {"used": "170 km"}}})
    kept = answer(
        now, Asked(runs=2, futures=6, distances=(150.0,), earlier=(40 * 3600.0,), frozen=12 * 3600.0), Maker(workers=1)
    )

    assert kept.changes[0].best == 0.0


def test_local_times_are_true_across_the_night_the_clocks_change() -> None:
    """In Vienna 2026-03-29 has 23 hours (rule of the European Union, common practice)."""
    found = answered("hollin_weir")
    night = datetime(2026, 3, 28, 12, tzinfo=found.now.tzinfo)
    later = Answer.moment(_at(found, night), 24 * 3600.0)

    assert later == night.astimezone(UTC) + timedelta(days=1)
    assert (later.day, later.hour) == (29, 13)


def _at(found: Answer, now: datetime) -> Answer:
    from dataclasses import replace

    return replace(found, now=now)


def test_a_station_without_rolls_is_told_of_with_the_way_out() -> None:
    with pytest.raises(RollsError, match="no station of this scenario has rolls"):
        answer(plant("tarn_lane"))
    with pytest.raises(RollsError, match="station 'slitter' has no rolls: name one of mill"):
        answer(plant("hollin_weir"), Asked(mill="slitter"))


def test_one_set_alone_cannot_be_planned_and_that_is_said() -> None:
    alone = apply_set(plant("hollin_weir"), "stations.mill.rolls.sets", "1")

    with pytest.raises(RollsError, match="has one roll set in all, so it stands while that is ground"):
        answer(alone, FEW, Maker(workers=1))


def test_machines_that_share_their_sets_are_not_planned_as_if_they_were_one() -> None:
    two = apply_set(plant("hollin_weir"), "stations.mill.machines", "2")

    with pytest.raises(RollsError, match="has 2 machines that share its roll sets"):
        answer(two, FEW, Maker(workers=1))


def test_what_is_asked_must_make_sense() -> None:
    with pytest.raises(ValueError, match="days is 30, but must lie between 0.5 and 14"):
        Asked(days=30.0)


def test_sets_without_end_need_no_roll_shop() -> None:
    free = apply_set(plant("hollin_weir"), "stations.mill.rolls.sets", "unlimited")
    found = answer(free, FEW, Maker(workers=1))

    assert found.sets == () and found.stays == ()
    assert found.changes[0].on is None
    assert found.waits == 0.0


def test_a_stop_keeps_what_was_made_and_too_early_a_one_is_told() -> None:
    steps: list[Step] = []

    def late() -> bool:
        return any("distance" in step.what for step in steps)

    found = answer(plant("marram"), Asked(runs=40, futures=12), Maker(workers=1, tell=steps.append, stop=late))
    assert found.stopped
    assert found.changes
    assert found.rules == ()
    assert [step.what for step in steps][0] == "the pace of the coming days"
    with pytest.raises(NothingMadeError):
        answer(plant("marram"), FEW, Maker(workers=1, stop=lambda: True))


def test_the_cheapest_distance_is_that_of_renewal_theory() -> None:
    """Check B-O3: shape 3, scale 120 h, 1 h planned, 6 h after damage: 55.93 h, at 60 km/h 3355.8 km."""
    text = """
passline: 1
name: A mill and its rolls
metal: zinc
time: {warm_up: 0 h, length: 400 h}
stores: {ready: {holds: coils, capacity: 1}, done: {holds: coils}}
stations:
  supply: {kind: supply, to: ready, coil: {mass: 50 t, width: 1000 mm, thickness: 0.7 mm}}
  mill:
    kind: mill
    from: ready
    to: done
    speed: 1000 m/min
    rolls: {sets: unlimited, change_after: 3355.8 km, change: 1 h, damage: {weibull: {shape: 3, scale: 7200 km}},
            damaged_change: 6 h}
"""
    scenario = loads(text)
    found = age_of(facts_of(scenario, chosen_mill(scenario)))

    assert found is not None
    assert found.best == pytest.approx(3355.8, rel=5e-3)
    assert found.pays


def test_rolls_that_do_not_wear_need_no_planned_change() -> None:
    """Check B-O2: shape 1, a planned change never pays."""
    even = apply_set(plant("marram"), "stations.mill.rolls.damage", "{weibull: {shape: 1, scale: 420 km}}")
    found = age_of(facts_of(even, "mill"))

    assert found is not None
    assert not found.pays
    assert found.best is None
    assert "never pays" in found.reason


def test_risk_is_that_of_a_set_which_has_come_so_far() -> None:
    """By hand: Weibull 2, 100 km: from 50 to 80 km 1 - exp(-(0.64 - 0.25)) = 32.3 %."""
    assert risk(WeibullLife(2.0, 100.0), 50.0, 80.0) == pytest.approx(1.0 - np.exp(-0.39), rel=1e-9)
    assert risk(WeibullLife(2.0, 100.0), 50.0, 40.0) == 0.0
    assert risk(None, 0.0, 40.0) == 0.0


FIXED = """
passline: 1
name: A mill with three roll sets
metal: zinc
time: {start: 2026-03-02 06:00, warm_up: 0 h, length: 2 weeks}
calendars: {day shift: {open: ["Mon-Fri 06:00-14:00"]}}
stores: {ready: {holds: coils, capacity: 1}, done: {holds: coils}}
stations:
  supply: {kind: supply, to: ready, coil: {mass: 20 t, width: 1000 mm, thickness: 0.7 mm}}
  mill:
    kind: mill
    from: ready
    to: done
    speed: 60 m/min
    rolls:
      sets: 3
      change_after: 20 km
      change: 30 min
      heating: 2 h
      shop: {calendar: day shift, people: 1, cool: 6 h, grind: 3 h, assemble: 1 h}
start:
  rolls: {mill: {used: 7 km}}
"""


def test_without_chance_the_plan_is_what_then_happens() -> None:
    """Every time is fixed (invented): the plan's changes, sets and waits against a run of the line itself."""
    scenario = loads(FIXED)
    found = answer(scenario, Asked(runs=2, futures=2, distances=(20.0,), days=3.0), Maker(workers=1))
    run = simulate(scenario, seed=1, run=0, trace=True)
    assert run.trace is not None
    cards = run.trace.tables["rolls"]
    soon = cards["off_s"] <= 3 * 86400.0

    assert [change.off for change in found.changes] == cards["set"][soon].tolist()
    begun = cards["off_s"][soon]
    assert np.array([change.best for change in found.changes]) == pytest.approx(begun, abs=1800.0)
    assert found.waits == pytest.approx(float(cards["waited_s"][soon].sum()) / 3600.0, abs=0.5)
    third = found.changes[2]
    assert third.ready == 30 * 3600.0  # cold Mon 16:00, ground Tue 06:00 to 09:00, fitted 10:00, heated 12:00
    assert third.heat_from == 28 * 3600.0
    assert "No set is ready before Tue 12:00: the mill waits" in third.why
    assert found.age is None and "nothing of how rolls are damaged" in found.life.unknown


def test_nothing_matters_where_a_lost_hour_cannot_be_told_from_chance() -> None:
    change = Change(
        None, None, 0.0, 0.0, 9e3, 0.0, 1.0, 50.0, 0.1, 0.2, None, None, (), "", (Price(0.0, 5.0, 60.0, 0.1),)
    )

    assert not matters(Interval(2.0, -0.1, 4.1), [change], 1.0)
    assert matters(Interval(2.0, 0.1, 3.9), [change], 1.0)
    assert not matters(Interval(2.0, 0.1, 3.9), [change], 6.0)


def test_a_run_that_is_only_looked_at_takes_the_course_of_one_that_is_not() -> None:
    from twin.line.steered import Steered

    short = apply_set(plant("hollin_weir"), "time.length", "2 weeks")
    run = simulate(short, seed=5, run=1).totals
    line = Steered(short, "mill", seed=5, run=1)
    line.run_to(run.warm_up_s)
    line.count()
    for hour in range(0, 14 * 24, 5):
        line.run_to(run.warm_up_s + 3600.0 * hour)
        line.rolls()
        line.sets()
    line.run_to(run.warm_up_s + run.duration_s)
    line.book()

    assert line.good_kg == pytest.approx(float(run.good_kg.sum()), rel=1e-12)
    assert line.rolls().changes == run.rolls_changes[0]


def test_a_future_begins_with_the_sets_where_they_are_now() -> None:
    now = present(plant("hollin_weir"), "mill", length=20 * 86400.0)
    line = future(now, 3, seed=1)

    assert sorted(one.place for one in line.sets()) == sorted(one.place for one in now.sets)
    assert line.rolls().run / 1e3 == pytest.approx(now.used_km)
    assert now.at(0.0).weekday() == 2 and now.at(0.0).hour == 12


def test_a_set_whose_run_is_told_in_tonnes_has_come_as_far_as_they_take_it() -> None:
    """Strip through the bite goes with the mass that enters: 171.5 t of a limit of 343 t are half of its distance."""
    skerry = apply_set(load(SCENARIOS / "skerry.yaml"), "stations.mill.rolls.change_after", "343 t")
    now = present(apply_set(skerry, "start", {"rolls": {"mill": {"used": "171.5 t"}}}), "mill", length=3600.0)

    assert now.used == pytest.approx(0.5)
    assert now.used_km == pytest.approx(0.5 * limit_km(now))


def test_hours_are_counted_from_now_on() -> None:
    now = present(plant("hollin_weir"), "mill", length=20 * 86400.0)

    assert isinstance(now.hours("day shift", 86400.0), Hours)
    assert now.hours("day shift", 86400.0).is_open(900.0)  # Wednesday 12:15, after a break
    assert not now.hours("day shift", 86400.0).is_open(6 * 3600.0)
