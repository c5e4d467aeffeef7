import pytest
from scenario_texts import SMALL, changed

from twin.scenario import Scenario, ScenarioError, apply_options, apply_set, loads
from twin.scenario.models import Caster, Mill, Profiler, Slitter
from twin.scenario.quantities import Amount


@pytest.fixture(scope="module")
def plant() -> Scenario:
    return loads(SMALL, "plant.yaml")


def refused(plant: Scenario, path: str, value: object) -> str:
    with pytest.raises(ScenarioError) as caught:
        apply_set(plant, path, value)
    return str(caught.value)


def mill_of(plant: Scenario) -> Mill:
    mill = plant.stations["mill"]
    assert isinstance(mill, Mill)
    return mill


def test_a_value_is_set_and_the_plant_itself_stays_as_it_was(plant: Scenario) -> None:
    before = plant.digest
    other = apply_set(plant, "stations.mill.rolls.change_after", "75 km")

    assert mill_of(other).rolls == mill_of(plant).rolls.model_copy(update={"change_after": Amount(75_000.0, "length")})  # type: ignore[union-attr]
    assert plant.digest == before != other.digest


@pytest.mark.parametrize("value", ["2", 2, "2 machines"])
def test_values_are_taken_as_text_or_as_they_are(plant: Scenario, value: object) -> None:
    assert apply_set(plant, "stations.slitter.machines", value).stations["slitter"].machines == 2


def test_a_key_that_the_file_does_not_write_may_be_set(plant: Scenario) -> None:
    other = apply_set(plant, "stations.mill.rolls.shop.people", 2)

    shop = mill_of(other).rolls
    assert shop is not None and shop.shop is not None and shop.shop.people == 2


def test_a_part_written_in_short_is_written_out_where_more_of_it_is_set(plant: Scenario) -> None:
    slitter = apply_set(plant, "stations.slitter.setup.needs", "crane").stations["slitter"]
    caster = apply_set(plant, "stations.caster.speed.slowest", "1 m/min").stations["caster"]

    assert isinstance(slitter, Slitter) and isinstance(caster, Caster)
    assert (slitter.setup.time.average, slitter.setup.needs) == (2880.0, "crane")
    assert caster.speed.nominal == 0.025


def test_items_of_a_list_are_named_by_their_reason_or_number(plant: Scenario) -> None:
    by_reason = apply_set(plant, "stations.mill.failures.strip break.every", "500 km")
    by_number = apply_set(plant, "stations.mill.failures.2.every", "500 km")
    inside = apply_set(plant, "stations.mill.failures.mill stop.every.exponential.mean", "30 h")

    assert by_reason.digest == by_number.digest
    assert mill_of(by_reason).failures[1].every.average == 500_000.0
    assert mill_of(inside).failures[0].every.average == 30 * 3600.0


def test_names_with_blanks_and_points_are_found(plant: Scenario) -> None:
    passes = mill_of(apply_set(plant, "stations.mill.passes.0.70 mm.1", "3.5 mm @ 70 m/min")).passes
    profiler = apply_set(plant, "stations.profiler.speed", {"gutter 333": "50 m/min"})
    faster = apply_set(profiler, "stations.profiler.speed.gutter 333", "60 m/min").stations["profiler"]

    assert passes is not None and passes[0.0007][0].thickness == 0.0035
    assert isinstance(faster, Profiler) and faster.speed == {"gutter 333": 1.0}


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("stations.sliter.machines", 2, "there is no 'sliter' in stations. Did you mean 'stations.slitter'?"),
        ("stations.slitter.machins", 2, "Did you mean 'stations.slitter.machines'?"),
        ("station.slitter.machines", 2, "there is no 'station' in a scenario. Did you mean 'stations'?"),
        ("stations.mill.failures.mil stop.every", "1 h", "there is no 'mil stop' here. Did you mean 'mill stop'?"),
        ("stations.mill.failures.3.every", "1 h", "there is no '3' here"),
        ("stations.slitter.machines", "two", "'two' is not a whole number. Write a whole number from 1 to 50"),
        ("stations.slitter.machines", 400, "'400' must be from 1 to 50"),
        ("stations.profiler.speed.gutter 333", "3 m/min", "is one value, '40 m/min': it has no 'gutter 333'"),
        ("stations.furnace.pour", "400 degC", "but zinc melts at 419.5 degC"),
        ("stores.bath.heel", "30 t", "leaves nothing of the 26 t bath"),
        ("patterns.A.share", "90 %", "the shares add up to 130 %"),
        ("options.second slitter.capex", "3 kEUR", "cannot be set"),
        ("passline", 1, "cannot be set"),
        ("", 1, "cannot be set"),
        ("stations.slitter.setup", "{a: b: c}", "cannot be read"),
        ("stations.slitter.setup", "", "cannot be read"),
        ("shared.crane.count.x", 1, "has no 'x'"),
    ],
)
def test_what_cannot_be_set_is_refused_with_the_way_out(plant: Scenario, path: str, value: object, words: str) -> None:
    assert words in refused(plant, path, value)


def test_options_are_applied_alone_and_together(plant: Scenario) -> None:
    both = apply_options(plant, ["second slitter", "longer campaign"])

    assert both.stations["slitter"].machines == 2
    assert mill_of(both).rolls != mill_of(plant).rolls
    assert apply_options(plant, []) is plant
    assert (
        apply_options(plant, ["second slitter", "second slitter"]).digest
        == apply_options(plant, ["second slitter"]).digest
    )
    assert both.digest == apply_options(plant, ["longer campaign", "second slitter"]).digest


def test_two_options_that_set_one_value_differently_are_refused(plant: Scenario) -> None:
    with pytest.raises(ScenarioError, match="option 'second slitter' and option 'third slitter' both set"):
        apply_options(plant, ["second slitter", "third slitter"])


def test_options_that_set_a_part_and_a_value_inside_it_are_refused() -> None:
    whole = "  whole: {set: {stations.slitter.setup: 20 min}}\n"
    part = "  part: {set: {stations.slitter.setup.needs: crane}}"
    plant = loads(changed(SMALL, "options:", f"options:\n{whole}{part}"))

    with pytest.raises(ScenarioError, match="both set"):
        apply_options(plant, ["whole", "part"])


def test_an_unknown_option_is_refused_with_the_nearest(plant: Scenario) -> None:
    with pytest.raises(ScenarioError, match="Did you mean 'second slitter'"):
        apply_options(plant, ["second sliter"])


def test_options_that_only_fail_together_are_told_together() -> None:
    extra = "options:\n  more A: {set: {patterns.A.share: 60 %}}\n  more H: {set: {patterns.H.share: 60 %}}"
    plant = loads(changed(changed(SMALL, "options:", extra), "A: {share: 60 %", "A: {share: 30 %"))

    with pytest.raises(ScenarioError, match="option 'more A' \\+ option 'more H': the shares add up to 120 %"):
        apply_options(plant, ["more A", "more H"])
