"""The rows of a log as a review needs them: by station, with the patterns of mother coils found out."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from twin.line.model import Model
from twin.line.routes import sold_as, takers_of
from twin.logs.hours import Hours
from twin.logs.reasons import Class, class_of
from twin.logs.tables import Log, Table
from twin.study.review_plan import Behind, behind_after

ABSENT = frozenset({"nobody there", "late start", "closed"})
"""Reasons that tell of nobody at the machine although the calendar says so."""
ROLL_SET = "waiting for roll set"
SAME_GAUGE_MM = 0.02
LONG_ENOUGH_S = 300.0
AT_ONCE_S = 1.0  # what begins within this of a day's begin begins with it
LOOKED_BACK = 200  # coils by which it is found where the planner stands
SAME_S = 2.0  # rows that follow each other within this tell of one stop


@dataclass(frozen=True, slots=True)
class Stop:
    """A row of the stops; times in seconds since 1970 UTC."""

    station: str
    machine: int
    start: float
    end: float
    reason: str
    line: int
    inferred: bool
    kind: Class


@dataclass(frozen=True, slots=True)
class Coil:
    """A coil or ring at one station."""

    coil: str
    parent: str
    start: float
    end: float
    kg: float
    thickness_mm: float
    line: int


@dataclass(frozen=True, slots=True)
class Made:
    """A row of the output."""

    station: str
    machine: int
    time: float
    coil: str
    product: str
    kg: float
    line: int


@dataclass(frozen=True)
class Records:
    """A log that has been through the doctor, and the line that it is of.

    Attributes
    ----------
    log : The mended log.
    model : The line.
    hours : When each station works.
    """

    log: Log
    model: Model
    hours: dict[str, Hours]

    @cached_property
    def stops(self) -> tuple[Stop, ...]:
        """Return all stops that ended, by their starts."""
        own = self.log["stops"]
        rows = zip(*_columns(own, "station", "machine", "start", "end", "reason"), own.line, own.inferred, strict=True)
        known = self.model.scenario.stations
        made = [
            Stop(name, _number(machine), start, end, reason, int(line), bool(inferred), class_of(reason))
            for name, machine, start, end, reason, line, inferred in rows
            if name in known and np.isfinite(start) and np.isfinite(end) and end > start
        ]
        return tuple(sorted(made, key=lambda one: (one.start, one.station, one.machine)))

    @cached_property
    def coils(self) -> dict[str, list[Coil]]:
        """Return the coils of each station, by their starts; from the output where the coils were not written down."""
        own, found = self.log["coils"], defaultdict(list)
        names = ("station", "coil", "parent", "start", "end", "mass_kg", "thickness_mm")
        for name, coil, parent, start, end, kg, thick, line in zip(*_columns(own, *names), own.line, strict=True):
            found[name].append(Coil(coil, parent, start, end, kg, thick, int(line)))
        return {name: sorted(rows, key=lambda one: (one.start, one.end)) for name, rows in found.items()}

    @cached_property
    def made(self) -> tuple[Made, ...]:
        """Return the rows of the output, by time."""
        own = self.log["output"]
        names = ("station", "machine", "time", "coil", "product", "good_kg")
        rows = zip(*_columns(own, *names), own.line, strict=True)
        made = [
            Made(name, _number(machine), at, coil, product, kg, int(line))
            for name, machine, at, coil, product, kg, line in rows
            if np.isfinite(at)
        ]
        return tuple(sorted(made, key=lambda one: one.time))

    @cached_property
    def good(self) -> tuple[Made, ...]:
        """Return the rows that tell of good product: what nobody takes any further."""
        return tuple(
            one for one in self.made if self.is_good(one.station, one.product) or self.was_sold(one.station, one.coil)
        )

    def is_good(self, station: str, product: str) -> bool:
        """Tell whether what a station makes leaves the line."""
        own = self.model.scenario.stations.get(station)
        if own is None or own.kind in ("supply", "furnace"):
            return False
        if own.to is None or own.to in self.model.finished:
            return True
        if self.model.scenario.stores[own.to].holds != "coils":
            return False
        ways = self.model.routes
        if product in ways.products:
            return 1 + len(ways.patterns) + ways.products.index(product) not in ways.drawn[own.to]
        return False

    def was_sold(self, station: str, ring: str) -> bool:
        """Tell whether a ring left the line as it came from the slitter, as buyers of rings get them.

        Then its coil is not slit into such a product; where it is sold under its own, later rings were taken before it.
        """
        own = self.visit_of.get((station, ring))
        mother = self.visit_of.get((station, own.parent)) if own is not None and own.parent else None
        pattern = self.model.scenario.patterns.get(self.pattern_of(mother) or "") if mother is not None else None
        if own is None or pattern is None or pattern.sold_as_coil <= 0.0:
            return False
        product = self.product_of.get((station, ring), "")
        if product not in pattern.rings:
            return True
        alike = sold_as(self.model.scenario.products, product) == product
        return alike and ring not in self._taken and own.end < self._passed.get((station, product), 0.0)

    @cached_property
    def _taken(self) -> frozenset[str]:
        """Return the rings that some station took after they were slit."""
        stations = self.model.scenario.stations
        rows = (rows for name, rows in self.coils.items() if name in stations and stations[name].kind != "slitter")
        return frozenset(one.coil for own in rows for one in own)

    @cached_property
    def _passed(self) -> dict[tuple[str, str], float]:
        """Return until when all rings of each (slitter, product) are taken, but for one in hand at each machine."""
        scenario, ends = self.model.scenario, defaultdict[tuple[str, str], list[float]](list)
        slitters = {name for name, own in scenario.stations.items() if own.kind == "slitter"}
        for (name, ring), one in self.visit_of.items():
            if name in slitters and one.parent and ring in self._taken:
                ends[name, self.product_of.get((name, ring), "")].append(one.end)
        found = {}
        for (name, product), own in ends.items():
            machines = sum(self.machines(taker) for taker in takers_of(scenario, scenario.stations[name].to))
            if len(own) > machines:
                found[name, product] = sorted(own)[-1 - machines]
        return found

    @cached_property
    def visit_of(self) -> dict[tuple[str, str], Coil]:
        """Return when each (station, coil) was worked."""
        return {(name, one.coil): one for name, rows in self.coils.items() for one in rows}

    @cached_property
    def machine_of(self) -> dict[tuple[str, str], int]:
        """Return the machine of each (station, coil); of a coil that was slit, by its rings."""
        found = {(one.station, one.coil): one.machine for one in self.made if one.coil}
        for name, rows in self.coils.items():
            for one in rows:
                if one.parent and (name, one.coil) in found:
                    found.setdefault((name, one.parent), found[name, one.coil])
        return found

    @cached_property
    def product_of(self) -> dict[tuple[str, str], str]:
        """Return the product of each (station, coil)."""
        return {(one.station, one.coil): one.product for one in self.made if one.coil}

    @cached_property
    def product_of_coil(self) -> dict[str, str]:
        """Return what each coil or ring was made of first, whichever station told of it."""
        found: dict[str, str] = {}
        for (_, coil), product in self.product_of.items():
            found.setdefault(coil, product)
        return found

    @cached_property
    def _children(self) -> dict[str, Counter[str]]:
        found: dict[str, Counter[str]] = defaultdict(Counter)
        stations = self.model.scenario.stations
        for name in (name for name in self.coils if name in stations and stations[name].kind == "slitter"):
            for one in self.coils[name]:
                if one.parent and (name, one.coil) in self.product_of:
                    found[one.parent][self.product_of[name, one.coil]] += 1
        return found

    def pattern_of(self, coil: Coil) -> str | None:
        """Return the pattern of a mother coil: by its rings, by what it was cut to, else by gauge and shares."""
        if coil.coil not in self._patterns:
            self._patterns[coil.coil] = self._by_rings(coil) or self._by_gauge(coil)
        return self._patterns[coil.coil]

    @cached_property
    def planned(self) -> tuple[Coil, ...]:
        """Return the mother coils that were planned, in the order of planning."""
        rows = (one for name in self.model.routes.planners for one in self.coils.get(name, []) if not one.parent)
        return tuple(sorted(rows, key=_start))

    @cached_property
    def _patterns(self) -> dict[str, str | None]:
        """Return the patterns of all coils that were planned; those not slit yet by the planner's rule."""
        if not self.by_shares:
            return {one.coil: self._by_rings(one) or self._by_gauge(one) for one in self.planned}
        names = self.model.routes.patterns
        found: dict[str, str | None] = {one.coil: self._by_rings(one) for one in self.planned}
        held = any(one.hold_above for one in self.model.scenario.patterns.values())
        last = self.planned if held else self.planned[-LOOKED_BACK:]
        if any(found[one.coil] is None for one in last):
            chosen = self.behind_at(last, fit=not held).chosen  # what was held back in a long log evens out
            found |= {one.coil: names[place] for one, place in zip(last, chosen, strict=True)}
        return {one.coil: found[one.coil] or self._by_gauge(one) for one in self.planned}

    @property
    def by_shares(self) -> bool:
        """Return whether the planner keeps shares, not to a list."""
        own = self.model.scenario
        return own.plan is None and not any(one.count for one in own.patterns.values())

    def behind_at(self, coils: Sequence[Coil], *, fit: bool = True) -> Behind:
        """Return where a planner who keeps shares stands after some coils, and which patterns they were for."""
        known, names = self.model.scenario.patterns, self.model.routes.patterns
        shares = [known[name].share or 0.0 for name in names]
        shares = shares if any(shares) else [1.0 / len(names)] * len(names)
        told = [[names.index(name)] if (name := self._by_rings(one)) else self._may_be_for(one) for one in coils]
        return behind_after(
            shares, told, [place for place, name in enumerate(names) if known[name].hold_above], fit=fit
        )

    def _may_be_for(self, coil: Coil) -> list[int]:
        """Return the patterns that a coil may be for, which nobody has slit yet."""
        return [self.model.routes.patterns.index(name) for name in self._of_gauge(coil)]

    def _by_rings(self, coil: Coil) -> str | None:
        rings = self._children.get(coil.coil) or Counter([self._cut_to[coil.coil]] if coil.coil in self._cut_to else [])
        return next((name for name in self.model.routes.patterns if rings and self._may_be(name, rings)), None)

    def _by_gauge(self, coil: Coil) -> str | None:
        """Return the pattern of a gauge that has the largest share."""
        known = self.model.scenario.patterns
        return max(self._of_gauge(coil), key=lambda name: known[name].share or 0.0, default=None)

    def _of_gauge(self, coil: Coil) -> list[str]:
        """Return the patterns of a coil's gauge, but those whose takers stood without any although it was ready."""
        known = self.model.scenario.patterns
        fits = [
            name
            for name in self.model.routes.patterns
            if (thick := known[name].thickness) and abs(thick * 1e3 - coil.thickness_mm) < SAME_GAUGE_MM
        ]
        return [name for name in fits if not self._was_missed(name, coil)] or fits

    def _was_missed(self, pattern: str, coil: Coil) -> bool:
        """Tell whether somebody who takes coils of a pattern stood without any although this one was ready."""
        scenario, ways = self.model.scenario, self.model.routes
        lane = 1 + ways.patterns.index(pattern)
        maker = next((name for name in ways.planners if self.visit_of.get((name, coil.coil)) == coil), "")
        for store in {scenario.stations[name].to for name in ways.planners} - {None}:
            ready = self.came(maker, coil) + scenario.stores[store or ""].rest + LONG_ENOUGH_S
            takers = [name for name in takers_of(scenario, store) if lane in ways.takes[name]]
            if any(self._last_starved.get(name, 0.0) > ready for name in takers):
                return True
        return False

    @cached_property
    def _last_starved(self) -> dict[str, float]:
        """Return when each station last stood for want of material."""
        found: dict[str, float] = {}
        for one in self.stops:
            if one.kind == "starved":
                found[one.station] = max(found.get(one.station, 0.0), one.end)
        return found

    def _may_be(self, pattern: str, rings: Counter[str]) -> bool:
        """Tell whether a coil of a pattern may have become these rings, of which some were sold as they are."""
        own = self.model.scenario.patterns[pattern]
        if own.sold_as_coil <= 0.0:
            return rings == Counter(own.rings)
        sold = {name: sold_as(self.model.scenario.products, name) for name in own.rings}
        known = set(sold) | set(sold.values())
        as_sold = sum((Counter({sold.get(name, name): count}) for name, count in rings.items()), Counter[str]())
        wanted = sum((Counter({sold[name]: count}) for name, count in own.rings.items()), Counter[str]())
        return set(rings) <= known and as_sold == wanted

    @cached_property
    def _cut_to(self) -> dict[str, str]:
        stations, products = self.model.scenario.stations, self.model.routes.products
        return {
            coil: product
            for (name, coil), product in self.product_of.items()
            if name in stations and stations[name].kind in ("cutter", "profiler", "step") and product in products
        }

    def worked(self, station: str, start: float, end: float) -> float:
        """Return the working seconds of a station between two times."""
        hours = self.hours.get(station)
        return float(hours.between(np.array(start), np.array(end))) if hours is not None else end - start

    def standing(self, station: str, machine: int, start: float, end: float) -> float:
        """Return the working seconds between two times that are told of as stops of a machine."""
        rows = self.stops_of.get((station, machine), ())
        spans = [(max(one.start, start), min(one.end, end)) for one in rows if one.start < end and one.end > start]
        return sum(self.worked(station, a, b) for a, b in united(spans))

    @cached_property
    def stops_of(self) -> dict[tuple[str, int], list[Stop]]:
        """Return the stops of each machine."""
        found: dict[tuple[str, int], list[Stop]] = defaultdict(list)
        for one in self.stops:
            found[one.station, one.machine].append(one)
        return found

    def came(self, station: str, coil: Coil) -> float:
        """Return when a coil came out of a machine: behind the last stop for want of room before the next was begun.

        A stop that ends as the machine closes tells of no room yet: there was some when the next coil was begun.
        """
        rows = self.stops_of.get((station, self.machine_of.get((station, coil.coil), 1)), ())
        until = min(self._next_begun.get((station, own), float("inf")) for own in (coil.coil, coil.parent))
        if station in self.model.flowing:
            until = min(until, coil.end + 2.0 * SAME_S)
        waits = (one.end for one in rows if one.kind == "blocked" and coil.end - SAME_S <= one.start < until)
        came = max(waits, default=coil.end)
        hours = self.hours.get(station)
        closes = came > coil.end and hours is not None and not bool(hours.is_open(np.array(came + AT_ONCE_S)))
        return until if closes and until < float("inf") else came

    @cached_property
    def _next_begun(self) -> dict[tuple[str, str], float]:
        """Return when a machine began its next coil behind each (station, coil)."""
        found, stations = dict[tuple[str, str], float](), self.model.scenario.stations
        for name, rows in self.coils.items():
            last: dict[int, str] = {}
            slits = name in stations and stations[name].kind == "slitter"
            for one in (own for own in rows if not (slits and own.parent)):
                number = self.machine_of.get((name, one.coil), 1)
                if number in last:
                    found[name, last[number]] = one.start
                last[number] = one.coil
        return found

    def machines(self, station: str) -> int:
        """Return how many machines a station has."""
        return self.model.scenario.stations[station].machines


def united(spans: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return spans without overlaps, rising."""
    found: list[tuple[float, float]] = []
    for start, end in sorted(spans):
        if found and start <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], end)
        else:
            found.append((start, end))
    return found


def chains(rows: Sequence[Stop], kinds: Iterable[str]) -> list[list[Stop]]:
    """Return rows of some reasons put together where they follow each other at once."""
    wanted, found = frozenset(kinds), list[list[Stop]]()
    for one in rows:
        if one.reason not in wanted:
            continue
        if found and one.start - found[-1][-1].end <= SAME_S and one.machine == found[-1][-1].machine:
            found[-1].append(one)
        else:
            found.append([one])
    return found


def _start(coil: Coil) -> float:
    return coil.start


def _columns(own: Table, *names: str) -> list[list[Any]]:
    return [own[name].tolist() for name in names]


def _number(machine: float) -> int:
    return 1 if machine != machine else int(machine)
