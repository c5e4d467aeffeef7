"""SimPy as the clock of one run: for the trace, for live views, and for what a user hangs beside the line."""

import math
from collections.abc import Callable

import simpy

from twin.line.build import Draws
from twin.line.engine import rules_of
from twin.line.model import Model
from twin.line.rules.state import Line


class LineClock:
    """Drives a line from a SimPy environment: one Timeout, to the next thing that is due.

    The line keeps its own absolute time, which the environment's follows to the bit. Processes beside the line may
    change it through `act`; the Timeout that this makes stale is known by its identity and does nothing.
    """

    def __init__(self, env: simpy.Environment, line: Line, draws: Draws, model: Model, *, pure: bool = False) -> None:
        self.env = env
        self.line = line
        self.draws = draws
        self.model = model
        self.rules = rules_of("run", pure=pure)
        self.armed: simpy.Event | None = None
        self.rules.begin(line)
        self.arm()

    def arm(self) -> None:
        """Set one Timeout for when the line wants to be called."""
        at = self.rules.next_time(self.line)
        if self.line.low:
            self.draws.refill()
        timeout = simpy.Timeout(self.env, self.delay(at))
        timeout.callbacks.append(lambda event: self.ring(event, at))
        self.armed = timeout

    def delay(self, at: float) -> float:
        """Return the delay after which the environment's clock shows `at` to the bit, as near as it can be had."""
        delay = at - self.env.now
        for _ in range(4):
            shown = self.env.now + delay
            if shown == at:
                break
            delay = math.nextafter(delay, math.inf if shown < at else 0.0)
        return max(delay, 0.0)

    def ring(self, event: simpy.Event, at: float) -> None:
        """Let what is due happen, unless something else has changed the line meanwhile."""
        if event is not self.armed:
            return
        self.rules.step(self.line, at)
        if self.line.low:
            self.draws.refill()
        self.arm()

    def act(self, change: Callable[[Line], None]) -> None:
        """Let a process beside the line change it now."""
        self.line.now = self.env.now
        change(self.line)
        self.rules.settle(self.line)
        self.arm()


def run(line: Line, draws: Draws, model: Model, *, pure: bool = False) -> None:
    """Run a line from its beginning to its end under SimPy."""
    env = simpy.Environment()
    clock = LineClock(env, line, draws, model, pure=pure)
    run_until(env, model.warm_up)
    line.now = model.warm_up
    clock.rules.start_counting(line)
    clock.arm()
    run_until(env, model.end)
    clock.rules.bring_to(line, model.end)


def run_until(env: simpy.Environment, until: float) -> None:
    """Let everything happen up to a time and at it."""
    while env.peek() <= until:
        env.step()
