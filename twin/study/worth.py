"""What each design of a comparison is worth, from the runs of today and of every stage in which it comes to work."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from twin.indicators.intervals import FloatArray, Interval, plant_interval
from twin.study.breakeven import Threshold, least_demand, thresholds
from twin.study.futures import NO_DOUBT, Doubts, Odds, odds
from twin.study.money import Prices, check_demand, check_prices, contribution, good_tonnes, prices_of
from twin.study.value import (
    MONTHS,
    InternalRate,
    Purchase,
    Terms,
    cash_flows,
    internal_rate,
    net_present_value,
    net_present_values,
    payback,
    purchase_of,
    terms_of,
    yearly_price,
)

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.study.replications import Replications

WEEK_S = 168.0 * 3600.0
LEAST_ADDED = 1e-6  # t/week; less adds nothing that a price could be set against

Made = Mapping[frozenset[str], "Replications"]
"""Runs by the options that work in them; today is the empty set."""


@dataclass(frozen=True, slots=True)
class Worth:
    """What options bought together are worth.

    Attributes
    ----------
    purchase : What is bought, and when it works.
    earned : Contribution above today's, once everything works. [currency/week]
    value : Net present value on average, with the interval of the runs. [currency]
    flows : Money month by month, on average. [currency]
    payback : Of the average money. [years], None for never
    rate : Internal rate of the average money. [1/year]
    odds : Value and payback over many futures.
    thresholds : Where it stops paying, or begins to.
    per_tonne : What a tonne more costs, capital spread over the years looked ahead; None where nothing is added.
        [currency/t]
    """

    purchase: Purchase
    earned: Interval
    value: Interval
    flows: FloatArray
    payback: float | None
    rate: InternalRate
    odds: Odds
    thresholds: tuple[Threshold, ...]
    per_tonne: float | None

    @property
    def capex(self) -> float:
        """Return the capital. [currency]"""
        return sum(self.purchase.capex)

    @property
    def yearly(self) -> float:
        """Return the running cost. [currency/year]"""
        return sum(self.purchase.yearly)


@dataclass(frozen=True, slots=True)
class Ledger:
    """Counts money for one scenario: its prices, its terms, what is taken as doubtful."""

    scenario: Scenario
    currency: str
    prices: Prices
    terms: Terms
    doubts: Doubts = NO_DOUBT
    lasting: bool = False
    """True where runs differ by their inputs too: a future is then one run, and nothing averages out."""

    def purchase(self, options: Sequence[str]) -> Purchase:
        """Return options bought together."""
        return purchase_of([self.scenario.options[name] for name in options])

    def weekly(self, made: Replications) -> FloatArray:
        """Return what each run earns. [currency/week]"""
        return contribution(good_tonnes(made), self.prices)

    def gains(self, options: Sequence[str], made: Made) -> FloatArray:
        """Return what each stage earns above today, run by run. [runs, stages], [currency/year]"""
        designs = [made[frozenset(stage.options)] for stage in self.purchase(options).stages]
        runs = min(made[frozenset()].runs, *(one.runs for one in designs))
        today = self.weekly(made[frozenset()])[:runs]
        return self.terms.weeks * np.column_stack([self.weekly(one)[:runs] - today for one in designs])

    def values(self, options: Sequence[str], made: Made) -> FloatArray:
        """Return the net present value if all years were like one run, run by run. [currency]"""
        if not options:
            return np.zeros(made[frozenset()].runs)
        flows = cash_flows(self.purchase(options), self.gains(options, made), self.terms)
        return net_present_values(self.terms.monthly_rate, flows)

    def difference(self, made: Made, share: float) -> float:
        """Return what a share of today's contribution is worth over the years. [currency]"""
        yearly = self.terms.weeks * float(self.weekly(made[frozenset()]).mean()) * share
        flows = np.append(0.0, np.full(self.terms.months, yearly / MONTHS))
        return net_present_value(self.terms.monthly_rate, flows)

    def check(self, made: Made) -> None:
        """Refuse prices and demands with which nothing can be said.

        Raises
        ------
        ScenarioError : A product without a price is made; less sells than is made today.
        """
        check_prices(self.scenario, self.prices, [good_tonnes(one) for one in made.values()])
        check_demand(self.scenario, self.prices, good_tonnes(made[frozenset()]))

    def worth(self, options: Sequence[str], made: Made) -> Worth:
        """Return what options bought together are worth."""
        purchase, gains = self.purchase(options), self.gains(options, made)
        today, all_of_it = made[frozenset()], made[frozenset(options)]
        flows = cash_flows(purchase, gains.mean(axis=0)[None, :], self.terms)[0]
        stages = [made[frozenset(stage.options)] for stage in purchase.stages]
        demand = least_demand(purchase, [good_tonnes(one) for one in (today, *stages)], self.prices, self.terms)
        return Worth(
            purchase=purchase,
            earned=plant_interval(gains[:, -1] / self.terms.weeks, all_of_it.group),
            value=plant_interval(self.values(options, made), all_of_it.group),
            flows=flows,
            payback=payback(flows),
            rate=internal_rate(flows, MONTHS),
            odds=odds(
                purchase,
                gains,
                self.terms,
                run_weeks=all_of_it.length_s / WEEK_S,
                doubts=self.doubts,
                lasting=self.lasting,
                seed=all_of_it.seed,
            ),
            thresholds=tuple(
                thresholds(purchase, gains.mean(axis=0), self.terms, currency=self.currency, demand=demand)
            ),
            per_tonne=self._per_tonne(purchase, today, all_of_it),
        )

    def _per_tonne(self, purchase: Purchase, today: Replications, all_of_it: Replications) -> float | None:
        """Return the yearly price over the tonnes added in a year."""
        runs = min(today.runs, all_of_it.runs)
        added = float((good_tonnes(all_of_it)[:runs].sum(axis=1) - good_tonnes(today)[:runs].sum(axis=1)).mean())
        price = yearly_price(sum(purchase.capex), sum(purchase.yearly), self.terms)
        return price / (added * self.terms.weeks) if added > LEAST_ADDED else None


def ledger_of(
    scenario: Scenario, products: Sequence[str], doubts: Doubts = NO_DOUBT, *, lasting: bool = False
) -> Ledger | None:
    """Return how a scenario counts money, None where its file says nothing of it.

    Raises
    ------
    ScenarioError : A demand in pieces of what has none.
    """
    if scenario.money is None:
        return None
    return Ledger(
        scenario, scenario.money.currency, prices_of(scenario, products), terms_of(scenario.money), doubts, lasting
    )
