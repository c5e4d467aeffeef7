"""Shapley's shares of a sum that several causes make together: exact over all subsets, or from random orders.

A set of causes is a number whose bit i says whether cause i is in it; its value is one number or one for each run.

References
----------
L. S. Shapley, "A value for n-person games", Contributions to the Theory of Games II (1953), 307-317.
A. F. Shorrocks, "Decomposition procedures for distributional analysis", J. Economic Inequality 11 (2013), 99-126.
(both from memory)
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import factorial

import numpy as np

from twin.indicators.intervals import FloatArray

MOST_EXACT = 12
"""The most causes whose subsets are all worked out: 4096 of them."""

Value = Callable[[int], FloatArray]


@dataclass(frozen=True, slots=True)
class Shares:
    """Shares of causes.

    Attributes
    ----------
    share : Of each cause, [causes] or [causes, runs].
    low, high : The least and the most that each adds over all orders (or those tried), of the mean over runs, [causes].
    """

    share: FloatArray
    low: FloatArray
    high: FloatArray


@lru_cache(maxsize=MOST_EXACT + 1)
def _without(causes: int) -> tuple[FloatArray, FloatArray]:
    """Return for each cause the subsets without it, and their weights in its share: [causes, subsets], [subsets]."""
    subsets = np.arange(1 << causes)
    size = np.array([bin(one).count("1") for one in subsets.tolist()])
    weight = np.array([factorial(k) * factorial(causes - 1 - k) / factorial(causes) for k in range(causes)])
    without = np.array([subsets[subsets & (1 << i) == 0] for i in range(causes)]).reshape(causes, -1)
    return without, weight[size[without[0]]] if causes else np.zeros(0)


def exact(values: FloatArray) -> Shares:
    """Return the exact shares for the values of all subsets.

    Parameters
    ----------
    values : Of each subset, by its number: [2 ** causes] or [2 ** causes, runs].

    Raises
    ------
    ValueError : A length that is no power of two, or more causes than can be worked out.
    """
    causes = len(values).bit_length() - 1
    if len(values) != 1 << causes:
        raise ValueError(f"{len(values)} values are not those of all subsets: give 2, 4, 8 ... of them")
    if causes > MOST_EXACT:
        raise ValueError(f"{causes} causes have too many subsets: take at most {MOST_EXACT}, or random orders")
    own = np.asarray(values, dtype=np.float64)
    if causes == 0:
        empty = np.zeros(0)
        return Shares(np.zeros((0, *own.shape[1:])), empty, empty)
    without, weight = _without(causes)
    shares, low, high = [], [], []
    for i in range(causes):
        added = own[without[i] | (1 << i)] - own[without[i]]
        shares.append(np.tensordot(weight, added, axes=1))
        mean = added if added.ndim == 1 else added.mean(axis=1)
        low.append(mean.min())
        high.append(mean.max())
    return Shares(closed(np.array(shares), own[-1] - own[0]), np.array(low), np.array(high))


def closed(shares: FloatArray, total: FloatArray) -> FloatArray:
    """Return shares whose sum is the total to the last bit that can be: rounding goes to the largest."""
    if not len(shares):
        return shares
    made = np.array(shares, dtype=np.float64)
    largest = np.abs(made).argmax(axis=0)
    rest = total - made.sum(axis=0)
    if made.ndim == 1:
        made[largest] += rest
    else:
        made[largest, np.arange(made.shape[1])] += rest
    return made


def along(value: Value, order: tuple[int, ...]) -> FloatArray:
    """Return what each cause adds when they are switched in one order, [causes, runs]."""
    inside, before = 0, np.asarray(value(0), dtype=np.float64)
    added = np.zeros((len(order), *before.shape))
    for i in order:
        inside |= 1 << i
        after = np.asarray(value(inside), dtype=np.float64)
        added[i] = after - before
        before = after
    return added


def orders(causes: int, pairs: int, seed: int) -> Iterator[tuple[int, ...]]:
    """Yield random orders, each followed by itself turned round, which evens out who comes early."""
    random = np.random.default_rng(seed)
    for _ in range(pairs):
        order = tuple(random.permutation(causes).tolist())
        yield order
        yield order[::-1]


def sampled(value: Value, causes: int, pairs: int, seed: int = 0) -> tuple[Shares, FloatArray]:
    """Return shares from random orders, and their standard errors as far as the orders make them, [causes].

    Parameters
    ----------
    value : Of a subset; asked again for the same subset, it should remember.
    pairs : Orders, each with its reverse; at least 2.
    """
    if pairs < 2:
        raise ValueError(f"{pairs} pairs of orders say nothing of their error: take at least 2")
    added = np.array([along(value, order) for order in orders(causes, pairs, seed)])
    both = added.reshape(pairs, 2, *added.shape[1:]).mean(axis=1)
    mean = added if added.ndim == 2 else added.mean(axis=2)
    of_pairs = both if both.ndim == 2 else both.mean(axis=2)
    error = of_pairs.std(axis=0, ddof=1) / np.sqrt(pairs)
    return Shares(both.mean(axis=0), mean.min(axis=0), mean.max(axis=0)), error
