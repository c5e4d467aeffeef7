"""A band that keeps its share of days: in the weeks after something has changed, and in the long run whatever happens.

A day's normal score is where it lies in its forecast. What the scores follow is not taken for granted: it is a mixture
of regimes, each with a mean and a spread of its own, that end once in so many days without notice. The mixture is
learned from day to day by Bayes' rule, exactly but for very old regimes, which are put together. The ends of the band
are its quantiles: after a few odd days on one side they have moved there already, and back as soon as the days are as
forecast again.

On top each end is tracked: after a day beyond it, it goes out a step, after any other day in by a small part of one, so
that the share of days beyond comes to what was asked for, however wrong the mixture is. Of each end, the share beyond
differs from that by at most the way of this correction over step and days: no assumption is made.

The correction aims a little outside the share that the band is for, where the mixture's own ends are while nothing
happens: a band that held exactly nine of ten in quiet times would hold fewer behind every change.

References
----------
R. P. Adams, D. J. C. MacKay, Bayesian online changepoint detection, arXiv 0710.3742 (2007). I. Gibbs, E. Candes,
Adaptive conformal inference under distribution shift, NeurIPS 2021. A. Angelopoulos, E. Candes, R. Tibshirani,
Conformal PID control for time series prediction, NeurIPS 2023: tracking a quantile behind a forecast of the scores (all
from memory). Here the two ends are tracked apart, so that a lasting shift moves the band and does not only widen it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.study.score import BAND

STEP = 0.05
"""Of the correction of an end after a day beyond it [sd]; the mixture is what follows fast."""
CAREFUL = 0.87
"""Of the days that may lie beyond an end, the share at which the correction aims."""
ENDS_IN = 35.0
"""Days that a regime lasts on average: short, so that a change is believed soon."""
AS_FORECAST = 0.3
"""Chance that a new regime has the mean that was forecast; else it is off by MEAN (one sd)."""
MEAN = 1.5
SPREADS = (1.0, 1.35, 2.0)
CHANCES = (0.85, 0.12, 0.03)
"""How wide days may scatter against what was forecast, and how likely that is."""
SAME_SPREAD = 0.8
"""Chance that a new regime scatters as the one before."""
OLDEST = 60
"""Regimes that began earlier are put together."""


class Ends(NamedTuple):
    """Where the two ends of a band stand, as normal scores of the forecast."""

    low: float
    high: float


@dataclass(frozen=True)
class Kept:
    """What is known of the scores of days, before the next one.

    Attributes
    ----------
    weight : Chance of each regime, [spreads, 1 + OLDEST]: the first with the mean that was forecast, however old; then
        those with another mean, the youngest first.
    mean, doubt : Of each regime's mean, and the variance of that.
    off : What is added to the ends so that they keep their share.
    """

    weight: FloatArray
    mean: FloatArray
    doubt: FloatArray
    off: Ends
    share: float

    @cached_property
    def ends(self) -> Ends:
        """Return where the ends of the next day's band stand."""
        tail = (1.0 - self.share) / 2.0
        return Ends(self._quantile(tail) + self.off.low, self._quantile(1.0 - tail) + self.off.high)

    def _quantile(self, share: float) -> float:
        """Return the score below which a share of the next day's law lies, to within 1e-7."""
        from scipy.special import ndtr

        width = np.sqrt(_variances() + self.doubt)
        low, high = -20.0, 20.0
        while high - low > 1e-7:
            middle = 0.5 * (low + high)
            if float((self.weight * ndtr((middle - self.mean) / width)).sum()) < share:
                low = middle
            else:
                high = middle
        return 0.5 * (low + high)


def _variances() -> FloatArray:
    return np.array(SPREADS)[:, None] ** 2


def kept_at_first(share: float = BAND) -> Kept:
    """Return what is known at first: that the forecast is right, or its spread is off, by so many chances."""
    shape = len(SPREADS), 1 + OLDEST
    weight, doubt = np.zeros(shape), np.full(shape, MEAN**2)
    weight[:, 0], doubt[:, 0] = CHANCES, 0.0
    weight[1:, 0] *= 0.5  # a forecast is taken for right until days tell
    weight[0, 0] += 1.0 - weight.sum()
    return Kept(weight, np.zeros(shape), doubt, Ends(0.0, 0.0), share)


def moved(kept: Kept, band_t: tuple[float, float], actual_t: float, score: float) -> Kept:
    """Return what is known after a day, given the band that had been said for it, and its normal score."""
    beyond = CAREFUL * (1.0 - kept.share) / 2.0
    low = kept.off.low - STEP * ((actual_t < band_t[0]) - beyond)
    high = kept.off.high + STEP * ((actual_t > band_t[1]) - beyond)
    return _learned(kept, score, Ends(low, high))


def _learned(kept: Kept, score: float, off: Ends) -> Kept:
    """Return the regimes after a day, and those that may begin now."""
    variance = _variances()
    wide = variance + kept.doubt
    weight = kept.weight * np.exp(-0.5 * (score - kept.mean) ** 2 / wide) / np.sqrt(wide)
    weight /= weight.sum()
    gain = kept.doubt / wide
    mean, doubt = kept.mean + gain * (score - kept.mean), kept.doubt * (1.0 - gain)
    stays = 1.0 - 1.0 / ENDS_IN
    chances = SAME_SPREAD * weight.sum(axis=1) + (1.0 - SAME_SPREAD) * np.array(CHANCES)
    aged, means, doubts = np.zeros_like(weight), np.zeros_like(mean), np.full_like(doubt, MEAN**2)
    aged[:, 0], doubts[:, 0] = stays * weight[:, 0] + AS_FORECAST / ENDS_IN * chances, 0.0
    aged[:, 1] = (1.0 - AS_FORECAST) / ENDS_IN * chances
    aged[:, 2:], means[:, 2:], doubts[:, 2:] = stays * weight[:, 1:-1], mean[:, 1:-1], doubt[:, 1:-1]
    aged[:, -1] += stays * weight[:, -1]
    return Kept(aged, means, doubts, off, kept.share)


def kept_after(days: Iterable[tuple[tuple[float, float], float, float]], share: float = BAND) -> Kept:
    """Return what is known after days of (band that had been said, what came, its normal score)."""
    kept = kept_at_first(share)
    for band_t, actual_t, score in days:
        kept = moved(kept, band_t, actual_t, score)
    return kept


def score_of(position: float, runs: int) -> float:
    """Return the normal score of a day's position among the runs; beyond all of them it is no further out than that."""
    from scipy.special import ndtri

    least = 0.5 / (runs + 1.0)
    return float(ndtri(min(1.0 - least, max(least, position))))


def band_at(sample_t: Sequence[float] | FloatArray, ends: Ends) -> tuple[float, float]:
    """Return the band of a forecast in tonnes; it may lie outside all runs, but not below nothing."""
    low, high = (max(0.0, value_at(sample_t, score)) for score in ends)
    return low, max(low, high)


def value_at(sample_t: Sequence[float] | FloatArray, score: float) -> float:
    """Return the value at a normal score of a sample; beyond its runs the normal law goes on with their scatter."""
    from scipy.special import ndtri

    data = np.sort(np.asarray(sample_t, dtype=float))
    scores = ndtri(np.arange(1, data.size + 1) / (data.size + 1.0))
    inside = float(np.interp(score, scores, data))
    over = max(0.0, score - float(scores[-1])) + min(0.0, score - float(scores[0]))
    return inside + over * (float(data.std(ddof=1)) if data.size > 1 else 0.0)
