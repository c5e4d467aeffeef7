"""The cheaper moves: which a scenario allows, that they can be run, that a pair is found which singles miss."""

from dataclasses import replace
from pathlib import Path

import pytest
from study_texts import QUICK_TWINS

from twin.scenario import apply_options, load, loads
from twin.scenario.law_text import parse_law
from twin.scenario.laws import Constant, Empirical, Mixture, Triangular, Weibull
from twin.study.compare import possible
from twin.study.inputs import read_inputs
from twin.study.ladder import ladder, plain_ladder
from twin.study.limits import limits, reliefs
from twin.study.maker import Maker, weekly
from twin.study.moves import acts_on, moves, quantity, with_moves, written
from twin.study.stairs import stairs
from twin.study.uncertain import vary_of

ROOT = Path(__file__).parents[2]
HERE = Maker(workers=1)


@pytest.mark.parametrize("file", sorted((ROOT / "scenarios").glob("*.yaml")), ids=lambda file: file.stem)
def test_every_move_that_is_offered_leaves_a_sound_scenario(file: Path) -> None:
    plant = load(file)
    offered = moves(plant, [relief.name for relief in reliefs(plant)])
    line = with_moves(plant, offered)

    assert len(offered) >= 10
    assert [move.name for move in offered if not possible(line, (move.name,))] == []


def test_a_move_that_an_option_of_the_file_makes_is_not_offered_twice() -> None:
    plant = load(ROOT / "scenarios" / "hollin_weir.yaml")
    offered = moves(plant, ["slitter", "mill roll shop"])
    places = [path for move in offered for path in move.set]

    assert {"slitter night shift", "off-line arbor", "roll-shop second shift"} <= {m.name for m in offered if m.priced}
    assert places.count("stations.slitter.calendar") == 1
    assert places.count("stations.mill.rolls.shop.calendar") == 1


def test_no_move_makes_a_stop_at_rolls_or_caster_shorter() -> None:
    """The safety of the people who do it: a shorter planned stop there is never a target (docs/safety.md)."""
    least = ("rolls.change", "damaged_change", "restart.takes", "service.takes", "skimming.takes")
    for file in sorted((ROOT / "scenarios").glob("*.yaml")):
        plant = load(file)
        offered = moves(plant, [relief.name for relief in reliefs(plant)])
        assert not [path for move in offered if not move.priced for path in move.set if path.endswith(least)]


def test_an_option_acts_on_what_it_changes() -> None:
    options = load(ROOT / "scenarios" / "hollin_weir.yaml").options

    assert acts_on(options["roll-shop second shift"], "mill roll shop")
    assert acts_on(options["campaign 75 km"], "mill roll shop")
    assert not acts_on(options["roll-shop second shift"], "mill")
    assert acts_on(options["larger cast store"], "cast coils")
    assert not acts_on(options["second slitter"], "mill roll shop")


@pytest.mark.parametrize(
    "law",
    [
        Constant(90.0),
        Triangular(1440.0, 1800.0, 2700.0),
        Weibull(2.4, 110_000.0, "length"),
        Empirical((1.0, 7300.0)),
        Mixture(((0.25, Constant(30.0)), (0.75, Triangular(1.0, 2.0, 3.0)))),
    ],
)
def test_a_law_that_is_written_reads_back_the_same(law: Constant) -> None:
    again = parse_law(written(law), (law.dimension,))

    assert type(again) is type(law)
    assert again.average == pytest.approx(law.average, rel=1e-14)


def test_quantities_are_written_in_units_of_their_size() -> None:
    assert quantity(39_900.0, "length") == "39.9 km"
    assert quantity(2160.0, "time") == "36 min"
    assert quantity(12.0, "coils") == "12 coils"
    assert quantity(7300.123456, "time") == "7300.123456 s"


@pytest.mark.parametrize("second", ["10 min", "10.2 min"])
def test_the_pair_that_single_looks_miss_is_found(second: str) -> None:
    """Known without running: 6 coils an hour with neither or one of them (5.88 where the second is slower), 7.5 with
    both; where both are equal, none of them is felt as the limit by itself."""
    line = loads(QUICK_TWINS.replace("to: done, time: 10 min", f"to: done, time: {second}"))
    today = HERE.make("today", [line], 3)
    now = limits(today, HERE)[0]
    found = ladder(today[0], now, HERE, runs=3)

    assert now.joint == (second == "10 min")
    assert found is not None
    assert found.missed is not None
    assert set(found.missed.options) == {"quick first", "quick second"}
    plain = plain_ladder(found)
    alone = {tuple(rung["moves"]): rung["change"]["mean"] for rung in plain["rungs"]}
    before, both = 168 * 60 / float(second.split()[0]), 168 * 60 / 8
    assert alone[("quick first",)] == pytest.approx(0.0, abs=3)
    assert alone[("quick second",)] == pytest.approx(168 * 6 - before, abs=3)
    assert plain["missed"]["change"]["mean"] == pytest.approx(both - before, abs=3)
    assert plain["together"]["mean"] == pytest.approx(both - 168 * 6, abs=5)


def test_runs_that_are_known_already_may_be_more_than_others_get() -> None:
    """A pair that was run further to be sure that it is the best stands beside halves with fewer runs."""
    line = loads(QUICK_TWINS)
    pair = frozenset({"quick first", "quick second"})
    both = HERE.make("both", [apply_options(line, sorted(pair))], 7)[0]
    today = HERE.make("today", [line], 5)
    found = ladder(today[0], limits(today, HERE)[0], HERE, runs=3, known={pair: both})

    assert found is not None
    rungs = {frozenset(rung["moves"]): rung for rung in plain_ladder(found)["rungs"]}
    assert rungs[pair]["adds"]
    assert rungs[pair]["change"]["mean"] == pytest.approx(252, abs=3)


def test_options_that_contradict_each_other_make_no_pair() -> None:
    plant = load(ROOT / "scenarios" / "hollin_weir.yaml")
    line = with_moves(plant, moves(plant, ["slitter"]))

    assert not possible(line, ("short runs", "slitter: patterns run half as long again"))
    assert apply_options(line, ["slitter night shift"]).stations["slitter"].calendar == "relay"


def test_limits_and_stairs_are_those_of_the_best_inputs_whatever_the_runs_before_took() -> None:
    """Gains are between runs of one and the same plant: set against plants drawn anew they would be its scatter."""
    line = load(ROOT / "scenarios" / "hollin_weir.yaml")
    unsure = replace(HERE, vary=vary_of(read_inputs(line)))
    sure_runs, unsure_runs = (maker.make("today", [line], 4)[0] for maker in (HERE, unsure))
    now = limits([sure_runs], HERE, runs=4)

    assert weekly(sure_runs).tolist() != weekly(unsure_runs).tolist()
    assert limits([unsure_runs], HERE, runs=4) == now
    assert stairs(unsure_runs, unsure, now=now[0], floors=1, runs=2) == stairs(
        sure_runs, HERE, now=now[0], floors=1, runs=2
    )
