"""The morning that a log tells: where the planner stands, when coils came, what was under way."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from logs_study import clean_log
from review_days import line, made_log

from twin.logs import Log
from twin.scenario import Scenario
from twin.scenario.finishing import Knives
from twin.study.review_booked import booked
from twin.study.review_day import Day, days_of, prepare_day, run_days
from twin.study.review_events import causes_of, events_of
from twin.study.review_plan import behind_after, furthest
from twin.study.review_records import Stop
from twin.study.review_scripts import pieces, together
from twin.study.review_wear import Wear

SHARES = ((0.45, 0.33, 0.22), (0.26, 0.2, 0.13, 0.14, 0.17, 0.1), (0.23, 0.1, 0.12, 0.08, 0.05, 0.13, 0.09, 0.1, 0.1))


def planned(shares: Sequence[float], coils: int, behind: Sequence[float]) -> list[int]:
    """Return the patterns of so many coils, each that which is furthest behind its share."""
    own, found = list(behind), []
    for _ in range(coils):
        own = [one + share for one, share in zip(own, shares, strict=True)]
        place = furthest(own, range(len(own)))
        own[place] -= 1.0
        found.append(place)
    return found


@pytest.mark.parametrize("shares", SHARES)
@pytest.mark.parametrize("seed", range(3))
def test_where_the_planner_stands_is_found_from_what_was_planned(shares: Sequence[float], seed: int) -> None:
    """The next 30 coils are then known; a log that begins anywhere settles it within 150 coils."""
    first = np.random.default_rng(seed).uniform(-0.6, 0.6, len(shares)).tolist()
    coils = planned(shares, 380, first)
    found = behind_after(shares, [[one] for one in coils[200:350]])
    assert found.missed <= 0.01
    wrong = np.array(planned(shares, 30, found.coils)) != np.array(coils[350:])
    assert wrong.sum() <= 2


def test_coils_that_nobody_has_slit_yet_are_for_what_the_rule_says() -> None:
    shares = SHARES[1]
    coils = planned(shares, 200, [0.0] * 6)
    gauges = ((0, 1, 4), (2, 5), (3,))
    alike = {place: own for own in gauges for place in own}
    told = [[one] for one in coils[:170]] + [list(alike[one]) for one in coils[170:]]
    assert list(behind_after(shares, told).chosen) == coils


def test_a_pattern_that_may_have_been_held_back_says_nothing_by_not_being_chosen() -> None:
    """The first of three patterns is passed over for twenty coils; the other two keep their shares all the same."""
    shares, behind, coils = (0.4, 0.36, 0.24), [0.0] * 3, []
    for number in range(120):
        behind = [one + share for one, share in zip(behind, shares, strict=True)]
        place = furthest(behind, (1, 2) if 60 <= number < 80 else (0, 1, 2))
        behind[place] -= 1.0
        coils.append(place)
    assert behind_after(shares, [[one] for one in coils], held=(0,)).missed == 0.0


# Days of demo plants


def replay(day: Day) -> tuple[float, float]:
    """Return what was made in a day, and what the line gives with everything as recorded."""
    events = events_of(day)
    scripts = together([day.base, *pieces(day, events, causes_of(day, events)).values()])
    own = booked(day)
    return own.booked_t - own.edges_t, float(run_days(day, scripts, [0], seed=3)[0, -1])


@pytest.mark.parametrize(("name", "good"), [("skerry", 5), ("marram", 5), ("hollin_weir", 4)])
def test_days_of_a_clean_log_replay_from_the_log_alone(name: str, good: int) -> None:
    """Of six days so many within 0.3 %, all within 3 %."""
    log, scenario = clean_log(16, 0, name)
    off = []
    for when in days_of(scenario, log)[3:]:
        made, again = replay(prepare_day(scenario, log, when))
        off += [abs(again - made) / made] if made > 10.0 else []
    assert sum(one < 0.003 for one in off[:6]) >= good
    assert max(off[:6]) < 0.03


def test_the_planner_goes_on_where_it_stood_so_that_the_sequence_is_no_surprise() -> None:
    """On a plant whose planner is never held the recorded sequence is what was to be expected, to the gram."""
    log, scenario = clean_log(20, 0, "skerry")
    day = prepare_day(scenario, log, days_of(scenario, log)[14])
    events = events_of(day)
    told = pieces(day, events, causes_of(day, events))
    others = [own for cause, own in told.items() if cause.kind != "sequence"]
    sequence = next(own for cause, own in told.items() if cause.kind == "sequence")
    with_it = run_days(day, together([day.base, *others, sequence]), [0], seed=3)[0, -1]
    without = run_days(day, together([day.base, *others]), [0], seed=3)[0, -1]
    assert with_it == pytest.approx(without, abs=1e-6)


# What was under way


@pytest.fixture(scope="module")
def week() -> tuple[Scenario, Log]:
    """Return the small line and a clean log of four days."""
    own = line()
    return own, made_log(own, days=4, seed=8)


def test_a_coil_that_waited_for_room_came_when_there_was_some(week: tuple[Scenario, Log]) -> None:
    day = prepare_day(*week, days_of(*week)[2])
    rows = day.records.coils["mill"]
    coil, after = next((a, b) for a, b in zip(rows, rows[1:], strict=False) if b.start - a.end > 600.0)
    wait = Stop("mill", 1, coil.end, after.start - 60.0, "no room", 9999, False, "blocked")
    records = replace(day.records)
    records.__dict__["stops"] = (*day.records.stops, wait)
    assert day.records.came("mill", coil) == coil.end
    assert records.came("mill", coil) == after.start - 60.0


def test_a_coil_that_waited_for_room_when_the_machine_closed_came_by_the_next_morning() -> None:
    """The mill of the plant ends its day at 22:00 with a finished coil for which there is no room until six."""
    log, scenario = clean_log(40, 10, "marram")
    day = prepare_day(scenario, log, date(2026, 5, 15))
    rows = [one for one in day.records.stops_of["mill", 1] if one.kind == "blocked" and one.start < day.begin]
    hours = day.records.hours["mill"]
    closing = next(one for one in reversed(rows) if not bool(hours.is_open(np.array(one.end + 1.0))))
    coil = min(day.records.coils["mill"], key=lambda one: abs(one.end - closing.start))
    following = next(one for one in day.records.coils["mill"] if one.start >= closing.end)
    assert day.records.came("mill", coil) == following.start > closing.end + 3600.0


def test_knives_that_are_being_changed_in_the_morning_are_new(week: tuple[Scenario, Log]) -> None:
    log, scenario = clean_log(20, 0, "hollin_weir")
    day = prepare_day(scenario, log, days_of(scenario, log)[6])
    change = next(one for one in day.records.stops if one.reason == "knives" and one.start > day.begin)
    middle = 0.5 * (change.start + change.end)
    found = Wear(day.records, middle, dict, []).knives()
    knives = getattr(scenario.stations["slitter"], "knives", None)
    assert isinstance(knives, Knives)
    assert found["slitter", 1] == knives.every.value
    assert Wear(day.records, change.start - 1.0, dict, []).knives().get(("slitter", 1), 0.0) < 0.2 * knives.every.value
