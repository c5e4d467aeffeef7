"""When orders of one product are filled by what is finished of it: arithmetic on tables of numbers, and no more."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from twin.indicators.intervals import FloatArray

ROUNDING = 1e-9  # a quantity that is short by this share of itself is whole


def filled_s(edges_s: FloatArray, day_kg: FloatArray, need_kg: FloatArray, stock_kg: float = 0.0) -> FloatArray:
    """Return when each order is whole, [runs, orders]; infinite where it is not within the run. [s]

    The orders are served one after the other in the order of their columns, each only when it is whole. What a day
    makes is spread evenly over the day.

    Parameters
    ----------
    edges_s : Where each day begins, and the end of the last, rising, [days + 1]. [s]
    day_kg : What is finished of the product on each day of each run, [runs, days].
    need_kg : What each order takes of it in each run, [runs, orders].
    stock_kg : What lies finished at the first of the edges.
    """
    if len(edges_s) != day_kg.shape[1] + 1:
        raise ValueError(f"{day_kg.shape[1]} days have {day_kg.shape[1] + 1} edges, not {len(edges_s)}")
    made = stock_kg + np.concatenate((np.zeros((len(day_kg), 1)), np.cumsum(day_kg, axis=1)), axis=1)
    needed = np.cumsum(need_kg, axis=1)
    return np.array([_reached(edges_s, made[run], needed[run]) for run in range(len(day_kg))]).reshape(need_kg.shape)


def _reached(edges_s: FloatArray, made: FloatArray, needed: FloatArray) -> FloatArray:
    """Return when a sum that rises along the edges first is as much as each needed one."""
    place = np.searchsorted(made, needed * (1.0 - ROUNDING), side="left")
    after = np.clip(place, 1, len(made) - 1)
    step = made[after] - made[after - 1]
    there = (step > 0.0) & (place > 0) & (place < len(made))
    part = np.divide(needed - made[after - 1], step, out=np.zeros(len(needed)), where=there)
    part = np.clip(part, 0.0, 1.0)
    at = edges_s[after - 1] + part * (edges_s[after] - edges_s[after - 1])
    return np.where(place < len(made), at, np.inf)


def by_due(due_s: Sequence[float]) -> list[int]:
    """Return the places of orders by earliest due date; of two due at once the one that stands first in the file.

    On one machine no other sequence has a smaller greatest lateness.

    References
    ----------
    J. R. Jackson, Scheduling a production line to minimize maximum tardiness, Research Report 43, Management Science
    Research Project, University of California, Los Angeles, 1955 (title from memory).
    """
    return sorted(range(len(due_s)), key=lambda place: due_s[place])
