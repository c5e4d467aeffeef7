"""Failures: what their clocks count, when repair goes on, what they cost, who is needed; worked out by hand."""

from typing import Any

import pytest
from line.by_hand import COILS, READY, SUPPLY, count, ends, minutes, one, plant, ran, rows, scrapped, spells

STEP = {"kind": "step", "time": "10 min"}
HOURS = {"early": {"open": ["Mon-Fri 00:00-02:00", "Mon-Fri 08:00-10:00"]}}


def failing(every: str, repair: str = "5 min", **more: object) -> dict[str, object]:
    return STEP | {"failures": [{"reason": "break", "every": every, "repair": repair, **more}]}


def test_a_failure_by_running_time_ages_only_while_the_machine_runs() -> None:
    """A coil comes every 20 min, so 25 min of running are reached at minute 20 + 10 + 10 + 10 + 5 = 65."""
    stations = {"supply": SUPPLY | {"every": "20 min"}, "work": failing("25 min") | {"from": "ready", "to": "done"}}
    run = ran(plant({"ready": COILS, "done": COILS}, stations, 80))
    assert rows(run, "events", "time_s", "what", "detail") == [(65, "stop", "break")]
    assert [spell for spell in spells(run, "work") if spell[0] == "down"] == [("down", "break", 65, 70)]
    assert ends(run, "work") == [30, 50, 75]


def test_a_failure_by_the_clock_ages_always() -> None:
    """It strikes at 25 while the machine is starved; 25 min after the repair again."""
    stations = {
        "supply": SUPPLY | {"every": "40 min"},
        "work": failing("25 min", counts="clock") | {"from": "ready", "to": "done"},
    }
    run = ran(plant({"ready": COILS, "done": COILS}, stations, 70))
    assert spells(run, "work") == [
        ("starved", "", 0, 25),
        ("down", "break", 25, 30),
        ("starved", "", 30, 40),
        ("running", "", 40, 50),
        ("starved", "", 50, 55),
        ("down", "break", 55, 60),
        ("starved", "", 60, 70),
    ]


@pytest.mark.parametrize(
    ("every", "first"),
    [("2500 kg", 25), ("0.25 km", 25), ("2.5 pieces", 25)],
)
def test_a_failure_by_what_passes_counts_tonnes_kilometres_or_coils(every: str, first: float) -> None:
    """In 10 min a coil of 1 t and 100 m passes."""
    assert rows(ran(one(failing(every), 40)), "events", "time_s")[0] == (first,)


def test_a_slowed_machine_fails_later_where_tonnes_count_and_at_the_same_time_where_minutes_do() -> None:
    """The second step takes half of what the first could give, so 1 t of the first takes 2 h."""

    def text(every: str) -> str:
        stores = {"looper": {"holds": "strip", "capacity": "0 t"}, "done": {"holds": "strip"}}
        failure = {"reason": "break", "every": every, "repair": "10 min"}
        first = {"kind": "step", "to": "looper", "rate": "1 t/h", "failures": [failure]}
        second = {"kind": "step", "from": "looper", "to": "done", "rate": "0.5 t/h"}
        return plant(stores, {"first": first, "second": second}, 150)

    assert rows(ran(text("1 t")), "events", "time_s") == [(120,)]
    assert rows(ran(text("1 h")), "events", "time_s") == [(60,), (130,)]


def test_work_goes_on_where_it_stopped() -> None:
    """Broken at 14, from 19 on 14 min more until 33, from 38 on until 52."""
    run = ran(one(failing("14 min"), 60))
    assert ends(run, "work") == [10, 25, 40, 50]
    assert count(run, "stops", "work") == 3


def test_repair_goes_on_while_its_own_calendar_is_open() -> None:
    """Broken at 115; closed from 120 to 480. A repair of 30 min by the machine's hours ends at 505, else at 145."""
    own = failing("115 min", "30 min", calendar="always") | {"calendar": "early"}
    as_machine = failing("115 min", "30 min") | {"calendar": "early"}
    assert ends(ran(one(own, 600, calendars=HOURS)), "work")[11] == 485
    assert ends(ran(one(as_machine, 600, calendars=HOURS)), "work")[11] == 510


def test_a_broken_machine_outside_its_hours_is_closed() -> None:
    run = ran(one(failing("115 min", "30 min", calendar="always") | {"calendar": "early"}, 500, calendars=HOURS))
    assert spells(run, "work") == [
        ("running", "", 0, 115),
        ("down", "break", 115, 120),
        ("closed", "", 120, 480),
        ("running", "", 480, 500),
    ]


def test_a_failure_may_scrap_the_coil_in_the_machine() -> None:
    run = ran(one(failing("14 min", coil="scrapped"), 45))
    # The second coil is lost at 14; from 19 on the third is worked until 29, the fourth is lost at 33.
    assert ends(run, "work") == [10, 29]
    assert scrapped(run) == {("work", "break"): 2000}


def test_a_failure_may_scrap_so_many_kilograms_of_the_coil() -> None:
    run = ran(one(failing("15 min", scrap="300 kg"), 30))
    assert rows(run, "coils", "mass_kg", station="work") == [(1000,), (700,)]
    assert scrapped(run) == {("work", "break"): 300}


def test_a_failure_cannot_scrap_more_than_the_coil() -> None:
    run = ran(one(failing("15 min", scrap="5 t"), 34))
    assert scrapped(run) == {("work", "break"): 1000}
    assert ends(run, "work") == [10, 30]


def test_a_repair_waits_for_its_people() -> None:
    """Both machines break at 15 and share one fitter for 10 min each; the one told first is repaired first."""
    both = {"kind": "step", "time": "10 min", "from": "ready"}
    broken = {"reason": "break", "every": "15 min", "repair": "10 min", "needs": "fitter"}
    stations = {
        "supply": SUPPLY,
        "one": both | {"to": "done", "failures": [broken]},
        "two": both | {"to": "gone", "failures": [broken]},
    }
    stores = {"ready": READY, "done": COILS, "gone": COILS}
    run = ran(plant(stores, stations, 35, shared={"fitter": 1}))
    first, second = ("one", "two") if minutes(run, "one", "waiting") == 0 else ("two", "one")
    assert spells(run, first)[:3] == [("running", "", 0, 15), ("down", "break", 15, 25), ("running", "", 25, 35)]
    assert spells(run, second)[:3] == [
        ("running", "", 0, 15),
        ("waiting", "people", 15, 25),
        ("down", "break", 25, 35),
    ]
    assert run.totals.shared_busy_s.tolist() == [20 * 60]


def test_people_come_to_a_machine_that_is_closed_where_its_repair_has_hours_of_its_own() -> None:
    """Broken at 115, closed at 120, the fitters come at 180 and need 60 min; at 480 the machine is whole."""
    work = failing("115 min", "60 min", calendar="always", needs="fitters") | {"calendar": "early"}
    calendars = HOURS | {"late": {"open": ["Mon 03:00-12:00"]}}
    fitters = {"count": 1, "calendar": "late"}
    run = ran(one(work, 600, calendars=calendars, shared={"fitters": fitters}))
    assert spells(run, "work")[1:4] == [
        ("waiting", "people", 115, 120),
        ("closed", "", 120, 480),
        ("running", "", 480, 595),
    ]


def test_a_cause_that_strikes_during_another_stop_has_its_turn_after_it() -> None:
    slow = {"reason": "slow", "every": "12 min", "repair": "20 min"}
    clocked = {"reason": "clocked", "every": "15 min", "counts": "clock", "repair": "4 min"}
    run = ran(one(STEP | {"failures": [slow, clocked]}, 45))
    assert spells(run, "work") == [
        ("running", "", 0, 12),
        ("down", "slow", 12, 32),
        ("down", "clocked", 32, 36),
        ("running", "", 36, 45),
    ]


def test_a_coil_that_ends_at_the_instant_of_a_failure_is_whole_and_the_next_one_is_struck() -> None:
    run = ran(one(failing("20 min", coil="scrapped"), 26))
    assert ends(run, "work") == [10, 20]
    assert scrapped(run) == {("work", "break"): 1000}
    assert spells(run, "work")[1] == ("down", "break", 20, 25)


def crane_plant(work: dict[str, Any], minutes: float) -> str:
    """Two like machines draw on one store and share a crane."""
    stores = {"ready": READY, "done": COILS}
    machine = {"from": "ready", "to": "done", "machines": 2, **work}
    return plant(stores, {"supply": SUPPLY, "work": machine}, minutes, shared={"crane": 1})


def test_a_coil_scrapped_while_it_is_lifted_frees_the_crane() -> None:
    """At 12 machine 2 lifts (since 8, till 16) and machine 1 works: both coils are scrapped, and both go on."""
    failure = {"reason": "break", "every": "12 min", "counts": "clock", "repair": "1 min", "coil": "scrapped"}
    handling = {"load": "8 min", "needs": "crane"}
    run = ran(crane_plant({"kind": "step", "time": "20 min", "handling": handling, "failures": [failure]}, 24))
    assert scrapped(run) == {("work", "break"): 2000}
    # From 13 on one lifts until 21, the other from then on.
    lifting = sorted(spell for machine in (1, 2) for spell in spells(run, "work", machine) if spell[0] == "waiting")
    assert lifting == [("waiting", "crane", 0, 8), ("waiting", "crane", 13, 21)]
