"""The command line as people and programs use it: what it prints, where, and how it ends."""

import csv
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import psutil
import pytest
from study_texts import TANDEM
from typer.testing import CliRunner, Result

from twin.cli import app
from twin.cli.files import write_json, write_tables
from twin.cli.run import a_share
from twin.cli.telling import said
from twin.indicators.intervals import Interval
from twin.scenario import load
from twin.study.replicate import Progress, replicate

HEAVY = ("scipy", "numpy", "pandas", "pint", "dask", "distributed", "pydantic", "rich", "simpy", "dash", "sqlalchemy")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Return a scenario file."""
    path = tmp_path / "tandem.yaml"
    path.write_text(TANDEM, encoding="utf-8")
    return path


def passline(*words: str | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [str(word) for word in words])


def beside(*words: str | Path) -> subprocess.CompletedProcess[str]:
    """Run the command as a program of its own."""
    code = "import sys; from twin.cli import main; sys.argv[0] = 'passline'; main()"
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", code, *map(str, words)], capture_output=True, text=True, check=False
    )


def test_help_loads_nothing_heavy() -> None:
    """The help answers at once because the model is loaded only by what needs it."""
    code = "import sys, twin.cli; print(sorted(set(sys.modules) & set(sys.argv[1:])))"
    found = subprocess.run([sys.executable, "-c", code, *HEAVY], capture_output=True, text=True, check=True)

    assert found.stdout.strip() == "[]"


def test_a_sound_scenario_is_called_sound(file: Path) -> None:
    done = passline("check", file)

    assert done.exit_code == 0
    assert done.stdout.startswith(f"{file}: sound. Three stations, no room between: 4 stations, 4 stores, 3 options;")


def test_all_faults_of_a_file_are_told_at_once_without_a_traceback(file: Path) -> None:
    file.write_text(TANDEM.replace("kind: step, from: ready", "kind: stap, from: ready").replace("zinc", "zink"))
    done = beside("check", file)

    assert done.returncode == 2
    assert done.stdout == ""
    assert "zink" in done.stderr
    assert "stap" in done.stderr
    assert "Traceback" not in done.stderr
    assert f"{file}:" in done.stderr


def test_the_schema_is_json_schema() -> None:
    done = passline("check", "--schema")

    schema = json.loads(done.stdout)
    assert done.exit_code == 0
    assert "stations" in schema["properties"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["run", "nowhere.yaml"], "nowhere.yaml"),
        (["run", "{file}", "--set", "stations.first.tiem=1 h"], "tiem"),
        (["run", "{file}", "--set", "stations.first"], "has no value"),
        (["run", "{file}", "--option", "quick frist"], "quick frist"),
        (["run", "{file}", "--option", "quick first + slow first"], "stations.first.time"),
        (["run", "{file}", "--precision", "much"], "is no share"),
        (["run", "{file}", "--runs", "0"], "--runs"),
        (["run", "{file}", "--json", "{file}/out.json", "--runs", "1"], "cannot be written"),
        (["check"], "no scenario was named"),
        (["rnu"], "rnu"),
    ],
)
def test_a_fault_of_the_user_ends_with_2_and_one_message(file: Path, words: list[str], told: str) -> None:
    done = passline(*(word.replace("{file}", str(file)) for word in words))

    assert done.exit_code == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    "out",
    [
        ("--json", "{folder}/missing/out.json"),
        ("--json", "{folder}"),
        ("--trace", "{folder}/tandem.yaml"),
        ("--trace", "{folder}/tandem.yaml/below"),
    ],
)
def test_a_place_that_cannot_be_written_is_refused_before_the_runs(file: Path, out: tuple[str, str]) -> None:
    """An hour of runs must not be lost to a folder that is not there."""
    before = sorted(file.parent.iterdir())

    done = passline("run", file, *(word.replace("{folder}", str(file.parent)) for word in out))

    assert done.exit_code == 2
    assert done.stdout == ""
    assert "cannot be written" in done.stderr
    assert "Traceback" not in done.stderr
    assert sorted(file.parent.iterdir()) == before


def test_a_run_answers_in_a_sentence_then_in_tables(file: Path) -> None:
    done = passline("run", file, "--runs", "5")

    assert done.exit_code == 0
    text = " ".join(done.stdout.split())
    assert text.startswith("The line makes ")
    assert "5 simulated runs of 400 h each after 50.0 h of warm-up, 95 % interval." in text
    assert "A plan, not a permit" in text
    assert "done" not in text  # a finished store only grows
    for name in ("first", "second", "third", "first gap", "Taken never to stop"):
        assert name in text


def test_the_answer_keeps_whole_numbers_in_a_narrow_window(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "50")
    done = passline("run", file, "--runs", "2")

    assert "…" not in done.stdout


def test_json_alone_on_the_standard_output(file: Path) -> None:
    done = beside("run", file, "--runs", "3", "--seed", "9", "--json", "-")

    results = json.loads(done.stdout)
    expected = replicate(load(file), runs=3, seed=9).summary()
    assert done.returncode == 0
    assert results == json.loads(json.dumps(expected))


def test_options_add_up_and_single_values_come_last(file: Path) -> None:
    done = passline(
        "run", file, "--option", "quick first + room", "--set", "stations.third.time=2 h", "--runs", "2", "--json", "-"
    )

    assert json.loads(done.stdout)["line"]["good"]["mean"] == pytest.approx(0.5, rel=0.05)


def test_workers_and_clock_do_not_change_a_byte(file: Path) -> None:
    common = ("run", file, "--runs", "4", "--json", "-")
    texts = {
        passline(*common, *more).stdout for more in ((), ("--workers", "2"), ("--clock", "simpy"), ("--clock", "pure"))
    }

    assert len(texts) == 1


def test_the_trace_is_written_as_tables_with_units_in_their_heads(file: Path, tmp_path: Path) -> None:
    folder = tmp_path / "trace"
    done = passline("run", file, "--runs", "1", "--trace", folder)

    assert done.exit_code == 0
    with open(folder / "states.csv", encoding="utf-8", newline="") as table:
        rows = list(csv.DictReader(table))
    assert {"station", "machine", "state", "start_s", "end_s"} <= set(rows[0])
    third = sum(float(row["end_s"]) - float(row["start_s"]) for row in rows if row["station"] == "third")
    assert third == pytest.approx(400.0 * 3600.0)
    assert not [name for name in os.listdir(folder) if not name.endswith(".csv")]


def test_precision_that_was_not_reached_is_said(file: Path) -> None:
    done = passline("run", file, "--precision", "0.001 %", "--runs", "21")

    assert done.exit_code == 0
    assert "21 runs did not reach the precision asked for" in done.stderr


def test_ctrl_c_prints_what_was_made_so_far(file: Path) -> None:
    code = "import sys; from twin.cli import main; main()"
    words = ["run", str(file), "--runs", "1000000", "--workers", "2", "--json", "-"]
    running = subprocess.Popen(
        [sys.executable, "-c", code, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    watched = psutil.Process(running.pid)
    while len(watched.children(recursive=True)) < 3:  # the first run is done here, then processes start
        assert running.poll() is None
        time.sleep(0.02)
    running.send_signal(signal.SIGINT)
    out, told = running.communicate(timeout=30.0)

    assert running.returncode == 0, told
    runs = json.loads(out)["runs"]
    assert f"Stopped after {runs} of 1000000 runs" in told
    assert "Traceback" not in told


def test_a_share_is_read_as_per_cent_or_as_a_number() -> None:
    assert (a_share("0.5 %"), a_share("0.005"), a_share("2%")) == (0.005, 0.005, 0.02)


def test_progress_tells_the_answer_so_far() -> None:
    line = said(Progress(done=7, wanted=20, good=Interval(612.0, 587.0, 637.0), elapsed_s=2.0))

    assert line.replace("\u00a0", " ").startswith("7 of 20 runs, about 612 ± 25 t/week so far")


def test_a_cell_that_a_spreadsheet_would_run_is_made_text(tmp_path: Path) -> None:
    """OWASP ASVS 5.0, 1.2.10: a cell that begins with = + - @ is a formula to a spreadsheet; numbers stay numbers."""
    table = {"station": np.array(["=1+1", "mill"], dtype=object), "change_t": np.array([-1.5, 2.0])}
    write_tables({"odd": table}, str(tmp_path))

    assert (tmp_path / "odd.csv").read_bytes() == b"station,change_t\r\n'=1+1,-1.5\r\nmill,2.0\r\n"


def test_a_file_is_replaced_whole_or_not_at_all(tmp_path: Path) -> None:
    out = tmp_path / "out.json"
    write_json({"runs": 1}, str(out))
    with pytest.raises(TypeError):
        write_json({"runs": object()}, str(out))

    assert json.loads(out.read_text(encoding="utf-8")) == {"runs": 1}
    assert os.listdir(tmp_path) == ["out.json"]


def test_a_fault_of_ours_ends_with_1_and_says_so(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("something odd")

    monkeypatch.setattr("twin.study.replicate.replicate", broken)
    done = passline("run", file)

    assert done.exit_code == 1
    assert "This is a fault of passline" in done.stderr
    assert "something odd" in done.stderr
