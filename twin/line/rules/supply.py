"""Coils that come from outside: at their times, or one always ready at the gate."""

from twin.line.rules.choosing import born_now, may_come
from twin.line.rules.planner import assign, next_pattern
from twin.line.rules.state import DELIVERY, HOLD, IDLE, NO_STOP, R_NONE, Coil, Line, Machine
from twin.line.rules.tools import deliver, draw, has_room, hold_out, holds_out, poke, take_out
from twin.line.rules.work import begin_task, refresh


def start_supply(line: Line, machine: Machine) -> None:
    """Set a waiting coil down if there is room and the line may hold one more; then wait for the next."""
    if not machine.open or machine.stop != NO_STOP:
        return
    if machine.phase == IDLE:
        if machine.every.constant and machine.every.value <= 0.0:
            arrive(line, machine)
        else:
            begin_task(line, machine, DELIVERY, R_NONE, draw(line, machine.every))
            return
    if machine.phase == HOLD:
        offer(line, machine)


def arrive(line: Line, machine: Machine) -> None:
    """A coil stands at the gate."""
    coil = Coil(0, machine.new_mass, line.spare.coil.mother)
    coil.pattern = machine.new_pattern
    if coil.pattern < 0 and machine.plans and line.planner.used and machine.give.capacity < 1.0:
        coil.pattern = next_pattern(line)
    coil.lane = 1 + coil.pattern
    hold_out(machine, coil)
    machine.phase = HOLD
    machine.hold_since = line.now


def offer(line: Line, machine: Machine) -> None:
    """Let the coil at the gate in, hold it, or turn it away; those who pull it from the gate have looked before."""
    if may_come(line, machine) and holds_out(machine) > 0 and has_room(machine.give):
        let_in(line, machine)
    elif machine.turn_away:
        take_out(machine)
        machine.turned_away += 1
        machine.refused = True
        machine.phase = IDLE
        poke(line, machine)
    elif machine.give.capacity < 1.0:
        for taker in machine.give.takers:
            poke(line, taker)
    refresh(line, machine)


def let_in(line: Line, machine: Machine) -> None:
    """The coil enters the line."""
    waiting = take_out(machine)
    coil = born_now(line, machine, waiting)
    if machine.plans and line.planner.used and coil.pattern < 0:
        assign(line, coil, next_pattern(line))
    machine.phase = IDLE
    machine.refused = False
    machine.began = line.now
    deliver(line, machine, coil)
    poke(line, machine)


def end_delivery(line: Line, machine: Machine) -> None:
    """A delivery has come."""
    arrive(line, machine)
    if machine.give.capacity < 1.0:
        for taker in machine.give.takers:
            poke(line, taker)
        refresh(line, machine)
    else:
        offer(line, machine)
    poke(line, machine)
