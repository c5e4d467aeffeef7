"""Random lines of which one station is the limit for sure: by how their times were drawn, not by running them."""

from dataclasses import dataclass

import numpy as np

HEAD = """
passline: 1
name: A line whose limit is known
metal: zinc
time: {{warm_up: 100 h, length: {length} h}}
stores:
{stores}
stations:
  supply: {{kind: supply, to: gap 0, coil: {{mass: 1 t, width: 1000 mm, thickness: 0.7 mm}}}}
{stations}
{options}
"""


@dataclass(frozen=True)
class KnownLine:
    """A line as text, the station that limits it, and the others."""

    text: str
    limit: str
    others: tuple[str, ...]


def known_line(number: int, length_h: float = 400.0) -> KnownLine:
    """Return a line of three to five steps in which one has at least a fifth less capacity than any other.

    Times are gamma with a coefficient of variation of 0.3 to 0.8, stops are counted into the capacity, some steps have
    two machines, and stores hold 4 to 12 coils.
    """
    dice = np.random.default_rng([17, number])
    count = int(dice.integers(3, 6))
    slow = int(dice.integers(count))
    stations, stores = [], ["  gap 0: {holds: coils, capacity: 5}"]
    for i in range(count):
        machines = int(dice.integers(1, 3))
        cycle = 10.0 if i == slow else 10.0 / float(dice.uniform(1.25, 1.8))  # minutes a coil of the whole station
        uptime = float(dice.uniform(0.85, 0.98)) if dice.random() < 0.5 else 1.0
        stops = ""
        if uptime < 1.0:
            repair = 30.0
            every = repair * uptime / (1.0 - uptime)
            stops = (
                f", failures: [{{reason: stop, every: {{exponential: {{mean: {every:.3f} min}}}}, "
                f"repair: {{exponential: {{mean: {repair} min}}}}}}]"
            )
        time = f"{{gamma: {{mean: {cycle * machines * uptime:.4f} min, cv: {dice.uniform(0.3, 0.8):.2f}}}}}"
        to = f"gap {i + 1}" if i + 1 < count else "done"
        stations.append(
            f"  step {i}: {{kind: step, from: gap {i}, to: {to}, machines: {machines}, time: {time}{stops}}}"
        )
        room = f", capacity: {dice.integers(4, 13)}" if i + 1 < count else ""
        stores.append(f"  {to}: {{holds: coils{room}}}")
    options = "options:\n" + "\n".join(
        f"  more step {i}: {{set: {{stations.step {i}.machines: {stations[i].split('machines: ')[1][0]}0}}}}"
        for i in range(count)
    )
    text = HEAD.format(length=length_h, stores="\n".join(stores), stations="\n".join(stations), options=options)
    others = tuple(f"step {i}" for i in range(count) if i != slow)
    return KnownLine(text, f"step {slow}", others)
