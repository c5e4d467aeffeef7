"""Jobs for the tests of the runner: they count, fail, die or do not listen, as a real run might."""

from __future__ import annotations

import os
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from dashboard.worker import Desk


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
