"""How long a cumulative sum runs until it raises an alarm: with cause, and without.

A one-sided sum is S = max(0, S + z - slack) of standard normal scores z, and raises an alarm above its limit. Its mean
run length solves an integral equation; here by quadrature at the nodes of Gauss and Legendre.

References
----------
E. S. Page, Biometrika 41 (1954) 100-115. A. L. Goel, S. M. Wu, Technometrics 13 (1971) 221-230: the equation solved
by quadrature. J. M. Lucas, R. B. Crosier, Technometrics 24 (1982) 199-205: two sides, and tables.
"""

from __future__ import annotations

from functools import lru_cache
from math import sqrt, tau

import numpy as np

from twin.indicators.intervals import FloatArray

NODES = 40
LONGEST = 64.0  # of a limit that is looked for


def run_length(slack: float, limit: float, shift: float = 0.0, *, spread: float = 1.0) -> float:
    """Return the mean number of days until a two-sided sum that begins at 0 raises an alarm.

    Parameters
    ----------
    slack : What each day takes off the sum: half the shift to be found. [sd]
    limit : Above it an alarm is raised. [sd]
    shift : How far the days lie from where they should. [sd]
    spread : How much wider the days are spread than the forecasts say; 1 if these are right.
    """
    up = one_sided(slack, limit, shift, spread=spread)
    down = one_sided(slack, limit, -shift, spread=spread)
    return 1.0 / (1.0 / up + 1.0 / down)


def one_sided(slack: float, limit: float, shift: float = 0.0, *, spread: float = 1.0, nodes: int = NODES) -> float:
    """Return the mean number of days until a sum of one side that begins at 0 raises an alarm."""
    from scipy.special import ndtr

    if not (limit > 0.0 and spread > 0.0):
        raise ValueError(f"a limit and a spread must be above 0, not {limit:g} and {spread:g}")
    at, weight = _nodes(nodes)
    at, weight = (at + 1.0) * limit / 2.0, weight * limit / 2.0
    begin = np.concatenate([[0.0], at])  # the sum rests at 0, or is somewhere up to the limit
    to_zero = ndtr((slack - shift - begin) / spread)
    step = (at[None, :] + slack - shift - begin[:, None]) / spread
    to_node = weight * np.exp(-0.5 * step * step) / (spread * sqrt(tau))
    moves = np.column_stack([to_zero, to_node])
    return float(np.linalg.solve(np.eye(begin.size) - moves, np.ones(begin.size))[0])


@lru_cache(maxsize=64)
def limit_for(slack: float, days: float) -> float:
    """Return the limit with which a two-sided sum raises one false alarm in so many days on average."""
    if not 2.0 <= days <= 1e6:
        raise ValueError(f"one false alarm in {days:g} days cannot be asked for: give 2 to 1 000 000 days")
    low, high = 0.0, 1.0
    while run_length(slack, high) < days:
        low, high = high, 2.0 * high
        if high > LONGEST:
            raise ValueError(f"with a slack of {slack:g} no limit makes false alarms that rare: give a larger slack")
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if run_length(slack, middle) < days else (low, middle)
    return 0.5 * (low + high)


@lru_cache(maxsize=8)
def _nodes(count: int) -> tuple[FloatArray, FloatArray]:
    at, weight = np.polynomial.legendre.leggauss(count)
    return at, weight
