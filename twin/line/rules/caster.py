"""Stations whose metal or strip runs through and is wound into coils: the caster, and a mill in line with it."""

from twin.line.rules.flow import look
from twin.line.rules.holding import begin_restart
from twin.line.rules.planner import assign, new_coil, next_pattern
from twin.line.rules.roll_change import ask_rolls, idle_change, rolls_due
from twin.line.rules.state import (
    CASTER,
    COILS,
    HOLD,
    NEVER,
    NO_STOP,
    NO_TASK,
    PATIENCE,
    R_CROP,
    R_FIRST_COIL,
    R_NONE,
    R_RECORD,
    WORK,
    Coil,
    Line,
    Machine,
)
from twin.line.rules.stops import go_on
from twin.line.rules.tools import (
    book_scrap,
    deliver,
    draw,
    first_out,
    has_room,
    hold_out,
    holds_out,
    poke,
    take_out,
    visit,
)
from twin.line.rules.work import busy, refresh, set_use


def start_winder(line: Line, machine: Machine) -> None:
    """Hand on a wound coil if there is room now, and keep the pace that the store behind allows."""
    if busy(machine) and machine.want == pace(machine) and not rolls_due(machine):
        return
    look(line, machine)
    if go_on(line, machine):
        if machine.phase == HOLD and not machine.held:
            hand_on_wound(line, machine)
        if machine.phase == WORK and machine.stop == NO_STOP and rolls_due(machine) and at_seam(machine):
            ask_rolls(line, machine, machine.rolls.why)
    machine.want = pace(machine)
    refresh(line, machine)


def at_seam(machine: Machine) -> bool:
    """Tell whether a coil has just been ended, so that rolls may come off between two coils."""
    return machine.left >= machine.coil_kg or machine.coil_kg >= NEVER


def pace(machine: Machine) -> float:
    """A caster before a full store runs as slowly as it can; everyone else at the nominal speed."""
    give = machine.give
    if machine.kind != CASTER or machine.slowest <= 0.0 or give.holds != COILS or give.finished:
        return machine.nominal
    full = give.capacity >= 1.0 and give.count >= give.capacity
    return machine.slowest if full else machine.nominal


def end_winding(line: Line, machine: Machine) -> None:
    """Start scrap is over, or a coil is wound: it is set down, or held until there is room."""
    look(line, machine)
    if machine.scrap_due:
        machine.scrap_left = 0.0
        refresh(line, machine)
        return
    wind(line, machine)
    machine.left = machine.coil_kg
    machine.phase = HOLD
    machine.held = False
    machine.hold_since = line.now
    hand_on_wound(line, machine)
    machine.want = pace(machine)
    refresh(line, machine)
    poke(line, machine)


def wind(line: Line, machine: Machine) -> None:
    """Make a coil of the metal that has run through since the last one; crop and first-coil scrap come off."""
    coil = new_coil(line, machine.coil_kg)
    machine.coils += 1
    if machine.plans and line.planner.used:
        pattern = machine.new_pattern if machine.new_pattern >= 0 else next_pattern(line)
        assign(line, coil, pattern)
    crop(line, machine, coil)
    machine.out_kg -= machine.coil_kg - coil.mass
    visit(line, machine, coil)
    machine.began = line.now
    hold_out(machine, coil)
    if machine.plans and line.planner.used and machine.kind != CASTER:
        pick_gauge(line, machine)


def crop(line: Line, machine: Machine, coil: Coil) -> None:
    """Take the ends, the first coil's scrap and recorded losses off."""
    if machine.losses:
        kg = coil.mass * draw(line, machine.loss)
        coil.mass -= kg
        book_scrap(line, machine, R_RECORD, kg, line.now)
    if machine.crop > 0.0:
        kg = coil.mass * machine.crop
        coil.mass -= kg
        book_scrap(line, machine, R_CROP, kg, line.now)
    if machine.rolls.used:
        machine.rolls.kilograms += coil.mass
        if machine.rolls.first:
            machine.rolls.first = False
            kg = draw(line, machine.rolls.first_scrap)
            kg = kg if kg < coil.mass else coil.mass
            coil.mass -= kg
            book_scrap(line, machine, R_FIRST_COIL, kg, line.now)


def pick_gauge(line: Line, machine: Machine) -> None:
    """Choose the pattern of the coil that is begun, and run at its gauge's speed."""
    machine.new_pattern = next_pattern(line)
    lane = 1 + machine.new_pattern
    machine.nominal = machine.speeds[lane]
    machine.want = machine.nominal
    set_use(machine, machine.m_per_kg[lane], 1.0, 1.0 / machine.coil_kg)


def hand_on_wound(line: Line, machine: Machine) -> None:
    """Set wound coils down; without room hold for as long as patience lasts, then the cast is stopped."""
    while holds_out(machine) > 0 and (has_room(machine.give) or not machine.give.finished and not takes_on(machine)):
        deliver(line, machine, take_out(machine))
    if holds_out(machine) == 0:
        machine.task = NO_TASK
        machine.task_running = False
        if machine.stopped:
            machine.stopped = False
            begin_restart(line, machine)
        else:
            machine.phase = WORK
        return
    if machine.kind == CASTER and not machine.stopped and machine.task != PATIENCE:
        machine.task = PATIENCE
        machine.task_reason = R_NONE
        machine.task_left = machine.patience
        machine.task_running = False
    if machine.rolls.used:
        idle_change(line, machine)
    if machine.give.capacity < 1.0:
        for taker in machine.give.takers:
            poke(line, taker)


def takes_on(machine: Machine) -> bool:
    """Tell whether somebody takes the held coil from the store behind."""
    return machine.give.drawn[first_out(machine).lane]


def end_patience(line: Line, machine: Machine) -> None:
    """Patience is over: a caster that was held by the flow tries once more; before a full store it stops."""
    look(line, machine)
    machine.task = NO_TASK
    machine.task_running = False
    machine.stopped = True
    if machine.held:
        machine.held = False
        machine.lacks = False
        machine.phase = WORK
    refresh(line, machine)


def end_restart(line: Line, machine: Machine) -> None:
    """The caster casts again."""
    look(line, machine)
    machine.phase = WORK
    machine.task = NO_TASK
    machine.task_running = False
    refresh(line, machine)
    poke(line, machine)
