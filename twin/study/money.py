"""What good tonnes earn: contribution product by product, and of no more than can be sold.

Contribution is what is left of a sale after its metal and its variable cost. The tonnes that a change really adds are
seldom average tonnes, so each product is counted at its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from twin.indicators.intervals import FloatArray, Interval, mean_interval
from twin.process.cutter import piece_mass
from twin.scenario import Fault, ScenarioError

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.study.replications import Replications

WEEK_H = 168.0
WEEK_S = WEEK_H * 3600.0
KG = 1000.0  # in a tonne
NOTHING_T = 1e-9  # less than this a week is no product


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The most that can be sold of some products together. [t/week]"""

    name: str
    products: tuple[int, ...]
    tonnes: float


@dataclass(frozen=True, slots=True)
class Prices:
    """What each product of a line earns and how much of it sells.

    Attributes
    ----------
    products : Names, in the order of the results.
    per_tonne : Contribution, NaN where the file gives none. [currency/t]
    ceilings : What limits sales.
    """

    products: tuple[str, ...]
    per_tonne: FloatArray
    ceilings: tuple[Ceiling, ...]


def prices_of(scenario: Scenario, products: Sequence[str]) -> Prices:
    """Return what the products of a line earn, as the file's `money` says.

    A product takes its own entry, else that of `coil` or `sheet` if it is sold so; the same for demand, but a demand
    for `coil` or `sheet` is one for all of them together.

    Raises
    ------
    ScenarioError : No money in the file.
    """
    money = scenario.money
    if money is None:
        raise _fault(scenario, "money", "", "the file has no money: what good tonnes earn is not known", "Write money")
    sold_as = [_sold_as(scenario, name) for name in products]
    earns = [money.contribution.get(name, money.contribution.get(kind, np.nan)) for name, kind in sold_as]
    ceilings = []
    for name, rate in money.demand.items():
        place = 0 if name in scenario.products else 1  # the product itself, or all that is sold so
        group = tuple(i for i, one in enumerate(sold_as) if one[place] == name)
        kilograms = rate.value * (_piece_kg(scenario, name) if rate.dimension == "pieces" else 1.0)
        ceilings.append(Ceiling(name, group, kilograms * WEEK_S / KG))
    ceilings.sort(key=lambda one: len(one.products))  # what one product cannot sell must not take from its group
    return Prices(tuple(products), KG * np.array(earns), tuple(ceilings))


def _sold_as(scenario: Scenario, name: str) -> tuple[str, str]:
    """Return a product with the way it is sold; what has no product is named as it is sold."""
    product = scenario.products.get(name)
    return name, name if product is None else product.sold


def _piece_kg(scenario: Scenario, name: str) -> float:
    """Return the mass of a piece of a product, for a demand in pieces."""
    from twin.line.tables import metal_of

    product = scenario.products.get(name)
    if product is None or product.length is None:
        raise _fault(
            scenario,
            f"money.demand.{name}",
            "",
            f"{name} has no pieces whose mass is known, so a demand in pieces says nothing",
            "Write it as a mass, such as 200 t/week",
        )
    density = metal_of(scenario).density
    return piece_mass(thickness=product.thickness, girth=product.girth, length=product.length, density=density)


def _fault(scenario: Scenario, place: str, value: str, message: str, way_out: str, limit: str = "") -> ScenarioError:
    return ScenarioError([Fault(scenario.file, 0, place, value, limit, way_out, message)])


def good_tonnes(made: Replications) -> FloatArray:
    """Return the good output of each run by product. [t/week], [runs, products]"""
    columns = [made.column("products", name, "good") for name in made.layout.products]
    return WEEK_H * np.column_stack(columns)


def sold(tonnes: FloatArray, ceilings: Sequence[Ceiling]) -> FloatArray:
    """Return what is sold of what is made [t/week]; under a ceiling for several products each gives its share."""
    left = tonnes.copy()
    for ceiling in ceilings:
        group = list(ceiling.products)
        made = left[..., group].sum(axis=-1)
        share = np.minimum(1.0, ceiling.tonnes / np.maximum(made, NOTHING_T))
        left[..., group] *= share[..., None]
    return left


def contribution(tonnes: FloatArray, prices: Prices) -> FloatArray:
    """Return what each run earns. [currency/week]"""
    selling = sold(tonnes, prices.ceilings)
    earned: FloatArray = (selling * np.nan_to_num(prices.per_tonne)).sum(axis=-1)
    return earned


def check_prices(scenario: Scenario, prices: Prices, designs: Sequence[FloatArray]) -> None:
    """Refuse to count money where something is made whose worth is unknown.

    Raises
    ------
    ScenarioError : A product that a design makes has no price.
    """
    made = np.max([tonnes.mean(axis=0) for tonnes in designs], axis=0)
    for name, tonnes, price in zip(prices.products, made.tolist(), prices.per_tonne.tolist(), strict=True):
        if tonnes > NOTHING_T and np.isnan(price):
            raise _fault(
                scenario,
                "money.contribution",
                name,
                f"{name} has no contribution, but the line makes {tonnes:.3g} t/week of it",
                f"Write {name}: 0 EUR/t if it earns nothing".replace("EUR", _currency(scenario)),
            )


def _currency(scenario: Scenario) -> str:
    return scenario.money.currency if scenario.money is not None else "EUR"


def oversold(prices: Prices, today: FloatArray) -> list[tuple[Ceiling, Interval]]:
    """Return the demands that today's line exceeds for sure, with what it makes. [t/week]"""
    made = [(one, mean_interval(today[:, list(one.products)].sum(axis=1))) for one in prices.ceilings]
    return [(one, own) for one, own in made if one.tonnes < (own.mean if own.low is None else own.low)]


def check_demand(scenario: Scenario, prices: Prices, today: FloatArray) -> None:
    """Refuse demands that today's line exceeds for sure in all it makes: every further tonne would be for the yard.

    Raises
    ------
    ScenarioError : No product is made of which more can be sold.
    """
    found = oversold(prices, today)
    full = {place for ceiling, _ in found for place in ceiling.products}
    left = [place for place in np.flatnonzero(today.mean(axis=0) > NOTHING_T).tolist() if place not in full]
    if found and not left:
        ceiling, made = found[0]
        raise _fault(
            scenario,
            f"money.demand.{ceiling.name}",
            f"{ceiling.tonnes:.4g} t/week",
            f"{ceiling.tonnes:.4g} t/week of {ceiling.name} can be sold, but the line makes {made.mean:.4g} t/week "
            "today, and nothing of which more can be sold: no change that adds tonnes can pay for itself",
            "Raise the demand, or first give the plan less of it",
            f"at least {made.mean:.4g} t/week",
        )
