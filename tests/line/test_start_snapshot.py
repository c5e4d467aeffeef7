"""A state that is told goes on: a run that begins with the snapshot of another one is that run from there on."""

import json
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, reject
from hypothesis import strategies as st
from line import lines
from line.by_hand import COIL, COILS, PIECES, STRIP, SUPPLY, Parts, ends, plant, ran, rows, spells
from line.judging import clocks, relaxed

from twin.line import Run, simulate
from twin.line.snapshot import state_at
from twin.scenario import ScenarioError, loads
from twin.scenario.calendars import wall_clock

MINUTE = 60.0


def from_there(text: str, minute: float) -> tuple[str, Parts]:
    """Return the scenario that begins with the state at a minute, and that state."""
    scenario = loads(text)
    told = state_at(scenario, minute * MINUTE, clock="pure")
    content = json.loads(text)
    begin = wall_clock(scenario.time, minute * MINUTE)
    content["time"] = {
        "start": begin.strftime("%Y-%m-%d %H:%M"),
        "length": f"{scenario.time.length - minute * MINUTE!r} s",
    }
    content["start"] = told
    return json.dumps(content), told


def later(spells_of_run: list[Any], minute: float) -> list[Any]:
    """Return the spells after a minute, counted from there."""
    return [
        (state, reason, round(max(0.0, start - minute), 6), round(end - minute, 6))
        for state, reason, start, end in spells_of_run
        if end > minute
    ]


def goes_on(text: str, minute: float, *stations: str) -> Run:
    """Check that the run from the snapshot does what the whole run does after that minute; return it."""
    whole = ran(text)
    again, _ = from_there(text, minute)
    rest = ran(again)
    for station in stations:
        assert spells(rest, station) == later(spells(whole, station), minute), station
        told = [round(end - minute, 6) for end in ends(whole, station) if end > minute]
        # A finished coil that waited is told as ending now, so it ends once more.
        assert [end for end in ends(rest, station) if end > 0] == told, station
    return rest


def steps(total: float) -> str:
    stations = {
        "supply": SUPPLY | {"every": "7 min"},
        "first": {"kind": "step", "from": "ready", "to": "gap", "time": "6 min", "machines": 2},
        "second": {"kind": "step", "from": "gap", "to": "end", "time": "9 min"},
        "third": {"kind": "step", "from": "end", "to": "done", "time": "8 min", "calendar": "shift"},
    }
    stores = {"ready": COILS, "gap": COILS | {"capacity": 3}, "end": COILS | {"capacity": 5}, "done": COILS}
    calendars = {"shift": {"open": ["Mon-Sun 01:00-03:00", "Mon-Sun 05:00-23:00"]}}
    return plant(stores, stations, total, calendars=calendars)


@pytest.mark.parametrize("minute", [30, 65, 122, 200, 290])
def test_steps_go_on_from_their_snapshot(minute: float) -> None:
    """The supply's delivery, coils in stores, coils in machines with the time that is left, calendars."""
    goes_on(steps(600), minute, "supply", "second", "third")


def rolling(total: float) -> str:
    shop = {"cool": "20 min", "grind": "30 min", "assemble": "10 min"}
    rolls = {"sets": 3, "change_after": "0.5 km", "change": "12 min", "shop": shop}
    stations = {
        "supply": SUPPLY,
        "mill": {"kind": "mill", "from": "ready", "to": "done", "speed": "10 m/min", "crop": "3 %", "rolls": rolls},
    }
    return plant({"ready": COILS | {"capacity": 1}, "done": COILS}, stations, total)


@pytest.mark.parametrize("minute", [25, 48, 55, 63])
def test_a_mill_goes_on_with_the_kilometres_on_its_rolls(minute: float) -> None:
    """In mid-coil, and in mid-change; sets that are worked on are the rub: only half way through is known of them."""
    whole = ran(rolling(120))
    again, told = from_there(rolling(120), minute)
    rest = ran(again)
    assert spells(rest, "mill")[:2] == later(spells(whole, "mill"), minute)[:2]
    if minute < 50:
        assert float(told["rolls"]["mill"]["used"].split()[0]) == pytest.approx(minute * 10)


def test_no_back_up_roll_is_told_of_where_sets_have_no_end() -> None:
    """Ten changes on, every second with a back-up roll due, and nobody who grinds one."""
    content = json.loads(rolling(600))
    content["stations"]["mill"]["rolls"] |= {"sets": "unlimited"}
    content["stations"]["mill"]["rolls"]["shop"] |= {"back_up": {"every": 2, "grind": "1 h"}}
    text = json.dumps(content)

    again, told = from_there(text, 590)

    assert "changes_to_back_up" not in told["rolls"]["mill"]
    assert loads(again).start.rolls["mill"].used.value > 0.0


def test_a_caster_goes_on_with_the_coil_that_it_winds() -> None:
    stations = {
        "furnace": {"kind": "furnace", "to": "bath", "melt_rate": "1.2 t/h", "pour": "510 degC"},
        "caster": {
            "kind": "caster",
            "from": "bath",
            "to": "coils",
            "thickness": "1 mm",
            "width": "1 m",
            "speed": "1 m/min",
            "coil": {"mass": "170 kg"},
        },
        "step": {"kind": "step", "from": "coils", "to": "done", "time": "16 min"},
    }
    stores = {"bath": {"holds": "metal", "capacity": "500 kg", "heel": "100 kg"}, "coils": COILS, "done": COILS}
    text = plant(stores, stations, 200)
    for minute in (23, 60, 101):
        rest = goes_on(text, minute, "caster", "step", "furnace")
        assert rest.totals.mass_error_kg == pytest.approx(0, abs=1e-6)


def finishing(total: float) -> str:
    products = {"short": {"thickness": "1 mm", "girth": "500 mm", "length": "1 m"}}
    patterns = {"S": {"share": "100 %", "thickness": "1 mm", "rings": {"short": 2}}}
    stations = {
        "supply": SUPPLY | {"coil": COIL | {"mass": "200 kg"}, "every": "25 min"},
        "slitter": {"kind": "slitter", "from": "ready", "to": "rings", "speed": "5 m/min", "setup": "5 min"},
        "cutter": {"kind": "cutter", "from": "rings", "to": "blanks", "rate": "2 pieces/min", "coil_change": "3 min"},
        "profiler": {"kind": "profiler", "from": "blanks", "to": "done", "speed": "1.7 m/min", "scrap": "5 %"},
    }
    stores = {"ready": COILS, "rings": COILS, "blanks": PIECES | {"capacity": 8}, "done": PIECES}
    return plant(stores, stations, total, products=products, patterns=patterns)


@pytest.mark.parametrize("minute", [27, 30, 34, 47, 55, 71])
def test_rings_and_pieces_go_on_from_their_snapshot(minute: float) -> None:
    """Slitting, threading, cutting, and with blanks between cutter and profiler."""
    rest = goes_on(finishing(200), minute, "supply", "slitter", "cutter", "profiler")
    assert rest.totals.mass_error_kg == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("minute", [30, 55, 80])
def test_a_looper_goes_on_with_its_strip(minute: float) -> None:
    """The second machine is away from 20 to 40 and from 60 to 70; the looper fills and empties."""
    stations = {
        "one": {"kind": "step", "to": "looper", "rate": "2 t/h"},
        "two": {"kind": "step", "from": "looper", "to": "done", "rate": "3 t/h", "calendar": "shift"},
    }
    calendars = {"shift": {"open": ["00:00-00:20", "00:40-01:00", "01:10-06:00"]}}
    stores = {"looper": STRIP | {"capacity": "500 kg"}, "done": STRIP}
    goes_on(plant(stores, stations, 120, calendars=calendars), minute, "one", "two")


def test_a_cause_of_stops_begins_anew_after_a_snapshot() -> None:
    """Taken at 20 of a running time of 25 min: the next stop comes 25 min after the snapshot, not 5."""
    failing = {"reason": "break", "every": "25 min", "repair": "12 min"}
    work = {"kind": "step", "from": "ready", "to": "done", "time": "15 min", "failures": [failing]}
    text = plant({"ready": COILS | {"capacity": 1}, "done": COILS}, {"supply": SUPPLY, "work": work}, 100)
    again, _ = from_there(text, 20)
    assert spells(ran(again), "work")[0] == ("running", "", 0, 25)


def test_a_machine_that_is_down_goes_on_being_repaired() -> None:
    failing = {"reason": "break", "every": "25 min", "repair": "12 min"}
    stations = {
        "supply": SUPPLY,
        "work": {"kind": "step", "from": "ready", "to": "done", "time": "10 min", "failures": [failing]},
    }
    text = plant({"ready": COILS | {"capacity": 1}, "done": COILS}, stations, 100)
    again, told = from_there(text, 30)
    assert (
        told["machines"]["work"] == [{"machine": 1, "left": "420.0 s", "state": "down", "reason": "break"}]
        or told["machines"]["work"][0]["state"] == "down"
    )
    assert spells(ran(again), "work")[0] == ("down", "break", 0, 7)


def test_a_snapshot_can_be_read_as_a_start_and_told_again() -> None:
    """What is told of a run that has only just begun is what was told to it."""
    text, told = from_there(finishing(200), 47)
    assert state_at(loads(text), 0.0, clock="pure") == told


def test_a_snapshot_tells_coils_by_pattern_and_rings_by_product() -> None:
    _, told = from_there(finishing(200), 55)
    assert told["stores"]["rings"] == {"short": 1}
    assert set(told["machines"]) == {"supply", "slitter", "cutter", "profiler"}


def test_a_moment_after_the_clock_change_is_told_in_local_time() -> None:
    """Vienna, 29 March 2026: 90 min after 01:00 the clock shows 03:30."""
    scenario = loads(steps(600).replace('"time": {', '"time": {"zone": "Europe/Vienna", "start": "2026-03-29 01:00", '))
    assert wall_clock(scenario.time, 90 * MINUTE).strftime("%H:%M") == "03:30"
    assert wall_clock(scenario.time, 90 * MINUTE).utcoffset() == timedelta(hours=2)
    assert rows(ran(steps(60)), "coils", "machine", station="second")


@pytest.mark.parametrize("minute", [30, 55])
def test_a_run_from_the_plants_state_now_is_the_same_under_every_clock(minute: float) -> None:
    """What happens at the first instant belongs to no warm-up in either of them."""
    text, _ = from_there(finishing(200), minute)
    assert len({simulate(loads(text), clock=clock).totals.digest for clock in clocks()}) == 1


@relaxed(20)
@given(lines.any_line(), st.integers(0, 60 * 60), st.integers(0, 99))
def test_the_state_of_any_line_at_any_moment_can_be_told_and_read_and_its_metal_is_kept(
    text: str, minute: int, run: int
) -> None:
    try:
        scenario = loads(text)
    except ScenarioError:  # a supply without end, say
        reject()
    told = state_at(scenario, minute * MINUTE, clock="pure", run=run)
    begin = wall_clock(scenario.time, minute * MINUTE).strftime("%Y-%m-%d %H:%M")
    content = json.loads(text) | {"start": told, "time": {"start": begin, "length": "40 h"}}
    totals = simulate(loads(json.dumps(content)), clock="pure", run=run).totals
    assert abs(totals.mass_error_kg) <= 1e-9 * (float(totals.good_kg.sum() + totals.charged_kg.sum()) + 1000.0)
    assert totals.time_error_s <= 1e-6
