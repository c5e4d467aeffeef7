"""Random durations, distances and counts: the laws a scenario may name, with their parameters in SI."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Constant:
    """Always the same value."""

    value: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return self.value


@dataclass(frozen=True, slots=True)
class Exponential:
    """Without memory: what has passed says nothing about what comes."""

    mean: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return self.mean


@dataclass(frozen=True, slots=True)
class Uniform:
    """Anything from ``low`` to ``high``, all alike."""

    low: float
    high: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return (self.low + self.high) / 2.0


@dataclass(frozen=True, slots=True)
class Triangular:
    """Least, most likely and greatest value."""

    low: float
    mode: float
    high: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return (self.low + self.mode + self.high) / 3.0


@dataclass(frozen=True, slots=True)
class Normal:
    """Normal with mean and standard deviation before the negative part is cut off."""

    mean: float
    sd: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law after the cut at 0, in SI (N. L. Johnson, S. Kotz, Distributions, from memory)."""
        if self.sd == 0.0:
            return self.mean
        cut = -self.mean / self.sd
        density = math.exp(-0.5 * cut * cut) / math.sqrt(2.0 * math.pi)
        return self.mean + self.sd * density / (0.5 * math.erfc(cut / math.sqrt(2.0)))


@dataclass(frozen=True, slots=True)
class Lognormal:
    """Lognormal with mean and coefficient of variation of the value itself, not of its logarithm."""

    mean: float
    cv: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return self.mean


@dataclass(frozen=True, slots=True)
class Gamma:
    """Gamma with mean and coefficient of variation."""

    mean: float
    cv: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return self.mean


@dataclass(frozen=True, slots=True)
class Weibull:
    """Weibull: with a shape above 1 the hazard grows with age, as for what wears out."""

    shape: float
    scale: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return self.scale * math.gamma(1.0 + 1.0 / self.shape)


@dataclass(frozen=True, slots=True)
class Empirical:
    """One of the observed values, all alike."""

    values: tuple[float, ...]
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return math.fsum(self.values) / len(self.values)


@dataclass(frozen=True, slots=True)
class Mixture:
    """One of several laws, drawn by weight; the weights add up to 1."""

    parts: tuple[tuple[float, Law], ...]
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return math.fsum(weight * law.average for weight, law in self.parts)


Law = Constant | Exponential | Uniform | Triangular | Normal | Lognormal | Gamma | Weibull | Empirical | Mixture

PARAMETERS: dict[str, type[Exponential | Uniform | Triangular | Normal | Lognormal | Gamma | Weibull]] = {
    law.__name__.lower(): law for law in (Exponential, Uniform, Triangular, Normal, Lognormal, Gamma, Weibull)
}
NAMES = (*PARAMETERS, "empirical", "mixture")


def is_law(value: object) -> bool:
    """Tell whether a raw value is written as a law: a mapping of one known law's name."""
    return isinstance(value, Mapping) and len(value) == 1 and next(iter(value)) in NAMES
