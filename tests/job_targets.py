"""Jobs for the tests of the runner: they count, fail, die or do not listen, as a real run might."""

from __future__ import annotations

import os
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from dashboard import answers
from dashboard.inputs import flat
from dashboard.worker import Desk
from twin.scenario import load


def write(file: str, text: str) -> None:
    """Write a file so that whoever reads it finds all of it or none."""
    part = Path(f"{file}.part")
    part.write_text(text, encoding="utf-8")
    part.replace(file)


def count(desk: Desk, *, to: int, pause_s: float, file: str = "") -> Mapping[str, Any]:
    """Count up, write each number down, stop when asked."""
    for number in range(1, to + 1):
        if desk.stopped():
            return {"number": number - 1, "stopped": True}
        if file:
            write(file, f"{os.getpid()} {number}")
        desk.tell({"number": number})
        time.sleep(pause_s)
    return {"number": to}


def fail(desk: Desk) -> Mapping[str, Any]:
    """Raise as a fault of ours would."""
    raise ValueError("width 0 is not allowed")


def die(desk: Desk) -> Mapping[str, Any]:
    """End the process without a word, as a kill from outside does."""
    os._exit(9)


def deaf(desk: Desk, *, file: str) -> Mapping[str, Any]:
    """Never listen to the word to stop."""
    write(file, str(os.getpid()))
    desk.tell({"number": 1})
    time.sleep(60)
    return {}


def answer(
    desk: Desk,
    *,
    file: str,
    plant: str,
    options: list[str],
    runs: int,
    seed: int,
    kept: str,
    key: str,
    mark: str,
    pause_s: float = 0.05,
) -> Mapping[str, Any]:
    """Answer a question as a study would: written as it is made, stopped when asked, gone on with where it stood."""
    folder, scenario = Path(kept), load(file)
    before = answers.read(folder, key)
    done = before["done"] if before and not before["whole"] else 0
    while done < runs and not desk.stopped():
        done += 1
        found = {
            "key": key,
            "done": done,
            "wanted": runs,
            "whole": done == runs,
            "half": 12.0 if done > 1 else None,
            "made": time.time(),
            "inputs": flat(scenario),
            "name": scenario.name,
            "plant": plant,
            "digest": scenario.digest,
            "seed": seed,
            "options": options,
            "version": "0",
        }
        answers.write(folder, key, found)
        desk.tell({name: found[name] for name in ("done", "wanted", "half")})
        time.sleep(pause_s)
    answers.remember(folder, mark, key)
    return {"done": done, "wanted": runs}


def fail_to_answer(desk: Desk, **order: object) -> Mapping[str, Any]:
    """Fail whatever is asked."""
    raise ValueError("width 0 is not allowed")


def die_before_answering(desk: Desk, **order: object) -> Mapping[str, Any]:
    """End the process whatever is asked."""
    os._exit(9)
