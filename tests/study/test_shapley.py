"""Shapley's shares held to his axioms, to games worked out by hand, and to every order counted through."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from twin.indicators.intervals import FloatArray
from twin.study.shapley import MOST_EXACT, Value, along, exact, sampled


def of(values: FloatArray) -> Value:
    """Return the values of sets as they are asked for."""

    def value(inside: int) -> FloatArray:
        return np.asarray(values[inside])

    return value


def by_all_orders(values: FloatArray) -> FloatArray:
    """Return the shares from the definition: the mean over all orders of what each adds."""
    causes = len(values).bit_length() - 1
    return np.asarray(np.mean([along(of(values), order) for order in permutations(range(causes))], axis=0))


def test_the_glove_game() -> None:
    """One left glove and two right ones; a pair is worth 1: 2/3 and twice 1/6. Textbook, from memory."""
    values = np.array([1.0 if own & 1 and own & 6 else 0.0 for own in range(8)])
    assert exact(values).share == pytest.approx([2 / 3, 1 / 6, 1 / 6], abs=1e-12)


def test_the_airport_game() -> None:
    """Runways for aircraft that need 1, 2 and 3: each stretch is shared by those who need it.

    S. C. Littlechild and G. Owen, "A simple expression for the Shapley value in a special case", Management Science 20
    (1973), from memory: 1/3, 1/3 + 1/2, 1/3 + 1/2 + 1.
    """
    need = (1.0, 2.0, 3.0)
    values = np.array([max((need[i] for i in range(3) if own >> i & 1), default=0.0) for own in range(8)])
    assert exact(values).share == pytest.approx([1 / 3, 5 / 6, 11 / 6], abs=1e-12)


@given(st.integers(1, 5), st.integers(0, 10_000))
def test_the_shares_are_the_mean_over_all_orders(causes: int, seed: int) -> None:
    values = np.random.default_rng(seed).normal(size=1 << causes)
    assert exact(values).share == pytest.approx(by_all_orders(values), abs=1e-12)


def test_shares_add_up_on_ten_thousand_random_days() -> None:
    """To 1e-9 t, for days of some hundred tonnes and 1 to 12 causes, several runs at once."""
    random = np.random.default_rng(7)
    worst, days = 0.0, 0
    for causes, runs in ((1, 500), (2, 500), (3, 1000), (5, 2000), (8, 4000), (10, 1900), (12, 100)):
        values = random.normal(120.0, 40.0, size=(1 << causes, runs))
        shares = exact(values).share
        worst = max(worst, float(np.abs(shares.sum(axis=0) - (values[-1] - values[0])).max()))
        days += runs
    assert days == 10_000
    assert worst <= 1e-9


def test_causes_that_do_the_same_get_the_same_and_one_that_does_nothing_gets_nothing() -> None:
    random = np.random.default_rng(3)
    by_kind = random.normal(size=(3, 2))  # how many of the two equal causes, the third one in or not
    values = np.array([by_kind[bin(own & 3).count("1"), own >> 2 & 1] for own in range(16)])  # the fourth does nothing
    found = exact(values)
    assert found.share[0] == pytest.approx(found.share[1], abs=1e-12)
    assert found.share[3] == found.low[3] == found.high[3] == 0.0


def test_shares_of_a_sum_of_days_are_the_sums_of_the_shares() -> None:
    random = np.random.default_rng(5)
    one, other = random.normal(size=64), random.normal(size=64)
    assert exact(one + other).share == pytest.approx(exact(one).share + exact(other).share, abs=1e-12)


def test_the_range_over_orders_is_what_the_orders_give() -> None:
    values = np.random.default_rng(11).normal(size=16)
    found = np.array([along(of(values), order) for order in permutations(range(4))])
    shares = exact(values)
    assert shares.low == pytest.approx(found.min(axis=0), abs=1e-12)
    assert shares.high == pytest.approx(found.max(axis=0), abs=1e-12)
    assert (shares.low <= shares.share).all() and (shares.share <= shares.high).all()


def test_causes_that_do_not_meet_have_one_share_in_every_order() -> None:
    worth = np.array([-4.0, 2.0, 0.5])
    values = np.array([sum(worth[i] for i in range(3) if own >> i & 1) for own in range(8)])
    found = exact(values)
    assert found.share == pytest.approx(worth, abs=1e-12)
    assert found.high - found.low == pytest.approx([0, 0, 0], abs=1e-12)


def test_random_orders_come_to_the_exact_shares_within_their_error() -> None:
    """50 games of 8 causes: 95 % of the shares within 1.96 errors; a share outside 4.5 would be a fault."""
    off = []
    for seed in range(50):
        values = np.random.default_rng(seed).normal(size=256)
        found, error = sampled(of(values), 8, pairs=60, seed=seed)
        assert found.share.sum() == pytest.approx(values[-1] - values[0], abs=1e-9)
        off += ((found.share - exact(values).share) / error).tolist()
    inside = np.mean(np.abs(off) < 1.96)
    assert 0.90 < inside < 0.99
    assert max(np.abs(off)) < 4.5


def test_what_cannot_be_worked_out_is_refused_in_plain_words() -> None:
    with pytest.raises(ValueError, match="not those of all subsets"):
        exact(np.zeros(6))
    with pytest.raises(ValueError, match=f"at most {MOST_EXACT}"):
        exact(np.zeros(1 << (MOST_EXACT + 1)))
    with pytest.raises(ValueError, match="at least 2"):
        sampled(of(np.zeros(8)), 3, pairs=1)
    assert exact(np.array([3.0])).share.size == 0
