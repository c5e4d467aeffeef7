"""A process that stays: it has the day on the page at hand, and runs it again at once with one event otherwise.

This is its far end; `dashboard.yesterday_again` is the near one. It ends with the server, whose pipe breaks.
"""

from __future__ import annotations

import signal
import traceback
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from dashboard import answers
from dashboard.yesterday_records import Shelf
from twin.logs import LogError
from twin.scenario import ScenarioError
from twin.study.review import whatif
from twin.study.review_answer import Edit
from twin.study.review_day import Day
from twin.study.review_events import events_of

GOOD = ""


def stay(pipe: Connection) -> None:
    """Do one order after the other until the server is gone; each is answered by its key and what went wrong."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server
    shelf = Shelf()
    try:
        while True:
            order = pipe.recv()
            pipe.send((order["key"], *done(shelf, order)))
    except (EOFError, OSError):
        return


def done(shelf: Shelf, order: Mapping[str, Any]) -> tuple[str, str]:
    """Do an order; return in words what was wrong with it, nothing for a good one, and the trace of a fault of ours."""
    try:
        day = shelf.day(order)
        if order["edits"]:
            answers.write(Path(order["kept"]), order["key"], otherwise(day, order["edits"], order["seed"]))
    except (LogError, ScenarioError, ValueError) as wrong:
        return str(wrong), ""
    except Exception as fault:  # the page must hear of every end
        return f"{type(fault).__name__}: {fault}", traceback.format_exc()
    return GOOD, ""


def otherwise(day: Day, edits: Sequence[Mapping[str, Any]], seed: int) -> dict[str, Any]:
    """Return a day with some events otherwise, everything else as it was recorded."""
    found = whatif(day, [Edit(**edit) for edit in edits], seed=seed)
    numbers = {edit["event"] for edit in edits}
    events = [asdict(one) for one in events_of(day) if one.number in numbers]
    return {"edits": [dict(edit) for edit in edits], "events": events, "whole": True, **asdict(found)}
