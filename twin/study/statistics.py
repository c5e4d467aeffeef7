"""Statistics of simulation output: intervals, warm-up, how many runs, control variates.

References
----------
A. M. Law, Simulation Modeling and Analysis, chapters 4, 9 and 10 (from memory).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from math import sqrt
from typing import NamedTuple

import numpy as np

from twin.indicators.intervals import LEVEL, FloatArray, Interval, mean_interval, t_quantile

__all__ = [
    "BatchMeans",
    "Cut",
    "Interval",
    "batch_means",
    "control_variates",
    "mean_interval",
    "mser5",
    "paired_interval",
    "prediction_interval",
    "quantile_interval",
    "replications_needed",
    "welch_interval",
]

Values = Sequence[float] | FloatArray


class BatchMeans(NamedTuple):
    """The mean of one long run, with what its batches say about it."""

    interval: Interval
    variance: float
    """Variance of the batch means; of the mean it is this over the number of batches."""
    lag1: float
    """Correlation of one batch mean with the next: far from 0, the batches are too short."""


class Cut(NamedTuple):
    """Where the warm-up of a series ends."""

    batches: int
    observations: int
    mean: float
    statistic: float
    doubtful: bool
    """True where the cut is as late as it may be: then the series is too short to show its warm-up."""


def prediction_interval(values: Values, level: float = LEVEL) -> Interval:
    """Return the interval for the next single value of normal data; far wider than that of their mean."""
    data = np.asarray(values, dtype=float)
    _need(data, 2, "a prediction interval")
    mean, spread = float(data.mean()), float(data.std(ddof=1))
    half = t_quantile(0.5 + level / 2.0, data.size - 1) * spread * sqrt(1.0 + 1.0 / data.size)
    return Interval(mean, mean - half, mean + half)


def paired_interval(changed: Values, today: Values, level: float = LEVEL) -> Interval:
    """Return the mean of `changed` - `today` run by run: the runs must share their random numbers pair by pair."""
    one, other = np.asarray(changed, dtype=float), np.asarray(today, dtype=float)
    if one.shape != other.shape:
        raise ValueError(f"pairs need as many runs on both sides, not {one.size} and {other.size}")
    return mean_interval(one - other, level)


class Welch(NamedTuple):
    """A difference of means of two independent samples, and its degrees of freedom."""

    interval: Interval
    degrees: float


def welch_interval(changed: Values, today: Values, level: float = LEVEL) -> Welch:
    """Return the difference of the means of independent runs, whose spreads may differ.

    References
    ----------
    B. L. Welch, Biometrika 34 (1947) 28-35.
    """
    one, other = np.asarray(changed, dtype=float), np.asarray(today, dtype=float)
    _need(one, 2, "a difference of means")
    _need(other, 2, "a difference of means")
    a, b = float(one.var(ddof=1)) / one.size, float(other.var(ddof=1)) / other.size
    mean = float(one.mean() - other.mean())
    if a + b == 0.0:
        return Welch(Interval(mean, mean, mean), float(one.size + other.size - 2))
    degrees = (a + b) ** 2 / (a**2 / (one.size - 1) + b**2 / (other.size - 1))
    half = t_quantile(0.5 + level / 2.0, degrees) * sqrt(a + b)
    return Welch(Interval(mean, mean - half, mean + half), degrees)


def batch_means(series: Values, batches: int = 20, level: float = LEVEL) -> BatchMeans:
    """Return the interval of the mean of one long stationary series, whose values depend on their neighbours.

    What is left over after whole batches is dropped from the front.
    """
    data = np.asarray(series, dtype=float)
    if batches < 2:
        raise ValueError(f"batch means need at least 2 batches, not {batches}")
    _need(data, 2 * batches, f"{batches} batches")
    means = data[data.size % batches :].reshape(batches, -1).mean(axis=1)
    return BatchMeans(mean_interval(means, level), float(means.var(ddof=1)), _correlation(means[:-1], means[1:]))


def _correlation(one: FloatArray, other: FloatArray) -> float:
    """Return Pearson's correlation, 0 where one side does not vary."""
    a, b = one - one.mean(), other - other.mean()
    size = sqrt(float(a @ a) * float(b @ b))
    return float(a @ b) / size if size > 0.0 else 0.0


def mser5(series: Values, batch: int = 5) -> Cut:
    """Return where to cut the warm-up off a series, so that the mean of the rest has the least standard error.

    Its weakness is known: a slow or weak start-up is cut too early, and nothing warns of it (Wang and Glynn
    2016). So start from a typical state, or give a longer warm-up where the plant is known to need it.

    References
    ----------
    K. P. White, M. J. Cobb, S. C. Spratt, A comparison of five steady-state truncation heuristics for
    simulation, Proc. Winter Simulation Conference 2000.
    """
    data = np.asarray(series, dtype=float)
    _need(data, 4 * batch, "a search for the warm-up")
    count = data.size // batch
    means = data[: count * batch].reshape(count, batch).mean(axis=1)
    latest = count // 2
    statistic = np.array([_standard_error2(means[cut:]) for cut in range(latest + 1)])
    best = int(statistic.argmin())
    return Cut(best, best * batch, float(means[best:].mean()), float(statistic[best]), best == latest)


def _standard_error2(rest: FloatArray) -> float:
    """Return the square of the standard error as MSER has it: sum of squares over n squared."""
    off = rest - rest.mean()
    return float(off @ off) / rest.size**2


def quantile_interval(values: Values, probability: float, level: float = LEVEL) -> Interval:
    """Return a quantile of independent values with two order statistics as its interval.

    An end is unknown (None) where there are too few values for it. No shape of distribution is assumed: the
    number of values below the quantile is binomial.

    References
    ----------
    H. A. David, H. N. Nagaraja, Order Statistics, section 7.1 (from memory).
    """
    from scipy.special import bdtr

    data = np.sort(np.asarray(values, dtype=float))
    _need(data, 1, "a quantile")
    if not 0.0 < probability < 1.0:
        raise ValueError(f"a quantile needs a probability between 0 and 1, not {probability:g}")
    below = bdtr(np.arange(data.size), data.size, probability)
    tail = (1.0 - level) / 2.0
    low = int(np.searchsorted(below, tail, side="right")) - 1
    high = int(np.searchsorted(below, 1.0 - tail, side="left"))
    return Interval(
        float(np.quantile(data, probability)),
        float(data[low]) if low >= 0 else None,
        float(data[high]) if high < data.size else None,
    )


def replications_needed(values: Values, half_width: float, level: float = LEVEL, *, relative: bool = False) -> int:
    """Return how many runs make the half-width so small, if the variance stays what it is in these values.

    `relative` gives the half-width as a share of the mean.
    """
    data = np.asarray(values, dtype=float)
    _need(data, 2, "the number of runs needed")
    asked = half_width * abs(float(data.mean())) if relative else half_width
    if not asked > 0.0:
        raise ValueError(f"a half-width must be above 0, not {asked:g}")
    spread = float(data.std(ddof=1))

    def enough(runs: int) -> bool:
        return t_quantile(0.5 + level / 2.0, runs - 1) * spread / sqrt(runs) <= asked

    most = 2
    while not enough(most):
        most *= 2
    return 2 + bisect_left(range(2, most), True, key=enough)


def control_variates(values: Values, controls: FloatArray, expected: Values, level: float = LEVEL) -> Interval:
    """Return the mean of runs, freed of what luck in the `controls` explains.

    Parameters
    ----------
    values : One number a run.
    controls : What is known of each run, [runs, controls], for instance its sum of repair times.
    expected : The true mean of each control.

    References
    ----------
    S. S. Lavenberg, P. D. Welch, Management Science 27 (1981) 322-335: regression estimate, exact if run
    and controls are jointly normal.
    """
    data = np.asarray(values, dtype=float)
    luck = np.asarray(controls, dtype=float).reshape(data.size, -1) - np.asarray(expected, dtype=float)
    degrees = data.size - luck.shape[1] - 1
    if degrees < 1:
        raise ValueError(f"{luck.shape[1]} controls need at least {luck.shape[1] + 2} runs, not {data.size}")
    design = np.column_stack([np.ones(data.size), luck])
    weights, _, rank, _ = np.linalg.lstsq(design, data, rcond=None)
    if rank < design.shape[1]:
        raise ValueError("controls that follow from one another explain nothing twice: leave one out")
    off = data - design @ weights
    variance = float(off @ off) / degrees * float(np.linalg.inv(design.T @ design)[0, 0])
    half = t_quantile(0.5 + level / 2.0, degrees) * sqrt(variance)
    return Interval(float(weights[0]), float(weights[0]) - half, float(weights[0]) + half)


def _need(data: FloatArray, count: int, what: str) -> None:
    """Refuse too few values."""
    if data.size < count:
        raise ValueError(f"{what} needs at least {count} values, not {data.size}: make more runs")
