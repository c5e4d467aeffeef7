"""Demo plant Z from furnace to slitter as SimPy processes: what the coil and the piece model share.

The numbers are those of the demo scenario. Simplified against ours, always so that the rival has less to do: metal is
charged in half tonnes, the caster looks at its store only at the end of a coil, and skimming, returns, back-up rolls
and scrap by mass are left out. Times in minutes, masses in tonnes.
"""

from collections import deque
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import simpy

from twin.study.rivals.shifts import DAY, Machine, Process, Shift, daily

HOUR = 60.0
COIL = 4.9


class Pattern(NamedTuple):
    """What a mother coil becomes: its share, mill minutes, km, rings that go to each finishing line, cut length."""

    share: float
    mill: float
    km: float
    rings: int
    made: tuple[tuple[str, int], ...]
    hold: int
    sold_as_coil: float = 0.0
    skips_slitter: bool = False


PATTERNS = {
    "A": Pattern(0.23, 35.9, 2.78, 3, (("gutter 333", 3),), 26, 0.20),
    "B": Pattern(0.10, 34.5, 2.58, 3, (("box", 2),), 16),
    "C": Pattern(0.12, 35.9, 2.78, 4, (("gutter 250", 4),), 26, 0.30),
    "D": Pattern(0.08, 36.8, 2.91, 3, (("pipe 100", 3),), 22),
    "E": Pattern(0.05, 36.8, 2.91, 4, (("pipe 80", 3),), 22),
    "F": Pattern(0.13, 35.9, 2.78, 5, (), 10**6),
    "G": Pattern(0.09, 35.9, 2.78, 1, (), 10**6),
    "H": Pattern(0.10, 35.9, 2.78, 2, (), 10**6),
    "W": Pattern(0.10, 35.9, 2.78, 1, (("sheet", 1),), 10**6, skips_slitter=True),
}
TWO_SHIFTS = daily(
    "06:00-09:30", "09:50-12:00", "12:10-13:50", "14:00-17:30", "17:50-20:00", "20:10-21:50"
)  # fmt: skip
DAY_SHIFT = daily("06:00-09:30", "09:50-12:00", "12:10-13:50")
RELAY = [(6.0 * HOUR, 5.0 * DAY + 6.0 * HOUR)]


@dataclass
class Plant:
    """The line: its stores, people and counts."""

    env: simpy.Environment
    draw: np.random.Generator
    bath: simpy.Container
    cast: simpy.Store
    cooling: simpy.Container
    sets: simpy.Store
    grinder: simpy.Resource
    crane: simpy.Resource
    ready: dict[str, deque[float]]
    arrived: simpy.Event
    lines: dict[str, simpy.Store]
    in_flow: dict[str, int] = field(default_factory=dict)
    rolled: dict[str, int] = field(default_factory=dict)
    coils: int = 0
    slit: int = 0
    pieces: int = 0
    changes: int = 0


def new_plant(seed: int, lines: tuple[str, ...]) -> Plant:
    """Return the empty plant, with a store of rings before each finishing line."""
    env = simpy.Environment()
    return Plant(
        env=env,
        draw=np.random.default_rng(seed),
        bath=simpy.Container(env, 26.0, 20.0),
        cast=simpy.Store(env, 46),
        cooling=simpy.Container(env, 64, 0),
        sets=simpy.Store(env),
        grinder=simpy.Resource(env, 1),
        crane=simpy.Resource(env, 1),
        ready={name: deque() for name in PATTERNS},
        arrived=env.event(),
        lines={line: simpy.Store(env) for line in lines},
        in_flow=dict.fromkeys(PATTERNS, 0),
        rolled=dict.fromkeys(PATTERNS, 0),
    )


def start(plant: Plant) -> None:
    """Start the processes from furnace to slitter, four sets of rolls beside the one in the mill."""
    for _ in range(4):
        plant.sets.put("set")
    for process in (furnace(plant), caster(plant), mill(plant), slitter(plant)):
        plant.env.process(process)


def furnace(plant: Plant) -> Process:
    """Melt half a tonne at a time at 6.5 t/h."""
    while True:
        yield plant.env.timeout(0.5 / 6.5 * HOUR)
        yield plant.bath.put(0.5)


def caster(plant: Plant) -> Process:
    """Cast coils from what lies above the heel; slow down before a full store, hold, then stop and restart."""
    draw = plant.draw
    machine = Machine(Shift(plant.env), lambda: float(draw.exponential(140.0 * HOUR)), lambda: 3.5 * HOUR)
    since_service = 0.0
    while True:
        slow = len(plant.cast.items) >= plant.cast.capacity - 1
        takes = COIL / (3.09 if slow else 5.67) * HOUR
        yield plant.bath.get(COIL)
        yield from machine.run(takes)
        since_service += takes
        room = plant.cast.put(plant.env.now)
        yield room | plant.env.timeout(6.0)
        if not room.triggered:
            yield room
            yield plant.env.timeout(3.5 * HOUR)
        if since_service > 300.0 * HOUR:
            yield plant.env.timeout(9.0 * HOUR)
            since_service = 0.0


def choose(plant: Plant) -> str:
    """Return the pattern most behind its share whose line has room."""
    open_ones = [name for name, pattern in PATTERNS.items() if plant.in_flow[name] <= pattern.hold]
    return min(open_ones or list(PATTERNS), key=lambda name: (plant.rolled[name] + 1) / PATTERNS[name].share)


def mill(plant: Plant) -> Process:
    """Roll coil by coil; change rolls at 57 km or when they are damaged."""
    env, draw = plant.env, plant.draw
    shift = Shift(env, RELAY)
    mean, cv = 75.0, 0.8
    sigma = float(np.sqrt(np.log(1.0 + cv**2)))
    machine = Machine(
        shift,
        lambda: float(draw.exponential(26.0 * HOUR)),
        lambda: float(draw.lognormal(np.log(mean) - sigma**2 / 2.0, sigma)),
    )
    km, life, fresh = 0.0, float(110.0 * draw.weibull(2.4)), False
    while True:
        yield plant.cast.get()
        name = choose(plant)
        pattern = PATTERNS[name]
        plant.rolled[name] += 1
        plant.in_flow[name] += 1
        yield from machine.run(5.0 + (pattern.mill - 5.0) * (1.25 if fresh else 1.0))
        plant.coils += 1
        km, fresh = km + pattern.km, False
        yield plant.cooling.put(1)
        env.process(cool(plant, name))
        if km >= min(57.0, life):
            damaged = km >= life
            env.process(grind(plant, damaged))
            yield plant.sets.get()
            yield from shift.work(float(draw.triangular(70, 95, 150) if damaged else draw.triangular(24, 30, 45)))
            plant.changes += 1
            km, life, fresh = 0.0, float(110.0 * draw.weibull(2.4)), True


def grind(plant: Plant, damaged: bool) -> Process:
    """Bring a set of rolls back: cool it, then one person grinds and fits it on the day shift."""
    yield plant.env.timeout(10.0 * HOUR)
    with plant.grinder.request() as person:
        yield person
        yield from Shift(plant.env, DAY_SHIFT).work((3.1 + 1.5 + 2.0 * damaged) * HOUR)
    yield plant.sets.put("set")


def cool(plant: Plant, name: str) -> Process:
    """Let a rolled coil lie for 14 hours."""
    yield plant.env.timeout(14.0 * HOUR)
    pattern = PATTERNS[name]
    if pattern.skips_slitter:
        yield plant.cooling.get(1)
        yield plant.lines["sheet"].put(("sheet", name, 1))
        return
    plant.ready[name].append(plant.env.now)
    arrived, plant.arrived = plant.arrived, plant.env.event()
    arrived.succeed()


def lift(plant: Plant, minutes: float) -> Process:
    """Take the crane of the bay for a lift."""
    with plant.crane.request() as crane:
        yield crane
        yield plant.env.timeout(minutes)


def clear(plant: Plant, rings: int) -> Process:
    """Carry the rings away one by one, while the slitter goes on."""
    for _ in range(rings):
        yield from lift(plant, 2.4)


def slitter(plant: Plant) -> Process:
    """Slit 4 to 8 coils of a pattern, then set up for the pattern with most coils ready."""
    draw = plant.draw
    shift = Shift(plant.env, TWO_SHIFTS)
    machine = Machine(shift, lambda: float(draw.exponential(22.0 * HOUR)), lambda: 55.0)
    name, left, km = "", 0, 0.0
    while True:
        while not any(plant.ready.values()):
            yield plant.arrived
        if left <= 0 or not plant.ready[name]:
            fullest = max(plant.ready, key=lambda pattern: len(plant.ready[pattern]))
            if fullest != name:
                yield from shift.work(float(draw.triangular(34, 48, 70)))
            name, left = fullest, int(draw.integers(4, 9))
        plant.ready[name].popleft()
        yield plant.cooling.get(1)
        yield from shift.opening()
        yield from lift(plant, 2.5)
        rings = PATTERNS[name].rings
        yield from machine.run(3.0 + 4.0 + 927.0 / 125.0 + 0.8 + 3.0 + 1.4 * rings)
        plant.env.process(clear(plant, rings))
        km, left = km + 0.927, left - 1
        if km > 75.0:
            yield from shift.work(45.0)
            km = 0.0
        deliver(plant, name)


def deliver(plant: Plant, name: str) -> None:
    """Hand the rings of a mother coil to their finishing lines; the others are sold."""
    pattern = PATTERNS[name]
    plant.slit += 1
    if not pattern.made or plant.draw.random() < pattern.sold_as_coil:
        plant.in_flow[name] -= 1
        return
    for product, rings in pattern.made:
        for ring in range(rings):
            plant.lines[product.split()[0]].put((product, name, int(ring == rings - 1)))
