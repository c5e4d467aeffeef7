"""The plant as it stands, as a planner of roll changes sees it: the state, where each roll set is, and its futures.

The state is the one that the scenario gives; where it gives none, it is that of an ordinary week, taken from a
simulated run on its first Wednesday at noon, and the answer says so.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import inf
from typing import Any

from twin.line.model import Scripts
from twin.line.snapshot import state_of
from twin.line.steered import CardSeen, PlaceSeen, SetSeen, Steered
from twin.scenario import Scenario, apply_set
from twin.scenario.calendars import elapsed, turns, wall_clock
from twin.scenario.laws import Law
from twin.scenario.models import Mill, Rolls
from twin.study.rollshop import Hours, Pending, Shop, Stock

HISTORY_S = 18 * 3600.0
NOON_OF = 2  # Wednesday
HOUR_S = 3600.0
ORDER = ("ready", "cooling", "waiting", "grinding", "fitting", "heating")
GIVEN = "plant's own state"
SIMULATED = "a state out of a simulated week, as the file gives none"


class RollsError(ValueError):
    """What is asked of the rolls cannot be answered; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class SetNow:
    """A roll set now, by the number that its users know.

    Attributes
    ----------
    number, place : Which, and where it is.
    since : Time before now from which it is there; None where nobody knows. [s]
    until : When it leaves that place by itself, where that is settled. [s from now]
    left : Work that is still needed there. [s]
    diameter : In its present state; 0 where diameters are not kept. [m]
    damaged : Whether it came off damaged.
    """

    number: int
    place: str
    since: float | None
    until: float | None
    left: float
    diameter: float
    damaged: bool


@dataclass(frozen=True)
class Present:
    """A plant at a moment.

    Attributes
    ----------
    scenario : The plant with this state as its start, and this moment as the start of its clock.
    mill : The station whose rolls are planned.
    source : Where the state is from, in words.
    used : What the rolls on the mill have rolled, as a share of their limit. [1]
    used_km : The same as length. [km]
    sets : Where each set is, the one on the mill first; the order is that of the sets in the futures.
    queue : Those that wait for the grinder, in order, by number.
    back_up : Back-up rolls that the grinder owes, and changes until the next one is due (-1: never).
    past : Where the sets were before now, and what came off. [s from now, negative]
    cards : Sets that came off before now.
    """

    scenario: Scenario
    mill: str
    source: str
    used: float
    used_km: float
    sets: tuple[SetNow, ...]
    queue: tuple[int, ...]
    back_up: tuple[int, int]
    past: tuple[PlaceSeen, ...] = ()
    cards: tuple[CardSeen, ...] = ()

    @property
    def rolls(self) -> Rolls:
        """Return what the scenario says of the rolls."""
        return rolls_of(self.scenario, self.mill)

    def at(self, seconds: float) -> datetime:
        """Return the local time so many seconds from now."""
        return wall_clock(self.scenario.time, seconds)

    def hours(self, calendar: str | None, horizon: float) -> Hours:
        """Return when a calendar is open, from now on."""
        own = self.scenario.calendar(calendar)
        is_open, edges = turns(own, self.scenario.time, horizon)
        return Hours(is_open, tuple(edges))


def rolls_of(scenario: Scenario, mill: str) -> Rolls:
    """Return the rolls of a mill.

    Raises
    ------
    RollsError : The station has none.
    """
    station = scenario.stations.get(mill)
    if not isinstance(station, Mill) or station.rolls is None:
        raise RollsError(f"station '{mill}' has no rolls: name one of {', '.join(mills_of(scenario)) or 'none'}")
    return station.rolls


def mills_of(scenario: Scenario) -> list[str]:
    """Return the stations whose rolls are changed."""
    return [name for name, own in scenario.stations.items() if isinstance(own, Mill) and own.rolls is not None]


def chosen_mill(scenario: Scenario, mill: str | None = None) -> str:
    """Return the station that is asked for, or the first with rolls.

    Raises
    ------
    RollsError : No station of the scenario has rolls, or not the one that is asked for; or they cannot be planned.
    """
    found = mills_of(scenario)
    if mill is None and not found:
        raise RollsError("no station of this scenario has rolls that are changed: describe them under rolls: of a mill")
    chosen = found[0] if mill is None else mill
    if rolls_of(scenario, chosen).sets == 1:
        raise RollsError(
            f"'{chosen}' has one roll set in all, so it stands while that is ground, whenever it is changed: "
            "there is nothing to plan. Give it a second set under rolls: sets:"
        )
    if scenario.stations[chosen].machines > 1:
        raise RollsError(
            f"'{chosen}' has {scenario.stations[chosen].machines} machines that share its roll sets: changes are "
            "planned for one machine. Describe each machine as a station of its own"
        )
    return chosen


def present(scenario: Scenario, mill: str, *, seed: int = 2026, length: float) -> Present:
    """Return the plant at its present moment.

    Parameters
    ----------
    scenario : With a state at its start, or without one.
    mill : The station whose rolls are planned.
    seed : Of the run from which a state is taken if there is none.
    length : How far the futures are to reach. [s]
    """
    if scenario.start.mode == "now":
        return _given(_lasting(scenario, length), mill, seed)
    return _simulated(scenario, mill, seed, length)


def _lasting(scenario: Scenario, length: float) -> Scenario:
    return apply_set(scenario, "time.length", f"{length:.0f} s")


def _given(scenario: Scenario, mill: str, seed: int) -> Present:
    """Return the state that the scenario gives; how long the sets have been where they are, nobody knows."""
    run = Steered(scenario, mill, seed=seed, run=0)
    run.run_to(0.0)
    run.count()
    now = tuple(
        SetNow(one.number, one.place, None, _settled(one.until), one.left, one.diameter, one.damaged)
        for one in run.sets()
    )
    seen = run.rolls()
    found = Present(
        scenario, mill, GIVEN, seen.share, seen.run / 1e3, _in_order(now, 0.0), run.grinder_queue(), run.back_ups()
    )
    told = scenario.start.rolls.get(mill)
    if told is None or told.used.dimension != "mass":
        return found
    from twin.study.rollfutures import km_per_kg  # which knows this module

    return replace(found, used_km=told.used.value * km_per_kg(found))


def moment_of(scenario: Scenario) -> float:
    """Return the moment that stands for now where a scenario gives no state: the first counted Wednesday at noon. [s]

    Where the counted time has none, its middle.
    """
    time = scenario.time
    begin = wall_clock(time, time.warm_up)
    noon = datetime(begin.year, begin.month, begin.day, 12) + timedelta(days=(NOON_OF - begin.weekday()) % 7)
    at = elapsed(time, noon)
    if at < time.warm_up:
        at = elapsed(time, noon + timedelta(days=7))
    return at if at <= time.warm_up + time.length else time.warm_up + time.length / 2.0


def _simulated(scenario: Scenario, mill: str, seed: int, length: float) -> Present:
    """Take the state out of a run; what a file cannot tell of the sets is kept beside it."""
    at = moment_of(scenario)
    run = Steered(scenario, mill, seed=seed, run=0)
    run.run_to(max(0.0, at - HISTORY_S))
    run.count(trace=True)
    run.run_to(at)
    sets, queue, seen = run.sets(), run.grinder_queue(), run.rolls()
    run.book()
    told: dict[str, Any] = state_of(run.line, run.model)
    local = wall_clock(scenario.time, at)
    now = apply_set(scenario, "start", told)
    now = apply_set(now, "time.start", f"{local:%Y-%m-%d %H:%M}")
    known = tuple(_from(one, at) for one in sets)
    past = tuple(PlaceSeen(one.number, one.place, one.start - at, one.end - at) for one in run.places())
    cards = tuple(CardSeen(one.set, one.on - at, one.off - at, one.run, one.why) for one in run.cards())
    return Present(
        _lasting(now, length),
        mill,
        SIMULATED,
        seen.share,
        seen.run / 1e3,
        _in_order(known, at),
        queue,
        run.back_ups(),
        past,
        cards,
    )


def _from(one: SetSeen, at: float) -> SetNow:
    until = None if _settled(one.until) is None else one.until - at
    return SetNow(one.number, one.place, at - one.since, until, one.left, one.diameter, one.damaged)


def _settled(until: float) -> float | None:
    return until if until < 1e200 else None


def _in_order(sets: tuple[SetNow, ...], at: float) -> tuple[SetNow, ...]:
    """Return the sets in the order in which a state out of a file puts them: place by place, first come first."""

    def key(one: SetNow) -> tuple[int, float]:
        if one.place == "on mill":
            return -1, 0.0
        first = one.until if one.place in ("cooling", "heating") and one.until is not None else -(one.since or 0.0)
        return ORDER.index(one.place), first

    return tuple(sorted(sets, key=key))


def future(now: Present, run: int, *, seed: int, scripts: Scripts | None = None) -> Steered:
    """Return one future of a plant, standing at its first instant and counting.

    Parameters
    ----------
    run, seed : What its luck is a function of.
    scripts : What is to happen in place of luck.
    """
    line = Steered(now.scenario, now.mill, seed=seed, run=run, scripts=scripts)
    if now.rolls.sets is not None and now.past:
        for place, one in enumerate(now.sets, start=1):
            line.put(
                place,
                one.place,
                since=-(one.since or 0.0),
                until=one.until or 0.0,
                left=one.left,
                diameter=one.diameter,
            )
    line.run_to(0.0)
    line.count()
    return line


def stock_of(now: Present, horizon: float) -> Stock | None:
    """Return the sets beside the one on the mill as a plan sees them; None where sets are never short."""
    rolls = now.rolls
    if rolls.sets is None or rolls.shop is None:
        return None
    shop = shop_of(now, horizon)
    ready = tuple(one.number for one in now.sets if one.place == "ready")
    order = {number: place for place, number in enumerate(now.queue)}
    others = [one for one in now.sets if one.place not in ("ready", "on mill")]
    others.sort(key=lambda one: (_stage(one), order.get(one.number, 0), one.until or 0.0))
    return Stock(shop, ready, tuple(_pending(one, shop) for one in others))


def _stage(one: SetNow) -> int:
    """Order the sets as the people of the shop come to them."""
    return ("heating", "fitting", "grinding", "waiting", "cooling").index(one.place)


def _pending(one: SetNow, shop: Shop) -> Pending:
    """Return what is still to be done to a set."""
    extra = shop.extra_after_damage if one.damaged else 0.0
    if one.place == "cooling":
        return Pending(one.number, one.until or 0.0, shop.grind + extra, shop.fit, shop.heat)
    if one.place == "waiting":
        return Pending(one.number, 0.0, shop.grind + extra, shop.fit, shop.heat)
    if one.place == "grinding":
        return Pending(one.number, 0.0, one.left, shop.fit, shop.heat, begun=True)
    if one.place == "fitting":
        return Pending(one.number, 0.0, 0.0, one.left, shop.heat, begun=True)
    return Pending(one.number, 0.0, 0.0, 0.0, one.until or 0.0)


def shop_of(now: Present, horizon: float) -> Shop:
    """Return the roll shop of a plant with every time at its mean."""
    rolls = now.rolls
    own = rolls.shop
    if own is None:
        return Shop()
    return Shop(
        hours=now.hours(own.calendar, horizon),
        people=own.people,
        cool=own.cool.average,
        grind=own.grind.average,
        fit=own.assemble.average,
        heat=_average(rolls.heating),
        extra_after_damage=own.extra_after_damage.average,
    )


def _average(law: Law | None) -> float:
    return 0.0 if law is None else law.average


def back_up_blocks(now: Present, changes: list[float], horizon: float) -> Shop:
    """Return the roll shop without the hours that back-up rolls will take, given when rolls are changed.

    Several people grind on beside it, so that only the hours of a single person are taken.
    """
    shop = shop_of(now, horizon)
    own = now.rolls.shop
    if own is None or own.back_up is None or shop.people != 1:
        return shop
    owed, due_in = now.back_up
    begins = [0.0] * owed
    each = int(own.back_up.every)
    while 0 < due_in <= len(changes):
        begins.append(changes[due_in - 1])
        due_in += each
    hours = shop.hours
    for begin in begins:
        start = hours.opens(begin)
        end = hours.after(start, own.back_up.grind.average)
        hours = hours.without(start, end if end < inf else horizon)
    return Shop(hours, shop.people, shop.cool, shop.grind, shop.fit, shop.heat, shop.extra_after_damage)
