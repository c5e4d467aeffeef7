"""What a roll set costs between two changes: the change itself, and what damage would cost, in lost hours of the mill.

A price is what a planner expects: with a chance the set is damaged before the planned change, and then another one
runs in its place, at the price of the long run. So along an endless sequence the cheapest arcs are those of age
replacement (R. E. Barlow and F. Proschan, Mathematical Theory of Reliability, 1965, chapter 4, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf

import numpy as np

from twin.study.lifelaws import FloatArray, LifeLaw, WeibullLife
from twin.study.replacement import rates
from twin.study.rollplan import Problem
from twin.study.rollshop import Hours, Shop, Stock

GRID = 1000
FAR = 8.0  # means of a life, beyond which hardly any set comes
LEAST_ALIVE = 1e-12


@dataclass(frozen=True)
class Wear:
    """How a roll set lives, and what changes cost.

    Attributes
    ----------
    law : Of the life until damage, in km; None where nothing is known of damage.
    limit : After which a set must come off; infinite where none is set. [km]
    planned, damaged : Price of a change, planned or after damage. [h of the mill]
    set_price : What a ground set is worth, as each change uses one, whatever the mill does then. [h of the mill]
    """

    law: LifeLaw | None
    limit: float
    planned: float
    damaged: float
    set_price: float = 0.0

    @property
    def planned_with_set(self) -> float:
        """Return what a planned change costs with its set. [h of the mill]"""
        return self.planned + self.set_price

    @property
    def damaged_with_set(self) -> float:
        """Return what a change after damage costs with its set. [h of the mill]"""
        return self.damaged + self.set_price

    def price_per_km(self) -> float:
        """Return the lowest price in the long run within the limit. [h/km]"""
        if self.law is None:
            return self.planned_with_set / self.limit if self.limit < inf else 0.0
        ages = np.linspace(0.0, min(self.limit, FAR * self.law.mean), GRID + 1)[1:]
        best = float(rates(self.law, ages, planned=self.planned_with_set, damaged=self.damaged_with_set).min())
        return best if self.limit < inf else min(best, self.damaged_with_set / self.law.mean)


class Ages:
    """Chance of damage and distance run, by the age at which a set is to come off; read off a fine grid."""

    def __init__(self, wear: Wear, far: float) -> None:
        self.law = wear.law
        reach = far if wear.law is None else FAR * wear.law.mean
        self.ages = np.linspace(0.0, min(wear.limit, reach), GRID + 1)
        self.failed, self.run = np.zeros(GRID + 1), self.ages
        if wear.law is not None:
            inner = self.ages[1:]
            self.failed = np.concatenate([[0.0], wear.law.failed(inner)])
            self.run = np.concatenate([[0.0], wear.law.mean_until(inner)])

    def between(self, start: float | FloatArray, end: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return chance of damage and distance run from one age to another, for a set that has reached the first."""
        if self.law is None:
            return np.zeros(np.shape(end)), np.asarray(end - start)
        alive = np.maximum(1.0 - self._at(start, self.failed), LEAST_ALIVE)
        chance = (self._at(end, self.failed) - self._at(start, self.failed)) / alive
        run = (self._at(end, self.run) - self._at(start, self.run)) / alive
        return np.asarray(chance), np.asarray(run)

    def _at(self, age: float | FloatArray, column: FloatArray) -> FloatArray:
        return np.asarray(np.interp(age, self.ages, column))


def arcs(
    km: FloatArray, times: FloatArray, wear: Wear, *, used: float = 0.0, cover: FloatArray | None = None,
    stock: Stock | None = None,
) -> Problem:  # fmt: skip
    """Return the problem of a sequence.

    Parameters
    ----------
    km : Rolled from now to each place; 0 at place 0. [km]
    times : When each place is reached. [s]
    wear : Life, limit and prices.
    used : What the set on the mill has run by now. [km]
    cover : Share of a change that falls into time that the mill stands anyway, by place. [1]
    stock : Where the other sets are.
    """
    far = float(km[-1]) + used
    ages, rate = Ages(wear, far), wear.price_per_km()
    planned = wear.planned * (1.0 - (np.zeros(len(km)) if cover is None else cover)) + wear.set_price
    ahead = _to_come(ages, wear, rate)
    length = km[None, :] - km[:, None]
    between = _price(ages, wear, rate, np.zeros_like(length), np.maximum(length, 0.0)) + planned[None, :]
    _add_skipped(between, ages, np.maximum(length, 0.0), planned)
    between[(length <= 0.0) | (length > wear.limit * (1.0 + 1e-12))] = inf
    first = _price(ages, wear, rate, np.full(len(km), used), used + km)
    chance = ages.between(used, used + km)[0]
    first = np.where(used + km <= wear.limit * (1.0 + 1e-12), first + planned * (1.0 - chance), inf)
    if used > wear.limit:
        first[0] = planned[0]
    rest = km[-1] - km
    last = np.where(rest <= wear.limit, _run_on(ages, wear, rate, ahead, 0.0, rest), inf)
    stay = float(_run_on(ages, wear, rate, ahead, used, np.array([km[-1]]))[0]) if far <= wear.limit else inf
    return Problem(times, first, between, np.asarray(last), stay, stock)


def _price(ages: Ages, wear: Wear, rate: float, start: FloatArray, end: FloatArray) -> FloatArray:
    """Return the price of damage on the way, and of the sets that then run the rest of it."""
    chance, run = ages.between(start, end)
    return np.asarray(wear.damaged_with_set * chance + rate * (end - start - run))


def _add_skipped(between: FloatArray, ages: Ages, length: FloatArray, planned: FloatArray) -> None:
    """Take off the planned change where damage has come before it."""
    between -= planned[None, :] * ages.between(0.0, length)[0]


def _to_come(ages: Ages, wear: Wear, rate: float) -> FloatArray:
    """Return what a set of each age on the grid costs beyond the long run until it is off: nothing for a new one."""
    alive = np.maximum(1.0 - ages.failed, LEAST_ALIVE)
    planned, damaged = wear.planned_with_set, wear.damaged_with_set
    off = planned * (1.0 - ages.failed) + damaged * ages.failed - rate * ages.run
    if wear.limit == inf:  # the end of the grid stands for running until damage
        off[-1] = damaged - rate * (wear.law.mean if wear.law is not None else ages.run[-1])
    least = np.minimum.accumulate(off[::-1])[::-1]
    ahead = (least - damaged * ages.failed + rate * ages.run) / alive
    return np.asarray(ahead - ahead[0])


def _run_on(ages: Ages, wear: Wear, rate: float, ahead: FloatArray, start: float, length: FloatArray) -> FloatArray:
    """Return the price of running on to the end of the sequence, with what the set still costs beyond it."""
    end = start + length
    chance = ages.between(start, end)[0]
    return np.asarray(
        _price(ages, wear, rate, np.full(len(length), start), end) + (1.0 - chance) * np.interp(end, ages.ages, ahead)
    )


def steadied(
    problem: Problem, earlier: Sequence[float], *, frozen: float = 0.0, price: float = 0.0, reach: float = 7200.0
) -> Problem:
    """Return the problem of a plan that should not jump about: a frozen near zone, and a price for changing the rest.

    Parameters
    ----------
    earlier : Times of the changes as planned before. [s]
    frozen : From now on nothing is laid anew for so long: changes planned there stay, none is added. [s]
    price : Of each half hour by which a change lies off the nearest one planned before. [h of the mill]
    reach : A change farther off than this is a new one and costs no more. [s]
    """
    if not len(earlier):
        return problem
    old = np.array(sorted(earlier))
    off = np.abs(problem.times[:, None] - old[None, :]).min(axis=1)
    fee = price * np.minimum(off, reach) / 1800.0
    near = problem.times < problem.times[0] + frozen
    kept = {int(np.abs(problem.times - at).argmin()) for at in old if at < problem.times[0] + frozen}
    fee = np.where(near & ~np.isin(np.arange(len(fee)), list(kept)), inf, fee)
    first, between, last, stay = problem.first + fee, problem.between + fee[None, :], problem.last.copy(), problem.stay
    for place in kept:  # no arc may pass over a change that stays
        first[place + 1 :] = inf
        between[:place, place + 1 :] = inf
        last[:place] = inf
        stay = inf
    return replace(problem, first=first, between=between, last=last, stay=stay)


def example(coils: int, *, seed: int = 1, scarce: bool = True) -> Problem:
    """Return an invented sequence for measuring: coils of 2.3 to 3.3 km, about 36 min each; few sets are three."""
    from twin.study.dice import Dice

    dice = Dice(seed, "example of a sequence").uniforms(2, coils)
    km = np.concatenate([[0.0], np.cumsum(2.3 + dice[0])])
    times = np.concatenate([[0.0], np.cumsum(1800.0 + 720.0 * dice[1])])
    day = 86400.0
    shifts = [day * number + hour * 3600.0 for number in range(coils // 20 + 3) for hour in (6.0, 13.0)]
    shop = Shop(Hours(False, tuple(shifts)), 1, 10 * 3600.0, 3 * 3600.0, 1.5 * 3600.0)
    stock = Stock(shop, (2, 3)) if scarce else None
    return arcs(km, times, Wear(WeibullLife(2.4, 110.0), 90.0, 0.7, 2.1), used=20.0, stock=stock)
