"""What may be said of the forecasts after so many days, and how many days are still needed before it may be said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, sqrt

import numpy as np

from twin.indicators.intervals import FloatArray, Interval, t_quantile

Values = Sequence[float] | FloatArray

SEEN = 1.959964  # normal quantile of 95 % on both sides
ONE_SIDE = 1.644854  # 95 % on one side
LOOKED = 0.0025
"""Level on one side for what is looked at again each day: so it goes wrong in some 5 % of years, not of looks."""
SURE = 2.807034  # its normal quantile
POWER = 0.841621  # 80 %
POWER_BOTH = 1.281552  # 80 % when it may be missed on both sides
FEW_DAYS = 8  # from fewer days no interval of a mean is given
MANY_DAYS = 100_000  # a claim that needs more than this cannot be made
MOST_DAYS = 1000  # the same of a share


@dataclass(frozen=True, slots=True)
class Claim:
    """Something that one would like to say of the forecasts.

    Attributes
    ----------
    name : "band", "bias", "same as yesterday" and so on.
    holds : Whether it holds; None as long as the days do not tell.
    days : Days that speak to it.
    needed : How many more are needed, if they go on as they did; 0 where it can be said; None where it never can.
    words : A sentence.
    """

    name: str
    holds: bool | None
    days: int
    needed: int | None
    words: str


def share_interval(hits: float, days: float, z: float = SEEN) -> Interval:
    """Return a share of days with its interval, that of 95 % unless another normal quantile is given.

    References
    ----------
    E. B. Wilson, Journal of the American Statistical Association 22 (1927) 209-212.
    """
    if days < 1 or not 0 <= hits <= days:
        raise ValueError(f"{hits:g} of {days:g} days is no share: count at least one day")
    share, own = hits / days, z * z / days
    middle = (share + own / 2.0) / (1.0 + own)
    half = z * sqrt(share * (1.0 - share) / days + own / (4.0 * days)) / (1.0 + own)
    return Interval(share, max(0.0, middle - half), min(1.0, middle + half))


@lru_cache(maxsize=32)
def days_to_tell(right: float, wrong: float, power: float = 0.8, level: float = 0.05) -> int:
    """Return after how many days a band that holds a share `wrong` is told from one that holds `right`.

    Exact: the fewest days from which on a count of hits exists that a right band misses in at most `level` of all cases
    and that shows a wrong one in at least `power` of them.
    """
    from scipy.special import bdtr

    if not 0.0 < wrong < right < 1.0:
        raise ValueError(f"shares must be 0 < wrong < right < 1, not {wrong:g} and {right:g}")
    for days in range(1, MOST_DAYS + 1):
        counts = np.arange(days + 1)
        told = bdtr(counts, days, right) <= level
        if told.any() and bdtr(float(counts[told].max()), days, wrong) >= power:
            return days
    raise ValueError(f"{right:g} and {wrong:g} are too near to each other to be told apart in {MOST_DAYS} days")


def mean_of_days(values: Values, tail: float = 0.025) -> Interval:
    """Return the mean of days that may hang together, with its interval; no ends from too few days.

    `tail` is what the interval leaves out on each side.

    References
    ----------
    W. K. Newey, K. D. West, Econometrica 55 (1987) 703-708: the variance. Its lag by their rule of 1994 (from memory).
    """
    data = np.asarray(values, dtype=float)
    mean = float(data.mean())
    if data.size < FEW_DAYS:
        return Interval(mean, None, None)
    half = t_quantile(1.0 - tail, data.size - 1) * sqrt(day_variance(data) / data.size)
    return Interval(mean, mean - half, mean + half)


def day_variance(values: Values) -> float:
    """Return the variance of a mean of days times their number: more than that of a day if they hang together."""
    data = np.asarray(values, dtype=float)
    off = data - data.mean()
    found = float(off @ off)
    lags = int(4.0 * (data.size / 100.0) ** (2.0 / 9.0))
    for lag in range(1, lags + 1):
        found += 2.0 * (1.0 - lag / (lags + 1.0)) * float(off[lag:] @ off[:-lag])
    return max(found, 0.0) / (data.size - 1.0)


def days_for_difference(mean: float, variance: float, z: float = SEEN) -> int | None:
    """Return after how many days a mean above 0 shows, four times of five; None: not this way.

    `z` is the normal quantile of the level, 5 % on both sides unless told otherwise.
    """
    if mean <= 0.0:
        return None
    return _whole((z + POWER) ** 2 * variance / mean**2)


def days_for_no_bias(mean: float, variance: float, within: float, z: float = ONE_SIDE) -> int | None:
    """Return after how many days it can be shown that a mean lies within +- `within`; None: not if it stays as it is.

    Two one-sided tests, at 5 % unless told otherwise, successful four times of five: D. J. Schuirmann, Journal of
    Pharmacokinetics and Biopharmaceutics 15 (1987) 657-680.
    """
    room = within - abs(mean)
    if room <= 0.0:
        return None
    return _whole(variance * max((z + POWER_BOTH) / within, (z + POWER) / room) ** 2)


def days_to_place(found: float, low: float, high: float, z: float = SEEN) -> int:
    """Return after how many days the interval of a share that stays as it was found leaves out one of two others."""

    def told(days: int) -> bool:
        own = share_interval(round(found * days), days, z)
        return own.low is not None and own.high is not None and (own.low >= low or own.high < high)

    return next((days for days in range(1, MOST_DAYS) if told(days)), MOST_DAYS)


def _whole(days: float) -> int | None:
    return ceil(days) if days <= MANY_DAYS else None
