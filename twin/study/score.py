"""Where a day lies among the runs of its forecast, and how good the forecast was.

References
----------
T. Gneiting, A. E. Raftery, Journal of the American Statistical Association 102 (2007) 359-378: the continuous
ranked probability score. C. A. T. Ferro, Quarterly Journal of the Royal Meteorological Society 140 (2014) 1917-1923:
its fair version for a forecast that is a sample.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, isfinite, log10

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.words import plain

__all__ = ["BAND", "Place", "band", "crps", "one_in", "place", "position_of"]

Values = Sequence[float] | FloatArray

BAND = 0.90
"""Share of days that end inside the band: what lies in it is called ordinary."""
MIDDLE = 0.25  # further in than this from both ends, a day is neither good nor bad
COUNTS = ("", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


@dataclass(frozen=True, slots=True)
class Place:
    """Where a day lies in its forecast distribution.

    Attributes
    ----------
    actual_t : Good tonnes of the day.
    runs : Runs of the forecast.
    below, ties : Runs with less than the day, and with exactly as much.
    position : Rank of the day among the runs and itself, from 0 to 1: evenly spread if the forecasts are right.
    side : "low" or "high", of the middle.
    days_in : One day in so many is as far out on this side.
    beyond : Whether no run lies as far out, so that `days_in` is only a least value.
    ordinary : Whether the day is inside the band.
    low_t, high_t : The band in which nine days of ten end.
    words : "an ordinary bad day, one in six".
    """

    actual_t: float
    runs: int
    below: int
    ties: int
    position: float
    side: str
    days_in: float
    beyond: bool
    ordinary: bool
    low_t: float
    high_t: float
    words: str

    @property
    def text(self) -> str:
        """Return the words as a sentence."""
        return f"{self.words[0].upper()}{self.words[1:]}."


def place(sample_t: Values, actual_t: float, *, toss: float = 0.5) -> Place:
    """Return where a day lies among the runs of its forecast.

    Parameters
    ----------
    sample_t : Good tonnes of each run.
    actual_t : Good tonnes of the day.
    toss : Where between its neighbours the day is put, from 0 to 1. A number drawn at random makes the position of a
        day exactly uniform when the forecast is right, ties or not; the middle is what words need.
    """
    data = _sample(sample_t)
    if not isfinite(actual_t):
        raise ValueError(f"the day's output must be a number, not {actual_t}: a day without records has no place")
    below, ties = _rank(data, actual_t)
    position = position_of(data, actual_t, toss)
    tail = min(position, 1.0 - position)
    low, high = band(data)
    beyond = ties == 0 and below in (0, data.size)
    side = "low" if position < 0.5 else "high"
    ordinary = low <= actual_t <= high
    words = _words(side, tail, ordinary, data.size if beyond else None)
    return Place(
        float(actual_t), data.size, below, ties, position, side, 1.0 / tail, beyond, ordinary, low, high, words
    )


def position_of(sample_t: Values, actual_t: float, toss: float, near: float = 0.0) -> float:
    """Return the rank of a day among the runs of its forecast and itself, from 0 to 1, ties broken by a toss.

    Parameters
    ----------
    near : Runs that differ from the day by no more than this share of it count as ties: where output comes in whole
        coils, most runs of a day are equal but for what a model misses anyway, and on which side of them the day lies
        says nothing.
    """
    data = np.asarray(sample_t, dtype=float)
    below, ties = _rank(data, actual_t, near * abs(actual_t))
    return (below + toss * (ties + 1)) / (data.size + 1)


def _rank(data: FloatArray, actual_t: float, near_t: float = 0.0) -> tuple[int, int]:
    """Return how many runs lie below a day, and how many beside it."""
    return int(np.count_nonzero(data < actual_t - near_t)), int(np.count_nonzero(np.abs(data - actual_t) <= near_t))


def band(sample_t: Values, share: float = BAND) -> tuple[float, float]:
    """Return the two ends between which this share of days lies [t].

    The r-th lowest of n runs has r / (n + 1) of the days below it, whatever the distribution; between two runs the
    ends are interpolated, and they never lie outside the runs.
    """
    low, high = np.quantile(_sample(sample_t), [(1.0 - share) / 2.0, (1.0 + share) / 2.0], method="weibull")
    return float(low), float(high)


def crps(sample_t: Values, actual_t: float) -> float:
    """Return the continuous ranked probability score of a sample, in tonnes: 0 is perfect, less is better.

    The fair version: it does not depend on the number of runs on average. Of one run it is the absolute error.
    """
    data = np.sort(_sample(sample_t))
    error = float(np.abs(data - actual_t).mean())
    if data.size == 1:
        return error
    apart = float((2.0 * np.arange(data.size) - data.size + 1.0) @ data)
    return error - apart / (data.size * (data.size - 1.0))


def one_in(days: float) -> str:
    """Return "one in six", "one in 40": words up to twelve, two digits beyond."""
    count = round(days)
    if count < len(COUNTS):
        return f"one in {COUNTS[max(2, count)]}"
    step = 10 ** max(0, floor(log10(count)) - 1)
    return f"one in {plain(round(count / step) * step)}"


def _words(side: str, tail: float, ordinary: bool, beyond: int | None) -> str:
    """Name a day by how rare it is."""
    kind = "bad" if side == "low" else "good"
    if ordinary and tail >= MIDDLE:
        return "an ordinary day, in the middle half of what was to be expected"
    if ordinary:
        return f"an ordinary {kind} day, {one_in(1.0 / tail)}"
    if beyond is not None:
        compared = "less" if side == "low" else "more"
        return f"an unusually {kind} day, {compared} than in all {beyond} runs of the model"
    return f"an unusually {kind} day, {one_in(1.0 / tail)}"


def _sample(values: Values) -> FloatArray:
    data = np.asarray(values, dtype=float)
    if data.size == 0 or not np.isfinite(data).all():
        raise ValueError("a forecast needs at least one run, each with a number: make the forecast again")
    return data
