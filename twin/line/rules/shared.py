"""Cranes and crews: first come, first served; slit rings are carried away, move by move, when nobody waits."""

from typing import Final

from mypy_extensions import i64

from twin.line.rules.state import ASKING, NEVER, NO_CREW, NO_STOP, Line, Machine, Rings, Shared, Slot, Stream
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
    stand_in_line(shared, machine)
    serve(line, shared)
    if machine.lent < 0:
        interrupt_carrying(line, shared)
    refresh(line, machine)


def ask_for_stop(line: Line, machine: Machine, shared: Shared) -> None:
    """Ask for people to repair or to change rolls; the machine stands meanwhile."""
    machine.stop = NO_CREW
    machine.stop_shared = shared
    stand_in_line(shared, machine)
    serve(line, shared)
    if machine.stop_lent < 0:
        interrupt_carrying(line, shared)
    refresh(line, machine)


def stand_in_line(shared: Shared, machine: Machine) -> None:
    """Wait behind those who have asked before."""
    if shared.waits < len(shared.queue):
        shared.queue[shared.waits] = machine
    else:
        shared.queue.append(machine)
    shared.waits += 1


def leave_line(shared: Shared, place: i64) -> None:
    """Leave the queue; those behind move up."""
    shared.waits -= 1
    while place < shared.waits:
        shared.queue[place] = shared.queue[place + 1]
        place += 1


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
            elif shared.parked_end > shared.parked_at:
                carry(shared, slot, line.now)
    set_clocks(line, shared)


def catch_up(line: Line, shared: Shared) -> None:
    """Let the rounds that ended since the last look have ended, each followed by the next at once.

    While nobody waits for the crane nothing else hangs on the end of a round, so nobody is called for it.
    """
    while True:
        ended = first_ended(line, shared)
        if ended.busy != CARRYING or ended.until > line.now:
            return
        ended.busy = FREE
        shared.busy_s += ended.until - ended.since
        if shared.parked_end > shared.parked_at and shared.waits == 0 and shared.calendar.open:
            carry(shared, ended, ended.until)


def first_ended(line: Line, shared: Shared) -> Slot:
    """Find whose round ended first; if nobody's has, anybody."""
    first = shared.slots[0]
    found = False
    for slot in shared.slots:
        if slot.busy == CARRYING and slot.until <= line.now and (not found or slot.until < first.until):
            first = slot
            found = True
    return first


def set_clocks(line: Line, shared: Shared) -> None:
    """Be called at the end of a round if somebody waits for the crane, or if its shift may end before."""
    needed = shared.waits > 0 or len(shared.calendar.turns) > 0
    for slot in shared.slots:
        at = slot.until if needed and slot.busy == CARRYING else NEVER
        if at != slot.clock.at:
            slot.clock.at = at
            line.slow_stale = True
            if at <= line.now:
                line.crowded = True


def lend(line: Line, shared: Shared, slot: Slot, waiting: i64) -> None:
    """Lend a slot to one of those who wait."""
    machine = shared.queue[waiting]
    leave_line(shared, waiting)
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
        if i >= shared.waits:
            break
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
    rings = shared.parked[shared.parked_at]
    shared.parked_at += 1
    if shared.parked_at == shared.parked_end:
        shared.parked_at = 0
        shared.parked_end = 0
    slot.moves = rings.moves
    slot.each = rings.each
    slot.start = at
    slot.until = at + float(slot.moves) * slot.each


def park_moves(line: Line, shared: Shared, moves: i64, each: float) -> None:
    """Leave rings for the crane to carry away when it has time."""
    if moves <= 0 or each <= 0.0:
        return
    catch_up(line, shared)
    if shared.parked_end < len(shared.parked):
        rings = shared.parked[shared.parked_end]
        rings.moves = moves
        rings.each = each
    else:
        shared.parked.append(Rings(moves, each))
    shared.parked_end += 1
    serve(line, shared)


def park_first(shared: Shared, moves: i64, each: float) -> None:
    """Put rings before all others that wait to be carried."""
    if shared.parked_at > 0:
        shared.parked_at -= 1
        rings = shared.parked[shared.parked_at]
        rings.moves = moves
        rings.each = each
    else:
        if shared.parked_end == len(shared.parked):
            shared.parked.append(Rings(moves, each))
        rings = shared.parked[shared.parked_end]
        place = shared.parked_end
        while place > 0:
            shared.parked[place] = shared.parked[place - 1]
            place -= 1
        shared.parked[0] = rings
        shared.parked_end += 1
        rings.moves = moves
        rings.each = each


def interrupt_carrying(line: Line, shared: Shared) -> None:
    """A machine waits: the crane comes after the move it is at, and leaves the other rings for later."""
    for slot in shared.slots:
        if slot.busy == CARRYING and slot.moves > 1:
            done = moves_begun(slot, line.now)
            if done < slot.moves:
                park_first(shared, slot.moves - done, slot.each)
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
        place: i64 = 0
        while machine.asked.queue[place] is not machine:
            place += 1
        leave_line(machine.asked, place)


def give_back(line: Line, shared: Shared, lent: i64) -> None:
    """A machine hands back what it was lent."""
    slot = line.slots[lent]
    slot.busy = FREE
    shared.busy_s += line.now - slot.since
    serve(line, shared)


def lifts(move: Stream) -> bool:
    """Tell whether there is anything to lift: a move of no length needs no crane."""
    return not move.constant or move.value > 0.0
