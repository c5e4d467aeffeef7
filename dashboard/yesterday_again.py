"""One process at hand that runs the day on the page again, so that a day with an event otherwise is there at a click.

This is its near end, in the server. The process is started when a day is first shown, reads the log then, and ends
when nobody has asked it anything for half an hour.
"""

from __future__ import annotations

import atexit
import logging
import multiprocessing
import secrets
import threading
import time
from collections.abc import Mapping
from contextlib import suppress
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from typing import Any

from dashboard.yesterday_stay import stay

LOG = logging.getLogger("passline.again")
IDLE_S = 1800.0
REMEMBERED = 200
ENDED = "the process that runs days again has ended: press once more"


class Again:
    """The process at hand, and what became of each order by its key: None as long as it is being done."""

    def __init__(self, idle_s: float = IDLE_S) -> None:
        self.idle_s = idle_s
        self._changed = threading.Condition()
        self._became: dict[str, str | None] = {}
        self._pipe: Connection | None = None
        self._process: SpawnProcess | None = None
        atexit.register(self.close)

    def send(self, order: Mapping[str, Any]) -> None:
        """Have an order done, unless it is under way or well done already."""
        with self._changed:
            if self._became.get(order["key"], "not yet asked") in (None, ""):
                return
            pipe = self._pipe if self._pipe is not None and self._alive() else self._start()
            self._became.pop(order["key"], None)
            self._became[order["key"]] = None
            for old in [key for key, end in self._became.items() if end is not None][:-REMEMBERED]:
                del self._became[old]
            with suppress(OSError):  # it has just ended: its reader says so
                pipe.send(dict(order))

    def became(self, key: str, wait_s: float = 0.0) -> str | None:
        """Return what was wrong with an order, nothing for a good one, None while it is being done."""
        with self._changed:
            self._changed.wait_for(lambda: self._became.get(key, "") is not None, wait_s)
            return self._became.get(key, "")

    def forget(self, key: str) -> None:
        """Take an order for one that was never asked: its answer is not kept any more."""
        with self._changed:
            self._became.pop(key, None)

    def close(self) -> None:
        """End the process; used when the server ends."""
        with self._changed:
            process, self._pipe, self._process = self._process, None, None
        if process is not None and process.is_alive():
            process.kill()
            process.join()
        atexit.unregister(self.close)

    def _alive(self) -> bool:
        return self._process is not None and self._process.is_alive()

    def _start(self) -> Connection:
        context = multiprocessing.get_context("spawn")
        near, far = context.Pipe()
        self._process = context.Process(target=stay, args=(far,), daemon=True)
        self._process.start()
        far.close()
        self._pipe = near
        threading.Thread(target=self._read, args=(near, self._process), daemon=True, name="again").start()
        return near

    def _read(self, pipe: Connection, process: SpawnProcess) -> None:
        """Take in what became of orders until the process ends, or has had nothing to do for long (its own thread)."""
        heard = time.monotonic()
        with suppress(EOFError, OSError):
            while time.monotonic() - heard < self.idle_s or self._busy():
                if pipe.poll(0.25):
                    key, words, trace = pipe.recv()
                    heard = time.monotonic()
                    self._note(key, words, trace)
        with self._changed:
            if self._pipe is pipe:
                self._pipe = self._process = None
                self._became = {key: ENDED for key, end in self._became.items() if end is None}
            self._changed.notify_all()
        pipe.close()  # the far end hears it and goes
        process.join()

    def _busy(self) -> bool:
        with self._changed:
            return None in self._became.values()

    def _note(self, key: str, words: str, trace: str) -> None:
        """Note how an order ended; a fault of ours goes into the log under a number that the page says."""
        if trace:
            note = secrets.token_hex(2)
            LOG.error("note %s: %s\n%s", note, words, trace)
            words = f"{words}. Note {note} is in the log"
        with self._changed:
            self._became[key] = words
            self._changed.notify_all()
