"""Every number of a scenario with its source; a draft that tells all its faults; a new file that overwrites nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from tours import SMALL

from dashboard.inputs_numbers import SaveError, by_hand, draft, known, new_file, save_as
from twin.scenario import Scenario, ScenarioError, load

SOURCED = (
    SMALL.replace("    change: 30 min\n", "    change: 30 min\n", 1)
    .replace("    setup: 40 min\n", "    setup: 40 min    # from memory\n")
    .replace("    speed: 125 m/min\n", "    speed: 125 m/min    # measured: by tape, 2026-03-02\n")
)


@pytest.fixture
def small(tmp_path: Path) -> Scenario:
    """Return a small invented plant, some of its numbers with their source."""
    (tmp_path / "small.yaml").write_text(SOURCED, encoding="utf-8")
    return load(tmp_path / "small.yaml")


def test_a_number_tells_where_it_is_from(small: Scenario) -> None:
    found = {one.path: (one.source, one.note) for one in known(small)}

    assert found["stations.slitter.speed"] == ("measured", "by tape, 2026-03-02")
    assert found["stations.slitter.setup"] == ("from memory", "")
    assert found["stations.slitter.thread"] == ("assumed", "")


def test_numbers_stand_by_station_with_their_own_names(small: Scenario) -> None:
    one = next(one for one in known(small) if one.path == "stations.mill.failures.mill stop.every.exponential.mean")

    assert (one.group, one.label, one.text) == ("mill", "failures, mill stop, every, exponential, mean", "20 h")


def test_a_draft_tells_all_of_its_faults_at_once(small: Scenario) -> None:
    sets = ("stations.slitter.speed=3 t", "stations.mill.rolls.setz=4", "stores.cast coils.capacity=-1", "nothing=1")

    found = draft(small, sets)

    assert len(found.changes) == 4
    places = {fault.place for fault in found.faults}
    assert {"stations.slitter.speed", "stations.mill.rolls.setz", "stores.cast coils.capacity", "nothing"} <= places
    assert all(fault.message and fault.way_out for fault in found.faults)


def test_a_saved_draft_is_a_new_file_with_the_old_ones_comments(small: Scenario, tmp_path: Path) -> None:
    target = save_as(tmp_path, "faster", small, ("stations.slitter.thread=3 min", "stations.slitter.machines=2"))

    assert target == tmp_path / "faster.yaml"
    assert load(target).stations["slitter"].machines == 2
    assert "# from memory" in target.read_text(encoding="utf-8")
    assert (tmp_path / "small.yaml").read_text(encoding="utf-8") == SOURCED


def test_a_number_set_by_hand_is_no_longer_called_measured(small: Scenario, tmp_path: Path) -> None:
    target = save_as(tmp_path, "slower", small, ("stations.slitter.speed=100 m/min",))
    found = {one.path: one.source for one in known(load(target))}

    assert found["stations.slitter.speed"] == "assumed"
    assert "# set by hand since" in target.read_text(encoding="utf-8")
    assert by_hand(SOURCED, ()) == SOURCED


@pytest.mark.parametrize("name", ["", " ", "../up", "a/b", "a\\b", ".hidden", "x" * 61, "nul\0", "a.b", "-x"])
def test_a_name_that_is_no_plain_name_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(SaveError, match="A name has letters"):
        new_file(tmp_path, name)


@pytest.mark.parametrize("there", ["plant.yaml", "plant.yml"])
def test_a_file_that_is_there_is_never_overwritten(there: str, small: Scenario, tmp_path: Path) -> None:
    (tmp_path / there).write_text("mine", encoding="utf-8")

    with pytest.raises(SaveError, match="there already"):
        save_as(tmp_path, "plant", small, ("stations.slitter.thread=3 min",))

    assert (tmp_path / there).read_text(encoding="utf-8") == "mine"


def test_a_draft_with_faults_is_not_written(small: Scenario, tmp_path: Path) -> None:
    with pytest.raises(ScenarioError):
        save_as(tmp_path, "wrong", small, ("stations.slitter.speed=3 t",))

    assert [one.name for one in tmp_path.iterdir()] == ["small.yaml"]
