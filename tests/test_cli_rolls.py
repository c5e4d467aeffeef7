"""`passline rolls` as people and programs use it: what it prints, what it writes, how it ends."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import icalendar
import pytest
from typer.testing import CliRunner, Result

from twin.cli import app

SCENARIOS = Path(__file__).parents[1] / "scenarios"
QUICK = ("--runs", 2, "--futures", 8, "--workers", 1)


def passline(*words: str | float | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [str(word) for word in words])


def plain(text: str) -> str:
    """Return text with blanks in place of all special ones."""
    return re.sub(r"\s+", " ", text)


@pytest.fixture(scope="module")
def answered(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Result, Path]]:
    """Return one quick answer, with all that it writes."""
    folder = tmp_path_factory.mktemp("rolls")
    done = passline(
        "rolls", SCENARIOS / "marram.yaml", *QUICK, "--json", folder / "out.json", "--ics", folder / "out.ics"
    )
    yield done, folder


def test_people_get_a_sentence_the_windows_the_distances_and_the_cautions(answered: tuple[Result, Path]) -> None:
    done, _ = answered
    text = plain(done.stdout)

    assert done.exit_code == 0, done.stderr
    assert "The hour of the next change does not matter" in text
    assert "However far a set runs, the line makes as much" in text
    assert "The coming windows" in text and "How far should a set run?" in text and "When is a set changed?" in text
    assert "Isolate and lock every energy" in text
    assert "never a target to beat" in text
    assert "a state out of a simulated week" in text


def test_programs_get_the_fixed_keys(answered: tuple[Result, Path]) -> None:
    results = json.loads((answered[1] / "out.json").read_text(encoding="utf-8"))

    assert results["passline"] == 1
    assert results["station"] == "mill"
    assert results["matters"] is False
    assert set(results["age"]) >= {"best", "flat", "pays"}
    assert set(results["line"][0]) >= {"change_after", "good", "change"}
    assert set(results["changes"][0]) >= {"set", "earliest", "best", "latest", "price_per_half_hour", "why"}
    assert results["line"][0]["good"]["unit"] == "t/week"


def test_a_calendar_program_gets_a_window_for_each_change(answered: tuple[Result, Path]) -> None:
    results = json.loads((answered[1] / "out.json").read_text(encoding="utf-8"))
    calendar = icalendar.Calendar.from_ical((answered[1] / "out.ics").read_bytes())

    assert len(calendar.walk("VEVENT")) == len(results["changes"]) > 0


def test_the_plan_of_before_is_kept_near_now(answered: tuple[Result, Path]) -> None:
    done = passline(
        "rolls", SCENARIOS / "marram.yaml", *QUICK, "--keep", answered[1] / "out.json", "--days", 1, "--json", "-"
    )

    assert done.exit_code == 0, done.stderr
    assert any("moving a later one has a price" in one for one in json.loads(done.stdout)["assumed"])


STATE = """
now: 2026-03-18 12:00
stores: {holders: 20 t, cast coils: 12}
rolls:
  mill: {used: 120 km, sets: {ready: 1, cooling: 2, waiting: 2}}
"""


def test_the_plan_begins_from_the_state_that_is_given(tmp_path: Path) -> None:
    state = tmp_path / "state.yaml"
    state.write_text(STATE, encoding="utf-8")

    done = passline("rolls", SCENARIOS / "marram.yaml", *QUICK, "--from", state, "--json", "-")

    assert done.exit_code == 0, done.stderr
    results = json.loads(done.stdout)
    assert results["now"].startswith("2026-03-18T12:00")
    assert results["source"] == "plant's own state"
    assert [one["place"] for one in results["sets"]].count("waiting") == 2
    assert results["changes"][0]["distance"] > 120.0


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("now: 2026-03-18 12:00\nrols: {}\n", ":2: rols: 'rols' is not part of a state"),
        ("now: 2026-03-18 12:00\nrolls:\n  mil: {used: 3 km}\n", ":3: rolls.mil: there is no station 'mil'"),
        ("now: yesterday\n", ":1: now: "),
        ("- 1\n", "a state is a mapping"),
        ("stores: {cast coils: {TA: 3}}\n", ":1: stores.cast coils: no station takes 'TA'"),
    ],
)
def test_a_state_that_cannot_be_is_told_of_with_its_line(tmp_path: Path, text: str, told: str) -> None:
    state = tmp_path / "state.yaml"
    state.write_text(text, encoding="utf-8")

    done = passline("rolls", SCENARIOS / "marram.yaml", *QUICK, "--from", state)

    assert done.exit_code == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_what_cannot_be_planned_ends_with_2_and_the_way_out(tmp_path: Path) -> None:
    none = passline("rolls", SCENARIOS / "tarn_lane.yaml")
    other = passline("rolls", SCENARIOS / "marram.yaml", "--station", "slitter")
    lost = passline("rolls", SCENARIOS / "marram.yaml", "--keep", tmp_path / "no.json")
    bad = tmp_path / "bad.json"
    bad.write_text("{}", encoding="utf-8")
    empty = passline("rolls", SCENARIOS / "marram.yaml", "--keep", bad)

    assert [done.exit_code for done in (none, other, lost, empty)] == [2, 2, 2, 2]
    assert "describe them under rolls: of a mill" in none.stderr
    assert "name one of mill" in other.stderr
    assert "cannot be read" in lost.stderr
    assert "this is no earlier plan for 'mill'" in empty.stderr
