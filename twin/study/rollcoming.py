"""The coming roll changes: a plan along the expected coils, and what each change costs at any other time.

The expected coils are the mean of many futures in which no set is ever short; waits for sets are then the plan's own.
The plan is exact for them (`rollplan`), in hours of the mill. What a change costs at another time is the price of the
cheapest plan in which it is there, with all later changes planned anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf

import numpy as np

from twin.scenario import apply_set
from twin.study.lifelaws import FloatArray
from twin.study.rollarcs import Wear, arcs, steadied
from twin.study.rollfutures import LOOK_S, Outcomes, Wish
from twin.study.rollnow import Present, RollsError, back_up_blocks, stock_of
from twin.study.rollplan import NoPlanError, Problem, cheapest
from twin.study.rollshop import Course, Hours, Stock, follow
from twin.study.rollwear import Facts

DAY_S = 86400.0
HOUR_S = 3600.0
LEAST_SHARE = 0.75  # of a usual run, below which fresh rolls stay on whatever was wished
MOST_WAITS = 100
MOST_TRIED = 30  # places at which one change is tried; prices between them are read off
SET_PRICES = (0.0, 1.0, 3.0, 10.0)  # of a planned change, that a ground set may be worth
AT_LEAST_KM = 1e-6


@dataclass(frozen=True)
class Coils:
    """The coils to come as places of a plan: strip rolled at each [km], time, and share of a change that is covered."""

    km: FloatArray
    times: FloatArray
    cover: FloatArray


def coils_of(outcomes: Outcomes, coil_km: float, hours: Hours) -> Coils:
    """Return the places of a plan: now, and the end of each coil.

    Parameters
    ----------
    hours : In which rolls are changed; only then is a standing mill any use for it.
    """
    km, idle = outcomes.mean("km"), outcomes.mean("idle")
    looks = LOOK_S * np.arange(len(km))
    count = max(1, int(km[-1] / coil_km))
    places: FloatArray = coil_km * np.arange(count + 1.0)
    times = np.maximum.accumulate(np.interp(places, km + 1e-9 * np.arange(len(km)), looks))
    times[0] = 0.0
    open_then = np.array([hours.is_open(float(at)) for at in times], dtype=float)
    cover = np.asarray(np.interp(times, looks, idle) * open_then)
    return Coils(places, np.asarray(times, dtype=np.float64), cover)


def with_sets_enough(now: Present) -> Present:
    """Return the same plant in which no set is ever short."""
    if now.rolls.sets is None:
        return now
    return replace(now, scenario=apply_set(now.scenario, f"stations.{now.mill}.rolls.sets", "unlimited"), past=())


@dataclass(frozen=True)
class Planning:
    """What a plan of the coming changes is made from.

    Attributes
    ----------
    wear : Life, limit and prices of the rolls.
    used : What the set on the mill has run. [km]
    mounted : Its number.
    coils : The coils to come.
    stock : The other sets; None with sets enough.
    earlier : Times of the changes as planned before. [s from now]
    frozen : How far from now on nothing is laid anew. [s]
    steady : Price of each half hour by which a change moves. [h of the mill]
    """

    wear: Wear
    used: float
    mounted: int
    coils: Coils
    stock: Stock | None
    earlier: tuple[float, ...] = ()
    frozen: float = 0.0
    steady: float = 0.0

    @cached_property
    def _arcs(self) -> Problem:
        """Return the arcs, which do not depend on when the coils come."""
        coils = self.coils
        return arcs(coils.km, coils.times, self.wear, used=self.used, cover=coils.cover, stock=self.stock)

    def problem(self, times: FloatArray) -> Problem:
        """Return the arcs, with the coils at these times."""
        made = replace(self._arcs, times=times.copy())
        return steadied(made, self.earlier, frozen=self.frozen, price=self.steady)


@dataclass(frozen=True)
class Schedule:
    """A plan of the coming changes.

    Attributes
    ----------
    places : The coils after which rolls are changed.
    price : Of the whole, waits included. [h of the mill]
    times : Of all places, later by the waits before them. [s from now]
    waits : Time that the mill waits for a set at each place. [s]
    course : Where each set is along the plan; None with sets enough.
    """

    places: tuple[int, ...]
    price: float
    times: FloatArray
    waits: FloatArray
    course: Course | None


def planned(planning: Planning, held: Sequence[int] = ()) -> Schedule:
    """Return the cheapest plan; where sets are too few, the mill waits where the last of them runs out.

    Parameters
    ----------
    held : Places of the first changes, where these are given.

    Raises
    ------
    RollsError : No set is ever ready again.
    """
    times, waits = planning.coils.times.copy(), np.zeros(len(planning.coils.times))
    for _ in range(MOST_WAITS):
        problem = holding(planning.problem(times), held)
        try:
            plan = cheapest(problem)
        except NoPlanError as fault:
            wait = fault.ready - times[fault.place]
            if fault.why != "sets" or not 0.0 < wait < inf:
                raise RollsError(_no_plan(fault)) from fault
            times[fault.place :] += wait
            waits[fault.place] += wait
            continue
        lost = float(waits.sum()) / HOUR_S
        return Schedule(plan.places, plan.price + lost, times, waits, _course(planning, times, plan.places))
    raise RollsError(f"the mill would have to wait for a roll set more than {MOST_WAITS} times: give it more sets")


def possible(planning: Planning) -> tuple[Planning, Schedule]:
    """Return the cheapest plan, and what it was made from: a frozen zone in which none is possible is given up.

    Raises
    ------
    RollsError : None is possible without it either.
    """
    try:
        return planning, planned(planning)
    except RollsError:
        if planning.frozen <= 0.0 or not planning.earlier:
            raise
        thawed = replace(planning, frozen=0.0)
        return thawed, planned(thawed)


def shortened(planning: Planning, schedule: Schedule, until: float) -> Planning:
    """Return the same for the coils that are rolled by a time, with the waits of a plan."""
    count = max(2, int(np.searchsorted(schedule.times, until)) + 1)
    coils = planning.coils
    return replace(planning, coils=Coils(coils.km[:count], coils.times[:count], coils.cover[:count]))


def priced(planning: Planning) -> tuple[Planning, ...]:
    """Return the same with ground sets worth nothing, little and much.

    A plan at the means does not see that damage may take the last ready set on a Friday night. The dearer a set, the
    less a plan spends one before its limit; which price is right, futures have to tell.
    """
    if planning.stock is None:
        return (planning,)
    worth = (step * planning.wear.planned for step in SET_PRICES)
    return tuple(replace(planning, wear=replace(planning.wear, set_price=price)) for price in worth)


def _no_plan(fault: NoPlanError) -> str:
    if fault.why == "sets":
        return (
            "the changes cannot be planned: no other roll set is ever ready in the planned time. "
            "Give the mill another set, or the roll shop more hours"
        )
    return f"the changes cannot be planned: {fault}. Check change_after against the length of a coil"


def _course(planning: Planning, times: FloatArray, places: Sequence[int]) -> Course | None:
    if planning.stock is None:
        return None
    return follow(planning.stock, [float(times[place]) for place in places], planning.mounted, 0.0, float(times[-1]))


def holding(problem: Problem, held: Sequence[int]) -> Problem:
    """Return the problem with the first changes given."""
    if not held:
        return problem
    first, between, last = np.full_like(problem.first, inf), problem.between.copy(), problem.last.copy()
    first[held[0]] = problem.first[held[0]]
    for place, onward in zip(held, held[1:], strict=False):
        price = between[place, onward]
        between[place, :] = inf
        between[place, onward] = price
        last[place] = inf
    return replace(problem, first=first, between=between, last=last, stay=inf)


def plan_ahead(
    now: Present,
    facts: Facts,
    outcomes: Outcomes,
    *,
    earlier: Sequence[float] = (),
    frozen: float = 0.0,
    steady: float = 0.0,
) -> Planning:
    """Return what the plan of a plant is made from; the hours of back-up rolls on the grinder are taken out first.

    A set comes off after the coil in which it reaches its limit, so it may begin one just before.
    """
    horizon = LOOK_S * len(outcomes.mean("km")) + 14 * DAY_S
    hours = now.hours(change_calendar(now), horizon)
    coils, stock = coils_of(outcomes, facts.coil.km, hours), stock_of(now, horizon)
    wear = replace(facts.wear(), limit=facts.limit + facts.coil.km - AT_LEAST_KM)
    mounted = now.sets[0].number if now.sets else 1
    made = Planning(wear, now.used_km, mounted, coils, stock, tuple(earlier), frozen, steady)
    if stock is None or now.rolls.shop is None or now.rolls.shop.back_up is None:
        return made
    _, schedule = possible(made)
    shop = back_up_blocks(now, [float(schedule.times[place]) for place in schedule.places], horizon)
    return replace(made, stock=replace(stock, shop=shop))


def change_calendar(now: Present) -> str | None:
    """Return the calendar in which rolls are changed."""
    return now.rolls.calendar or now.scenario.stations[now.mill].calendar


@dataclass(frozen=True)
class Tried:
    """One change at each place where it may be.

    Attributes
    ----------
    places, times : Where and when. [s from now]
    hours : What the cheapest plan with it there costs beyond the cheapest of all. [h of the mill]
    best : Which of them is best.
    schedule : The plan with it at its best.
    """

    places: tuple[int, ...]
    times: tuple[float, ...]
    hours: tuple[float, ...]
    best: int
    schedule: Schedule


def tried(planning: Planning, plan: Schedule, order: int, held: Sequence[int]) -> Tried | None:
    """Return what a change of the plan costs wherever it may be; None where no plan has it.

    Parameters
    ----------
    order : Number of the change, from 0.
    held : Places of the changes before it.
    """
    start = planning.coils.km[held[-1]] if held else -planning.used
    first = held[-1] + 1 if held else 0
    far = start + planning.wear.limit if planning.wear.limit < inf else planning.coils.km[plan.places[order]] * 1.5
    allowed = [place for place in range(first, len(planning.coils.km)) if planning.coils.km[place] <= far + 1e-9]
    step = -(-len(allowed) // MOST_TRIED)
    some = {*allowed[::step], *allowed[-1:], plan.places[order]} if allowed else {first}
    found: list[tuple[int, Schedule]] = []
    for place in sorted(some):
        try:
            found.append((place, planned(planning, [*held, place])))
        except RollsError:
            continue
    found = [(place, one) for place, one in found if one.price < inf]
    if not found:
        return None
    best = min(range(len(found)), key=lambda number: found[number][1].price)
    least = found[best][1].price
    return Tried(
        tuple(place for place, _ in found),
        tuple(float(one.times[place]) for place, one in found),
        tuple(one.price - least for _, one in found),
        best,
        found[best][1],
    )


def as_planned(planning: Planning, places: Sequence[int], coil_km: float) -> Wish:
    """Return the wish for changes at these places; a set that has run much less than planned is left on."""
    points = tuple(float(planning.coils.km[place]) for place in places)
    runs = np.diff((-planning.used, *points))
    least = LEAST_SHARE * float(np.median(runs)) if len(runs) else 0.0
    return Wish(points=points, slack=0.5 * coil_km, least=least)
