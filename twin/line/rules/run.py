"""What is due next, and letting it happen: the two calls that a clock makes."""

from typing import Final

from mypy_extensions import i64

from twin.line.rules.caster import end_patience, end_restart, end_winding, start_winder
from twin.line.rules.coils import end_task, end_work, start_coil_station
from twin.line.rules.due import find_next
from twin.line.rules.flow import hit, look, settle
from twin.line.rules.rings import end_change, end_ring, start_follower, start_ring_station
from twin.line.rules.roll_change import ring_roll_time
from twin.line.rules.roll_shop import end_person_task, ring_shop, start_person
from twin.line.rules.state import (
    BY_CLOCK,
    C_CALENDAR,
    C_DAY,
    C_MACHINE,
    C_ROLL_TIME,
    C_SEGMENT,
    C_SHOP,
    C_SLOT,
    C_SPEED,
    C_STORE,
    CASTER,
    COILS,
    CUTTER,
    DUE_CAUSE,
    DUE_STOP_END,
    DUE_TASK_END,
    DUE_WORK_END,
    GRINDER,
    IDLE,
    NEVER,
    NO_STOP,
    PATIENCE,
    PROFILER,
    RESTART,
    SUPPLY,
    WORK,
    Clock,
    Line,
    Machine,
)
from twin.line.rules.stops import end_stop, strike
from twin.line.rules.supply import end_delivery, start_supply
from twin.line.rules.tools import poke
from twin.line.rules.turning import end_day, new_speed, ring_slot, ring_store, turn
from twin.line.rules.work import refresh

AT_ONCE: Final = 100_000
"""More than this cannot happen at one instant in a line that gets on."""


MOST_EVENTS: Final = 50_000_000
"""More than this happens in no run worth waiting for: some 500 years of a plant of ten stations."""


def next_time(line: Line) -> float:
    """When does the line want to be called? All that ends now ends first, then what may start now starts."""
    if line.pokes > 0 and not line.crowded:
        begin_starts(line)
        settle(line)
    at = find_next(line)
    while at > line.now and line.pokes > 0:
        count_at_once(line)
        begin_starts(line)
        settle(line)
        at = find_next(line)
    return at


def count_at_once(line: Line) -> None:
    """Refuse a line in which something happens for ever without any time passing."""
    line.at_once += 1
    if line.at_once > AT_ONCE:
        raise OverflowError("the line never leaves one instant: work that takes no time is fed without end")


def give_up(line: Line) -> None:
    """Refuse a line in which things happen so fast that its run would never end."""
    passed = line.now - line.counting_since
    raise OverflowError(f"{line.events} events in {passed:.3g} s of the line's time: the run would hardly ever end")


def begin_starts(line: Line) -> None:
    """Let every machine that was poked look whether it can go on, the most downstream first."""
    last: i64 = len(line.order) - 1
    machine = line.order[line.first_turn]
    line.first_turn = last
    while True:
        if machine.poked:
            machine.poked = False
            line.pokes -= 1
            if not at_work(machine):
                start(line, machine)
            if line.pokes == 0:
                return
        if machine.turn == last:
            return
        machine = machine.then


def at_work(machine: Machine) -> bool:
    """Tell whether a machine has nothing to decide: a coil is in work, or it waits for a ring outside its hours."""
    if machine.stop != NO_STOP:
        return False
    return machine.phase == WORK if machine.discrete else machine.phase == IDLE and not machine.open


def start(line: Line, machine: Machine) -> None:
    """Let one machine go on, by its kind."""
    kind = machine.kind
    if machine.discrete:
        if kind == SUPPLY:
            start_supply(line, machine)
        elif kind == GRINDER:
            start_person(line, machine)
        else:
            start_coil_station(line, machine)
    elif machine.take.holds == COILS and (kind == CUTTER or kind == PROFILER):
        start_ring_station(line, machine)
    elif machine.give.holds == COILS or kind == CASTER or machine.rolls.used:
        start_winder(line, machine)
    else:
        start_follower(line, machine)


def step(line: Line, at: float) -> None:
    """Let the one thing that is due happen."""
    if at > line.now:
        line.at_once = 0
    else:
        count_at_once(line)
    line.now = at
    line.events += 1
    if line.events > MOST_EVENTS:
        give_up(line)
    ring(line, line.due)
    settle(line)


def ring(line: Line, clock: Clock) -> None:
    """Let the clock's owner have its moment."""
    kind = clock.kind
    if kind == C_MACHINE:
        ring_machine(line, line.machines[clock.index])
    elif kind == C_SEGMENT:
        hit(line, line.segments[clock.index])
    elif kind == C_CALENDAR:
        turn(line, line.calendars[clock.index])
    elif kind == C_STORE:
        ring_store(line, line.stores[clock.index])
    elif kind == C_SLOT:
        ring_slot(line, clock.index)
    elif kind == C_SHOP:
        ring_shop(line, line.shops[clock.index])
    elif kind == C_ROLL_TIME:
        ring_roll_time(line, line.machines[clock.index])
    elif kind == C_SPEED:
        new_speed(line, line.speeds[clock.index])
    elif kind == C_DAY:
        end_day(line)


def ring_machine(line: Line, machine: Machine) -> None:
    """Something is due at a machine."""
    due = machine.due
    if due == DUE_STOP_END:
        end_stop(line, machine)
    elif due == DUE_CAUSE:
        strike(line, machine, machine.due_cause)
    elif due == DUE_TASK_END:
        ring_task(line, machine)
    elif due == DUE_WORK_END:
        ring_work(line, machine)


def ring_task(line: Line, machine: Machine) -> None:
    """A timed task has ended."""
    machine.task_running = False
    machine.task_left = 0.0
    if machine.kind == SUPPLY:
        end_delivery(line, machine)
    elif machine.kind == GRINDER:
        end_person_task(line, machine)
    elif machine.task == PATIENCE:
        end_patience(line, machine)
    elif machine.task == RESTART:
        end_restart(line, machine)
    elif machine.discrete:
        end_task(line, machine)
    else:
        end_change(line, machine)


def ring_work(line: Line, machine: Machine) -> None:
    """The work in hand has ended."""
    if machine.discrete:
        end_work(line, machine)
    elif machine.take.holds == COILS and (machine.kind == CUTTER or machine.kind == PROFILER):
        end_ring(line, machine)
    elif machine.coil_kg < NEVER:
        end_winding(line, machine)
    else:
        look(line, machine)
        machine.scrap_left = 0.0
        refresh(line, machine)


def begin(line: Line) -> None:
    """Let everything look round at the first instant."""
    for machine in line.order:
        machine.clocked = by_clock(machine)
        refresh(line, machine)
        poke(line, machine)
    settle(line)


def by_clock(machine: Machine) -> bool:
    """Tell whether a cause strikes the machine by the clock, even while it stands."""
    for cause in machine.causes:
        if cause.counts == BY_CLOCK:
            return True
    return False


def run(line: Line, until: float) -> bool:
    """Let everything happen up to a time; False if a stream ran low first and must be filled."""
    at = next_time(line)
    while at <= until:
        step(line, at)
        if line.low:
            return False
        at = next_time(line)
        if line.low:
            return False
    return True
