"""`passline review` as people and programs use it: what it prints, what it writes, how it ends."""

import json
import re
from pathlib import Path

import pytest
from review_days import LINE, made_log
from typer.testing import CliRunner, Result

from twin.cli import app
from twin.logs.save import save_log
from twin.scenario import loads


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Return the files of a small line and of its log of three days."""
    folder = tmp_path_factory.mktemp("plant")
    file = folder / "line.yaml"
    file.write_text(LINE, encoding="utf-8")
    save_log(made_log(loads(LINE), days=3, seed=8), folder / "log")
    return file, folder / "log"


def passline(*words: str | float | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [str(word) for word in words])


def plain(text: str) -> str:
    """Return text with blanks in place of all special ones."""
    return re.sub(r"\s+", " ", text)


def test_the_answer_says_whether_it_was_ordinary_and_its_ladder_adds_up(plant: tuple[Path, Path]) -> None:
    file, log = plant
    done = passline("review", file, "--log", log, "--day", "2026-03-03", "--runs", 6)

    assert done.exit_code == 0
    said = plain(done.stdout)
    for words in ("What happened on 2026-03-03?", "ordinary day", "expected", "unexplained", "actual", "never people"):
        assert words in said


def test_the_results_have_the_fixed_keys_and_add_up(plant: tuple[Path, Path], tmp_path: Path) -> None:
    file, log = plant
    out = tmp_path / "out.json"
    words = ("review", file, "--log", log, "--day", "2026-03-03", "--runs", 4, "--quick")
    assert passline(*words, "--json", out).exit_code == 0
    alone = passline(*words, "--json", "-")

    results = json.loads(out.read_text(encoding="utf-8"))
    assert json.loads(alone.stdout) == results
    assert results["passline"] == 1
    assert results["day"] == "2026-03-03"
    assert {"verdict", "actual", "expected", "position", "signal", "ladder", "unexplained", "suspect"} <= set(results)
    assert set(results["expected"]) == {"mean", "low", "high", "unit"}
    assert all({"cause", "station", "t", "low", "high"} <= set(rung) for rung in results["ladder"])
    rungs = sum(rung["t"] for rung in results["ladder"])
    assert results["expected"]["mean"] + rungs + results["unexplained"] == pytest.approx(results["actual"], abs=1e-9)
    before = results["such_days"]["mean"] + results["start_state"]["t"]
    assert before == pytest.approx(results["expected"]["mean"], abs=1e-9)
    assert 0.0 < results["position"] < 1.0


def test_without_a_day_the_last_full_one_is_taken(plant: tuple[Path, Path]) -> None:
    file, log = plant
    done = passline("review", file, "--log", log, "--runs", 2, "--quick", "--json", "-")
    assert json.loads(done.stdout)["day"] == "2026-03-04"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--day", "2026-07-01"), "tells nothing of 2026-07-01: it tells of 2026-03-02 to 2026-03-04"),
        (("--day", "yesterday"), "is no date. Write it like"),
    ],
)
def test_a_day_that_cannot_be_reviewed_is_refused_in_one_line(
    plant: tuple[Path, Path], words: tuple[str, ...], said: str
) -> None:
    file, log = plant
    done = passline("review", file, "--log", log, *words)
    assert done.exit_code == 2
    assert said in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


def test_a_log_that_is_not_there_or_of_another_line_is_refused(plant: tuple[Path, Path], tmp_path: Path) -> None:
    file, log = plant
    assert "there is no such log" in passline("review", file, "--log", tmp_path / "none").stderr
    other = tmp_path / "other.yaml"
    other.write_text(re.sub(r"(?m)^  (mill|slitter|former|caster):", r"  \1 two:", LINE), encoding="utf-8")
    done = passline("review", other, "--log", log, "--day", "2026-03-03")
    assert done.exit_code == 2
    assert "the scenario does not know" in done.stderr


def test_the_answer_says_how_the_inputs_were_taken_and_uncertain_ones_widen_the_day(plant: tuple[Path, Path]) -> None:
    file, log = plant
    words = ("review", file, "--log", log, "--day", "2026-03-03", "--runs", 30, "--quick")
    best, uncertain = (json.loads(passline(*words, "--inputs", one, "--json", "-").stdout) for one in TAKEN)
    said = plain(passline(*words[:-2], 4, "--quick", "--inputs", "uncertain").stdout)
    wide = {one["inputs"]["mode"]: one["expected"]["high"] - one["expected"]["low"] for one in (best, uncertain)}

    assert wide["uncertain"] > wide["best"]
    assert best["inputs"]["words"] == "Inputs at their best estimates."
    assert "Inputs as uncertain as they are. None of" in said


TAKEN = ("best", "uncertain")
