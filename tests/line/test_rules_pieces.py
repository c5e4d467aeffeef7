"""Cutters and profilers: rings into pieces, pieces into profiles, changes of ring, width and tools; by hand.

A ring of 100 kg and 1 mm x 500 mm is 20 m long; a piece of 1 m weighs 5 kg, so a ring gives 20 pieces.
"""

from collections.abc import Mapping
from typing import Any

import pytest
from line.by_hand import COIL, COILS, PIECES, SUPPLY, Parts, count, good, plant, ran, rows, scrapped, spells

PRODUCTS = {
    "short": {"thickness": "1 mm", "girth": "500 mm", "length": "1 m"},
    "long": {"thickness": "1 mm", "girth": "500 mm", "length": "2 m"},
}
PATTERNS = {
    "S": {"count": 1, "thickness": "1 mm", "rings": {"short": 2}},
    "L": {"count": 1, "thickness": "1 mm", "rings": {"long": 2}},
}
SHORT = {"S": {"share": "100 %", "thickness": "1 mm", "rings": {"short": 2}}}
CUTTER = {"kind": "cutter", "rate": "2 pieces/min"}
PROFILER = {"kind": "profiler", "speed": "1 m/min"}
EVERY = "1000 h"


def cutting(
    cutter: Parts,
    total: float,
    *,
    profiler: Parts | None = None,
    room: int | None = 10,
    patterns: Parts = SHORT,
    every: str = EVERY,
    **top: Any,  # noqa: ANN401
) -> str:
    """Return a slitter that makes two rings of 100 kg in 2 min of the coils that come, and what works them."""
    coil = COIL | {"mass": "200 kg"}
    stores: dict[str, Any] = {"ready": COILS, "rings": COILS, "done": PIECES}
    stations: dict[str, Any] = {
        "supply": SUPPLY | {"coil": coil, "every": every},
        "slitter": {"kind": "slitter", "from": "ready", "to": "rings", "speed": "10 m/min"},
        "cutter": {"from": "rings", "to": "done" if profiler is None else "blanks"} | cutter,
    }
    if profiler is not None:
        stores["blanks"] = PIECES if room is None else PIECES | {"capacity": room}
        stations["profiler"] = {"from": "blanks", "to": "done"} | profiler
    return plant(stores, stations, total, **({"products": PRODUCTS, "patterns": patterns} | top))


def test_a_ring_is_threaded_and_cut_into_pieces() -> None:
    """The coil of minute 1 is slit until 3; 1 min of change and 10 min of cutting for each ring."""
    run = ran(cutting(CUTTER | {"coil_change": "1 min"}, 30, every="1000 min", start=start_with(1)))
    assert spells(run, "cutter")[:6] == [
        ("starved", "", 0, 2),
        ("setup", "coil change", 2, 3),
        ("running", "", 3, 13),
        ("setup", "coil change", 13, 14),
        ("running", "", 14, 24),
        ("starved", "", 24, 30),
    ]
    assert good(run, "short") == (200, 40)
    assert count(run, "coils", "cutter") == 2


def start_with(coils: int | Mapping[str, int]) -> dict[str, Any]:
    """Return a state at the start in which coils lie before the slitter."""
    return {"stores": {"ready": coils}}


def test_ends_and_what_is_too_short_for_a_piece_are_scrap() -> None:
    """Of 100 kg 8 kg are lost as ends: 92 kg give 18 pieces of 5 kg, and 2 kg more are left over."""
    run = ran(cutting(CUTTER | {"end_scrap": "8 kg"}, 30, start=start_with(1)))
    assert good(run, "short") == (180, 36)
    assert scrapped(run) == {("cutter", "ends"): 20}


def test_a_shear_is_as_fast_as_the_slower_of_strip_and_strokes() -> None:
    """At 4 m/min and 3 strokes a minute short pieces come every 20 s, long ones every 30 s."""
    cutter = {"kind": "cutter", "speed": "4 m/min", "strokes": "3 strokes/min"}
    run = ran(cutting(cutter, 60, patterns=PATTERNS, start=start_with({"S": 1, "L": 1})))
    found = rows(run, "coils", "product", "start_s", "end_s", station="cutter")
    assert [(product, round(end - start, 3)) for product, start, end in found] == [
        ("short", pytest.approx(20 / 3, abs=1e-3)),
        ("short", pytest.approx(20 / 3, abs=1e-3)),
        ("long", 5),
        ("long", 5),
    ]


def test_a_cutter_stays_with_its_product_while_a_ring_of_it_is_ready_and_then_changes_the_width() -> None:
    cutter = CUTTER | {"coil_change": "1 min", "width_change": "5 min"}
    run = ran(cutting(cutter, 60, patterns=PATTERNS, start=start_with({"S": 1, "L": 1})))
    assert spells(run, "cutter")[1:9] == [
        ("setup", "coil change", 2, 3),
        ("running", "", 3, 13),
        ("setup", "coil change", 13, 14),
        ("running", "", 14, 24),
        ("setup", "tool change", 24, 30),
        ("running", "", 30, 35),
        ("setup", "coil change", 35, 36),
        ("running", "", 36, 41),
    ]


def test_what_a_change_scraps_comes_out_of_the_ring() -> None:
    cutter = CUTTER | {"coil_change": {"time": "1 min", "scrap": "5 kg"}}
    run = ran(cutting(cutter, 40, start=start_with(1)))
    assert good(run, "short") == (190, 38)
    assert scrapped(run) == {("cutter", "ends"): 10}


def test_a_ring_is_lifted_in_by_the_crane_before_it_is_threaded() -> None:
    cutter = CUTTER | {"coil_change": "1 min", "handling": {"load": "3 min", "needs": "crane"}}
    run = ran(cutting(cutter, 20, start=start_with(1), shared={"crane": 1}))
    assert spells(run, "cutter")[:4] == [
        ("starved", "", 0, 2),
        ("running", "", 2, 5),
        ("setup", "coil change", 5, 6),
        ("running", "", 6, 19),
    ]


def test_a_profiler_is_fed_by_its_cutter_through_a_store_that_fills_and_empties() -> None:
    """The cutter gives 2 a minute, the profiler takes 1: after 10 min 10 blanks lie there, then both keep one pace."""
    run = ran(cutting(CUTTER, 60, profiler=PROFILER, start=start_with(1)))
    assert rows(run, "states", "state", "slowed", "start_s", "end_s", station="cutter")[1:4] == [
        ("running", False, 2, 12),
        ("running", True, 12, 32),
        ("starved", False, 32, 60),
    ]
    # 20 blanks of the first ring until 12, 20 of the second at the profiler's pace until 32; then 10 blanks are left.
    assert spells(run, "profiler") == [("starved", "", 0, 2), ("running", "", 2, 42), ("starved", "", 42, 60)]
    assert good(run, "short") == (200, 40)


def test_without_a_place_between_them_cutter_and_profiler_keep_one_pace() -> None:
    run = ran(cutting(CUTTER, 60, profiler=PROFILER, room=0, start=start_with(1)))
    assert spells(run, "profiler")[1] == ("running", "", 2, 42)
    assert spells(run, "cutter")[1] == ("running", "", 2, 42)
    assert count(run, "slowed_s", "cutter") == pytest.approx(40 * 60 * 0.5)


def test_a_share_of_the_profiles_is_scrap() -> None:
    run = ran(cutting(CUTTER, 60, profiler=PROFILER | {"scrap": "5 %"}, start=start_with(1)))
    assert good(run, "short") == pytest.approx((190, 38))
    assert scrapped(run) == {("profiler", "pieces"): pytest.approx(10)}


def test_a_pair_changes_its_product_when_the_blanks_between_them_are_gone() -> None:
    """The last short blank leaves the store at 42; then the profiler changes tools while the cutter cuts long ones."""
    profiler = PROFILER | {"tool_change": "6 min", "first_off": "3 pieces"}
    run = ran(cutting(CUTTER, 120, profiler=profiler, patterns=PATTERNS, start=start_with({"S": 1, "L": 1})))
    # Cutter: the first ring until 12, the second at the profiler's pace until 32. Two long rings of 10 pieces from
    # 42 on: 10 fill the store in 5 min; from 48 on the profiler takes one every 2 min.
    assert spells(run, "cutter")[1:6] == [
        ("running", "", 2, 32),
        ("blocked", "", 32, 42),
        ("running", "", 42, 47),
        ("blocked", "", 47, 48),
        ("running", "", 48, 68),
    ]
    assert spells(run, "profiler")[2] == ("setup", "tool change", 42, 48)
    # 20 long pieces of 10 kg, 3 of them spoiled.
    assert good(run, "short") == (200, 40)
    assert good(run, "long") == (170, 17)
    assert scrapped(run) == {("profiler", "first-off"): 30}


def test_the_trace_tells_pieces_under_the_product_that_they_are() -> None:
    profiler = PROFILER | {"tool_change": "6 min"}
    text = cutting(CUTTER, 200, profiler=profiler, patterns=PATTERNS, start=start_with({"S": 2, "L": 2}))
    run = ran(text)
    for station in ("cutter", "profiler"):
        told = {"short": 0.0, "long": 0.0}
        for product, pieces in rows(run, "output", "product", "pieces", station=station):
            told[product] += pieces
        assert told == {"short": pytest.approx(80), "long": pytest.approx(40)}


def test_a_tool_change_at_a_machine_fed_by_pieces_scraps_what_it_says() -> None:
    profiler = PROFILER | {"tool_change": {"time": "6 min", "scrap": "20 kg"}}
    run = ran(cutting(CUTTER, 120, profiler=profiler, patterns=PATTERNS, start=start_with({"S": 1, "L": 1})))
    assert good(run, "long") == (180, 18)
    assert sum(scrapped(run).values()) == pytest.approx(20)


def test_a_profiler_fed_by_rings_spoils_pieces_after_a_tool_change() -> None:
    stores = {"ready": COILS, "rings": COILS, "done": PIECES}
    stations = {
        "supply": SUPPLY | {"coil": COIL | {"mass": "200 kg"}, "every": EVERY},
        "slitter": {"kind": "slitter", "from": "ready", "to": "rings", "speed": "10 m/min"},
        "line": {
            "kind": "profiler",
            "from": "rings",
            "to": "done",
            "speed": {"short": "2 m/min", "long": "4 m/min"},
            "tool_change": "6 min",
            "coil_change": "1 min",
            "first_off": "4 pieces",
        },
    }
    text = plant(stores, stations, 80, products=PRODUCTS, patterns=PATTERNS, start=start_with({"S": 1, "L": 1}))
    run = ran(text)
    # Short rings 3-13 and 14-24; tools and ring 24-31; long rings, 2 a minute: 31-36 and 37-42.
    assert [end for (end,) in rows(run, "coils", "end_s", station="line")] == [13, 24, 36, 42]
    assert good(run, "short") == (200, 40)
    assert good(run, "long") == (160, 16)
    assert scrapped(run) == {("line", "first-off"): 40}


def test_a_gap_between_pieces_slows_a_profiler() -> None:
    """1 m and 0.25 m at 1 m/min: a piece every 1.25 min."""
    run = ran(cutting(CUTTER, 80, profiler=PROFILER | {"gap": "250 mm"}, start=start_with(1)))
    assert spells(run, "profiler")[1] == ("running", "", 2, 52)


def test_failures_count_pieces() -> None:
    """A jam every 15 pieces: the cutter stands for 3 min after 7.5 min of cutting."""
    jam = {"reason": "jam", "every": "15 pieces", "repair": "3 min"}
    run = ran(cutting(CUTTER | {"failures": [jam]}, 40, start=start_with(1)))
    assert [start for state, _, start, _ in spells(run, "cutter") if state == "down"] == [9.5, 20]


def test_a_ring_scrapped_in_mid_cut_loses_what_is_left_of_it() -> None:
    """After 15 of 20 pieces 25 kg are left."""
    jam = {"reason": "jam", "every": "15 pieces", "repair": "3 min", "coil": "scrapped"}
    run = ran(cutting(CUTTER | {"failures": [jam]}, 19, start=start_with(1)))
    assert rows(run, "scrap", "time_s", "kg") == [(9.5, 25)]
    assert spells(run, "cutter")[1:4] == [
        ("running", "", 2, 9.5),
        ("down", "jam", 9.5, 12.5),
        ("running", "", 12.5, 19),
    ]


@pytest.mark.parametrize(("loss", "kg"), [({"coil": "scrapped"}, 100), ({"scrap": "10 kg"}, 10)])
def test_a_ring_that_is_being_threaded_can_be_lost_too(loss: dict[str, str], kg: float) -> None:
    failure = {"reason": "jam", "every": "5 min", "counts": "clock", "repair": "1 min"} | loss
    run = ran(cutting(CUTTER | {"coil_change": "6 min", "failures": [failure]}, 7, start=start_with(1)))
    assert scrapped(run) == {("cutter", "jam"): kg}


def test_pairs_of_machines_have_stores_of_their_own() -> None:
    """Two cutters, two profilers: each ring goes to one pair."""
    two = {"machines": 2}
    run = ran(cutting(CUTTER | two, 60, profiler=PROFILER | two, start=start_with(1)))
    for machine in (1, 2):
        # 10 blanks fill the store at 12; the other 10 are cut at the profiler's pace.
        assert spells(run, "cutter", machine)[1] == ("running", "", 2, 12)
        assert spells(run, "profiler", machine)[1] == ("running", "", 2, 22)
    assert sorted({store for (store,) in rows(run, "levels", "store") if store.startswith("blanks")}) == [
        "blanks 1",
        "blanks 2",
    ]


def test_lead_time_of_a_coil_ends_when_the_last_piece_of_its_last_ring_is_finished() -> None:
    """Delivered at 10, slit until 12; 40 profiles at 1 a minute are finished at 52."""
    run = ran(cutting(CUTTER, 60, profiler=PROFILER, every="10 min", patterns=SHORT))
    assert run.totals.lead_time_s.tolist()[0] == pytest.approx(42 * 60)


def test_a_finished_store_of_pieces_with_a_bound_is_filled_once_and_blocks() -> None:
    text = cutting(CUTTER, 60, start=start_with(1)).replace(
        '"done": {\n   "holds": "pieces"', '"done": {\n   "holds": "pieces", "capacity": 30'
    )
    run = ran(text)
    assert good(run, "short") == (150, 30)
    assert spells(run, "cutter")[1:3] == [("running", "", 2, 17), ("blocked", "", 17, 60)]


def test_a_shear_on_endless_strip_cuts_kilograms_into_pieces() -> None:
    """A caster gives a metre of 510 mm strip a minute: one short piece of 500 mm, and 10 mm of trim, 0.1 kg."""
    stations = {
        "furnace": {"kind": "furnace", "to": "bath", "melt_rate": "60 t/h", "pour": "510 degC"},
        "caster": {
            "kind": "caster",
            "from": "bath",
            "to": "strip",
            "thickness": "1 mm",
            "width": "510 mm",
            "speed": "1 m/min",
        },
        "shear": {"kind": "cutter", "from": "strip", "to": "done", "speed": "3 m/min", "makes": ["short"]},
    }
    stores = {"bath": {"holds": "metal"}, "strip": {"holds": "strip", "capacity": "50 kg"}, "done": PIECES}
    patterns = {"S": {"share": "100 %", "thickness": "1 mm", "rings": {"short": 1}}}
    run = ran(plant(stores, stations, 30, products={"short": PRODUCTS["short"]}, patterns=patterns))
    assert good(run, "short") == pytest.approx((150, 30))
    assert scrapped(run) == {("shear", "trim"): pytest.approx(3)}
    assert rows(run, "states", "state", "slowed", station="shear")[0] == ("running", True)
