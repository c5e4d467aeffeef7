"""`passline fit` and `run --inputs uncertain` as people and programs use them; the plant is invented."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from fit_study import LINE
from typer.testing import CliRunner, Result

from twin.cli import app
from twin.line import simulate
from twin.logs.write import log_of
from twin.scenario import apply_settings, loads

TWO = "options: {quick packer: {set: {stations.packer.time: 45 min}}}\n"
TABLES = ("stops", "output")
TIMES = ("start", "end", "time")


def passline(*words: str | float | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [str(word) for word in words])


def plain(text: str) -> str:
    """Return text with single blanks in place of all special ones."""
    return re.sub(r"\s+", " ", text)


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a scenario and twenty days of log of the line that it describes."""
    folder = tmp_path_factory.mktemp("plant")
    (folder / "plant.yaml").write_text(LINE, encoding="utf-8")
    scenario = apply_settings(loads(LINE), {"time.length": "20 days"})
    trace = simulate(scenario, seed=4, trace=True).trace
    assert trace is not None
    log = log_of(trace, scenario)
    (folder / "log").mkdir()
    for name in TABLES:
        _written(folder / "log" / f"{name}.csv", {key: own.tolist() for key, own in log[name].columns.items()})
    return folder


def _written(file: Path, columns: dict[str, list[object]]) -> None:
    from datetime import UTC, datetime

    def cell(name: str, value: object) -> str:
        if isinstance(value, float) and name in TIMES:
            return datetime.fromtimestamp(value, UTC).isoformat()
        return "" if value != value else str(value)

    kept = {name: own for name, own in columns.items() if any(value not in ("",) and value == value for value in own)}
    rows = zip(*kept.values(), strict=True)
    lines = [",".join(kept), *(",".join(map(cell, kept, row)) for row in rows)]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")


@pytest.fixture(scope="module")
def answered(plant: Path) -> Result:
    """Return the answer for people; results and the new scenario stand in the folder."""
    return passline(
        "fit", plant / "plant.yaml", "--log", plant / "log",
        "--json", plant / "out.json", "--write", plant / "measured.yaml",
    )  # fmt: skip


def test_people_get_what_is_measured_beside_what_was_assumed(answered: Result) -> None:
    text = plain(answered.stdout)

    assert answered.exit_code == 0, answered.stderr
    assert "The log tells of 6 numbers" in text
    assert "Measured beside assumed" in text
    assert "knife jam" in text and "between stops" in text


def test_programs_get_the_fixed_keys(answered: Result, plant: Path) -> None:
    assert answered.exit_code == 0
    results = json.loads((plant / "out.json").read_text(encoding="utf-8"))

    assert results["passline"] == 1
    assert isinstance(results["findings"], list)
    for one in results["causes"]:
        assert set(one) >= {"station", "reason", "n", "exposure", "law", "parameters", "aic", "fits"}
        assert all(set(own) == {"mean", "low", "high"} for own in one["parameters"].values())
    assert {one["reason"] for one in results["causes"]} == {"break", "knife jam", "strap"}


def test_the_new_scenario_runs_with_what_the_log_leaves_open(answered: Result, plant: Path) -> None:
    """The whole way: log, fit, new scenario, runs whose intervals hold both errors, what to record next."""
    assert answered.exit_code == 0
    done = passline(
        "run", plant / "measured.yaml", "--inputs", "uncertain", "--runs", 24, "--workers", 1, "--json", "-"
    )

    assert done.exit_code == 0, done.stderr
    told = json.loads(done.stdout)["inputs"]
    assert (told["mode"], told["measured"], told["numbers"]) == ("uncertain", 6, 6)
    assert 0.0 < told["doubt"]["log_share"] <= 1.0
    assert {"from_log", "from_runs", "runs_only", "record_next", "words"} <= set(told["doubt"])


def test_the_printed_answers_say_how_the_inputs_were_taken(answered: Result, plant: Path) -> None:
    assert answered.exit_code == 0
    (plant / "two.yaml").write_text(LINE + TWO, encoding="utf-8")
    few = ("--runs", 4, "--workers", 1)

    drawn = passline("run", plant / "measured.yaml", "--inputs", "uncertain", *few)
    best = passline("run", plant / "measured.yaml", *few)
    beside = passline("compare", plant / "two.yaml", "--inputs", "uncertain", *few, "--report", plant / "two.html")

    said = "Inputs are drawn as uncertain as they are (6 of 6 measured), anew for every 2 runs: the intervals hold that"
    assert said in plain(drawn.stdout)
    assert "uncertain" not in plain(best.stdout)
    none = "Inputs are drawn as uncertain as they are (none of 6 measured), anew for every 2 runs"
    assert none in plain(beside.stdout)
    assert none in plain((plant / "two.html").read_text(encoding="utf-8"))


def test_a_file_that_is_there_is_not_replaced(answered: Result, plant: Path) -> None:
    assert answered.exit_code == 0
    before = (plant / "measured.yaml").read_bytes()

    done = passline("fit", plant / "plant.yaml", "--log", plant / "log", "--write", plant / "measured.yaml")

    assert done.exit_code == 2
    assert "is there already" in plain(done.stderr)
    assert (plant / "measured.yaml").read_bytes() == before


def test_a_log_that_is_none_is_refused_in_words(plant: Path, tmp_path: Path) -> None:
    (tmp_path / "stops.csv").write_text("colour,taste\nred,sour\n", encoding="utf-8")

    absent = passline("fit", plant / "plant.yaml", "--log", tmp_path / "nowhere")
    bad = passline("fit", plant / "plant.yaml", "--log", tmp_path, "--write", tmp_path / "new.yaml")

    assert absent.exit_code == 2 and "there is no such log" in plain(absent.stderr)
    assert bad.exit_code == 2 and "has no table 'output'" in plain(bad.stderr)
    assert not (tmp_path / "new.yaml").exists()
