"""How long rolls live, learned from records in which most sets came off before they were damaged.

A set that was changed undamaged has lived at least so long: it counts as cut short (right censored), never as a life
and never as nothing. Leaving such sets out makes rolls look far worse than they are.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import compress
from math import exp, inf, log, sqrt

import numpy as np

from twin.scenario import laws
from twin.study.lifelaws import (
    LAWS,
    ExponentialLife,
    FloatArray,
    GammaLife,
    LifeLaw,
    LognormalLife,
    WeibullLife,
    life_law,
    values,
)

# Above this no roll's shape is believed: all would be damaged within a few per cent of the same life.
_STEEPEST = 100.0
_WIDEST = 12.0  # how far, in logarithms, the end of an interval is looked for


@dataclass(frozen=True)
class Lives:
    """Lives seen to their end (by damage) and lives cut short (changed undamaged), in one unit."""

    ended: tuple[float, ...]
    cut_short: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        for life in self.ended + self.cut_short:
            if not 0.0 < life < inf:
                raise ValueError(f"a life of {life:g} cannot be: leave out sets that never ran, check the unit")

    @property
    def exposure(self) -> float:
        """Return the sum of all lives, ended or not."""
        return sum(self.ended) + sum(self.cut_short)


@dataclass(frozen=True)
class Fit:
    """A law fitted to lives by maximum likelihood; the lower the AIC, the better it tells them."""

    law: LifeLaw
    log_likelihood: float

    @property
    def aic(self) -> float:
        """Return Akaike's criterion."""
        return 2.0 * len(self.law.parameters) - 2.0 * self.log_likelihood


@dataclass(frozen=True)
class Range:
    """An interval of a parameter; an end is infinite (or 0) where the records do not bound it."""

    low: float
    high: float


def lives_from(lives: Iterable[float], reasons: Iterable[str], *, damage: str = "damage") -> Lives:
    """Return the lives of a roll log: those that came off for damage have ended, all others were cut short.

    Parameters
    ----------
    lives : What each set had rolled when it came off, or has rolled until now.
    reasons : Why it came off; anything for a set still on the mill.
    damage : The reason that ends a life.

    Raises
    ------
    ValueError : Not as many reasons as lives, or a life that is not above 0.
    """
    run, why = tuple(lives), tuple(reasons)
    if len(run) != len(why):
        raise ValueError(f"{len(run)} lives need as many reasons, not {len(why)}")
    ended = [reason == damage for reason in why]
    return Lives(tuple(compress(run, ended)), tuple(compress(run, (not end for end in ended))))


def law_of(law: laws.Law) -> LifeLaw:
    """Return the law of lives that a scenario names, in the unit of the scenario's law (metres, seconds, kg).

    Raises
    ------
    ValueError : A law that is no law of wear, such as a constant or a list of values.
    """
    if isinstance(law, laws.Exponential):
        return ExponentialLife(law.mean)
    if isinstance(law, laws.Weibull):
        return WeibullLife(law.shape, law.scale)
    if isinstance(law, laws.Gamma):
        return GammaLife(law.cv**-2.0, law.mean * law.cv**2)
    if isinstance(law, laws.Lognormal):
        return LognormalLife(law.mean / sqrt(1.0 + law.cv**2), sqrt(log(1.0 + law.cv**2)))
    raise ValueError(
        f"lives spread as {type(law).__name__.lower()} have no hazard to plan by: "
        "write the damage as weibull, gamma, lognormal or exponential"
    )


def log_likelihood(law: LifeLaw, lives: Lives) -> float:
    """Return how likely the lives are under a law, as a logarithm; a life cut short counts by what outlives it."""
    total = 0.0
    if lives.ended:
        total += float(law.log_density(np.array(lives.ended)).sum())
    if lives.cut_short:
        total += float(law.log_survival(np.array(lives.cut_short)).sum())
    return total


def fit(lives: Lives, law: str = "weibull") -> Fit:
    """Return the law of this name that makes the lives most likely.

    Parameters
    ----------
    lives : Ended and cut short.
    law : exponential, weibull, lognormal or gamma.

    Raises
    ------
    ValueError : No life has ended, or too few to tell a shape.
    """
    if not lives.ended:
        raise ValueError("no roll was damaged, so no law can be fitted: only a least life can be told (least_scale)")
    if law == "exponential":
        found: LifeLaw = ExponentialLife(lives.exposure / len(lives.ended))
    elif law == "weibull":
        found = _fit_weibull(lives)
    else:
        found = _fit_two(lives, law)
    return Fit(found, log_likelihood(found, lives))


def compare(lives: Lives) -> tuple[Fit, ...]:
    """Return a fit of each law, the one with the lowest AIC first; laws that the lives cannot tell are left out."""
    fits = []
    for law in LAWS:
        try:
            fits.append(fit(lives, law))
        except ValueError:
            if law == "exponential":
                raise
    return tuple(sorted(fits, key=lambda found: found.aic))


def intervals(found: Fit, lives: Lives, level: float = 0.95) -> dict[str, Range]:
    """Return the interval of each parameter by profile likelihood.

    A value lies inside when the likelihood, at its best over the other parameter, falls short of the maximum by less
    than half the chi-square quantile with one degree of freedom. Better than a symmetric interval for few damages.
    """
    from scipy.special import chdtri

    drop = float(chdtri(1, 1.0 - level)) / 2.0
    return {
        name: Range(
            _end(found, lives, place, -1.0, drop),
            _end(found, lives, place, +1.0, drop),
        )
        for place, name in enumerate(found.law.parameters)
    }


def mean_life_range(exposure: float, damages: int, level: float = 0.95) -> Range:
    """Return the exact interval of a mean life without wear, from exposure and damages (chi-square).

    Parameters
    ----------
    exposure : All that was rolled, by damaged sets and others.
    damages : How many sets were damaged; with none the interval is open above.
    level : Chance that the interval holds the mean.
    """
    from scipy.special import chdtri

    if not exposure > 0 or damages < 0:
        raise ValueError(f"an exposure of {exposure:g} with {damages} damages cannot be")
    tail = (1.0 - level) / 2.0
    low = 2.0 * exposure / float(chdtri(2 * damages + 2, tail))
    return Range(low, 2.0 * exposure / float(chdtri(2 * damages, 1.0 - tail)) if damages else inf)


def least_scale(lives: Lives, shape: float, confidence: float = 0.95) -> float:
    """Return the Weibull scale that is exceeded with this confidence when the shape is given.

    What can be told when no roll, or hardly one, was damaged: with the shape assumed, lives to the power of the shape
    are exponential, and their mean has an exact lower bound (chi-square).
    """
    from scipy.special import chdtri

    total = sum(life**shape for life in lives.ended + lives.cut_short)
    if not total > 0:
        raise ValueError("no roll has run yet: a least life needs at least one record")
    bound = 2.0 * total / float(chdtri(2 * len(lives.ended) + 2, 1.0 - confidence))
    return float(bound ** (1.0 / shape))


def _fit_weibull(lives: Lives) -> WeibullLife:
    """Solve the likelihood equation of the shape; the scale then follows."""
    from scipy.optimize import brentq

    unit = max(lives.ended + lives.cut_short)
    every = np.array(lives.ended + lives.cut_short) / unit
    logs, ended = np.log(every), np.log(np.array(lives.ended) / unit).mean()

    def excess(shape: float) -> float:
        weights = every**shape
        return float((weights * logs).sum() / weights.sum() - 1.0 / shape - ended)

    if excess(_STEEPEST) <= 0.0:
        raise ValueError(_no_shape(lives))
    shape = float(brentq(excess, 1e-3, _STEEPEST, xtol=1e-13))
    scale = unit * float((every**shape).sum() / len(lives.ended)) ** (1.0 / shape)
    return WeibullLife(shape, scale)


def _fit_two(lives: Lives, law: str) -> LifeLaw:
    """Climb the likelihood of a law with two parameters, in their logarithms."""
    from scipy.optimize import minimize

    life_law(law, 1.0, 1.0)
    if len(set(lives.ended)) < 2:
        raise ValueError(_no_shape(lives))
    mean = lives.exposure / len(lives.ended)
    start = [log(mean), 0.0] if law == "lognormal" else [0.5, log(mean) - 0.5]

    def short(logs: FloatArray) -> float:
        value = log_likelihood(life_law(law, *(exp(one) for one in logs)), lives)
        return -value if value > -inf else 1e300

    bounds = [(-50.0, 50.0)] * 2
    found = minimize(short, start, method="Nelder-Mead", bounds=bounds, options={"xatol": 1e-9, "fatol": 1e-11})
    best = life_law(law, *(exp(one) for one in found.x))
    if best.deviation / best.mean < 1.0 / _STEEPEST:
        raise ValueError(_no_shape(lives))
    return best


def _no_shape(lives: Lives) -> str:
    return (
        f"{len(lives.ended)} damage{'s' * (len(lives.ended) != 1)} among {len(lives.ended + lives.cut_short)} sets "
        "cannot tell how steeply rolls wear out: gather more records, or assume a range of shapes (learn)"
    )


def _end(found: Fit, lives: Lives, place: int, way: float, drop: float) -> float:
    """Return where the profile likelihood has dropped so far, below or above the best value."""
    from scipy.optimize import brentq

    best = log(values(found.law)[place])

    def excess(step: float) -> float:
        return found.log_likelihood - _profile(found, lives, place, best + way * step) - drop

    reach = 0.05
    while excess(reach) < 0.0:
        reach *= 2.0
        if reach > _WIDEST:
            return inf if way > 0 else 0.0
    return exp(best + way * float(brentq(excess, 0.0, reach, xtol=1e-9)))


def _profile(found: Fit, lives: Lives, place: int, fixed: float) -> float:
    """Return the likelihood with one logarithm of a parameter fixed, at its best over the other."""
    from scipy.optimize import minimize_scalar

    logs = [log(value) for value in values(found.law)]
    logs[place] = fixed
    if len(logs) == 1:
        return log_likelihood(life_law(found.law.name, exp(fixed)), lives)
    other = 1 - place

    def short(value: float) -> float:
        trial = list(logs)
        trial[other] = value
        likelihood = log_likelihood(life_law(found.law.name, *(exp(one) for one in trial)), lives)
        return -likelihood if likelihood > -inf else 1e300

    near = minimize_scalar(short, bracket=(logs[other] - 0.1, logs[other] + 0.1), tol=1e-10)
    return -float(near.fun)
