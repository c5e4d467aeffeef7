"""What may be said after so many days: published intervals, and counts of days that can be worked out by hand."""

import numpy as np
import pytest
from scipy.stats import binom, norm

from twin.study.scoreclaims import (
    day_variance,
    days_for_difference,
    days_for_no_bias,
    days_to_place,
    days_to_tell,
    mean_of_days,
    share_interval,
)


@pytest.mark.parametrize(
    ("hits", "days", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_intervals_of_shares_are_those_of_newcombe(hits: int, days: int, low: float, high: float) -> None:
    """R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3 (from memory)."""
    own = share_interval(hits, days)

    assert (own.low, own.high) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(("wrong", "days"), [(0.8, 78), (0.75, 40), (0.7, 25)])
def test_the_days_to_tell_shares_apart_are_the_fewest(wrong: float, days: int) -> None:
    """With the binomial law of another library: so many are enough, one less is not."""

    def power(n: int) -> float:
        counts = np.arange(n + 1)
        told = counts[binom.cdf(counts, n, 0.9) <= 0.05]
        return float(binom.cdf(told.max(), n, wrong)) if told.size else 0.0

    assert days_to_tell(0.9, wrong) == days
    assert power(days) >= 0.8 > power(days - 1)


@pytest.mark.parametrize(("spread", "days"), [(5.0, 24), (8.0, 61), (10.0, 96), (15.0, 215)])
def test_the_days_to_show_that_there_is_no_bias(spread: float, days: int) -> None:
    """By hand: (1.6449 + 1.2816)^2 (spread / 3)^2, rounded up."""
    assert days_for_no_bias(0.0, spread**2, 3.0) == days


def test_two_tests_of_one_side_succeed_four_times_of_five_after_those_days() -> None:
    """Normal days with a known scatter, worked out with another library: Schuirmann 1987."""
    days = days_for_no_bias(0.0, 100.0, 3.0)
    assert days is not None
    error = 10.0 / np.sqrt(days)
    success = 2.0 * norm.cdf(3.0 / error - norm.ppf(0.95)) - 1.0

    assert success == pytest.approx(0.8, abs=0.01)


def test_a_bias_as_large_as_allowed_is_never_shown_to_be_smaller() -> None:
    assert days_for_no_bias(-3.0, 100.0, 3.0) is None
    few, many = days_for_no_bias(0.0, 100.0, 3.0), days_for_no_bias(2.0, 100.0, 3.0)
    assert few is not None and many is not None and few < many


@pytest.mark.parametrize(("spread", "days"), [(5.0, 8), (8.0, 21), (10.0, 32), (15.0, 71)])
def test_the_days_to_see_a_difference(spread: float, days: int) -> None:
    """By hand: (1.9600 + 0.8416)^2 (spread / 5)^2, rounded up."""
    assert days_for_difference(5.0, spread**2) == days


def test_what_is_no_better_never_shows_to_be_better() -> None:
    assert days_for_difference(-0.1, 4.0) is None
    assert days_for_difference(1e-9, 4.0) is None


def test_a_share_in_the_middle_needs_the_most_days() -> None:
    def told(days: int) -> bool:
        own = share_interval(round(0.85 * days), days)
        return own.low is not None and own.high is not None and (own.low >= 0.8 or own.high < 0.9)

    days = days_to_place(0.85, 0.8, 0.9)

    assert days > days_to_place(0.9, 0.8, 0.9)
    assert told(days)
    assert not told(days - 1)


def test_the_interval_of_days_that_hang_together_covers_their_mean() -> None:
    """Each day carries over 0.3 of the day before: the plain interval holds 84 % of true means, this one 90 or more."""
    dice = np.random.default_rng(3)
    held, plainly = 0, 0
    for _ in range(600):
        noise = dice.normal(size=150)
        days = np.empty(150)
        days[0] = noise[0] / np.sqrt(1 - 0.09)
        for i in range(1, 150):
            days[i] = 0.3 * days[i - 1] + noise[i]
        own = mean_of_days(days)
        assert own.low is not None and own.high is not None
        held += own.low <= 0.0 <= own.high
        plainly += abs(days.mean()) <= 1.976 * days.std(ddof=1) / np.sqrt(150)

    assert plainly / 600 < 0.88
    assert held / 600 > 0.90


def test_the_variance_of_independent_days_is_their_own() -> None:
    dice = np.random.default_rng(4)

    assert day_variance(dice.normal(0.0, 5.0, size=20_000)) == pytest.approx(25.0, rel=0.08)


def test_too_few_days_have_no_interval() -> None:
    assert mean_of_days([1.0, 2.0]) == (1.5, None, None)


def test_what_is_no_share_is_refused() -> None:
    with pytest.raises(ValueError, match="3 of 2 days is no share"):
        share_interval(3, 2)
    with pytest.raises(ValueError, match="0 < wrong < right < 1"):
        days_to_tell(0.8, 0.9)
    with pytest.raises(ValueError, match="too near"):
        days_to_tell(0.9, 0.8999)
