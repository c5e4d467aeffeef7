"""A small line written a second time, coil by coil, sharing nothing with the twin: what a real plant would log of it.

Coils lie ready without end. A first machine works each in `first_s`, a second one in `second_s`; between them is room
for a few coils, and a finished coil stays in the first machine until there is room. Both fail after exponential running
times. Everything is a recurrence over coils, not a simulation of events. All numbers are invented.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field

Row = tuple[float, float, str]
"""Start [s], end [s], reason."""


@dataclass
class Machine:
    """One machine: how long a coil takes, how often it fails, how long a repair takes on average. [s]"""

    lasts: float
    every: float
    repair: float
    free: float = 0.0
    left: float = 0.0
    coils: list[tuple[float, float]] = field(default_factory=list)
    stops: list[Row] = field(default_factory=list)

    def work(self, start: float, dice: random.Random) -> float:
        """Work one coil from a moment on; return when it is done, repairs included."""
        if start > self.free:
            self.stops.append((self.free, start, "no material"))
        at, todo = start, self.lasts
        while self.left < todo:
            at, todo = at + self.left, todo - self.left
            repair = dice.expovariate(1.0 / self.repair)
            self.stops.append((at, at + repair, "break"))
            at, self.left = at + repair, dice.expovariate(1.0 / self.every)
        self.left -= todo
        self.coils.append((start, at + todo))
        return at + todo


def days_of_work(hours: float, seed: int, *, first_s: float, second_s: float, room: int) -> tuple[Machine, Machine]:
    """Return two machines with what they did in so many hours."""
    dice = random.Random(seed)
    first = Machine(first_s, 5.0 * 3600.0, 1500.0, left=dice.expovariate(1.0 / (5.0 * 3600.0)))
    second = Machine(second_s, 3.0 * 3600.0, 2400.0, left=dice.expovariate(1.0 / (3.0 * 3600.0)))
    taken: list[float] = []  # when the second machine took each coil
    handed = 0.0  # when the first machine was rid of its last coil
    while handed < hours * 3600.0:
        done = first.work(handed, dice)
        number = len(taken)
        lies = max(done, taken[number - room]) if number >= room else done
        if lies > done:
            first.stops.append((done, lies, "no room"))
        handed = first.free = lies
        begin = max(lies, second.free)
        taken.append(begin)
        second.free = second.work(begin, dice)
    return first, second
