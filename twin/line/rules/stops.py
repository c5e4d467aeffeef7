"""Interruptions: failures, services, damaged rolls; what they scrap, how long they last, how work goes on."""

from typing import Final

from mypy_extensions import i64

from twin.line.rules.flow import look
from twin.line.rules.roll_change import ask_rolls, change_rolls, end_change, has_its_turn, take_off_early
from twin.line.rules.shared import ask_for_stop, give_back, let_go, serve
from twin.line.rules.state import (
    AFTER_DAMAGE,
    ASKING,
    AT_LIMIT,
    BY_CLOCK,
    CASTER,
    IDLE,
    NEVER,
    NO_CREW,
    NO_SET,
    NO_STOP,
    NO_TASK,
    R_DAMAGE,
    R_KNIVES,
    R_START,
    REPAIR,
    ROLLS,
    SERVICE,
    WORK,
    Cause,
    Line,
    Machine,
)
from twin.line.rules.tools import book_scrap, draw, mother_done, poke
from twin.line.rules.work import begin_stop, refresh

KNIVES: Final = -2
LEAST_COIL_KG: Final = 1e-6


def strike(line: Line, machine: Machine, place: i64) -> None:
    """A cause has run out: interrupt the machine, or wait for the interruption that it is in to end."""
    look(line, machine)
    cause = machine.causes[place]
    next_strike(cause)
    if machine.stop != NO_STOP:
        cause.pending += 1
        refresh(line, machine)
    elif cause.rolls:
        damaged_rolls(line, machine, cause)
    else:
        stop_for(line, machine, place)


def next_strike(cause: Cause) -> None:
    """Set when the cause strikes next: at its next recorded start, or never until it is drawn anew."""
    cause.left = NEVER
    if cause.scripted:
        cause.struck += 1
        if cause.struck < len(cause.starts):
            cause.left = cause.starts[cause.struck]


def lasts(line: Line, cause: Cause) -> float:
    """Return how long the interruption takes: drawn, or as recorded."""
    if not cause.scripted:
        return draw(line, cause.repair)
    length = cause.lasts[cause.script_at] if cause.script_at < len(cause.lasts) else 0.0
    cause.script_at += 1
    return length


def stop_for(line: Line, machine: Machine, place: i64) -> None:
    """Begin a repair or a service."""
    cause = machine.causes[place]
    if cause.pending > 0:
        cause.pending -= 1
    machine.stop_cause = place
    if not cause.service:
        machine.stops += 1
    if line.trace and line.warm:
        line.event_rows.append((machine.index, line.now, 1 if cause.service else 0, cause.reason, 0.0))
    lose_to(line, machine, cause)
    begin_stop(line, machine, SERVICE if cause.service else REPAIR, cause.reason, lasts(line, cause), cause.calendar)
    if cause.shared.index >= 0:
        ask_for_stop(line, machine, cause.shared)


def lose_to(line: Line, machine: Machine, cause: Cause) -> None:
    """Scrap what the failure costs: the whole coil in hand, or so many kilograms."""
    if cause.coil_scrapped:
        scrap_coil(line, machine, cause.reason)
    kg = draw(line, cause.scrap)
    if kg > 0.0:
        lose(line, machine, cause.reason, kg)


def damaged_rolls(line: Line, machine: Machine, cause: Cause) -> None:
    """The rolls are damaged, or at their limit in a mill that never ends a coil: they come off now."""
    rolls = machine.rolls
    if cause.service:
        ask_rolls(line, machine, AT_LIMIT)
        return
    rolls.damages += 1
    if line.trace and line.warm:
        line.event_rows.append((machine.index, line.now, 2, R_DAMAGE, rolls.km))
    lose(line, machine, R_DAMAGE, draw(line, rolls.damage_scrap))
    ask_rolls(line, machine, AFTER_DAMAGE)


def lose(line: Line, machine: Machine, reason: i64, kg: float) -> None:
    """Lose metal: from the coil or ring in hand, else from what flows next."""
    if kg <= 0.0:
        return
    if machine.kind == CASTER or (not machine.discrete and not machine.has_coil):
        if machine.unit_kg > 0.0:
            machine.scrap_left += kg / machine.unit_kg
            machine.scrap_reason = R_START if machine.kind == CASTER else reason
    elif machine.has_coil and (machine.discrete or machine.left >= NEVER):
        lost = kg if kg < machine.coil.mass else machine.coil.mass
        machine.coil.mass -= lost
        book_scrap(line, machine, reason, lost, line.now)
        if machine.coil.mass <= LEAST_COIL_KG:
            scrap_coil(line, machine, reason)
    elif machine.has_coil:
        units = kg / machine.unit_kg
        if units > machine.left:
            units = machine.left
        machine.left -= units
        book_scrap(line, machine, reason, units * machine.unit_kg, line.now)


def scrap_coil(line: Line, machine: Machine, reason: i64) -> None:
    """Scrap the whole coil or ring in hand, or the part of a coil that is being wound."""
    if machine.has_coil:
        book_scrap(line, machine, reason, in_hand(machine), line.now)
        mother_done(line, machine.coil.mother, line.now, False)
        let_go(line, machine)
        machine.has_coil = False
        machine.phase = IDLE
        machine.task = NO_TASK
        machine.task_running = False
        machine.left = NEVER
    elif not machine.discrete and machine.coil_kg < NEVER and machine.phase == WORK:
        book_scrap(line, machine, reason, (machine.coil_kg - machine.left) * machine.unit_kg, line.now)
        machine.left = machine.coil_kg


def in_hand(machine: Machine) -> float:
    """Weigh the coil in hand, or what is left of the ring."""
    if machine.discrete or machine.left >= NEVER:
        return machine.coil.mass
    return machine.left * machine.unit_kg


def knife_change(line: Line, machine: Machine) -> None:
    """Change the knives, between two coils."""
    machine.knife_left = machine.knife_each
    machine.stop_cause = KNIVES
    begin_stop(line, machine, SERVICE, R_KNIVES, draw(line, machine.knives), machine.calendar)
    if machine.knife_shared.index >= 0:
        ask_for_stop(line, machine, machine.knife_shared)


def go_on(line: Line, machine: Machine) -> bool:
    """Begin what the machine stood waiting for: a ready roll set, people for the repair; tell whether it may start."""
    if machine.stop == NO_SET:
        if has_its_turn(machine):
            change_rolls(line, machine)
        else:
            take_off_early(line, machine.rolls)
    elif machine.stop == NO_CREW and machine.stop_lent >= 0:
        look(line, machine)
        machine.stop = stop_kind(machine)
        refresh(line, machine)
    return machine.open and machine.stop == NO_STOP


def stop_kind(machine: Machine) -> i64:
    """Return what the people were asked for."""
    if machine.stop_cause == KNIVES:
        return SERVICE
    if machine.stop_cause < 0 or machine.causes[machine.stop_cause].rolls:
        return ROLLS
    return SERVICE if machine.causes[machine.stop_cause].service else REPAIR


def end_stop(line: Line, machine: Machine) -> None:
    """The interruption is over; work goes on where it stopped, unless another cause has struck meanwhile."""
    look(line, machine)
    kind = machine.stop
    machine.stop = NO_STOP
    machine.stop_running = False
    if machine.stop_lent >= 0:
        lent = machine.stop_lent
        machine.stop_lent = -1
        give_back(line, machine.stop_shared, lent)
    if kind == ROLLS:
        end_change(line, machine)
    elif machine.stop_cause >= 0:
        renew(line, machine.causes[machine.stop_cause])
    machine.stop_cause = -1
    for place in range(len(machine.causes)):
        if machine.causes[place].pending > 0:
            stop_for(line, machine, place)
            return
    refresh(line, machine)
    poke(line, machine)
    if machine.phase == ASKING:
        serve(line, machine.asked)


def renew(line: Line, cause: Cause) -> None:
    """The cause begins to run anew."""
    if not cause.scripted:
        cause.left = draw(line, cause.every)
        if cause.counts == BY_CLOCK:
            cause.left += line.now
