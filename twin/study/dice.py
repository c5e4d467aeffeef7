"""Random numbers for what is drawn from results: from raw words of the generator, so that they never change."""

from __future__ import annotations

import numpy as np

from twin.indicators.intervals import FloatArray

AS_GOOD = 1e-9  # of the best: nearer than this is the rounding of sums


class Dice:
    """A stream of numbers that depends on the seed and on what it is for, and on nothing else."""

    def __init__(self, seed: int, purpose: str) -> None:
        key = np.array([seed, int.from_bytes(purpose.encode()[:8], "big")], dtype=np.uint64)
        self._words = np.random.Philox(key=key)

    def uniforms(self, rows: int, count: int) -> FloatArray:
        """Return numbers inside (0, 1), never 0 or 1 themselves. [rows, count]"""
        raw = self._words.random_raw(rows * count)
        return ((raw >> np.uint64(12)).astype(float) + 0.5).reshape(rows, count) * 2.0**-52

    def cuts(self, rows: int, runs: int) -> FloatArray:
        """Return, row by row, where 0 to 1 is cut into as many random parts as there are runs. [rows, runs - 1]"""
        return np.sort(self.uniforms(rows, runs - 1), axis=1)

    def weights(self, rows: int, runs: int) -> FloatArray:
        """Return how likely each run may be, as far as so few can tell. [rows, runs]

        References
        ----------
        D. B. Rubin, The Bayesian bootstrap, Annals of Statistics 9 (1981) 130-134.
        """
        ends = np.ones((rows, 1))
        weights: FloatArray = np.diff(self.cuts(rows, runs), axis=1, prepend=0.0 * ends, append=ends)
        return weights

    def normals(self, rows: int) -> FloatArray:
        """Return normal numbers of mean 0 and deviation 1. [rows]"""
        from scipy.special import ndtri

        normal: FloatArray = ndtri(self.uniforms(rows, 1)[:, 0])
        return normal


def best_of(values: FloatArray, least: float = 0.0, *, seed: int = 2026, rows: int = 4000) -> FloatArray:
    """Return with which chance each of several things has the largest mean, and that larger than `least`.

    Things that are exactly as good as each other share the chance.

    Parameters
    ----------
    values : One row a run; the same run must share its random numbers between the columns. [runs, things]
    """
    runs, things = values.shape
    if things == 0:
        return np.zeros(0)
    weights = Dice(seed, "best of").weights(rows, runs) if runs > 1 else np.ones((1, 1))
    means = weights @ values
    best = means.max(axis=1, keepdims=True)
    first = means >= best - AS_GOOD * np.abs(best)
    first &= best > least
    chances: FloatArray = (first / np.maximum(first.sum(axis=1, keepdims=True), 1)).mean(axis=0)
    return chances
