"""What the coils of a day say beside its stops: how fast they were worked, what was lost, what nobody wrote down."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt
from statistics import median
from typing import TYPE_CHECKING, Protocol

import numpy as np

from twin.line.model import Model
from twin.line.streams import scale
from twin.line.tables import has_crane_moves
from twin.scenario.laws import Constant, Law
from twin.scenario.models import Cutter, Mill, Profiler, Slitter
from twin.study.review_answer import DayEvent
from twin.study.review_records import AT_ONCE_S, SAME_S, Coil, Records

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.study.review_day import Day

LEAST_COILS = 3
SELDOM = 0.999  # a coil that takes longer than all but one in a thousand stood somewhere
OFF_PACE = 0.02  # a speed that is off its standard by less is the standard
OFF_YIELD = 0.003
LEAST_S = 60.0  # what a coil took beyond this is time that nobody wrote down


class Case(Protocol):
    """A line with its records, such as a day of it."""

    @property
    def plant(self) -> Scenario:
        """Return the line as its file has it."""

    @property
    def model(self) -> Model:
        """Return its plain numbers."""

    @property
    def records(self) -> Records:
        """Return the rows of its log."""


@dataclass(frozen=True, slots=True)
class Pace:
    """One station's coils of the day.

    Attributes
    ----------
    coils : How many were told of.
    speed : Share of the standard speed, 1 where it cannot be told.
    loss : Share of mass lost beyond the standard, 0 where it cannot be told.
    unrecorded, recorded : How often it stood, at a coil or between two, without a record and with one.
    unrecorded_s : Working time for which there is no record. [s]
    off : Of standstills with a record, by what share it is longer than the coils say.
    """

    station: str
    coils: int
    speed: float
    loss: float
    unrecorded: int
    recorded: int
    unrecorded_s: float
    off: tuple[float, ...]


def paces(day: Day) -> tuple[Pace, ...]:
    """Return what can be told of each station of which coils were written down."""
    return tuple(_pace(day, name) for name in day.plant.stations if _told(day, name))


def _told(day: Day, name: str) -> bool:
    kind = day.plant.stations[name].kind
    return kind not in ("supply", "furnace", "caster") and bool(day.records.coils.get(name))


def missing_share(found: tuple[Pace, ...]) -> float:
    """Return the share of the standstills that nobody wrote down."""
    lost, told = sum(one.unrecorded for one in found), sum(one.recorded for one in found)
    return lost / (lost + told) if lost + told else 0.0


def _pace(day: Day, name: str) -> Pace:
    whole = [one for one in _coils(day, name) if one.start >= day.begin and one.end <= day.end]
    ran = [(one, _ran(day, name, one), standard_s(day, name, one)) for one in whole]
    timed = [(one, took, wanted) for one, took, wanted in ran if took > 0.0 and wanted > 0.0]
    drawn = drawn_times(day, name)
    speed = median(wanted / took for _, took, wanted in timed) if len(timed) >= LEAST_COILS and not drawn else 1.0
    slack = sum(quantile(law, SELDOM) - law.average for _, law in drawn)
    over = [(took - wanted / min(speed, 1.0) - slack, _stood(day, name, one)) for one, took, wanted in timed]
    own = range(1, day.plant.stations[name].machines + 1)
    over += [gap for number in own for gap in _gaps(day, name, number)]
    return Pace(
        name,
        len(whole),
        speed,
        _loss(day, name, whole),
        sum(missing > max(LEAST_S, told) for missing, told in over),
        sum(told > LEAST_S and missing <= told for missing, told in over),
        sum(missing for missing, told in over if missing > max(LEAST_S, told)),
        tuple(-missing / (told + missing) for missing, told in over if min(told, told + missing) > 5.0 * LEAST_S),
    )


def noise_of(found: tuple[Pace, ...]) -> float:
    """Return by what share recorded durations are off, as their standard deviation; 0 where too few can be told."""
    off = [min(abs(own), 1.0) for one in found for own in one.off]
    return sqrt(sum(own * own for own in off) / len(off)) if len(off) >= LEAST_COILS else 0.0


def drawn_times(day: Case, name: str) -> list[tuple[str, Law]]:
    """Return the times that the line draws for each coil of a station: what a coil took is then no speed."""
    return [(what, law) for what, law, _ in day.model.tables[name].drawn if not isinstance(law, Constant)]


def recorded_times(day: Day, name: str) -> dict[str, tuple[float, ...]]:
    """Return the numbers that a station would have drawn to work its coils of the day as it did, by their streams.

    Only where one time is drawn and the station has one machine: else a coil does not tell which was how long.
    """
    drawn = drawn_times(day, name)
    if len(drawn) != 1 or day.plant.stations[name].machines != 1:
        return {}
    what, law = drawn[0]
    coils = [one for one in _coils(day, name) if day.begin - AT_ONCE_S <= one.start < day.end]
    took = [_ran(day, name, one) - standard_s(day, name, one) + law.average for one in coils]
    return {f"{name}/1/{what}": tuple(max(0.0, own) for own in took)}


def quantile(law: Law, share: float) -> float:
    """Return the value below which a share of all draws lies."""
    return float(scale(law, np.array([share]))[0])


def _stood(day: Day, name: str, coil: Coil) -> float:
    return day.records.standing(name, _machine(day, name, coil), coil.start, coil.end)


def _coils(day: Day, name: str) -> list[Coil]:
    """Return the coils that a station worked; of a slitter the mother coils."""
    rows = day.records.coils.get(name, [])
    return [one for one in rows if not one.parent] if day.plant.stations[name].kind == "slitter" else rows


def _machine(day: Case, name: str, coil: Coil) -> int:
    return day.records.machine_of.get((name, coil.coil), 1)


def _ran(day: Day, name: str, coil: Coil) -> float:
    """Return the working time of a coil without recorded stops. [s]"""
    return day.records.worked(name, coil.start, coil.end) - _stood(day, name, coil)


def standard_s(day: Case, name: str, coil: Coil) -> float:
    """Return how long a coil should run; 0 where neighbours set the pace or its pattern is not known. [s]"""
    station, ways, own = day.plant.stations[name], day.model.routes, day.model.tables[name]
    if name in day.model.flowing:
        return _ring_s(day, name, coil)
    pattern = day.records.pattern_of(coil)
    product = day.records.product_of.get((name, coil.coil), "")
    if pattern is not None and 1 + ways.patterns.index(pattern) in (*ways.takes[name], *ways.gives[name]):
        lane = 1 + ways.patterns.index(pattern)
    elif product in ways.products:
        lane = 1 + len(ways.patterns) + ways.products.index(product)
    else:
        lane = 0
    slower, scrap = _on_new_rolls(day, name, coil)
    into = (coil.kg + scrap) / (1.0 - getattr(station, "crop", 0.0))
    lasts = (
        own.fixed_s[lane] + own.s_per_kg[lane] * into + sum(law.average * often[lane] for _, law, often in own.drawn)
    )
    handling = station.handling
    if handling is not None and handling.needs is not None:
        moves = (handling.crane_in,) if has_crane_moves(station) else (handling.load, handling.unload)
        lasts += sum(law.average for law in moves)
    return lasts * slower


def _on_new_rolls(day: Case, name: str, coil: Coil) -> tuple[float, float]:
    """Return by how much slower a coil is because it is the first on its rolls, and what that scraps. [1], [kg]"""
    station = day.plant.stations[name]
    if not isinstance(station, Mill) or station.rolls is None or station.rolls.first_coil is None:
        return 1.0, 0.0
    rows = day.records.coils[name]
    before = max((one.end for one in rows if one.end <= coil.start + SAME_S), default=coil.start)
    stops = day.records.stops_of.get((name, _machine(day, name, coil)), [])
    new = any(one.kind == "rolls" and before - SAME_S <= one.start and one.end <= coil.start + SAME_S for one in stops)
    first = station.rolls.first_coil
    return (first.slower, first.scrap.average) if new else (1.0, 0.0)


def _ring_s(day: Case, name: str, coil: Coil) -> float:
    """Return how long a ring should run in a machine behind which nothing holds it. [s]"""
    station, ways, own = day.plant.stations[name], day.model.routes, day.model.tables[name]
    product = day.records.product_of.get((name, coil.coil), "")
    if station.kind != "profiler" or station.to not in day.model.finished or product not in ways.products:
        return 0.0
    lane = 1 + len(ways.patterns) + ways.products.index(product)
    if own.speeds[lane] <= 0.0 or own.piece_kg[lane] <= 0.0:
        return 0.0
    return (coil.kg * own.keep_share[lane] - own.end_kg[lane]) / own.piece_kg[lane] / own.speeds[lane]


def _gaps(day: Day, name: str, number: int) -> Iterator[tuple[float, float]]:
    """Yield the working time between coils for which there is no record, and that for which there is. [s]"""
    if day.plant.stations[name].machines > 1 and not day.records.machine_of:
        return
    rows = [one for one in _coils(day, name) if _machine(day, name, one) == number]
    rows = [one for one in rows if one.end > day.begin and one.start < day.end]
    for before, after in zip(rows, rows[1:], strict=False):
        start, end = max(before.end, day.begin), min(after.start, day.end)
        if end > start:
            told = day.records.standing(name, number, start, end)
            yield day.records.worked(name, start, end) - told, told


def _loss(day: Day, name: str, coils: list[Coil]) -> float:
    """Return the usual share of a coil's mass that is lost beyond the standard."""
    station = day.plant.stations[name]
    if isinstance(station, Slitter | Cutter | Profiler):
        return 0.0  # trial strips, ends and first-offs come off some of them only
    givers = [own for own, giver in day.plant.stations.items() if giver.to == station.source and station.source]
    found = []
    for one in coils:
        before = next((own for name_ in givers if (own := day.records.visit_of.get((name_, one.coil)))), None)
        if before is None or before.kg <= 0.0:
            continue
        kept = before.kg * (1.0 - getattr(station, "crop", 0.0))
        found.append(1.0 - one.kg / kept)
    return max(0.0, median(found)) if len(found) >= LEAST_COILS else 0.0


def pace_events(day: Day, found: tuple[Pace, ...]) -> Iterator[DayEvent]:
    """Yield a speed or a yield that was off its standard through the day."""
    file = day.records.log["coils"].file
    for one in found:
        if abs(one.speed - 1.0) > OFF_PACE:
            words = f"{100.0 * one.speed:.0f} % of the standard speed"
            yield DayEvent(0, "speed", one.station, 1, day.begin, day.end, words, file, value=one.speed)
        if one.loss > OFF_YIELD:
            words = f"{100.0 * one.loss:.1f} % lost beyond the standard"
            yield DayEvent(0, "loss", one.station, 1, day.begin, day.end, words, file, value=one.loss)
