"""Which of several designs is the best, with a promised chance of being right.

References
----------
S.-H. Kim, B. L. Nelson, A fully sequential procedure for indifference-zone selection in simulation,
ACM Transactions on Modeling and Computer Simulation 11 (2001) 251-273.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from twin.indicators.intervals import FloatArray


class Constants(NamedTuple):
    """The two constants of the procedure, for c = 1."""

    eta: float
    h2: float


class Choice(NamedTuple):
    """The chosen design, the runs that each design was given, and whether the limit of runs ended it."""

    best: int
    runs: tuple[int, ...]
    cut_short: bool


def kim_nelson_constants(designs: int, first_runs: int, error: float) -> Constants:
    """Return eta and h squared for a chance of at most `error` to choose wrongly.

    They hold for independent runs and for common random numbers.
    """
    if designs < 2 or first_runs < 2:
        raise ValueError(f"a choice needs 2 designs and 2 first runs of each, not {designs} and {first_runs}")
    if not 0.0 < error < 1.0 - 1.0 / designs:
        raise ValueError(f"the chance of a wrong choice must lie between 0 and {1 - 1 / designs:g}, not {error:g}")
    eta = 0.5 * ((2.0 * error / (designs - 1)) ** (-2.0 / (first_runs - 1)) - 1.0)
    return Constants(eta, 2.0 * eta * (first_runs - 1))


def select_best(
    value: Callable[[int, int], float],
    designs: int,
    *,
    difference: float,
    error: float = 0.05,
    first_runs: int = 10,
    most_runs: int = 100_000,
) -> Choice:
    """Return the design with the largest mean, right with a chance of 1 - `error`.

    Parameters
    ----------
    value : Gives the number of a design in a run; the same run may share random numbers between designs.
    difference : The smallest difference worth finding, in the unit of the values: among designs nearer to
        the best than this any may be chosen.
    """
    if not difference > 0.0:
        raise ValueError(f"the smallest difference worth finding must be above 0, not {difference:g}")
    h2 = kim_nelson_constants(designs, first_runs, error).h2
    made = np.array([[value(i, run) for run in range(first_runs)] for i in range(designs)])
    spread2 = _difference_variances(made)
    total, left, runs = made.sum(axis=1), list(range(designs)), np.full(designs, first_runs)
    run = first_runs
    while True:
        left = _survivors(left, total / run, spread2, h2=h2, difference=difference, runs=run)
        if len(left) == 1 or run >= most_runs:
            best = max(left, key=lambda i: float(total[i]))
            return Choice(best, tuple(runs.tolist()), len(left) > 1)
        for i in left:
            total[i] += value(i, run)
            runs[i] += 1
        run += 1


def _difference_variances(made: FloatArray) -> FloatArray:
    """Return the variance of the difference of each two designs over the first runs."""
    off = made[:, None, :] - made[None, :, :]
    variances: FloatArray = off.var(axis=2, ddof=1)
    return variances


def _survivors(
    left: list[int], mean: FloatArray, spread2: FloatArray, *, h2: float, difference: float, runs: int
) -> list[int]:
    """Return the designs that are not yet clearly worse than another one."""
    slack = np.maximum(0.0, (h2 * spread2 / difference**2 - runs) * difference / (2.0 * runs))
    return [i for i in left if all(mean[i] >= mean[j] - slack[i, j] for j in left if j != i)]
