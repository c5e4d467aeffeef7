"""Patterns: who decides on them, how a slitter stays with them, what rings become; worked out by hand.

A slitter at 10 m/min slits a coil of 1 t, 100 m of 1 m x 1 mm, in 10 min.
"""

from collections.abc import Mapping
from itertools import groupby
from typing import Any

import pytest
from line.by_hand import (
    COIL,
    COILS,
    PIECES,
    READY,
    SUPPLY,
    Parts,
    ends,
    good,
    one,
    plant,
    ran,
    rows,
    scrapped,
    spells,
)

from twin.line import Run

PRODUCTS = {
    "a": {"thickness": "1 mm", "girth": "250 mm", "sold": "coil"},
    "b": {"thickness": "1 mm", "girth": "480 mm", "sold": "coil"},
    "c": {"thickness": "1 mm", "girth": "900 mm", "sold": "coil"},
}
SLITTER = {"kind": "slitter", "speed": "10 m/min"}


def pattern(rings: Mapping[str, int], **more: object) -> dict[str, object]:
    return {"thickness": "1 mm", "rings": rings, **more}


def slit(patterns: Parts, total: float, slitter: Parts = SLITTER, **top: Any) -> str:  # noqa: ANN401
    """Return a slitter before which a coil is always ready."""
    return one(slitter, total, **({"products": PRODUCTS, "patterns": patterns} | top))


def order(run: Any) -> list[str]:  # noqa: ANN401
    """Return the patterns of the mother coils in the order in which they were slit."""
    return [name for (name,) in rows(run, "coils", "pattern", station="work", product="")]


def test_a_mother_coil_is_slit_into_its_rings_and_trim() -> None:
    """2 x 250 + 480 of 1000 mm: rings of 250, 250 and 480 kg, and 20 kg of trim."""
    run = ran(slit({"X": pattern({"a": 2, "b": 1}, share="100 %")}, 12))
    assert rows(run, "coils", "product", "mass_kg", "parent") == [
        ("", 1000, -1),
        ("a", 250, 1),
        ("a", 250, 1),
        ("b", 480, 1),
    ]
    assert scrapped(run) == {("work", "trim"): 20}
    assert (good(run, "a"), good(run, "b")) == ((500, 2), (480, 1))


def test_a_coil_takes_loading_threading_running_and_handling_of_its_rings() -> None:
    """3 + 2 + 10 + 1 + 4 x 0.5 + 2 = 20 min."""
    slitter = SLITTER | {"handling": {"load": "3 min", "unload": "2 min"}, "thread": "2 min", "stop_start": "1 min"}
    run = ran(slit({"X": pattern({"a": 4}, share="100 %")}, 45, slitter | {"per_ring": "0.5 min"}))
    assert ends(run, "work") == [20] * 5 + [40] * 5


def test_patterns_keep_their_shares() -> None:
    """Of 60, 30 and 10 %: each time the pattern that lacks most."""
    patterns = {
        "X": pattern({"a": 4}, share="60 %"),
        "Y": pattern({"b": 2}, share="30 %"),
        "Z": pattern({"c": 1}, share="10 %"),
    }
    told = order(ran(slit(patterns, 201, before=READY)))
    # After n coils each pattern has been made within one of n times its share.
    for n in range(1, 21):
        for name, share in (("X", 0.6), ("Y", 0.3), ("Z", 0.1)):
            assert abs(told[:n].count(name) - n * share) < 1.0
    assert told[:3] == ["X", "Y", "X"]


def test_counts_repeat_as_a_round() -> None:
    patterns = {"X": pattern({"a": 4}, count=2), "Y": pattern({"b": 2}, count=1)}
    assert order(ran(slit(patterns, 71))) == ["X", "X", "Y", "X", "X", "Y", "X"]


def test_a_plan_repeats() -> None:
    patterns = {"X": pattern({"a": 4}), "Y": pattern({"b": 2})}
    plan = {"repeat": [{"pattern": "Y", "coils": 2}, {"pattern": "X", "coils": 1}]}
    assert order(ran(slit(patterns, 71, plan=plan))) == ["Y", "Y", "X", "Y", "Y", "X", "Y"]


def test_a_dated_plan_goes_on_to_its_next_step_when_that_begins_or_the_step_is_done() -> None:
    """Coils are planned when they are delivered, every 10 min: X from 00:00, Y from 00:45, Z from 09:00."""
    patterns = {"X": pattern({"a": 4}), "Y": pattern({"b": 2}), "Z": pattern({"c": 1})}
    plan = [
        {"from": "2026-01-05 00:00", "pattern": "X", "coils": 50},
        {"from": "2026-01-05 00:45", "pattern": "Y", "coils": 2},
        {"from": "2026-01-05 09:00", "pattern": "Z", "coils": 1},
    ]
    stations = {"supply": SUPPLY | {"every": "10 min"}, "work": SLITTER | {"from": "ready", "to": "done"}}
    stores = {"ready": COILS, "done": COILS}
    run = ran(plant(stores, stations, 111, plan=plan, products=PRODUCTS, patterns=patterns))
    # Delivered at 10 ... 40: X; at 50 and 60: Y; at 70: Z, for Y is done; then all alike, those that lack most first.
    assert order(run)[:7] == ["X", "X", "X", "X", "Y", "Y", "Z"]
    assert order(run)[7:] == ["Z", "Y", "Z"]


def test_a_pattern_is_held_while_a_station_has_more_coils_before_it() -> None:
    """Y's rings go to a slow cutter: while more than 2 mother coils of Y are on their way, only X is planned."""
    products = PRODUCTS | {"sheet": {"thickness": "1 mm", "girth": "480 mm", "length": "1 m"}}
    patterns = {
        "X": pattern({"a": 4}, share="50 %"),
        "Y": pattern({"sheet": 2}, share="50 %", hold_above={"cutter": "2 coils"}),
    }
    stations = {
        "supply": SUPPLY,
        "work": SLITTER | {"from": "ready", "to": "rings"},
        "cutter": {"kind": "cutter", "from": "rings", "to": "sheets", "rate": "0.5 pieces/min", "makes": ["sheet"]},
    }
    stores = {"ready": READY, "rings": COILS, "sheets": PIECES}
    run = ran(plant(stores, stations, 120, products=products, patterns=patterns))
    # A ring of 100 pieces takes 200 min: no Y is ever finished, so three of them are begun and no more.
    assert order(run).count("Y") == 3
    assert order(run)[:6] == ["X", "Y", "X", "Y", "X", "Y"]
    assert set(order(run)[6:]) == {"X"}


def test_where_every_pattern_is_held_the_one_that_lacks_most_is_planned_all_the_same() -> None:
    patterns = {"X": pattern({"a": 4}, share="100 %", hold_above={"work": "0 coils"})}
    assert order(ran(slit(patterns, 31))) == ["X", "X", "X"]


# The slitter's own choice


def staying(stay: str | dict[str, Any], counts: Mapping[str, int], total: float, **more: Any) -> Any:  # noqa: ANN401
    """Run a slitter before which nine coils lie from the beginning."""
    rings = {"X": {"a": 4}, "Y": {"b": 2}, "Z": {"c": 1}}
    patterns = {name: pattern(rings[name], share="30 %") for name in counts}
    slitter = SLITTER | {"coils_per_pattern": stay, "setup": "5 min"} | more
    stations = {
        "supply": SUPPLY | {"every": "1000 h"},
        "work": slitter | {"from": "ready", "to": "done"},
    }
    start = {"stores": {"ready": dict(counts)}}
    return ran(
        plant({"ready": COILS, "done": COILS}, stations, total, start=start, products=PRODUCTS, patterns=patterns)
    )


def runs(names: list[str]) -> list[tuple[str, int]]:
    return [(name, len(list(group))) for name, group in groupby(names)]


def test_a_slitter_stays_with_its_pattern_and_then_takes_that_of_which_most_lie_ready() -> None:
    run = staying("2 coils", {"X": 3, "Y": 5, "Z": 1}, 130)
    # Y: most; after two 3 X, 3 Y, 1 Z lie: no other has more than twice as many, so Y again; then X 3 against Y 1.
    assert runs(order(run)) == [("Y", 4), ("X", 3), ("Y", 1), ("Z", 1)]


def test_a_slitter_prefers_its_pattern_unless_another_has_more_than_twice_as_many_ready() -> None:
    twice = staying("1 coils", {"X": 4, "Y": 5}, 31)
    # Y first (5); then Y 4 against X 4, Y 3 against 4, Y 2 against 4 (not more than twice), Y 1 against 4: X.
    assert runs(order(twice))[0] == ("Y", 3)
    longer = staying("1 coils", {"X": 4, "Y": 5}, 120)
    assert runs(order(longer))[:2] == [("Y", 4), ("X", 4)]


def test_a_setup_comes_when_the_pattern_changes_and_scraps_from_the_next_coil() -> None:
    run = staying("9 coils", {"X": 1, "Y": 2}, 60, setup={"time": "5 min", "scrap": "60 kg"})
    assert spells(run, "work")[:3] == [
        ("running", "", 0, 20),
        ("setup", "pattern", 20, 25),
        ("running", "", 25, pytest.approx(34.4)),
    ]
    assert scrapped(run)[("work", "pattern")] == 60
    # 940 kg are left, 94 m: 9.4 min.


def test_the_first_pattern_of_all_is_found_set_up() -> None:
    run = staying("9 coils", {"X": 1}, 20)
    assert spells(run, "work")[0] == ("running", "", 0, 10)


@pytest.mark.parametrize(
    ("every", "changes"),
    [("0.2 km", [20, 45]), ("2 t", [20, 45]), ("2 coils", [20, 45]), ("20 min", [20, 45])],
)
def test_knives_are_changed_between_coils_after_what_has_passed(every: str, changes: list[float]) -> None:
    slitter = SLITTER | {"knives": {"every": every, "takes": "5 min"}}
    run = ran(slit({"X": pattern({"a": 4}, share="100 %")}, 60, slitter))
    assert [start for state, reason, start, _ in spells(run, "work") if reason == "knives"] == changes


# Where rings and coils go


def sold_from(rings: dict[str, int], girths: dict[str, str], share: str, total: float) -> Run:
    """Run a slitter of one pattern of which a share of the rings is sold as coil, as `ring` and the product's name."""
    products: Parts = {}
    for name, girth in girths.items():
        own = {"thickness": "1 mm", "girth": girth}
        products |= {name: own | {"length": "1 m"}, f"ring {name}": own | {"sold": "coil"}}
    stations = {
        "supply": SUPPLY,
        "work": SLITTER | {"from": "ready", "to": "rings"},
        "cutter": {"kind": "cutter", "from": "rings", "to": "sheets", "rate": "1000 pieces/min"},
    }
    stores = {"ready": READY, "rings": COILS, "sheets": PIECES}
    patterns = {"X": pattern(rings, share="100 %", sold_as_coil=share)}
    return ran(plant(stores, stations, total, products=products, patterns=patterns))


def test_a_share_of_the_rings_is_sold_as_coil() -> None:
    """Of 4 rings of one product 25 % are sold: every fourth."""
    run = sold_from({"a": 4}, {"a": "250 mm"}, "25 %", 41)
    assert good(run, "ring a") == (1000, 4)
    assert good(run, "a")[0] == pytest.approx(3000)


def test_of_two_products_of_a_pattern_the_share_of_each_is_sold_as_coil() -> None:
    """Of 40 coils with a wide and a narrow ring each, 20 wide and 20 narrow rings are sold, not all of one kind."""
    run = sold_from({"wide": 1, "narrow": 1}, {"wide": "600 mm", "narrow": "400 mm"}, "50 %", 401)
    coils = run.totals.coils[run.totals.layout.machines.index(("work", 1))]
    assert coils >= 40
    assert good(run, "ring wide")[1] == coils // 2
    assert good(run, "ring narrow")[1] == coils // 2


def test_a_pattern_may_skip_the_slitter() -> None:
    """W goes as a whole coil from the same store to a sheet line, which trims it to its girth of 900 mm."""
    products = PRODUCTS | {"sheet": {"thickness": "1 mm", "girth": "900 mm", "length": "2 m", "sold": "sheet"}}
    patterns = {"X": pattern({"a": 4}, count=1), "W": pattern({"sheet": 1}, count=1, skips=["work"])}
    stations = {
        "supply": SUPPLY,
        "work": SLITTER | {"from": "ready", "to": "done"},
        "sheets": {"kind": "cutter", "from": "ready", "to": "cut", "makes": ["sheet"], "rate": "10 pieces/min"},
    }
    stores = {"ready": COILS | {"capacity": 2}, "done": COILS, "cut": PIECES}
    run = ran(plant(stores, stations, 51, products=products, patterns=patterns))
    assert set(order(run)) == {"X"}
    # 50 sheets of 18 kg from a coil: 900 kg in 5 min, 100 kg of trim.
    assert rows(run, "scrap", "station", "reason", "kg")[0] == ("sheets", "trim", 100)
    assert rows(run, "coils", "pattern", station="sheets")[0] == ("W",)


def test_the_mill_decides_on_the_pattern_when_it_takes_the_coil_and_rolls_to_its_gauge() -> None:
    """100 m of 2 mm become 200 m of 1 mm at 20 m/min or 400 m of 0.5 mm: 10 and 20 min."""
    coil = COIL | {"thickness": "2 mm", "mass": "2 t"}
    products = {
        "a": {"thickness": "1 mm", "girth": "1000 mm", "sold": "coil"},
        "b": {"thickness": "0.5 mm", "girth": "1000 mm", "sold": "coil"},
    }
    patterns = {
        "X": {"count": 1, "thickness": "1 mm", "rings": {"a": 1}},
        "Y": {"count": 1, "thickness": "0.5 mm", "rings": {"b": 1}},
    }
    passes = {"1 mm": ["1 mm @ 20 m/min"], "0.5 mm": ["0.5 mm @ 20 m/min"]}
    stations = {
        "supply": SUPPLY | {"coil": coil},
        "mill": {"kind": "mill", "from": "ready", "to": "mid", "passes": passes},
        "slitter": {"kind": "slitter", "from": "mid", "to": "done", "speed": "200 m/min"},
    }
    text = plant({"ready": READY, "mid": COILS, "done": COILS}, stations, 65, products=products, patterns=patterns)
    run = ran(text)
    assert rows(run, "coils", "pattern", "end_s", "length_m", "thickness_mm", station="mill") == [
        ("X", 10, 200, 1),
        ("Y", 30, 400, 0.5),
        ("X", 40, 200, 1),
        ("Y", 60, 400, 0.5),
    ]
