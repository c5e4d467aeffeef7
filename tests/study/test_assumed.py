"""What an answer takes for granted."""

from pathlib import Path

from study_texts import TANDEM

from twin.scenario import apply_set, load, loads
from twin.study.assumed import assumed, finished_stores


def test_what_the_file_leaves_out_is_said() -> None:
    said = assumed(loads(TANDEM))

    assert said[0] == "Taken never to stop, as no failures are given: supply, first, second and third."
    assert "Taken to need no time for lifting coils: first, second and third." in said
    assert "All that is made is taken to sell: the file gives no demand." in said
    assert "3 times and distances scatter as the file says; 0 are always the same." in said
    assert any("50.0\u00a0h of warm-up" in sentence for sentence in said)


def test_a_station_with_failures_is_not_said_never_to_stop() -> None:
    stops = "failures: [{reason: jam, every: 9 h, repair: 1 h}], time"
    said = assumed(loads(TANDEM.replace("to: first gap,  time", f"to: first gap, {stops}")))

    assert said[0] == "Taken never to stop, as no failures are given: supply, second and third."
    assert "3 times and distances scatter as the file says; 2 are always the same." in said


def test_a_finished_store_is_one_that_nobody_draws_on() -> None:
    assert finished_stores(loads(TANDEM)) == {"done"}


def test_a_caster_that_can_wait_is_said_to_bear_it_again_and_again(root: Path) -> None:
    plant = load(root / "scenarios" / "hollin_weir.yaml")

    assert "Taken to bear one hold after the other, each no longer than its patience: caster." in assumed(plant)
    hasty = apply_set(plant, "stations.caster.patience", "0 min")
    assert not any("hold after the other" in sentence for sentence in assumed(hasty))
