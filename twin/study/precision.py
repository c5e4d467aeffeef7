"""When are the runs enough? The half-width must be small, and stay so for a while.

References
----------
K. Hoad, S. Robinson, R. Davies, Automated selection of the number of replications for a discrete-event
simulation, Journal of the Operational Research Society 61 (2010) 1632-1644.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from twin.indicators.intervals import LEVEL, FloatArray, t_quantile

FIRST_RUNS = 20  # before so many, agreement is too often luck
LOOK_AHEAD = 5


def look_ahead(runs: int) -> int:
    """Return for how many more runs the precision must hold: 5, beyond 100 runs one in twenty."""
    return LOOK_AHEAD if runs <= 100 else LOOK_AHEAD * runs // 100


def relative_half_widths(values: FloatArray, level: float = LEVEL) -> FloatArray:
    """Return, after each run, the half-width of the mean so far as a share of that mean; the first is infinite."""
    count = np.arange(1, values.size + 1)
    shift = float(values[0]) if values.size else 0.0
    off = values - shift
    mean = np.cumsum(off) / count
    squares = np.maximum(np.cumsum(off * off) - count * mean * mean, 0.0)
    t = np.array([np.inf if n < 2 else t_quantile(0.5 + level / 2.0, n - 1) for n in count.tolist()])
    with np.errstate(invalid="ignore", divide="ignore"):
        half = t * np.sqrt(squares / np.maximum(count - 1, 1) / count)
        share: FloatArray = np.where(count < 2, np.inf, np.where(half == 0.0, 0.0, half / np.abs(mean + shift)))
    return share


def runs_enough(
    values: FloatArray, precision: float, *, level: float = LEVEL, first_runs: int = FIRST_RUNS
) -> int | None:
    """Return how many of these runs are enough, look-ahead included; None if more must be made.

    `precision` is the half-width asked for as a share of the mean. The answer depends on the runs alone,
    not on how many of them come at a time, so that any number of workers stops at the same run.
    """
    good = relative_half_widths(values, level) <= precision
    for runs in _candidates(good, first_runs):
        end = runs + look_ahead(runs)
        if end > values.size:
            return None
        if bool(good[runs - 1 : end].all()):
            return end
    return None


def _candidates(good: NDArray[np.bool_], first_runs: int) -> list[int]:
    """Return the numbers of runs at which the precision is newly reached."""
    start = good[first_runs - 1 :]
    newly = start & ~np.concatenate(([False], start[:-1])) if start.size else start
    return (np.flatnonzero(newly) + first_runs).tolist()
