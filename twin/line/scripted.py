"""What really happened, put in the place of what would be drawn: recorded stops, speeds, losses, absences, numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from typing import TYPE_CHECKING

from twin.line.found import wear
from twin.line.model import Model, Scripts
from twin.line.reasons import FIXED_REASONS
from twin.line.rules import state as st
from twin.scenario.laws import Constant

if TYPE_CHECKING:
    from twin.line.builder import Builder

Spells = Sequence[tuple[float, float]]
Changes = Sequence[tuple[float, float, bool]]
EARLY_S = 1.0  # a change of rolls is due so long before it began, lest the mill has just taken its next coil


def check_scripts(model: Model, scripts: Scripts) -> None:
    """Raise ValueError where a script names what the line has not, or tells times that do not follow each other."""
    known = set(model.layout.machines)
    for (name, number, reason), stops in scripts.stops.items():
        _machine("stops", (name, number), known)
        _rising(f"the stops '{reason}' of '{name}' machine {number}", [start for start, _ in stops])
    for key, changes in scripts.speeds.items():
        _machine("speeds", key, known)
        _rising(f"the speeds of {_words(key)}", [at for at, _ in changes])
        if any(share <= 0.0 for _, share in changes):
            raise ValueError(f"a speed of nothing at {_words(key)}: record it as a stop")
    for key in scripts.losses:
        _machine("losses", key, known)
        if not works_coils(model, key[0]):
            raise ValueError(f"losses of '{key[0]}' cannot be told coil by coil: it works no coils one by one")
    for key, spells in scripts.closed.items():
        _machine("closed", key, known)
        _rising(f"the absences at {_words(key)}", [edge for spell in spells for edge in spell])
    for key, changes_of_rolls in scripts.changes.items():
        _machine("changes of rolls", key, known)
        if key[0] not in model.layout.mills:
            raise ValueError(f"changes of rolls are told of '{key[0]}', which has none")
        _rising(f"the changes of rolls at {_words(key)}", [start for start, _, _ in changes_of_rolls])
    for name in scripts.sequence:
        if name not in model.routes.patterns:
            raise ValueError(f"the sequence names the pattern '{name}'" + _near(name, model.routes.patterns))


def works_coils(model: Model, station: str) -> bool:
    """Tell whether a station works coils or rings one by one, or winds them."""
    own = model.scenario.stations.get(station)
    if own is None or own.kind in ("supply", "furnace"):
        return False
    stores = model.scenario.stores
    takes = stores[own.source].holds if own.source else ""
    return station not in model.flowing or takes == "coils" or getattr(own, "coil", None) is not None


def check_draws(scripts: Scripts, asked: Iterable[str]) -> None:
    """Raise ValueError where recorded numbers are for a stream that no part of the line draws from."""
    names = sorted(asked)
    for name in scripts.draws:
        if name not in names:
            raise ValueError(f"nothing is drawn from a stream '{name}'" + _near(name, names))


def _machine(what: str, key: tuple[str, int], known: set[tuple[str, int]]) -> None:
    if key not in known:
        stations = [name for name, _ in known]
        near = _near(key[0], stations) if key[0] not in stations else f": it has {stations.count(key[0])}"
        raise ValueError(f"{what} are told of {_words(key)}, which the line has not{near}")


def _words(key: tuple[str, int]) -> str:
    return f"'{key[0]}' machine {key[1]}"


def _near(name: str, names: Iterable[str]) -> str:
    found = get_close_matches(name, list(names), n=1)
    return f": did you mean '{found[0]}'?" if found else ""


def _rising(what: str, times: Sequence[float]) -> None:
    for before, at in zip([0.0, *times], times, strict=False):
        if at < before:
            raise ValueError(f"{what} do not follow each other: {at:g} s comes after {before:g} s")


def add_scripts(builder: Builder) -> None:
    """Put what really happened in the place of what would be drawn."""
    scripts = builder.scripts
    for (name, number, reason), stops in scripts.stops.items():
        _stops(builder, builder.machines[name][number - 1], reason, stops)
    for (name, number), changes in scripts.speeds.items():
        _speeds(builder, builder.machines[name][number - 1], changes)
    for (name, number), losses in scripts.losses.items():
        machine = builder.machines[name][number - 1]
        machine.losses = True
        machine.loss = builder.draws.add(builder.make.Stream, f"{name}/{number}/loss", Constant(0.0, "share"), losses)
    for (name, number), spells in scripts.closed.items():
        _close(builder, builder.machines[name][number - 1], spells)
    for (name, number), told in scripts.changes.items():
        _changes(builder, builder.machines[name][number - 1], told, f"{name}/{number}")


def make_room(builder: Builder) -> None:
    """Give machines the causes of which stops may be recorded later; what draws from streams has made room there."""
    for part in builder.later:
        for name, number, reason in part.stops:
            cause_of(builder, builder.machines[name][number - 1], reason)


def settle_scripts(builder: Builder) -> None:
    """Set what the state at the start must not overrule: when causes strike, how far wear has come."""
    for name, number in builder.scripts.changes:
        life = builder.machines[name][number - 1].rolls.life
        life.left = life.every.values[0]
        life.every.at = 1
    for name, number, _ in builder.scripts.stops:
        for cause in builder.machines[name][number - 1].causes:
            if cause.scripted:
                cause.left = cause.starts[0] if len(cause.starts) else st.NEVER
    wear(builder, builder.scripts.found)


def _stops(builder: Builder, machine: st.Machine, reason: str, stops: Spells) -> None:
    """Let a cause strike when it did, in place of its draws."""
    cause = cause_of(builder, machine, reason)
    strike_when(cause, sorted([*recorded_of(cause), *stops], key=lambda stop: stop[0]))


def cause_of(builder: Builder, machine: st.Machine, reason: str) -> st.Cause:
    """Return a machine's cause of a reason; one that the line does not know is silent until something is recorded."""
    place = _reason(builder.model, reason)
    known = next((own for own in machine.causes if own.reason == place and not own.rolls), None)
    if known is not None:
        return known
    nothing = builder.spare.nothing
    cause: st.Cause = builder.make.Cause(st.BY_CLOCK, nothing, nothing, nothing, machine.calendar)
    cause.reason = place
    strike_when(cause, ())
    machine.causes.append(cause)
    return cause


def recorded_of(cause: st.Cause) -> list[tuple[float, float]]:
    """Return when a cause strikes by record, and how long each time."""
    return list(zip(cause.starts, cause.lasts, strict=True))


def strike_when(cause: st.Cause, stops: Spells) -> None:
    """Let a cause strike at these times and at no others."""
    cause.counts = st.BY_CLOCK
    cause.scripted = True
    cause.starts = [start for start, _ in stops]
    cause.lasts = [duration for _, duration in stops]
    cause.left = cause.starts[0] if cause.starts else st.NEVER


def _reason(model: Model, reason: str) -> int:
    """Return a reason's place: the plant's own words first, then the fixed ones, else what is only recorded."""
    own = len(FIXED_REASONS) + len(model.scenario.shared)
    if reason in model.reasons[own:]:
        return model.reasons.index(reason, own)
    return model.reasons.index(reason) if reason in model.reasons else st.R_RECORD


def _speeds(builder: Builder, machine: st.Machine, changes: Spells) -> None:
    """Give a machine a recorded share of its nominal speed from each time on."""
    index = len(builder.line.speeds)
    speeds: st.Speeds = builder.make.Speeds(machine, builder.make.Clock(st.C_SPEED, index, st.THEN_CALENDARS))
    speeds.times = [at for at, _ in changes]
    speeds.factors = [factor for _, factor in changes]
    speeds.clock.at = speeds.times[0] if speeds.times else st.NEVER
    builder.line.speeds.append(speeds)


def _close(builder: Builder, machine: st.Machine, spells: Spells) -> None:
    """Give a machine a calendar of its own, closed in these spells."""
    line, old = builder.line, machine.calendar
    index = len(line.calendars)
    clock = builder.make.Clock(st.C_CALENDAR, index, st.THEN_CALENDARS + index)
    calendar: st.Calendar = builder.make.Calendar(index, clock)
    calendar.open, calendar.turns = without(old.open, old.turns, spells)
    clock.at = calendar.turns[0] if calendar.turns else st.NEVER
    machine.calendar = calendar
    machine.open = calendar.open
    for cause in machine.causes:
        if cause.calendar is old:
            cause.calendar = calendar
    if machine.rolls.used and machine.rolls.calendar is old:
        machine.rolls.calendar = calendar
    line.calendars.append(calendar)


def _changes(builder: Builder, machine: st.Machine, told: Changes, key: str) -> None:
    """Let rolls be changed when they were: planned ones before the next coil, damaged ones at once."""
    rolls = machine.rolls
    rolls.shop.unlimited = True
    rolls.limit = rolls.idle_after = st.NEVER
    rolls.times = [max(0.0, start - EARLY_S) for start, _, damaged in told if not damaged]
    rolls.clock.at = rolls.times[0] if rolls.times else st.NEVER
    add, constant, make = builder.draws.add, Constant(0.0, "time"), builder.make.Stream
    rolls.change = add(make, f"{key}/recorded change", constant, [lasts for _, lasts, damaged in told if not damaged])
    rolls.damaged_change = add(make, f"{key}/recorded damaged change", constant, [own[1] for own in told if own[2]])
    # From one change to the next the rolls live until the next recorded damage, told by the clock.
    damages = [next((at for at, _, damaged in told[done:] if damaged), st.NEVER) for done in range(len(told) + 1)]
    rolls.life.every = add(make, f"{key}/recorded life", Constant(st.NEVER, "time"), damages)
    rolls.life.counts = st.BY_CLOCK
    if rolls.life not in list(machine.causes):
        machine.causes.append(rolls.life)


def without(is_open: bool, turns: Sequence[float], spells: Spells) -> tuple[bool, list[float]]:
    """Return the turns of a calendar that is closed besides in some spells."""
    edges = [(at, 0) for at in turns] + [(start, 1) for start, _ in spells] + [(end, -1) for _, end in spells]
    begin, absent = is_open, 0
    now, kept = begin, list[float]()
    for at, change in sorted(edges):
        if change == 0:
            is_open = not is_open
        absent += change
        open_now = is_open and absent == 0
        if at <= 0.0:
            begin = now = open_now
        elif open_now != now:
            if kept and kept[-1] == at:
                kept.pop()
            else:
                kept.append(at)
            now = open_now
    return begin, kept
