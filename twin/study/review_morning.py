"""The state of the line at the start of the production day by its log; the rest as on a typical morning."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from twin.line.found import Found, Lying
from twin.line.model import Model
from twin.line.routes import givers_of, takers_of
from twin.line.snapshot import state_at
from twin.scenario import Scenario
from twin.scenario.calendars import elapsed, timestamp, wall_clock
from twin.study.review_records import AT_ONCE_S, Coil, Records, Stop
from twin.study.review_wear import Wear

Told = dict[str, Any]
NEAR_S = 3600.0  # a count of the stock within this of the morning is taken for the morning's


@dataclass(frozen=True)
class Morning:
    """How the day begins.

    Attributes
    ----------
    told : In the grammar of `start:`.
    found : What the grammar does not hold.
    assumed : What the log does not tell, in sentences.
    """

    told: Told
    found: Found = field(default_factory=Found)
    assumed: tuple[str, ...] = ()


def morning_of(records: Records, begin: float) -> Morning:
    """Return the state of the line at the begin of the day [s since 1970 UTC]."""
    return _Reader(records, begin).read()


def typical_morning(scenario: Scenario, begin: datetime, *, seed: int = 2026, run: int = 0) -> Told:
    """Return a state that the line reaches at this time of the week, from one run behind its warm-up."""
    own = scenario.time
    at = own.warm_up
    day = wall_clock(own, at).date()
    while True:
        if day.weekday() == begin.weekday():
            at = elapsed(own, datetime.combine(day, begin.time()))
            if at >= own.warm_up:
                return state_at(scenario, at, seed=seed, run=run)
        day += timedelta(days=1)


class _Reader:
    """Reads one morning out of a log."""

    def __init__(self, records: Records, begin: float) -> None:
        self.records = records
        self.begin = begin
        self.model: Model = records.model
        self.scenario = records.model.scenario
        self.assumed: list[str] = []
        self._typical: Told | None = None

    def read(self) -> Morning:
        if self.begin <= self.records.log.span[0] + NEAR_S:
            self.assumed.append("The log begins with this day: what was going on in the morning is not in it.")
        coils, stores = self._coils(), self._levels()
        wear = Wear(self.records, self.begin, lambda: self.typical, self.assumed)
        rolls = {name: wear.rolls(name) for name in self.model.layout.mills}
        machines = {name: [own for own in self._machines(name) if len(own) > 1] for name in self.scenario.stations}
        machines = {name: own for name, own in machines.items() if own}
        told: Told = {"stores": stores} | ({"rolls": rolls} if rolls else {})
        told |= {"machines": machines} if machines else {}
        return Morning(told, replace(wear.found(), coils=coils), tuple(dict.fromkeys(self.assumed)))

    @property
    def typical(self) -> Told:
        """Return a typical morning, worked out when it is first needed."""
        if self._typical is None:
            local = wall_clock(self.scenario.time, self.begin - timestamp(self.scenario.time, self.scenario.time.start))
            self._typical = typical_morning(self.scenario, local.replace(tzinfo=None))
        return self._typical

    # Stores

    def _coils(self) -> dict[str, tuple[Lying, ...]]:
        """Return what lies in the stores of coils whose comings and goings are in the log."""
        known = self.records.coils
        found = {}
        for name, store in self.scenario.stores.items():
            givers, takers = givers_of(self.scenario, name), takers_of(self.scenario, name)
            if store.holds != "coils" or not takers or store.capacity == 0:
                continue
            if not any(giver in known for giver in givers) or not any(taker in known for taker in takers):
                continue
            lying = list(self._lying(name, givers, takers, store.rest))
            found[name] = tuple(lying if store.capacity is None else lying[: int(store.capacity)])
        return found

    def _numbers(self, name: str) -> range:
        return range(1, self.scenario.stations[name].machines + 1)

    def _held_out(self, name: str, number: int) -> Coil | None:
        """Return the finished coil with which a machine stood in the morning because there was no room behind it."""
        if name in self.model.flowing or self.scenario.stations[name].kind in ("slitter", "supply"):
            return None
        rows = self.records.stops_of.get((name, number), [])
        rows = [own for own in rows if own.start < self.begin - AT_ONCE_S and own.end > self.begin]
        if not any(own.kind == "blocked" for own in rows):
            return None
        done = [one for one in self.records.coils.get(name, []) if one.end <= self.begin]
        done = [one for one in done if self._is_on(name, one, number)]
        return max(done, key=lambda one: one.end, default=None)

    def _lying(self, store: str, givers: list[str], takers: list[str], rest: float) -> Iterator[Lying]:
        """Yield the coils that came before the morning and were not yet taken, the oldest first."""
        taken = {one.coil: one.start for name in takers for one in self.records.coils.get(name, [])}
        came = {one.coil: (one, name) for name in givers for one in self.records.coils.get(name, [])}
        early = min((one.start for rows in self.records.coils.values() for one in rows), default=self.begin)
        moments = [(self.records.came(name, one), one, name) for one, name in came.values() if one.end <= self.begin]
        held = {one.coil for name in givers for number in self._numbers(name) if (one := self._held_out(name, number))}
        arrived = [row for row in moments if row[0] <= self.begin and row[1].coil not in held]
        unseen = [
            (early - rest, one, "")
            for name in takers
            for one in self.records.coils.get(name, [])
            if one.start >= self.begin - AT_ONCE_S and one.coil not in came and givers_tell(self.records, givers)
        ]
        for end, one, giver in sorted([*arrived, *unseen], key=lambda row: (row[0], row[1].start)):
            if taken.get(one.coil, self.begin) < self.begin - AT_ONCE_S:
                continue
            name = self._name_in(store, one, giver)
            if name is not None:
                yield Lying(name, one.kg, end + rest - self.begin, one.parent)

    def _name_in(self, store: str, coil: Coil, giver: str) -> str | None:
        """Return the lane's name of a coil in a store; None for one that does not go on from there."""
        if self.records.was_sold(giver, coil.coil):
            return None
        ways, drawn = self.model.routes, self.model.routes.drawn[store]
        product = self.records.product_of.get((giver, coil.coil), "")
        if not giver:
            product = self.records.product_of_coil.get(coil.coil, "")
        if product in ways.products and 1 + len(ways.patterns) + ways.products.index(product) in drawn:
            return product
        if coil.parent:
            return None
        if 0 in drawn:
            return ""
        pattern = self.records.pattern_of(coil)
        return pattern if pattern is not None and 1 + ways.patterns.index(pattern) in drawn else None

    def _levels(self) -> Told:
        """Return what lies in each store by the stock that was counted nearest, else as on a typical morning."""
        stock, told = self.records.log["stock"], Told()
        near = np.abs(stock["time"] - self.begin) <= NEAR_S
        for name, store in self.scenario.stores.items():
            if name in self.model.finished or store.capacity == 0:
                continue
            rows = np.flatnonzero(near & np.array([self._is_of(str(own), name) for own in stock["store"]], dtype=bool))
            if len(rows):
                at = np.abs(stock["time"][rows] - self.begin)
                amount = float(sum(stock["amount"][rows][at == at.min()]))
                told |= self._amount(name, amount)
            elif store.holds != "coils" or not self.records.coils:
                self.assumed.append(f"What lay in {name} is not in the log: as on a typical such morning.")
                if name in self.typical["stores"]:
                    told[name] = self.typical["stores"][name]
        return told

    def _is_of(self, counted: str, store: str) -> bool:
        """Tell whether a counted store is this one; stores between pairs of machines are counted one by one."""
        return counted == store or (counted.startswith(store + " ") and counted[len(store) + 1 :].isdigit())

    def _amount(self, name: str, amount: float) -> Told:
        holds = self.scenario.stores[name].holds
        if holds == "coils":
            return {name: round(amount)}
        if holds in ("metal", "strip"):
            capacity = self.scenario.stores[name].capacity
            return {name: f"{amount if capacity is None else min(amount, capacity)!r} kg"}
        if amount <= 0.0:
            return {}
        product = self._product_before(givers_of(self.scenario, name))
        return {name: {product: amount} if product else f"{amount!r} pieces"}

    def _product_before(self, stations: list[str]) -> str | None:
        """Return what was last made by some stations before the morning, or is first made by them after it."""
        rows = [one for one in self.records.made if one.station in stations and one.product]
        before = [one.product for one in rows if one.time <= self.begin]
        return before[-1] if before else next((one.product for one in rows), None)

    # Machines

    def _machines(self, name: str) -> Iterator[Told]:
        """Yield what each machine of a station is doing."""
        for number in range(1, self.scenario.stations[name].machines + 1):
            yield {"machine": number} | self._doing(name, number)

    def _doing(self, name: str, number: int) -> Told:
        kind = self.scenario.stations[name].kind
        if kind in ("supply", "furnace"):
            return {}
        told = {} if self._follows(name, number) else self._set_for(name, number)
        rows = self.records.stops_of.get((name, number), [])
        stop = next((own for own in rows if own.start < self.begin - AT_ONCE_S and own.end > self.begin), None)
        coil = self._in_hand(name, number)
        if stop is not None and stop.kind in ("down", "rolls", "setup"):
            return told | self._standing(name, stop, coil)
        if kind == "caster":
            return told | self._winding(name, number)
        out = self._held_out(name, number)
        if out is not None:
            return told | self._held(name, out)
        return told | (self._working(name, number, coil) if coil is not None else {})

    def _follows(self, name: str, number: int) -> bool:
        """Tell whether a machine is set with the one that cuts pieces for it from the ring in hand."""
        source = self.scenario.stations[name].source
        if source is None or self.scenario.stores[source].holds != "pieces":
            return False
        return any(self._in_hand(giver, number) for giver in givers_of(self.scenario, source))

    def _set_for(self, name: str, number: int) -> Told:
        """Return what a slitter, cutter or profiler was set for by what it last made."""
        kind = self.scenario.stations[name].kind
        if kind == "slitter":
            rows = [one for one in self.records.coils.get(name, []) if one.start < self.begin and not one.parent]
            rows = [one for one in rows if self._is_on(name, one, number)]
            pattern = self.records.pattern_of(rows[-1]) if rows else None
            return {"set_for": pattern} if pattern else {}
        if kind in ("cutter", "profiler"):
            coil = self._in_hand(name, number)
            if coil is not None and (product := self.records.product_of.get((name, coil.coil))):
                return {"set_for": product}
            rows_made = [one for one in self.records.made if one.station == name and one.machine == number]
            known = [
                one.product for one in rows_made if one.time <= self.begin and one.product in self.model.routes.products
            ]
            return {"set_for": known[-1]} if known else {}
        return {}

    def _is_on(self, name: str, coil: Coil, number: int) -> bool:
        return self.records.machines(name) == 1 or self.records.machine_of.get((name, coil.coil)) == number

    def _in_hand(self, name: str, number: int) -> Coil | None:
        """Return the coil that a machine had in hand at the morning."""
        rows = self.records.coils.get(name, [])
        held = [
            one
            for one in rows
            if one.start < self.begin - AT_ONCE_S and one.end > self.begin and self._is_on(name, one, number)
        ]
        mothers = [one for one in held if not one.parent]
        return next(iter(mothers or held), None)

    def _left(self, name: str, number: int, end: float, *, since: float | None = None) -> float:
        """Return the working time from the morning, or another time, to a time, without recorded stops. [s]"""
        start = self.begin if since is None else since
        worked = self.records.worked(name, start, end)
        return max(0.0, worked - self.records.standing(name, number, start, end))

    def _held(self, name: str, coil: Coil | None) -> Told:
        if coil is None:
            return {}
        lane = self._name_in(self.scenario.stations[name].source or "", coil, name) if coil else None
        pattern = self.records.pattern_of(coil) if not coil.parent else None
        product = self.records.product_of.get((name, coil.coil), "")
        takes = self.model.routes.takes[name]
        ways = self.model.routes
        for own, names, first in ((product, ways.products, 1 + len(ways.patterns)), (pattern, ways.patterns, 1)):
            if own in names and (first + names.index(own) in takes or name in ways.planners):
                return {"holds": own}
        return {"holds": lane} if lane else {}

    def _working(self, name: str, number: int, coil: Coil) -> Told:
        left = self._left_of(name, number, coil)
        return {"state": "running", "left": f"{left!r} s"} | self._held(name, coil)

    def _left_of(self, name: str, number: int, coil: Coil) -> float:
        """Return how long a machine still works on a coil [s]; where it winds one, at the speed for which it is made.

        What it winds comes as fast as its neighbours let it, so its share of the time is its share of the coil.
        """
        left = self._left(name, number, coil.end)
        wound, nominal = getattr(self.scenario.stations[name], "coil", None), self.model.tables[name].nominal
        if name not in self.model.flowing or wound is None or nominal <= 0.0:
            return left
        whole = self._left(name, number, coil.end, since=coil.start)
        return left / whole * wound.mass / nominal if whole > 0.0 else left

    def _winding(self, name: str, number: int) -> Told:
        """Return how long a caster still winds its coil, if it winds one."""
        rows = [
            one for one in self.records.coils.get(name, []) if one.end > self.begin and self._is_on(name, one, number)
        ]
        if not rows:
            return {"state": "running", "left": "1e9 s"}
        return {"state": "running", "left": f"{self._left_of(name, number, rows[0])!r} s"}

    def _standing(self, name: str, stop: Stop, coil: Coil | None) -> Told:
        left = f"{self.records.worked(name, self.begin, stop.end)!r} s"
        if stop.kind == "rolls":
            return {"state": "changing rolls", "left": left} | self._held(name, coil)
        if stop.kind == "down":
            known = {own.reason for own in self.scenario.stations[name].failures}
            if not known:
                return {}
            reason = {"reason": stop.reason} if stop.reason in known else {}
            return {"state": "down", "left": left} | reason | self._held(name, coil)
        station = self.scenario.stations[name]
        if station.kind == "slitter":
            after = [one for one in self.records.coils.get(name, []) if one.start >= self.begin and not one.parent]
            pattern = self.records.pattern_of(after[0]) if after else None
            return {"state": "setup", "left": left} | ({"set_for": pattern} if pattern else {})
        held = self._held(name, coil)
        if stop.reason == "tool change" and self.scenario.stores[station.source or ""].holds == "pieces":
            return {"state": "setup", "left": left}
        if stop.reason in ("coil change", "tool change"):
            return ({"state": "setup", "left": left, "set_for": None} | held) if held else {}
        return (
            {"state": "setup", "left": left}
            if stop.reason in ("restart", "service") and station.kind == "caster"
            else {}
        )


def givers_tell(records: Records, givers: list[str]) -> bool:
    """Tell whether the comings of a store are in the log at all, so that a coil without one came before the log."""
    return any(records.coils.get(name) for name in givers)
