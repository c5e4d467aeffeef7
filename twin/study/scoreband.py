"""A band that keeps its share of days in the long run, whatever happens to the line.

Each end of the band stands at a normal score of the forecast; a day below the low end moves that end down a step, any
other day moves it up by a small part of a step, so that the share of days beyond it comes to what was asked for. Of
each end, the share beyond it differs from that by at most its way so far over step and days: no assumption is made.

References
----------
I. Gibbs, E. Candes, Adaptive conformal inference under distribution shift, NeurIPS 2021. A. Angelopoulos, E. Candes,
R. Tibshirani, Conformal PID control for time series prediction, NeurIPS 2023: the tracking of a quantile (both from
memory). Here the two ends are tracked apart, so that a lasting shift moves the band and does not only widen it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.study.score import BAND

STEP = 0.15
"""Of an end after a day beyond it [sd]: larger follows faster, and makes the ends shake more."""


class Ends(NamedTuple):
    """Where the two ends of a band stand, as normal scores of the forecast."""

    low: float
    high: float


def ends_at_first(share: float = BAND) -> Ends:
    """Return the ends for a forecast that is right."""
    from scipy.special import ndtri

    half = float(ndtri((1.0 + share) / 2.0))
    return Ends(-half, half)


def moved(ends: Ends, band_t: tuple[float, float], actual_t: float, share: float = BAND) -> Ends:
    """Return the ends after a day, given the band that had been said for it."""
    beyond = (1.0 - share) / 2.0
    low = ends.low - STEP * ((actual_t < band_t[0]) - beyond)
    high = ends.high + STEP * ((actual_t > band_t[1]) - beyond)
    return Ends(min(low, high), max(low, high))


def ends_after(days: Iterable[tuple[tuple[float, float], float]], share: float = BAND) -> Ends:
    """Return the ends after days of (band that had been said, what came)."""
    ends = ends_at_first(share)
    for band_t, actual_t in days:
        ends = moved(ends, band_t, actual_t, share)
    return ends


def band_at(sample_t: Sequence[float] | FloatArray, ends: Ends) -> tuple[float, float]:
    """Return the band of a forecast in tonnes; it may lie outside all runs, but not below nothing."""
    low, high = (max(0.0, value_at(sample_t, score)) for score in ends)
    return low, high


def value_at(sample_t: Sequence[float] | FloatArray, score: float) -> float:
    """Return the value at a normal score of a sample; beyond its runs the normal law goes on with their scatter."""
    from scipy.special import ndtri

    data = np.sort(np.asarray(sample_t, dtype=float))
    scores = ndtri(np.arange(1, data.size + 1) / (data.size + 1.0))
    inside = float(np.interp(score, scores, data))
    over = max(0.0, score - float(scores[-1])) + min(0.0, score - float(scores[0]))
    return inside + over * (float(data.std(ddof=1)) if data.size > 1 else 0.0)
