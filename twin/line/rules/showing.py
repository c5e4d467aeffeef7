"""Which state a machine shows: it follows from what the machine does."""

from typing import Final

from twin.line.rules.state import (
    ASKING,
    BLOCKED,
    CHANGING,
    CLOSED,
    DOWN,
    GRINDER,
    HOLD,
    IDLE,
    LOAD,
    NO_CREW,
    NO_SET,
    NO_STOP,
    R_NONE,
    R_REPAIR_CREW,
    R_ROLL_SET,
    REPAIR,
    ROLLS,
    RUNNING,
    SERVICE,
    SETUP,
    STARVED,
    SUPPLY,
    TIMED,
    UNLOAD,
    WAITING,
    WORK,
    Line,
    Machine,
)
from twin.line.rules.tools import set_state

SLOW_BELOW: Final = 0.999999999


def show(line: Line, machine: Machine) -> None:
    """Show the state that follows from what the machine does."""
    if not machine.open:
        set_state(line, machine, CLOSED, R_NONE, False)
    elif machine.stop != NO_STOP:
        show_stop(line, machine)
    elif machine.phase == WORK:
        show_work(line, machine)
    elif machine.phase == TIMED:
        runs = machine.task == LOAD or machine.task == UNLOAD or machine.kind >= GRINDER or machine.kind == SUPPLY
        set_state(line, machine, RUNNING if runs else SETUP, machine.task_reason, machine.refused)
    elif machine.phase == ASKING:
        set_state(line, machine, WAITING, machine.task_reason, False)
    elif machine.phase == HOLD:
        set_state(line, machine, STARVED if machine.lacks else BLOCKED, R_NONE, False)
    elif machine.phase == IDLE:
        set_state(line, machine, STARVED, R_NONE, False)


def show_stop(line: Line, machine: Machine) -> None:
    """Show what interrupts the machine."""
    stop = machine.stop
    if stop == NO_SET:
        set_state(line, machine, WAITING, R_ROLL_SET, False)
    elif stop == NO_CREW:
        set_state(line, machine, WAITING, R_REPAIR_CREW, False)
    elif stop == ROLLS:
        set_state(line, machine, CHANGING, machine.stop_reason, False)
    elif stop == SERVICE:
        set_state(line, machine, SETUP, machine.stop_reason, False)
    elif stop == REPAIR:
        set_state(line, machine, DOWN, machine.stop_reason, False)


def show_work(line: Line, machine: Machine) -> None:
    """Show running, slowed or not, or what holds the flow."""
    if machine.rate > 0.0:
        set_state(line, machine, RUNNING, R_NONE, machine.rate < machine.nominal * SLOW_BELOW)
    elif machine.starved_by_flow:
        set_state(line, machine, STARVED, R_NONE, False)
    else:
        set_state(line, machine, BLOCKED, R_NONE, False)
