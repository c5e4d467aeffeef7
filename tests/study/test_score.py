"""The place of a day in its forecast, and the score of the forecast."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import kstest, norm

from twin.study.score import band, crps, one_in, place, position_of

RUNS = [float(t) for t in range(1, 100)]  # 99 runs: 1 t, 2 t ... 99 t


def normal_score(z: float) -> float:
    """Return the score of a standard normal forecast in closed form: Gneiting and Raftery 2007, section 4.2."""
    return float(z * (2.0 * norm.cdf(z) - 1.0) + 2.0 * norm.pdf(z) - 1.0 / np.sqrt(np.pi))


@pytest.mark.parametrize("z", [0.0, 0.7, -2.5])
def test_the_score_of_many_runs_is_that_of_their_law(z: float) -> None:
    runs = norm.ppf((np.arange(20_000) + 0.5) / 20_000)

    assert crps(runs, z) == pytest.approx(normal_score(z), abs=2e-4)


def test_the_fair_score_does_not_depend_on_the_number_of_runs() -> None:
    """Ferro 2014: on average a forecast of 5 runs scores as the law that the runs were drawn from."""
    dice = np.random.default_rng(5)
    scores = [crps(dice.normal(size=5), dice.normal()) for _ in range(20_000)]
    perfect = 1.0 / np.sqrt(np.pi)  # mean score of the true standard normal law: half of E|X - Y|

    assert np.mean(scores) == pytest.approx(perfect, abs=4 * np.std(scores) / np.sqrt(20_000))


def test_the_score_of_one_run_is_the_absolute_error() -> None:
    assert crps([120.0], 97.5) == 22.5


def test_the_score_is_worked_out_as_its_definition_says() -> None:
    runs, actual = [3.0, 9.0, 4.0], 5.0
    pairs = sum(abs(one - other) for one in runs for other in runs) / (2 * 3 * 2)

    assert crps(runs, actual) == pytest.approx((2 + 4 + 1) / 3 - pairs)


@pytest.mark.parametrize(
    ("actual", "words"),
    [
        (16.5, "an ordinary bad day, one in six"),
        (50.0, "an ordinary day, in the middle half of what was to be expected"),
        (80.0, "an ordinary good day, one in five"),
        (2.5, "an unusually bad day, one in 40"),
        (0.2, "an unusually bad day, less than in all 99 runs of the model"),
        (400.0, "an unusually good day, more than in all 99 runs of the model"),
    ],
)
def test_a_day_is_named_by_how_rare_it_is(actual: float, words: str) -> None:
    assert place(RUNS, actual).words == words


def test_the_sentence_begins_with_a_capital() -> None:
    assert place(RUNS, 16.5).text == "An ordinary bad day, one in six."


@pytest.mark.parametrize(
    ("days", "words"),
    [(5.9, "one in six"), (12.4, "one in twelve"), (13, "one in 13"), (437, "one in 440"), (1234, "one in 1\u202f200")],
)
def test_a_chance_is_said_in_words(days: float, words: str) -> None:
    assert one_in(days) == words


def test_the_band_holds_nine_days_of_ten_whatever_the_law() -> None:
    """The r-th of n runs has r / (n + 1) of the days below it: David and Nagaraja, Order Statistics (from memory)."""
    assert band(RUNS) == pytest.approx((5.0, 95.0))

    dice = np.random.default_rng(8)
    runs, days = dice.lognormal(size=(20_000, 19)), dice.lognormal(size=20_000)
    ends = np.array([band(own) for own in runs[:4000]])
    held = (ends[:, 0] <= days[:4000]) & (days[:4000] <= ends[:, 1])

    assert held.mean() == pytest.approx(0.9, abs=4 * np.sqrt(0.9 * 0.1 / 4000))


def test_the_position_is_uniform_when_days_and_runs_come_from_one_law() -> None:
    """Also where a third of the days gives nothing at all: ties are broken by a toss."""
    dice = np.random.default_rng(12)
    line = dice.normal(100.0, 20.0, size=(2000, 25)) * (dice.random((2000, 25)) > 1 / 3)
    found = [place(own[1:], own[0], toss=dice.random()).position for own in line]

    assert kstest(found, "uniform").pvalue > 0.01


def test_a_day_among_equal_runs_lies_in_the_middle() -> None:
    own = place([7.0] * 30, 7.0)

    assert (own.position, own.ties, own.ordinary, own.beyond) == (0.5, 30, True, False)


@given(st.lists(st.floats(0.0, 300.0), min_size=1, max_size=40), st.floats(0.0, 300.0), st.floats(0.0, 300.0))
def test_a_day_with_more_never_lies_lower(runs: list[float], one: float, other: float) -> None:
    low, high = sorted((one, other))

    assert 0.0 < place(runs, low).position <= place(runs, high).position < 1.0


def test_a_day_without_a_number_has_no_place() -> None:
    with pytest.raises(ValueError, match="a day without records has no place"):
        place(RUNS, float("nan"))
    with pytest.raises(ValueError, match="at least one run"):
        place([], 3.0)


def test_days_that_come_in_whole_coils_have_even_positions() -> None:
    """Most runs of a day are equal but for half a per cent; the day itself is exact. Kolmogorov-Smirnov by scipy."""
    dice = np.random.default_rng(12)
    coils = dice.choice([25.0, 31.0, 32.0], p=[0.1, 0.2, 0.7], size=(600, 100)) * 5.0
    runs, days = coils[:, 1:] * (1.0 + 0.005 * dice.standard_normal((600, 99))), coils[:, 0]
    tosses = dice.random(600)
    found = [position_of(own, day, toss, 0.01) for own, day, toss in zip(runs, days, tosses, strict=True)]
    exact = [position_of(own, day, toss) for own, day, toss in zip(runs, days, tosses, strict=True)]
    assert kstest(found, "uniform").pvalue > 0.01
    assert kstest(exact, "uniform").pvalue < 1e-6
