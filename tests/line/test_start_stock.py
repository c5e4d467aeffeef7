"""The plant's state now: what lies in the stores when a run begins, worked out by hand."""

from typing import Any

import pytest
from line.by_hand import COIL, COILS, PIECES, STRIP, SUPPLY, Parts, count, ends, good, plant, ran, rows, spells

from twin.line import Run
from twin.scenario import ScenarioError

STEP: dict[str, Any] = {"kind": "step", "time": "10 min"}
PRODUCTS = {
    "short": {"thickness": "1 mm", "girth": "500 mm", "length": "1 m"},
    "long": {"thickness": "1 mm", "girth": "500 mm", "length": "2 m"},
}
PATTERNS = {
    "S": {"share": "75 %", "thickness": "1 mm", "rings": {"short": 2}},
    "L": {"share": "25 %", "thickness": "1 mm", "rings": {"long": 2}},
}


def stocked(stores: Parts, total: float, **rest: Any) -> Run:  # noqa: ANN401
    """Run a slitter, a cutter and a profiler to which no coil comes but those that lie there."""
    stations = {
        "supply": SUPPLY | {"every": "1000 h", "coil": COIL | {"mass": "200 kg"}},
        "slitter": {"kind": "slitter", "from": "ready", "to": "rings", "speed": "10 m/min"},
        "cutter": {"kind": "cutter", "from": "rings", "to": "blanks", "rate": "2 pieces/min"},
        "profiler": {"kind": "profiler", "from": "blanks", "to": "done", "speed": "1 m/min"},
    }
    own = {"ready": COILS | rest, "rings": COILS, "blanks": PIECES | {"capacity": 60}, "done": PIECES}
    return ran(plant(own, stations, total, start={"stores": stores}, products=PRODUCTS, patterns=PATTERNS))


def test_a_bath_begins_with_what_lies_in_it_heel_and_all() -> None:
    """12 t lie in the bath, 4 t of them its heel: 8 t are cast in 800 min at 10 kg/min while nothing is melted."""
    stations = {
        "furnace": {"kind": "furnace", "to": "bath", "melt_rate": "1 t/h", "pour": "510 degC", "calendar": "never"},
        "caster": {
            "kind": "caster",
            "from": "bath",
            "to": "done",
            "thickness": "1 mm",
            "width": "1 m",
            "speed": "1 m/min",
        },
    }
    stores = {"bath": {"holds": "metal", "capacity": "20 t", "heel": "4 t"}, "done": STRIP}
    calendars = {"never": {"open": ["Sun 20:00-21:00"]}}
    run = ran(plant(stores, stations, 900, start={"stores": {"bath": "12 t"}}, calendars=calendars))
    assert spells(run, "caster") == [("running", "", 0, 800), ("starved", "", 800, 900)]


def test_coils_in_a_store_are_taken_and_weigh_what_coils_there_weigh() -> None:
    """Three coils have been rolled and cropped by 3 %."""
    stations = {
        "supply": SUPPLY | {"every": "1000 h"},
        "mill": {"kind": "mill", "from": "ready", "to": "mid", "speed": "10 m/min", "crop": "3 %"},
        "step": STEP | {"from": "mid", "to": "done"},
    }
    run = ran(plant({"ready": COILS, "mid": COILS, "done": COILS}, stations, 60, start={"stores": {"mid": 3}}))
    assert ends(run, "step") == [10, 20, 30]
    assert rows(run, "coils", "mass_kg", station="step") == [(970,)] * 3
    assert float(run.totals.good_kg.sum()) == 3 * 970
    assert run.totals.mass_error_kg == 0


def test_coils_have_lain_long_enough_to_be_taken() -> None:
    run = stocked({"ready": {"S": 1}}, 10, rest="14 h")
    assert ends(run, "slitter") == [2, 2, 2]


def test_coils_that_may_not_be_kept_longer_have_rested_but_no_more() -> None:
    """They may lie 20 min, of which the 5 min of rest are over: what is not taken within 15 min is scrap."""
    stations = {"supply": SUPPLY | {"every": "1000 h"}, "work": STEP | {"from": "ready", "to": "done"}}
    stores = {"ready": COILS | {"rest": "5 min", "keeps": "20 min"}, "done": COILS}
    run = ran(plant(stores, stations, 60, start={"stores": {"ready": 4}}))
    assert ends(run, "work") == [10, 20]
    assert rows(run, "scrap", "time_s", "kg") == [(15, 1000), (15, 1000)]


def test_coils_of_several_patterns_lie_evenly_between_each_other() -> None:
    stations = {"supply": SUPPLY | {"every": "1000 h"}, "work": STEP | {"from": "ready", "to": "done"}}
    patterns = {name: {"share": "50 %", "thickness": "1 mm", "rings": {"coil": 1}} for name in ("S", "L")}
    products = {"coil": {"thickness": "1 mm", "girth": "1000 mm", "sold": "coil"}}
    start = {"stores": {"ready": {"S": 4, "L": 2}}}
    run = ran(plant({"ready": COILS, "done": COILS}, stations, 60, start=start, products=products, patterns=patterns))
    assert "".join(name for (name,) in rows(run, "coils", "pattern", station="work")) == "SLSSLS"


def test_coils_of_which_only_the_number_is_known_are_of_the_patterns_by_their_shares() -> None:
    """Of 8 coils 6 are S and 2 are L."""
    run = stocked({"ready": 8}, 20)
    told = [name for (name,) in rows(run, "coils", "pattern", station="slitter", product="")]
    assert sorted(told) == ["L"] * 2 + ["S"] * 6


def test_rings_lie_by_product_and_weigh_their_share_of_a_mother_coil() -> None:
    run = stocked({"rings": {"short": 3}}, 120)
    assert rows(run, "coils", "product", "mass_kg", station="cutter") == [("short", 100)] * 3
    assert good(run, "short") == (300, 60)


def test_rings_share_mother_coils_so_that_a_pattern_is_held_as_it_would_be() -> None:
    """Eight rings of two each are four mother coils: Y is held above 3 of them, until a pair of rings is gone."""
    patterns = {
        "X": {"share": "50 %", "thickness": "1 mm", "rings": {"long": 2}},
        "Y": {"share": "50 %", "thickness": "1 mm", "rings": {"short": 2}, "hold_above": {"cutter": "3 coils"}},
    }
    stations = {
        "supply": SUPPLY | {"coil": COIL | {"mass": "200 kg"}, "every": "9 min"},
        "slitter": {"kind": "slitter", "from": "ready", "to": "rings", "speed": "100 m/min"},
        "cutter": {"kind": "cutter", "from": "rings", "to": "done", "rate": "2 pieces/min", "makes": ["short"]},
        "other": {"kind": "cutter", "from": "rings", "to": "more", "rate": "2 pieces/min", "makes": ["long"]},
    }
    stores = {"ready": COILS, "rings": COILS, "done": PIECES, "more": PIECES}
    start = {"stores": {"rings": {"short": 8}}}
    run = ran(plant(stores, stations, 46, start=start, products=PRODUCTS, patterns=patterns))
    # Each ring takes 10 min. Coils come at 9 and 18 (Y is held by four mothers: X), at 27 (three: Y, four again), at
    # 36 (held), at 45 (the next pair was gone at 40).
    told = [name for (name,) in rows(run, "coils", "pattern", station="slitter", product="")]
    assert told == ["X", "X", "Y", "X", "Y"]


def test_pieces_between_two_machines_set_both_for_their_product() -> None:
    """30 long blanks take the profiler 60 min; the cutter, set for them, may not cut short ones until they are gone."""
    run = stocked({"blanks": {"long": 30}, "rings": {"short": 1}}, 90)
    assert good(run, "long") == (300, 30)
    assert spells(run, "cutter")[0] == ("blocked", "", 0, 60)
    assert spells(run, "profiler")[0] == ("running", "", 0, 80)
    assert rows(run, "coils", "product", "end_s", station="cutter") == [("short", 70)]


def test_a_stock_in_a_finished_store_is_no_metal_of_the_line() -> None:
    run = stocked({"done": 500, "ready": {"S": 1}}, 60)
    assert good(run, "short") == (200, 40)
    assert run.totals.mass_error_kg == pytest.approx(0, abs=1e-9)


def test_what_lay_there_at_the_start_has_no_lead_time() -> None:
    """Nobody knows when it came; coils that come later have one."""
    stations = {"supply": SUPPLY | {"every": "25 min"}, "work": STEP | {"from": "ready", "to": "done"}}
    run = ran(plant({"ready": COILS, "done": COILS}, stations, 60, start={"stores": {"ready": 2}}))
    assert ends(run, "work") == [10, 20, 35, 60]
    assert (run.totals.lead_time_s / 60).tolist() == [10, 10]
    assert count(run, "coils", "work") == 4


def test_metal_in_the_line_at_the_start_is_in_the_balance() -> None:
    run = stocked({"ready": {"S": 5, "L": 3}, "rings": {"short": 4}, "blanks": {"short": 20}}, 300)
    lying = 8 * 200 + 4 * 100 + 20 * 5
    worked = float(run.totals.good_kg.sum())
    assert worked < lying
    assert run.totals.wip_kg_s / run.totals.duration_s < lying
    assert run.totals.mass_error_kg == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    ("stores", "words"),
    [({"rings": {"S": 1}}, "no station takes 'S' from 'rings'"), ({"blanks": "12 pieces"}, "one product lie")],
)
def test_a_stock_that_cannot_be_is_refused_in_plain_words(stores: Parts, words: str) -> None:
    with pytest.raises(ScenarioError, match=words):
        stocked(stores, 10)
