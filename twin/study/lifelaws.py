"""Laws of a life: how it is spread, how long it lasts on average, and how likely it ends soon."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import astuple, dataclass, fields
from math import exp, gamma, log, pi, sqrt
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class LifeLaw(ABC):
    """A law of positive lives, in whatever unit the lives were counted (km, hours, tonnes)."""

    name: ClassVar[str]

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if not 0.0 < value < float("inf"):
                raise ValueError(f"the {field.name} of a {self.name} life is {value:g}, but must be above 0")

    @property
    def parameters(self) -> dict[str, float]:
        """Return the parameters by name."""
        return {field.name: getattr(self, field.name) for field in fields(self)}

    @property
    @abstractmethod
    def mean(self) -> float:
        """Return the mean life."""

    @property
    @abstractmethod
    def deviation(self) -> float:
        """Return the standard deviation of the life."""

    @property
    @abstractmethod
    def wears_out(self) -> bool:
        """Return whether the hazard rises for ever: only then an old one is always nearer its end than a new one."""

    @abstractmethod
    def log_density(self, life: FloatArray) -> FloatArray:
        """Return the logarithm of the density."""

    @abstractmethod
    def log_survival(self, life: FloatArray) -> FloatArray:
        """Return the logarithm of the share that lives longer."""

    @abstractmethod
    def partial_mean(self, life: FloatArray) -> FloatArray:
        """Return the mean over all lives, those that last longer counted as nothing."""

    @abstractmethod
    def quantile(self, share: float) -> float:
        """Return the life that this share does not reach."""

    def survival(self, life: FloatArray) -> FloatArray:
        """Return the share that lives longer [1]."""
        return np.asarray(np.exp(self.log_survival(life)))

    def failed(self, life: FloatArray) -> FloatArray:
        """Return the share whose life has ended [1]."""
        return np.asarray(-np.expm1(self.log_survival(life)))

    def hazard(self, life: FloatArray) -> FloatArray:
        """Return the ends a unit of life, of those that have lived so long."""
        return np.asarray(np.exp(self.log_density(life) - self.log_survival(life)))

    def mean_until(self, life: FloatArray) -> FloatArray:
        """Return the mean of the lives when each is cut short at this one."""
        return np.asarray(life * self.survival(life) + self.partial_mean(life))

    def fails_within(self, age: float, more: float) -> float:
        """Return the chance that one which has lived so long ends within so much more [1]."""
        both = self.log_survival(np.array([age, age + more]))
        return float(-np.expm1(both[1] - both[0]))


@dataclass(frozen=True)
class ExponentialLife(LifeLaw):
    """No wear: an old one is as good as new."""

    scale: float
    name: ClassVar[str] = "exponential"

    @property
    def mean(self) -> float:
        """Return the mean life."""
        return self.scale

    @property
    def deviation(self) -> float:
        """Return the standard deviation of the life."""
        return self.scale

    @property
    def wears_out(self) -> bool:
        """Return that it does not."""
        return False

    def log_density(self, life: FloatArray) -> FloatArray:
        """Return the logarithm of the density."""
        return np.asarray(-life / self.scale - log(self.scale))

    def log_survival(self, life: FloatArray) -> FloatArray:
        """Return the logarithm of the share that lives longer."""
        return np.asarray(-life / self.scale)

    def partial_mean(self, life: FloatArray) -> FloatArray:
        """Return the mean over all lives, those that last longer counted as nothing."""
        return np.asarray(self.scale * self.failed(life) - life * self.survival(life))

    def quantile(self, share: float) -> float:
        """Return the life that this share does not reach."""
        return -self.scale * log(1.0 - share)


@dataclass(frozen=True)
class WeibullLife(LifeLaw):
    """Wears out when its shape is above 1."""

    shape: float
    scale: float
    name: ClassVar[str] = "weibull"

    @property
    def mean(self) -> float:
        """Return the mean life."""
        return self.scale * gamma(1.0 + 1.0 / self.shape)

    @property
    def deviation(self) -> float:
        """Return the standard deviation of the life."""
        return self.scale * sqrt(gamma(1.0 + 2.0 / self.shape) - gamma(1.0 + 1.0 / self.shape) ** 2)

    @property
    def wears_out(self) -> bool:
        """Return whether the hazard rises."""
        return self.shape > 1.0

    def log_density(self, life: FloatArray) -> FloatArray:
        """Return the logarithm of the density."""
        with np.errstate(over="ignore", divide="ignore"):
            logs = np.log(life / self.scale)
            return np.asarray(log(self.shape / self.scale) + (self.shape - 1.0) * logs - np.exp(self.shape * logs))

    def log_survival(self, life: FloatArray) -> FloatArray:
        """Return the logarithm of the share that lives longer."""
        with np.errstate(over="ignore"):
            return np.asarray(-((life / self.scale) ** self.shape))

    def partial_mean(self, life: FloatArray) -> FloatArray:
        """Return the mean over all lives, those that last longer counted as nothing."""
        from scipy.special import gammainc

        return np.asarray(self.mean * gammainc(1.0 + 1.0 / self.shape, -self.log_survival(life)))

    def quantile(self, share: float) -> float:
        """Return the life that this share does not reach."""
        return float(self.scale * (-log(1.0 - share)) ** (1.0 / self.shape))


@dataclass(frozen=True)
class GammaLife(LifeLaw):
    """Wears out when its shape is above 1, but ever more slowly."""

    shape: float
    scale: float
    name: ClassVar[str] = "gamma"

    @property
    def mean(self) -> float:
        """Return the mean life."""
        return self.shape * self.scale

    @property
    def deviation(self) -> float:
        """Return the standard deviation of the life."""
        return sqrt(self.shape) * self.scale

    @property
    def wears_out(self) -> bool:
        """Return whether the hazard rises."""
        return self.shape > 1.0

    def log_density(self, life: FloatArray) -> FloatArray:
        """Return the logarithm of the density."""
        from scipy.special import gammaln

        with np.errstate(divide="ignore"):
            logs = np.log(life / self.scale)
        return np.asarray((self.shape - 1.0) * logs - life / self.scale - gammaln(self.shape) - log(self.scale))

    def log_survival(self, life: FloatArray) -> FloatArray:
        """Return the logarithm of the share that lives longer."""
        from scipy.special import gammaincc

        with np.errstate(divide="ignore"):
            return np.asarray(np.log(gammaincc(self.shape, life / self.scale)))

    def partial_mean(self, life: FloatArray) -> FloatArray:
        """Return the mean over all lives, those that last longer counted as nothing."""
        from scipy.special import gammainc

        return np.asarray(self.mean * gammainc(self.shape + 1.0, life / self.scale))

    def quantile(self, share: float) -> float:
        """Return the life that this share does not reach."""
        from scipy.special import gammaincinv

        return float(self.scale * gammaincinv(self.shape, share))


@dataclass(frozen=True)
class LognormalLife(LifeLaw):
    """Its logarithm is normal: the hazard rises, then falls for the few that live very long."""

    median: float
    sigma: float
    name: ClassVar[str] = "lognormal"

    @property
    def mean(self) -> float:
        """Return the mean life."""
        return self.median * exp(self.sigma**2 / 2.0)

    @property
    def deviation(self) -> float:
        """Return the standard deviation of the life."""
        return self.mean * sqrt(exp(self.sigma**2) - 1.0)

    @property
    def wears_out(self) -> bool:
        """Return that it does not for ever: the hazard of the longest lives falls."""
        return False

    def log_density(self, life: FloatArray) -> FloatArray:
        """Return the logarithm of the density."""
        with np.errstate(divide="ignore"):
            logs = np.log(life)
        normal = (logs - log(self.median)) / self.sigma
        return np.asarray(-(normal**2) / 2.0 - log(self.sigma * sqrt(2.0 * pi)) - logs)

    def log_survival(self, life: FloatArray) -> FloatArray:
        """Return the logarithm of the share that lives longer."""
        from scipy.special import log_ndtr

        with np.errstate(divide="ignore"):
            return np.asarray(log_ndtr(-np.log(life / self.median) / self.sigma))

    def partial_mean(self, life: FloatArray) -> FloatArray:
        """Return the mean over all lives, those that last longer counted as nothing."""
        from scipy.special import ndtr

        with np.errstate(divide="ignore"):
            return np.asarray(self.mean * ndtr(np.log(life / self.median) / self.sigma - self.sigma))

    def quantile(self, share: float) -> float:
        """Return the life that this share does not reach."""
        from scipy.special import ndtri

        return float(self.median * exp(self.sigma * float(ndtri(share))))


LAWS: dict[str, type[LifeLaw]] = {law.name: law for law in (ExponentialLife, WeibullLife, LognormalLife, GammaLife)}


def life_law(name: str, *parameters: float) -> LifeLaw:
    """Return a law by name: exponential (scale), weibull and gamma (shape, scale), lognormal (median, sigma).

    Raises
    ------
    ValueError : No such law, or a parameter that is not above 0.
    """
    if name not in LAWS:
        raise ValueError(f"no law of lives is called {name}: choose {', '.join(LAWS)}")
    return LAWS[name](*parameters)


def values(law: LifeLaw) -> tuple[float, ...]:
    """Return the parameters in their order."""
    return tuple(float(value) for value in astuple(law))
