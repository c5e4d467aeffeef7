"""Which orders will be late: the order book of a scenario served from what each run finishes, day by day.

Taken: of each product the order due first is filled first; all that is finished fills orders before anything else; an
order is filled when all of it is there; what a day makes is spread evenly over it; the plan does not follow the book.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from math import ceil
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy as np

from twin.indicators.intervals import FloatArray, Interval, plant_interval
from twin.line.tables import metal_of
from twin.process.cutter import piece_mass
from twin.scenario.calendars import elapsed, wall_clock
from twin.study.assumed import finished_stores
from twin.study.scoreclaims import share_interval
from twin.study.serving import by_due, filled_s
from twin.study.statistics import quantile_interval

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.scenario.models import Order
    from twin.study.replications import Replications

DAY_S = 86_400.0
KG_PER_TONNE = 1000.0
NEVER_KG = 1e30  # pieces of what comes as coil alone
FILLED = (0.1, 0.5, 0.9)

State: TypeAlias = Literal["counted", "already due", "due after the end"]
Plain: TypeAlias = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Promise:
    """One order and what became of it in each run."""

    order: Order
    state: State
    due_s: float
    """When it is late from, in time of the run."""
    mass_kg: float
    filled_s: FloatArray
    """[runs], infinite where it is not filled within the run."""

    @property
    def late(self) -> FloatArray:
        """Return 1 for each run in which it is filled too late, or not at all."""
        return np.asarray(self.filled_s > self.due_s, dtype=float)


def late_from(due: datetime) -> datetime:
    """Return the moment from which an order is late: a date without an hour is kept until its day is over."""
    return due + timedelta(days=1) if due.time() == time() else due


def promises(made: Replications) -> list[Promise]:
    """Return when each order of the book is filled in each run, in the order of the book.

    Raises
    ------
    ValueError : The runs were made without what each day gives of each product.
    """
    if made.product_day_kg is None:
        raise ValueError("these runs do not tell what each day gives of each product: make them anew")
    scenario, products = made.scenario, list(made.layout.products)
    edges = np.append(made.day_start_s, made.warm_up_s + made.length_s)
    days = made.product_day_kg.reshape(made.runs, len(made.day_start_s), -1)
    stock = finished_stock_kg(made)
    due = [elapsed(scenario.time, late_from(order.due)) for order in scenario.orders]
    found: dict[int, Promise] = {}
    for product in dict.fromkeys(order.product for order in scenario.orders):
        own = [place for place, order in enumerate(scenario.orders) if order.product == product]
        own = [own[place] for place in by_due([due[place] for place in own])]
        need = np.column_stack([needed_kg(made, scenario.orders[place]) for place in own])
        at = filled_s(edges, days[:, :, products.index(product)], need, stock.get(product, 0.0))
        for column, place in enumerate(own):
            order = scenario.orders[place]
            state = state_of(due[place], edges[0], edges[-1])
            found[place] = Promise(order, state, due[place], mass_kg(scenario, order), at[:, column])
    return [found[place] for place in range(len(scenario.orders))]


def state_of(due_s: float, begin_s: float, end_s: float) -> State:
    """Return whether an order falls due while the runs count."""
    if due_s <= begin_s:
        return "already due"
    return "due after the end" if due_s > end_s else "counted"


def piece_kg(scenario: Scenario, product: str) -> float:
    """Return the mass of a piece. [kg]"""
    own = scenario.products[product]
    density = metal_of(scenario).density
    return piece_mass(thickness=own.thickness, girth=own.girth, length=own.length or 1.0, density=density)


def mass_kg(scenario: Scenario, order: Order) -> float:
    """Return the mass of an order. [kg]"""
    amount = order.quantity
    return amount.value * (piece_kg(scenario, order.product) if amount.dimension == "pieces" else 1.0)


def needed_kg(made: Replications, order: Order) -> FloatArray:
    """Return how much must be finished of the product in each run until an order is filled. [kg]

    Of a product that is partly sold as coil only a share becomes pieces: that of the whole run.
    """
    if order.quantity.dimension != "pieces":
        return np.full(made.runs, order.quantity.value)
    pieces = made.column("products", order.product, "pieces")
    kilograms = KG_PER_TONNE * made.column("products", order.product, "good")
    each = np.divide(kilograms, pieces, out=np.full(made.runs, NEVER_KG), where=pieces > 0.0)
    return np.asarray(order.quantity.value * each)


def finished_stock_kg(made: Replications) -> dict[str, float]:
    """Return what lies finished of each product when counting begins, as far as the file tells it in pieces. [kg]"""
    scenario = made.scenario
    if scenario.start.mode != "now" or made.warm_up_s > 0.0:
        return {}
    found: dict[str, float] = {}
    for name in finished_stores(scenario) & set(scenario.start.stores):
        for product, count in scenario.start.stores[name].by if scenario.stores[name].holds == "pieces" else ():
            found[product] = found.get(product, 0.0) + count * piece_kg(scenario, product)
    return found


def order_book(made: Replications) -> Plain | None:
    """Return the order book as results are written down; nothing where the scenario has no orders."""
    if not made.scenario.orders:
        return None
    book = promises(made)
    counted = [one for one in book if one.state == "counted"]
    nothing = np.zeros(made.runs)
    late = sum((one.late for one in counted), nothing)
    tonnes = sum((one.late * one.mass_kg / KG_PER_TONNE for one in counted), nothing)
    begin = made.warm_up_s
    return {
        "orders": len(book),
        "counted": len(counted),
        "already_due": [one.order.order for one in book if one.state == "already due"],
        "due_after": [one.order.order for one in book if one.state == "due after the end"],
        "from": _local(made.scenario, begin),
        "to": _local(made.scenario, begin + made.length_s),
        "runs": made.runs,
        "late": _indicator(_bounded(plant_interval(late, made.group), float(len(counted))), "orders"),
        "late_mass": _indicator(
            _bounded(plant_interval(tonnes, made.group), sum(one.mass_kg for one in counted) / KG_PER_TONNE), "t"
        ),
        "stock": {name: kilograms / KG_PER_TONNE for name, kilograms in finished_stock_kg(made).items()},
        "rows": [_row(made, one) for one in book],
    }


def _row(made: Replications, one: Promise) -> Plain:
    """Return one order as it is written down."""
    amount, counted = one.order.quantity, one.state == "counted"
    late_days = np.maximum(0.0, one.filled_s - one.due_s) / DAY_S
    tonnes = plant_interval(one.late * one.mass_kg / KG_PER_TONNE, made.group)
    return {
        "order": one.order.order,
        "product": one.order.product,
        "quantity": amount.value / (1.0 if amount.dimension == "pieces" else KG_PER_TONNE),
        "unit": "pieces" if amount.dimension == "pieces" else "t",
        "mass": one.mass_kg / KG_PER_TONNE,
        "due": one.order.due.isoformat(timespec="minutes"),
        "state": one.state,
        "on_time": _indicator(_on_time(one, made.group), "1") if counted else None,
        "days_late": None if one.state == "due after the end" else _median(late_days, made.group),
        "late_mass": _indicator(_bounded(tonnes, one.mass_kg / KG_PER_TONNE), "t") if counted else None,
        "filled": {f"{q:g}": _local(made.scenario, quantile(one.filled_s, q)) for q in FILLED},
        "filled_within": int(np.isfinite(one.filled_s).sum()),
    }


def _on_time(one: Promise, group: int) -> Interval:
    """Return the chance of being on time; runs that share a plant count as one, the most careful reading of them."""
    share = 1.0 - float(one.late.mean())
    runs = len(one.late) / max(1, group)
    found = share_interval(share * runs, runs)
    return Interval(share, found.low, found.high)


def quantile(values: FloatArray, probability: float) -> float:
    """Return the smallest value that at least this share of them does not exceed; they may be infinite."""
    return float(np.sort(values)[max(0, ceil(probability * len(values) - 1e-9) - 1)])


def _median(days: FloatArray, group: int) -> Plain:
    """Return the median with two order statistics as its interval; what lies beyond the runs is not known."""
    ranks = quantile_interval(np.arange(len(days), dtype=float), 0.5)
    ends = (None, None) if group > 1 else (ranks.low, ranks.high)
    low, high = (None if end is None else _known(float(np.sort(days)[int(end)])) for end in ends)
    return {"median": _known(quantile(days, 0.5)), "low": low, "high": high, "unit": "d"}


def _known(value: float) -> float | None:
    """Return a finite number, or nothing."""
    return value if np.isfinite(value) else None


def _bounded(found: Interval, most: float) -> Interval:
    """Return an interval whose ends lie where its number can be at all."""
    low, high = (None if end is None else min(most, max(0.0, end)) for end in (found.low, found.high))
    return Interval(found.mean, low, high)


def _indicator(found: Interval, unit: str) -> Plain:
    """Return a number as results are written down."""
    return {"mean": found.mean, "low": found.low, "high": found.high, "unit": unit}


def _local(scenario: Scenario, at_s: float) -> str | None:
    """Return a moment of the run as local time; nothing where it is not within the run."""
    return wall_clock(scenario.time, at_s).isoformat(timespec="minutes") if np.isfinite(at_s) else None
