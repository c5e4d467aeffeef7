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
    catch_up(line, shared)
    if shared.calendar.open:
        for slot in shared.slots:
            if slot.busy != FREE:
                continue
            waiting = first_able(shared)
            if waiting >= 0:
                lend(line, shared, slot, waiting)
            elif len(shared.parked_moves) > 0:
                carry(shared, slot, line.now)
    set_clocks(line, shared)


def catch_up(line: Line, shared: Shared) -> None:
    """Let the rounds that ended since the last look have ended, each followed by the next at once.

    While nobody waits for the crane nothing else hangs on the end of a round, so nobody is called for it.
    """
    while True:
        first = -1
        for i in range(len(shared.slots)):
            slot = shared.slots[i]
            if slot.busy == CARRYING and slot.until <= line.now:
                if first < 0 or slot.until < shared.slots[first].until:
                    first = i
        if first < 0:
            return
        slot = shared.slots[first]
        slot.busy = FREE
        shared.busy_s += slot.until - slot.since
        if len(shared.parked_moves) > 0 and len(shared.queue) == 0 and shared.calendar.open:
            carry(shared, slot, slot.until)


def set_clocks(line: Line, shared: Shared) -> None:
    """Be called at the end of a round if somebody waits for the crane, or if its shift may end before."""
    needed = len(shared.queue) > 0 or len(shared.calendar.turns) > 0
    for slot in shared.slots:
        at = slot.until if needed and slot.busy == CARRYING else NEVER
        if at != slot.clock.at:
            slot.clock.at = at
            line.slow_stale = True
            if at <= line.now:
                line.crowded = True


def lend(line: Line, shared: Shared, slot: Slot, waiting: i64) -> None:
    """Lend a slot to one of those who wait."""
    machine = shared.queue.pop(waiting)
    slot.busy = LENT
    slot.since = line.now
    if machine.stop == NO_CREW and machine.stop_lent < 0 and machine.stop_shared is shared:
        machine.stop_lent = slot.index
    else:
        machine.lent = slot.index
    poke(line, machine)


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


def carry(shared: Shared, slot: Slot, at: float) -> None:
    """Begin to carry the rings that have waited longest."""
    slot.busy = CARRYING
    slot.since = at
    slot.moves = shared.parked_moves.pop(0)
    slot.each = shared.parked_each.pop(0)
    slot.start = at
    slot.until = at + float(slot.moves) * slot.each


def park_moves(line: Line, shared: Shared, moves: i64, each: float) -> None:
    """Leave rings for the crane to carry away when it has time."""
    if moves <= 0 or each <= 0.0:
        return
    catch_up(line, shared)
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
                slot.until = slot.start + float(done) * slot.each
                if slot.until < line.now:
                    slot.until = line.now
                slot.clock.at = slot.until
                line.crowded = True
                line.slow_stale = True
                return


def moves_begun(slot: Slot, now: float) -> i64:
    """Count the moves ended and the one being made."""
    passed = (now - slot.start) / slot.each
    begun = int(passed)
    return begun if begun > 0 and float(begun) >= passed - 1e-9 else begun + 1


def book_slots(line: Line, shared: Shared) -> None:
    """Book the time up to now of those who are busy."""
    catch_up(line, shared)
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
