"""Small tasks for worker processes, which must be able to import them."""

import os
import signal
import time
from pathlib import Path


def double(number: int) -> int:
    """Return twice the number."""
    return 2 * number


def process_id(_: int) -> int:
    """Return the number of the process that does the task."""
    return os.getpid()


def slow(number: int) -> int:
    """Take longer the smaller the number, so that tasks finish in another order than they began."""
    time.sleep(0.05 * (4 - number % 4))
    return number


def die_once(task: tuple[int, str]) -> int:
    """Kill the own process the first time task 3 is done; a file remembers that it happened."""
    number, mark = task
    if number == 3 and not Path(mark).exists():
        Path(mark).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def die(_: int) -> int:
    """Kill the own process."""
    os.kill(os.getpid(), signal.SIGKILL)
    return 0


def interrupt_self(number: int) -> int:
    """Press Ctrl-C in a worker."""
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(0.01)
    return number
