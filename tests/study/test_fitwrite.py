"""A log accepted into a scenario: the new file, its sources and its doubt, and what is never done; all invented."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from twin.scenario import ScenarioError, apply_settings, load, loads
from twin.scenario.laws import Exponential, Gamma, Law
from twin.study.fitresult import Cause, Estimate, Fitted, Sample, Source
from twin.study.fitsamples import asked
from twin.study.fitwrite import accept
from twin.study.inputs import GUESS, inputs_file, read_inputs
from twin.study.moves import written
from twin.study.spread import Spread

# Invented.
PLANT = """# The plant of these tests.
passline: 1
name: One step
metal: zinc
time: {warm_up: 1 h, length: 2 days}    # short
stores:
  ready: {holds: coils, capacity: 1}
  done:  {holds: coils}
stations:
  supply: {kind: supply, to: ready, coil: {mass: 1 t, width: 1000 mm, thickness: 0.7 mm}}
  packer:
    kind: step
    from: ready
    to: done
    time: 10 min
    failures:
      - reason: strap
        every: {exponential: {mean: 5 h}}     # the foreman says
        repair: 12 min
      - reason: film
        every: {exponential: {mean: 30 h}}   # from memory
        repair: {gamma: {mean: 20 min, cv: 0.5}}
"""
EVERY = "stations.packer.failures.strap.every"
REPAIR = "stations.packer.failures.strap.repair"
FILM = "stations.packer.failures.film.every"
RATE = Spread("rate", shape=23.5, exposure=23.5 * 6.0 * 3600.0)
LAW = Spread("law", covariance=((0.01, 0.001), (0.001, 0.02)))


def cause(path: str, law: Law, spread: Spread, n: int = 23) -> Cause:
    """Return one number as a log may have told it."""
    ask = next(one for one in asked(loads(PLANT)) if one.path == path)
    empty = np.zeros(0)
    source = Source("measured", n, "2026-04-11", "2026-06-12", f"measured: {n} in 140 h, 2026-04-11 to 2026-06-12")
    mean = Estimate(law.average, 0.8 * law.average, 1.25 * law.average)
    return Cause(
        ask.station, ask.reason, ask.what, path, "s", Sample(empty, empty, empty, 0.0), ask.law, law,
        "exponential", {}, {}, None, mean, "by hand", spread, source,
    )  # fmt: skip


def fitted(*causes: Cause) -> Fitted:
    """Return a fit of these numbers."""
    return Fitted("digest", "UTC", (0.0, 86_400.0), causes, logs={"stops.csv": "abc"})


MEASURED = fitted(cause(EVERY, Exponential(6.0 * 3600.0, "time"), RATE), cause(REPAIR, Gamma(900.0, 0.6, "time"), LAW))


@pytest.fixture
def plant(tmp_path: Path) -> Path:
    """Return a scenario file."""
    file = tmp_path / "plant.yaml"
    file.write_text(PLANT, encoding="utf-8")
    return file


def test_the_new_file_is_the_old_one_but_for_the_measured_lines(plant: Path) -> None:
    target = plant.with_name("new.yaml")

    scenario = accept(MEASURED, plant, target)

    old, new = PLANT.split("\n"), target.read_text(encoding="utf-8").split("\n")
    assert len(old) == len(new)
    assert [one for one, other in zip(new, old, strict=True) if one != other] == [
        "        every: {exponential: {mean: 6 h}}     # the foreman says; "
        "measured: between 23 in 140 h, 2026-04-11 to 2026-06-12",
        "        repair: {gamma: {mean: 15 min, cv: 0.6}}    # measured: repair 23 in 140 h, 2026-04-11 to 2026-06-12",
    ]
    assert plant.read_text(encoding="utf-8") == PLANT
    assert scenario.digest == load(target).digest


def test_line_ends_of_the_other_kind_stay(plant: Path) -> None:
    plant.write_bytes(PLANT.replace("\n", "\r\n").encode())
    target = plant.with_name("new.yaml")

    accept(MEASURED, plant, target)

    assert target.read_bytes().count(b"\r\n") == PLANT.count("\n")


def test_a_second_log_takes_the_place_of_the_first_in_the_comments(plant: Path) -> None:
    first, second = plant.with_name("first.yaml"), plant.with_name("second.yaml")
    accept(MEASURED, plant, first)

    accept(fitted(cause(EVERY, Exponential(7.0 * 3600.0, "time"), RATE, n=50)), first, second)

    text = second.read_text(encoding="utf-8")
    assert text.count("measured: between") == 1
    assert "measured: between 50 in" in text


def test_sources_and_doubt_are_read_back(plant: Path) -> None:
    target = plant.with_name("new.yaml")

    known = read_inputs(accept(MEASURED, plant, target))

    assert known.numbers[EVERY].spread == RATE
    assert known.numbers[REPAIR].spread == LAW
    assert known.sources[EVERY].how == "measured"
    assert (known.sources[EVERY].n, known.sources[EVERY].first) == (23, "2026-04-11")
    assert known.sources[FILM].how == "from memory"
    assert known.sources["stations.packer.failures.film.repair"].how == "assumed"
    assert known.numbers[FILM].spread == GUESS
    assert (known.measured, len(known.numbers)) == (2, 4)
    assert known.words.startswith("2 of 4 uncertain numbers are measured")


def test_a_number_changed_by_hand_counts_as_assumed_again(plant: Path) -> None:
    target = plant.with_name("new.yaml")
    accept(MEASURED, plant, target)
    target.write_text(target.read_text(encoding="utf-8").replace("mean: 6 h", "mean: 8 h"), encoding="utf-8")

    known = read_inputs(load(target))

    assert known.sources[EVERY].how == "assumed"
    assert known.numbers[EVERY].spread == GUESS
    assert known.sources[REPAIR].how == "measured"


def test_what_an_earlier_log_measured_keeps_its_doubt(plant: Path) -> None:
    """The second log tells of one number only; the other is still as the first one had it."""
    first, second = plant.with_name("first.yaml"), plant.with_name("second.yaml")
    accept(MEASURED, plant, first)

    known = read_inputs(accept(fitted(cause(FILM, Exponential(9e4, "time"), RATE, n=4)), first, second))

    assert known.sources[EVERY].n == 23
    assert known.numbers[EVERY].spread == RATE
    assert known.sources[FILM].n == 4


def test_a_what_if_keeps_the_doubt_of_all_that_it_does_not_set(plant: Path) -> None:
    scenario = accept(MEASURED, plant, plant.with_name("new.yaml"))

    known = read_inputs(apply_settings(scenario, {REPAIR: "5 min"}))

    assert known.sources[EVERY].how == "measured"
    assert known.sources[REPAIR].how == "assumed"


def test_only_the_chosen_numbers_are_taken(plant: Path) -> None:
    scenario = accept(MEASURED, plant, plant.with_name("new.yaml"), causes=[REPAIR])

    laws = {one.path: written(one.law) for one in asked(scenario)}
    assert laws[EVERY] == {"exponential": {"mean": "5 h"}}
    assert laws[REPAIR] == {"gamma": {"mean": "15 min", "cv": 0.6}}


def test_a_number_that_the_log_does_not_tell_cannot_be_taken(plant: Path) -> None:
    with pytest.raises(ScenarioError, match="tells nothing of"):
        accept(MEASURED, plant, plant.with_name("new.yaml"), causes=[FILM])

    assert sorted(one.name for one in plant.parent.iterdir()) == ["plant.yaml"]


@pytest.mark.parametrize("name", ["new.yaml", "new.inputs.json"])
def test_no_file_is_overwritten_unless_asked(name: str, plant: Path) -> None:
    there = plant.with_name(name)
    there.write_text("somebody's", encoding="utf-8")

    with pytest.raises(ScenarioError, match="already"):
        accept(MEASURED, plant, plant.with_name("new.yaml"))

    assert there.read_text(encoding="utf-8") == "somebody's"
    assert len(list(plant.parent.iterdir())) == 2
    assert accept(MEASURED, plant, plant.with_name("new.yaml"), overwrite=True).name == "One step"


def test_nothing_is_left_when_the_doubt_cannot_be_written(plant: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError("no space left")

    monkeypatch.setattr("json.dump", full)

    with pytest.raises(OSError, match="no space"):
        accept(MEASURED, plant, plant.with_name("new.yaml"))

    assert os.listdir(plant.parent) == ["plant.yaml"]


def test_a_number_that_no_line_can_have_is_refused_and_nothing_is_written(plant: Path) -> None:
    never = replace(MEASURED.causes[0], law=Exponential(-1.0, "time"))

    with pytest.raises(ScenarioError):
        accept(fitted(never), plant, plant.with_name("new.yaml"))

    assert os.listdir(plant.parent) == ["plant.yaml"]


def broken(plant: Path, change: str) -> Path:
    """Return an accepted scenario whose kept doubt was damaged."""
    target = plant.with_name("new.yaml")
    accept(MEASURED, plant, target)
    kept = inputs_file(target)
    plain = json.loads(kept.read_text(encoding="utf-8"))
    if change == "format":
        plain["passline_inputs"] = 99
    elif change == "spread":
        plain["numbers"][EVERY]["spread"]["kind"] = "wild"
    elif change == "source":
        plain["numbers"][EVERY]["source"]["how"] = "heard"
    elif change == "law":
        del plain["numbers"][EVERY]["law"]
    elif change == "numbers":
        plain["numbers"] = [1, 2]
    text = "{" if change == "text" else json.dumps(plain)
    kept.write_bytes(b"\xff\xfe\x00" if change == "bytes" else text.encode())
    return target


@pytest.mark.parametrize("change", ["format", "spread", "source", "law", "numbers", "text", "bytes"])
def test_a_damaged_file_of_the_doubt_is_told_in_words_with_a_way_out(change: str, plant: Path) -> None:
    scenario = load(broken(plant, change))

    with pytest.raises(ScenarioError) as told:
        read_inputs(scenario)

    assert "new.inputs.json" in str(told.value)
    assert "cannot be read" in str(told.value)
    assert "delete the file" in str(told.value)
