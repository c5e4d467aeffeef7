"""The far end of a run: a process of its own that does one job, tells how far it is, and ends with the server.

Nothing here imports Dash, so a process is ready in a fraction of a second.
"""

from __future__ import annotations

import importlib
import os
import threading
import traceback
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any

STOP = "stop"


class Stopped(Exception):
    """A job may raise this when it was asked to stop and has kept what it made."""


@dataclass(frozen=True, slots=True)
class Told:
    """One message of a job: how far it is, or how it ended, with plain data."""

    what: str
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Desk:
    """What a job is handed: a way to tell how far it is and to ask whether it should stop."""

    tell: Callable[[Mapping[str, Any]], None]
    stopped: Callable[[], bool]


def find(target: str) -> Callable[..., Mapping[str, Any]]:
    """Return the function that `module:name` stands for."""
    module, _, name = target.partition(":")
    found: Callable[..., Mapping[str, Any]] = getattr(importlib.import_module(module), name)
    return found


def listen(pipe: Connection, asked: threading.Event) -> None:
    """Wait for the word to stop; when the server is gone, so is this process."""
    try:
        while True:
            if pipe.recv() == STOP:
                asked.set()
    except (EOFError, OSError):
        os._exit(3)


def fault(error: BaseException) -> Told:
    """Return what the page and the log are told about an error: one for the user's input says its faults."""
    rows = [
        {part: getattr(each, part, None) for part in ("file", "line", "place", "value", "limit", "way_out", "message")}
        for each in getattr(error, "faults", ())
    ]
    kind = "input" if rows else "failed"
    text = f"{type(error).__name__}: {error}"
    return Told(kind, {"words": text, "faults": rows, "trace": traceback.format_exc()})


def serve(pipe: Connection, early: tuple[str, ...]) -> None:
    """Import what a job will need, wait for one order, do it, tell how it ended."""
    try:
        for module in early:
            importlib.import_module(module)
        target, arguments = pipe.recv()
    except (EOFError, OSError, KeyboardInterrupt):
        return
    asked = threading.Event()
    threading.Thread(target=listen, args=(pipe, asked), daemon=True).start()
    desk = Desk(tell=lambda data: pipe.send(Told("running", data)), stopped=asked.is_set)
    try:
        pipe.send(Told("done", find(target)(desk, **arguments)))
    except Stopped:
        pipe.send(Told("stopped", {}))
    except BaseException as error:  # the server must hear of every end
        pipe.send(fault(error))
