"""SimPy as the clock of one run: for the trace, for live views, and for what a user hangs beside the line."""

import math
from collections.abc import Callable

import simpy

from twin.line.draws import Draws
from twin.line.engine import rules_of
from twin.line.model import Model
from twin.line.rules.state import Line


class LineClock:
    """Drives a line from a SimPy environment: one Timeout, to the next thing that is due.

    The line keeps its own absolute time, which the environment's follows to the bit. Processes beside the line may
    change it through `act`; the Timeout that this makes stale is known by its identity and does nothing. A line
    without a warm-up `counts` from the first instant on.
    """

    def __init__(
        self, env: simpy.Environment, line: Line, draws: Draws, *, pure: bool = False, counts: bool = False
    ) -> None:
        self.env = env
        self.line = line
        self.draws = draws
        self.rules, self.counting = (rules_of(part, pure=pure) for part in ("run", "counting"))
        self.next_time: Callable[[Line], float] = self.rules.next_time
        self.step: Callable[[Line, float], None] = self.rules.step
        self.armed: simpy.Event | None = None
        self.at = 0.0
        self.rules.begin(line)
        if counts:
            self.counting.start_counting(line)
        self.arm()

    def arm(self) -> None:
        """Set one Timeout for when the line wants to be called."""
        line, env = self.line, self.env
        at = self.next_time(line)
        if line.low:
            self.draws.refill()
        now = env.now
        delay = at - now
        if now + delay != at:
            delay = exact_delay(now, at)
        self.at = at
        self.armed = timeout = simpy.Timeout(env, delay)
        timeout.callbacks.append(self.ring)

    def ring(self, event: simpy.Event) -> None:
        """Let what is due happen, unless something else has changed the line meanwhile."""
        if event is not self.armed:
            return
        self.step(self.line, self.at)
        if self.line.low:
            self.draws.refill()
        self.arm()

    def act(self, change: Callable[[Line], None]) -> None:
        """Let a process beside the line change it now."""
        self.line.now = self.env.now
        self.line.crowded = True
        change(self.line)
        self.rules.settle(self.line)
        self.arm()


def exact_delay(now: float, at: float) -> float:
    """Return the delay after which a clock that shows `now` shows `at` to the bit, or as near as it can."""
    delay = at - now
    for _ in range(4):
        shown = now + delay
        if shown == at:
            break
        delay = math.nextafter(delay, math.inf if shown < at else 0.0)
    return max(delay, 0.0)


def run(line: Line, draws: Draws, model: Model, *, pure: bool = False) -> None:
    """Run a line from its beginning to its end under SimPy."""
    env = simpy.Environment()
    clock = LineClock(env, line, draws, pure=pure, counts=model.warm_up <= 0.0)
    if model.warm_up > 0.0:
        env.run(until=just_after(model.warm_up))
        line.now = model.warm_up
        clock.counting.start_counting(line)
        clock.arm()
    env.run(until=just_after(model.end))
    clock.counting.bring_to(line, model.end)
    draws.remember()


def just_after(at: float) -> float:
    """Return the next time after one, so that all that happens at it is still let happen."""
    return math.nextafter(at, math.inf)
