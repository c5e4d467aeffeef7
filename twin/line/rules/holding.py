"""Casters that cannot be slowed so far: they hold as long as patience lasts, stand, and are started again."""

from twin.line.rules.showing import SLOW_BELOW
from twin.line.rules.state import (
    HOLD,
    NO_TASK,
    PATIENCE,
    R_NONE,
    R_RESTART,
    RESTART,
    TIMED,
    WORK,
    Line,
    Machine,
    Segment,
)
from twin.line.rules.tools import draw
from twin.line.rules.work import run_task, working


def hold_casters(line: Line, segment: Segment) -> bool:
    """Stop one caster that would have to run slower than it can; tell whether one was stopped."""
    for machine in segment.machines:
        if machine.least <= 0.0 or not working(machine):
            continue
        too_slow = machine.rate < machine.least * SLOW_BELOW
        if machine.task == RESTART or (too_slow and machine.stopped):
            machine.changed = True
            restart_or_wait(line, machine)
            return True
        if machine.held and (too_slow or not kept_up_with(machine)):
            machine.phase = HOLD
            return True
        if too_slow:
            machine.changed = True
            hold(line, machine)
            return True
        machine.stopped = False
        if machine.held:
            machine.changed = True
            go_on_casting(line, machine)
    return False


def try_held(segment: Segment) -> None:
    """Let a cast that is held or stopped by the flow show whether it could run again."""
    for machine in segment.machines:
        if machine.held and machine.phase == HOLD:
            machine.phase = WORK


def kept_up_with(machine: Machine) -> bool:
    """Tell whether those before or behind a held caster, whoever held it, run fast enough for it by now."""
    pace = machine.take.flow_in if machine.lacks else machine.give.flow_out
    return pace >= machine.least * SLOW_BELOW


def go_on_casting(line: Line, machine: Machine) -> None:
    """The hold is over before patience is."""
    machine.held = False
    machine.lacks = False
    machine.task = NO_TASK
    run_task(line, machine)


def restart_or_wait(line: Line, machine: Machine) -> None:
    """Restart a stopped cast once something moves before and behind it, else stand until it does."""
    if machine.rate > 0.0:
        machine.stopped = False
        begin_restart(line, machine)
        return
    machine.held = True
    machine.lacks = machine.starved_by_flow
    machine.phase = HOLD
    machine.task = RESTART
    machine.task_running = False


def hold(line: Line, machine: Machine) -> None:
    """Hold the cast for as long as patience lasts."""
    machine.held = True
    machine.lacks = machine.starved_by_flow
    machine.phase = HOLD
    machine.task = PATIENCE
    machine.task_reason = R_NONE
    machine.task_left = machine.patience
    machine.task_running = False
    run_task(line, machine)


def begin_restart(line: Line, machine: Machine) -> None:
    """Begin to start the caster again; the first metal cast after it is scrap."""
    machine.phase = TIMED
    machine.task = RESTART
    machine.task_reason = R_RESTART
    machine.task_left = draw(line, machine.restart)
    machine.task_running = False
    machine.held = False
    machine.lacks = False
    scrap = draw(line, machine.restart_scrap)
    if scrap > machine.scrap_left:
        machine.scrap_left = scrap
    run_task(line, machine)
