"""When to change rolls: at an age, at fixed intervals, or not before damage; what each costs and how flat the best is.

Lives and ages are in one unit (km, or hours of rolling); the price of a change in another (minutes, or money).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from twin.study.lifelaws import FloatArray, LifeLaw

_GRID = 600
_STEPS = 3000
_LONGEST = 30.0  # means of a life; beyond that a planned change hardly ever comes
_WORTH = 1e-6  # a saving below this share is rounding, not a reason to change


@dataclass(frozen=True)
class Cycle:
    """From fresh rolls to fresh rolls when they are changed at an age or at damage, whichever comes first.

    Attributes
    ----------
    use : Rolled on average. [unit of life]
    damaged : Share of the changes that follow damage. [1]
    price : Of the change that ends it, on average. [unit of price]
    """

    use: float
    damaged: float
    price: float

    @property
    def rate(self) -> float:
        """Return the price for a unit of life."""
        return self.price / self.use


@dataclass(frozen=True)
class Plan:
    """The best age (or interval) for a planned change.

    Attributes
    ----------
    best : The age; infinite where a planned change never pays. [unit of life]
    rate : Price for a unit of life at the best age. [unit of price / unit of life]
    without : The same when rolls run until they are damaged.
    flat : Ages between which the rate is within the asked share of the best; the upper end may be infinite.
    pays : Whether a planned change pays at all.
    reason : Why, or why not.
    """

    best: float
    rate: float
    without: float
    flat: tuple[float, float]
    pays: bool
    reason: str


@dataclass(frozen=True)
class Downtime:
    """Changing as time: share of the clock [1], changes and those after damage in a unit of clock time."""

    share: float
    changes: float
    after_damage: float


def cycle(law: LifeLaw, age: float, *, planned: float, damaged: float) -> Cycle:
    """Return what a cycle is like when rolls are changed at this age.

    Parameters
    ----------
    law : Of the life of rolls until damage.
    age : Of the planned change; infinite to run until damage.
    planned, damaged : Price of a planned change and of one after damage (with all that the damage spoils).

    References
    ----------
    R. E. Barlow and F. Proschan, Mathematical Theory of Reliability, 1965, chapter 4 (from memory).
    """
    _prices(planned, damaged)
    if not age > 0:
        raise ValueError(f"the age of a planned change is {age:g}, but must be above 0")
    if age == inf:
        return Cycle(law.mean, 1.0, damaged)
    at = np.array([age])
    share = float(law.failed(at)[0])
    return Cycle(float(law.mean_until(at)[0]), share, planned * (1.0 - share) + damaged * share)


def rates(law: LifeLaw, ages: FloatArray, *, planned: float, damaged: float) -> FloatArray:
    """Return the price for a unit of life at each of these ages, as `cycle` does for one."""
    _prices(planned, damaged)
    share = law.failed(ages)
    return np.asarray((planned * (1.0 - share) + damaged * share) / law.mean_until(ages))


def age_replacement(law: LifeLaw, *, planned: float, damaged: float, within: float = 0.05) -> Plan:
    """Return the age at which a planned change is cheapest in the long run.

    Parameters
    ----------
    law : Of the life of rolls until damage.
    planned, damaged : Price of a planned change and of one after damage; minutes of downtime give the least downtime.
    within : What counts as flat: a rate so much above the best, as a share of it. [1]
    """
    return best_age([law], planned=planned, damaged=damaged, within=within)


def best_age(laws: Sequence[LifeLaw], *, planned: float, damaged: float, within: float = 0.05) -> Plan:
    """Return the age that is cheapest on average over laws which are equally likely, as drawn from what is believed.

    Parameters
    ----------
    laws : One, or a draw of many.
    planned, damaged : Price of a planned change and of one after damage.
    within : What counts as flat. [1]
    """
    _prices(planned, damaged)
    if not laws:
        raise ValueError("the best age needs at least one law of life")
    without = float(np.mean([damaged / law.mean for law in laws]))
    never = _never(laws, planned, damaged)
    if never:
        return Plan(inf, without, without, (inf, inf), False, never)

    def rate(ages: FloatArray) -> FloatArray:
        return np.asarray(np.mean([rates(law, ages, planned=planned, damaged=damaged) for law in laws], axis=0))

    typical = float(np.mean([law.mean for law in laws]))
    return _plan(rate, (min(law.quantile(1e-7) for law in laws), _LONGEST * typical), without, within)


def block_replacement(law: LifeLaw, *, planned: float, damaged: float, within: float = 0.05) -> Plan:
    """Return the interval at which all rolls are best changed, however fresh they are after damage in between.

    Never cheaper than changing by age; it asks for no counter of kilometres.

    Parameters
    ----------
    law, planned, damaged, within : As for `age_replacement`.
    """
    from scipy.interpolate import CubicSpline

    _prices(planned, damaged)
    without = damaged / law.mean
    never = _never([law], planned, damaged)
    if never:
        return Plan(inf, without, without, (inf, inf), False, never)
    until = 6.0 * law.mean
    expected = CubicSpline(np.linspace(0.0, until, _STEPS + 1), renewals(law.failed, until, steps=_STEPS))

    def rate(ages: FloatArray) -> FloatArray:
        return np.asarray((planned + damaged * expected(ages)) / ages)

    return _plan(rate, (until / _STEPS, until), without, within)


def downtime(law: LifeLaw, age: float, *, planned: float, damaged: float, speed: float = 1.0) -> Downtime:
    """Return what changing rolls at this age takes of the clock when the mill never waits for anything else.

    Parameters
    ----------
    law : Of the life of rolls until damage. [unit of life]
    age : Of the planned change. [unit of life]
    planned, damaged : Duration of a planned change and of one after damage. [unit of time]
    speed : Life used in a unit of running time, as km an hour. [unit of life / unit of time]
    """
    if not speed > 0:
        raise ValueError(f"the speed is {speed:g}, but must be above 0")
    one = cycle(law, age, planned=planned, damaged=damaged)
    clock = one.use / speed + one.price
    return Downtime(one.price / clock, 1.0 / clock, one.damaged / clock)


def renewals(failed: Callable[[FloatArray], FloatArray], until: float, *, steps: int = 2000) -> FloatArray:
    """Return the expected number of damages from 0 to each of steps + 1 equal times, rolls being replaced at each.

    The renewal equation M(t) = F(t) + integral of F(t - x) dM(x), solved step by step with F at the middle of each
    step; the error falls with the square of the step.

    Parameters
    ----------
    failed : Share of lives that have ended by an age.
    until : Last time. [unit of life]
    steps : Number of steps. [1]

    References
    ----------
    D. R. Cox, Renewal Theory, 1962; M. Xie, Commun. Stat. Simul. 18 (1989) 281 for the scheme (both from memory).
    """
    step = until / steps
    counts = np.arange(steps + 1, dtype=np.float64)
    whole, half = failed(step * counts), failed(step * (counts[:-1] + 0.5))
    grown = np.zeros(steps + 1)
    for place in range(1, steps + 1):
        earlier = np.diff(grown[:place]) @ half[place - 1 : 0 : -1] if place > 1 else 0.0
        grown[place] = (whole[place] + earlier - half[0] * grown[place - 1]) / (1.0 - half[0])
    return grown


def _plan(rate: Callable[[FloatArray], FloatArray], span: tuple[float, float], without: float, within: float) -> Plan:
    """Find the lowest rate over the span, first on a grid, then by golden section between its neighbours."""
    if not within > 0:
        raise ValueError(f"a rate counts as flat within a share above 0, not {within:g}")
    ages = np.asarray(np.geomspace(*span, _GRID), dtype=np.float64)
    on_grid = rate(ages)
    place = int(on_grid.argmin())
    best = _lowest(rate, float(ages[max(place - 1, 0)]), float(ages[min(place + 1, _GRID - 1)]))
    least = float(rate(np.array([best]))[0])
    if place == _GRID - 1 or least >= without * (1.0 - _WORTH):
        return Plan(inf, without, without, (inf, inf), False, "the damage risk rises too little with age")
    limit = least * (1.0 + within)
    low = _crossing(rate, limit, span[0], best)
    high = inf if without <= limit else _crossing(rate, limit, span[1], best)
    saving = 1.0 - least / without
    return Plan(best, least, without, (low, high), True, f"it saves {saving:.1%} against running until damage")


def _lowest(rate: Callable[[FloatArray], FloatArray], low: float, high: float) -> float:
    from scipy.optimize import minimize_scalar

    found = minimize_scalar(
        lambda age: float(rate(np.array([age]))[0]), bounds=(low, high), method="bounded", options={"xatol": low * 1e-9}
    )
    return float(found.x)


def _crossing(rate: Callable[[FloatArray], FloatArray], limit: float, outside: float, best: float) -> float:
    from scipy.optimize import brentq

    def excess(age: float) -> float:
        return float(rate(np.array([age]))[0]) - limit

    return float(brentq(excess, outside, best)) if excess(outside) > 0.0 else outside


def _never(laws: Sequence[LifeLaw], planned: float, damaged: float) -> str:
    """Return why a planned change can never pay, or nothing."""
    if damaged <= planned:
        return "a planned change never pays: one after damage is no dearer"
    if all(law.parameters.get("shape", 1.0) <= 1.0 and law.name != "lognormal" for law in laws):
        return "a planned change never pays: used rolls are no nearer to damage than fresh ones (shape at most 1)"
    return ""


def _prices(planned: float, damaged: float) -> None:
    for name, price in (("a planned change", planned), ("a change after damage", damaged)):
        if not 0 < price < inf:
            raise ValueError(f"the price of {name} is {price:g}, but must be above 0")
