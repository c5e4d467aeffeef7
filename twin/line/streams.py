"""Random numbers as a pure function of (seed, run, name of the stream, occurrence), and laws as inverse transforms.

Every cause has a stream of its own, so that a changed option leaves every other draw as it was, and numbers are made
in blocks: uniform ones, which a law then scales. The generator is counter-based: Philox-4x32-10 of
J. K. Salmon, M. A. Moraes, R. O. Dror and D. E. Shaw, Parallel random numbers: as easy as 1, 2, 3 (SC11, 2011).
"""

import hashlib
import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from twin.line.normal import Floats, normal_quantile
from twin.scenario.laws import (
    Constant,
    Empirical,
    Exponential,
    Gamma,
    Law,
    Lognormal,
    Mixture,
    Normal,
    Triangular,
    Uniform,
    Weibull,
)

Words = NDArray[np.uint64]

_LOW = np.uint64(0xFFFFFFFF)
_SHIFT = np.uint64(32)
_M0 = np.uint64(0xD2511F53)
_M1 = np.uint64(0xCD9E8D57)
_W0 = np.uint64(0x9E3779B9)
_W1 = np.uint64(0xBB67AE85)
_ROUNDS = 10


def philox(counter: tuple[Words, Words, Words, Words], key: tuple[Words, Words]) -> tuple[Words, Words, Words, Words]:
    """Return four 32-bit words for each counter and key, arrays of one length (Philox-4x32-10)."""
    c0, c1, c2, c3 = (words.copy() for words in counter)
    k0, k1 = (words.copy() for words in key)
    product0, product1 = np.empty_like(c0), np.empty_like(c0)
    for _ in range(_ROUNDS):  # all in place: fresh arrays would cost more than the sums
        np.multiply(c0, _M0, out=product0)
        np.multiply(c2, _M1, out=product1)
        np.right_shift(product1, _SHIFT, out=c0)
        c0 ^= c1
        c0 ^= k0
        np.right_shift(product0, _SHIFT, out=c2)
        c2 ^= c3
        c2 ^= k1
        np.bitwise_and(product1, _LOW, out=c1)
        np.bitwise_and(product0, _LOW, out=c3)
        for word, step in ((k0, _W0), (k1, _W1)):
            word += step
            word &= _LOW
    return c0, c1, c2, c3


@lru_cache(maxsize=65536)
def stream_key(seed: int, name: str) -> tuple[int, int]:
    """Return the two 32-bit key words of a stream: the first eight bytes of a hash of seed and name."""
    digest = hashlib.sha256(f"{seed}/{name}".encode()).digest()
    return int.from_bytes(digest[:4], "little"), int.from_bytes(digest[4:8], "little")


class Source:
    """Where the numbers of a stream come from: its name and the law that they follow."""

    __slots__ = ("law", "name")

    def __init__(self, name: str, law: Law) -> None:
        self.name = name
        self.law = law


@lru_cache(maxsize=65536)
def source(name: str, law: Law) -> Source:
    """Return the one source of a name and a law; sources of equal laws share the object of their law."""
    return Source(name, _one_of(law))


@lru_cache(maxsize=65536)
def _one_of(law: Law) -> Law:
    """Return the first of all laws that are equal to this one."""
    return law


class Wanted(NamedTuple):
    """Numbers `start` to `end` of a source in one run; both are even, as each counter gives two numbers of 53 bits."""

    run: int
    source: Source
    start: int
    end: int


def drawn(seed: int, wanted: Sequence[Wanted]) -> Floats:
    """Return the uniform numbers in (0, 1) of sources, one behind the other; many cost hardly more than one."""
    runs, names, starts, ends = zip(*((own.run, own.source.name, own.start, own.end) for own in wanted), strict=True)
    return _numbers(seed, runs, names, starts, ends)


def uniforms(seed: int, run: int, names: Sequence[str], start: int, count: int) -> Floats:
    """Return uniform numbers of the streams of one run, one row a stream: `start` to `start + count` of each."""
    rows = len(names)
    numbers = _numbers(seed, [run] * rows, names, [start] * rows, [start + count] * rows)
    return numbers.reshape(rows, count)


def _numbers(
    seed: int, runs: Sequence[int], names: Sequence[str], starts: Sequence[int], ends: Sequence[int]
) -> Floats:
    """Return the uniform numbers from an even place to another of each stream in its run, one behind the other."""
    first = np.array(starts) // 2
    pairs = np.array(ends) // 2 - first
    keys = np.array([stream_key(seed, name) for name in names], dtype=np.uint64).repeat(pairs, axis=0)
    run = np.array(runs, dtype=np.uint64).repeat(pairs)
    blocks = (np.arange(pairs.sum()) + (first + pairs - np.cumsum(pairs)).repeat(pairs)).astype(np.uint64)
    counter = (blocks & _LOW, blocks >> _SHIFT, run & _LOW, run >> _SHIFT)
    return _in_pairs(philox(counter, (keys[:, 0], keys[:, 1])))


def _in_pairs(words: tuple[Words, Words, Words, Words]) -> Floats:
    """Return the two numbers that each counter's four words give, one behind the other."""
    result = np.empty(2 * len(words[0]))
    result[0::2] = _unit(words[0], words[1])
    result[1::2] = _unit(words[2], words[3])
    return result


def _unit(high: Words, low: Words) -> Floats:
    """Make 53-bit numbers in the open unit interval of two words each."""
    whole = ((high >> np.uint64(5)) << np.uint64(26)) | (low >> np.uint64(6))
    result: Floats = (whole.astype(np.float64) + 0.5) * 2.0**-53
    return result


def scale(law: Law, unit: Floats) -> Floats:
    """Return the law's numbers for uniform ones, by its inverse distribution function: larger for larger."""
    return _INVERSES[type(law)](law, unit)


def _constant(law: Constant, unit: Floats) -> Floats:
    return np.full_like(unit, law.value)


def _exponential(law: Exponential, unit: Floats) -> Floats:
    return law.mean * -np.log1p(-unit)


def _uniform(law: Uniform, unit: Floats) -> Floats:
    return law.low + (law.high - law.low) * unit


def _triangular(law: Triangular, unit: Floats) -> Floats:
    width = law.high - law.low
    if width <= 0.0:
        return np.full_like(unit, law.low)
    rise = (law.mode - law.low) / width
    left = law.low + np.sqrt(unit * width * (law.mode - law.low))
    right = law.high - np.sqrt((1.0 - unit) * width * (law.high - law.mode))
    return np.where(unit < rise, left, right)


def _normal(law: Normal, unit: Floats) -> Floats:
    """Truncate at 0 by drawing only from the part of the law above it."""
    if law.sd <= 0.0:
        return np.full_like(unit, law.mean)
    below = 0.5 * math.erfc(law.mean / law.sd / math.sqrt(2.0))
    return np.maximum(law.mean + law.sd * normal_quantile(below + (1.0 - below) * unit), 0.0)


def _lognormal(law: Lognormal, unit: Floats) -> Floats:
    variance = math.log(1.0 + law.cv * law.cv)
    result: Floats = law.mean * np.exp(math.sqrt(variance) * normal_quantile(unit) - 0.5 * variance)
    return result


def _gamma(law: Gamma, unit: Floats) -> Floats:
    if law.cv <= 0.0:
        return np.full_like(unit, law.mean)
    shape = 1.0 / (law.cv * law.cv)
    if shape < _LEAST_SHAPE:
        from scipy.special import gammaincinv

        return np.asarray(law.mean / shape * gammaincinv(shape, unit), dtype=np.float64)
    root = _between(_gamma_roots(shape), (normal_quantile(unit) + _FAR) * _STEPS)
    return law.mean * root * root * root


_LEAST_SHAPE = 0.3
_FAR = 9.0
_STEPS = 128.0


@lru_cache(maxsize=256)
def _gamma_roots(shape: float) -> Floats:
    """Return the cube root of the gamma law over its mean, at even steps of the normal quantile.

    After E. B. Wilson and M. M. Hilferty, The distribution of chi-square, PNAS 17 (1931) 684-688, this is all but a
    straight line, so that values between can be had from four neighbours to better than 1e-8 of the mean.
    """
    from scipy.special import gammainccinv, gammaincinv, ndtr

    normal = np.arange(-_FAR, _FAR + 0.5 / _STEPS, 1.0 / _STEPS)
    lower = gammaincinv(shape, ndtr(normal))
    upper = gammainccinv(shape, ndtr(-normal))
    return np.asarray(np.cbrt(np.where(normal < 0.0, lower, upper) / shape), dtype=np.float64)


def _between(table: Floats, place: Floats) -> Floats:
    """Return values between the entries of a table by the cubic through the four nearest."""
    left = np.clip(place.astype(np.int64), 1, len(table) - 3)
    t = place - left
    before, after, beyond = t + 1.0, t - 1.0, t - 2.0
    result: Floats = (
        table[left] * (before * after * beyond) / 2.0
        - table[left + 1] * (t * before * beyond) / 2.0
        - table[left - 1] * (t * after * beyond) / 6.0
        + table[left + 2] * (t * before * after) / 6.0
    )
    return result


def _weibull(law: Weibull, unit: Floats) -> Floats:
    result: Floats = law.scale * (-np.log1p(-unit)) ** (1.0 / law.shape)
    return result


def _empirical(law: Empirical, unit: Floats) -> Floats:
    values = np.sort(np.asarray(law.values, dtype=np.float64))
    place = np.minimum((unit * len(values)).astype(np.int64), len(values) - 1)
    return values[place]


def _mixture(law: Mixture, unit: Floats) -> Floats:
    """One uniform number chooses the part and, stretched over that part's share, the place within it."""
    result = np.empty_like(unit)
    floor = 0.0
    for number, (weight, part) in enumerate(law.parts):
        last = number == len(law.parts) - 1
        chosen = (unit >= floor) & ((unit < floor + weight) | last)
        within = np.clip((unit[chosen] - floor) / weight, 2.0**-54, 1.0 - 2.0**-53)
        result[chosen] = scale(part, within)
        floor += weight
    return result


_INVERSES: dict[type, Callable[..., Floats]] = {
    Constant: _constant,
    Exponential: _exponential,
    Uniform: _uniform,
    Triangular: _triangular,
    Normal: _normal,
    Lognormal: _lognormal,
    Gamma: _gamma,
    Weibull: _weibull,
    Empirical: _empirical,
    Mixture: _mixture,
}
