"""Studies of many runs: a what-if, a curve, workers beside each other, and whether they give the same bytes."""

from __future__ import annotations

import hashlib
import os
from collections import deque
from collections.abc import Callable, Iterator
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING

from twin.scenario import apply_set, load
from twin.study.bench import Bench, Goal, Row
from twin.study.bench_clocks import lasting, spread
from twin.study.curve import curve
from twin.study.replicate import Replications, replicate, replicate_many
from twin.study.rollplan import time_planning

if TYPE_CHECKING:
    from twin.scenario import Scenario

MONTH_S = 30.0 * 86400.0
RUNS = 20
POSITIONS = 25


def month(setting: Bench) -> Scenario:
    """Return the plant for a month, begun empty."""
    return lasting(load(setting.scenario), MONTH_S)


def slider(plant: Scenario, count: int) -> tuple[str, list[str]]:
    """Return a number of the plant to move, the size of a store, and so many values for it."""
    store = next(name for name, own in plant.stores.items() if own.holds == "coils" and own.capacity)
    return f"stores.{store}.capacity", [f"{40 + 2 * place} coils" for place in range(count)]


def wall_times(study: Callable[[int], object], repeats: int) -> list[float]:
    """Return the time on the clock of a study whose workers are warm, each time with a seed of its own. [s]"""
    study(0)
    taken = []
    for seed in range(1, repeats + 1):
        begun = perf_counter()
        study(seed)
        taken.append(perf_counter() - begun)
    return taken


def what_if(setting: Bench) -> Iterator[Row]:
    """Two designs, with and without what limits them; then the curve that a slider asks for."""
    plant = month(setting)
    path, values = slider(plant, POSITIONS)
    two = [apply_set(plant, path, text) for text in values[:2]]
    what = "a what-if: 2 designs x 20 runs x 30 days, two workers"
    for activity, more, goal in ((False, "", Goal(0.1, 0.03)), (True, ", with what limits", Goal())):
        taken = wall_times(
            lambda seed, activity=activity: replicate_many(two, runs=RUNS, workers=2, seed=seed, activity=activity),  # type: ignore[misc]
            2 * setting.repeats,
        )
        yield Row(what + more, median(taken), "s", goal, spread(taken), busy())
    one, both = (
        wall_times(
            lambda seed, workers=workers: deque(curve(plant, path, values, seed=seed, workers=workers), maxlen=0),  # type: ignore[misc]
            setting.repeats,
        )
        for workers in (1, 2)
    )
    yield Row(f"a curve: {POSITIONS} positions of that, two workers", median(both), "s", Goal(1.0, 0.3), spread(both))
    note = f"at best {min(one):.2f} s against {min(both):.2f} s; {busy()}"
    yield Row(
        "two workers against one, on the curve", median(one) / median(both), "1", Goal(1.8, 1.95, "high"), note=note
    )


def busy() -> str:
    """Tell how busy the machine is with all that runs on it."""
    if not hasattr(os, "getloadavg"):
        return ""
    return f"{os.getloadavg()[0]:.1f} processes want the {os.cpu_count()} cores"


def planning(setting: Bench) -> Iterator[Row]:
    """Plan the roll changes of a long sequence of coils."""
    goals = {"400 coils without scarce sets": Goal(0.05), "400 coils with scarce sets": Goal(1.0)}
    for what, took in time_planning(400, repeats=setting.repeats).items():
        yield Row(f"roll changes planned: {what}", took, "s", goals.get(what, Goal()))


def digest(made: Replications) -> str:
    """Return the SHA-256 of all that a study keeps of its runs."""
    return hashlib.sha256(made.values.tobytes() + made.day_good_kg.tobytes()).hexdigest()


def same_bytes(setting: Bench) -> Iterator[Row]:
    """Run one scenario with 1, 2 and 8 workers and on each clock; count the different results."""
    plant = month(setting)
    found = {digest(replicate(plant, runs=16, workers=workers)) for workers in (1, 2, 8)}
    found |= {digest(replicate(plant, runs=16, workers=1, clock=clock)) for clock in ("simpy", "pure")}
    note = "sha-256 " + " ".join(sorted(one[:16] for one in found))
    yield Row("different results of 1, 2 and 8 workers and of all clocks", float(len(found)), "1", Goal(1.0), note=note)
