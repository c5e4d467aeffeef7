"""What a plant's log holds of each number of its line: times between failures by what ran, and how long things took.

What passes between two failures is counted in what wears the machine: time in which it ran (its open hours less all
its recorded stops, what was not recorded, and the time in which a crane lifted coils in and out), or the metres,
kilograms or pieces that went through it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from twin.logs.doctor import Examined
from twin.logs.hours import Hours, hours_of
from twin.logs.reasons import ROLL_CHANGE, ROLL_DAMAGE
from twin.logs.tables import Table
from twin.logs.write import STILL
from twin.scenario.laws import Law
from twin.scenario.models import Caster, Cutter, Furnace, Mill, Profiler, Slitter
from twin.study.fitresult import Sample, What

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.scenario.models import Station
    from twin.scenario.rolling import MillPass
    from twin.scenario.station import Failure

FloatArray = NDArray[np.float64]
MOST_HANDLED = 0.9
"""No station lifts for more of its running time, whatever a log says."""


@dataclass(frozen=True)
class Asked:
    """One number of the scenario that a log may tell of.

    Attributes
    ----------
    reason : In the log's stops. calendar : Whose hours count.
    within : Reason of another stop that this one holds too: a change of width or tools is done with a coil change.
    """

    station: str
    reason: str
    what: What
    path: str
    law: Law
    calendar: str | None
    within: str = ""


@dataclass(frozen=True)
class Stops:
    """The stops of one machine for one reason, or all of them, by their starts. [s since 1970 UTC]"""

    start: FloatArray
    end: FloatArray
    still: NDArray[np.bool_]
    inferred: NDArray[np.bool_]


def asked(scenario: Scenario) -> list[Asked]:
    """Return every number of a scenario that a log of stops and rolls can tell of."""
    return [one for name, station in scenario.stations.items() for one in _asked_of(name, station)]


def _asked_of(name: str, own: Station) -> Iterator[Asked]:
    path = f"stations.{name}"
    for failure in own.failures:
        here = f"{path}.failures.{failure.reason}"
        yield Asked(name, failure.reason, "every", f"{here}.every", failure.every, own.calendar)
        hours = failure.calendar or own.calendar
        yield Asked(name, failure.reason, "repair", f"{here}.repair", failure.repair, hours)
    for reason, what, key, law in _activities(own):
        if law.average > 0.0:
            within = "coil change" if reason == "tool change" else ""
            yield Asked(name, reason, what, f"{path}.{key}", law, own.calendar, within)


def _activities(own: Station) -> Iterator[tuple[str, What, str, Law]]:
    """Yield reason, what it is, path within the station and law of all that takes a machine's time by plan."""
    if isinstance(own, Furnace) and own.skimming is not None:
        yield "skimming", "setup", "skimming.takes", own.skimming.takes
    if isinstance(own, Caster):
        yield "restart", "setup", "restart.takes", own.restart.takes
        if own.service is not None:
            yield "service", "setup", "service.takes", own.service.takes
    if isinstance(own, Slitter):
        yield "pattern", "setup", "setup.time", own.setup.time
        if own.knives is not None:
            yield "knives", "setup", "knives.takes", own.knives.takes
    if isinstance(own, Cutter):
        yield "coil change", "setup", "coil_change.time", own.coil_change.time
        yield "tool change", "setup", "width_change.time", own.width_change.time
    if isinstance(own, Profiler):
        yield "coil change", "setup", "coil_change.time", own.coil_change.time
        yield "tool change", "setup", "tool_change.time", own.tool_change.time
    if isinstance(own, Mill) and own.rolls is not None:
        yield ROLL_CHANGE, "change", "rolls.change", own.rolls.change
        yield ROLL_DAMAGE, "change", "rolls.damaged_change", own.rolls.damaged_change
        if own.rolls.damage is not None:
            yield "damage", "life", "rolls.damage", own.rolls.damage


@dataclass(frozen=True)
class Records:
    """An examined log beside its scenario, asked for samples."""

    scenario: Scenario
    examined: Examined

    @cached_property
    def span(self) -> tuple[float, float]:
        """Return the first and last time of the log. [s since 1970 UTC]"""
        return self.examined.log.span

    def machines(self, station: str) -> range:
        """Return the numbers of a station's machines."""
        return range(1, self.scenario.stations[station].machines + 1)

    def hours(self, calendar: str | None) -> Hours:
        """Return the open spells of a calendar within the log."""
        found = self._hours_of(calendar or "always")
        begin, end = self.span
        starts, ends = np.maximum(found.starts, begin), np.minimum(found.ends, end)
        keep = ends > starts
        return Hours(starts[keep], ends[keep]) if keep.any() else Hours(np.array([begin]), np.array([begin]))

    @cached_property
    def _calendars(self) -> dict[str, Hours]:
        return {}

    def _hours_of(self, calendar: str) -> Hours:
        if calendar not in self._calendars:
            self._calendars[calendar] = hours_of(self.scenario, calendar, self.span[1])
        return self._calendars[calendar]

    def stops(self, station: str, machine: int, reason: str | None = None) -> Stops:
        """Return the stops of a machine, all or those for one reason, that have a start and an end."""
        own = self.examined.log["stops"]
        number = np.where(np.isfinite(own["machine"]), own["machine"], 1.0)
        keep = (own["station"] == station) & (number == machine)
        keep &= (own["end"] > own["start"]) | ((own["end"] == own["start"]) & (self.step(station) > 0.0))
        if reason is not None:
            keep &= own["reason"] == reason
        rows = np.flatnonzero(keep)
        rows = rows[np.argsort(own["start"][rows], kind="stable")]
        note, inferred = own["note"][rows] == STILL, own.inferred[rows]
        return Stops(own["start"][rows], own["end"][rows], note, inferred)

    def step(self, station: str) -> float:
        """Return to what the times of a station's stops were rounded, 0 where they were not. [s]

        A stop may then end at the mark at which it begins, and lasted all the same.
        """
        steps = (one.value for one in self.examined.findings if one.kind == "rounding" and one.station == station)
        return max((float(value) for value in steps if value is not None), default=0.0)

    def running(self, station: str, machine: int) -> Hours:
        """Return when a machine ran: its open hours without its stops and without what nobody recorded."""
        every = self.stops(station, machine)
        gaps = [
            span for one in self.examined.findings if one.kind == "gap" and one.station == station for span in one.spans
        ]
        starts = np.concatenate([every.start, [start for start, _ in gaps]])
        ends = np.concatenate([every.end, [end for _, end in gaps]])
        return without(self.hours(self.scenario.stations[station].calendar), starts, ends)

    def duration(self, ask: Asked) -> Sample:
        """Return how long something took, in the hours in which it goes on."""
        hours, step = self.hours(ask.calendar), self.step(ask.station)
        ended, cut, at, inferred = [], [], [], 0
        for machine in self.machines(ask.station):
            own = self.stops(ask.station, machine, ask.reason)
            took = hours.between(own.start, own.end) - self._within(ask, machine)
            whole = ~own.still & ~own.inferred & ((took > 0.0) | (own.end - own.start < step))
            ended.append(took[whole])
            at.append(own.end[whole])
            cut.append(took[own.still & (took > 0.0)])
            inferred += int((own.inferred & ~own.still).sum())
        values, when, rest = np.concatenate(ended), np.concatenate(at), np.concatenate(cut)
        order = np.argsort(when, kind="stable")
        return Sample(values[order], rest, when[order], float(values.sum() + rest.sum()), inferred, step)

    def _within(self, ask: Asked, machine: int) -> float:
        """Return how long the other stop takes that this one holds; the middle of those that stand alone. [s]

        Of rounded ones the mean is taken: it is right though none of them is.
        """
        if not ask.within:
            return 0.0
        own = self.stops(ask.station, machine, ask.within)
        middle = np.mean if self.step(ask.station) > 0.0 else np.median
        return float(middle(self.hours(ask.calendar).between(own.start, own.end))) if len(own.start) else 0.0

    def between(self, ask: Asked, failure: Failure) -> Sample:
        """Return what passed between failures of one reason; the time before a machine's first counts as passed."""
        ended, cut, at, exposure, inferred = [], [], [], 0.0, 0
        for machine in self.machines(ask.station):
            own = self.stops(ask.station, machine, ask.reason)
            ages = self._passed(ask, failure, machine)
            passed = ages(np.concatenate([own.start, own.end, [self.span[1]]]))
            starts, ends, last = passed[: len(own.start)], passed[len(own.start) : -1], float(passed[-1])
            exposure += last
            if len(starts):
                ended.append(starts[1:] - ends[:-1])
                at.append(own.start[1:])
                cut.append(np.array([last - ends[-1]]))
            inferred += int(own.inferred.sum())
        values, when = (np.concatenate(one) if one else np.zeros(0) for one in (ended, at))
        order = np.argsort(when, kind="stable")
        rest = np.concatenate(cut) if cut else np.zeros(0)
        keep = values[order] > 0.0
        step = self.step(ask.station) if ask.law.dimension == "time" else 0.0
        return Sample(values[order][keep], rest[rest > 0.0], when[order][keep], exposure, inferred, step)

    def passed(self, station: str, reason: str) -> list[Ages]:
        """Return for each machine what had passed of all that brings failures of one reason, by a time."""
        asks = ((one, own) for one in asked(self.scenario) for own in self.scenario.stations[station].failures)
        ask, failure = next(
            (one, own)
            for one, own in asks
            if (one.station, one.reason, one.what) == (station, reason, "every") and own.reason == reason
        )
        return [self._passed(ask, failure, machine) for machine in self.machines(station)]

    def failures(self, station: str, reason: str) -> int:
        """Return how many stops of one reason began within the log."""
        return sum(len(self.stops(station, machine, reason).start) for machine in self.machines(station))

    def _passed(self, ask: Asked, failure: Failure, machine: int) -> Ages:
        if failure.counts == "clock":
            own = self.scenario.stations[ask.station].calendar
            # what is mended while the machine is closed is in nobody's log
            return Ages(self.hours(None if failure.calendar in (None, own) else own))
        running = self.running(ask.station, machine)
        if ask.law.dimension == "time":
            return Ages(running, share=1.0 - self.handled(ask.station))
        times, amounts = self._through(ask.station, machine, ask.law.dimension)
        return Ages(running, running.worked(times), np.cumsum(amounts))

    def handled(self, station: str) -> float:
        """Return the share of a station's running time in which its crane or crew lifts and nothing wears. [1]

        No log of stops tells lifts from running: they are as many as coils were begun, each as long as the scenario
        says on the average.
        """
        lift = _lift(self.scenario.stations[station])
        if lift <= 0.0:
            return 0.0
        ran = sum(float((one.ends - one.starts).sum()) for one in self._ran(station))
        return min(self._coils(station) * lift / ran, MOST_HANDLED) if ran > 0.0 else 0.0

    def _ran(self, station: str) -> list[Hours]:
        return [self.running(station, machine) for machine in self.machines(station)]

    def _coils(self, station: str) -> int:
        """Return how many coils a station worked: rings of one coil were begun, or given, at the same moment."""
        for table, column in (("coils", "start"), ("output", "time")):
            own = self.examined.log[table]
            times = own[column][own["station"] == station]
            if np.isfinite(times).any():
                return len(np.unique(times[np.isfinite(times)]))
        return 0

    def _through(self, station: str, machine: int, dimension: str) -> tuple[FloatArray, FloatArray]:
        """Return when a machine finished something and how much that was: metres, kilograms or pieces.

        Rings that are given at one moment were one coil, which ran through once; what is no piece counts by coils.
        """
        own = self.examined.log["output"]
        number = np.where(np.isfinite(own["machine"]), own["machine"], 1.0)
        rows = np.flatnonzero((own["station"] == station) & (number == machine) & np.isfinite(own["time"]))
        rows = rows[np.argsort(own["time"][rows], kind="stable")]
        times, mass = own["time"][rows], np.nan_to_num(own["good_kg"][rows]) + np.nan_to_num(own["scrap_kg"][rows])
        if dimension == "mass":
            return times, mass
        _, place, count = np.unique(times, return_inverse=True, return_counts=True)
        coils = 1.0 / count[place]
        if dimension == "pieces":
            cuts = isinstance(self.scenario.stations[station], Cutter | Profiler)
            return times, self._pieces(own.take(rows), mass) if cuts else coils
        lengths = self._lengths(station)
        return times, coils * np.array([lengths.get(str(coil), 0.0) for coil in own["coil"][rows].tolist()])

    def _pieces(self, own: Table, mass: FloatArray) -> FloatArray:
        """Return how many pieces were cut, those that became scrap too; by mass where nobody counted them."""
        each = np.array([self._piece_kg(name) for name in own["product"].tolist()])
        good = np.nan_to_num(own["good_kg"])
        counted = own["pieces"] * np.where(good > 0.0, mass / np.where(good > 0.0, good, 1.0), 1.0)
        weighed = np.where(each > 0.0, mass / np.where(each > 0.0, each, 1.0), 0.0)
        return np.asarray(np.where(np.isfinite(counted), counted, weighed))

    def _piece_kg(self, product: str) -> float:
        """Return what a piece of a product weighs, 0 if it is not made in pieces. [kg]"""
        own = self.scenario.products.get(product)
        if own is None or own.length is None or own.girth is None:
            return 0.0
        return float(own.thickness * own.girth * own.length * self._density)

    @cached_property
    def _density(self) -> float:
        from twin.materials import material, own_material

        metal = self.scenario.metal
        return (material(metal) if isinstance(metal, str) else own_material(metal.values(), like=metal.like)).density

    def _lengths(self, station: str) -> dict[str, float]:
        own = self.examined.log["coils"]
        rows = own["station"] == station
        metres = np.nan_to_num(own["length_m"][rows])
        mill = self.scenario.stations[station]
        if isinstance(mill, Mill) and mill.passes is not None:
            metres = metres * _bites(mill.passes, np.nan_to_num(own["thickness_mm"][rows]) / 1000.0)
        return dict(zip(own["coil"][rows].tolist(), metres.tolist(), strict=True))

    def lives(self, ask: Asked) -> Sample:
        """Return what each roll set had rolled when it came off, in what the scenario counts: [m] or [kg].

        Damage ends a life; other sets came off undamaged. The log of rolls tells metres; where lives count by mass,
        each metre weighs what one weighs on the average of the coils that went through.
        """
        station = ask.station
        own = self.examined.log["rolls"]
        rows = np.flatnonzero((own["station"] == station) & (own["km"] > 0.0) & np.isfinite(own["off"]))
        rows = rows[np.argsort(own["off"][rows], kind="stable")]
        rolled = own["km"][rows] * 1000.0 * (self._kg_per_metre(station) if ask.law.dimension == "mass" else 1.0)
        damaged = own["why"][rows] == "damage"
        when = own["off"][rows][damaged]
        ended, cut = rolled[damaged], rolled[~damaged]
        return Sample(ended[ended > 0.0], cut[cut > 0.0], when[ended > 0.0], float(rolled.sum()))

    def _kg_per_metre(self, station: str) -> float:
        """Return what a metre of strip through the bite weighs, over all coils; 0 where the log has none. [kg/m]"""
        mass, metres = (
            sum(float(self._through(station, machine, what)[1].sum()) for machine in self.machines(station))
            for what in ("mass", "length")
        )
        return mass / metres if metres > 0.0 else 0.0


@dataclass(frozen=True)
class Ages:
    """What has passed through a machine by a time: running time, or amounts laid over it."""

    running: Hours
    ran: FloatArray | None = None
    amounts: FloatArray | None = None
    share: float = 1.0

    def __call__(self, times: FloatArray) -> FloatArray:
        """Return what had passed by each time."""
        ran = self.running.worked(times) * self.share
        if self.ran is None or self.amounts is None:
            return ran
        return np.asarray(np.interp(ran, np.concatenate([[0.0], self.ran]), np.concatenate([[0.0], self.amounts])))


def _bites(passes: Mapping[float, Sequence[MillPass]], thickness: FloatArray) -> FloatArray:
    """Return how much strip goes through the bite of the rolls in all passes, as a multiple of what comes off. [1]"""
    gauges = np.array(list(passes))
    each = np.array([sum(gauge / one.thickness for one in own) for gauge, own in passes.items()])
    return np.asarray(each[np.abs(thickness[:, None] - gauges).argmin(axis=1)])


def _lift(own: Station) -> float:
    """Return how long a shared crane or crew lifts for each coil while the machine waits with it. [s]

    Lifts that nobody shared is asked for are part of a coil's own time, in which the machine wears.
    """
    handling = own.handling
    if handling is None or handling.needs is None:
        return 0.0
    moves = handling.crane_in.average
    if moves > 0.0 or handling.crane_out_per_ring.average > 0.0:
        return moves
    return handling.load.average + handling.unload.average


def without(hours: Hours, starts: FloatArray, ends: FloatArray) -> Hours:
    """Return open spells with other spells cut out of them; those may overlap."""
    order = np.argsort(starts, kind="stable")
    starts, ends = starts[order], np.maximum.accumulate(ends[order]) if len(ends) else ends
    edges = np.unique(np.concatenate([hours.starts, hours.ends, starts, ends]))
    middle = (edges[1:] + edges[:-1]) / 2.0
    place = np.searchsorted(starts, middle, side="right") - 1
    stopped = (place >= 0) & (middle < ends[place.clip(min=0)]) if len(ends) else np.zeros(len(middle), dtype=bool)
    keep = hours.is_open(middle) & ~stopped
    if not keep.any():
        first = hours.starts[:1] if len(hours.starts) else np.zeros(1)
        return Hours(first, first)
    return Hours(edges[:-1][keep], edges[1:][keep])
