"""Columns of numbers that grow, packed: takes the place of `rules/vectors.py` in the compiled copy.

Eight bytes a number and nothing around it, where a list keeps an object for each.
"""

from collections.abc import Iterable

from librt.vecs import append, extend, vec

Floats = vec[float]


def no_floats() -> Floats:
    """Return an empty column."""
    return vec[float]()


def column_of(numbers: Iterable[float]) -> Floats:
    """Return numbers as a column of its own."""
    return extend(vec[float](), numbers)


def push(column: Floats, value: float) -> Floats:
    """Append a number; what is returned is the column from now on."""
    return append(column, value)
