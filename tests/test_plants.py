"""The invented plants in `scenarios/`: they load, they run, they close, and they show what their comments say."""

from pathlib import Path

import pytest

from twin.line import simulate
from twin.scenario import apply_options, apply_set, load

PLANTS = sorted((Path(__file__).parents[1] / "scenarios").glob("*.yaml"))
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
    assert (totals.good_kg.sum() + sum(kg for *_, kg in totals.scrap)) == pytest.approx(through, rel=0.25)


@each_plant
def test_every_product_of_a_plant_is_made(file: Path) -> None:
    """A product that never reaches a finished store is a fault of the file."""
    plant = apply_set(load(file), "time.length", "20 weeks")

    totals = simulate(plant, seed=7).totals
    never = [name for name, kg in zip(totals.layout.products, totals.good_kg, strict=True) if kg <= 0.0]

    assert never == []


@each_plant
def test_every_station_of_a_plant_works(file: Path) -> None:
    totals = simulate(load(file), seed=7).totals
    idle = [name for (name, _), share in zip(totals.layout.machines, totals.state_s[:, 0], strict=True) if share <= 0.0]

    assert idle == []
