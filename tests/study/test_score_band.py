"""The band that keeps its share of days in the long run."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm

from twin.study.scoreband import STEP, Ends, band_at, ends_after, ends_at_first, moved, value_at

RUNS = [float(t) for t in range(1, 100)]


def test_at_first_the_band_is_that_of_the_forecast() -> None:
    assert ends_at_first() == pytest.approx((-1.6449, 1.6449), abs=5e-5)
    assert band_at(RUNS, ends_at_first()) == pytest.approx((5.0, 95.0))


def test_beyond_all_runs_the_normal_law_goes_on() -> None:
    runs = norm.ppf(np.arange(1, 1000) / 1000.0, 120.0, 20.0)

    assert value_at(runs, 4.0) == pytest.approx(200.0, rel=0.01)
    assert value_at(runs, -4.0) == pytest.approx(40.0, rel=0.03)


def test_a_band_does_not_reach_below_nothing() -> None:
    assert band_at(RUNS, Ends(-6.0, 2.0))[0] == 0.0


def test_runs_that_are_all_equal_have_no_width() -> None:
    assert band_at([7.0] * 30, Ends(-3.0, 3.0)) == (7.0, 7.0)


def test_a_day_beyond_an_end_moves_it_away_and_any_other_back() -> None:
    ends, said = Ends(-1.0, 1.0), (50.0, 90.0)

    assert moved(ends, said, 40.0) == pytest.approx((-1.0 - 0.95 * STEP, 1.0 - 0.05 * STEP))
    assert moved(ends, said, 95.0) == pytest.approx((-1.0 + 0.05 * STEP, 1.0 + 0.95 * STEP))
    assert moved(ends, said, 60.0) == pytest.approx((-1.0 + 0.05 * STEP, 1.0 - 0.05 * STEP))


def test_the_ends_never_cross() -> None:
    ends = ends_after(((50.0, 90.0), 70.0) for _ in range(2000))

    assert -0.01 < ends.low <= ends.high < 0.01


def hits(scores: NDArray[np.float64]) -> tuple[NDArray[np.bool_], Ends]:
    """Return which days of a line whose forecasts say standard normal end inside, and the last ends."""
    ends, found = ends_at_first(), []
    for score in scores:
        found.append(ends.low <= score <= ends.high)
        ends = moved(ends, (ends.low, ends.high), float(score))
    return np.array(found), ends


@pytest.mark.parametrize("kind", ["shifted", "drifting", "twice as wide", "a season", "hostile"])
def test_the_share_is_kept_in_the_long_run_whatever_happens(kind: str) -> None:
    """The promise of the method, for any days: of each end |share beyond - 5 %| <= way of the end / (step days)."""
    dice = np.random.default_rng(21)
    count, noise = 1500, dice.normal(size=1500)
    days = {
        "shifted": noise - 1.0 * (np.arange(count) > 300),
        "drifting": noise + np.linspace(0.0, 3.0, count),
        "twice as wide": 2.0 * noise,
        "a season": noise + np.sin(np.arange(count) / 40.0),
        "hostile": np.where(np.arange(count) // 30 % 2, 2.2, -2.2) + 0.1 * noise,
    }[kind]
    inside, ends = hits(days)
    first = ends_at_first()
    way = abs(ends.low - first.low) + abs(ends.high - first.high)

    assert abs(inside.mean() - 0.9) <= way / (STEP * count) + 1e-9
    assert 0.88 <= inside.mean() <= 0.92


def test_through_a_shift_of_one_sd_coverage_stays_between_88_and_92_per_cent() -> None:
    """Over the 200 days from the shift on, on average over 300 lines; the forecast's own band drops to 74 %."""
    dice = np.random.default_rng(22)
    kept, plainly = [], []
    for _ in range(300):
        days = dice.normal(size=300) - 1.0 * (np.arange(300) >= 100)
        kept.append(hits(days)[0][100:].mean())
        plainly.append((np.abs(days[100:]) <= 1.6449).mean())

    assert np.mean(plainly) == pytest.approx(norm.cdf(2.6449) - norm.cdf(-0.6449), abs=0.01)
    assert 0.88 <= np.mean(kept) <= 0.92
