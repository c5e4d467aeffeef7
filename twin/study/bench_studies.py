"""Studies of many runs: a what-if, a curve, workers beside each other, and whether they give the same bytes."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING

from twin.scenario import apply_set, load
from twin.study.bench import Bench, Goal, Row
from twin.study.bench_clocks import lasting, spread
from twin.study.replicate import Replications, replicate, replicate_many

if TYPE_CHECKING:
    from twin.scenario import Scenario

MONTH_S = 30.0 * 86400.0
RUNS = 20
POSITIONS = 25


def designs(setting: Bench, count: int) -> list[Scenario]:
    """Return the plant for a month, with so many sizes of one store."""
    plant = lasting(load(setting.scenario), MONTH_S)
    store = next(name for name, own in plant.stores.items() if own.holds == "coils" and own.capacity)
    return [apply_set(plant, f"stores.{store}.capacity", f"{40 + 2 * i} coils") for i in range(count)]


def wall_times(scenarios: Sequence[Scenario], workers: int, repeats: int) -> list[float]:
    """Return the time on the clock of a study whose workers are warm. [s]"""
    replicate_many(scenarios, runs=RUNS, workers=workers)
    taken = []
    for _ in range(repeats):
        begun = perf_counter()
        replicate_many(scenarios, runs=RUNS, workers=workers)
        taken.append(perf_counter() - begun)
    return taken


def what_if(setting: Bench) -> Iterator[Row]:
    """Two designs, then a curve of 25, each 20 runs of 30 days."""
    two = designs(setting, 2)
    with_two = wall_times(two, 2, setting.repeats)
    yield Row(
        "a what-if: 2 designs x 20 runs x 30 days, two workers",
        median(with_two),
        "s",
        Goal(0.1, 0.03),
        spread(with_two),
    )
    curve = designs(setting, 4 if setting.quick else POSITIONS)
    one, both = (wall_times(curve, workers, 3) for workers in (1, 2))
    what = f"a curve: {len(curve)} positions of that"
    yield Row(f"{what}, two workers", median(both), "s", Goal(1.0, 0.3), spread(both))
    note = f"{median(one):.2f} s against {median(both):.2f} s"
    yield Row(
        "two workers against one, on the curve", median(one) / median(both), "1", Goal(1.8, 1.95, "high"), note=note
    )


def digest(made: Replications) -> str:
    """Return the SHA-256 of all that a study keeps of its runs."""
    return hashlib.sha256(made.values.tobytes() + made.day_good_kg.tobytes()).hexdigest()


def same_bytes(setting: Bench) -> Iterator[Row]:
    """Run one scenario with 1, 2 and 8 workers and on each clock; count the different results."""
    plant = designs(setting, 1)[0]
    found = {digest(replicate(plant, runs=16, workers=workers)) for workers in (1, 2, 8)}
    found |= {digest(replicate(plant, runs=16, workers=1, clock=clock)) for clock in ("simpy", "pure")}
    note = "sha-256 " + " ".join(sorted(one[:16] for one in found))
    yield Row("different results of 1, 2 and 8 workers and of all clocks", float(len(found)), "1", Goal(1.0), note=note)
