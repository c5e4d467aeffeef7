"""The invented plants in `scenarios/`: they load, they run, they close, and they show what their comments say."""

from functools import cache
from pathlib import Path

import pytest

from twin.line import simulate
from twin.scenario import apply_options, apply_set, load

PLANTS = sorted((Path(__file__).parents[1] / "scenarios").glob("*.yaml"))
WEEK = 604800.0
each_plant = pytest.mark.parametrize("file", PLANTS, ids=lambda file: file.stem)


@each_plant
def test_a_plant_says_first_that_it_is_invented_and_why_it_is_interesting(file: Path) -> None:
    comment = file.read_text(encoding="utf-8").partition("passline: 1")[0]

    assert all(line.startswith("#") for line in comment.splitlines())
    assert "invented" in comment
    assert "interesting" in comment
    assert "invented" in load(file).about


@each_plant
def test_every_option_of_a_plant_can_be_taken(file: Path) -> None:
    plant = load(file)

    for name in plant.options:
        changed = apply_options(plant, [name])
        assert changed.digest != plant.digest, f"{name} changes nothing"
    assert len(plant.options) >= 3


@each_plant
def test_a_plant_runs_and_its_mass_and_time_close(file: Path) -> None:
    """Eight weeks: every kilogram is good, scrap or still there, and every machine's states fill the clock."""
    plant = apply_set(apply_set(load(file), "time.length", "8 weeks"), "time.warm_up", "2 weeks")

    totals = simulate(plant, seed=7).totals

    through = totals.charged_kg.sum()
    assert through > 0.0
    assert abs(totals.mass_error_kg) <= 1e-9 * through
    assert totals.time_error_s == pytest.approx(0.0, abs=1e-6)


@each_plant
def test_every_product_of_a_plant_is_made(file: Path) -> None:
    """A product that never reaches a finished store is a fault of the file."""
    plant = apply_set(load(file), "time.length", "20 weeks")

    totals = simulate(plant, seed=7).totals
    made = dict(zip(totals.layout.products, totals.good_kg, strict=True))
    never = [name for name in plant.products if made[name] <= 0.0]

    assert never == []


@each_plant
def test_every_station_of_a_plant_works(file: Path) -> None:
    totals = simulate(load(file), seed=7).totals
    idle = [name for (name, _), share in zip(totals.layout.machines, totals.state_s[:, 0], strict=True) if share <= 0.0]

    assert idle == []


@cache
def tonnes(file: str, *options: str) -> float:
    """Return the good tonnes a week with some options, over four runs of the same random days each."""
    plant = load(PLANTS[0].with_name(file))
    changed = apply_options(plant, list(options)) if options else plant
    runs = [simulate(changed, seed=11, run=run).totals for run in range(4)]
    return float(sum(run.good_kg.sum() / 1e3 / (run.duration_s / WEEK) for run in runs) / len(runs))


def gain(file: str, *options: str) -> float:
    """Return what some options add, as a share of today's tonnes."""
    return tonnes(file, *options) / tonnes(file) - 1.0


@pytest.mark.slow
def test_at_hollin_weir_either_cure_alone_brings_little_and_both_almost_a_quarter() -> None:
    file = "hollin_weir.yaml"
    both = gain(file, "second slitter", "roll-shop second shift")

    assert both > 0.18
    assert abs(gain(file, "second slitter")) < 0.05
    assert gain(file, "second slitter") + gain(file, "roll-shop second shift") < 0.4 * both
    assert gain(file, "slitter night shift", "roll-shop second shift") == pytest.approx(both, abs=0.03)


@pytest.mark.slow
def test_at_marram_a_second_shift_brings_what_a_second_slitter_brings() -> None:
    file = "marram.yaml"
    shift = gain(file, "slitter second shift")

    assert shift > 0.08
    assert gain(file, "second slitter") == pytest.approx(shift, abs=0.02)
    assert abs(gain(file, "mill on Saturday")) < 0.02
    assert gain(file, "slitter second shift", "faster casters") > shift + 0.04
    assert gain(file, "slitter second shift", "campaign 250 km") == pytest.approx(shift, abs=0.01)


@pytest.mark.slow
def test_at_skerry_rolls_that_stay_in_too_long_cost_the_cast() -> None:
    file = "skerry.yaml"

    assert gain(file, "campaign 600 t") < -0.005
    assert gain(file, "campaign 250 t") > gain(file, "campaign 600 t") + 0.01


@pytest.mark.slow
def test_at_tarn_lane_a_second_setter_helps_and_a_second_former_does_harm() -> None:
    file = "tarn_lane.yaml"

    assert gain(file, "second setter") > 0.1
    assert gain(file, "longer runs") > 0.1
    assert gain(file, "second former") < -0.05
