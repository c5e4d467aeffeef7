"""Money against published examples, an independent library, and cases worked by hand."""

from dataclasses import replace
from math import inf

import numpy as np
import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from twin.scenario import ScenarioError, loads
from twin.scenario.models import Option
from twin.study.breakeven import crossing, least_demand, thresholds
from twin.study.futures import Doubts, odds
from twin.study.money import Ceiling, Prices, check_demand, check_prices, contribution, oversold, prices_of, sold
from twin.study.value import (
    Purchase,
    Stage,
    Terms,
    annual,
    cash_flows,
    in_use,
    internal_rate,
    net_present_value,
    net_present_values,
    payback,
    paybacks,
    purchase_of,
    yearly_price,
)

TEN_YEARS = Terms(rate=0.09, years=10.0, weeks=47.0)
NO_INTEREST = Terms(rate=0.0, years=10.0, weeks=50.0)

SHOP = """
passline: 1
name: A shop that sells three things
metal: zinc
time: {length: 4 weeks}
stores: {ready: {holds: coils, capacity: 1}, done: {holds: coils}}
stations:
  supply: {kind: supply, to: ready, coil: {mass: 1 t, width: 1000 mm, thickness: 0.7 mm}}
  work:   {kind: step, from: ready, to: done, time: 1 h}
products:
  gutter: {thickness: 0.7 mm, girth: 333 mm, length: 3 m}
  ring:   {thickness: 0.7 mm, girth: 200 mm, sold: coil}
  coil 1: {thickness: 0.7 mm, girth: 1000 mm, sold: coil}
money:
  currency: EUR
  contribution: {coil: 200 EUR/t, gutter: 500 EUR/t}
"""


def option(name: str, **given: object) -> Option:
    """Return an option of that name."""
    return Option.model_validate({"set": {"x": 1}, **given}, context={"currency": "EUR"}).called(name)


def one_stage(capex: float, yearly: float, start: float = 0.0, ramp: tuple[float, ...] = (1.0,)) -> Purchase:
    """Return a purchase of one thing."""
    return Purchase((Stage(("it",), start, ramp),), (capex,), (yearly,), (start,))


# Published examples


@pytest.mark.parametrize(
    ("flows", "published", "digits"),
    [
        ([-100, 39, 59, 55, 20], 0.28095, 5e-6),  # numpy 1.18 documentation, numpy.irr
        ([-100, 0, 0, 74], -0.0955, 5e-5),  # the same
        ([-40000, 5000, 8000, 12000, 30000], npf.irr([-40000, 5000, 8000, 12000, 30000]), 1e-9),
    ],
)
def test_the_internal_rate_matches_the_published_one(flows: list[float], published: float, digits: float) -> None:
    assert internal_rate(flows).rate == pytest.approx(published, abs=digits)
    assert internal_rate(flows).warning == ""


def test_the_present_value_does_not_discount_what_is_paid_at_once() -> None:
    """numpy-financial documentation, numpy_financial.npv; discounting year 0 too would give 2838.17."""
    assert net_present_value(0.08, [-40000, 5000, 8000, 12000, 30000]) == pytest.approx(3065.22267, abs=5e-6)
    assert net_present_value(0.281, [-100, 39, 59, 55, 20]) == pytest.approx(-0.0084785916384548798, abs=1e-12)


def test_a_pump_that_is_used_up_sooner_has_two_internal_rates() -> None:
    """J. H. Lorie and L. J. Savage, Journal of Business 28 (1955): -1600, 10 000, -10 000 has 25 % and 400 %."""
    found = internal_rate([-1600, 10000, -10000])

    assert found.rates == pytest.approx((0.25, 4.0))
    assert found.rate is None
    assert "not unique" in found.warning


def test_money_that_is_always_worth_something_has_no_internal_rate() -> None:
    """1000 - 3000 v + 2500 v2 has no real root: 3000 squared is below 4 x 1000 x 2500."""
    assert internal_rate([1000.0, -3000.0, 2500.0]).rates == ()
    assert "no internal rate" in internal_rate([1000.0, -3000.0, 2500.0]).warning
    assert internal_rate([0.0, 0.0]).rates == ()
    assert "above 10000 %" in internal_rate([-1.0, 200.0]).warning


@given(st.lists(st.floats(-1000, 1000), min_size=3, max_size=12), st.floats(0.0, 0.5))
def test_every_internal_rate_makes_the_value_nothing(flows: list[float], rate: float) -> None:
    for one in internal_rate(flows).rates:
        scale = net_present_value(one, np.abs(flows))
        assert net_present_value(one, flows) == pytest.approx(0.0, abs=1e-9 * scale)
    assert net_present_values(rate, np.array([flows]))[0] == pytest.approx(npf.npv(rate, flows), abs=1e-8)


def test_the_plain_payback_of_a_textbook_case() -> None:
    """R. A. Brealey, S. C. Myers, Principles of Corporate Finance, ch. 5 (from memory): -2000, 500, 500, 5000 pays back
    in the third year when money comes at its end, and after 2.2 years when it comes evenly."""
    assert payback(np.array([-2000.0, 500.0, 500.0, 5000.0]), 1) == pytest.approx(2.2)
    assert payback(np.array([-2000.0, 1800.0, 500.0, -500.0]), 1) is None


def test_payback_is_for_good() -> None:
    """The money is back after one year, gone again in the second, back for good after 3.5."""
    assert payback(np.array([-100.0, 150.0, -100.0, 0.0, 100.0, 10.0]), 1) == pytest.approx(3.5)


def test_what_costs_nothing_pays_back_at_once_and_what_earns_nothing_never() -> None:
    assert payback(np.array([0.0, 1.0, 1.0]), 1) == 0.0
    assert payback(np.array([0.0, 0.0, 0.0]), 1) is None
    assert payback(np.array([0.0, -1.0, -1.0]), 1) is None
    assert paybacks(np.array([[0.0, 1.0], [-1.0, 0.5]])).tolist() == [0.0, inf]


def test_a_loan_costs_the_published_yearly_price() -> None:
    """numpy documentation, numpy.pmt: 200 000 over 15 years at 7.5 % costs 1854.02 a month (rate / 12 a month)."""
    monthly = Terms(rate=(1.0 + 0.075 / 12.0) ** 12 - 1.0, years=15.0, weeks=52.0)

    assert yearly_price(200_000.0, 1000.0, monthly) == pytest.approx(12 * 1854.02 + 1000.0, abs=0.07)


# The time line


def test_the_ramp_follows_the_years_of_use_from_the_day_of_delivery() -> None:
    """Delivered after 1.2 years, 50, 85, 100 %: by hand for the months in which something changes."""
    share = in_use(1.2, (0.5, 0.85, 1.0), 48)

    assert share[:14] == pytest.approx(np.zeros(14), abs=1e-12)
    assert share[14] == pytest.approx(0.6 * 0.5)  # 14.4 months: the last six tenths of the 15th month
    assert share[15:26] == pytest.approx(np.full(11, 0.5))
    assert share[26] == pytest.approx(0.4 * 0.5 + 0.6 * 0.85)
    assert share[39:] == pytest.approx(np.ones(9))


def test_options_bought_together_count_as_what_works_by_then() -> None:
    """A shift at once and a machine after a year: until then the shift's own gain, then the pair's, by the ramp."""
    pair = purchase_of(
        [
            option("machine", capex="100 kEUR", starts_after="1 year", ramp=["50 %", "100 %"], yearly="12 kEUR"),
            option("shift", yearly="24 kEUR"),
        ]
    )
    flows = cash_flows(pair, np.array([[60_000.0, 300_000.0]]), replace(NO_INTEREST, years=3.0))[0]

    assert [stage.options for stage in pair.stages] == [("shift",), ("shift", "machine")]
    assert annual(flows) == pytest.approx(
        [-100_000.0, 60_000 - 24_000, 60_000 + 120_000 - 36_000, 300_000 - 36_000], rel=1e-3
    )  # a year of 365.25 days is 1/1461 of a year late at the grid of months: nothing that a hand would see


def test_options_that_start_together_are_one_stage() -> None:
    both = purchase_of([option("one"), option("other")])

    assert [stage.options for stage in both.stages] == [("one", "other")]


def test_a_case_worked_by_hand() -> None:
    """docs/money.md: 52 t/week at 343 EUR/t, 47 weeks, 45 kEUR, 390 kEUR a year, 9 %, 10 years."""
    gain = 52.0 * 343.0 * 47.0
    flows = cash_flows(one_stage(45_000.0, 390_000.0), np.array([[gain]]), TEN_YEARS)[0]
    monthly = 1.09 ** (1 / 12) - 1
    annuity = (1 - 1.09**-10) / monthly

    assert gain == pytest.approx(838_292.0)
    assert net_present_value(TEN_YEARS.monthly_rate, flows) == pytest.approx((gain - 390_000) / 12 * annuity - 45_000)
    assert net_present_value(TEN_YEARS.monthly_rate, flows) == pytest.approx(2_948_900, abs=200)
    assert payback(flows) == pytest.approx(45_000 / (gain - 390_000))


# What sells, and at what


def test_products_take_their_own_price_or_that_of_how_they_are_sold() -> None:
    prices = prices_of(loads(SHOP), ["gutter", "ring", "coil 1", "coil"])

    assert prices.per_tonne.tolist() == pytest.approx([500.0, 200.0, 200.0, 200.0])


def test_contribution_is_that_of_the_tonnes_really_made() -> None:
    prices = prices_of(loads(SHOP), ["gutter", "ring", "coil 1", "coil"])

    assert contribution(np.array([[10.0, 5.0, 1.0, 0.0]]), prices).tolist() == pytest.approx([6200.0])


def test_nothing_above_the_demand_is_worth_anything() -> None:
    text = SHOP + "  demand: {coil: 12 t/week, gutter: 700 pieces/week}\n"
    prices = prices_of(loads(text), ["gutter", "ring", "coil 1", "coil"])
    gutter = 700 * 3.0 * 0.333 * 0.0007 * 7140.0 / 1000.0  # zinc, 7140 kg/m3 (materials.csv)

    selling = sold(np.array([[10.0, 18.0, 6.0, 0.0]]), prices.ceilings)

    assert selling[0].tolist() == pytest.approx([gutter, 9.0, 3.0, 0.0], rel=1e-3)


@given(st.lists(st.floats(0.0, 1e3), min_size=3, max_size=3), st.floats(0.1, 2e3))
def test_never_more_is_sold_than_made_or_than_the_ceiling(made: list[float], most: float) -> None:
    selling = sold(np.array([made]), [Ceiling("all", (0, 1, 2), most)])[0]

    assert selling.sum() <= most * (1 + 1e-12)
    assert (selling <= np.array(made) * (1 + 1e-12)).all()


def test_nonsense_about_money_is_refused_with_a_reason() -> None:
    shop = loads(SHOP)
    with pytest.raises(ScenarioError, match=r"money.contribution.coil: '-200 EUR/t' .* at least 0"):
        loads(SHOP.replace("coil: 200", "coil: -200"))
    with pytest.raises(ScenarioError, match="has no money"):
        prices_of(loads(SHOP[: SHOP.index("money:")]), ["gutter"])
    unknown = Prices(("gutter", "trough"), np.array([500.0, np.nan]), ())
    with pytest.raises(ScenarioError, match=r"trough has no contribution, but the line makes 3 t/week"):
        check_prices(shop, unknown, [np.array([[1.0, 3.0]])])
    check_prices(shop, unknown, [np.array([[1.0, 0.0]])])
    short = Prices(("gutter",), np.array([500.0]), (Ceiling("gutter", (0,), 90.0),))
    with pytest.raises(ScenarioError, match="makes 100 t/week today"):
        check_demand(shop, short, np.array([[99.0], [101.0], [100.0]]))
    check_demand(shop, short, np.array([[80.0], [101.0], [90.0]]))


def test_one_product_that_is_oversold_stops_no_study_of_the_others() -> None:
    """Of 100 t/week of gutters 90 sell; what more is made of troughs still earns."""
    shop = loads(SHOP)
    short = Prices(("gutter", "trough"), np.array([500.0, 400.0]), (Ceiling("gutter", (0,), 90.0),))
    today = np.array([[99.0, 10.0], [101.0, 12.0], [100.0, 11.0]])

    check_demand(shop, short, today)

    found = oversold(short, today)
    assert [one.name for one, _ in found] == ["gutter"]
    assert found[0][1].mean == pytest.approx(100.0)
    with pytest.raises(ScenarioError, match="nothing of which more can be sold"):
        check_demand(shop, short, today * [1.0, 0.0])


@pytest.mark.parametrize("order", ["{coil: 10 t/week, narrow: 2 t/week}", "{narrow: 2 t/week, coil: 10 t/week}"])
def test_what_one_product_cannot_sell_takes_nothing_from_its_group(order: str) -> None:
    """8 t of narrow coils, of which 2 sell, and 8 of wide ones: together 10, as many as the group sells."""
    text = SHOP[: SHOP.index("money:")]
    text = text.replace("products:\n", "products:\n  narrow: {thickness: 0.7 mm, girth: 200 mm, sold: coil}\n")
    assert "narrow" in text
    text += f"money: {{currency: EUR, contribution: {{coil: 200 EUR/t}}, demand: {order}}}\n"

    prices = prices_of(loads(text), ["narrow", "coil"])

    assert sold(np.array([[8.0, 8.0]]), prices.ceilings).tolist() == [[2.0, 8.0]]


# Odds


def test_the_odds_of_a_normal_gain_are_those_of_the_closed_form() -> None:
    """Gains with sd s over n runs that each fill 1/k of the years: a future scatters by s sqrt(1/(n + 1) + 1/k); the
    variance of the Bayesian bootstrap's mean is that of the sample over n + 1 (Rubin 1981)."""
    gains = np.random.default_rng(3).normal(100.0, 30.0, size=(400, 1))
    terms = Terms(rate=0.0, years=1.0, weeks=40.0)
    found = odds(one_stage(0.0, 0.0), gains, terms, run_weeks=4.0, futures=20_000)
    sd = float(gains.std()) * np.sqrt(1 / 401 + 1 / 10)

    assert found.value.mean() == pytest.approx(gains.mean(), abs=5 * sd / np.sqrt(20_000))
    assert found.value.std() == pytest.approx(sd, rel=0.02)
    assert np.quantile(found.value, 0.9) == pytest.approx(gains.mean() + 1.2816 * sd, abs=0.05 * sd)


def test_without_scatter_and_doubt_every_future_is_the_same() -> None:
    found = odds(one_stage(45_000.0, 390_000.0), np.full((20, 1), 838_292.0), TEN_YEARS, run_weeks=20.0)

    assert np.ptp(found.value) == pytest.approx(0.0, abs=1e-6)
    assert found.pays_back_within(0.11) == 1.0
    assert found.pays_back_within(0.10) == 0.0


def test_doubt_in_the_price_scatters_the_value_by_just_that() -> None:
    purchase, gains = one_stage(1000.0, 0.0), np.full((5, 1), 500.0)
    found = odds(purchase, gains, NO_INTEREST, run_weeks=20.0, doubts=Doubts(capex=0.15), futures=20_000)

    assert np.quantile(found.value, [0.025, 0.975]) == pytest.approx([5000 - 1150, 5000 - 850], abs=4)


def test_inputs_that_stay_for_life_are_not_averaged_away() -> None:
    gains = np.array([[-100.0], [300.0]] * 10)
    lasting = odds(one_stage(0.0, 0.0), gains, TEN_YEARS, run_weeks=20.0, lasting=True)
    luck = odds(one_stage(0.0, 0.0), gains, TEN_YEARS, run_weeks=20.0)

    assert lasting.value.std() > 2.0 * luck.value.std()
    assert 0.3 < lasting.pays_back_within(10.0) < 0.7


def test_the_same_seed_gives_the_same_futures_and_another_seed_others() -> None:
    gains = np.random.default_rng(1).normal(size=(20, 2))
    pair = purchase_of([option("a"), option("b", starts_after="1 year")])
    one, same, other = (odds(pair, gains, TEN_YEARS, run_weeks=20.0, seed=seed) for seed in (1, 1, 2))

    assert one.value.tobytes() == same.value.tobytes()
    assert one.value.tobytes() != other.value.tobytes()


def test_doubt_beyond_all_reason_is_refused() -> None:
    with pytest.raises(ValueError, match="between 0 % and 200 %"):
        Doubts(capex=-0.1)


# Where the advice turns


def test_at_each_threshold_the_value_is_nothing() -> None:
    purchase = one_stage(1_000_000.0, 100_000.0, start=0.5, ramp=(0.5, 1.0))
    gains = np.array([400_000.0])
    found = {one.kind: one for one in thresholds(purchase, gains, TEN_YEARS, currency="EUR")}

    def value(of: Purchase, gain: float) -> float:
        return net_present_value(TEN_YEARS.monthly_rate, cash_flows(of, np.array([[gain]]), TEN_YEARS)[0])

    assert set(found) == {"capex", "yearly", "gain", "delivery"}
    assert value(replace(purchase, capex=(found["capex"].gate,)), 400_000.0) == pytest.approx(0.0, abs=0.01)
    assert value(replace(purchase, yearly=(found["yearly"].gate,)), 400_000.0) == pytest.approx(0.0, abs=0.01)
    assert value(purchase, found["gain"].gate * 47.0) == pytest.approx(0.0, abs=0.01)
    late = replace(
        purchase, starts=(found["delivery"].gate,), stages=(replace(purchase.stages[0], start=found["delivery"].gate),)
    )
    assert value(late, 400_000.0) == pytest.approx(0.0, abs=0.01)


def test_the_least_demand_for_a_change_is_found_between_today_and_all_that_it_adds() -> None:
    """100 t/week today, 150 with the change, 1 EUR/t, 10 weeks of 10 years without interest, 2000 EUR: 20 t pay it."""
    prices = Prices(("ring",), np.array([1.0]), ())
    terms = Terms(rate=0.0, years=10.0, weeks=10.0)
    found = least_demand(one_stage(2000.0, 0.0), [np.full((3, 1), 100.0), np.full((3, 1), 150.0)], prices, terms)

    assert found is not None
    assert (found.now, found.gate) == pytest.approx((150.0, 120.0))
    dear = least_demand(one_stage(9000.0, 0.0), [np.full((3, 1), 100.0), np.full((3, 1), 150.0)], prices, terms)
    assert dear is None


def test_a_crossing_is_found_whichever_way_the_function_goes() -> None:
    assert crossing(lambda x: x**2 - 2.0, 0.0, 2.0) == pytest.approx(2**0.5)
    assert crossing(lambda x: 2.0 - x**2, 2.0, 0.0) == pytest.approx(2**0.5)
    assert crossing(lambda x: x + 1.0, 0.0, 2.0) is None
