"""What a change is worth over the years: cash month by month, present value, payback, internal rate.

Conventions, so that a hand can follow (docs/money.md does): time runs from the order; the price is paid with the order;
running cost begins on the first day of use; contribution begins then too and climbs by the ramp, year of use by year of
use; each month's money counts at its end; the yearly rate r makes (1 + r)^(1/12) - 1 a month.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy_financial as npf

from twin.indicators.intervals import FloatArray

if TYPE_CHECKING:
    from twin.scenario.models import Money, Option

MONTHS = 12
YEAR_S = 365.25 * 86400.0
LOWEST_RATE, HIGHEST_RATE = -0.95, 100.0
STEPS = 2000  # between the two, in which at most one root of the value is looked for


@dataclass(frozen=True, slots=True)
class Stage:
    """A part of a change that starts working at one time.

    Attributes
    ----------
    options : All that works from here on, the earlier stages' options included.
    start : From the order. [years]
    ramp : Share of its gain in its first, second ... year of use; the last one stays.
    """

    options: tuple[str, ...]
    start: float
    ramp: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Terms:
    """How money is counted: yearly rate [1], years looked ahead, weeks worked in a year."""

    rate: float
    years: float
    weeks: float

    @property
    def months(self) -> int:
        """Return the number of months looked ahead."""
        return round(MONTHS * self.years)

    @property
    def monthly_rate(self) -> float:
        """Return the rate for a month that makes the yearly rate in twelve. [1]"""
        return float((1.0 + self.rate) ** (1.0 / MONTHS) - 1.0)


@dataclass(frozen=True, slots=True)
class Purchase:
    """What is bought: the stages in which it comes to work, and what each option costs.

    Attributes
    ----------
    stages : In the order in which they start.
    capex, yearly, starts : Of each option. [currency], [currency/year], [years from the order]
    """

    stages: tuple[Stage, ...]
    capex: tuple[float, ...]
    yearly: tuple[float, ...]
    starts: tuple[float, ...]


def terms_of(money: Money) -> Terms:
    """Return how the file counts money."""
    return Terms(money.rate, money.years, money.weeks_per_year)


def purchase_of(options: Sequence[Option]) -> Purchase:
    """Return options bought together.

    What two bring together is seldom the sum of what each brings. So the gain at any time is that of the options that
    work by then: those that start first, or climb faster, come first, and each later one adds what it adds to them.
    """
    ordered = sorted(options, key=lambda one: (one.starts_after, tuple(-share for share in one.ramp)))
    stages: list[Stage] = []
    for option in ordered:
        start, so_far = option.starts_after / YEAR_S, stages[-1].options if stages else ()
        if stages and (stages[-1].start, stages[-1].ramp) == (start, option.ramp):
            stages.pop()
        stages.append(Stage((*so_far, option.name), start, option.ramp))
    return Purchase(
        tuple(stages),
        tuple(option.capex for option in ordered),
        tuple(option.yearly for option in ordered),
        tuple(option.starts_after / YEAR_S for option in ordered),
    )


def in_use(start: float | FloatArray, ramp: Sequence[float], months: int) -> FloatArray:
    """Return the mean share of the gain in each month from the order, for one start or for many. [years]"""
    edges = np.arange(months + 1) / MONTHS
    used = np.maximum(edges - np.asarray(start, dtype=float)[..., None], 0.0)
    shares = np.append(ramp, ramp[-1])
    year = np.minimum(used.astype(np.int64), len(ramp))
    whole = np.append(0.0, np.cumsum(ramp))
    reached = whole[year] + shares[year] * (used - year)
    share: FloatArray = MONTHS * np.diff(reached, axis=-1)
    return share


def cash_flows(
    purchase: Purchase,
    gains: FloatArray,
    terms: Terms,
    *,
    price: float | FloatArray = 1.0,
    delay: float | FloatArray = 1.0,
) -> FloatArray:
    """Return the money of each future: with the order, then month by month. [futures, months + 1], [currency]

    Parameters
    ----------
    gains : Contribution above today's with the options of each stage. [futures, stages], [currency/year]
    price : Factor on all capital, for one or each future.
    delay : Factor on all times from order to use.
    """
    months, futures = terms.months, len(gains)
    late = np.broadcast_to(np.asarray(delay, dtype=float), (futures,))
    money = np.zeros((futures, months + 1))
    money[:, 0] = -sum(purchase.capex) * np.broadcast_to(np.asarray(price, dtype=float), (futures,))
    before = np.zeros(futures)
    for place, stage in enumerate(purchase.stages):
        money[:, 1:] += (gains[:, place] - before)[:, None] / MONTHS * in_use(late * stage.start, stage.ramp, months)
        before = gains[:, place]
    for yearly, start in zip(purchase.yearly, purchase.starts, strict=True):
        money[:, 1:] -= yearly / MONTHS * in_use(late * start, (1.0,), months)
    return money


def net_present_value(rate: float, flows: Sequence[float] | FloatArray) -> float:
    """Return the value now of money at times 0, 1, 2 ...; what comes at time 0 is not discounted."""
    return float(npf.npv(rate, np.asarray(flows, dtype=float)))


def net_present_values(rate: float, flows: FloatArray) -> FloatArray:
    """Return the same for each row."""
    values: FloatArray = flows @ (1.0 + rate) ** -np.arange(flows.shape[-1], dtype=float)
    return values


def payback(flows: FloatArray, periods: int = MONTHS) -> float | None:
    """Return when the money is back for good [years], with what comes in a period spread evenly over it.

    It is the last time at which the sum of all money turns from below 0. None: it never does, or nothing is earned.
    """
    found = float(paybacks(flows[None, :], periods)[0])
    return found if np.isfinite(found) else None


def paybacks(flows: FloatArray, periods: int = MONTHS) -> FloatArray:
    """Return the payback of each row [years], infinite for never."""
    total = np.cumsum(flows, axis=1)
    rows, below = np.arange(len(total)), total < 0.0
    last = np.minimum(total.shape[1] - 1 - below[:, ::-1].argmax(axis=1), total.shape[1] - 2)
    owed = total[rows, last]
    with np.errstate(divide="ignore", invalid="ignore"):
        back = (last + owed / (owed - total[rows, last + 1])) / periods
    earned: FloatArray = np.where(below.any(axis=1), back, 0.0)
    return np.where(total[:, -1] > 0.0, earned, np.inf)


@dataclass(frozen=True, slots=True)
class InternalRate:
    """The rates at which the money is worth nothing, in rising order. [1/period]"""

    rates: tuple[float, ...]
    beyond: bool = False
    """True where the money is still worth something at the highest rate looked at."""

    @property
    def rate(self) -> float | None:
        """Return the internal rate; None where there is none, or several, of which none is better than another."""
        return self.rates[0] if len(self.rates) == 1 else None

    @property
    def warning(self) -> str:
        """Return what is wrong with it, or nothing."""
        if len(self.rates) == 1:
            return ""
        if not self.rates and self.beyond:
            return f"The internal rate lies above {100 * HIGHEST_RATE:.0f} % a year."
        if not self.rates:
            return "There is no internal rate: the money is never worth nothing at any rate."
        listed = ", ".join(f"{100 * rate:.3g} %" for rate in self.rates)
        return f"The internal rate is not unique ({listed}): money flows both ways more than once. Use the value."


def internal_rate(flows: Sequence[float] | FloatArray, periods: int = 1) -> InternalRate:
    """Return all rates between -95 % and 10 000 % a year at which money at times 0, 1, 2 ... is worth nothing.

    `periods` is how many of them make a year. Two roots closer than 0.4 % of 1 + rate to each other are not told apart.

    References
    ----------
    J. H. Lorie, L. J. Savage, Three problems in rationing capital, Journal of Business 28 (1955) 229-239: why there
    may be several.
    """
    from scipy.optimize import brentq

    money = np.asarray(flows, dtype=float)
    times = np.arange(money.size) / periods
    grid = np.linspace(np.log1p(LOWEST_RATE), np.log1p(HIGHEST_RATE), STEPS + 1)

    def value(log_growth: float) -> float:
        return float(money @ np.exp(-log_growth * times))

    values = np.exp(-np.outer(grid, times)) @ money
    if not np.any(money):
        return InternalRate(())
    found = [float(grid[i]) for i in np.flatnonzero(values == 0.0)]
    for i in np.flatnonzero(values[:-1] * values[1:] < 0.0):
        found.append(float(brentq(value, grid[i], grid[i + 1], xtol=1e-14)))
    rates = tuple(sorted(float(np.expm1(one)) for one in found))
    return InternalRate(rates, beyond=not rates and bool(money[0] < 0.0 < values[-1]))


def annual(flows: FloatArray) -> FloatArray:
    """Return monthly money by year: what is paid with the order, then each year's sum."""
    years = -(-(flows.size - 1) // MONTHS)
    rest = np.append(flows[1:], np.zeros(years * MONTHS - flows.size + 1))
    return np.append(flows[0], rest.reshape(years, MONTHS).sum(axis=1))


def yearly_price(capex: float, yearly: float, terms: Terms) -> float:
    """Return capital spread evenly over the years looked ahead, with its interest, plus what is paid each year."""
    per_month = -float(npf.pmt(terms.monthly_rate, terms.months, capex))
    return MONTHS * per_month + yearly
