"""The events of a day as scripts for the line, cause by cause, and put together for any set of causes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, replace
from itertools import groupby

from twin.line.found import Found
from twin.line.model import NO_SCRIPTS, Scripts
from twin.logs.reasons import ROLL_DAMAGE
from twin.scenario.beginning import MachineNow
from twin.scenario.laws import Constant, Law
from twin.scenario.models import Cutter, Profiler, Slitter
from twin.study.review_answer import DayEvent
from twin.study.review_day import Day
from twin.study.review_events import Cause, cause_of
from twin.study.review_pace import drawn_times, recorded_times
from twin.study.review_records import AT_ONCE_S, Coil

SAME_S = 1.0
AS_RECORDED = "as recorded"
FIRST = 0.0  # a slitter that is found set up takes one number for how long it stays


def pieces(day: Day, events: Sequence[DayEvent], causes: Iterable[Cause]) -> dict[Cause, Scripts]:
    """Return what each cause puts in the place of draws."""
    by_cause: dict[Cause, list[DayEvent]] = defaultdict(list)
    for one in events:
        by_cause[cause_of(one)].append(one)
    return {cause: _piece(day, cause, by_cause[cause]) for cause in causes}


def _piece(day: Day, cause: Cause, events: list[DayEvent]) -> Scripts:
    if cause.kind in ("speed", "loss"):
        return _paced(day, cause, events)
    if cause.kind == "sequence":
        return _sequence(day)
    if cause.kind == "pattern":
        return _pattern_runs(day, cause)
    if cause.kind == "staffing":
        return _absences(day, events)
    return {"stop": _stops, "rolls": _rolls, "setup": _setups}[cause.kind](day, cause, events)


def _paced(day: Day, cause: Cause, events: list[DayEvent]) -> Scripts:
    """Return a speed, or what each coil lost, through the day."""
    machines = [(cause.station, number) for number in range(1, day.plant.stations[cause.station].machines + 1)]
    value = events[0].value if events else 0.0
    if cause.kind == "speed" and drawn_times(day, cause.station):
        return replace(NO_SCRIPTS, draws=recorded_times(day, cause.station))
    if cause.kind == "speed":
        return replace(NO_SCRIPTS, speeds=dict.fromkeys(machines, ((0.0, value or 1.0),)))
    coils = len([one for one in day.records.coils.get(cause.station, []) if day.begin <= one.start < day.end])
    return replace(NO_SCRIPTS, losses=dict.fromkeys(machines, (value,) * coils))


def _lasts(day: Day, one: DayEvent) -> float:
    """Return the working time of an event, which is what a stop counts; what interrupted a setup is not of it. [s]"""
    lasts = day.records.worked(one.station, one.start_s, one.end_s)
    if one.kind == "setup" and len(one.lines) > 1:
        rows = day.records.stops_of.get((one.station, one.machine), [])
        inside = [own for own in rows if own.line not in one.lines and own.start < one.end_s and own.end > one.start_s]
        lasts -= sum(day.records.worked(one.station, own.start, own.end) for own in inside)
    return lasts


def _by_machine(day: Day, station: str, events: Iterable[DayEvent]) -> dict[int, list[DayEvent]]:
    found: dict[int, list[DayEvent]] = {number: [] for number in range(1, day.plant.stations[station].machines + 1)}
    for one in events:
        if one.machine in found:
            found[one.machine].append(one)
    return found


def _stops(day: Day, cause: Cause, events: list[DayEvent]) -> Scripts:
    """Return stops when they were; a reason that the line does not know is only recorded."""
    station = day.plant.stations[cause.station]
    known = {own.reason for own in station.failures} | {"skimming", "service"}
    reason = cause.reason if cause.reason in known else AS_RECORDED
    stops = {
        (cause.station, number, reason): tuple((max(0.0, day.since(own.start_s)), _lasts(day, own)) for own in rows)
        for number, rows in _by_machine(day, cause.station, events).items()
    }
    return replace(NO_SCRIPTS, stops=stops)


def _rolls(day: Day, cause: Cause, events: list[DayEvent]) -> Scripts:
    changes = {
        (cause.station, number): tuple(
            (max(0.0, day.since(own.start_s)), _lasts(day, own), own.reason == ROLL_DAMAGE) for own in rows
        )
        for number, rows in _by_machine(day, cause.station, events).items()
    }
    return replace(NO_SCRIPTS, changes=changes)


def _absences(day: Day, events: list[DayEvent]) -> Scripts:
    closed: dict[tuple[str, int], list[tuple[float, float]]] = defaultdict(list)
    for one in events:
        closed[one.station, one.machine].append((max(0.0, day.since(one.start_s)), day.since(one.end_s)))
    return replace(NO_SCRIPTS, closed={key: tuple(spells) for key, spells in closed.items()})


def _sequence(day: Day) -> Scripts:
    """Return the patterns in the order in which they were planned."""
    planners = day.model.routes.planners
    coils = sorted((one for name in planners for one in _taken(day, name)), key=lambda one: one.start)
    names = [name for one in coils if (name := day.records.pattern_of(one)) is not None]
    return replace(NO_SCRIPTS, sequence=tuple(names))


def _taken(day: Day, name: str) -> list[Coil]:
    """Return the mother coils that a station took in the day; one that it held in the morning is none of them."""
    coils = [one for one in day.records.coils.get(name, []) if not one.parent]
    numbers = range(1, day.records.machines(name) + 1) if name not in day.model.flowing else ()
    held = [number for number in numbers if _holds(day.begun(name, number))]
    now = [one for one in coils if abs(one.start - day.begin) <= AT_ONCE_S]
    skipped = set(now[: len(held)])
    first = day.begin - AT_ONCE_S
    if name in day.model.flowing:  # a coil that is being wound is planned anew when the run begins
        return [one for one in coils if one.start < day.end and (one.start >= first or one.end > day.begin)]
    return [one for one in coils if first <= one.start < day.end and one not in skipped]


def _holds(now: MachineNow | None) -> bool:
    return now is not None and (now.holds is not None or now.state == "running")


# Setups


def _setups(day: Day, cause: Cause, events: list[DayEvent]) -> Scripts:
    station = day.plant.stations[cause.station]
    draws: dict[str, tuple[float, ...]] = {}
    for number, rows in _by_machine(day, cause.station, events).items():
        key = f"{cause.station}/{number}"
        lasts = {reason: [_lasts(day, own) for own in rows if own.reason == reason] for reason in _REASONS}
        if isinstance(station, Slitter):
            draws |= _given(f"{key}/setup", lasts["pattern"], station.setup.time)
            if station.knives is not None:
                draws |= _given(f"{key}/knives", lasts["knives"], station.knives.takes)
        elif isinstance(station, Cutter | Profiler):
            draws |= _changes(day, station, key, rows)
        elif station.kind == "caster":
            draws |= _given(f"{key}/restart", lasts["restart"], Constant(0.0, "time"))
    return replace(NO_SCRIPTS, draws=draws)


_REASONS = ("pattern", "knives", "restart")


def _given(name: str, lasts: Sequence[float], law: Law) -> dict[str, tuple[float, ...]]:
    """Return recorded times of a stream; where they are what the line has anyway, nothing."""
    if isinstance(law, Constant) and all(abs(own - law.value) < SAME_S for own in lasts):
        return {}
    return {name: tuple(lasts)} if lasts else {}


def _changes(day: Day, station: Cutter | Profiler, key: str, rows: Sequence[DayEvent]) -> dict[str, tuple[float, ...]]:
    """Return the changes of coil and of tools; a ring that needs other tools is threaded too, in one stop."""
    tools = station.width_change if isinstance(station, Cutter) else station.tool_change
    source = day.plant.stores[station.source].holds if station.source else ""
    thread = station.coil_change.time.average if source == "coils" else 0.0
    coil_s, tool_s = list[float](), list[float]()
    for one in rows:
        lasts = _lasts(day, one)
        if one.reason == "tool change":
            tool_s.append(max(0.0, lasts - thread))
            coil_s.append(min(thread, lasts))
        else:
            coil_s.append(lasts)
    found = _given(f"{key}/tool change", tool_s, tools.time)
    return found | (_given(f"{key}/coil change", coil_s, station.coil_change.time) if source == "coils" else {})


def _pattern_runs(day: Day, cause: Cause) -> Scripts:
    """Return how long a slitter stayed on each pattern; of several slitters of a station nothing is told."""
    if day.plant.stations[cause.station].machines != 1:
        return NO_SCRIPTS
    told, left = _stays(day, cause.station)
    stays = {} if left is None else {(cause.station, 1): left}
    return replace(NO_SCRIPTS, draws={f"{cause.station}/1/stay": told}, found=Found(stays=stays))


def _stays(day: Day, name: str) -> tuple[tuple[float, ...], int | None]:
    """Return for how many coils a slitter stayed on each pattern, and on the one that it was set for, None if unknown.

    A slitter that is found set up takes one number at once; what it stands for is told by the second answer.
    """
    today = [day.records.pattern_of(one) for one in _taken(day, name)]
    runs = [(pattern, len(list(own))) for pattern, own in groupby(today)]
    now = _set_for(day, name)
    if now is None:
        return tuple(float(count) for _, count in runs), None
    leads = bool(runs) and runs[0][0] == now
    left = runs[0][1] if leads else 0
    rest = runs[1:] if leads else runs
    return (FIRST, *(float(count) for _, count in rest)), left


def _set_for(day: Day, name: str) -> str | None:
    """Return the pattern for which a slitter is set up in the morning, None if it is being set up or is not."""
    for own in day.scenario.start.machines.get(name, ()):
        if own.state != "setup":
            return own.set_for or own.holds
    return None


# Together


def together(parts: Iterable[Scripts]) -> Scripts:
    """Return several scripts as one."""
    found: dict[str, dict[object, object]] = defaultdict(dict)
    sequence: tuple[str, ...] = ()
    beginnings: list[Found] = []
    for part in parts:
        for key, stops in part.stops.items():
            before = found["stops"].get(key, ())
            found["stops"][key] = tuple(sorted((*before, *stops)))  # type: ignore[misc]
        for name in ("draws", "speeds", "losses", "closed", "changes"):
            found[name] |= getattr(part, name)
        sequence = sequence or part.sequence
        beginnings.append(part.found)
    return Scripts(**found, sequence=sequence, found=_found(beginnings))  # type: ignore[arg-type]


def _found(parts: Sequence[Found]) -> Found:
    merged: dict[str, Mapping[object, object]] = {}
    for own in fields(Found):
        merged[own.name] = {key: value for part in parts for key, value in getattr(part, own.name).items()}
    return Found(**merged)  # type: ignore[arg-type]
