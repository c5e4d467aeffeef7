"""The random numbers: the generator against its published answers, each law against an independent library.

Takes about a second.
"""

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtri

from twin.line.normal import normal_quantile
from twin.line.streams import philox, scale, uniforms
from twin.scenario.laws import (
    Empirical,
    Exponential,
    Gamma,
    Law,
    Lognormal,
    Mixture,
    Normal,
    Triangular,
    Uniform,
    Weibull,
)

# Not nearer to 1: a double holds 1 - 1e-12 only to four digits of what is left.
GRID = np.concatenate([[1e-12, 1e-6], np.linspace(0.0005, 0.9995, 1000), [1.0 - 1e-6]])


def words(*numbers: int) -> list[np.ndarray]:
    return [np.array([number], dtype=np.uint64) for number in numbers]


@pytest.mark.parametrize(
    ("counter", "key", "published"),
    [
        ((0, 0, 0, 0), (0, 0), (0x6627E8D5, 0xE169C58D, 0xBC57AC4C, 0x9B00DBD8)),
        ((0xFFFFFFFF,) * 4, (0xFFFFFFFF,) * 2, (0x408F276D, 0x41C83B0E, 0xA20BC7C6, 0x6D5451FD)),
        (
            (0x243F6A88, 0x85A308D3, 0x13198A2E, 0x03707344),
            (0xA4093822, 0x299F31D0),
            (0xD16CFE09, 0x94FDCCEB, 0x5001E420, 0x24126EA1),
        ),
    ],
)
def test_the_generator_gives_the_known_answers(
    counter: tuple[int, int, int, int], key: tuple[int, int], published: tuple[int, ...]
) -> None:
    """Known-answer vectors of the authors' Random123 library, philox 4x32 with 10 rounds (from memory)."""
    c, k = words(*counter), words(*key)

    assert tuple(int(word[0]) for word in philox((c[0], c[1], c[2], c[3]), (k[0], k[1]))) == published


def test_uniform_numbers_are_uniform_and_apart() -> None:
    """Kolmogorov-Smirnov on 200 000 numbers; streams and runs uncorrelated within 4 standard errors."""
    rows = np.concatenate([uniforms(7, run, ["mill/1/time", "mill/2/time"], 0, 50_000) for run in (0, 1)])

    assert stats.kstest(rows.ravel(), "uniform").pvalue > 0.001
    assert np.abs(np.corrcoef(rows) - np.eye(4)).max() < 4.0 / 50_000**0.5
    assert np.abs(np.corrcoef(rows[0, 1:], rows[0, :-1])[0, 1]) < 4.0 / 50_000**0.5


def test_a_block_of_numbers_is_the_same_wherever_it_begins() -> None:
    whole = uniforms(3, 5, ["a", "b"], 0, 1000)

    assert np.array_equal(whole[:, 400:600], uniforms(3, 5, ["a", "b"], 400, 200))
    assert np.array_equal(whole[1:], uniforms(3, 5, ["b"], 0, 1000))


def test_the_normal_quantile_agrees_with_scipy() -> None:
    assert normal_quantile(GRID) == pytest.approx(ndtri(GRID), rel=1e-14, abs=1e-15)


SIGMA = np.sqrt(np.log(1.0 + 0.8**2))


@pytest.mark.parametrize(
    ("law", "quantile"),
    [
        (Exponential(3.0), stats.expon(scale=3.0).ppf),
        (Uniform(2.0, 5.0), stats.uniform(2.0, 3.0).ppf),
        (Triangular(24.0, 30.0, 45.0), stats.triang(6.0 / 21.0, 24.0, 21.0).ppf),
        (Triangular(24.0, 24.0, 45.0), stats.triang(0.0, 24.0, 21.0).ppf),
        (Normal(2.0, 1.5), stats.truncnorm(-2.0 / 1.5, np.inf, 2.0, 1.5).ppf),
        (Lognormal(75.0, 0.8), stats.lognorm(SIGMA, scale=75.0 * np.exp(-(SIGMA**2) / 2.0)).ppf),
        (Gamma(2.2, 0.7), stats.gamma(1.0 / 0.49, scale=2.2 * 0.49).ppf),
        (Weibull(2.4, 110.0), stats.weibull_min(2.4, scale=110.0).ppf),
    ],
    ids=lambda case: type(case).__name__,
)
def test_every_law_agrees_with_scipy(law: Law, quantile: object) -> None:
    assert callable(quantile)
    assert scale(law, GRID) == pytest.approx(quantile(GRID), rel=2e-10)


@pytest.mark.parametrize(
    "law",
    [
        Exponential(3.0),
        Triangular(24.0, 30.0, 45.0),
        Normal(2.0, 1.5),
        Lognormal(75.0, 0.8),
        Gamma(2.2, 0.7),
        Weibull(2.4, 110.0),
        Empirical((1.0, 2.0, 2.0, 9.0)),
        Mixture(((0.7, Exponential(1.0)), (0.3, Uniform(4.0, 8.0)))),
    ],
    ids=lambda case: type(case).__name__,
)
def test_the_average_of_a_law_is_the_mean_of_its_numbers(law: Law) -> None:
    """The mean over an even grid of a million places: an integral, not a sample."""
    places = (np.arange(1_000_000) + 0.5) / 1_000_000

    assert scale(law, places).mean() == pytest.approx(law.average, rel=2e-5)


def test_a_mixture_takes_its_parts_by_weight() -> None:
    drawn = scale(Mixture(((0.7, Uniform(0.0, 1.0)), (0.3, Uniform(4.0, 8.0)))), GRID)

    assert np.mean(drawn > 2.0) == pytest.approx(0.3, abs=0.002)
    assert np.all(np.diff(drawn) >= 0.0)
