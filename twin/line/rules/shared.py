"""Cranes and crews: first come, first served; slit rings are carried away, move by move, when nobody waits."""

from typing import Final

from mypy_extensions import i64

from twin.line.rules.state import (
    ASKING,
    NEVER,
    NO_CREW,
    NO_STOP,
    Line,
    Machine,
    Shared,
    Slot,
)
from twin.line.rules.tools import poke
from twin.line.rules.work import refresh

FREE: Final = 0
LENT: Final = 1
CARRYING: Final = 2
FIRST_REASON_OF_SHARED: Final = 24  # the reasons that follow the fixed ones name the cranes and crews


def ask(line: Line, machine: Machine, shared: Shared, task: i64) -> None:
    """Ask for a crane or a person before a task; the machine waits until `granted`."""
    machine.phase = ASKING
    machine.ask_task = task
    machine.asked = shared
    machine.task_reason = FIRST_REASON_OF_SHARED + shared.index
    shared.queue.append(machine)
    serve(line, shared)
    if machine.lent < 0:
        interrupt_carrying(line, shared)
    refresh(line, machine)


def ask_for_stop(line: Line, machine: Machine, shared: Shared) -> None:
    """Ask for people to repair or to change rolls; the machine stands meanwhile."""
    machine.stop = NO_CREW
    machine.stop_shared = shared
    shared.queue.append(machine)
    serve(line, shared)
    if machine.stop_lent < 0:
        interrupt_carrying(line, shared)
    refresh(line, machine)


def serve(line: Line, shared: Shared) -> None:
    """Lend what is free to those who wait, in the order in which they asked; then let rings be carried."""
    if not shared.calendar.open:
        return
    for slot in shared.slots:
        if slot.busy != FREE:
            continue
        waiting = first_able(shared)
        if waiting >= 0:
            machine = shared.queue.pop(waiting)
            slot.busy = LENT
            slot.since = line.now
            if machine.stop == NO_CREW and machine.stop_lent < 0 and machine.stop_shared is shared:
                machine.stop_lent = slot.index
            else:
                machine.lent = slot.index
            poke(line, machine)
        elif len(shared.parked_moves) > 0:
            carry(line, shared, slot)


def first_able(shared: Shared) -> i64:
    """Find who asked first among those who can begin: the shift, or the hours of the repair, are on; -1 if nobody."""
    for i in range(len(shared.queue)):
        machine = shared.queue[i]
        if machine.stop == NO_CREW and machine.stop_shared is shared:
            if machine.stop_calendar.open:
                return i
        elif machine.open and machine.stop == NO_STOP:
            return i
    return -1


def carry(line: Line, shared: Shared, slot: Slot) -> None:
    """Begin to carry the rings that have waited longest."""
    slot.busy = CARRYING
    slot.since = line.now
    slot.moves = shared.parked_moves.pop(0)
    slot.each = shared.parked_each.pop(0)
    slot.start = line.now
    slot.clock.at = line.now + float(slot.moves) * slot.each


def park_moves(line: Line, shared: Shared, moves: i64, each: float) -> None:
    """Leave rings for the crane to carry away when it has time."""
    if moves <= 0 or each <= 0.0:
        return
    shared.parked_moves.append(moves)
    shared.parked_each.append(each)
    serve(line, shared)


def interrupt_carrying(line: Line, shared: Shared) -> None:
    """A machine waits: the crane comes after the move it is at, and leaves the other rings for later."""
    for slot in shared.slots:
        if slot.busy == CARRYING and slot.moves > 1:
            done = moves_begun(slot, line.now)
            if done < slot.moves:
                shared.parked_moves.insert(0, slot.moves - done)
                shared.parked_each.insert(0, slot.each)
                slot.moves = done
                slot.clock.at = slot.start + float(done) * slot.each
                if slot.clock.at < line.now:
                    slot.clock.at = line.now
                return


def moves_begun(slot: Slot, now: float) -> i64:
    """Count the moves ended and the one being made."""
    passed = (now - slot.start) / slot.each
    begun = int(passed)
    return begun if begun > 0 and float(begun) >= passed - 1e-9 else begun + 1


def carried(line: Line, shared: Shared, slot: Slot) -> None:
    """The crane has set down the last ring of its round."""
    slot.busy = FREE
    slot.clock.at = NEVER
    shared.busy_s += line.now - slot.since
    serve(line, shared)


def book_slots(line: Line, shared: Shared) -> None:
    """Book the time up to now of those who are busy."""
    for slot in shared.slots:
        if slot.busy != FREE:
            shared.busy_s += line.now - slot.since
            slot.since = line.now


def let_go(line: Line, machine: Machine) -> None:
    """Hand back the crane or the people of a task, or no longer wait for them."""
    if machine.lent >= 0:
        lent = machine.lent
        machine.lent = -1
        give_back(line, machine.asked, lent)
    elif machine.phase == ASKING:
        machine.asked.queue.remove(machine)


def give_back(line: Line, shared: Shared, lent: i64) -> None:
    """A machine hands back what it was lent."""
    slot = line.slots[lent]
    slot.busy = FREE
    shared.busy_s += line.now - slot.since
    serve(line, shared)
