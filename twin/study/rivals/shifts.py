"""Time at work for the rivals: weekly openings, work that pauses at closing time, and breakdowns."""

from collections.abc import Callable, Generator, Sequence
from typing import Any

import simpy

Process = Generator[simpy.Event, Any, None]

DAY = 1440.0
WEEK = 7.0 * DAY
_LEAST = 1e-6  # min; a shorter wait could leave the clock where it is

Window = tuple[float, float]


def daily(*windows: str) -> list[Window]:
    """Return openings from Monday to Friday, like `06:00-09:30`, in minutes of the week."""
    ends = [tuple(_minutes(time) for time in window.split("-")) for window in windows]
    return [(day * DAY + start, day * DAY + end) for day in range(5) for start, end in ends]


def _minutes(time: str) -> float:
    hours, minutes = time.split(":")
    return float(hours) * 60.0 + float(minutes)


class Shift:
    """Openings of the week; none means always open."""

    def __init__(self, env: simpy.Environment, windows: Sequence[Window] = ()) -> None:
        self.env = env
        self.windows = windows
        self.closes = 0.0 if windows else float("inf")

    def opening(self) -> Process:
        """Wait until it is open, and remember when it closes."""
        now = self.env.now
        if now < self.closes - _LEAST:
            return
        week, minute = divmod(now + _LEAST, WEEK)
        start, end = next(
            (w for w in self.windows if minute < w[1]), (self.windows[0][0] + WEEK, self.windows[0][1] + WEEK)
        )
        self.closes = week * WEEK + end
        if start > minute:
            yield self.env.timeout(max(week * WEEK + start - now, _LEAST))

    def work(self, duration: float) -> Process:
        """Let so many open minutes pass."""
        left = duration
        while left > _LEAST:
            yield from self.opening()
            step = min(left, self.closes - self.env.now)
            yield self.env.timeout(step)
            left -= step


class Machine:
    """A machine that breaks down after so many minutes of work."""

    def __init__(
        self,
        shift: Shift,
        life: Callable[[], float] | None = None,
        repair: Callable[[], float] = lambda: 0.0,
    ) -> None:
        self.shift = shift
        self.draw_life = life
        self.draw_repair = repair
        self.life = life() if life else float("inf")

    def run(self, duration: float) -> Process:
        """Work so long, with the repairs that fall due meanwhile."""
        left = duration
        while left > 0.0:
            step = min(left, self.life)
            yield from self.shift.work(step)
            self.life -= step
            left -= step
            if self.life <= 0.0 and self.draw_life is not None:
                yield from self.shift.work(self.draw_repair())
                self.life = self.draw_life()
