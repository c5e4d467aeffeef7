"""One simulated year of the plant on each clock: time, events, and how well metal and time balance."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from itertools import count
from statistics import median
from time import process_time
from typing import TYPE_CHECKING

import simpy

from twin.line import simulate
from twin.scenario import load
from twin.study.bench import Bench, Goal, Row

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.study.work import ClockName

YEAR_S = 365.0 * 86400.0
BARE_EVENTS = 200_000


def lasting(scenario: Scenario, seconds: float) -> Scenario:
    """Return the scenario with another length, begun empty and without a warm-up."""
    time = scenario.time.model_copy(update={"length": seconds, "warm_up": 0.0})
    return scenario.model_copy(update={"time": time, "start": scenario.start.model_copy(update={"mode": "empty"})})


def cpu_times(task: Callable[[], object], repeats: int) -> list[float]:
    """Return the processor time of a task, over and over, the first time not counted. [s]"""
    task()
    taken = []
    for _ in range(repeats):
        begun = process_time()
        task()
        taken.append(process_time() - begun)
    return taken


def spread(values: list[float]) -> tuple[float, float]:
    """Return the smallest and the largest."""
    return min(values), max(values)


def bare_event(repeats: int) -> float:
    """Return the time of one event of ten SimPy processes that do nothing but wait. [s]"""

    def wait(env: simpy.Environment) -> Generator[simpy.Event, object, None]:
        while True:
            yield env.timeout(1.0)

    def run() -> None:
        env = simpy.Environment()
        for _ in range(10):
            env.process(wait(env))
        env.run(BARE_EVENTS / 10)

    return median(cpu_times(run, repeats)) / BARE_EVENTS


def one_year(setting: Bench) -> Iterator[Row]:
    """Run a year on each clock."""
    plant = lasting(load(setting.scenario), YEAR_S)
    bare = bare_event(setting.repeats)
    rows: tuple[tuple[ClockName, bool, str, Goal], ...] = (
        ("simpy", True, "SimPy clock, one year, with trace", Goal(0.25, 0.1)),
        ("compiled", False, "compiled clock, one year, no trace", Goal(0.025, 0.010)),
        ("compiled", True, "compiled clock, one year, with trace", Goal()),
        ("pure", False, "pure rules, one year, no trace", Goal(0.8, 0.5)),
    )
    for clock, trace, what, goal in rows:
        try:
            runs = count()  # other numbers each time, as in a study
            taken = cpu_times(
                lambda c=clock, t=trace, runs=runs: simulate(plant, clock=c, trace=t, run=next(runs)),  # type: ignore[misc]
                setting.repeats,
            )
        except RuntimeError as missing:
            yield Row(what, None, "s", goal, note=str(missing))
            continue
        note = f"{median(taken) / bare / 1000.0:.0f} thousand bare SimPy events"
        yield Row(what, median(taken), "s", goal, spread(taken), note)
    totals = simulate(plant).totals
    coils = totals.mother_coils
    note = f"{totals.events} events, {coils} mother coils"
    yield Row("events per mother coil", totals.events / max(coils, 1), "1", Goal(20.0, 14.3), note=note)


def balances(setting: Bench) -> Iterator[Row]:
    """Run long, and look how much metal and time got lost on the way."""
    years = 2 if setting.quick else 20
    totals = simulate(lasting(load(setting.scenario), years * YEAR_S)).totals
    charged = float(totals.charged_kg.sum())
    note = f"{charged / 1000.0:.0f} t in {totals.events} events"
    error = abs(totals.mass_error_kg) / charged
    yield Row(f"mass error, {years} years, relative", error, "1", Goal(1e-9), note=note)
    yield Row(f"time error, {years} years", abs(totals.time_error_s), "s", Goal(0.0))
