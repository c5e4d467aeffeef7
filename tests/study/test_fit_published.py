"""The laws that a log is told by, against published fits and independent libraries.

A plant's own fit (`twin.study.fitlaws.chosen`) is asked with published data as if they were a log; scipy and lifelines
fit the same data by their own code.
"""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest
from lifelines import LogNormalFitter, WeibullFitter
from lifelines.datasets import load_waltons
from scipy import stats

from twin.scenario import laws
from twin.study.fitlaws import ENOUGH, PRIOR, Chosen, anderson_darling, chosen, goodness, log_covariance, quick_fit
from twin.study.fitresult import Sample
from twin.study.life import Lives
from twin.study.lifelaws import ExponentialLife, WeibullLife

# NIST/SEMATECH e-Handbook of Statistical Methods, section 8.4.1.3: ten failures, ten units unfailed at 500 h.
HANDBOOK = ([54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0], [500.0] * 10)

# J. Lieblein and M. Zelen, J. Res. NBS 57 (1956) 273-316: millions of turns of 23 ball bearings; from memory.
BEARINGS = [17.88, 28.92, 33.00, 41.52, 42.12, 45.60, 48.40, 51.84, 51.96, 54.12, 55.56, 67.80, 68.64, 68.64, 68.88,
            84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.40]  # fmt: skip

# F. Proschan, Technometrics 5 (1963) 375-383: hours between failures of one aircraft's air conditioning; from memory.
COOLERS = [3.0, 5.0, 7.0, 18.0, 43.0, 85.0, 91.0, 98.0, 100.0, 130.0, 230.0, 487.0]

FAMILIES = {"exponential": stats.expon, "weibull": stats.weibull_min, "lognormal": stats.lognorm, "gamma": stats.gamma}


def sample(ended: list[float], cut_short: list[float] | None = None) -> Sample:
    """Return values as a log would tell them, one after the other."""
    values, cut = np.array(ended, dtype=float), np.array(cut_short or [], dtype=float)
    return Sample(values, cut, np.cumsum(values), float(values.sum() + cut.sum()))


def told(
    ended: list[float], cut_short: list[float] | None = None, *, between: bool = True, guess: float = 1.0
) -> Chosen:
    """Return what the plant's fit makes of them, with an exponential law assumed before."""
    return chosen(sample(ended, cut_short), laws.Exponential(guess, "time"), between=between)


def waltons() -> tuple[list[float], list[float]]:
    """Return the lives of lifelines' packaged data set, ended and cut short."""
    table = load_waltons()
    times, ended = table["T"].to_numpy(float), table["E"].to_numpy(bool)
    return times[ended].tolist(), times[~ended].tolist()


def test_the_handbooks_lives_are_told_with_the_unfailed_units() -> None:
    """NIST 8.4.1.3: AIC 154.27 of the Weibull law, 154.3925 of the lognormal (scipy and lifelines)."""
    found = told(*HANDBOOK)

    assert found.aic["weibull"] == pytest.approx(154.27, abs=0.005)
    assert found.aic["lognormal"] == pytest.approx(154.3925, abs=0.0005)
    assert set(found.aic) == {"exponential", "weibull", "lognormal", "gamma"}


def test_a_rate_is_learned_from_all_that_passed_and_not_from_the_failures_alone() -> None:
    """NIST's lives: 7771 h and ten failures; the mean of the ten alone is 277.1 h, the trap of dropping the rest."""
    ended, cut = HANDBOOK
    found = chosen(sample([*ended[:7]], [*ended[7:], *cut]), laws.Exponential(1e-9, "time"), between=True)

    assert found.mean.mean == pytest.approx((sum(ended) + sum(cut)) / (7 + PRIOR), rel=1e-6)
    assert found.mean.mean > 3.5 * 277.1


def test_packaged_lives_have_their_known_likelihood_and_no_law_is_claimed_for_them() -> None:
    """lifelines' flies: Weibull, log likelihood -672.062, the likeliest of the four, and yet refused.

    Two groups of flies were thrown together: scipy's own bootstrap refuses the Weibull law as well.
    """
    ended, cut = waltons()
    found = told(ended, cut)
    other = stats.goodness_of_fit(
        stats.weibull_min,
        ended,
        known_params={"loc": 0.0},
        statistic="ad",
        n_mc_samples=49,
        rng=np.random.default_rng(1),
    )

    assert found.aic["weibull"] == pytest.approx(2.0 * 2 + 2.0 * 672.062, abs=0.01)
    assert min(found.aic, key=lambda name: found.aic[name]) == "weibull"
    assert float(other.pvalue) < 0.05
    assert found.name == "empirical"


def test_the_doubt_of_a_weibull_fit_is_that_of_an_independent_library() -> None:
    """Lifelines' variance matrix of scale and shape, in logarithms, on its own data and on the handbook's."""
    for ended, cut in (waltons(), HANDBOOK):
        other = WeibullFitter().fit([*ended, *cut], [True] * len(ended) + [False] * len(cut))
        matrix = other.variance_matrix_.loc[["rho_", "lambda_"], ["rho_", "lambda_"]].to_numpy()
        at = np.array([other.rho_, other.lambda_])
        law = laws.Weibull(other.rho_, other.lambda_, "time")

        ours = np.array(log_covariance(law, Lives(tuple(map(float, ended)), tuple(map(float, cut)))))
        np.testing.assert_allclose(ours, matrix / np.outer(at, at), rtol=0.01)


def test_the_doubt_of_a_lognormal_mean_is_that_of_an_independent_library() -> None:
    """Lifelines' variances of mu and sigma, carried to the mean exp(mu + sigma^2 / 2) by the delta method."""
    other = LogNormalFitter().fit(BEARINGS)
    slope = np.array([1.0, other.sigma_])
    variance = slope @ other.variance_matrix_.loc[["mu_", "sigma_"], ["mu_", "sigma_"]].to_numpy() @ slope
    law = laws.Lognormal(exp(other.mu_ + other.sigma_**2 / 2.0), (exp(other.sigma_**2) - 1.0) ** 0.5, "time")

    ours = log_covariance(law, Lives(tuple(BEARINGS)))
    assert ours[0][0] == pytest.approx(float(variance), rel=0.005)


def test_ball_bearings_have_their_published_fits() -> None:
    """Weibull shape 2.102, scale 81.88, log likelihood -113.69; lognormal mu 4.15, sigma 0.52, -113.13 (from memory).

    Among others in J. F. Lawless, Statistical Models and Methods for Lifetime Data (1982).
    """
    found, weibull = told(BEARINGS), quick_fit("weibull", np.array(BEARINGS))

    assert found.aic["weibull"] == pytest.approx(4.0 + 2.0 * 113.69, abs=0.02)
    assert found.aic["lognormal"] == pytest.approx(4.0 + 2.0 * 113.13, abs=0.02)
    assert weibull.parameters["shape"] == pytest.approx(2.102, abs=0.002)
    assert weibull.parameters["scale"] == pytest.approx(81.88, abs=0.02)
    assert found.name == "gamma"
    assert found.fits is not None
    assert found.fits > 0.2


def test_air_conditioning_fails_as_if_by_chance_alone() -> None:
    """Mean 108.08 h and gamma shape 0.707 (A. C. Davison and D. V. Hinkley 1997, from memory): near enough to 1."""
    found, gamma = told(COOLERS, guess=108.0), quick_fit("gamma", np.array(COOLERS))

    assert gamma.parameters["shape"] == pytest.approx(0.707, abs=0.001)
    assert gamma.mean == pytest.approx(108.083, abs=0.001)
    assert found.name == "exponential"
    assert found.mean.mean == pytest.approx(108.083, abs=0.01)


@pytest.mark.parametrize("name", ["exponential", "weibull", "lognormal", "gamma"])
def test_quick_fits_of_whole_values_agree_with_an_independent_library(name: str) -> None:
    """scipy.stats' own maximum likelihood on three published samples; it stops at about four digits."""
    for values in (BEARINGS, COOLERS, HANDBOOK[0]):
        *shapes, _, scale = FAMILIES[name].fit(values, floc=0)
        theirs = [scale, *shapes] if name == "lognormal" else [*shapes, scale]

        assert list(quick_fit(name, np.array(values, dtype=float)).parameters.values()) == pytest.approx(
            theirs, rel=1e-3
        )


def test_the_distance_of_values_from_a_law_is_the_published_one() -> None:
    """Anderson and Darling's statistic by scipy (method of goodness_of_fit with all parameters known)."""
    law = WeibullLife(2.0, 80.0)
    other = stats.goodness_of_fit(
        stats.weibull_min, BEARINGS, known_params={"c": 2.0, "scale": 80.0, "loc": 0.0}, statistic="ad",
        n_mc_samples=1, rng=np.random.default_rng(1),
    )  # fmt: skip

    assert anderson_darling(law, np.array(BEARINGS)) == pytest.approx(float(other.statistic), rel=1e-6)


def test_the_chance_of_a_fit_is_that_of_an_independent_bootstrap() -> None:
    """scipy.stats.goodness_of_fit refits its own samples too; two of 199 and 499 samples differ by chance alone.

    Exponential, where the refit has a closed form in both: four standard errors of the difference.
    """
    for values in (COOLERS, BEARINGS):
        seen = np.array(values)
        other = stats.goodness_of_fit(
            stats.expon, seen, known_params={"loc": 0.0}, statistic="ad", n_mc_samples=499, rng=np.random.default_rng(2)
        )
        ours, theirs = goodness(ExponentialLife(float(seen.mean())), seen), float(other.pvalue)

        error = (max(theirs * (1.0 - theirs), 0.005) * (1.0 / 199 + 1.0 / 499)) ** 0.5
        assert abs(ours - theirs) < 4.0 * error


def test_a_law_is_refused_as_often_as_the_test_says_when_it_is_true() -> None:
    """Of 120 exponential samples of 20, 5 % are refused at the chance 0.05: within three standard errors."""
    generator = np.random.default_rng(6)
    refused = 0
    for _ in range(120):
        seen = generator.exponential(50.0, 20)
        refused += goodness(ExponentialLife(float(seen.mean())), seen, bootstraps=99) <= 0.05

    assert abs(refused - 6) <= 3.0 * (120 * 0.05 * 0.95) ** 0.5


def test_values_that_no_law_tells_are_taken_as_they_are() -> None:
    """Two heaps, one at 5 min and one at 4 h: the mean of what is kept is that of the values."""
    generator = np.random.default_rng(8)
    two = [*generator.normal(300.0, 10.0, 60), *generator.normal(14_400.0, 300.0, 40)]
    found = told([float(one) for one in two], between=False)

    assert found.name == "empirical"
    assert found.law.average == pytest.approx(float(np.mean(two)), rel=1e-5)
    assert found.mean.low < found.law.average < found.mean.high


@pytest.mark.parametrize(
    ("failures", "low", "high"),
    [(3, 0.39, 3.7), (5, 0.48, 2.5)],
)
def test_a_handful_of_failures_leaves_about_the_exact_interval(failures: int, low: float, high: float) -> None:
    """The prior of half an event, with a guess that hardly counts, beside the exact table of 90 % limits.

    The exact limits are of gamma laws of as many events and of one more (F. Garwood, Biometrika 28 (1936) 437-442,
    from memory); with half an event more the law lies between the two.
    """
    exposure = 1000.0
    found = told([exposure / (failures + 1)] * failures, [exposure / (failures + 1)], guess=1e-9)
    ends = [exposure / float(stats.gamma.ppf(share, failures + PRIOR)) for share in (0.975, 0.025)]
    outer = [exposure / float(stats.gamma.ppf(0.95, failures + 1)), exposure / float(stats.gamma.ppf(0.05, failures))]

    assert (found.mean.low, found.mean.high) == pytest.approx(ends, rel=1e-6)
    assert [one * failures / exposure for one in outer] == pytest.approx([low, high], abs=0.05)
    assert found.mean.low < exposure / failures < found.mean.high
    assert failures < ENOUGH


def test_no_failure_at_all_still_bounds_the_rate_from_above() -> None:
    """The rule of three: 95 % below 3 / exposure of J. A. Hanley, A. Lippman-Hand, JAMA 249 (1983) 1743, from memory.

    Two-sided it is 3.69; half an event in the prior leaves 2.51: half the 97.5 % point of chi-square with one degree.
    """
    found = told([], [1000.0], guess=1e-9)

    assert 1000.0 / 3.69 < found.mean.low < 1000.0 / 2.0
    assert found.mean.low == pytest.approx(1000.0 / float(stats.chi2.ppf(0.975, 1) / 2.0), rel=1e-6)
    assert found.mean.high > 100_000.0
    assert log(found.mean.mean) == pytest.approx(log(2000.0), rel=1e-6)
