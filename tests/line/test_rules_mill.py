"""Mills and their rolls: passes, crops, limits, damage, the roll shop, when a change is timed; worked out by hand.

At 10 m/min a coil of 1 t, 100 m of 1 m x 1 mm, passes in 10 min, and 0.1 km wear the rolls.
"""

from typing import Any

import pytest
from line.by_hand import COILS, READY, SUPPLY, ends, minutes, one, plant, ran, rows, scrapped, spells

SHIFT = {"shift": {"open": ["Mon-Fri 00:00-08:00"]}}


def mill(rolls: dict[str, Any], **more: object) -> dict[str, Any]:
    return {"kind": "mill", "speed": "10 m/min", "rolls": {"change": "5 min"} | rolls} | more


def test_a_coil_takes_the_time_of_its_passes_and_of_the_pauses_between() -> None:
    """From 2 mm: 1 mm at 20 m/min (100 m of 1 mm: 5 min) and 0.5 mm at 25 m/min (200 m: 8 min), each with 2 min.

    Half of the greatest speeds is reached, so the passes take 10 and 16 min, and the coil 10 + 16 + 2 x 2 = 30 min.
    """
    coil = {"mass": "1 t", "width": "1000 mm", "thickness": "2 mm"}
    passes = {"0.5 mm": ["1 mm @ 20 m/min", "0.5 mm @ 25 m/min"]}
    station = {
        "kind": "mill",
        "from": "ready",
        "to": "done",
        "passes": passes,
        "between_passes": "2 min",
        "speed_factor": 0.5,
    }
    station |= {"rolls": {"sets": "unlimited", "change_after": "0.29 km", "change": "5 min"}}
    text = plant({"ready": READY, "done": COILS}, {"supply": SUPPLY | {"coil": coil}, "mill": station}, 70)
    run = ran(text)
    assert ends(run, "mill") == [30, 65]
    # 100 m and 200 m through the bite: 0.3 km.
    assert rows(run, "rolls", "km", "why") == [(0.3, "limit"), (0.3, "limit")]


def test_the_ends_are_cropped() -> None:
    run = ran(one({"kind": "mill", "speed": "10 m/min", "crop": "3 %"}, 25))
    assert rows(run, "coils", "mass_kg", station="work") == [(970,), (970,)]
    assert scrapped(run) == {("work", "crop"): 60}


def test_rolls_are_changed_between_two_coils_once_they_have_reached_their_limit() -> None:
    """0.25 km are reached in the third coil, which is ended first."""
    run = ran(one(mill({"sets": "unlimited", "change_after": "0.25 km"}), 70))
    assert spells(run, "work")[:3] == [
        ("running", "", 0, 30),
        ("changing_rolls", "limit", 30, 35),
        ("running", "", 35, 65),
    ]
    assert rows(run, "rolls", "set", "on_s", "off_s", "km", "why", "took_s") == [
        (1, 0, 30, 0.3, "limit", 5),
        (2, 35, 65, 0.3, "limit", 5),
    ]


def test_the_limit_may_be_a_mass() -> None:
    run = ran(one(mill({"sets": "unlimited", "change_after": "2 t"}), 50))
    assert [row for (row,) in rows(run, "rolls", "off_s")] == [20, 45]


def test_the_first_coil_on_new_rolls_is_slower_and_scraps_some() -> None:
    first = {"slower": 1.5, "scrap": "100 kg"}
    run = ran(one(mill({"sets": "unlimited", "change_after": "0.2 km", "first_coil": first}), 60))
    # The rolls at the start are run in. Changed 20-25; then 15 and 10 min; changed 50-55.
    assert ends(run, "work") == [10, 20, 40, 50]
    assert scrapped(run) == {("work", "first coil"): 100}


def test_without_a_first_coil_told_nothing_is_scrapped_after_a_change() -> None:
    run = ran(one(mill({"sets": "unlimited", "change_after": "0.2 km", "damage": "7 km"}), 60))
    assert scrapped(run) == {}


def test_damage_stops_the_mill_in_mid_coil_and_costs_its_scrap() -> None:
    rolls = {"sets": "unlimited", "damage": "0.15 km", "damaged_change": "20 min", "damage_scrap": "400 kg"}
    run = ran(one(mill(rolls), 50))
    # In the middle of the second coil, at 15; from 35 on its other 5 min, then 10 min of the third until 50 exactly.
    assert spells(run, "work")[:3] == [
        ("running", "", 0, 15),
        ("changing_rolls", "damage", 15, 35),
        ("running", "", 35, 50),
    ]
    assert rows(run, "coils", "mass_kg", station="work")[:2] == [(1000,), (600,)]
    assert rows(run, "rolls", "km", "why")[0] == (0.15, "damage")
    assert run.totals.rolls_damages.tolist()[0] >= 1


def test_a_mill_without_a_ready_set_waits_for_one() -> None:
    """One set beside that on the mill; a set is back 60 min after it came off."""
    shop = {"grind": "60 min"}
    run = ran(one(mill({"sets": 2, "change_after": "0.2 km", "shop": shop}), 120))
    # Off at 20, on again from 80; the second set comes off at 45 and there is none until 80.
    assert spells(run, "work") == [
        ("running", "", 0, 20),
        ("changing_rolls", "limit", 20, 25),
        ("running", "", 25, 45),
        ("waiting", "roll set", 45, 80),
        ("changing_rolls", "limit", 80, 85),
        ("running", "", 85, 105),
        ("waiting", "roll set", 105, 120),
    ]
    assert run.totals.rolls_wait_set_s.tolist() == pytest.approx([(35 + 15) * 60])
    assert rows(run, "rolls", "waited_s") == [(0,), (35,)]


def test_a_set_cools_is_ground_fitted_and_heated() -> None:
    shop = {"cool": "10 min", "grind": "20 min", "assemble": "5 min"}
    run = ran(one(mill({"sets": 2, "change_after": "0.2 km", "shop": shop, "heating": "7 min"}), 65))
    assert rows(run, "sets", "state", "start_s", "end_s", set=1) == [
        ("on mill", 0, 20),
        ("cooling", 20, 30),
        ("grinding", 30, 50),
        ("fitting", 50, 55),
        ("heating", 55, 62),
        ("on mill", 62, 65),
    ]
    person = "work roll shop"
    assert spells(run, person) == [("starved", "", 0, 30), ("running", "", 30, 55), ("starved", "", 55, 65)]


def test_one_person_grinds_one_set_after_the_other_and_two_grind_two() -> None:
    def ready(people: int) -> list[float]:
        shop = {"grind": "30 min", "people": people}
        run = ran(one(mill({"sets": 3, "change_after": "0.1 km", "shop": shop}), 100))
        return [end for (end,) in rows(run, "sets", "end_s", state="grinding")][:2]

    # Sets come off at 10 and 25.
    assert ready(1) == [40, 70]
    assert ready(2) == [40, 55]


def test_grinding_pauses_with_the_shift_and_fitting_once_begun_is_ended_after_it() -> None:
    shop = {"grind": "60 min", "assemble": "30 min", "calendar": "shift"}
    early = {"shift": {"open": ["Mon 00:00-01:00", "Mon 02:00-03:00"]}}
    run = ran(one(mill({"sets": 2, "change_after": "0.2 km", "shop": shop}), 240, calendars=early))
    # Ground 20-60 and 120-140; fitted 140-170. The second set: off at 45, ground 170-180, stands; no shift any more.
    assert rows(run, "sets", "state", "end_s", set=1)[1:3] == [("grinding", 140), ("fitting", 170)]
    later = {"shift": {"open": ["Mon 00:00-01:30"]}}
    run = ran(one(mill({"sets": 2, "change_after": "0.2 km", "shop": shop}), 240, calendars=later))
    # Ground 20-80, fitting begun at 80, closed at 90, ended at 110 all the same.
    assert rows(run, "sets", "state", "end_s", set=1)[1:3] == [("grinding", 80), ("fitting", 110)]
    assert spells(run, "work roll shop")[-1] == ("closed", "", 90, 240)


def test_a_back_up_roll_takes_the_grinder_first() -> None:
    shop = {"grind": "10 min", "back_up": {"every": "2 changes", "grind": "40 min"}}
    run = ran(one(mill({"sets": 4, "change_after": "0.2 km", "shop": shop}), 100))
    # Changes at 20 and 45: the second owes a back-up roll, ground 45-85; then the set that came off at 45.
    assert rows(run, "sets", "set", "start_s", "end_s", state="grinding")[:2] == [(1, 20, 30), (2, 85, 95)]


def test_grinding_takes_diameter_off_until_the_set_is_replaced() -> None:
    """From 360 mm, 2 mm each time, scrapped below 357 mm: 360, 358, then 356 is too thin and a new set comes."""
    shop = {"grind": "1 min", "removes": "2 mm", "new": "360 mm", "scrap_below": "357 mm"}
    run = ran(one(mill({"sets": 2, "change_after": "0.2 km", "shop": shop}), 160))
    assert [row for (row,) in rows(run, "rolls", "diameter_mm", set=1)] == [360, 358, 360]


def test_damage_takes_more_diameter_and_more_time_on_the_grinder() -> None:
    shop = {
        "grind": "10 min",
        "extra_after_damage": "15 min",
        "removes": "1 mm",
        "removes_after_damage": "6 mm",
        "new": "360 mm",
    }
    rolls = {"sets": 2, "damage": "0.15 km", "damaged_change": "5 min", "shop": shop}
    run = ran(one(mill(rolls), 80))
    assert rows(run, "sets", "start_s", "end_s", state="grinding")[0] == (15, 40)
    assert [row for (row,) in rows(run, "rolls", "diameter_mm", set=1)][:2] == [360, 354]


def test_sets_without_a_shop_are_ready_again_at_once() -> None:
    run = ran(one(mill({"sets": 1, "change_after": "0.2 km"}), 60))
    assert minutes(run, "work", "waiting") == 0


# When a change is timed


def slow_supply(rule: dict[str, Any], total: float, **rolls: Any) -> str:  # noqa: ANN401
    """A coil comes every 15 min, so that the mill is idle for 5 min between two."""
    station = mill({"sets": "unlimited", "change_after": "5 km", "rule": rule} | rolls)
    stations = {"supply": SUPPLY | {"every": "15 min"}, "mill": station | {"from": "ready", "to": "done"}}
    return plant({"ready": COILS, "done": COILS}, stations, total)


def test_a_starved_moment_is_taken_once_the_rolls_are_far_enough() -> None:
    run = ran(slow_supply({"when idle after": "0.2 km", "keep ready": 0}, 90))
    # Coils 15-25, 30-40: far enough at 40; changed 40-45. Then 45-55, 60-70, changed 70-75.
    assert rows(run, "rolls", "off_s", "why", "km") == [(40, "idle", 0.2), (70, "idle", 0.2)]


def test_the_way_to_an_idle_change_may_be_told_in_tonnes() -> None:
    run = ran(slow_supply({"when idle after": "3 t", "keep ready": 0}, 90))
    assert rows(run, "rolls", "off_s", "why") == [(55, "idle")]


def test_a_blocked_moment_is_taken_too() -> None:
    rolls = {"sets": "unlimited", "change_after": "5 km", "rule": {"when idle after": "0.2 km", "keep ready": 0}}
    stations = {
        "supply": SUPPLY,
        "mill": mill(rolls) | {"from": "ready", "to": "gap"},
        "step": {"kind": "step", "time": "30 min", "from": "gap", "to": "done"},
    }
    run = ran(plant({"ready": READY, "gap": COILS | {"capacity": 1}, "done": COILS}, stations, 60))
    # Coils at 10 (taken), 20 (lies), 30: blocked until 40; changed 30-35 with the coil waiting.
    assert spells(run, "mill")[:4] == [
        ("running", "", 0, 30),
        ("changing_rolls", "idle", 30, 35),
        ("blocked", "", 35, 40),
        ("running", "", 40, 50),
    ]


def test_an_idle_change_is_left_when_too_few_sets_would_stay_ready() -> None:
    """Two sets beside that on the mill: with two to stay ready nothing is changed, with one to stay once."""
    shop = {"grind": "10 h"}
    two = ran(slow_supply({"when idle after": "0.2 km", "keep ready": 2}, 200, sets=3, shop=shop))
    one_stays = ran(slow_supply({"when idle after": "0.2 km", "keep ready": 1}, 200, sets=3, shop=shop))
    assert rows(two, "rolls", "off_s") == []
    assert rows(one_stays, "rolls", "off_s") == [(40,)]


def test_closed_hours_are_taken_when_others_make_the_change() -> None:
    """Closed from 28 to 480; the coil of 15 ended at 25, and the change is made by a calendar of its own."""
    hours = {"early": {"open": ["Mon 00:00-00:28", "Mon 08:00-10:00"]}}
    rule = {"when idle after": "0.1 km", "keep ready": 0}
    rolls = {"sets": "unlimited", "change_after": "5 km", "calendar": "always", "rule": rule, "change": "5 min"}
    stations = {
        "supply": SUPPLY | {"every": "15 min"},
        "mill": mill(rolls, calendar="early") | {"from": "ready", "to": "done"},
    }
    stores = {"ready": COILS | {"rest": "1 min"}, "done": COILS}
    run = ran(plant(stores, stations, 485, calendars=hours))
    assert rows(run, "rolls", "off_s", "why", "km") == [(26, "idle", 0.1)]
    late = mill(rolls | {"calendar": "night"}, calendar="early") | {"from": "ready", "to": "done"}
    hours |= {"night": {"open": ["Mon 01:00-02:00"]}}
    run = ran(plant(stores, stations | {"mill": late}, 485, calendars=hours))
    assert rows(run, "rolls", "off_s", "why", "km") == [(60, "idle", 0.1)]
    assert spells(run, "mill")[3:] == [("closed", "", 28, 480), ("running", "", 480, 485)]


def test_rolls_are_changed_at_fixed_times_between_two_coils() -> None:
    rolls = {"sets": "unlimited", "change_after": "5 km", "rule": {"at": ["Mon 00:25"]}}
    run = ran(one(mill(rolls), 60))
    assert rows(run, "rolls", "off_s", "why") == [(30, "planned")]


def test_a_change_goes_on_while_its_own_calendar_is_open() -> None:
    """At the limit at 20; the crew that changes rolls works from 60 on."""
    calendars = {"late": {"open": ["Mon 01:00-12:00"]}}
    run = ran(one(mill({"sets": "unlimited", "change_after": "0.2 km", "calendar": "late"}), 80, calendars=calendars))
    assert spells(run, "work")[:3] == [
        ("running", "", 0, 20),
        ("changing_rolls", "limit", 20, 65),
        ("running", "", 65, 80),
    ]


# In line


def strip_mill(rolls: dict[str, Any], total: float, **more: Any) -> str:  # noqa: ANN401
    """A mill that draws on strip which a caster gives at 1 m/min."""
    stations = {
        "furnace": {"kind": "furnace", "to": "bath", "melt_rate": "60 t/h", "pour": "510 degC"},
        "caster": {
            "kind": "caster",
            "from": "bath",
            "to": "looper",
            "thickness": "1 mm",
            "width": "1000 mm",
            "speed": "1 m/min",
        },
        "mill": {"kind": "mill", "from": "looper", "to": "done", "speed": "2 m/min", "rolls": rolls, **more},
    }
    done = COILS if "coil" in more else {"holds": "strip"}
    stores = {"bath": {"holds": "metal"}, "looper": {"holds": "strip", "capacity": "50 kg"}, "done": done}
    return plant(stores, stations, total)


def test_a_mill_that_never_ends_a_coil_changes_rolls_in_mid_strip_again_and_again() -> None:
    """100 m at 1 m/min; then 10 min of change fill the looper, which the mill empties at 2 m/min."""
    run = ran(strip_mill({"sets": "unlimited", "change_after": "0.1 km", "change": "10 min"}, 300))
    # 100 m until 100. From 110 on 5 m lie in the looper: 10 m at 2 m/min until 115, then 90 m until 205.
    assert [row for (row,) in rows(run, "rolls", "off_s")] == [100, 205]
    assert [row for (row,) in rows(run, "rolls", "km")] == [0.1, 0.1]


def test_a_mill_in_line_that_winds_coils_changes_rolls_between_two() -> None:
    """A coil of 300 kg is 30 m; 100 m are reached in the fourth."""
    rolls = {"sets": "unlimited", "change_after": "0.1 km", "change": "10 min"}
    run = ran(strip_mill(rolls, 130, coil={"mass": "300 kg"}, crop="1 %"))
    assert ends(run, "mill") == [30, 60, 90, 120]
    assert [row for (row,) in rows(run, "rolls", "off_s")] == [120]
    assert rows(run, "coils", "mass_kg", station="mill")[0] == (297,)
    assert float(run.totals.good_kg.sum()) == pytest.approx(4 * 297)


def test_a_mill_with_no_other_set_has_its_own_ground_while_it_stands() -> None:
    """The only set comes off at 20, is ground for 60 min and goes on again, 2 mm thinner."""
    shop = {"grind": "60 min", "removes": "2 mm", "new": "360 mm"}
    run = ran(one(mill({"sets": 1, "change_after": "0.2 km", "shop": shop}), 190))
    assert spells(run, "work")[:4] == [
        ("running", "", 0, 20),
        ("waiting", "roll set", 20, 80),
        ("changing_rolls", "limit", 80, 85),
        ("running", "", 85, 105),
    ]
    assert rows(run, "rolls", "set", "diameter_mm", "waited_s") == [(1, 360, 60), (1, 358, 60)]


def test_two_mills_with_two_sets_do_not_wait_for_each_other_for_ever() -> None:
    shop = {"grind": "60 min", "people": 1}
    before = COILS | {"capacity": 2}
    run = ran(one(mill({"sets": 2, "change_after": "0.2 km", "shop": shop}, machines=2), 400, before=before))
    assert len(ends(run, "work", 1)) > 4
    assert len(ends(run, "work", 2)) > 4
