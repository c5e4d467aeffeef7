"""What a worker does: a few runs of one scenario, each boiled down to plain numbers before it is forgotten."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from time import perf_counter
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from twin.indicators import measure
from twin.indicators.intervals import FloatArray
from twin.line import simulate

if TYPE_CHECKING:
    from twin.line import Layout, Totals
    from twin.scenario import Scenario

ClockName: TypeAlias = Literal["simpy", "pure", "compiled"]
Vary: TypeAlias = "Callable[[Scenario, int, int], Scenario]"
"""(scenario, seed, run) -> the scenario of that run; must be a function that can be sent to a worker."""


@dataclass(frozen=True, slots=True)
class Task:
    """A few runs of one scenario, as it is sent to a worker: number `number` of those that are packed together."""

    scenarios: bytes
    seed: int
    first: int
    count: int
    number: int = 0
    clock: ClockName | None = None
    activity: bool = True
    vary: Vary | None = None

    def __str__(self) -> str:
        last = self.first + self.count - 1
        return f"run {self.first}" if self.count == 1 else f"runs {self.first} to {last}"


@dataclass(frozen=True, slots=True)
class Batch:
    """The numbers of those runs, as they come back."""

    layout: Layout
    length_s: float
    warm_up_s: float
    values: FloatArray
    """[runs, columns]"""
    day_good_kg: FloatArray
    """[runs, days]"""
    day_start_s: FloatArray
    took_s: float
    """Time that the worker needed for them."""
    product_day_kg: FloatArray | None = None
    """[runs, days x products], only where there are orders to fill."""


def pack(scenarios: Sequence[Scenario]) -> bytes:
    """Return scenarios as bytes, packed once for all their tasks; the parts that they share are packed once."""
    return pickle.dumps(tuple(scenarios), protocol=pickle.HIGHEST_PROTOCOL)


@lru_cache(maxsize=8)
def unpack(packed: bytes) -> tuple[Scenario, ...]:
    """Return the scenarios; a worker unpacks them only once."""
    scenarios: tuple[Scenario, ...] = pickle.loads(packed)  # our own bytes, from our own parent process
    return scenarios


def run_batch(task: Task) -> Batch:
    """Make the runs of a task."""
    begun = perf_counter()
    runs = range(task.first, task.first + task.count)
    made = [_one_run(task, run, runs[place:]) for place, run in enumerate(runs, start=1)]
    totals = made[0][0]
    return Batch(
        layout=totals.layout,
        length_s=totals.duration_s,
        warm_up_s=totals.warm_up_s,
        values=np.array([values for _, values in made]),
        day_good_kg=np.array([one.day_good_kg.sum(axis=1) for one, _ in made]),
        day_start_s=totals.day_start_s,
        took_s=perf_counter() - begun,
        product_day_kg=_by_product(task, [one for one, _ in made]),
    )


def _by_product(task: Task, made: Sequence[Totals]) -> FloatArray | None:
    """Return what each day gives of each product, where the scenario has orders."""
    if not unpack(task.scenarios)[task.number].orders:
        return None
    return np.array([one.day_good_kg.ravel() for one in made])


def _one_run(task: Task, run: int, then: Sequence[int]) -> tuple[Totals, FloatArray]:
    """Simulate one run and measure it; `then` are those that follow it."""
    scenario = unpack(task.scenarios)[task.number]
    if task.vary is not None:
        scenario = task.vary(scenario, task.seed, run)
    made = simulate(
        scenario,
        seed=task.seed,
        run=run,
        clock=task.clock,
        activity=task.activity,
        then=then,
        once=task.vary is not None,
    )
    totals = made.totals
    return totals, measure(totals)
