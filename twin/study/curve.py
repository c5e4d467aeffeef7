"""How the line answers as one number of the scenario is moved: a curve that is drawn at once and refined."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from twin.indicators.intervals import FloatArray, column_intervals
from twin.scenario import apply_set
from twin.study.pool import Door, Here, shared
from twin.study.replicate import RUNS, SEED
from twin.study.replications import WEEK_H, Gathering
from twin.study.stream import Stream
from twin.study.work import Batch, ClockName, Task, pack, run_batch

if TYPE_CHECKING:
    from twin.scenario import Scenario

FIRST_RUNS = 4  # enough for a first curve with wide intervals


@dataclass(frozen=True, slots=True)
class Curve:
    """Good output at each value, and its change against the scenario as it stands, in t/week; NaN while unknown.

    The change is taken run by run on the same random numbers, so its interval is narrower than the two it
    comes from.
    """

    values: tuple[str, ...]
    runs: NDArray[np.int64]
    mean: FloatArray
    low: FloatArray
    high: FloatArray
    change: FloatArray
    change_low: FloatArray
    change_high: FloatArray
    complete: bool


def curve(
    scenario: Scenario,
    path: str,
    values: Sequence[str | float],
    *,
    runs: int = RUNS,
    seed: int = SEED,
    workers: int = 1,
    clock: ClockName | None = None,
    door: Door | None = None,
    stop: Callable[[], bool] | None = None,
    first: int | None = None,
) -> Iterator[Curve]:
    """Yield the curve again and again: coarse first, ends and middle before what lies between, then all runs.

    `path` and `values` are as for `--set`: `curve(plant, "stations.slitter.machines", [1, 2, 3])`. The value at place
    `first` is run before all others.

    Raises
    ------
    ScenarioError : a value that the scenario does not allow, before anything is run.
    """
    texts = tuple(str(value) for value in values)
    positions = [scenario, *(apply_set(scenario, path, text) for text in texts)]
    drawing = _Drawing(texts, positions, seed, runs)
    packed = pack(positions)
    places = dict.fromkeys([*([] if first is None else [first]), *spread_out(len(texts))])
    order = [0, *(1 + place for place in places)]
    at = door if door is not None else (Here() if workers == 1 else shared(workers))
    tasks = (
        Task(packed, seed, first, count, number, clock, activity=False)
        for first, count in _levels(runs)
        for number in order
    )
    for task, batch in Stream(run_batch, at, stop).results(tasks):
        drawing.take(task.number, batch)
        yield drawing.curve()


def _levels(runs: int) -> list[tuple[int, int]]:
    """Return first run and number of runs of each pass over the positions."""
    first = min(FIRST_RUNS, runs)
    return [(0, first)] if first == runs else [(0, first), (first, runs - first)]


def spread_out(count: int) -> list[int]:
    """Return 0 .. count - 1 so that any beginning of the list is spread out: both ends, the middle, the quarters."""
    done: dict[int, None] = {}
    parts = 1
    while len(done) < count:
        done.update(dict.fromkeys(round(step * (count - 1) / parts) for step in range(parts + 1)))
        parts *= 2
    return list(done)


class _Drawing:
    """The curve as far as it is known; only what has become known since is worked out."""

    def __init__(self, texts: tuple[str, ...], positions: Sequence[Scenario], seed: int, runs: int) -> None:
        self._texts, self._runs = texts, runs
        self._gathered = [Gathering(one, seed, runs) for one in positions]
        self._means, self._changes = (np.full((3, len(texts)), np.nan) for _ in range(2))

    def take(self, number: int, batch: Batch) -> None:
        """Add runs of a position; number 0 is the scenario as it stands, against which all changes are taken."""
        self._gathered[number].take(batch)
        if number:
            self._means[:, number - 1] = _interval(self._good(number))
        for place in (number,) if number else range(1, len(self._gathered)):
            made, today = self._good(place), self._good(0)
            both = min(made.size, today.size)
            self._changes[:, place - 1] = _interval(made[:both] - today[:both])

    def _good(self, number: int) -> FloatArray:
        return self._gathered[number].good * WEEK_H

    def curve(self) -> Curve:
        """Return the curve."""
        made = np.array([one.runs for one in self._gathered[1:]], dtype=np.int64)
        mean, low, high = self._means.copy()
        change, change_low, change_high = self._changes.copy()
        return Curve(
            self._texts,
            made,
            mean,
            low,
            high,
            change,
            change_low,
            change_high,
            complete=bool((made >= self._runs).all()),
        )


def _interval(values: FloatArray) -> FloatArray:
    """Return mean, low and high of values; NaN where they are not known."""
    interval = column_intervals(values[:, None])[0] if values.size else None
    return np.array([np.nan if number is None else number for number in interval or (None,) * 3])
