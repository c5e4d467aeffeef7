"""Furnace, bath, caster, looper: melting, slowing, holding, stopping, restarting; worked out by hand.

The caster gives strip of 1 m x 1 mm at 1 m/min, that is 10 kg a minute, and winds a coil of 100 kg in 10 min.
"""

from typing import Any

import pytest
from line.by_hand import COILS, STRIP, Parts, count, ends, minutes, plant, ran, rows, scrapped, spells

FURNACE = {"kind": "furnace", "to": "bath", "melt_rate": "60 t/h", "pour": "510 degC"}
CASTER = {"kind": "caster", "from": "bath", "thickness": "1 mm", "width": "1000 mm"}
SLOWED = {"nominal": "1 m/min", "slowest": "0.5 m/min"}
COSTLY = {"patience": "10 min", "restart": {"takes": "60 min", "scrap": "20 kg"}}
BATH = {"holds": "metal", "capacity": "10 t"}


def wound(caster: Parts, total: float, *, room: int | None = None, step: str = "10 min", **top: Any) -> str:  # noqa: ANN401
    """Return a caster that winds coils of 100 kg, which a step takes one by one."""
    stores = {"bath": BATH, "coils": COILS if room is None else COILS | {"capacity": room}, "done": COILS}
    stations = {
        "furnace": FURNACE,
        "caster": CASTER | {"to": "coils", "speed": "1 m/min", "coil": {"mass": "100 kg"}} | caster,
        "step": {"kind": "step", "from": "coils", "to": "done", "time": step},
    }
    return plant(stores, stations, total, **top)


def inline(mill: Parts, total: float, caster: Parts | None = None, **furnace: Any) -> str:  # noqa: ANN401
    """Return a caster and a mill with a looper of 50 kg, that is 5 min of casting, between them."""
    stores = {"bath": BATH, "looper": STRIP | {"capacity": "50 kg"}, "done": STRIP}
    stations = {
        "furnace": FURNACE | furnace,
        "caster": CASTER | {"to": "looper", "speed": SLOWED} | COSTLY | (caster or {}),
        "mill": {"kind": "mill", "from": "looper", "to": "done", "speed": "2 m/min"} | mill,
    }
    return plant(stores, stations, total)


def stopping(every: str, repair: str) -> dict[str, Any]:
    return {"failures": [{"reason": "stop", "every": every, "repair": repair}]}


def test_a_caster_winds_coil_after_coil() -> None:
    run = ran(wound({}, 35))
    assert ends(run, "caster") == [10, 20, 30]
    assert ends(run, "step") == [20, 30]


def test_a_furnace_fills_its_bath_and_is_then_slowed_by_the_cast() -> None:
    """60 t/h against 0.6 t/h: the bath of 10 t is full after 10 000 kg / (1000 - 10) kg/min."""
    run = ran(wound({}, 35))
    slowed = rows(run, "states", "slowed", "start_s", "end_s", station="furnace")
    assert slowed == [
        (False, 0, pytest.approx(10000 / 990, abs=1e-6)),
        (True, pytest.approx(10000 / 990, abs=1e-6), 35),
    ]
    # It melts at 10 of 1000 kg a minute from then on.
    assert count(run, "slowed_s", "furnace") == pytest.approx((35 - 10000 / 990) * 60 * 0.99)


def test_the_heel_of_a_bath_is_never_drawn() -> None:
    """The bath begins with its heel of 4 t; the furnace is down from 20 to 80; the caster takes what is above."""
    furnace = FURNACE | stopping("20 min", "60 min") | {"melt_rate": "1.2 t/h"}
    bath = BATH | {"heel": "4 t"}
    stations = {"furnace": furnace, "caster": CASTER | {"to": "done", "speed": "1 m/min"}}
    run = ran(plant({"bath": bath, "done": STRIP}, stations, 100))
    # 20 min of melting at 20 kg/min less 10 kg/min of casting leave 200 kg: enough for 20 min.
    assert spells(run, "caster") == [
        ("running", "", 0, 40),
        ("starved", "", 40, 80),
        ("running", "", 80, 100),
    ]
    levels = dict(rows(run, "levels", "time_s", "level", store="bath"))
    assert (levels[0], levels[20], levels[40]) == (4000, 4200, 4000)


def test_skimming_stops_the_melting_and_costs_its_share_of_the_charge() -> None:
    furnace = FURNACE | {"melt_rate": "0.6 t/h", "skimming": {"every": "60 min", "takes": "15 min", "loss": "2 %"}}
    furnace |= {"melt_loss": "1 %"}
    stations = {"furnace": furnace, "caster": CASTER | {"to": "done", "speed": "1 m/min"}}
    run = ran(plant({"bath": BATH, "done": STRIP}, stations, 100))
    assert spells(run, "furnace") == [
        ("running", "", 0, 60),
        ("setup", "skimming", 60, 75),
        ("running", "", 75, 100),
    ]
    # 85 min of 10 kg: of 850 kg 1 % is lost in melting and 2 % of the rest in skimming.
    assert count(run, "charged_kg", "furnace") == pytest.approx(850)
    assert scrapped(run) == {("furnace", "melting"): pytest.approx(850 * (1 - 0.99 * 0.98))}


def test_a_full_store_first_slows_the_cast() -> None:
    """One coil may lie; the step takes 25 min a coil, so the caster at half its pace winds 20 min."""
    run = ran(wound({"speed": SLOWED} | COSTLY, 60, room=1, step="25 min"))
    # Coils at 10 (taken), 20 (lies: the store is full). At half speed 75 kg until 35, when the step takes the second;
    # the last 25 kg at full speed. From 37.5 on the store is full again: half speed, 20 min for the next coil.
    assert ends(run, "caster") == [10, 20, 37.5, 57.5]
    slowed = rows(run, "states", "start_s", "end_s", station="caster", slowed=True)
    assert slowed[:2] == [(20, 35), (37.5, 57.5)]


def test_a_cast_that_is_held_goes_on_without_loss_while_patience_lasts() -> None:
    run = ran(wound(COSTLY, 60, room=1, step="22 min"))
    # Coils at 10 (taken), 20 (lies), 30: held until the step takes the second at 32. That of 42 is held until 52, when
    # patience ends; at 54 the step takes one, and the cast is started again.
    assert spells(run, "caster") == [
        ("running", "", 0, 30),
        ("blocked", "", 30, 32),
        ("running", "", 32, 42),
        ("blocked", "", 42, 54),
        ("setup", "restart", 54, 60),
    ]
    assert ends(run, "caster") == [10, 20, 30, 42]


def test_a_cast_out_of_patience_stops_and_costs_a_restart_and_start_scrap() -> None:
    run = ran(wound(COSTLY, 200, room=1, step="60 min"))
    # Coils at 10 (taken), 20 (lies), 30: held till 40, then stopped; the step takes one at 70, the restart ends at 130.
    # 20 kg of start scrap are cast until 132; the next coil is wound at 142 (after the step took one at 130).
    assert spells(run, "caster") == [
        ("running", "", 0, 30),
        ("blocked", "", 30, 70),
        ("setup", "restart", 70, 130),
        ("running", "", 130, 152),
        ("blocked", "", 152, 190),
        ("setup", "restart", 190, 200),
    ]
    assert ends(run, "caster") == [10, 20, 30, 142, 152]
    assert scrapped(run) == {("caster", "start"): 20}


def test_a_break_in_the_cast_costs_its_scrap_after_the_repair_and_the_coil_begun_goes_on() -> None:
    """Broken at 15 with half a coil wound; from 25 on 2 min of scrap, then the other half."""
    failure = {"reason": "break", "every": "15 min", "repair": "10 min", "scrap": "20 kg"}
    run = ran(wound({"failures": [failure]}, 39))
    assert ends(run, "caster") == [10, 32]
    assert scrapped(run) == {("caster", "start"): 20}


def test_a_service_comes_after_so_much_casting_and_scraps_what_it_says() -> None:
    service = {"every": "25 min", "takes": "30 min", "scrap": "10 kg"}
    run = ran(wound({"service": service}, 80))
    assert spells(run, "caster") == [
        ("running", "", 0, 25),
        ("setup", "service", 25, 55),
        ("running", "", 55, 80),
    ]
    assert ends(run, "caster") == [10, 20, 61, 71]
    assert scrapped(run) == {("caster", "start"): 10}


def test_heats_are_numbered_by_what_the_bath_holds() -> None:
    """The bath holds 10 t: with coils of 4 t each the third reaches beyond the first heat."""
    stores = {"bath": BATH, "coils": COILS}
    caster = CASTER | {"to": "coils", "speed": "60 m/min", "coil": {"mass": "4 t"}}
    run = ran(plant(stores, {"furnace": FURNACE, "caster": caster}, 30))
    assert rows(run, "coils", "heat", station="caster")[:4] == [(1,), (1,), (2,), (2,)]


# In line with a mill, through a looper


def test_a_slow_mill_slows_the_cast_once_the_looper_is_full() -> None:
    """The caster gives 10 kg/min, the mill takes 6: the looper of 50 kg is full after 12.5 min."""
    run = ran(inline({"speed": "0.6 m/min"}, 100))
    assert rows(run, "states", "state", "slowed", "start_s", "end_s", station="caster") == [
        ("running", False, 0, 12.5),
        ("running", True, 12.5, 100),
    ]


def test_a_short_stop_of_the_mill_is_bridged_by_looper_and_patience() -> None:
    """The mill stands from 100 to 108; the looper takes 5 min, and from 108 on the mill keeps up again."""
    run = ran(inline(stopping("100 min", "8 min"), 150))
    assert spells(run, "caster") == [("running", "", 0, 105), ("blocked", "", 105, 108), ("running", "", 108, 150)]
    assert scrapped(run) == {}


def test_a_long_stop_of_the_mill_stops_the_cast_and_the_restart_begins_when_the_mill_runs() -> None:
    """Stands from 100 to 140: full at 105, out of patience at 115, restarted from 140 to 200, scrap until 202."""
    run = ran(inline(stopping("100 min", "40 min"), 240))
    assert spells(run, "caster") == [
        ("running", "", 0, 105),
        ("blocked", "", 105, 140),
        ("setup", "restart", 140, 200),
        ("running", "", 200, 240),
    ]
    assert scrapped(run) == {("caster", "start"): 20}
    # The mill empties the looper at 20 kg/min in 2.5 min and gets strip again at 202.
    assert spells(run, "mill")[2:5] == [
        ("running", "", 140, 142.5),
        ("starved", "", 142.5, 202),
        ("running", "", 202, 240),
    ]


def test_a_caster_that_cannot_slow_is_held_at_once() -> None:
    run = ran(inline({"speed": "0.6 m/min"}, 40, {"speed": "1 m/min"}))
    # Full at 12.5; held for 10 min while the mill takes 60 kg: it runs again, with an empty looper, from 22.5.
    assert spells(run, "caster")[:3] == [
        ("running", "", 0, 12.5),
        ("blocked", "", 12.5, 22.5),
        ("running", "", 22.5, 35),
    ]
    assert scrapped(run) == {}


def test_a_caster_whose_stops_cost_nothing_follows_its_neighbours() -> None:
    caster = {"speed": "1 m/min", "patience": "0 min", "restart": {}}
    run = ran(inline({"speed": "0.6 m/min"}, 40, caster))
    assert minutes(run, "caster", "running") == 40


def test_a_caster_without_metal_is_starved_and_restarts_when_metal_comes() -> None:
    """The furnace melts 20 kg/min into a bath of 100 kg and stands from 100 to 200."""
    stores = {"bath": {"holds": "metal", "capacity": "100 kg"}, "done": STRIP}
    stations = {
        "furnace": FURNACE | {"melt_rate": "1.2 t/h"} | stopping("100 min", "100 min"),
        "caster": CASTER | {"to": "done", "speed": SLOWED} | COSTLY,
    }
    run = ran(plant(stores, stations, 300))
    assert spells(run, "caster") == [
        ("running", "", 0, 110),
        ("starved", "", 110, 200),
        ("setup", "restart", 200, 260),
        ("running", "", 260, 300),
    ]


def test_machines_in_a_chain_tell_starved_from_blocked() -> None:
    """Without loopers: one stands from 20 to 40, three from 30 to 60; two lacks strip first and room then."""
    stations = {
        "one": {"kind": "step", "to": "a", "rate": "1 t/h", **stopping("20 min", "20 min")},
        "two": {"kind": "step", "from": "a", "to": "b", "rate": "1 t/h"},
        "three": {"kind": "step", "from": "b", "to": "c", "rate": "1 t/h"},
    }
    clocked = {"reason": "stop", "every": "30 min", "counts": "clock", "repair": "30 min"}
    stations["three"]["failures"] = [clocked]
    none = STRIP | {"capacity": "0 t"}
    run = ran(plant({"a": none, "b": none, "c": STRIP}, stations, 60))
    assert spells(run, "two") == [("running", "", 0, 20), ("starved", "", 20, 40), ("blocked", "", 40, 60)]
    assert spells(run, "one") == [("running", "", 0, 20), ("down", "stop", 20, 40), ("blocked", "", 40, 60)]


def test_a_failure_by_pieces_counts_the_coils_that_are_wound() -> None:
    """2.5 coils of 10 min each."""
    failure = {"reason": "break", "every": "2.5 pieces", "repair": "10 min"}
    run = ran(wound({"failures": [failure]}, 40))
    assert [start for state, _, start, _ in spells(run, "caster") if state == "down"] == [25]
