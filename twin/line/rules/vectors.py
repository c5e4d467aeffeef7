"""Columns of numbers that grow: plain lists here; `twin.line.packed` takes this place in the compiled copy."""

from collections.abc import Iterable
from typing import TypeAlias

Floats: TypeAlias = list[float]


def no_floats() -> Floats:
    """Return an empty column."""
    return []


def column_of(numbers: Iterable[float]) -> Floats:
    """Return numbers as a column of its own."""
    return [float(number) for number in numbers]


def push(column: Floats, value: float) -> Floats:
    """Append a number; what is returned is the column from now on."""
    column.append(value)
    return column
