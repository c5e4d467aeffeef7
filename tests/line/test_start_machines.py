"""The plant's state now: what machines do and how far rolls have run when a run begins, worked out by hand."""

from typing import Any

import numpy as np
import pytest
from line.by_hand import (
    COIL,
    COILS,
    PIECES,
    SUPPLY,
    Parts,
    ends,
    good,
    minutes,
    plant,
    ran,
    rows,
    scrapped,
    spells,
)
from scipy import stats

from twin.line import Run
from twin.line.start_rolls import residual
from twin.scenario import ScenarioError
from twin.scenario.laws import Constant, Empirical, Exponential, Law, Mixture, Triangular, Weibull

STEP: dict[str, Any] = {
    "kind": "step",
    "time": "10 min",
    "failures": [{"reason": "break", "every": "1 h", "repair": "5 min"}],
}
PRODUCTS = {
    "short": {"thickness": "1 mm", "girth": "500 mm", "length": "1 m"},
    "long": {"thickness": "1 mm", "girth": "500 mm", "length": "2 m"},
}
PATTERNS = {
    "S": {"share": "75 %", "thickness": "1 mm", "rings": {"short": 2}},
    "L": {"share": "25 %", "thickness": "1 mm", "rings": {"long": 2}},
}
ALWAYS = COILS | {"capacity": 1}


def stepping(now: Parts | list[Parts], total: float, step: Parts = STEP, **top: Any) -> Run:  # noqa: ANN401
    """Run a step before which a coil is always ready and that does something at the start."""
    stations = {"supply": SUPPLY, "work": {"from": "ready", "to": "done", **step}}
    return ran(plant({"ready": ALWAYS, "done": COILS}, stations, total, start={"machines": {"work": now}}, **top))


def finishing(start: Parts, total: float, **more: Any) -> Run:  # noqa: ANN401
    """Run a slitter, a cutter and a profiler to which no coils come but those at the start."""
    stations = {
        "supply": SUPPLY | {"every": "1000 h", "coil": COIL | {"mass": "200 kg"}},
        "slitter": {"kind": "slitter", "from": "ready", "to": "rings", "speed": "10 m/min", "setup": "5 min"},
        "cutter": {
            "kind": "cutter",
            "from": "rings",
            "to": "blanks",
            "rate": "2 pieces/min",
            "coil_change": "1 min",
            "width_change": "4 min",
        },
        "profiler": {"kind": "profiler", "from": "blanks", "to": "done", "speed": "1 m/min", "tool_change": "6 min"},
    }
    stores = {"ready": COILS, "rings": COILS, "blanks": PIECES | {"capacity": 60}, "done": PIECES}
    return ran(plant(stores, stations, total, start=start, products=PRODUCTS, patterns=PATTERNS, **more))


def test_a_running_machine_ends_its_coil_when_it_says() -> None:
    run = stepping({"state": "running", "left": "3 min"}, 30)
    assert ends(run, "work") == [3, 13, 23]
    assert float(run.totals.good_kg.sum()) == 3000


def test_a_machine_that_is_down_is_repaired_first() -> None:
    """It holds nothing; one that holds a coil has half of its work before it."""
    assert ends(stepping({"state": "down", "left": "8 min", "reason": "break"}, 30), "work") == [18, 28]
    patterns = {"X": {"share": "100 %", "thickness": "1 mm", "rings": {"coil": 1}}}
    products = {"coil": {"thickness": "1 mm", "girth": "1000 mm", "sold": "coil"}}
    held = stepping({"state": "down", "left": "8 min", "holds": "X"}, 30, products=products, patterns=patterns)
    assert ends(held, "work") == [13, 23]


def test_an_idle_machine_that_holds_a_coil_is_blocked_with_it() -> None:
    patterns = {"X": {"share": "100 %", "thickness": "1 mm", "rings": {"coil": 1}}}
    products = {"coil": {"thickness": "1 mm", "girth": "1000 mm", "sold": "coil"}}
    stations = {
        "supply": SUPPLY,
        "first": STEP | {"from": "ready", "to": "gap"},
        "second": STEP | {"from": "gap", "to": "done"},
    }
    start = {
        "machines": {
            "first": {"state": "idle", "holds": "X"},
            "second": {"state": "running", "left": "7 min", "holds": "X"},
        }
    }
    stores = {"ready": ALWAYS, "gap": COILS | {"capacity": 0}, "done": COILS}
    run = ran(plant(stores, stations, 30, start=start, products=products, patterns=patterns))
    assert spells(run, "first")[0] == ("blocked", "", 0, 7)
    assert ends(run, "second") == [7, 17, 27]


def test_machines_are_told_of_by_their_number() -> None:
    now = [{"machine": 2, "state": "running", "left": "4 min"}]
    run = stepping(now, 16, STEP | {"machines": 2})
    assert (ends(run, "work", 1), ends(run, "work", 2)) == ([10], [4, 14])


def test_a_repair_at_the_start_keeps_its_people_busy() -> None:
    failing = {"reason": "break", "every": "15 min", "repair": "5 min", "needs": "fitter"}
    step = STEP | {"failures": [failing], "machines": 2}
    now = [{"machine": 1, "state": "down", "left": "30 min"}]
    run = stepping(now, 40, step, shared={"fitter": 1})
    # Machine 2 breaks at 15 and waits until 30.
    assert spells(run, "work", 1)[0] == ("down", "break", 0, 30)
    assert spells(run, "work", 2)[:3] == [
        ("running", "", 0, 15),
        ("waiting", "people", 15, 30),
        ("down", "break", 30, 35),
    ]


def test_a_repair_waits_for_who_sets_up_another_machine_whichever_is_told_first() -> None:
    """The only fitter is at a setup until 10; the repair of the machine told of before it has 20 min from then on."""
    slitter = {
        "kind": "slitter",
        "from": "ready",
        "to": "rings",
        "speed": "10 m/min",
        "machines": 2,
        "setup": {"time": "15 min", "needs": "fitter"},
        "failures": [{"reason": "break", "every": "1000 h", "repair": "20 min", "needs": "fitter"}],
    }
    now = [
        {"machine": 1, "state": "down", "reason": "break", "left": "20 min", "set_for": "S"},
        {"machine": 2, "state": "setup", "left": "10 min", "set_for": "S"},
    ]
    stations = {"supply": SUPPLY, "work": slitter}
    stores = {"ready": ALWAYS, "rings": COILS}
    products = {name: own | {"sold": "coil"} for name, own in PRODUCTS.items()}
    for own in products.values():
        own.pop("length")
    run = ran(
        plant(
            stores,
            stations,
            40,
            start={"machines": {"work": now}},
            products=products,
            patterns=PATTERNS,
            shared={"fitter": 1},
        )
    )
    assert spells(run, "work", 1)[:2] == [("waiting", "people", 0, 10), ("down", "break", 10, 30)]
    assert spells(run, "work", 2)[0][2:] == (0, 10)


def casting(now: Parts, total: float) -> Run:
    """Run a caster that winds coils of 100 kg in 10 min and begins with what it does now."""
    stations = {
        "furnace": {
            "kind": "furnace",
            "to": "bath",
            "melt_rate": "60 t/h",
            "pour": "510 degC",
            "skimming": {"every": "1 h", "takes": "5 min"},
        },
        "caster": {
            "kind": "caster",
            "from": "bath",
            "to": "coils",
            "thickness": "1 mm",
            "width": "1 m",
            "speed": "1 m/min",
            "coil": {"mass": "100 kg"},
            "restart": {"takes": "60 min", "scrap": "20 kg"},
            "failures": [{"reason": "break", "every": "1000 h", "repair": "1 h", "scrap": "10 kg"}],
        },
    }
    start = {"stores": {"bath": "5 t"}, "machines": now}
    return ran(plant({"bath": {"holds": "metal", "capacity": "10 t"}, "coils": COILS}, stations, total, start=start))


def test_a_caster_ends_the_coil_that_it_has_begun() -> None:
    run = casting({"caster": {"state": "running", "left": "4 min"}}, 25)
    assert ends(run, "caster") == [4, 14, 24]


def test_a_caster_that_is_started_casts_its_start_scrap_first() -> None:
    run = casting({"caster": {"state": "setup", "left": "8 min"}}, 31)
    assert spells(run, "caster")[0] == ("setup", "restart", 0, 8)
    # 2 min of scrap, then 10 min a coil.
    assert ends(run, "caster") == [20, 30]
    assert scrapped(run) == {("caster", "start"): 20}


def test_a_caster_that_is_down_casts_the_scrap_of_its_break_after_the_repair() -> None:
    run = casting({"caster": {"state": "down", "left": "8 min"}}, 20)
    assert ends(run, "caster") == [19]
    assert scrapped(run) == {("caster", "start"): 10}


def test_a_furnace_in_setup_is_being_skimmed() -> None:
    run = casting({"furnace": {"state": "setup", "left": "3 min"}}, 5)
    assert spells(run, "furnace")[0] == ("setup", "skimming", 0, 3)


def test_a_slitter_is_set_up_for_its_pattern_and_then_takes_it() -> None:
    start = {
        "stores": {"ready": {"S": 1, "L": 3}},
        "machines": {"slitter": {"state": "setup", "left": "2 min", "set_for": "S"}},
    }
    run = finishing(start, 12)
    assert spells(run, "slitter")[:3] == [
        ("setup", "pattern", 0, 2),
        ("running", "", 2, 4),
        ("setup", "pattern", 4, 9),
    ]


def test_a_slitter_that_is_set_for_a_pattern_needs_no_setup() -> None:
    start = {"stores": {"ready": {"S": 1}}, "machines": {"slitter": {"set_for": "S"}}}
    assert spells(finishing(start, 6), "slitter")[0] == ("running", "", 0, 2)
    other = {"stores": {"ready": {"S": 1}}, "machines": {"slitter": {"set_for": "L"}}}
    assert spells(finishing(other, 6), "slitter")[0] == ("setup", "pattern", 0, 5)


def test_a_running_cutter_has_the_pieces_left_that_its_time_gives() -> None:
    """3 min at 2 a minute are 6 pieces, which the profiler works by 6 min and a little tool change is not needed."""
    run = finishing({"machines": {"cutter": {"state": "running", "left": "3 min", "holds": "short"}}}, 20)
    assert rows(run, "coils", "product", "end_s", station="cutter") == [("short", 3)]
    assert good(run, "short") == (30, 6)
    assert spells(run, "profiler") == [("running", "", 0, 6), ("starved", "", 6, 20)]


def test_a_cutter_that_threads_a_ring_cuts_all_of_it() -> None:
    run = finishing({"machines": {"cutter": {"state": "setup", "left": "2 min", "holds": "short"}}}, 40)
    assert spells(run, "cutter")[0] == ("setup", "coil change", 0, 2)
    assert good(run, "short") == (100, 20)


def test_a_cutter_set_for_one_product_changes_its_width_for_another() -> None:
    start = {"stores": {"rings": {"short": 1}}, "machines": {"cutter": {"set_for": "long"}}}
    assert spells(finishing(start, 8), "cutter")[0] == ("setup", "tool change", 0, 5)


def test_a_profiler_in_setup_changes_its_tools() -> None:
    """Short blanks lie before it; its tools for them are ready after 4 min."""
    start = {
        "stores": {"blanks": {"short": 5}},
        "machines": {"profiler": {"state": "setup", "left": "4 min", "set_for": "short"}},
    }
    assert spells(finishing(start, 12), "profiler") == [
        ("setup", "tool change", 0, 4),
        ("running", "", 4, 9),
        ("starved", "", 9, 12),
    ]


# Rolls


def rolling(rolls: Parts, now: Parts, total: float, machine: Parts | None = None) -> Run:
    """Run a mill that takes 10 min and 0.1 km a coil and begins with its rolls as they are."""
    mill = {"kind": "mill", "from": "ready", "to": "done", "speed": "10 m/min", "rolls": {"change": "5 min"} | rolls}
    start: dict[str, Any] = {"rolls": {"mill": now}} | ({"machines": {"mill": machine}} if machine else {})
    return ran(plant({"ready": ALWAYS, "done": COILS}, {"supply": SUPPLY, "mill": mill}, total, start=start))


def test_rolls_have_run_what_they_have_run() -> None:
    run = rolling({"sets": "unlimited", "change_after": "0.5 km"}, {"used": "0.3 km"}, 90)
    assert rows(run, "rolls", "off_s", "km") == [(20, 0.5), (75, 0.5)]


def test_rolls_told_in_tonnes_have_rolled_them() -> None:
    """A tonne is 0.1 km of this strip, so they come off after 0.5 km, of which 0.3 lie before the start."""
    run = rolling({"sets": "unlimited", "change_after": "5 t"}, {"used": "3 t"}, 30)
    assert rows(run, "rolls", "off_s", "km") == [(20, 0.5)]


def test_fresh_rolls_have_their_first_coil_before_them() -> None:
    first = {"slower": 2.0, "scrap": "100 kg"}
    run = rolling({"sets": "unlimited", "change_after": "5 km", "first_coil": first}, {"used": "0 km"}, 35)
    assert ends(run, "mill") == [20, 30]
    assert scrapped(run) == {("mill", "first coil"): 100}


def test_sets_are_where_they_are_and_half_way_through_it() -> None:
    """One set is ground (60 min in all), one cools (40), one waits: the first is ready at 30, the second cold at 20."""
    shop = {"cool": "40 min", "grind": "60 min"}
    now = {"used": "0.4 km", "sets": {"grinding": 1, "cooling": 1, "waiting": 1}}
    run = rolling({"sets": 4, "change_after": "0.5 km", "shop": shop}, now, 120)
    told = rows(run, "sets", "set", "state", "start_s", "end_s")
    # Set 2 cools, 3 waits, 4 is ground; after it 3, which has waited, then 2.
    assert [row for row in told if row[1] == "grinding"] == [
        (4, "grinding", 0, 30),
        (3, "grinding", 30, 90),
        (2, "grinding", 90, 120),
    ]
    assert [row for row in told if row[1] == "cooling"][0][2:] == (0, 20)
    # At the limit after one coil, at 10; the first set is ready at 30.
    assert spells(run, "mill")[:3] == [
        ("running", "", 0, 10),
        ("waiting", "roll set", 10, 30),
        ("changing_rolls", "limit", 30, 35),
    ]


def test_the_back_up_roll_is_due_after_the_changes_that_are_told() -> None:
    shop = {"grind": "10 min", "back_up": {"every": "20 changes", "grind": "30 min"}}
    now = {"used": "0.4 km", "sets": {"ready": 3}, "changes_to_back_up": 1}
    run = rolling({"sets": 4, "change_after": "0.5 km", "shop": shop}, now, 70)
    # The change at 10 owes it: the grinder is taken from 10 to 40, then the set is ground.
    assert rows(run, "sets", "start_s", "end_s", state="grinding")[0] == (40, 50)


def test_a_change_of_rolls_goes_on_for_the_time_that_is_left() -> None:
    now = {"used": "0 km", "sets": {"cooling": 1}}
    shop = {"cool": "1 h", "grind": "1 h"}
    run = rolling(
        {"sets": 2, "change_after": "0.5 km", "shop": shop}, now, 40, {"state": "changing rolls", "left": "7 min"}
    )
    assert spells(run, "mill") == [("changing_rolls", "limit", 0, 7), ("running", "", 7, 40)]


def test_more_sets_at_work_than_people_are_refused() -> None:
    with pytest.raises(ScenarioError, match="than the roll shop has people"):
        rolling({"sets": 3, "change_after": "1 km", "shop": {"grind": "1 h"}}, {"sets": {"grinding": 2}}, 10)


def test_damage_comes_when_the_life_of_the_rolls_less_what_they_have_run_is_over() -> None:
    rolls = {"sets": "unlimited", "damage": "0.35 km", "damaged_change": "5 min"}
    run = rolling(rolls, {"used": "0.2 km"}, 30)
    assert rows(run, "rolls", "off_s", "km", "why") == [(15, 0.35, "damage")]


@pytest.mark.parametrize("used", [0.0, 40.0, 110.0])
def test_the_life_left_to_rolls_follows_the_law_of_those_that_came_so_far(used: float) -> None:
    """Against scipy's truncated law, by the Kolmogorov-Smirnov distance over an even grid."""
    law = Weibull(shape=2.4, scale=110.0, dimension="length")
    grid = (np.arange(400) + 0.5) / 400
    lives = [residual(law, used, float(unit)) for unit in grid]
    frozen = stats.weibull_min(2.4, scale=110.0)

    def conditional(x: np.ndarray) -> np.ndarray:
        return np.asarray((frozen.cdf(x) - frozen.cdf(used)) / frozen.sf(used))

    assert min(lives) >= used
    assert np.abs(conditional(np.array(lives)) - grid).max() < 1e-9


def test_a_law_without_memory_leaves_as_much_as_at_first() -> None:
    law = Exponential(mean=100.0, dimension="length")
    assert residual(law, 250.0, 0.3) - 250.0 == pytest.approx(residual(law, 0.0, 0.3), rel=1e-9)


@pytest.mark.parametrize(
    ("law", "used", "unit", "life"),
    [
        (Constant(50.0, "length"), 20.0, 0.7, 50.0),
        (Constant(50.0, "length"), 60.0, 0.7, 60.0),
        (Empirical((10.0, 20.0, 30.0, 40.0), "length"), 20.0, 0.1, 20.0),
        (Empirical((10.0, 20.0, 30.0, 40.0), "length"), 25.0, 0.9, 40.0),
        (Triangular(0.0, 0.0, 100.0, "length"), 50.0, 0.75, 75.0),
    ],
)
def test_the_life_left_by_hand(law: Law, used: float, unit: float, life: float) -> None:
    """Triangular from 0 down to 100: of the survivors of 50 a quarter outlives 75."""
    assert residual(law, used, unit) == pytest.approx(life, rel=1e-9)


def test_of_a_mixture_the_parts_that_last_longer_are_likelier_the_further_the_rolls_have_run() -> None:
    """Half of the rolls last 10, half 30: those that ran 20 all last 30."""
    law = Mixture(((0.5, Constant(10.0, "length")), (0.5, Constant(30.0, "length"))), "length")
    assert [residual(law, 0.0, unit) for unit in (0.25, 0.75)] == [10.0, 30.0]
    assert [residual(law, 20.0, unit) for unit in (0.25, 0.75)] == [30.0, 30.0]


def test_what_a_machine_cannot_be_doing_is_refused_in_plain_words() -> None:
    with pytest.raises(ScenarioError, match="has no failures"):
        stepping({"state": "down", "left": "5 min"}, 10, {"kind": "step", "time": "10 min"})
    with pytest.raises(ScenarioError, match="holds no coil"):
        finishing({"machines": {"slitter": {"state": "setup", "set_for": "S", "holds": "S"}}}, 10)
    with pytest.raises(ScenarioError, match="of which pattern or product is not told"):
        finishing({"machines": {"slitter": {"state": "running"}}}, 10)


def test_an_idle_plant_told_as_such_is_an_empty_one() -> None:
    run = finishing({"machines": {"profiler": {"state": "idle"}}}, 10)
    assert minutes(run, "profiler", "starved") == 10
