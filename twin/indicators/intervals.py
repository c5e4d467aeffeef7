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
GRID = 24
"""Values that stand for each variance that is only known from runs."""
WIDEST = 10.0


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


class Parts(NamedTuple):
    """Variances: of a plant's mean, not known exactly; of that mean's estimate from few runs; of runs of one plant."""

    plant: float
    runs: float
    degrees: int
    within: float


def parts_of(values: FloatArray, group: int) -> Parts:
    """Split the scatter of runs of which `group` each share a plant (one-way analysis of variance, random effects).

    What differs between groups beyond what differs within them is not luck but the plant that was drawn; it does not
    shrink with more runs. (R. A. Fisher, Statistical Methods for Research Workers, 1925.)
    """
    groups = len(values) // group
    if groups < 2 or group < 2:
        raise ValueError(f"{len(values)} runs in groups of {group} tell nothing of the plant: make 4 runs or more")
    table = values[: groups * group].reshape(groups, group)
    between = group * float(table.mean(axis=1).var(ddof=1))
    within = float(table.var(axis=1, ddof=1).mean())
    return Parts(max(0.0, (between - within) / group), between / (groups * group), groups - 1, within)


def plant_interval(values: FloatArray, group: int, level: float = LEVEL) -> Interval:
    """Return the mean with an interval that holds what is not known of the plant too; as `mean_interval` without.

    Both variances are only known from these runs, the plants' as a difference of two. So each is drawn from what the
    runs leave open of it (S. Weerahandi, Journal of the American Statistical Association 88 (1993) 899-905), and the
    interval holds its share of the normal laws with all these variances. Where runs differ little within a plant it is
    Student's t.

    Parameters
    ----------
    values : One a run; `group` runs in a row share a plant, 0 where all runs have the same.
    """
    data = np.asarray(values, dtype=float)
    if group < 2 or len(data) < 2 * group:
        return mean_interval(data, level)
    parts, mean = parts_of(data, group), float(data.mean())
    groups = parts.degrees + 1
    between = parts.runs * group * groups / _shares(parts.degrees)[:, None]
    within = parts.within / _shares(groups * (group - 1))
    half = _half(np.sqrt(np.maximum(between - within, 0.0) / group + between / (group * groups)), level)
    return Interval(mean, mean - half, mean + half)


@lru_cache(maxsize=64)
def _shares(degrees: int) -> FloatArray:
    """Return evenly likely shares of a true variance that one with these degrees of freedom may show (chi-square)."""
    from scipy.special import gammaincinv

    return np.asarray(gammaincinv(degrees / 2.0, (np.arange(GRID) + 0.5) / GRID) * 2.0 / degrees)


def _half(deviations: FloatArray, level: float) -> float:
    """Return the half-width that holds this share of normal laws with all these standard deviations, by bisection."""
    from scipy.special import ndtr

    low, high = 0.0, WIDEST * float(deviations.max())
    if high == 0.0:
        return 0.0
    while high - low > 1e-9 * high:
        middle = (low + high) / 2.0
        held = 2.0 * float(ndtr(middle / deviations).mean()) - 1.0
        low, high = (middle, high) if held < level else (low, middle)
    return high


def column_intervals(values: FloatArray, level: float = LEVEL, group: int = 0) -> list[Interval | None]:
    """Return the interval of each column; runs that have no value (NaN) are left out; None where none has one.

    With a `group`, as many runs in a row share a plant, and intervals hold what is not known of it too.
    """
    if group >= 2 and len(values) >= 2 * group:
        plain = column_intervals(values, level)
        whole = np.asarray(np.isfinite(values).all(axis=0), dtype=bool)
        return [
            plant_interval(values[:, place], group, level) if whole[place] else one for place, one in enumerate(plain)
        ]
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
