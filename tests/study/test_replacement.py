"""When to change rolls, against published policies and independent calculation."""

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, optimize

from twin.study.learning import learn
from twin.study.life import Lives
from twin.study.lifelaws import ExponentialLife, GammaLife, LifeLaw, LognormalLife, WeibullLife
from twin.study.replacement import (
    age_replacement,
    best_age,
    block_replacement,
    cycle,
    downtime,
    rates,
    renewals,
)


@pytest.mark.parametrize(
    ("shape", "ratio", "best", "rate", "without"),
    [
        (2, 5, 0.51066, 4.08524, 5.64190),
        (2, 10, 0.33645, 6.05612, 11.28379),
        (3, 5, 0.50261, 3.03140, 5.59923),
        (3, 10, 0.38246, 3.94935, 11.19847),
    ],
)
def test_age_replacement_has_its_known_optimum(
    shape: float, ratio: float, best: float, rate: float, without: float
) -> None:
    """Weibull lives of scale 1; policy of Barlow and Proschan 1965, chapter 4 (from memory), solved independently."""
    plan = age_replacement(WeibullLife(shape, 1.0), planned=1.0, damaged=ratio)

    assert plan.best == pytest.approx(best, rel=0.005)
    assert plan.rate == pytest.approx(rate, rel=1e-4)
    assert plan.without == pytest.approx(without, rel=1e-4)
    assert plan.pays


@pytest.mark.parametrize(
    ("law", "ratio"),
    [(WeibullLife(1.6, 80.0), 4.0), (GammaLife(3.0, 40.0), 10.0), (LognormalLife(100.0, 0.5), 8.0)],
)
def test_the_best_age_solves_the_first_order_condition(law: LifeLaw, ratio: float) -> None:
    """Hazard x mean use - failed share = planned / (damaged - planned), integrated and solved by another library."""

    def condition(age: float) -> float:
        use, _ = integrate.quad(lambda t: float(law.survival(np.array([t]))[0]), 0.0, age)
        at = np.array([age])
        return float(law.hazard(at)[0]) * use - float(law.failed(at)[0]) - 1.0 / (ratio - 1.0)

    plan = age_replacement(law, planned=1.0, damaged=ratio)

    assert plan.best == pytest.approx(float(optimize.brentq(condition, 1.0, law.mean)), rel=1e-4)


@pytest.mark.parametrize("law", [ExponentialLife(1.0), WeibullLife(1.0, 1.0), WeibullLife(0.8, 1.0), GammaLife(0.7, 2)])
def test_without_wear_a_planned_change_never_pays(law: LifeLaw) -> None:
    """A shape of at most 1 has no finite optimum; running to damage costs damaged / mean."""
    for plan in (age_replacement(law, planned=1.0, damaged=10.0), block_replacement(law, planned=1.0, damaged=10.0)):
        assert plan.best == inf
        assert not plan.pays
        assert plan.reason.startswith("a planned change never pays: used rolls are no nearer to damage")
        assert plan.rate == plan.without == pytest.approx(10.0 / law.mean)


def test_without_wear_any_planned_age_costs_more_than_running_to_damage() -> None:
    """At a ratio of 10 the rate is above 10 at every age."""
    ages = np.geomspace(0.01, 20, 50)

    assert np.all(rates(ExponentialLife(1.0), ages, planned=1.0, damaged=10.0) > 10.0 - 1e-9)


def test_a_planned_change_never_pays_when_damage_costs_no_more() -> None:
    """Steep wear does not matter then."""
    plan = age_replacement(WeibullLife(4.0, 100.0), planned=30.0, damaged=30.0)

    assert not plan.pays
    assert "one after damage is no dearer" in plan.reason


def test_wear_that_hardly_rises_is_no_reason_to_change() -> None:
    """A shape of 1.05 has an optimum on paper, beyond every life."""
    plan = age_replacement(WeibullLife(1.05, 110.0), planned=42.0, damaged=126.0)

    assert not plan.pays
    assert plan.reason == "the damage risk rises too little with age"


def test_the_least_downtime_of_a_roll_change() -> None:
    """Shape 3, scale 120 h of rolling, 6 h after damage, 1 h planned.

    Best at 55.93 h: 2.6438 % down (5.3023 % when run to damage), 9.63 % of the changes after damage, 17.845 changes
    in 1000 clock hours, 1.718 of them after damage.
    """
    law = WeibullLife(3.0, 120.0)
    plan = age_replacement(law, planned=1.0, damaged=6.0)
    down = downtime(law, plan.best, planned=1.0, damaged=6.0)

    assert plan.best == pytest.approx(55.93, rel=0.005)
    assert down.share == pytest.approx(0.026438, rel=1e-3)
    assert downtime(law, inf, planned=1.0, damaged=6.0).share == pytest.approx(0.053023, rel=1e-3)
    assert cycle(law, plan.best, planned=1.0, damaged=6.0).damaged == pytest.approx(0.0963, rel=1e-3)
    assert down.changes * 1000 == pytest.approx(17.845, rel=1e-3)
    assert down.after_damage * 1000 == pytest.approx(1.718, rel=1e-3)


def test_kilometres_and_hours_give_the_same_downtime() -> None:
    """At 60 km/h the same rolls live 7200 km and are changed at 3355.8 km."""
    hours = downtime(WeibullLife(3.0, 120.0), 55.93, planned=1.0, damaged=6.0)
    kilometres = downtime(WeibullLife(3.0, 7200.0), 3355.8, planned=1.0, damaged=6.0, speed=60.0)

    assert kilometres == hours


def test_near_the_best_age_the_exact_kilometre_hardly_matters() -> None:
    """Invented demo plant: shape 2.4, scale 110 km, 42 and 126 min.

    Worked independently: best at 73 km, 57 to 90 km within 3.5 %, 48 km costs 10 % more, running to damage 25 %.
    """
    law = WeibullLife(2.4, 110.0)
    plan = age_replacement(law, planned=42.0, damaged=126.0, within=0.035)

    assert plan.best == pytest.approx(73, abs=0.5)
    assert plan.flat[0] == pytest.approx(57, abs=0.5)
    assert plan.flat[1] > 90
    assert cycle(law, 48.0, planned=42.0, damaged=126.0).rate / plan.rate == pytest.approx(1.10, abs=0.005)
    assert plan.without / plan.rate == pytest.approx(1.25, abs=0.005)


def test_the_flat_range_ends_where_the_price_has_risen_by_the_asked_share() -> None:
    """Both ends, and none above where running to damage is itself within the share."""
    law = WeibullLife(2.4, 110.0)
    plan = age_replacement(law, planned=42.0, damaged=126.0, within=0.05)
    for end in plan.flat:
        assert cycle(law, end, planned=42.0, damaged=126.0).rate == pytest.approx(1.05 * plan.rate, rel=1e-6)

    wide = age_replacement(law, planned=42.0, damaged=126.0, within=0.30)
    assert wide.flat[1] == inf
    assert wide.flat[0] < plan.flat[0]


@given(st.floats(1.3, 5), st.floats(10, 500), st.floats(2, 20), st.floats(0.05, 4))
def test_no_age_is_cheaper_than_the_best(shape: float, scale: float, ratio: float, part: float) -> None:
    """For any wear and any price of damage; and the best is never dearer than running to damage."""
    law = WeibullLife(shape, scale)
    plan = age_replacement(law, planned=1.0, damaged=ratio)

    assert plan.rate <= cycle(law, part * scale, planned=1.0, damaged=ratio).rate * (1 + 1e-9)
    assert plan.rate <= plan.without
    assert plan.flat[0] <= plan.best <= plan.flat[1]


def test_dearer_damage_means_earlier_changes() -> None:
    """And a longer life later ones, in proportion."""
    law = WeibullLife(2.4, 110.0)
    cheap, dear = (age_replacement(law, planned=1.0, damaged=ratio).best for ratio in (3.0, 12.0))

    assert dear < cheap
    twice = age_replacement(WeibullLife(2.4, 220.0), planned=1.0, damaged=3.0).best
    assert twice == pytest.approx(2 * cheap, rel=1e-4)


def test_a_very_long_age_is_running_to_damage() -> None:
    """In the limit, and as such."""
    law = WeibullLife(2.4, 110.0)
    late, never = (cycle(law, age, planned=42.0, damaged=126.0) for age in (1e4, inf))

    assert late.rate == pytest.approx(never.rate, rel=1e-9)
    assert never.damaged == 1.0
    assert never.use == law.mean


def test_block_replacement_has_its_known_optimum() -> None:
    """Shape 2, scale 1, ratio 5: interval 0.5075, rate 4.3076 (Barlow and Proschan chapter 4; solved independently)."""
    law = WeibullLife(2.0, 1.0)
    block = block_replacement(law, planned=1.0, damaged=5.0)

    assert block.best == pytest.approx(0.5075, rel=0.01)
    assert block.rate == pytest.approx(4.3076, rel=1e-3)
    assert renewals(law.failed, 0.5075)[-1] == pytest.approx(0.2372, abs=1e-3)
    assert block.rate > age_replacement(law, planned=1.0, damaged=5.0).rate


def test_block_replacement_is_never_cheaper_than_by_age() -> None:
    """It throws away rolls that have just been changed after damage."""
    for law in (WeibullLife(2.4, 110.0), GammaLife(4.0, 30.0), WeibullLife(4.0, 60.0)):
        by_age = age_replacement(law, planned=42.0, damaged=200.0)
        assert block_replacement(law, planned=42.0, damaged=200.0).rate > by_age.rate


@pytest.mark.parametrize(
    ("name", "until", "expected"),
    [
        ("uniform", 1.0, 1.718282),  # e - 1
        ("erlang", 4.0, 3.750000),  # t - 1/4 + exp(-4 t) / 4
        ("weibull", 0.5, 0.230794),
        ("weibull", 1.0, 0.753691),
        ("weibull", 2.0, 1.894039),
        ("weibull", 3.0, 3.021745),
    ],
)
def test_expected_damages_are_those_of_renewal_theory(name: str, until: float, expected: float) -> None:
    """Cox, Renewal Theory, 1962 (from memory); the Weibull values were worked independently."""
    failed = {
        "uniform": lambda age: np.clip(age, 0.0, 1.0),
        "erlang": GammaLife(2.0, 0.5).failed,
        "weibull": WeibullLife(2.0, 1.0).failed,
    }[name]

    assert renewals(failed, until)[-1] == pytest.approx(expected, abs=1e-4)


def test_expected_damages_agree_with_drawn_ones() -> None:
    """100 000 paths of Weibull lives of shape 2: 1 %."""
    ends = np.cumsum(np.random.default_rng(4).weibull(2.0, (100_000, 16)), axis=1)

    assert (ends <= 3.0).sum(axis=1).mean() == pytest.approx(renewals(WeibullLife(2.0, 1.0).failed, 3.0)[-1], rel=0.01)


def test_damages_without_wear_come_evenly() -> None:
    """An exponential life: M(t) = t / mean, exactly; one value a step."""
    grown = renewals(ExponentialLife(50.0).failed, 200.0, steps=400)

    np.testing.assert_allclose(grown, np.linspace(0.0, 4.0, 401), atol=1e-4)


def test_an_age_may_be_chosen_over_all_that_is_believed() -> None:
    """Few records: the best age over drawn laws is the cheapest on their average, found by brute force."""
    learned = learn(Lives((60.0, 85.0), (57.0,) * 12))
    laws = learned.laws(np.random.default_rng(9).random((100, 2)))
    plan = best_age(laws, planned=42.0, damaged=126.0)
    ages = np.linspace(20.0, 400.0, 1901)
    mean = np.mean([rates(law, ages, planned=42.0, damaged=126.0) for law in laws], axis=0)

    assert plan.rate == pytest.approx(mean.min(), rel=1e-5)
    assert plan.best == pytest.approx(ages[mean.argmin()], rel=0.01)


@pytest.mark.parametrize(
    ("planned", "damaged", "age", "says"),
    [
        (0.0, 6.0, 10.0, "the price of a planned change is 0"),
        (1.0, -6.0, 10.0, "the price of a change after damage is -6"),
        (1.0, 6.0, 0.0, "the age of a planned change is 0"),
    ],
)
def test_prices_and_ages_that_cannot_be_are_refused(planned: float, damaged: float, age: float, says: str) -> None:
    """By their name."""
    with pytest.raises(ValueError, match=says):
        cycle(WeibullLife(2.0, 1.0), age, planned=planned, damaged=damaged)


def test_plans_without_sense_are_refused() -> None:
    """No law, no width of the flat range, a standing mill."""
    with pytest.raises(ValueError, match="at least one law"):
        best_age([], planned=1.0, damaged=6.0)
    with pytest.raises(ValueError, match="flat within a share above 0"):
        age_replacement(WeibullLife(2.0, 1.0), planned=1.0, damaged=6.0, within=0.0)
    with pytest.raises(ValueError, match="the speed is 0"):
        downtime(WeibullLife(2.0, 1.0), 1.0, planned=1.0, damaged=6.0, speed=0.0)
