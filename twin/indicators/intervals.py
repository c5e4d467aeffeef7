"""The interval of a mean over independent runs: Student's t."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import sqrt
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

LEVEL = 0.95


class Interval(NamedTuple):
    """A mean with the two ends of its interval, which are unknown (None) from fewer than two values."""

    mean: float
    low: float | None
    high: float | None

    @property
    def half(self) -> float | None:
        """Return half the width of the interval, or nothing where it is unknown."""
        return None if self.low is None or self.high is None else (self.high - self.low) / 2.0


@lru_cache(maxsize=4096)
def t_quantile(probability: float, degrees: float) -> float:
    """Return the quantile of Student's t [1].

    Degrees of freedom need not be whole (Welch). SciPy is loaded at the first call, as a command that
    only prints its help need not wait for it.
    """
    if degrees <= 0.0:
        raise ValueError(f"Student's t needs more than 0 degrees of freedom, not {degrees:g}: make more runs")
    from scipy.special import stdtrit

    return float(stdtrit(degrees, probability))


def mean_interval(values: Sequence[float] | FloatArray, level: float = LEVEL) -> Interval:
    """Return the mean of independent values and its t interval, in the unit of the values."""
    data = np.asarray(values, dtype=float)
    if data.size == 0:
        raise ValueError("the mean of no values is not defined: make at least one run")
    mean = float(data.mean())
    if data.size < 2:
        return Interval(mean, None, None)
    half = t_quantile(0.5 + level / 2.0, data.size - 1) * float(data.std(ddof=1)) / sqrt(data.size)
    return Interval(mean, mean - half, mean + half)


def column_intervals(values: FloatArray, level: float = LEVEL) -> list[Interval | None]:
    """Return the interval of each column; runs that have no value (NaN) are left out; None where none has one."""
    known = np.isfinite(values)
    count = known.sum(axis=0)
    some = np.maximum(count, 1)
    mean = np.where(known, values, 0.0).sum(axis=0) / some
    off = np.where(known, values - mean, 0.0)
    spread = np.sqrt((off * off).sum(axis=0) / np.maximum(count - 1, 1))
    return [_interval(int(n), float(m), float(s), level) for n, m, s in zip(count, mean, spread, strict=True)]


def _interval(count: int, mean: float, spread: float, level: float) -> Interval | None:
    """Return the interval of a mean of `count` values with standard deviation `spread`."""
    if count == 0:
        return None
    if count == 1:
        return Interval(mean, None, None)
    half = t_quantile(0.5 + level / 2.0, count - 1) * spread / sqrt(count)
    return Interval(mean, mean - half, mean + half)


def indicator(interval: Interval | None, unit: str) -> dict[str, Any]:
    """Return an indicator as the results have it; what no run could tell is null."""
    mean, low, high = (None, None, None) if interval is None else interval
    return {"mean": mean, "low": low, "high": high, "unit": unit}
