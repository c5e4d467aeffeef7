"""Runs of a scenario, what they show, and whether an exact value stands up to them."""

from collections.abc import Callable, Iterator
from typing import Literal
from zlib import crc32

import numpy as np
import pytest
from hypothesis import HealthCheck, settings
from scipy.stats import t

from twin.line import Totals, simulate
from twin.line.engine import compiled_available
from twin.scenario import loads

STATES = ("running", "setup", "changing_rolls", "down", "waiting", "starved", "blocked", "closed")
HOUR = 3600.0


def runs_of(text: str, count: int = 20) -> Iterator[Totals]:
    """Run a scenario so many times; each scenario has a seed of its own, so that no two share their luck."""
    plant, seed = loads(text), crc32(text.encode())
    for run in range(count):
        yield simulate(plant, seed=seed, run=run).totals


def measure(text: str, *figures: Callable[[Totals], float], count: int = 20) -> list[list[float]]:
    """Return, for each figure, its values over the runs."""
    values: list[list[float]] = [[] for _ in figures]
    for totals in runs_of(text, count):
        for figure, into in zip(figures, values, strict=True):
            into.append(figure(totals))
    return values


def stands(values: list[float], exact: float, *, within: float = 0.01, narrow: float = 0.007) -> None:
    """Hold runs against an exact value: inside their 99 % interval, and close.

    The interval (t, over the runs) must be `narrow` enough, as a share of the exact value, for this to mean something.
    """
    mean = float(np.mean(values))
    half = float(t.ppf(0.995, len(values) - 1) * np.std(values, ddof=1)) / len(values) ** 0.5
    shown = f"{mean:.6g} +- {half:.2g} against {exact:.6g}"
    assert half <= narrow * abs(exact), f"these runs are too short to tell: {shown}"
    assert abs(mean - exact) <= half, f"outside the 99 % interval: {shown}"
    assert mean == pytest.approx(exact, rel=within), shown


def steadied(values: list[float], beside: list[float], known: float) -> list[float]:
    """Return values with the chance taken out that shows in another figure whose mean is known exactly.

    A control variate (S. S. Lavenberg and P. D. Welch, Management Science 27, 1981, from memory): each value is moved
    along the regression line of all the others, so that the values stay independent of their own slope.
    """
    y, x = np.array(values), np.array(beside)
    moved = []
    for i in range(len(y)):
        others = np.arange(len(y)) != i
        slope = np.cov(y[others], x[others])[0, 1] / np.var(x[others], ddof=1)
        moved.append(float(y[i] - slope * (x[i] - known)))
    return moved


def machine(totals: Totals, station: str, number: int = 1) -> int:
    """Return the row of a machine in the totals."""
    return totals.layout.machines.index((station, number))


def share(station: str, state: str) -> Callable[[Totals], float]:
    """Return the share of time a station's first machine spends in a state."""
    column = STATES.index(state)
    return lambda totals: float(totals.state_s[machine(totals, station), column]) / totals.duration_s


def level(store: str, unit: float = 1.0) -> Callable[[Totals], float]:
    """Return the mean level of a store, in coils, or in this many kg."""
    return lambda totals: float(totals.store_level_s[totals.layout.stores.index(store)]) / totals.duration_s / unit


def coils_per_hour(station: str) -> Callable[[Totals], float]:
    """Return the coils that all machines of a station finish in an hour."""

    def count(totals: Totals) -> float:
        rows = [i for i, (name, _) in enumerate(totals.layout.machines) if name == station]
        return float(totals.coils[rows].sum()) / totals.duration_s * HOUR

    return count


def tonnes_per_hour(station: str) -> Callable[[Totals], float]:
    """Return what a station passes, in tonnes an hour."""
    return lambda totals: float(totals.out_kg[machine(totals, station)]) / 1000.0 / totals.duration_s * HOUR


def stay(unit: float = HOUR) -> Callable[[Totals], float]:
    """Return the mean time from a coil's coming to its end."""
    return lambda totals: float(np.mean(totals.lead_time_s)) / unit


def relaxed(examples: int) -> settings:
    """Return how often a law is tried: always the same lines, so that a check that passes goes on passing."""
    return settings(
        max_examples=examples,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
    )


def clocks() -> tuple[Literal["simpy", "pure", "compiled"], ...]:
    """Return the clocks that this machine has."""
    return ("simpy", "pure", "compiled") if compiled_available() else ("simpy", "pure")
