"""What limits a line, where the answer is known without running it."""

from pathlib import Path

import numpy as np
import pytest
from lines_known import known_line
from study_texts import MILL_AND_SLITTER

from twin.indicators.intervals import FloatArray
from twin.scenario import Scenario, apply_set, load, loads
from twin.scenario.models import Furnace, Mill, Slitter
from twin.study.dice import best_of
from twin.study.limits import limits, reliefs
from twin.study.maker import Maker, weekly
from twin.study.relief import more_hours, more_room, scaled, with_station
from twin.study.stairs import stairs

ROOT = Path(__file__).parents[2]
HERE = Maker(workers=1)


def first_limit(line: Scenario, runs: int = 8) -> str | None:
    """Return what limits a line most likely."""
    return limits(HERE.make("runs", [line], runs), HERE, runs=runs)[0].first


def test_the_slower_of_two_steps_limits_and_the_other_brings_nothing() -> None:
    """Mill 5 min, slitter 4 min: a tenth more hours of the mill is a tenth more coils, of the slitter none."""
    found = limits(HERE.make("runs", [loads(MILL_AND_SLITTER)], 3), HERE, runs=3)[0]

    assert found.first == "mill"
    assert found.chance["mill"] == 1.0
    assert found.gain["mill"].mean == pytest.approx(168 * 12 * 0.1, rel=0.01)
    assert found.gain["slitter"].mean == 0.0


@pytest.mark.parametrize("slow", ["mill", "slitter"])
def test_calendars_limit_too(slow: str) -> None:
    """The faster step on one shift is the limit: the limit is a matter of hours, not of speed."""
    text = MILL_AND_SLITTER.replace("stores:", "calendars: {one shift: {open: [Mon-Fri 06:00-14:00]}}\nstores:")
    line = apply_set(loads(text), "time.length", "8 weeks")
    manned = apply_set(apply_set(line, f"stations.{slow}.calendar", "one shift"), "stores.gap.capacity", "2000 coils")

    assert first_limit(manned, 2) == slow


def test_two_equal_steps_limit_only_together() -> None:
    line = apply_set(loads(MILL_AND_SLITTER), "stations.slitter.time", "5 min")
    found = limits(HERE.make("runs", [line], 3), HERE, runs=3)[0]

    assert found.joint
    assert found.chance == pytest.approx({"mill": 0.5, "slitter": 0.5, "ready": 0.0, "gap": 0.0})
    assert found.gain["mill"].mean == pytest.approx(0.0, abs=2)


def test_nothing_limits_where_nothing_more_could_be_made() -> None:
    """Coils come once an hour and are worked in minutes: only the supply could bring more."""
    line = apply_set(loads(MILL_AND_SLITTER), "stations.supply.every", "1 h")

    assert first_limit(line, 2) == "supply"


def test_the_limit_of_random_lines_is_named() -> None:
    """Sixteen lines in which one step has a fifth less capacity than any other; two hundred in the slow test."""
    named = [first_limit(loads(one.text)) == one.limit for one in map(known_line, range(16))]

    assert sum(named) >= 15


@pytest.mark.nightly
def test_the_limit_of_two_hundred_random_lines_is_named_in_nineteen_of_twenty() -> None:
    named = [first_limit(loads(one.text), 12) == one.limit for one in map(known_line, range(200))]

    assert sum(named) >= 190


def test_more_hours_are_more_hours() -> None:
    """A station that does all in a tenth less time makes a tenth more, its stops, setups and knives included."""
    text = MILL_AND_SLITTER.replace(
        "time: 5 min}", "time: 5 min, failures: [{reason: stop, every: 3 h, repair: 1 h}], handling: {load: 1 min}}"
    )
    line = loads(text)
    quick = with_station(line, more_hours(line.stations["mill"], 1.1))
    today, more = (float(weekly(made).mean()) for made in HERE.make("runs", [line, quick], 1))

    assert more / today == pytest.approx(1.1, rel=0.01)


def test_a_relieved_line_is_another_line() -> None:
    line = loads(MILL_AND_SLITTER)
    other = more_room(line, "gap", 1.1)

    assert other.stores["gap"].capacity == 4.0
    assert other.digest != line.digest
    assert line.stores["gap"].capacity == 3.0
    assert line.digest == loads(MILL_AND_SLITTER).digest


@pytest.mark.parametrize("file", sorted((ROOT / "scenarios").glob("*.yaml")), ids=lambda file: file.stem)
def test_every_relief_of_the_plants_changes_the_line_and_only_where_it_says(file: Path) -> None:
    plant = load(file)
    things = reliefs(plant)

    assert len({one.name for one in things}) == len(things)
    assert len({one.apply(plant).digest for one in things} | {plant.digest}) == len(things) + 1


def test_more_hours_scale_what_is_the_station_s_own_and_nothing_else() -> None:
    plant = load(ROOT / "scenarios" / "hollin_weir.yaml")
    mill, slitter, furnace = (more_hours(plant.stations[name], 2.0) for name in ("mill", "slitter", "furnace"))
    assert isinstance(mill, Mill) and isinstance(slitter, Slitter) and isinstance(furnace, Furnace)
    old = plant.stations["slitter"]
    assert isinstance(old, Slitter)

    assert slitter.speed == 2 * old.speed
    assert slitter.setup.time.average == pytest.approx(old.setup.time.average / 2)
    assert slitter.handling is not None and old.handling is not None
    assert slitter.handling.load.average == old.handling.load.average / 2
    assert slitter.handling.crane_in == old.handling.crane_in  # the crane is shared
    assert slitter.failures[0].every.average == old.failures[0].every.average / 2
    assert mill.rolls is not None and mill.rolls.shop == plant.stations["mill"].rolls.shop  # type: ignore[union-attr]
    assert furnace.melt_rate == 2 * 6.5 / 3.6


def test_a_scaled_law_has_a_scaled_mean_and_the_same_shape() -> None:
    plant = load(ROOT / "scenarios" / "hollin_weir.yaml")
    repair = plant.stations["mill"].failures[0].repair

    assert scaled(repair, 0.5).average == pytest.approx(0.5 * repair.average)
    assert getattr(scaled(repair, 0.5), "cv", None) == getattr(repair, "cv", None)


def chances(values: list[list[float]], least: float = 0.0) -> list[float]:
    """Return the chances of columns."""
    found: list[float] = best_of(np.array(values), least).tolist()
    return found


def test_what_is_better_in_every_run_is_the_best_for_sure_and_equals_share() -> None:
    assert chances([[1.0, 2.0], [1.5, 3.0], [0.0, 0.5]]) == [0.0, 1.0]
    assert chances([[1.0, 1.0], [2.0, 2.0]]) == [0.5, 0.5]
    assert chances([[1.0, 2.0], [1.5, 3.0]], least=5.0) == [0.0, 0.0]


def test_the_chance_of_being_the_best_is_calibrated() -> None:
    """Two things whose difference is normal: when it says 70 to 90 %, it is right in about 80 % (Bernardo, any text on
    Bayes: with a flat prior the posterior chance is calibrated over repeats with equally likely true differences)."""
    dice = np.random.default_rng(5)
    right, said = 0, 0.0
    count = 0
    for _ in range(1500):
        true = dice.normal(0.0, 10.0)
        runs: FloatArray = np.column_stack([dice.normal(true, 10.0, 12), np.zeros(12)])
        chance = best_of(runs, -np.inf, rows=300)[0]
        if 0.7 <= chance <= 0.9:
            count, right, said = count + 1, right + (true > 0.0), said + chance

    assert count > 60
    assert right / count == pytest.approx(said / count, abs=0.12)


def test_the_staircase_hands_over_from_one_limit_to_the_next() -> None:
    """5, 4 and 3.5 min: the first step limits up to a quarter more of it, then the second up to a seventh more."""
    text = MILL_AND_SLITTER.replace(
        "to: rings, time: 4 min}",
        "to: next, time: 4 min}\n  packer: {kind: step, from: next, to: rings, time: 3.5 min}",
    )
    line = loads(text.replace("  rings:", "  next:  {holds: coils, capacity: 3}\n  rings:"))
    found = stairs(HERE.make("runs", [line], 2)[0], HERE, floors=2)

    assert [stair.limit for stair in found] == ["mill", "slitter"]
    assert found[0].relief == pytest.approx(0.25, abs=0.01)
    assert found[0].good.mean == pytest.approx(168 * 15, rel=0.01)
    assert found[0].then == "slitter"
