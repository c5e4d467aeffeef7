"""Tasks handed out ahead, results taken in order; a task lost with its worker is done again."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Generator, Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Future
from itertools import islice
from typing import Generic, TypeVar

from twin.study.pool import Door

Given = TypeVar("Given")
Made = TypeVar("Made")

MOST_DEATHS = 3
LISTEN_S = 0.1  # how often a wish to stop is asked for while waiting


class WorkerLostError(RuntimeError):
    """A task took its worker down again and again."""


class Stream(Generic[Given, Made]):
    """The results of tasks in their own order, however the workers finish them.

    Leaving the loop early cancels what has not begun. `stop` is asked while waiting for a result; once it
    says yes, the stream ends before the next one.
    """

    def __init__(self, function: Callable[[Given], Made], door: Door, stop: Callable[[], bool] | None = None) -> None:
        self._function = function
        self._door = door
        self._stop = stop
        self._out: deque[tuple[Given, Future[Made]]] = deque()
        self._deaths = 0

    def results(self, tasks: Iterator[Given]) -> Generator[tuple[Given, Made], None, None]:
        """Yield each task with its result."""
        try:
            while True:
                free = self._door.ahead - len(self._out)
                self._out.extend((task, self._submit(task)) for task in islice(tasks, free))
                if not self._out or self._stopped():
                    return
                made = self._first_result()
                if made is None:
                    return
                yield self._out.popleft()[0], made[0]
        finally:
            for _, future in self._out:
                future.cancel()
            self._out.clear()

    def _submit(self, task: Given) -> Future[Made]:
        """Hand in a task; a door that broke in the meantime is mended first."""
        try:
            return self._door.submit(self._function, task)
        except BrokenExecutor:
            self._mend(task)
            return self._door.submit(self._function, task)

    def _first_result(self) -> tuple[Made] | None:
        """Wait for the result that is next in order; None if it is no longer wanted."""
        while True:
            task, future = self._out[0]
            try:
                made = future.result(timeout=LISTEN_S)
            except BrokenExecutor:
                self._mend(task)
                self._do_again()
            except CancelledError:  # another study mended the pool that both of us use
                self._do_again()
            except TimeoutError:
                if future.done():  # the task itself ran into a time-out
                    raise
                if self._stopped():
                    return None
            else:
                self._deaths = 0
                return (made,)

    def _mend(self, task: Given) -> None:
        """Make the door work again, unless this task kills every worker it is given to."""
        self._deaths += 1
        if self._deaths >= MOST_DEATHS:
            raise WorkerLostError(
                f"a worker process died {MOST_DEATHS} times over {task}: perhaps memory ran out; try fewer workers"
            )
        self._door.mend()

    def _do_again(self) -> None:
        """Hand in again whatever was lost; results that had arrived are kept."""
        self._out = deque((task, future if _arrived(future) else self._submit(task)) for task, future in self._out)

    def _stopped(self) -> bool:
        return self._stop is not None and self._stop()


def _arrived(future: Future[Made]) -> bool:
    """Return whether a future holds a result."""
    return future.done() and not future.cancelled() and future.exception() is None
