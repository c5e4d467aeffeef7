"""What was recorded of a day, as events that can be moved or removed, each of one cause."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from twin.logs.reasons import ROLL_CHANGE, ROLL_DAMAGE
from twin.scenario.models import Cutter, Profiler, Slitter
from twin.study.review_answer import DayEvent, Edit
from twin.study.review_day import Day
from twin.study.review_pace import drawn_times, pace_events, paces
from twin.study.review_records import ABSENT, AT_ONCE_S, ROLL_SET, Stop, chains

SERVICES = ("skimming", "service")


@dataclass(frozen=True, slots=True, order=True)
class Cause:
    """What events have in common: their kind, where, and for stops why."""

    kind: str
    station: str = ""
    reason: str = ""

    @property
    def words(self) -> str:
        """Return what the rung is called."""
        return {
            "stop": self.reason,
            "rolls": "roll changes",
            "setup": "setups and changes",
            "pattern": "choice and length of pattern runs",
            "speed": "speed",
            "loss": "losses beyond the standard",
            "staffing": "nobody there",
            "sequence": "sequence of patterns",
            "others": "several small causes",
        }[self.kind]


def cause_of(event: DayEvent) -> Cause:
    """Return the cause of an event."""
    return Cause(event.kind, event.station, event.reason if event.kind == "stop" else "")


def events_of(day: Day) -> tuple[DayEvent, ...]:
    """Return what was recorded of the day, by time; what began before it is part of its morning."""
    found = sorted(
        [*_events(day), *pace_events(day, paces(day))], key=lambda one: (one.start_s, one.station, one.machine)
    )
    return tuple(replace(one, number=number) for number, one in enumerate(found))


def _events(day: Day) -> Iterator[DayEvent]:
    own = day.records
    for (station, machine), rows in own.stops_of.items():
        kind = day.plant.stations[station].kind
        if kind == "supply":
            continue
        today = [one for one in rows if day.begin - AT_ONCE_S <= one.start < day.end and not _goes_on(day, one)]
        if station in day.model.layout.mills:
            yield from _roll_changes(day, today)
        elif any(one.kind == "rolls" for one in today):
            today = [one for one in today if one.kind != "rolls"]
        yield from _setups(day, today, station, machine)
        for one in today:
            if one.reason in ABSENT:
                yield event("staffing", [one], one.reason, day)
            elif one.kind == "down" or one.reason in SERVICES:
                yield event("stop", [one], one.reason, day)


def _goes_on(day: Day, one: Stop) -> bool:
    """Tell whether a stop at the very begin is the rest of what the machine was in the middle of."""
    now = day.begun(one.station, one.machine)
    state = {"down": "down", "changing rolls": "rolls", "setup": "setup"}.get("" if now is None else now.state)
    return state == one.kind and day.records.worked(one.station, day.begin, one.start) <= AT_ONCE_S


def event(kind: str, rows: Sequence[Stop], reason: str, day: Day) -> DayEvent:
    """Return the event that some rows of the stops tell of."""
    first = rows[0]
    return DayEvent(
        0,
        kind,
        first.station,
        first.machine,
        first.start,
        rows[-1].end,
        reason,
        day.records.log["stops"].file,
        tuple(one.line for one in rows),
        any(one.inferred for one in rows),
    )


def _roll_changes(day: Day, rows: Sequence[Stop]) -> Iterator[DayEvent]:
    """Yield the changes of rolls, each with the wait for a set that was part of it."""
    for chain in chains(rows, (ROLL_CHANGE, ROLL_DAMAGE, ROLL_SET)):
        damaged = any(one.reason == ROLL_DAMAGE for one in chain)
        yield event("rolls", chain, ROLL_DAMAGE if damaged else ROLL_CHANGE, day)


def _setups(day: Day, rows: Sequence[Stop], station: str, machine: int) -> Iterator[DayEvent]:
    """Yield setups, and changes of coil, tools and knives; one that was interrupted is one."""
    known = day.plant.stations[station]
    if isinstance(known, Slitter):
        starts = [one.start for one in day.records.coils.get(station, [])]
        found: list[list[Stop]] = []
        for one in (own for own in rows if own.reason == "pattern"):
            if found and not any(found[-1][-1].end - AT_ONCE_S <= at < one.start for at in starts):
                found[-1].append(one)
            else:
                found.append([one])
        yield from (event("setup", own, "pattern", day) for own in found)
        yield from (event("setup", [own], "knives", day) for own in rows if own.reason == "knives")
    elif isinstance(known, Cutter | Profiler):
        for one in rows:
            if one.reason in ("coil change", "tool change", "width change"):
                yield event("setup", [one], "coil change" if one.reason == "coil change" else "tool change", day)
    elif known.kind == "caster":
        yield from (event("setup", [own], "restart", day) for own in rows if own.reason == "restart")
    del machine


def causes_of(day: Day, events: Iterable[DayEvent]) -> tuple[Cause, ...]:
    """Return every cause that the day or the line knows: what did not happen is a cause too, it gave something."""
    found = {cause_of(one) for one in events}
    for name, station in day.plant.stations.items():
        found |= {Cause("stop", name, own.reason) for own in station.failures}
        if name in day.model.layout.mills:
            found.add(Cause("rolls", name))
        if isinstance(station, Slitter | Cutter | Profiler):
            found.add(Cause("setup", name))
        if isinstance(station, Slitter) and station.coils_per_pattern is not None:
            found.add(Cause("pattern", name))
        found |= {Cause("stop", name, reason) for reason in SERVICES if getattr(station, reason, None) is not None}
        if drawn_times(day, name):
            found.add(Cause("speed", name))
    if day.model.routes.planners:
        found.add(Cause("sequence"))
    return tuple(sorted(found))


def edited(events: Sequence[DayEvent], edits: Iterable[Edit]) -> tuple[DayEvent, ...]:
    """Return the events of a day with some of them otherwise.

    Raises
    ------
    ValueError : An edit of an event that there is not, or that ends before it begins.
    """
    known = {one.number: one for one in events}
    for edit in edits:
        if edit.event not in known:
            raise ValueError(f"there is no event {edit.event}: the day has {len(events)}, from 0")
        own = known[edit.event]
        if edit.remove:
            del known[edit.event]
            continue
        lasts = own.end_s - own.start_s if edit.lasts_s is None else edit.lasts_s
        if lasts < 0.0:
            raise ValueError(f"event {edit.event} cannot last {lasts:g} s")
        start = own.start_s + edit.later_s
        known[edit.event] = replace(own, start_s=start, end_s=start + lasts)
    return tuple(sorted(known.values(), key=lambda one: one.start_s))
