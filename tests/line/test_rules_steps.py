"""Coils through steps and stores: order, blocking, handing over, rest, keeping, calendars; worked out by hand."""

import pytest
from line.by_hand import COIL, COILS, READY, SUPPLY, count, ends, minutes, one, plant, ran, rows, spells

STEP = {"kind": "step", "time": "10 min"}
MORNINGS = {"morning": {"open": ["Mon-Fri 06:00-08:00"]}}


def test_a_step_works_one_coil_after_the_other() -> None:
    run = ran(one(STEP, 35))
    assert ends(run, "work") == [10, 20, 30]
    assert spells(run, "work") == [("running", "", 0, 35)]


def test_machines_side_by_side_start_by_their_number() -> None:
    """A coil comes every 4 min: 1 takes that of minute 4, 2 that of minute 8, 1 is free again at 14."""
    supply = SUPPLY | {"every": "4 min"}
    stations = {"supply": supply, "work": STEP | {"from": "ready", "to": "done", "machines": 3}}
    run = ran(plant({"ready": COILS, "done": COILS}, stations, 30))
    assert [ends(run, "work", machine) for machine in (1, 2, 3)] == [[14, 26], [18, 30], [22]]


def test_a_finished_coil_stays_in_the_machine_until_there_is_room_behind() -> None:
    """The second machine takes 25 min a coil and one coil may lie before it."""
    stations = {
        "supply": SUPPLY,
        "first": STEP | {"from": "ready", "to": "gap"},
        "second": {"kind": "step", "time": "25 min", "from": "gap", "to": "done"},
    }
    run = ran(plant({"ready": READY, "gap": COILS | {"capacity": 1}, "done": COILS}, stations, 70))
    # The coil of minute 10 goes through, that of 20 lies in the gap, that of 30 waits in the machine until 35.
    assert spells(run, "first") == [
        ("running", "", 0, 30),
        ("blocked", "", 30, 35),
        ("running", "", 35, 45),
        ("blocked", "", 45, 60),
        ("running", "", 60, 70),
    ]
    assert ends(run, "second") == [35, 60]


def test_a_store_of_no_places_hands_coils_from_machine_to_machine() -> None:
    stations = {
        "supply": SUPPLY,
        "first": STEP | {"from": "ready", "to": "gap"},
        "second": {"kind": "step", "time": "25 min", "from": "gap", "to": "done"},
    }
    run = ran(plant({"ready": READY, "gap": COILS | {"capacity": 0}, "done": COILS}, stations, 60))
    assert spells(run, "first") == [
        ("running", "", 0, 20),
        ("blocked", "", 20, 35),
        ("running", "", 35, 45),
        ("blocked", "", 45, 60),
    ]
    assert ends(run, "second") == [35, 60]


def test_of_two_that_hold_out_a_coil_the_longest_holder_gives_first() -> None:
    stations = {
        "supply": SUPPLY,
        "slow": {"kind": "step", "time": "12 min", "from": "ready", "to": "gap"},
        "quick": {"kind": "step", "time": "5 min", "from": "ready", "to": "gap"},
        "last": {"kind": "step", "time": "10 min", "from": "gap", "to": "done"},
    }
    run = ran(plant({"ready": READY, "gap": COILS | {"capacity": 0}, "done": COILS}, stations, 40))
    # quick ends at 5 (taken at once), 10 (waits until 15); slow ends at 12 and waits behind it until 25.
    assert spells(run, "quick")[:3] == [("running", "", 0, 10), ("blocked", "", 10, 15), ("running", "", 15, 20)]
    assert spells(run, "slow")[:3] == [("running", "", 0, 12), ("blocked", "", 12, 25), ("running", "", 25, 37)]


def test_the_oldest_coil_is_taken_first_whatever_its_pattern() -> None:
    patterns = {name: {"count": 1, "thickness": "1 mm", "rings": {"ring": 1}} for name in ("X", "Y", "Z")}
    products = {"ring": {"thickness": "1 mm", "girth": "1000 mm", "sold": "coil"}}
    text = one(STEP, 60, products=products, patterns=patterns)
    assert [row for (row,) in rows(ran(text), "coils", "pattern", station="work")] == ["X", "Y", "Z"] * 2


def test_a_coil_must_lie_for_the_rest_of_its_store() -> None:
    """Delivered at 4, 8, 12 ...; the first may be taken at 4 + 30 min."""
    stations = {"supply": SUPPLY | {"every": "4 min"}, "work": STEP | {"from": "ready", "to": "done"}}
    run = ran(plant({"ready": COILS | {"rest": "30 min"}, "done": COILS}, stations, 60))
    assert spells(run, "work") == [("starved", "", 0, 34), ("running", "", 34, 60)]
    assert ends(run, "work") == [44, 54]


def test_a_coil_kept_too_long_is_scrap_of_the_station_that_did_not_take_it() -> None:
    """Every 5 min a coil, 10 min of work each: what has lain for 25 min is scrapped."""
    stations = {"supply": SUPPLY | {"every": "5 min"}, "work": STEP | {"from": "ready", "to": "done"}}
    run = ran(plant({"ready": COILS | {"keeps": "25 min"}, "done": COILS}, stations, 61))
    # Taken: coils of 5 at 5, 10 at 15, 15 at 25, 20 at 35, 25 at 45; that of 30 at 55 exactly, when it is 25 min old:
    # too old comes first at one instant, so that of 35 is taken at 55.
    assert rows(run, "scrap", "station", "reason", "time_s", "kg") == [("work", "kept too long", 55, 1000)]
    assert ends(run, "work") == [15, 25, 35, 45, 55]


def test_a_coil_is_delivered_at_its_time_and_waits_before_a_full_store() -> None:
    stations = {
        "supply": SUPPLY | {"every": "4 min"},
        "work": STEP | {"from": "ready", "to": "done"},
    }
    run = ran(plant({"ready": READY, "done": COILS}, stations, 40))
    # Coils of 4 (taken), 8 (lies), 12 waits at the gate until 14; the next one comes 4 min after that.
    assert spells(run, "supply")[:4] == [
        ("running", "", 0, 12),
        ("blocked", "", 12, 14),
        ("running", "", 14, 18),
        ("blocked", "", 18, 24),
    ]


def test_a_delivery_is_turned_away_when_the_store_is_full() -> None:
    supply = SUPPLY | {"every": "4 min", "when_full": "turn away"}
    stations = {"supply": supply, "work": STEP | {"from": "ready", "to": "done"}}
    run = ran(plant({"ready": READY, "done": COILS}, stations, 41))
    # Taken at 4, 14, 24, 34. Those of 8, 16, 28, 36 lie; those of 12, 20, 32, 40 are turned away. So is that of 24:
    # whatever ends at an instant comes before anything starts, so the place is not free yet.
    assert count(run, "turned_away", "supply") == 5
    assert count(run, "coils", "supply") == 5
    # From a coil turned away until the next one that is taken the supply is held back by the line.
    assert run.trace is not None
    states = run.trace.tables["states"]
    held_back = (states["station"] == "supply") & states["slowed"]
    assert (states["start_s"][held_back] / 60).tolist() == [12, 20, 24, 32, 40]
    assert (states["end_s"][held_back] / 60).tolist() == [16, 24, 28, 36, 41]


def test_a_delivery_is_turned_away_where_nobody_takes_it_from_the_gate() -> None:
    """Without a place the line holds only what is worked: of every two coils one is lost."""
    supply = SUPPLY | {"to": "gate", "every": "4 min", "when_full": "turn away"}
    work = {"kind": "step", "time": "6 min", "from": "gate", "to": "done"}
    run = ran(plant({"gate": COILS | {"capacity": 0}, "done": COILS}, {"supply": supply, "work": work}, 41))
    assert ends(run, "work") == [10, 18, 26, 34]
    assert count(run, "turned_away", "supply") == 5


@pytest.mark.parametrize("room", [{}, {"capacity": 0}])
def test_no_more_coils_come_than_the_line_may_hold(room: dict[str, int]) -> None:
    stations = {
        "supply": SUPPLY | {"to": "gate", "limit": 2},
        "first": {"kind": "step", "time": "1 min", "from": "gate", "to": "gap"},
        "second": STEP | {"from": "gap", "to": "done"},
    }
    run = ran(plant({"gate": COILS | room, "gap": COILS, "done": COILS}, stations, 45))
    assert ends(run, "second") == [11, 21, 31, 41]
    assert ends(run, "first") == [1, 2, 12, 22, 32, 42]


def test_work_pauses_when_its_calendar_closes_and_goes_on_where_it_stopped() -> None:
    run = ran(one({"kind": "step", "time": "50 min", "calendar": "morning"}, 31 * 60, calendars=MORNINGS))
    # Monday 06:00 is minute 360: 50 + 50 + 20 until 480, 30 left for Tuesday 06:00, minute 1800.
    assert ends(run, "work") == [410, 460, 1830]
    assert spells(run, "work")[:4] == [
        ("closed", "", 0, 360),
        ("running", "", 360, 480),
        ("closed", "", 480, 1800),
        ("running", "", 1800, 1860),
    ]


def test_a_coil_that_ends_at_closing_time_is_ended() -> None:
    run = ran(one({"kind": "step", "time": "40 min", "calendar": "morning"}, 600, calendars=MORNINGS))
    assert ends(run, "work") == [400, 440, 480]
    assert minutes(run, "work", "running") == 120


def test_at_one_instant_what_ends_comes_before_what_starts() -> None:
    """At 20 the coil of `first` ends and `second` is free: it takes that coil, not the one that came first at 30."""
    stations = {
        "supply": SUPPLY,
        "first": STEP | {"from": "ready", "to": "gap"},
        "second": STEP | {"from": "gap", "to": "done", "failures": []},
    }
    run = ran(plant({"ready": READY, "gap": COILS | {"capacity": 1}, "done": COILS}, stations, 60))
    assert minutes(run, "second", "starved") == 10
    assert minutes(run, "first", "blocked") == 0
    assert run.totals.store_level_s[1] == 0


def test_two_stations_draw_on_one_store_the_downstream_one_first() -> None:
    """Both stand idle when the coil of minute 5 comes; the one told later in the file lies further down."""
    stations = {
        "supply": SUPPLY | {"every": "5 min"},
        "first": {"kind": "step", "time": "12 min", "from": "ready", "to": "done"},
        "second": {"kind": "step", "time": "30 min", "from": "ready", "to": "gone"},
    }
    run = ran(plant({"ready": COILS, "done": COILS, "gone": COILS}, stations, 40))
    assert ends(run, "second") == [35]
    assert ends(run, "first") == [22, 34]


def test_lead_time_runs_from_delivery_to_the_finished_store() -> None:
    stations = {"supply": SUPPLY | {"every": "4 min"}, "work": STEP | {"from": "ready", "to": "done"}}
    run = ran(plant({"ready": COILS, "done": COILS}, stations, 45))
    # Coils come at 4, 8, 12, 16 and leave at 14, 24, 34, 44.
    assert (run.totals.lead_time_s / 60.0).tolist() == [10, 16, 22, 28]


def test_good_tonnes_are_counted_by_local_day() -> None:
    """From Monday 00:00 a coil of 1 t every 8 h; that of midnight belongs to the day that ends."""
    run = ran(one({"kind": "step", "time": "8 h"}, 3 * 24 * 60))
    assert run.totals.day_start_s.tolist() == [0, 86400, 172800]
    assert run.totals.day_good_kg.sum(axis=1).tolist() == [3000, 3000, 3000]


def test_a_finished_store_with_a_bound_blocks_for_ever_once_it_is_full() -> None:
    stations = {"supply": SUPPLY, "work": STEP | {"from": "ready", "to": "done"}}
    run = ran(plant({"ready": READY, "done": COILS | {"capacity": 2}}, stations, 60))
    assert spells(run, "work") == [("running", "", 0, 30), ("blocked", "", 30, 60)]


def test_a_line_that_never_leaves_one_instant_is_refused_in_plain_words() -> None:
    with pytest.raises(ValueError, match="takes no time"):
        ran(one({"kind": "step", "time": "0 min"}, 10))


def test_the_capacity_of_a_store_does_not_count_what_machines_hold() -> None:
    stations = {
        "supply": SUPPLY | {"coil": COIL},
        "work": STEP | {"from": "ready", "to": "done", "machines": 4},
    }
    run = ran(plant({"ready": READY, "done": COILS}, stations, 15))
    assert [ends(run, "work", machine) for machine in (1, 2, 3, 4)] == [[10]] * 4
    assert run.totals.store_peak.tolist()[0] == 1
