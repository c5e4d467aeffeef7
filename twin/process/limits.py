"""Refusals that every station shares."""

from math import isfinite


def above_zero(**values: float) -> None:
    """Refuse a quantity that is not a number above zero, by its name.

    Raises
    ------
    ValueError : Names the first quantity at fault.
    """
    for name, value in values.items():
        if not (isfinite(value) and value > 0):
            raise ValueError(f"{name.replace('_', ' ')} is {value:g}, but must be above 0")


def not_negative(**values: float) -> None:
    """Refuse a quantity that is below zero or not a number, by its name.

    Raises
    ------
    ValueError : Names the first quantity at fault.
    """
    for name, value in values.items():
        if not (isfinite(value) and value >= 0):
            raise ValueError(f"{name.replace('_', ' ')} is {value:g}, but must not be below 0")


def share(**values: float) -> None:
    """Refuse a share that is not from 0 up to, but not including, 1.

    Raises
    ------
    ValueError : Names the first share at fault.
    """
    for name, value in values.items():
        if not 0 <= value < 1:
            raise ValueError(f"{name.replace('_', ' ')} is {value:.3%}, but must be from 0 to below 100 %")
