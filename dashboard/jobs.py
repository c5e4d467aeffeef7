"""Runs in processes of their own: started, watched, stopped, and never silent about how they ended.

A run belongs to its key (the same question has the same key), not to the page that asked: a page that is loaded anew
finds it again. A worker ends with the server (its pipe breaks), with its last page (nobody looks any more) and when it
is asked to; whatever it made until then it has written itself.
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
from dataclasses import dataclass, field, replace
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from typing import Any, Literal

from dashboard.worker import STOP, Told, serve

LOG = logging.getLogger("passline.jobs")
State = Literal["none", "waits", "running", "stopping", "done", "stopped", "failed", "input"]
GRACE_S = 3.0
REMEMBERED = 50
ENDS: dict[str, State] = {"done": "done", "stopped": "stopped", "failed": "failed", "input": "input"}


@dataclass(frozen=True, slots=True)
class View:
    """What there is to say about a run now; ``steps`` counts its messages, ``note`` finds it in the log."""

    state: State = "none"
    steps: int = 0
    data: Mapping[str, Any] = field(default_factory=dict)
    words: str = ""
    note: str = ""
    took_s: float = 0.0

    @property
    def going(self) -> bool:
        """Tell whether more is still to come."""
        return self.state in ("waits", "running", "stopping")


def noted(view: View) -> View:
    """Write a fault of ours into the log, and return the view with the note's number."""
    if view.state != "failed":
        return view
    note = secrets.token_hex(2)
    LOG.error("note %s: %s\n%s", note, view.words, view.data.get("trace", ""))
    return replace(view, note=note)


class Worker:
    """One process and the near end of its pipe."""

    def __init__(self, early: tuple[str, ...]) -> None:
        context = multiprocessing.get_context("spawn")
        near, far = context.Pipe()
        self.pipe: Connection = near
        self.process: SpawnProcess = context.Process(target=serve, args=(far, early), daemon=True)
        self.process.start()
        far.close()


class Job:
    """One run: its worker, who asked for it, and what it has told so far."""

    def __init__(self, worker: Worker, owner: str) -> None:
        self.worker = worker
        self.owner = owner
        self.view = View("running")
        self.began = self.looked = time.monotonic()
        self.kill_at: float | None = None

    def hear(self, told: Told) -> None:
        """Take in one message."""
        state = ENDS.get(told.what, self.view.state)
        took = time.monotonic() - self.began
        self.view = noted(View(state, self.view.steps + 1, told.data, told.data.get("words", ""), "", took))

    def ask_to_stop(self) -> None:
        """Ask politely; after a while the process is ended."""
        if self.view.state == "running":
            self.view = replace(self.view, state="stopping")
            self.kill_at = time.monotonic() + GRACE_S
            with suppress(OSError):  # it has just ended by itself
                self.worker.pipe.send(STOP)

    def ended(self) -> None:
        """Say in words how the process went away when it did not say so itself."""
        self.worker.process.join()
        code, view = self.worker.process.exitcode, self.view
        self.worker.pipe.close()
        if view.state == "stopping":
            self.view = replace(view, state="stopped", steps=view.steps + 1)
        elif view.state == "running":
            took = time.monotonic() - self.began
            words = f"The run ended without a result: exit code {code} after {took:.0f} s."
            self.view = noted(View("failed", view.steps + 1, view.data, words, "", took))


class Jobs:
    """All runs of one server. ``limit`` is how many go at once, ``early`` what a waiting worker imports beforehand."""

    def __init__(self, *, limit: int = 1, stale_s: float = 150.0, early: tuple[str, ...] = ()) -> None:
        self.limit = limit
        self.stale_s = stale_s
        self.early = early
        self._jobs: dict[str, Job] = {}
        self._spare: Worker | None = None
        self._changed = threading.Condition()
        self._closed = threading.Event()
        threading.Thread(target=self._reap, daemon=True, name="reaper").start()
        atexit.register(self.close)

    def warm(self) -> None:
        """Have one process ready, so that the next run starts at once."""
        with self._changed:
            if self._spare is None and not self._closed.is_set():
                self._spare = Worker(self.early)

    def start(self, key: str, target: str, arguments: Mapping[str, Any], owner: str = "") -> View:
        """Start the run unless it is going already; an owner's other runs are asked to stop.

        The state is ``waits`` when others hold all places: ask again later.
        """
        with self._changed:
            job = self._jobs.get(key)
            if job is not None and job.view.state == "running":
                return job.view
            for other in self._running():
                if owner and other.owner == owner:
                    other.ask_to_stop()
            if len(self._running()) >= self.limit:
                return View("waits")
            job = self._begin(target, arguments, owner)
            self._jobs.pop(key, None)
            self._jobs[key] = job
            self._forget()
        threading.Thread(target=self._read, args=(job,), daemon=True, name=f"read {key}").start()
        return job.view

    def look(self, key: str, *, after: int = -1, wait_s: float = 0.0) -> View:
        """Return what there is to say; wait a little for news past step ``after``. Looking keeps a run alive."""
        with self._changed:
            job = self._jobs.get(key)
            if job is None:
                return View()
            job.looked = time.monotonic()
            self._changed.wait_for(lambda: job.view.steps > after or not job.view.going, wait_s)
            return job.view

    def stop(self, key: str) -> View:
        """Ask a run to stop and keep what it made."""
        with self._changed:
            job = self._jobs.get(key)
            if job is None:
                return View()
            job.ask_to_stop()
            return job.view

    def close(self) -> None:
        """End every process; used when the server ends."""
        self._closed.set()
        with self._changed:
            for job in self._running():
                job.view = replace(job.view, state="stopping")
            workers = [job.worker for job in self._jobs.values() if job.worker.process.is_alive()]
            workers += [self._spare] if self._spare else []
            self._spare = None
        for worker in workers:
            worker.process.kill()
            worker.process.join()
        atexit.unregister(self.close)

    def _running(self) -> list[Job]:
        return [job for job in self._jobs.values() if job.view.state == "running"]

    def _begin(self, target: str, arguments: Mapping[str, Any], owner: str) -> Job:
        worker, self._spare = self._spare, None
        if worker is None or not worker.process.is_alive():
            worker = Worker(self.early)
        worker.pipe.send((target, dict(arguments)))
        return Job(worker, owner)

    def _forget(self) -> None:
        ended = [key for key, job in self._jobs.items() if not job.view.going]
        for key in ended[: max(0, len(self._jobs) - REMEMBERED)]:
            del self._jobs[key]

    def _read(self, job: Job) -> None:
        """Take in what a run tells until its pipe closes (a thread of its own).

        A process for the next run is begun at the first word of this one, as its start takes a core for a second.
        """
        try:
            while True:
                told = job.worker.pipe.recv()
                with self._changed:
                    job.hear(told)
                    self._changed.notify_all()
                self.warm()
        except (EOFError, OSError):
            pass
        with self._changed:
            job.ended()
            self._changed.notify_all()

    def _reap(self) -> None:
        """Stop runs that nobody looks at, end those that do not stop when asked (a thread of its own)."""
        while not self._closed.wait(0.25):
            now = time.monotonic()
            with self._changed:
                jobs = list(self._jobs.values())
                for job in jobs:
                    if job.view.state == "running" and now - job.looked > self.stale_s:
                        LOG.warning("nobody has looked at a run for %.0f s: it is stopped", self.stale_s)
                        job.ask_to_stop()
                    if job.kill_at is not None and now > job.kill_at and job.worker.process.is_alive():
                        job.worker.process.kill()
