"""A machine's own time: ageing, what is due next, and what interrupts it."""

from mypy_extensions import i64

from twin.line.rules.showing import show
from twin.line.rules.state import (
    BY_CLOCK,
    BY_LENGTH,
    BY_MASS,
    BY_TIME,
    COILS,
    DUE_CAUSE,
    DUE_NONE,
    DUE_STOP_END,
    DUE_TASK_END,
    DUE_WORK_END,
    FIRST_ENDS,
    FIT,
    HOLD,
    LOAD,
    METAL,
    NEVER,
    NO_CREW,
    NO_SET,
    NO_STOP,
    PATIENCE,
    STRIP,
    THEN_COILS,
    THEN_FAILURES,
    TIMED,
    UNLOAD,
    WORK,
    Calendar,
    Line,
    Machine,
    Segment,
)
from twin.line.rules.tools import book_good, book_in, book_out, book_scrap, flow_reason


def working(machine: Machine) -> bool:
    """Tell whether material may run: something is at hand, the shift is on, nothing interrupts."""
    return machine.phase == WORK and machine.open and machine.stop == NO_STOP


def busy(machine: Machine) -> bool:
    """Tell whether a machine that was poked has nothing to decide: it works, sets up, or waits for a time to pass."""
    if machine.stop == NO_STOP:
        return machine.phase == WORK or machine.phase == TIMED
    return machine.stop != NO_SET and machine.stop != NO_CREW


def age(line: Line, machine: Machine) -> None:
    """Let the time since the last look pass at the machine's rate; before anything of it is changed."""
    start = machine.since
    passed = line.now - start
    machine.since = line.now
    if passed <= 0.0 or machine.rate <= 0.0:
        return
    done = machine.rate * passed
    for cause in machine.causes:
        if cause.counts == BY_TIME:
            cause.left -= passed
        elif cause.counts != BY_CLOCK:
            cause.left -= cause.per * done
    if machine.rolls.used:
        machine.rolls.km += machine.rolls.per * done
    if machine.slow:
        machine.slowed_s += passed * (1.0 - machine.rate / machine.nominal)
    if machine.discrete:
        machine.left -= done
    else:
        run_flow(line, machine, done, start)


def run_flow(line: Line, machine: Machine, done: float, start: float) -> None:
    """Account for material that ran through: what came in, what is scrap, what is good."""
    kg = done * machine.unit_kg
    scrapping = machine.scrap_left > 0.0
    machine.run_kg += kg
    if machine.never_starves:
        machine.charged_kg += kg
        book_in(line, kg, start)
    if scrapping:
        machine.scrap_left -= done
        book_scrap(line, machine, machine.scrap_reason, kg, start)
    else:
        if line.trace and line.warm and machine.flow_kg <= 0.0 and machine.flow_scrap <= 0.0:
            machine.flow_since = start
        good = done * machine.gain
        if machine.gain < 1.0:
            lose_share(line, machine, (done - good) * machine.unit_kg, start)
        count_flow(line, machine, good, start)
    # First-offs come out of the ring in hand; start scrap is cast before the coil is begun.
    if machine.left < NEVER and (machine.has_coil or not scrapping):
        machine.left -= done


def lose_share(line: Line, machine: Machine, kg: float, start: float) -> None:
    """Book the share of a flow that is always lost."""
    machine.scrap[flow_reason(machine)].total += kg
    book_out(line, kg, start)
    if line.trace and line.warm:
        machine.flow_scrap += kg


def count_flow(line: Line, machine: Machine, good: float, start: float) -> None:
    """Count good output; behind the last store it is sold."""
    kg = good * machine.unit_kg
    amount = good * machine.convert
    give = machine.give
    machine.out_kg += kg
    if machine.coil_kg < NEVER:
        return
    pieces = 0.0 if give.holds == STRIP or give.holds == METAL else amount
    machine.pieces += pieces
    if give.finished:
        if give.segment < 0 and give.holds != COILS:
            give.level += amount
        book_good(line, machine, machine.product, pieces, kg, start)
    if line.trace and line.warm and (give.finished or give.holds != COILS):
        machine.flow_good += pieces
        machine.flow_kg += kg


def schedule(line: Line, machine: Machine) -> None:
    """Find what is due next at this machine; on a tie its own end comes before a failure."""
    clock = machine.clock
    at = NEVER
    due: i64 = DUE_NONE
    rank: i64 = FIRST_ENDS
    if machine.stop != NO_STOP:
        if machine.stop_running:
            at = machine.stop_end
            due = DUE_STOP_END
    elif machine.task_running and (machine.phase == TIMED or machine.phase == HOLD):
        at = machine.task_end
        due = DUE_TASK_END
    elif machine.rate > 0.0:
        left = machine.left
        machine.scrap_due = False
        if machine.scrap_left > 0.0 and not machine.discrete and (not machine.has_coil or machine.scrap_left < left):
            left = machine.scrap_left
            machine.scrap_due = True
        if left < NEVER:
            at = line.now + left / machine.rate if left > 0.0 else line.now
            due = DUE_WORK_END
            rank = THEN_COILS
    if machine.rate > 0.0 or machine.clocked:
        place: i64 = 0
        for cause in machine.causes:
            strikes = NEVER
            if cause.counts == BY_CLOCK:
                strikes = cause.left if cause.left > line.now else line.now
            elif machine.rate > 0.0 and cause.left < NEVER:
                use = 1.0 if cause.counts == BY_TIME else cause.per * machine.rate
                if use > 0.0:
                    strikes = line.now + cause.left / use if cause.left > 0.0 else line.now
            if strikes < at:
                at = strikes
                due = DUE_CAUSE
                rank = THEN_FAILURES
                machine.due_cause = place
            place += 1
    machine.due = due
    clock.at = at
    line.due_at[clock.place] = at
    if at <= line.now:
        line.crowded = True
    clock.rank = rank + machine.place


def refresh(line: Line, machine: Machine) -> None:
    """After a change: let timers run or rest, set the rate, show the state, find what is due.

    What runs in a segment gets its rate with the others of the segment, when that settles.
    """
    if machine.stop != NO_STOP or machine.stop_running:
        run_stop(line, machine)
    if machine.phase == TIMED or machine.phase == HOLD or machine.task_running:
        run_task(line, machine)
    if machine.discrete:
        machine.rate = machine.nominal * machine.speed_factor if working(machine) else 0.0
        show(line, machine)
        schedule(line, machine)
    else:
        machine.changed = True
        unsettle(line, line.segments[machine.segment])


def unsettle(line: Line, segment: Segment) -> None:
    """Let the segment's rates be worked out anew when all is done that this moment changes."""
    if not segment.dirty:
        segment.dirty = True
        if line.unsettled == 0:
            line.unsettled_first = segment.index
        line.unsettled += 1


def run_stop(line: Line, machine: Machine) -> None:
    """Let the interruption's time run while its own calendar is open."""
    runs = machine.stop != NO_STOP and machine.stop != NO_SET and machine.stop != NO_CREW and machine.stop_calendar.open
    if runs and not machine.stop_running:
        machine.stop_end = line.now + machine.stop_left
        machine.stop_running = True
    elif machine.stop_running and not runs:
        machine.stop_left = machine.stop_end - line.now
        machine.stop_running = False


def run_task(line: Line, machine: Machine) -> None:
    """Let a timed task run while the machine is open and uninterrupted.

    A crane's move once begun is ended, and nobody leaves a roll set with its chocks half fitted.
    """
    runs = machine.phase == TIMED or (machine.phase == HOLD and machine.task == PATIENCE)
    runs = runs and machine.stop == NO_STOP
    if runs and not machine.open:
        runs = machine.task == LOAD or machine.task == UNLOAD or machine.task == FIT
    if runs and not machine.task_running:
        machine.task_end = line.now + machine.task_left
        machine.task_running = True
    elif machine.task_running and not runs:
        machine.task_left = machine.task_end - line.now
        machine.task_running = False


def begin_task(line: Line, machine: Machine, task: i64, reason: i64, lasts: float) -> None:
    """Begin something that takes a time."""
    machine.phase = TIMED
    machine.task = task
    machine.task_reason = reason
    machine.task_left = lasts
    machine.task_running = False
    refresh(line, machine)


def begin_stop(line: Line, machine: Machine, stop: i64, reason: i64, lasts: float, calendar: Calendar) -> None:
    """Interrupt the machine; what it was doing stays where it is."""
    machine.stop = stop
    machine.stop_reason = reason
    machine.stop_running = False
    machine.stop_left = lasts
    machine.stop_calendar = calendar
    refresh(line, machine)


def begin_work(line: Line, machine: Machine, amount: float) -> None:
    """Begin to work `amount`: seconds for a coil at a machine of its own, kilograms or pieces in a flow."""
    machine.phase = WORK
    machine.left = amount
    machine.since = line.now
    refresh(line, machine)


def set_use(machine: Machine, length: float, mass: float, pieces: float) -> None:
    """Say how much of what its causes count each unit of work uses: metres, kilograms, pieces."""
    for cause in machine.causes:
        if cause.counts == BY_LENGTH:
            cause.per = length
        elif cause.counts == BY_MASS:
            cause.per = mass
        elif cause.counts != BY_TIME and cause.counts != BY_CLOCK:
            cause.per = pieces
    machine.rolls.per = length
