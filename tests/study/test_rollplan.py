"""Planning roll changes exactly: against trying out every plan, with a roll shop worked through hour by hour."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import inf

import numpy as np
import pytest

from twin.study.lifelaws import WeibullLife
from twin.study.replacement import age_replacement
from twin.study.rollarcs import Wear, arcs, example, steadied
from twin.study.rollplan import NoPlanError, Problem, cheapest, late, scarce, shortest, time_planning
from twin.study.rollprogram import proved
from twin.study.rollshop import Hours, Pending, Shop, Stock, follow, free_times, ready_times

HOUR = 3600.0
CASES = 1000


@dataclass
class Worked:
    """A set in the oracle's shop: whole hours still to cool, to grind, to fit and to heat."""

    cool: int
    grind: int
    fit: int
    heat: int


def ready_in_time(shop: Shop, sets: Sequence[Worked], changes: Sequence[int], until: int) -> bool:
    """Work through the shop hour by hour, as its people would tell it, and see whether every change finds a set."""
    own = [Worked(one.cool, one.grind, one.fit, one.heat) for one in sets]
    ready = [one for one in own if not any((one.cool, one.grind, one.fit, one.heat))]
    cooling = [one for one in own if one not in ready]
    waiting: list[Worked] = []
    at_work: list[Worked] = []
    heating: list[Worked] = []
    new = [int(part / HOUR) for part in (shop.cool, shop.grind, shop.fit, shop.heat)]
    for hour in range(until + 1):
        for one in [one for one in at_work if one.grind == 0 and one.fit == 0]:
            at_work.remove(one)
            heating.append(one)
        for one in [one for one in heating if one.heat == 0]:
            heating.remove(one)
            ready.append(one)
        for _ in range(changes.count(hour)):
            if not ready:
                return False
            ready.pop(0)
            cooling.append(Worked(*new))
        for one in [one for one in cooling if one.cool == 0]:
            cooling.remove(one)
            waiting.append(one)
        is_open = shop.hours.is_open(hour * HOUR)
        while is_open and waiting and len(at_work) < shop.people:
            at_work.append(waiting.pop(0))
        for one in cooling:
            one.cool -= 1
        for one in heating:
            one.heat -= 1
        for one in at_work:
            if one.grind > 0:
                one.grind -= is_open
            else:
                one.fit -= 1
    return True


def tried(problem: Problem, sets: Sequence[Worked] | None) -> tuple[float, bool]:
    """Return the least price over all plans, by trying every one; and whether any is possible."""
    size, best = len(problem.times), inf
    hours = [round(float(at) / HOUR) for at in problem.times]
    for count in range(size + 1):
        for places in combinations(range(size), count):
            price = priced(problem, places)
            if price >= best:
                continue
            changes = [hours[place] for place in places]
            if sets is None or problem.stock is None or ready_in_time(problem.stock.shop, sets, changes, hours[-1]):
                best = price
    return best, best < inf


def priced(problem: Problem, places: Sequence[int]) -> float:
    """Add up the arcs of a plan."""
    if not places:
        return problem.stay
    inner = sum(float(problem.between[a, b]) for a, b in zip(places, places[1:], strict=False))
    return float(problem.first[places[0]]) + inner + float(problem.last[places[-1]])


def a_case(seed: int) -> tuple[Problem, list[Worked]]:
    """Make a small case with everything in whole hours: up to 8 coils, 2 to 4 sets, one or two people, any hours."""
    dice = random.Random(seed)
    size = dice.randint(2, 9)
    times = np.cumsum([0, *(dice.randint(1, 4) for _ in range(size - 1))]) * HOUR

    def arc() -> float:
        return inf if dice.random() < 0.25 else float(dice.randint(0, 20))

    between = np.array([[arc() if b > a else inf for b in range(size)] for a in range(size)])
    first, last = np.array([arc() for _ in range(size)]), np.array([arc() for _ in range(size)])
    edges = sorted(dice.sample(range(1, 40), dice.randint(0, 6)))
    hours = Hours(dice.random() < 0.7, tuple(edge * HOUR for edge in edges))
    new = [dice.randint(0, 4), dice.randint(1, 4), dice.randint(0, 2), dice.randint(0, 2)]
    shop = Shop(hours, dice.randint(1, 2), *(part * HOUR for part in new))
    sets = [stage(dice, new) for _ in range(dice.randint(1, 3))]
    return Problem(times, first, between, last, arc(), stock_of(shop, sets)), sets


def stage(dice: random.Random, new: Sequence[int]) -> Worked:
    """Put a set somewhere between off and ready."""
    cool, grind, fit, heat = new
    return dice.choice(
        [Worked(0, 0, 0, 0), Worked(0, grind, fit, heat), Worked(dice.randint(0, cool), grind, fit, heat)]
    )


def stock_of(shop: Shop, sets: Sequence[Worked]) -> Stock:
    """Tell of the sets as the program wants it, those that are cold first."""
    idle = [place for place, one in enumerate(sets) if not any((one.cool, one.grind, one.fit, one.heat))]
    others = sorted((place for place in range(len(sets)) if place not in idle), key=lambda place: sets[place].cool)
    pending = [
        Pending(place, one.cool * HOUR, one.grind * HOUR, one.fit * HOUR, one.heat * HOUR)
        for place in others
        for one in [sets[place]]
    ]
    return Stock(shop, tuple(idle), tuple(pending))


def test_the_plan_is_that_of_trying_out_every_one_with_few_sets_and_without() -> None:
    """Search, shortest path and program against brute force on the same 1,000 small cases."""
    scarce_ones = impossible = 0
    for seed in range(CASES):
        problem, sets = a_case(seed)
        free = replace(problem, stock=None)
        for one, known in ((free, None), (problem, sets)):
            price, possible = tried(one, known)
            if not possible:
                with pytest.raises(NoPlanError):
                    cheapest(one)
                impossible += 1
                continue
            plan = cheapest(one)
            assert plan.price == pytest.approx(price), seed
            assert priced(one, plan.places) == pytest.approx(price), seed
            assert not late(one, plan.places)
        scarce_ones += possible and price > tried(free, None)[0]
    assert scarce_ones > 30, "few sets must matter in some cases, else nothing is tested"
    assert impossible > 30


@pytest.mark.parametrize("first", range(0, CASES, 250))
def test_the_program_proves_the_plans_of_the_search(first: int) -> None:
    """HiGHS (through scipy), an independent solver, on the arcs and rows, against the search, on the same cases."""
    for seed in range(first, first + 250, 2):
        problem, _ = a_case(seed)
        try:
            price = scarce(problem).price
        except NoPlanError:
            price = inf
        found = proved(problem)
        assert (inf if found is None else found.price) == pytest.approx(price), seed


def test_a_search_without_room_hands_the_proof_to_the_program() -> None:
    for seed in range(60):
        problem, _ = a_case(seed)
        try:
            price = scarce(problem).price
        except NoPlanError:
            continue
        assert scarce(problem, room=1).price == pytest.approx(price), seed


def test_a_long_sequence_is_planned_alike_by_search_and_program() -> None:
    problem = example(90, scarce=True)
    assert problem.stock is not None
    tight = replace(problem.stock, shop=replace(problem.stock.shop, cool=26 * HOUR))
    few = replace(problem, stock=tight)

    found = scarce(few)

    assert found.price > shortest(few).price
    again = proved(few, most=found.price)
    assert again is not None
    assert again.price == pytest.approx(found.price)


def test_what_cannot_be_planned_is_said_with_its_place_and_reason() -> None:
    times = HOUR * np.arange(5.0)
    nothing, some = np.full((5, 5), inf), np.zeros(5)
    with pytest.raises(NoPlanError, match="one coil alone is beyond the limit") as too_long:
        cheapest(Problem(times, np.array([0.0, 0.0, inf, inf, inf]), nothing, np.full(5, inf), inf))
    assert (too_long.value.place, too_long.value.why) == (1, "limit")

    between = np.triu(np.zeros((5, 5)), 1) + np.tril(np.full((5, 5), inf))
    stock = Stock(Shop(cool=2 * HOUR, grind=30 * HOUR), (), (Pending(2, 0.0, 9 * HOUR, 0.0, 0.0),))
    with pytest.raises(NoPlanError, match="sets are too few: rolls must come off by place 2") as too_few:
        cheapest(Problem(times, np.array([0.0, 0.0, 0.0, inf, inf]), between, some, inf, stock))
    assert (too_few.value.why, too_few.value.ready) == ("sets", 9 * HOUR)

    alone = Stock(Shop(), ())
    with pytest.raises(NoPlanError) as no_other:
        cheapest(Problem(times, np.array([0.0, 0.0, 0.0, inf, inf]), between, some, inf, alone))
    assert no_other.value.ready == inf


def test_arcs_of_the_wrong_shape_or_order_are_refused() -> None:
    with pytest.raises(ValueError, match="3 places need arcs of 3, 3 x 3 and 3"):
        Problem(np.arange(3.0), np.zeros(3), np.zeros((2, 2)), np.zeros(3), 0.0)
    with pytest.raises(ValueError, match="follow one another"):
        Problem(np.array([0.0, 2.0, 1.0]), np.zeros(3), np.zeros((3, 3)), np.zeros(3), 0.0)


def test_hours_count_what_is_open_forwards_and_backwards() -> None:
    """A shop that is open from 6 to 14 and closed from 9:30 to 9:50."""
    hours = Hours(False, (6 * HOUR, 9.5 * HOUR, 9.5 * HOUR + 1200, 14 * HOUR, 30 * HOUR, 38 * HOUR))

    assert hours.after(7 * HOUR, 3 * HOUR) == 10 * HOUR + 1200
    assert hours.before(10 * HOUR + 1200, 3 * HOUR) == 7 * HOUR
    assert hours.after(13 * HOUR, 2 * HOUR) == 31 * HOUR
    assert hours.before(31 * HOUR, 2 * HOUR) == 13 * HOUR
    assert hours.after(37 * HOUR, 2 * HOUR) == inf
    assert hours.before(7 * HOUR, 2 * HOUR) == -inf
    assert hours.opens(0.0) == 6 * HOUR
    assert hours.is_open(6 * HOUR)
    assert not hours.is_open(14 * HOUR)


def test_hours_may_be_taken_out() -> None:
    hours = Hours(False, (6 * HOUR, 14 * HOUR, 30 * HOUR, 38 * HOUR))

    assert hours.without(8 * HOUR, 10 * HOUR).turns == (6 * HOUR, 8 * HOUR, 10 * HOUR, 14 * HOUR, 30 * HOUR, 38 * HOUR)
    assert hours.without(12 * HOUR, 32 * HOUR).turns == (6 * HOUR, 12 * HOUR, 32 * HOUR, 38 * HOUR)
    assert hours.without(6 * HOUR, 14 * HOUR).turns == (30 * HOUR, 38 * HOUR)
    assert Hours().without(0.0, 5.0) == Hours(False, (5.0,))


def test_the_sets_are_followed_through_cooling_grinding_fitting_and_heating() -> None:
    """By hand: off at 1 h, cold at 3 h, ground 3 to 5 h, fitted to 6 h, heated to 7 h."""
    shop = Shop(Hours(), 1, 2 * HOUR, 2 * HOUR, HOUR, HOUR)
    stock = Stock(shop, (2,), (Pending(3, 0.0, HOUR, HOUR, HOUR),))

    course = follow(stock, [1 * HOUR, 2 * HOUR, 6.5 * HOUR], 1, 0.0, 10 * HOUR)

    assert course.on == (2, 3, 1)
    assert course.at == (HOUR, 3 * HOUR, 7.5 * HOUR)  # set 3 is ready at 3 h; the hour lost then is not made up for
    assert [(one.place, one.start / HOUR, one.end / HOUR) for one in course.stays if one.number == 1] == [
        ("on mill", 0, 1),
        ("cooling", 1, 3),
        ("grinding", 3, 5),
        ("fitting", 5, 6),
        ("heating", 6, 7),
        ("ready", 7, 7.5),
        ("on mill", 7.5, 10),
    ]
    assert ready_times(stock) == [-inf, 3 * HOUR]
    assert free_times(stock) == [2 * HOUR]


def test_a_plan_of_few_coils_follows_the_age_at_which_rolls_are_best_changed() -> None:
    """Along many short coils the arcs lead to age replacement (Barlow and Proschan, as in twin.study.replacement)."""
    law = WeibullLife(2.4, 110.0)
    best = age_replacement(law, planned=0.7, damaged=2.1).best
    km = np.arange(0.0, 16 * 73.0, 1.0)

    plan = cheapest(arcs(km, km * 600.0, Wear(law, inf, 0.7, 2.1)))

    runs = np.diff([km[place] for place in plan.places])
    assert np.abs(runs - best).max() <= 1.5
    assert plan.price == pytest.approx(Wear(law, inf, 0.7, 2.1).price_per_km() * km[-1], rel=0.01)


def test_rolls_that_do_not_wear_are_not_changed_before_their_limit() -> None:
    """A shape of one: a planned change never pays (B-O2), so only the limit brings one."""
    km = np.arange(0.0, 200.0, 2.0)
    law = WeibullLife(1.0, 110.0)

    assert cheapest(arcs(km, km * 600.0, Wear(law, inf, 1.0, 10.0))).places == ()
    places = cheapest(arcs(km, km * 600.0, Wear(law, 60.0, 1.0, 10.0))).places
    assert 3 <= len(places) <= 4
    assert max(np.diff([0.0, *(km[place] for place in places)])) <= 60.0


def test_a_moment_in_which_the_mill_stands_anyway_draws_the_change_to_it() -> None:
    km = np.arange(0.0, 120.0, 3.0)
    cover = np.zeros(len(km))
    cover[21] = 1.0

    without = cheapest(arcs(km, km * 600.0, Wear(WeibullLife(2.4, 110.0), inf, 0.7, 2.1)))
    plan = cheapest(arcs(km, km * 600.0, Wear(WeibullLife(2.4, 110.0), inf, 0.7, 2.1), cover=cover))

    assert 21 not in without.places
    assert 21 in plan.places


def test_rolls_beyond_their_limit_come_off_now() -> None:
    km = np.arange(0.0, 50.0, 5.0)

    plan = cheapest(arcs(km, km * 600.0, Wear(WeibullLife(2.4, 110.0), 57.0, 0.7, 2.1), used=58.0))

    assert plan.places[0] == 0


def test_a_plan_made_anew_leaves_the_near_zone_alone_and_does_not_jump_about() -> None:
    law = WeibullLife(2.4, 110.0)
    km = np.arange(0.0, 300.0, 3.0)
    problem = arcs(km, km * 600.0, Wear(law, 90.0, 0.7, 2.1), used=40.0)
    free = cheapest(problem)
    earlier = [float(problem.times[place - 3]) for place in free.places]

    stays = cheapest(steadied(problem, earlier, frozen=float(problem.times[free.places[0]]) + 1.0, price=0.0))
    follows = cheapest(steadied(problem, earlier, price=10.0))

    assert problem.times[stays.places[0]] == earlier[0]
    assert [float(problem.times[place]) for place in follows.places] == earlier
    assert cheapest(steadied(problem, [], frozen=9e9, price=10.0)) == free


def test_nothing_is_added_to_the_near_zone() -> None:
    km = np.arange(0.0, 60.0, 3.0)
    problem = arcs(km, km * 600.0, Wear(WeibullLife(2.4, 110.0), 57.0, 0.7, 2.1), used=30.0)

    plan = cheapest(steadied(problem, [float(problem.times[8])], frozen=float(problem.times[6]), price=0.1))

    assert plan.places[0] == 8


def test_planning_is_timed() -> None:
    times = time_planning(40, repeats=1)

    assert set(times) == {"40 coils without scarce sets", "40 coils with scarce sets"}
    assert all(took > 0.0 for took in times.values())
