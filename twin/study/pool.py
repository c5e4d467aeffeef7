"""Where runs are made: here, in warm processes beside this one, or anywhere that gives a future for a task."""

from __future__ import annotations

import atexit
import gc
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import connection, resource_tracker
from typing import Protocol, TypeVar

Given = TypeVar("Given")
Made = TypeVar("Made")


class Door(Protocol):
    """Anything that makes runs: it is handed a function with its task and gives the future of the result."""

    @property
    def workers(self) -> int:
        """Return how many tasks it works on at once."""

    @property
    def ahead(self) -> int:
        """Return how many tasks should be handed in at once to keep it busy."""

    def submit(self, function: Callable[[Given], Made], task: Given) -> Future[Made]:
        """Hand in a task."""

    def mend(self) -> None:
        """Make it work again after a worker has died."""


class Here:
    """Makes runs in this process, one task at a time."""

    workers = 1
    ahead = 1

    def submit(self, function: Callable[[Given], Made], task: Given) -> Future[Made]:
        """Do the task at once."""
        future: Future[Made] = Future()
        future.set_result(function(task))
        return future

    def mend(self) -> None:
        """Do nothing: this process is still here."""


class Pool:
    """Processes that stay warm between studies; a dead one is replaced, and none outlives this process."""

    def __init__(self, workers: int) -> None:
        if workers < 1:
            raise ValueError(f"a pool needs at least 1 worker, not {workers}")
        self.workers = workers
        self.ahead = 3 * workers
        self._lock = threading.Lock()
        self._executor: ProcessPoolExecutor | None = None

    def submit(self, function: Callable[[Given], Made], task: Given) -> Future[Made]:
        """Hand a task to the next free process."""
        with self._lock, _undisturbed():
            if self._executor is None:
                self._executor = _start(self.workers)
            return self._executor.submit(function, task)

    def mend(self) -> None:
        """Drop processes of which one has died; the next task starts new ones.

        Another study may have mended the pool already, so it is asked first.
        """
        with self._lock:
            executor = self._executor
        if executor is None:
            return
        try:
            executor.submit(_nothing)
        except BrokenExecutor:
            self.close()

    def close(self) -> None:
        """End the processes; a task in work is finished first."""
        with self._lock:
            executor, self._executor = self._executor, None
        if executor is not None:
            executor.shutdown(wait=True, cancel_futures=True)

    @property
    def warm(self) -> bool:
        """Return whether its processes have been started."""
        return self._executor is not None


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Hold a Ctrl-C back until a process that is being started has been written down, else nobody would end it.

    It is blocked too where that can be, for what is blocked here is blocked in the processes from their first
    moment: the key reaches all of a terminal's processes at once.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    if os.name == "posix":
        resource_tracker.ensure_running()  # its own start would lift the block
    pressed: list[int] = []
    usual = signal.signal(signal.SIGINT, lambda number, _: pressed.append(number))
    block = getattr(signal, "pthread_sigmask", None)
    before = block(signal.SIG_BLOCK, {signal.SIGINT}) if block else None
    try:
        yield
    finally:
        if block:
            block(signal.SIG_SETMASK, before)
        signal.signal(signal.SIGINT, usual)
    if pressed:
        raise KeyboardInterrupt


def _nothing() -> None:
    """Do nothing, to see whether somebody is there to do it."""


def _start(workers: int) -> ProcessPoolExecutor:
    """Start the processes: forked from a server that has the model loaded, or spawned where there is none."""
    method = "forkserver" if "forkserver" in multiprocessing.get_all_start_methods() else "spawn"
    context = multiprocessing.get_context(method)
    if method == "forkserver":
        context.set_forkserver_preload(["twin.study.work"])
    return ProcessPoolExecutor(workers, mp_context=context, initializer=_begin_worker)


def _begin_worker() -> None:
    """Leave Ctrl-C to the parent, and leave with the parent however it ends.

    What the process has loaded lasts: the garbage collector need not look at it again and again.
    """
    gc.freeze()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_leave_with, args=(parent.sentinel,), daemon=True).start()


def _leave_with(sentinel: int) -> None:
    """Wait until the parent is gone, then go at once: nobody is left to take a result."""
    connection.wait([sentinel])
    os._exit(1)


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


_shared: dict[int, Pool] = {}
_shared_lock = threading.Lock()


def shared(workers: int) -> Pool:
    """Return the pool of so many processes that all studies share; it starts at its first task."""
    with _shared_lock:
        return _shared.setdefault(workers, Pool(workers))


@atexit.register
def close() -> None:
    """End all shared pools."""
    with _shared_lock:
        pools = list(_shared.values())
        _shared.clear()
    for pool in pools:
        pool.close()
