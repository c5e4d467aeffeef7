"""Lives of rolls against a published example with censoring, packaged data and independent libraries."""

from math import inf, log

import numpy as np
import pandas as pd
import pytest
from scipy import integrate, stats

from twin.scenario import laws
from twin.study.learning import ENOUGH, ShapeGuess, judge, learn
from twin.study.life import (
    Lives,
    compare,
    fit,
    intervals,
    law_of,
    least_scale,
    lives_from,
    log_likelihood,
    mean_life_range,
)
from twin.study.lifelaws import LAWS, ExponentialLife, GammaLife, LifeLaw, LognormalLife, WeibullLife, life_law

# NIST/SEMATECH e-Handbook of Statistical Methods, section 8.4.1.3: ten failures, ten units unfailed at 500 h.
HANDBOOK = Lives((54, 187, 216, 240, 244, 335, 361, 373, 375, 386), (500,) * 10)

EXAMPLES = [ExponentialLife(90.0), WeibullLife(2.4, 110.0), WeibullLife(0.7, 50.0), GammaLife(3.0, 30.0),
            LognormalLife(80.0, 0.6)]  # fmt: skip


def judge_of(law: LifeLaw) -> object:
    """Return the same law of an independent library."""
    if isinstance(law, ExponentialLife):
        return stats.expon(scale=law.scale)
    if isinstance(law, WeibullLife):
        return stats.weibull_min(law.shape, scale=law.scale)
    if isinstance(law, GammaLife):
        return stats.gamma(law.shape, scale=law.scale)
    assert isinstance(law, LognormalLife)
    return stats.lognorm(law.sigma, scale=law.median)


def draw(law: LifeLaw, number: int, seed: int) -> list[float]:
    """Return lives drawn by inversion."""
    return [law.quantile(float(chance)) for chance in np.random.default_rng(seed).random(number)]


@pytest.mark.parametrize("law", EXAMPLES, ids=str)
def test_laws_agree_with_an_independent_library(law: LifeLaw) -> None:
    """Density, survival, hazard, moments and quantiles against scipy.stats."""
    other: stats.rv_continuous = judge_of(law)  # type: ignore[assignment]
    lives = np.array([0.5, 10.0, 60.0, 110.0, 300.0])

    np.testing.assert_allclose(law.log_density(lives), other.logpdf(lives), rtol=1e-9)
    np.testing.assert_allclose(law.survival(lives), other.sf(lives), rtol=1e-9)
    np.testing.assert_allclose(law.failed(lives), other.cdf(lives), rtol=1e-9)
    np.testing.assert_allclose(law.hazard(lives), other.pdf(lives) / other.sf(lives), rtol=1e-7)
    assert law.mean == pytest.approx(other.mean(), rel=1e-9)
    assert law.deviation == pytest.approx(other.std(), rel=1e-9)
    assert law.quantile(0.1) == pytest.approx(other.ppf(0.1), rel=1e-9)
    assert law.fails_within(60.0, 50.0) == pytest.approx(1 - other.sf(110.0) / other.sf(60.0), rel=1e-9)


@pytest.mark.parametrize("law", EXAMPLES, ids=str)
def test_the_mean_of_lives_cut_short_is_the_area_under_the_survival(law: LifeLaw) -> None:
    """Closed forms against numerical integration."""
    for age in (5.0, 70.0, 400.0):
        area, _ = integrate.quad(lambda t: float(law.survival(np.array([t]))[0]), 0.0, age, limit=200)
        assert law.mean_until(np.array([age]))[0] == pytest.approx(area, rel=1e-6)


@pytest.mark.parametrize("law", [*EXAMPLES, GammaLife(0.6, 30.0)], ids=str)
def test_only_laws_with_an_ever_rising_hazard_wear_out(law: LifeLaw) -> None:
    """A Weibull or gamma law does so above a shape of 1, a lognormal one not for ever."""
    hazard = law.hazard(np.geomspace(1.0, 800.0, 60))

    assert law.wears_out == bool(np.all(np.diff(hazard) > 1e-12))


def test_the_weibull_fit_matches_the_handbook() -> None:
    """Shape 1.7208, scale 606.5280, log likelihood -75.135, mean 540.737, deviation 323.806; B10 life 164.02 h."""
    found = fit(HANDBOOK, "weibull")

    assert found.law.parameters["shape"] == pytest.approx(1.7208, abs=0.00005)
    assert found.law.parameters["scale"] == pytest.approx(606.5280, abs=0.001)
    assert found.log_likelihood == pytest.approx(-75.135, abs=0.0005)
    assert found.aic == pytest.approx(154.27, abs=0.005)
    assert found.law.mean == pytest.approx(540.737, rel=1e-5)
    assert found.law.deviation == pytest.approx(323.806, rel=1e-5)
    assert found.law.quantile(0.10) == pytest.approx(164.02, abs=0.005)


def test_the_lognormal_fit_matches_the_independent_value() -> None:
    """mu 6.22602, sigma 0.90891, AIC 154.3925."""
    found = fit(HANDBOOK, "lognormal")

    assert log(found.law.parameters["median"]) == pytest.approx(6.22602, abs=0.00001)
    assert found.law.parameters["sigma"] == pytest.approx(0.90891, abs=0.00001)
    assert found.aic == pytest.approx(154.3925, abs=0.0001)


@pytest.mark.parametrize("name", list(LAWS))
def test_every_fit_agrees_with_an_independent_library(name: str) -> None:
    """scipy.stats with CensoredData on the handbook's lives; the optimisers stop at about four digits."""
    data = stats.CensoredData.right_censored(
        [*HANDBOOK.ended, *HANDBOOK.cut_short], [False] * len(HANDBOOK.ended) + [True] * len(HANDBOOK.cut_short)
    )
    found = fit(HANDBOOK, name)
    family = {
        "exponential": stats.expon,
        "weibull": stats.weibull_min,
        "lognormal": stats.lognorm,
        "gamma": stats.gamma,
    }
    order = {"exponential": ["scale"], "weibull": ["shape", "scale"], "lognormal": ["sigma", "median"]}
    *shapes, _, scale = family[name].fit(data, floc=0)

    ours = [found.law.parameters[key] for key in order.get(name, ["shape", "scale"])]
    assert ours == pytest.approx([*shapes, scale], rel=1e-3)


def test_dropping_the_unfailed_units_would_halve_the_life() -> None:
    """277.1 h is the mean of the ten failures alone: the trap that censoring avoids."""
    assert float(np.mean(HANDBOOK.ended)) == pytest.approx(277.1, abs=0.05)
    assert fit(Lives(HANDBOOK.ended)).law.mean < 0.55 * fit(HANDBOOK).law.mean


def test_packaged_data_of_163_lives_give_their_known_fit() -> None:
    """lifelines' data set of Walton's fruit flies: scale 55.7331, shape 3.4505, log likelihood -672.062."""
    from lifelines.datasets import load_waltons

    table: dict[str, pd.Series] = load_waltons()
    lives = lives_from(table["T"].tolist(), ["damage" if died else "left" for died in table["E"]])
    found = fit(lives, "weibull")

    assert (len(lives.ended), len(lives.cut_short)) == (156, 7)
    assert found.law.parameters["scale"] == pytest.approx(55.7331, abs=0.0001)
    assert found.law.parameters["shape"] == pytest.approx(3.4505, abs=0.0001)
    assert found.log_likelihood == pytest.approx(-672.062, abs=0.001)


def test_a_fit_is_the_top_of_the_likelihood() -> None:
    """Any step away from it, in any law, is less likely."""
    for found in compare(HANDBOOK):
        for name in found.law.parameters:
            for factor in (0.97, 1.03):
                moved = {**found.law.parameters, name: found.law.parameters[name] * factor}
                assert log_likelihood(life_law(found.law.name, *moved.values()), HANDBOOK) < found.log_likelihood


def test_laws_are_ranked_by_akaike_and_need_a_reason_to_add_a_parameter() -> None:
    """On the handbook's lives all four lie within a point of each other: none is proved."""
    ranked = compare(HANDBOOK)

    assert [found.aic for found in ranked] == sorted(found.aic for found in ranked)
    assert {found.law.name for found in ranked} == set(LAWS)
    assert ranked[-1].aic - ranked[0].aic < 2.0


def test_the_likelihood_interval_ends_where_the_likelihood_has_dropped_by_1_92() -> None:
    """Half the 95 % chi-square quantile, 3.841 / 2, checked by an independent search over the scale."""
    found = fit(HANDBOOK, "weibull")
    ends = intervals(found, HANDBOOK)["shape"]

    for shape in (ends.low, ends.high):
        scales = np.exp(np.linspace(log(300), log(3000), 4001))
        best = max(log_likelihood(WeibullLife(shape, float(scale)), HANDBOOK) for scale in scales)
        assert found.log_likelihood - best == pytest.approx(3.841459 / 2, abs=1e-3)


def test_the_interval_of_a_mean_without_wear_has_a_closed_form_likelihood() -> None:
    """Deviance 2 d (x - 1 - ln x) with x = estimate / mean, for the exponential law."""
    ends = intervals(fit(HANDBOOK, "exponential"), HANDBOOK)["scale"]

    for end in (ends.low, ends.high):
        ratio = 777.1 / end
        assert 2 * 10 * (ratio - 1 - log(ratio)) == pytest.approx(3.841459, abs=1e-5)


def test_likelihood_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """95 % of 120 invented mills with about 18 damages each; 89 % is 3 standard errors below."""
    truth = WeibullLife(2.4, 110.0)
    held = 0
    for seed in range(120):
        run = draw(truth, 30, seed)
        lives = Lives(tuple(life for life in run if life < 105.0), (105.0,) * sum(life >= 105.0 for life in run))
        ends = intervals(fit(lives), lives)["shape"]
        held += ends.low <= truth.shape <= ends.high

    assert held >= 0.89 * 120
    assert held < 120


@pytest.mark.parametrize(
    ("damages", "low", "high"),
    [(0, 0.33, inf), (1, 0.21, 19.5), (2, 0.32, 5.6), (3, 0.39, 3.7), (5, 0.48, 2.5), (10, 0.59, 1.84),
     (20, 0.69, 1.51), (50, 0.79, 1.28), (100, 0.85, 1.19)],
)  # fmt: skip
def test_the_exact_interval_of_a_mean_life_is_the_known_table(damages: int, low: float, high: float) -> None:
    """90 % chi-square limits over exposure / damages (over exposure where there was none), as tabulated."""
    exposure = float(max(damages, 1))
    ends = mean_life_range(exposure, damages, level=0.90)

    assert ends.low == pytest.approx(low, abs=0.005)
    assert ends.high == high or round(ends.high, 2 if damages >= 10 else 1) == high


def test_without_any_damage_only_a_least_life_is_told() -> None:
    """With a shape of 1 it is exposure / 2.996, the rule of three; a steeper shape promises more of long runs."""
    lives = Lives((), (57.0,) * 30)

    assert least_scale(lives, 1.0) == pytest.approx(30 * 57.0 / 2.9957, rel=1e-4)
    assert least_scale(lives, 2.0) == pytest.approx((30 * 57.0**2 / 2.9957) ** 0.5, rel=1e-4)
    with pytest.raises(ValueError, match="no roll was damaged"):
        fit(lives)


def test_one_damage_says_nothing_of_the_shape() -> None:
    """The guess comes back as it was when there is one damage and nothing else."""
    guess = ShapeGuess(median=2.0, high=4.0)
    ends = learn(Lives((80.0,)), guess).range(level=0.90)["shape"]

    assert ends.low == pytest.approx(1.0, rel=0.01)
    assert ends.high == pytest.approx(4.0, rel=0.01)


def test_many_damages_drown_the_guess() -> None:
    """With 400 records the learned shape is the fitted one, whatever was guessed."""
    lives = Lives(tuple(draw(WeibullLife(3.0, 100.0), 400, seed=5)))
    fitted = fit(lives).law.parameters
    for guess in (ShapeGuess(1.5, 3.0), ShapeGuess(3.5, 6.0)):
        learned = learn(lives, guess)
        assert learned.shape_quantile(0.5) == pytest.approx(fitted["shape"], rel=0.02)
        assert learned.scale_quantile(0.5) == pytest.approx(fitted["scale"], rel=0.01)


def test_learned_odds_agree_with_brute_force() -> None:
    """Posterior on a plain grid of shape and log scale, flat in the latter, against the closed form in the scale."""
    lives, guess = Lives((60.0, 90.0), (57.0,) * 8), ShapeGuess()
    shapes, scales = np.exp(np.linspace(-1.2, 2.9, 400)), np.exp(np.linspace(3.0, 11.0, 1600))
    told = np.array(
        [[log_likelihood(WeibullLife(float(b), float(c)), lives) for c in scales[::8]] for b in shapes[::4]]
    )
    prior = -((np.log(shapes[::4] / guess.median) / guess.spread) ** 2) / 2
    weight = np.exp(told + prior[:, None] - told.max())
    weight /= weight.sum()
    by_shape, by_scale = weight.sum(axis=1).cumsum(), weight.sum(axis=0).cumsum()
    learned = learn(lives, guess)

    for share in (0.1, 0.5, 0.9):
        assert learned.shape_quantile(share) == pytest.approx(np.interp(share, by_shape, shapes[::4]), rel=0.03)
        assert learned.scale_quantile(share) == pytest.approx(np.interp(share, by_scale, scales[::8]), rel=0.04)


def test_drawn_laws_are_spread_as_what_was_learned() -> None:
    """Quantiles of 4000 draws; the tolerance is three standard errors of a median."""
    learned = learn(HANDBOOK)
    laws_drawn = learned.laws(np.random.default_rng(3).random((4000, 2)))

    for name, middle in (("shape", learned.shape_quantile), ("scale", learned.scale_quantile)):
        drawn = np.sort([law.parameters[name] for law in laws_drawn])
        place = [0.5 - 3 * 0.5 / 4000**0.5, 0.5 + 3 * 0.5 / 4000**0.5]
        low, high = np.quantile(drawn, place)
        assert low <= middle(0.5) <= high


def test_learned_ranges_hold_the_truth_when_damages_are_few() -> None:
    """200 invented mills, shapes drawn from the guess, 2 to 4 damages: 90 % odds; 83.6 % is 3 standard errors below."""
    guess, generator = ShapeGuess(), np.random.default_rng(11)
    held = tried = 0
    while tried < 200:
        shape = float(guess.median * np.exp(guess.spread * generator.standard_normal()))
        run = np.sort(100.0 * generator.weibull(shape, 12))
        lives = Lives(tuple(run[:3]), (float(run[2]),) * 9)  # stopped at the third damage
        ends = learn(lives, guess).range(level=0.90)["shape"]
        held += ends.low <= shape <= ends.high
        tried += 1

    assert 0.836 * 200 <= held < 200


def test_the_method_follows_from_the_number_of_damages_and_is_said() -> None:
    """None: a bound; few: a stated guess; enough: the likelihood; all at one life: the guess again."""
    none = judge(Lives((), (57.0,) * 30))
    few = judge(Lives((70.0,), (57.0,) * 30))
    enough = judge(HANDBOOK)
    alike = judge(Lives((50.0,) * 6))

    assert none.method.startswith("no damage yet, so only a least life is known (assumed: a shape of about 2")
    assert none.scale.high == inf
    assert none.scale.low < none.law.scale
    assert few.method.startswith("only 1 damage, so with a guess (assumed")
    assert few.shape.low < few.law.shape < few.shape.high
    assert few.aic == {}
    assert enough.method == "maximum likelihood; intervals by profile likelihood"
    assert enough.law == fit(HANDBOOK).law
    assert enough.aic["weibull"] == pytest.approx(154.27, abs=0.005)
    assert (enough.damages, enough.undamaged) == (10, 10)
    assert alike.method.startswith("all 6 damages came at nearly one life")
    assert ENOUGH == 5


def test_a_roll_log_becomes_lives_by_its_reasons() -> None:
    """Only damage ends a life; a set that idle time, a plan or its limit took off was cut short."""
    lives = lives_from([57.0, 31.2, 44.0, 57.0, 12.0], ["limit", "damage", "idle", "planned", "still on"])

    assert lives.ended == (31.2,)
    assert lives.cut_short == (57.0, 44.0, 57.0, 12.0)
    assert lives.exposure == pytest.approx(201.2)


@pytest.mark.parametrize(
    ("lives", "says"),
    [
        (lambda: lives_from([57.0], ["limit", "damage"]), "1 lives need as many reasons, not 2"),
        (lambda: Lives((0.0,)), "a life of 0 cannot be"),
        (lambda: Lives((), (float("nan"),)), "a life of nan cannot be"),
        (lambda: fit(Lives((60.0,), (50.0,))), "1 damage among 2 sets cannot tell how steeply"),
        (lambda: fit(Lives((60.0,), (50.0,)), "gamma"), "cannot tell how steeply"),
        (lambda: fit(HANDBOOK, "normal"), "no law of lives is called normal"),
        (lambda: learn(Lives((), (57.0,))), "no roll was damaged"),
        (lambda: compare(Lives((), (57.0,))), "no roll was damaged"),
        (lambda: WeibullLife(-1.0, 5.0), "the shape of a weibull life is -1"),
        (lambda: mean_life_range(0.0, 0), "cannot be"),
        (lambda: least_scale(Lives(()), 2.0), "no roll has run yet"),
        (lambda: ShapeGuess(3.0, 2.0), "its high end above its median"),
    ],
)
def test_records_that_cannot_be_are_refused(lives: object, says: str) -> None:
    """Each with a plain reason."""
    assert callable(lives)
    with pytest.raises(ValueError, match=says):
        lives()


@pytest.mark.parametrize(
    "law", [laws.Exponential(90e3), laws.Weibull(2.4, 110e3), laws.Gamma(90e3, 0.5), laws.Lognormal(90e3, 0.8)]
)
def test_a_scenario_and_its_study_mean_the_same_law(law: laws.Law) -> None:
    """Mean, and coefficient of variation where the scenario gives it."""
    life = law_of(law)

    assert life.mean == pytest.approx(law.average, rel=1e-12)
    if isinstance(law, laws.Gamma | laws.Lognormal):
        assert life.deviation / life.mean == pytest.approx(law.cv, rel=1e-9)


def test_a_law_without_hazard_is_no_law_of_wear() -> None:
    """A constant damage at one age would make planning trivial, and false."""
    with pytest.raises(ValueError, match="lives spread as constant have no hazard"):
        law_of(laws.Constant(57e3, "length"))
