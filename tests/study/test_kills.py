"""Workers and whole commands killed at random moments: no wrong answer, no orphan process, no broken file.

A few here, fifty of each at night.
"""

import json
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from random import Random
from typing import Any

import psutil
import pytest
from study_texts import TANDEM

from twin.scenario import loads
from twin.study import pool
from twin.study.replicate import replicate

RUNS = 240
LATEST_S = 1.6  # the command is done by then, on a machine with nothing else to do
GONE_S = 10.0
COMMAND = "import sys; from twin.cli import main; main()"


def kill_workers(kills: int, seed: int) -> None:
    """Make a study again and again, and kill one of its workers somewhere in it."""
    chance = Random(seed)
    line = loads(TANDEM.replace("length: 400 h", "length: 1500 h"))
    right = replicate(line, runs=RUNS, workers=1).digest
    struck = 0
    while struck < kills:
        over = threading.Event()
        hit: list[int] = []
        killer = threading.Thread(target=kill_one_worker, args=(chance.uniform(0.0, 0.25), chance, over, hit))
        killer.start()
        made = replicate(line, runs=RUNS, workers=2)
        over.set()
        killer.join()
        struck += len(hit)
        assert made.digest == right
        assert made.runs == RUNS


def kill_one_worker(after_s: float, chance: Random, over: threading.Event, hit: list[int]) -> None:
    """Wait, then kill one process of the pool, if the study is not over by then."""
    over.wait(after_s)
    executor = pool.shared(2)._executor
    workers = list(getattr(executor, "_processes", None) or {})
    if workers and not over.is_set():
        hit.append(chance.choice(workers))
        os.kill(hit[0], signal.SIGKILL)


def kill_commands(kills: int, seed: int, folder: Path) -> None:
    """Begin a command again and again, and kill it somewhere, with each of three signals in turn."""
    chance = Random(seed)
    file, out = folder / "line.yaml", folder / "out.json"
    file.write_text(TANDEM, encoding="utf-8")
    words = [sys.executable, "-c", COMMAND, "run", str(file), "--runs", str(RUNS), "--workers", "2", "--json", str(out)]
    subprocess.run(words, check=True, capture_output=True)
    whole = json.loads(out.read_text(encoding="utf-8"))
    for number in range(kills):
        out.unlink(missing_ok=True)
        with subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as running:
            time.sleep(chance.uniform(0.0, LATEST_S))
            family = children(running.pid)
            running.send_signal((signal.SIGKILL, signal.SIGTERM, signal.SIGINT)[number % 3])
            running.wait(timeout=120.0)
        gone, alive = psutil.wait_procs(family, timeout=GONE_S)
        assert not [one for one in alive if one.status() != psutil.STATUS_ZOMBIE], f"kill {number}"
        assert_right_or_absent(out, whole)


def children(process: int) -> list[psutil.Process]:
    """Return all processes that a process has begun, none if it is over."""
    try:
        return list(psutil.Process(process).children(recursive=True))
    except psutil.NoSuchProcess:
        return []


def assert_right_or_absent(out: Path, whole: dict[str, Any]) -> None:
    """Hold a written answer to that of as many runs made here."""
    if not out.exists():
        return
    told = json.loads(out.read_text(encoding="utf-8"))
    if told["runs"] == RUNS:
        assert told == whole
    else:
        again = replicate(loads(TANDEM), runs=told["runs"], workers=1).summary()
        assert told["line"] == json.loads(json.dumps(again["line"]))


def test_a_worker_killed_anywhere_changes_no_byte() -> None:
    kill_workers(3, seed=1)


def test_a_command_killed_anywhere_leaves_nothing_behind(tmp_path: Path) -> None:
    kill_commands(3, seed=1, folder=tmp_path)


@pytest.mark.nightly
def test_fifty_workers_killed_anywhere_change_no_byte() -> None:
    kill_workers(50, seed=2)


@pytest.mark.nightly
def test_fifty_commands_killed_anywhere_leave_nothing_behind(tmp_path: Path) -> None:
    kill_commands(50, seed=2, folder=tmp_path)
