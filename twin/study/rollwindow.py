"""The window of a change: from when to when it costs next to nothing, and what every other moment costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from math import inf

import numpy as np

from twin.study.lifelaws import LifeLaw
from twin.study.rollcoming import HOUR_S, Planning, Schedule, Tried
from twin.study.rollnow import Present
from twin.study.rollresult import Change, Price
from twin.study.rollwear import Facts
from twin.words import NO_BREAK, plain

HALF_HOUR_S = 1800.0
STEP_S = 900.0
SOON_S = 3600.0
MOSTLY = 0.5  # of a change falls into time that the mill stands anyway
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class Setting:
    """What windows are cut from.

    Attributes
    ----------
    now, facts, planning : The plant, its rolls, its plan's data.
    worth : Of an hour of the mill. [t/h]
    open_below : A loss below this keeps a window open. [t]
    """

    now: Present
    facts: Facts
    planning: Planning
    worth: float
    open_below: float


def clock(local: datetime) -> str:
    """Return a moment as people say it."""
    return f"{DAYS[local.weekday()]} {local:%H:%M}"


def change_of(setting: Setting, found: Tried, order: int, start: float, off: int | None) -> Change:
    """Return one change of a plan.

    Parameters
    ----------
    order : Its number in the plan, from 0.
    start : Where its set went on, negative for the one on the mill. [km from now]
    off : Number of the set that comes off.
    """
    schedule, place = found.schedule, found.places[found.best]
    prices = _prices(setting, found, start)
    best = float(found.times[found.best])
    earliest, latest, early, late = _window(prices, best, setting.open_below, _limited(setting, found))
    on, ready = _set_on(schedule, order)
    return Change(
        off=off,
        on=on,
        earliest=earliest,
        best=best,
        latest=latest,
        early=early,
        late=late,
        distance=float(setting.planning.coils.km[place] - start),
        risk=_risk_at(prices, best),
        risk_latest=_risk_at(prices, latest),
        ready=ready,
        heat_from=_heat_from(setting, ready, best),
        needs=_needs(setting.now),
        why=_why(setting, found, order, off),
        prices=prices,
        fixed=bool(setting.planning.earlier) and best <= setting.planning.frozen,
    )


def _limited(setting: Setting, found: Tried) -> bool:
    """Tell whether the last place that was tried is where the limit of the rolls lies."""
    return setting.planning.wear.limit < inf and found.places[-1] < len(setting.planning.coils.km) - 1


def _prices(setting: Setting, found: Tried, start: float) -> tuple[Price, ...]:
    """Return the price every quarter of an hour; of places at one time the cheapest counts."""
    least: dict[float, tuple[float, float]] = {}
    for place, at, hours in zip(found.places, found.times, found.hours, strict=True):
        run = float(setting.planning.coils.km[place] - start)
        if at not in least or hours < least[at][0]:
            least[at] = hours, run
    times = np.array(list(least))
    hours, runs = np.array(list(least.values())).T
    steps = [float(at) for at in np.arange(np.ceil(times[0] / STEP_S) * STEP_S, times[-1], STEP_S)]
    shown = sorted({*steps, float(times[0]), float(times[-1]), found.times[found.best]})
    begun = setting.planning.used if start < 0.0 else 0.0
    return tuple(
        Price(
            at,
            float(np.interp(at, times, hours)) * setting.worth,
            float(np.interp(at, times, hours)) * 60.0,
            risk(setting.facts.law, begun, float(np.interp(at, times, runs))),
        )
        for at in shown
    )


def risk(law: LifeLaw | None, begun: float, run: float) -> float:
    """Return the chance that a set which has run so far without damage is damaged before it has run further. [1]"""
    if law is None or run <= begun:
        return 0.0
    failed = law.failed(np.array([begun, run]))
    return float((failed[1] - failed[0]) / max(1.0 - failed[0], 1e-12))


def _risk_at(prices: Sequence[Price], at: float) -> float:
    return float(np.interp(at, [one.at for one in prices], [one.risk for one in prices]))


def _window(
    prices: Sequence[Price], best: float, open_below: float, limited: bool
) -> tuple[float, float, float, float]:
    """Return earliest and latest time of the window, and the price of half an hour before and after it."""
    middle = min(range(len(prices)), key=lambda number: abs(prices[number].at - best))
    low = high = middle
    while low > 0 and prices[low - 1].tonnes <= open_below:
        low -= 1
    while high + 1 < len(prices) and prices[high + 1].tonnes <= open_below:
        high += 1
    early = _slope(prices[0], prices[low])
    late = _slope(prices[-1], prices[high]) if high + 1 < len(prices) else inf if limited else 0.0
    return prices[low].at, prices[high].at, early, late


def _slope(outer: Price, edge: Price) -> float:
    """Return what each half hour outside costs, from the edge of the window to the last time that is possible. [t]"""
    halves = abs(outer.at - edge.at) / HALF_HOUR_S
    return max(0.0, outer.tonnes - edge.tonnes) / halves if halves > 0.0 else 0.0


def _set_on(schedule: Schedule, order: int) -> tuple[int | None, float | None]:
    """Return the set that goes on, and when it is ready where that is not yet."""
    course = schedule.course
    if course is None or order >= len(course.on):
        return None, None
    ready = course.ready[order]
    return course.on[order], ready if ready > 0.0 else None


def _heat_from(setting: Setting, ready: float | None, best: float) -> float | None:
    """Return when heating of a set that is not ready yet must start at the latest."""
    heating = setting.now.rolls.heating
    return None if heating is None or ready is None else max(0.0, best - heating.average)


def _needs(now: Present) -> tuple[str, ...]:
    """Return who and what a change takes."""
    crew = f"the crew of the {now.mill}"
    return (crew,) if now.rolls.needs is None else (crew, now.rolls.needs)


def _why(setting: Setting, found: Tried, order: int, off: int | None) -> str:
    """Say why the best moment is the best."""
    planning, schedule, now = setting.planning, found.schedule, setting.now
    place = found.places[found.best]
    name = "The set on the mill" if off is None else f"Set {off}"
    best = found.times[found.best]
    parts = []
    wait = float(schedule.waits[place])
    on, ready = _set_on(schedule, order)
    if planning.earlier and best <= planning.frozen:
        parts.append("So near now, it stays as it was planned.")
    if wait > 60.0 and ready is not None:
        hours = f"{plain(wait / HOUR_S, 1)}{NO_BREAK}h"
        parts.append(f"No set is ready before {clock(now.at(ready))}: the mill waits {hours}, or rolls slower before.")
    elif ready is not None and best - ready < SOON_S:
        parts.append(f"Set {on} is ready only at {clock(now.at(ready))}.")
    if float(planning.coils.cover[place]) >= MOSTLY:
        parts.append("The mill is then expected to stand anyway, so the change costs it little.")
    elif _limited(setting, found) and found.best == len(found.places) - 1:
        limit = f"{plain(setting.facts.limit, 0 if setting.facts.limit >= 10.0 else 1)}{NO_BREAK}km"
        parts.append(f"{name} reaches its {limit} in the coil before.")
    elif not parts:
        parts.append("Earlier wastes what the set could still roll; later, damage gets likelier.")
    if _spares_sets(planning, found):
        parts.append("Every coil less on this set is missing later: the roll shop cannot follow.")
    return " ".join(parts)


def _spares_sets(planning: Planning, found: Tried) -> bool:
    """Tell whether an earlier change would make the mill wait for sets later: nothing else costs so much."""
    earlier = found.hours[: found.best]
    return planning.stock is not None and bool(earlier) and earlier[-1] * HOUR_S > HALF_HOUR_S
