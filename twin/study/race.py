"""Which of several designs is the best, found while their runs are still being made.

The procedure is that of `selection`, fed with whole blocks of runs: each new run of all that are left is looked at in
turn, as if it had come alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.study.selection import kim_nelson_constants


@dataclass(slots=True)
class Race:
    """Designs that are run side by side until one is left.

    Attributes
    ----------
    difference : The smallest difference worth finding, in the unit of the values.
    error : Chance of a wrong choice that is allowed.
    first_runs : Runs from which the scatter of the differences is learnt.
    left : Designs that may still be the best; all of them before the first look.
    """

    difference: float
    error: float = 0.05
    first_runs: int = 10
    left: list[int] = field(default_factory=list)
    _seen: int = 0
    _spread2: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))

    def look(self, values: Sequence[FloatArray]) -> list[int]:
        """Take in all runs made so far and return which designs are left.

        `values` has the runs of each design; those that are left must have equally many.
        """
        if not self._seen:
            self._begin(values)
        runs = min(values[i].size for i in self.left)
        if self.first_runs < 2:  # one run shows no scatter
            return self.left
        h2 = kim_nelson_constants(len(values), self.first_runs, self.error).h2 if len(values) > 1 else 0.0
        for run in range(max(self._seen, self.first_runs), runs + 1):
            if len(self.left) == 1:
                break
            self._drop(values, run, h2)
        self._seen = runs + 1
        return self.left

    def _begin(self, values: Sequence[FloatArray]) -> None:
        """Learn the scatter of the differences from the first runs."""
        if not self.difference > 0.0:
            raise ValueError(f"the smallest difference worth finding must be above 0, not {self.difference:g}")
        self.first_runs = min(self.first_runs, *(one.size for one in values)) if values else 0
        self.left = list(range(len(values)))
        first = np.array([one[: self.first_runs] for one in values])
        off = first[:, None, :] - first[None, :, :]
        self._spread2 = off.var(axis=2, ddof=1) if self.first_runs > 1 else np.zeros(off.shape[:2])

    def _drop(self, values: Sequence[FloatArray], runs: int, h2: float) -> None:
        """Leave out what is clearly worse than another design after so many runs."""
        means = {i: float(values[i][:runs].mean()) for i in self.left}
        unsure = (h2 * self._spread2 / self.difference**2 - runs) * self.difference / (2.0 * runs)
        slack = np.maximum(0.0, unsure)
        self.left = [i for i in self.left if all(means[i] >= means[j] - slack[i, j] for j in self.left if j != i)]


def looks(first: int, runs: int) -> list[int]:
    """Return after how many runs there is another look: each time four times as many, the last time all."""
    return [*(n for n in (first * 4**i for i in range(1, 8)) if 2 * n <= runs), runs]
