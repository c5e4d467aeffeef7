"""Where the advice turns: "it stops being true if ...", for what money alone decides."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.study.money import Ceiling, Prices, contribution
from twin.study.value import Purchase, Terms, cash_flows, net_present_value

CLOSE = 1e-10  # of the span looked through
LONGEST_DELAY = 20.0  # times the delivery time
KINDS = ("capex", "yearly", "gain", "delivery", "demand")
Kind = Literal["capex", "yearly", "gain", "delivery", "demand"]


@dataclass(frozen=True, slots=True)
class Threshold:
    """A number at which a change stops paying.

    Attributes
    ----------
    kind : Which number: capital, yearly cost, contribution gained a week, time to delivery, tonnes sold a week.
    now, gate : As it is taken, and where the value of the change is just 0.
    unit : Of both.
    stops : On which side of the gate it no longer pays.
    """

    kind: Kind
    now: float
    gate: float
    unit: str
    stops: Literal["above", "below"]


def thresholds(
    purchase: Purchase, gains: FloatArray, terms: Terms, *, currency: str, demand: Threshold | None = None
) -> list[Threshold]:
    """Return where the change stops paying, or begins to, one number moved at a time.

    `gains` is the mean contribution above today's of each stage. [currency/year]
    """
    capex, yearly = sum(purchase.capex), sum(purchase.yearly)
    value = _value(purchase, gains, terms)
    found: list[Threshold] = []
    if capex > 0.0 and capex + value > 0.0:
        found.append(Threshold("capex", capex, capex + value, currency, "above"))
    running = -_value(replace(purchase, capex=(0.0,) * len(purchase.capex)), np.zeros_like(gains), terms)
    if yearly > 0.0 and running > 0.0 and value / running > -1.0:
        found.append(Threshold("yearly", yearly, yearly * (1.0 + value / running), f"{currency}/year", "above"))
    earned = value + capex + running
    weekly = float(gains[-1]) / terms.weeks
    if capex + running > 0.0 and earned > 0.0:
        gate = weekly * (capex + running) / earned
        found.append(Threshold("gain", weekly, gate, f"{currency}/week", "below"))
    return [*found, *_delivery(purchase, gains, terms), *([] if demand is None else [demand])]


def _value(purchase: Purchase, gains: FloatArray, terms: Terms, delay: float = 1.0) -> float:
    return net_present_value(terms.monthly_rate, cash_flows(purchase, gains[None, :], terms, delay=delay)[0])


def _delivery(purchase: Purchase, gains: FloatArray, terms: Terms) -> list[Threshold]:
    """Return how late the last part may come, all parts being late alike; nothing if it pays at no or any delay."""
    last = max(purchase.starts, default=0.0)
    if last == 0.0 or _value(purchase, gains, terms) <= 0.0:
        return []
    longest = min(LONGEST_DELAY, terms.years / last)
    factor = crossing(lambda late: _value(purchase, gains, terms, late), 1.0, longest)
    return [] if factor is None else [Threshold("delivery", last, factor * last, "years", "above")]


def crossing(function: Callable[[float], float], begin: float, end: float) -> float | None:
    """Return where a function changes sign between two places, by halving; None where its ends have one sign."""
    at_begin, at_end = function(begin), function(end)
    if at_begin == 0.0:
        return begin
    if at_begin * at_end > 0.0:
        return None
    low, high = begin, end
    while abs(high - low) > CLOSE * max(abs(begin), abs(end), 1.0):
        middle = 0.5 * (low + high)
        if function(middle) * at_begin > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def least_demand(purchase: Purchase, tonnes: list[FloatArray], prices: Prices, terms: Terms) -> Threshold | None:
    """Return how much must be sold in all, whatever the product, for the change to pay.

    `tonnes` is what each run makes of each product, today first and then at each stage. [t/week], [runs, products]
    """
    everything = tuple(range(len(prices.products)))

    def value(demand: float) -> float:
        capped = replace(prices, ceilings=(*prices.ceilings, Ceiling("all", everything, demand)))
        earned = [terms.weeks * float(contribution(one, capped).mean()) for one in tonnes]
        return _value(purchase, np.array(earned[1:]) - earned[0], terms)

    made = [float(one.sum(axis=1).mean()) for one in tonnes]
    most = 1.5 * max(float(one.sum(axis=1).max()) for one in tonnes)
    gate = crossing(value, most, made[0])
    return None if gate is None else Threshold("demand", made[-1], gate, "t/week", "below")
