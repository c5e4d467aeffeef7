"""The rows of the trace, written one number behind the other: so many for each row of a table."""

from mypy_extensions import i64

from twin.line.rules.state import Coil, Line, Machine, Store
from twin.line.rules.vectors import push


def write_active(line: Line, code: i64) -> None:
    """Note that a machine is in another state now."""
    line.active_rows = push(push(line.active_rows, line.now), float(code))


def write_state(line: Line, machine: Machine) -> None:
    """Write the state that a machine has been in until now."""
    rows = push(push(line.state_rows, float(machine.index)), float(machine.state))
    rows = push(push(rows, float(machine.reason)), 1.0 if machine.slow else 0.0)
    line.state_rows = push(push(rows, machine.state_since), line.now)


def write_level(line: Line, store: Store, level: float, mark: float) -> None:
    """Write what lies in a store now; `mark` tells when a coil that was set down is ready, or what changed."""
    rows = push(push(line.level_rows, float(store.index)), line.now)
    line.level_rows = push(push(rows, level), mark)


def write_scrap(line: Line, machine: Machine, reason: i64, kg: float) -> None:
    """Write what was scrapped."""
    rows = push(push(line.scrap_rows, float(machine.index)), line.now)
    line.scrap_rows = push(push(rows, float(reason)), kg)


def write_output(line: Line, machine: Machine, start: float, coil: Coil, pieces: float, kg: float) -> None:
    """Write what a flow has made since a time of the coil or ring in hand."""
    rows = push(push(line.output_rows, float(machine.index)), start)
    rows = push(push(rows, line.now), float(machine.product))
    rows = push(push(rows, float(coil.number)), pieces)
    line.output_rows = push(push(rows, kg), 1.0 if machine.give.finished else 0.0)


def write_sold(line: Line, machine: Machine, coil: Coil) -> None:
    """Write that a coil or ring was sold."""
    rows = push(push(line.output_rows, float(machine.index)), line.now)
    rows = push(push(rows, line.now), float(coil.product))
    rows = push(push(rows, float(coil.number)), 1.0)
    line.output_rows = push(push(rows, coil.mass), 1.0)


def write_visit(line: Line, machine: Machine, coil: Coil) -> None:
    """Write that a coil was worked here, from when the machine began until now."""
    rows = push(push(push(line.coil_rows, float(coil.number)), float(coil.parent)), float(coil.heat))
    rows = push(push(push(rows, float(coil.pattern)), float(coil.product)), float(machine.index))
    line.coil_rows = push(push(push(rows, machine.began), line.now), coil.mass)
