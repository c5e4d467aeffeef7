"""Cranes and crews: who waits for whom, ring moves in between, setups and changes that need people; by hand."""

from typing import Any

import pytest
from line.by_hand import COILS, READY, SUPPLY, ends, minutes, one, plant, ran, rows, spells

CRANE = {"crane": 1}
RING = {"ring": {"thickness": "1 mm", "girth": "250 mm", "sold": "coil"}}
PATTERN = {"X": {"share": "100 %", "thickness": "1 mm", "rings": {"ring": 4}}}
TWO = {
    "left": {"thickness": "1 mm", "girth": "500 mm", "length": "1 m"},
    "right": {"thickness": "1 mm", "girth": "500 mm", "length": "2 m"},
}


def lifted(work: dict[str, Any], total: float, *, machines: int = 1, **top: Any) -> str:  # noqa: ANN401
    """Return equal steps of 20 min that lift their coils with one crane."""
    station = {"kind": "step", "time": "20 min", "machines": machines, "handling": work | {"needs": "crane"}}
    return one(station, total, **({"shared": CRANE} | top))


def test_a_machine_lifts_its_coil_in_and_out_with_the_crane() -> None:
    run = ran(lifted({"load": "4 min", "unload": "3 min"}, 60))
    assert ends(run, "work") == [27, 54]
    assert spells(run, "work") == [("running", "", 0, 60)]
    # 4 + 3 for each coil, and the third coil's 4 min.
    assert run.totals.shared_busy_s.tolist() == [(7 + 7 + 4) * 60]


def test_who_asks_first_gets_the_crane_first() -> None:
    run = ran(lifted({"load": "4 min"}, 30, machines=3))
    # By number at one instant: 1 lifts until 4, 2 until 8, 3 until 12.
    assert [minutes(run, "work", "waiting", machine) for machine in (1, 2, 3)] == [0, 4, 8]
    assert [ends(run, "work", machine) for machine in (1, 2, 3)] == [[24], [28], []]
    assert spells(run, "work", 2)[0] == ("waiting", "crane", 0, 4)


def test_two_cranes_lift_at_once() -> None:
    run = ran(lifted({"load": "4 min"}, 30, machines=3, shared={"crane": 2}))
    assert [minutes(run, "work", "waiting", machine) for machine in (1, 2, 3)] == [0, 0, 4]


def test_a_lift_of_no_length_needs_no_crane() -> None:
    """The crane is only for the way out; nothing waits for it, though it is busy."""
    run = ran(lifted({"crane_out_per_ring": "15 min"}, 70))
    assert minutes(run, "work", "waiting") == 0
    assert ends(run, "work") == [20, 40, 60]
    assert run.totals.shared_busy_s.tolist() == [(15 + 15 + 10) * 60]


def test_the_crane_comes_in_its_own_hours_and_ends_what_it_has_begun() -> None:
    """It works from 00:00 to 00:30; a lift begun at 29 ends at 33, the next waits until 60."""
    calendars = {"half": {"open": ["Mon 00:00-00:30", "Mon 01:00-12:00"]}}
    crane = {"count": 1, "calendar": "half"}
    text = one(
        {"kind": "step", "time": "25 min", "handling": {"load": "4 min", "unload": "4 min", "needs": "crane"}},
        70,
        calendars=calendars,
        shared={"crane": crane},
    )
    run = ran(text)
    assert spells(run, "work") == [
        ("running", "", 0, 33),
        ("waiting", "crane", 33, 60),
        ("running", "", 60, 70),
    ]


def slitting(total: float, **more: Any) -> str:  # noqa: ANN401
    """Return a slitter that makes 4 rings of a coil in 10 min, with the crane."""
    handling = {"crane_in": "2 min", "crane_out_per_ring": "3 min", "needs": "crane"}
    slitter = {"kind": "slitter", "speed": "10 m/min", "handling": handling}
    return one(slitter | more, total, shared=CRANE, products=RING, patterns=PATTERN)


def test_rings_are_carried_away_while_the_slitter_goes_on() -> None:
    """In 0-2, slit 2-12; the four rings are carried from 12 on, but the next coil comes in between.

    The slitter asks at 12, when the crane is at its first ring until 15; it lifts the coil in until 17 and then carries
    the other three until 26. The slitter works 17-27.
    """
    run = ran(slitting(27.5))
    assert spells(run, "work") == [
        ("running", "", 0, 12),
        ("waiting", "crane", 12, 15),
        ("running", "", 15, 27),
        ("waiting", "crane", 27, 27.5),
    ]
    # 2 in, 12 for the four rings, 2 in, and half a minute of the second coil's first ring.
    assert run.totals.shared_busy_s.tolist() == pytest.approx([(2 + 3 + 2 + 9 + 0.5) * 60])


def test_a_setup_waits_for_its_setters() -> None:
    """Two slitters change pattern at the same moment and share one setter of 6 min."""
    products = {"ring": RING["ring"], "wide": {"thickness": "1 mm", "girth": "500 mm", "sold": "coil"}}
    patterns = {
        "X": {"count": 2, "thickness": "1 mm", "rings": {"ring": 4}},
        "Y": {"count": 2, "thickness": "1 mm", "rings": {"wide": 2}},
    }
    slitter = {
        "kind": "slitter",
        "speed": "10 m/min",
        "machines": 2,
        "setup": {"time": "6 min", "needs": "setter"},
        "coils_per_pattern": "1 coils",
    }
    before = {"holds": "coils", "capacity": 2}
    run = ran(one(slitter, 30, before=before, shared={"setter": 1}, products=products, patterns=patterns))
    told = [spells(run, "work", machine)[:3] for machine in (1, 2)]
    waits = [spell for spell in told[0] + told[1] if spell[0] == "waiting"]
    assert waits == [("waiting", "setter", 10, 16)]
    assert sorted(spell for spell in told[0] + told[1] if spell[0] == "setup") == [
        ("setup", "pattern", 10, 16),
        ("setup", "pattern", 16, 22),
    ]


def test_a_knife_change_waits_for_its_people() -> None:
    knives = {"every": "1 coils", "takes": "5 min", "needs": "fitter"}
    slitter = {"kind": "slitter", "speed": "10 m/min", "knives": knives, "machines": 2}
    run = ran(one(slitter, 25, shared={"fitter": 1}, products=RING, patterns=PATTERN, before=COILS | {"capacity": 2}))
    assert spells(run, "work", 1)[:2] == [("running", "", 0, 10), ("setup", "knives", 10, 15)]
    assert spells(run, "work", 2)[:3] == [
        ("running", "", 0, 10),
        ("waiting", "people", 10, 15),
        ("setup", "knives", 15, 20),
    ]


def test_a_roll_change_waits_for_its_crew() -> None:
    rolls = {"sets": "unlimited", "change_after": "0.1 km", "change": "5 min", "needs": "crew"}
    mill = {"kind": "mill", "speed": "10 m/min", "rolls": rolls, "machines": 2}
    run = ran(one(mill, 25, shared={"crew": 1}, before=COILS | {"capacity": 2}))
    assert spells(run, "work", 1)[:2] == [("running", "", 0, 10), ("changing_rolls", "limit", 10, 15)]
    assert spells(run, "work", 2)[:3] == [
        ("running", "", 0, 10),
        ("waiting", "people", 10, 15),
        ("changing_rolls", "limit", 15, 20),
    ]


def test_a_tool_change_waits_for_its_setter() -> None:
    """The rings of the second coil are there at 21; the setter comes at 25 and needs 3 min."""
    patterns = {
        "L": {"count": 1, "thickness": "1 mm", "rings": {"left": 2}},
        "R": {"count": 1, "thickness": "1 mm", "rings": {"right": 2}},
    }
    profiler = {"kind": "profiler", "speed": "50 m/min", "tool_change": {"time": "3 min", "needs": "setter"}}
    stations = {
        "supply": SUPPLY | {"every": "10 min"},
        "slitter": {"kind": "slitter", "from": "ready", "to": "rings", "speed": "100 m/min"},
        "profiler": profiler | {"from": "rings", "to": "done"},
    }
    text = plant(
        {"ready": READY, "rings": COILS, "done": {"holds": "pieces"}},
        stations,
        35,
        shared={"setter": {"count": 1, "calendar": "late"}},
        calendars={"late": {"open": ["Mon 00:25-12:00"]}},
        products=TWO,
        patterns=patterns,
    )
    run = ran(text)
    assert rows(run, "coils", "product", "end_s", station="profiler") == [
        ("left", 13),
        ("left", 15),
        ("right", 30),
        ("right", 32),
    ]
    assert spells(run, "profiler")[2:5] == [
        ("starved", "", 15, 21),
        ("waiting", "setter", 21, 25),
        ("setup", "tool change", 25, 28),
    ]
