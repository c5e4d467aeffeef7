import subprocess
import sys
from pathlib import Path

import pytest
from pydantic import ValidationError
from scenario_texts import QUEUE, SMALL, changed

from twin.scenario import Scenario, load, loads
from twin.scenario.laws import Constant, Exponential
from twin.scenario.models import (
    AtLimit,
    AtTimes,
    Caster,
    Furnace,
    Mill,
    Moment,
    Profiler,
    Slitter,
    Start,
    Step,
    Supply,
    WhenIdle,
)
from twin.scenario.quantities import Amount, Rate


def small(*changes: tuple[str, str]) -> Scenario:
    text = SMALL
    for old, new in changes:
        text = changed(text, old, new)
    return loads(text)


def test_everything_inside_is_in_si_units() -> None:
    plant = small()
    furnace, caster, mill = (plant.stations[name] for name in ("furnace", "caster", "mill"))

    assert isinstance(furnace, Furnace) and isinstance(caster, Caster) and isinstance(mill, Mill)
    assert furnace.pour == 783.15
    assert furnace.melt_rate == pytest.approx(6500 / 3600, rel=1e-15)
    assert (caster.thickness, caster.width, caster.speed.nominal) == (0.008, 1.034, 0.025)
    assert mill.rolls is not None and mill.rolls.change_after == Amount(57_000.0, "length")
    assert plant.time.length == 4 * 7 * 86400.0
    assert plant.money is not None and plant.money.contribution["coil"] == 0.19
    assert plant.options["second slitter"].capex == 3.4e6


def test_parts_know_the_names_they_stand_under() -> None:
    plant = small()

    for section in (plant.stations, plant.stores, plant.products, plant.patterns, plant.calendars, plant.shared):
        assert all(part.name == name for name, part in section.items())


def test_a_gauge_is_found_however_it_was_written() -> None:
    mill = small(("0.70 mm: [4 mm", "700 um: [4 mm")).stations["mill"]

    assert isinstance(mill, Mill) and mill.passes is not None
    assert [step.thickness for step in mill.passes[0.0007]] == [0.004, 0.0016, 0.0007]


def test_short_forms_mean_the_same_as_long_ones() -> None:
    longer = small(
        ("speed: 1.5 m/min", "speed: {nominal: 1.5 m/min, slowest: 1.5 m/min}"),
        ("setup: 48 min", "setup: {time: 48 min}"),
        ("crane: 1", "crane: {count: 1}"),
        ("change: 30 min", "change: 30 min, damaged_change: 30 min, rule: [at limit]"),
    )

    assert longer.digest == small().digest


def test_what_is_left_out_takes_no_time_and_scraps_nothing() -> None:
    slitter = small().stations["slitter"]

    assert isinstance(slitter, Slitter)
    assert slitter.thread == slitter.per_ring == Constant(0.0, "time")
    assert slitter.setup.scrap == Constant(0.0, "mass")
    assert slitter.setup.needs is None and slitter.knives is None


def test_two_files_that_mean_the_same_have_the_same_digest() -> None:
    same = small(("57 km", "57000 m"), ("  # invented", ""), ("8 mm", "0.8 cm"), ("6.5 t/h", "6500 kg/h"))

    assert same.digest == small().digest
    assert small(("57 km", "57.1 km")).digest != small().digest


def test_a_scenario_cannot_be_changed() -> None:
    plant = small()

    with pytest.raises(ValidationError):
        plant.name = "another"  # type: ignore[misc]
    with pytest.raises(ValidationError):
        plant.stations["slitter"].machines = 3  # type: ignore[misc]


def test_rates_and_speeds_are_taken_in_every_form_of_the_grammar() -> None:
    text = changed(QUEUE, "time: {exponential: {mean: 20 min}}", "rate: 36 coils/h")
    work = loads(text).stations["work"]
    profiler = small(("speed: 40 m/min", "speed: {gutter 333: 40 m/min}")).stations["profiler"]

    assert isinstance(work, Step) and work.rate == Rate(0.01, "coils")
    assert isinstance(profiler, Profiler) and profiler.speed == {"gutter 333": 40 / 60}


def test_a_supply_delivers_by_a_law() -> None:
    supply = loads(changed(QUEUE, "every: 30 min", "every: {exponential: {mean: 30 min}}")).stations["supply"]

    assert isinstance(supply, Supply)
    assert supply.every == Exponential(1800.0, "time")
    assert supply.when_full == "wait"


def test_the_rules_for_roll_changes_are_read_alone_and_in_lists() -> None:
    def rule(text: str) -> object:
        mill = small(("change: 30 min", f"change: 30 min, rule: {text}")).stations["mill"]
        assert isinstance(mill, Mill) and mill.rolls is not None
        return mill.rolls.rule

    assert rule("at limit") == (AtLimit(),)
    assert rule("{when idle after: 40 km, keep ready: 2}") == (WhenIdle(Amount(40_000.0, "length"), 2),)
    assert rule("[at limit, {at: ['Wed 14:00']}]") == (AtLimit(), AtTimes((Moment(2, 840),)))


def test_sets_may_be_unlimited() -> None:
    mill = small(("sets: 5", "sets: unlimited")).stations["mill"]

    assert isinstance(mill, Mill) and mill.rolls is not None and mill.rolls.sets is None


def test_the_start_is_typical_unless_it_is_told() -> None:
    now = small(
        (
            "options:",
            "start: {stores: {cast coils: 12, rings: {gutter 333: 4}}, machines: {slitter: {left: 3 min}}}\noptions:",
        )
    ).start

    assert small().start.mode == "typical"
    assert small(("options:", "start: empty\noptions:")).start.mode == "empty"
    assert isinstance(now, Start) and now.mode == "now"
    assert (now.stores["cast coils"].amount, now.stores["rings"].by) == (12.0, (("gutter 333", 4.0),))
    assert now.machines["slitter"][0].left == 180.0


def test_a_plan_is_a_campaign_or_a_dated_list() -> None:
    campaign = small(("options:", "plan: {repeat: [{pattern: A, coils: 6}, {pattern: H, coils: 4}]}\noptions:")).plan
    dated = small(("options:", "plan: [{from: 2026-03-05 06:00, pattern: A, coils: 6}]\noptions:")).plan

    assert campaign is not None and [step.coils for step in campaign.repeat] == [6, 4]
    assert dated is not None and f"{dated.dated[0].start}" == "2026-03-05 06:00:00"


def test_a_plants_own_metal_is_taken_with_what_it_is_like() -> None:
    metal = small(("metal: zinc", "metal: {like: zinc, density: 7200 kg/m3}")).metal

    assert not isinstance(metal, str)
    assert (metal.like, metal.values()) == ("zinc", {"density": 7200.0})


def test_the_plants_of_the_project_are_sound(root: Path) -> None:
    for path in sorted((root / "scenarios").glob("*.yaml")):
        assert load(path).name


def test_reading_a_scenario_loads_no_heavy_library() -> None:
    code = "import sys, twin.scenario; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert not {"pint", "holidays", "scipy", "pandas", "simpy", "numpy"} & set(done.stdout.split())
