"""Statistics of output against worked examples of textbooks and independent libraries."""

from math import exp, sqrt

import numpy as np
import pytest
from scipy import stats

from twin.study.precision import look_ahead, relative_half_widths, runs_enough
from twin.study.selection import kim_nelson_constants, select_best
from twin.study.statistics import (
    Interval,
    batch_means,
    control_variates,
    mean_interval,
    mser5,
    paired_interval,
    prediction_interval,
    quantile_interval,
    replications_needed,
    welch_interval,
)

# A. M. Law, Simulation Modeling and Analysis, ch. 4, worked example (from memory)
TEN = [1.20, 1.50, 1.68, 1.89, 0.95, 1.49, 1.58, 1.55, 0.50, 1.09]
# the same, ch. 10, two inventory policies (from memory)
POLICY_1 = [126.97, 124.31, 126.68, 122.66, 127.23]
POLICY_2 = [118.21, 120.22, 122.45, 122.68, 119.40]


def both_ends(interval: Interval) -> list[float | None]:
    """Return low and high."""
    return [interval.low, interval.high]


def park_miller(seed: int, count: int) -> list[float]:
    """Return uniform numbers of the minimal standard generator (Park and Miller, CACM 31, 1988)."""
    numbers = []
    for _ in range(count):
        seed = 16807 * seed % 2147483647
        numbers.append(seed / 2147483647)
    return numbers


def test_the_t_interval_matches_the_worked_example() -> None:
    ninety = mean_interval(TEN, 0.90)

    assert ninety.mean == pytest.approx(1.343, abs=5e-4)
    assert ninety.half == pytest.approx(0.24, abs=0.005)  # printed as 1.34 +- 0.24
    assert both_ends(ninety) == pytest.approx([1.1057, 1.5803], abs=5e-5)
    assert mean_interval(TEN).half == pytest.approx(0.29278, abs=5e-6)


def test_the_interval_of_the_next_value_is_wider_than_that_of_the_mean() -> None:
    following = prediction_interval(TEN, 0.90)

    assert both_ends(following) == pytest.approx([0.5561, 2.1299], abs=5e-5)


def test_one_value_has_no_interval() -> None:
    assert mean_interval([3.0]) == (3.0, None, None)
    assert mean_interval([3.0]).half is None


def test_the_paired_interval_matches_the_worked_example() -> None:
    change = paired_interval(POLICY_1, POLICY_2, 0.90)

    assert change.mean == pytest.approx(4.98, abs=0.005)
    assert both_ends(change) == pytest.approx([1.65, 8.31], abs=0.005)
    assert both_ends(change) == pytest.approx([1.649, 8.307], abs=5e-4)


def test_welch_matches_the_worked_example_and_scipy() -> None:
    found = welch_interval(POLICY_1, POLICY_2, 0.90)
    other = stats.ttest_ind(POLICY_1, POLICY_2, equal_var=False)
    ends = other.confidence_interval(0.90)

    assert found.degrees == pytest.approx(7.99, abs=0.005)
    assert both_ends(found.interval) == pytest.approx([2.661, 7.295], abs=5e-4)
    assert both_ends(found.interval) == pytest.approx([ends.low, ends.high])
    assert found.degrees == pytest.approx(other.df)


def test_equal_runs_on_both_sides_differ_by_nothing_for_sure() -> None:
    assert welch_interval([2.0, 2.0], [2.0, 2.0]).interval == (0.0, 0.0, 0.0)


def test_batch_means_of_a_published_generator() -> None:
    """An autoregressive series made from the minimal standard generator; values worked out independently."""
    value = 0.0
    series: list[float] = []
    for u in park_miller(777, 20_000):
        value = 0.8 * value + (u - 0.5) if series else 0.0
        series.append(value)
    found = batch_means(series, 20)

    assert found.interval.mean == pytest.approx(0.0022029953, rel=1e-6)
    assert found.variance == pytest.approx(0.001572449, rel=1e-6)
    assert found.interval.half == pytest.approx(0.0185587, rel=5e-6)
    assert found.lag1 == pytest.approx(-0.1814, abs=5e-5)


def test_batch_means_find_the_true_variance_where_the_naive_one_is_nine_times_too_small() -> None:
    """The variance of the mean of an AR(1) series is s2 (1 + a) / (1 - a) / n: any text on time series."""
    rng = np.random.default_rng(5)
    noise = rng.normal(size=200_000)
    series = np.empty_like(noise)
    value = 0.0
    for i, one in enumerate(noise.tolist()):
        value = 0.8 * value + one
        series[i] = value
    found = batch_means(series, 400)
    true = 1.0 / (1.0 - 0.8) ** 2 / series.size

    assert found.variance / 400 == pytest.approx(true, rel=0.2)  # 400 batches: relative sd of a variance is 7 %
    assert series.var(ddof=1) / series.size < 0.2 * true


def test_mser_cuts_a_clear_warm_up_exactly() -> None:
    """Fifty zeros, then a pattern of mean 10: K. P. White et al. 2000 (from memory), values by hand."""
    cut = mser5([0.0] * 50 + [9.0, 11.0, 10.0, 8.0, 12.0] * 70)

    assert (cut.batches, cut.observations, cut.mean, cut.statistic) == (10, 50, 10.0, 0.0)


def test_mser_cuts_nothing_off_a_steady_series() -> None:
    assert mser5([9.0, 11.0, 10.0, 8.0, 12.0] * 40).batches == 0


def test_mser_on_a_decaying_start() -> None:
    noise = park_miller(12345, 400)
    cut = mser5([5.0 + 10.0 * exp(-i / 20.0) + 2.0 * (u - 0.5) for i, u in enumerate(noise)])

    assert (cut.batches, cut.observations, cut.doubtful) == (13, 65, False)
    assert cut.mean == pytest.approx(4.9946102, rel=1e-6)
    assert cut.statistic == pytest.approx(7.47131e-4, rel=1e-6)


def test_mser_doubts_a_cut_at_its_limit() -> None:
    assert mser5([0.0] * 105 + [9.0, 11.0, 10.0, 8.0, 12.0] * 19).doubtful


def test_mser_does_not_warn_of_a_series_that_climbs_for_ever() -> None:
    """Its known weakness (Wang and Glynn 2016), kept here so that nobody trusts it blindly."""
    cut = mser5([float(i) ** 2 for i in range(200)])

    assert (cut.batches, cut.doubtful) == (0, False)


def test_the_median_of_ten_lies_between_the_second_and_the_ninth() -> None:
    """Any table of distribution-free intervals: n 10, level 97.9 %."""
    found = quantile_interval([float(i) for i in range(1, 11)], 0.5)

    assert found == (5.5, 2.0, 9.0)


@pytest.mark.parametrize(("count", "probability"), [(30, 0.1), (30, 0.5), (200, 0.9), (57, 0.25)])
def test_quantile_intervals_agree_with_scipy(count: int, probability: float) -> None:
    values = np.random.default_rng(count).exponential(size=count)
    ends = stats.quantile_test(values, q=0.0, p=probability).confidence_interval(0.95)

    expected = [None if np.isnan(end) else float(end) for end in np.asarray(ends).tolist()]
    assert both_ends(quantile_interval(values, probability)) == expected


def test_too_few_values_leave_an_end_of_a_quantile_unknown() -> None:
    found = quantile_interval([1.0, 2.0, 3.0], 0.9)

    assert found.low is not None
    assert found.high is None


def test_runs_needed_match_the_worked_example() -> None:
    """Law, sec. 9.4: absolute half-width 0.1 at 90 %, variance held fixed (from memory)."""
    assert replications_needed(TEN, 0.1, 0.90) == 48


def test_one_run_fewer_than_needed_would_not_do() -> None:
    spread = float(np.std(TEN, ddof=1))
    for asked in (0.3, 0.05, 0.011):
        runs = replications_needed(TEN, asked)
        half = [stats.t.ppf(0.975, n - 1) * spread / sqrt(n) for n in (runs - 1, runs)]
        assert half[1] <= asked < half[0]


def test_a_prediction_interval_covers_the_next_value_and_the_interval_of_the_mean_does_not() -> None:
    """Normal data, 10 values, 90 %: the prediction interval covers 90 %, the other 40.607 % (exact)."""
    rng = np.random.default_rng(11)
    trials = rng.normal(size=(4000, 11))
    inside = [0, 0]
    for row in trials:
        for i, interval in enumerate((prediction_interval(row[:10], 0.9), mean_interval(row[:10], 0.9))):
            inside[i] += abs(float(row[10]) - interval.mean) <= (interval.half or 0.0)

    assert inside[0] / 4000 == pytest.approx(0.90, abs=0.015)  # three standard errors of the count
    assert inside[1] / 4000 == pytest.approx(0.40607, abs=0.024)


def test_selection_constants_match_the_closed_form() -> None:
    """Kim and Nelson 2001, c = 1 (from memory; closed form and root of the defining equation agree)."""
    found = kim_nelson_constants(5, 10, 0.05)

    assert found.eta == pytest.approx(0.634967, rel=1e-5)
    assert found.h2 == pytest.approx(11.429411, rel=1e-5)


def test_selection_is_right_as_often_as_promised() -> None:
    """Five normal designs, the best one ahead by just the difference worth finding, common luck in each run."""
    right = 0
    for repeat in range(200):
        rng = np.random.default_rng([3, repeat])
        noise = rng.normal(size=(5, 600)) + rng.normal(size=600)

        def value(design: int, run: int, noise: np.ndarray = noise) -> float:
            return float(noise[design, run]) + (1.0 if design == 3 else 0.0)

        right += select_best(value, 5, difference=1.0, most_runs=600).best == 3

    assert right >= 190


def test_selection_gives_bad_designs_fewer_runs_and_says_when_it_was_cut_short() -> None:
    noise = np.random.default_rng(1).normal(size=(3, 400))
    means = (0.0, -8.0, 0.01)
    clear = select_best(lambda i, run: float(noise[i, run]) + means[i], 3, difference=0.5, most_runs=400)
    short = select_best(lambda i, run: float(noise[i, run]) + means[i], 3, difference=0.001, most_runs=12)

    assert clear.runs[1] < min(clear.runs[0], clear.runs[2])
    assert (clear.cut_short, short.cut_short) == (False, True)


def test_control_variates_remove_what_luck_explains() -> None:
    """With correlation r the variance falls by 1 - r squared (Lavenberg and Welch 1981): here to a tenth."""
    rng = np.random.default_rng(8)
    luck = rng.normal(2.0, 1.0, size=4000)
    values = 10.0 + 3.0 * (luck - 2.0) + rng.normal(size=4000)
    plain, freed = mean_interval(values), control_variates(values, luck, [2.0])

    assert plain.half is not None
    assert freed.half is not None
    assert (freed.half / plain.half) ** 2 == pytest.approx(0.1, rel=0.1)
    assert freed.low is not None
    assert freed.high is not None
    assert freed.low < 10.0 < freed.high


def test_intervals_with_control_variates_keep_their_coverage() -> None:
    covered = 0
    for repeat in range(1000):
        rng = np.random.default_rng([9, repeat])
        luck = rng.normal(size=(20, 2))
        values = 5.0 + luck @ np.array([1.0, -2.0]) + rng.normal(size=20)
        found = control_variates(values, luck, [0.0, 0.0])
        covered += (found.low or 0.0) <= 5.0 <= (found.high or 0.0)

    assert covered / 1000 == pytest.approx(0.95, abs=0.021)  # three standard errors


def test_useless_input_is_refused_with_a_way_out() -> None:
    with pytest.raises(ValueError, match="make more runs"):
        prediction_interval([1.0])
    with pytest.raises(ValueError, match="as many runs on both sides"):
        paired_interval([1.0, 2.0], [1.0])
    with pytest.raises(ValueError, match="leave one out"):
        control_variates([1.0, 2.0, 3.0, 5.0], np.ones((4, 2)), [0.0, 0.0])
    with pytest.raises(ValueError, match="between 0 and 1"):
        quantile_interval([1.0, 2.0], 1.0)


def test_running_half_widths_are_those_of_the_values_so_far() -> None:
    values = np.random.default_rng(4).normal(1e6, 3.0, size=40)
    shares = relative_half_widths(values)

    for runs in (2, 3, 17, 40):
        half = mean_interval(values[:runs]).half
        assert half is not None
        assert shares[runs - 1] == pytest.approx(half / values[:runs].mean(), rel=1e-6)
    assert shares[0] == np.inf


def test_the_look_ahead_is_five_runs_and_grows_beyond_a_hundred() -> None:
    """Hoad, Robinson and Davies 2010: f(k, n) = k up to n = 100, then k n / 100, with k = 5."""
    assert [look_ahead(n) for n in (3, 100, 200, 1000)] == [5, 5, 10, 50]


def test_a_line_without_scatter_needs_only_the_first_runs_and_the_look_ahead() -> None:
    assert runs_enough(np.full(40, 7.0), 0.01) == 25


def test_precision_that_does_not_last_is_not_taken() -> None:
    """Runs 20 to 22 agree, then a wild one comes: the answer waits until it is steady again."""
    values = np.full(2000, 100.0)
    values[22] = 130.0
    found = runs_enough(values, 0.01)

    assert found is not None
    assert found > 27
    assert bool((relative_half_widths(values)[found - 6 : found] <= 0.01).all())


def test_the_answer_does_not_depend_on_how_many_runs_come_at_a_time() -> None:
    values = np.random.default_rng(2).normal(100.0, 10.0, size=3000)
    whole = runs_enough(values, 0.01)

    assert whole is not None
    assert runs_enough(values[:whole], 0.01) == whole
    assert runs_enough(values[: whole - 1], 0.01) is None
