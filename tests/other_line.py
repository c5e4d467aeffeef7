"""A small line written once more, coil by coil and without the twin: a leveller, a few places, a packer.

It shares no code with the twin: the times at which coils start and leave follow from one another (blocking after
service, a store of a few coils), failures age with running time only, and what happened is written down as a plant
would, in the files of a log. All its numbers are invented.
"""

import csv
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

LEVELLER, PACKER = "leveller", "packer"
PLACES = 4
COIL_KG = 4000.0
MINUTES = {LEVELLER: 24.0, PACKER: 26.0}  # a coil, on average
CV = 0.35
BETWEEN_FAILURES_H = {LEVELLER: 9.0, PACKER: 14.0}  # of running
REPAIR_MIN = {LEVELLER: 50.0, PACKER: 70.0}  # on average, exponential


@dataclass
class Machine:
    """One machine with its luck."""

    name: str
    dice: random.Random
    slower: float = 1.0
    left_min: float = 0.0
    stops: list[tuple[float, float, str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.left_min = self.dice.expovariate(1.0 / (60.0 * BETWEEN_FAILURES_H[self.name]))

    def work(self, start: float) -> float:
        """Return when a coil that starts now is finished [min], with what comes between."""
        shape = 1.0 / CV**2
        left, now = self.slower * self.dice.gammavariate(shape, MINUTES[self.name] / shape), start
        while self.left_min < left:
            now, left = now + self.left_min, left - self.left_min
            repair = self.dice.expovariate(1.0 / REPAIR_MIN[self.name])
            self.stops.append((now, now + repair, "stop"))
            now += repair
            self.left_min = self.dice.expovariate(1.0 / (60.0 * BETWEEN_FAILURES_H[self.name]))
        self.left_min -= left
        return now + left


@dataclass(frozen=True)
class Passed:
    """One coil: when it began at both machines and when it left them [min]."""

    begun: tuple[float, float]
    left: tuple[float, float]


def run_line(days: float, seed: int, slower: float = 1.0) -> tuple[list[Passed], list[Machine]]:
    """Run the line without a break; `slower` is by how much the packer is slower than it should be."""
    dice = random.Random(seed)
    first, second = (
        Machine(LEVELLER, random.Random(dice.random())),
        Machine(PACKER, random.Random(dice.random()), slower),
    )
    passed: list[Passed] = []
    while not passed or passed[-1].left[1] < days * 1440.0:
        begun = passed[-1].left[0] if passed else 0.0
        done = first.work(begun)
        room = passed[-PLACES].begun[1] if len(passed) >= PLACES else 0.0
        away = max(done, room)
        if away > done:
            first.stops.append((done, away, "no room"))
        free = passed[-1].left[1] if passed else 0.0
        taken = max(away, free)
        if taken > free:
            second.stops.append((free, taken, "no material"))
        passed.append(Passed((begun, taken), (away, second.work(taken))))
    return passed, [first, second]


def write_log(
    folder: Path, begin: datetime, days: float, seed: int, slower: float = 1.0, keep_from: float = 0.0
) -> None:
    """Write the log of some days of the line, without what was before `keep_from` [days]."""
    passed, machines = run_line(days, seed, slower)
    first, last = keep_from * 1440.0, days * 1440.0
    folder.mkdir(parents=True, exist_ok=True)

    def told(minutes: float) -> str:
        return (begin.astimezone(UTC) + timedelta(minutes=minutes)).isoformat(timespec="seconds")

    def inside(end: float) -> bool:
        return first < end <= last

    stops = [
        [own.name, 1, told(start), told(end), reason]
        for own in machines
        for start, end, reason in own.stops
        if inside(end) and end - start > 1.0
    ]
    coils, output = [], []
    for number, own in enumerate(passed):
        for machine, name in enumerate((LEVELLER, PACKER)):
            if inside(own.left[machine]):
                coils.append([number, "", name, told(own.begun[machine]), told(own.left[machine]), COIL_KG])
        if inside(own.left[1]):
            output.append([PACKER, 1, told(own.left[1]), number, "coil", COIL_KG, 0])
    _table(folder / "stops.csv", ["station", "machine", "start", "end", "reason"], stops)
    _table(folder / "coils.csv", ["coil", "parent", "station", "start", "end", "mass_kg"], coils)
    _table(folder / "output.csv", ["station", "machine", "time", "coil", "product", "good_kg", "scrap_kg"], output)


def _table(file: Path, head: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    with file.open("w", newline="", encoding="utf-8") as out:
        csv.writer(out).writerows([head, *rows])
