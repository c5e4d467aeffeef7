"""How far off a number may be: what a log, or a guess, leaves open of a law, and laws drawn from that.

Draws are a pure function of (seed, run, place of the number), so that options are compared on the same plants and any
number of workers gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import exp, log, sqrt
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from twin.line.normal import normal_quantile
from twin.line.streams import uniforms
from twin.scenario.laws import (
    Constant,
    Empirical,
    Exponential,
    Gamma,
    Law,
    Lognormal,
    Normal,
    Triangular,
    Uniform,
    Weibull,
)

FloatArray = NDArray[np.float64]
Kind = Literal["rate", "law", "mean", "values", "none"]
WIDEST = 4.0
"""How many standard deviations a drawn logarithm may lie off: a plant so far off is not the plant of the log."""
FEWEST_SHAPE, STEEPEST = 0.15, 40.0
MOST_CV = 10.0
"""What a scenario takes at the most."""
_FITTED: Mapping[type[Law], tuple[str, ...]] = {
    Weibull: ("shape", "scale"),
    Gamma: ("mean", "cv"),
    Lognormal: ("mean", "cv"),
}


@dataclass(frozen=True)
class Spread:
    """What is left open of a law.

    Attributes
    ----------
    kind : rate, an exponential law whose rate is gamma distributed; law, the logarithms of its parameters are normal;
        mean, its form is kept and the logarithm of its mean is normal; values, as many values drawn anew from those
        seen (Bayesian bootstrap); none.
    shape, exposure : Of the rate: `shape` events in `exposure`.
    covariance : Of the logarithms of the law's parameters, row by row.
    deviation : Of the logarithm of the mean.
    """

    kind: Kind
    shape: float = 0.0
    exposure: float = 0.0
    covariance: tuple[tuple[float, ...], ...] = ()
    deviation: float = 0.0

    def plain(self) -> dict[str, Any]:
        """Return it as a file keeps it."""
        return {
            "kind": self.kind,
            "shape": self.shape,
            "exposure": self.exposure,
            "covariance": [list(row) for row in self.covariance],
            "deviation": self.deviation,
        }


def spread_of(plain: Mapping[str, Any]) -> Spread:
    """Return a spread as a file has it.

    Raises
    ------
    ValueError : It is none.
    """
    try:
        kind = plain["kind"]
        if kind not in ("rate", "law", "mean", "values", "none"):
            raise ValueError(f"'{kind}' is no kind of spread")
        found = Spread(
            kind,
            float(plain.get("shape", 0.0)),
            float(plain.get("exposure", 0.0)),
            tuple(tuple(float(one) for one in row) for row in plain.get("covariance", ())),
            float(plain.get("deviation", 0.0)),
        )
    except (KeyError, TypeError, AttributeError) as fault:
        raise ValueError(f"not a spread: {fault}") from None
    if found.shape < 0.0 or found.exposure < 0.0 or not 0.0 <= found.deviation < 5.0:
        raise ValueError("a spread with a number that cannot be")
    return found


def drawn(law: Law, spread: Spread, seed: int, draw: int, place: str) -> Law:
    """Return a law that may be the true one.

    Parameters
    ----------
    law : The best estimate.
    draw : Number of the draw; the same for all numbers of one plant.
    place : Path of the number; each has a stream of its own.
    """
    if spread.kind == "none":
        return law
    if spread.kind == "values":
        return _again(law, _units(seed, draw, place, len(law.values))) if isinstance(law, Empirical) else law
    if spread.kind == "rate":
        return _rate(law, spread, float(_units(seed, draw, place, 1)[0]))
    normal = np.clip(normal_quantile(_units(seed, draw, place, 2)), -WIDEST, WIDEST)
    if spread.kind == "mean":
        return scaled(law, exp(spread.deviation * float(normal[0])))
    return _parameters(law, spread, normal)


def pulls(spread: Spread, seed: int, draw: int, place: str) -> tuple[float, ...]:
    """Return how far a draw pulls the number, as standard normal values: what outputs are put beside."""
    if spread.kind in ("none", "values"):
        return ()
    if spread.kind == "rate":
        return (-float(normal_quantile(_units(seed, draw, place, 1))[0]),)
    normal = np.clip(normal_quantile(_units(seed, draw, place, 2)), -WIDEST, WIDEST)
    return tuple(float(one) for one in normal[: 2 if spread.kind == "law" else 1])


def scaled(law: Law, factor: float) -> Law:
    """Return a law whose values are all so many times as large."""
    if isinstance(law, Constant):
        return replace(law, value=law.value * factor)
    if isinstance(law, Exponential):
        return replace(law, mean=law.mean * factor)
    if isinstance(law, Uniform):
        return replace(law, low=law.low * factor, high=law.high * factor)
    if isinstance(law, Triangular):
        return replace(law, low=law.low * factor, mode=law.mode * factor, high=law.high * factor)
    if isinstance(law, Normal):
        return replace(law, mean=law.mean * factor, sd=law.sd * factor)
    if isinstance(law, Lognormal | Gamma):
        return replace(law, mean=law.mean * factor)
    if isinstance(law, Weibull):
        return replace(law, scale=law.scale * factor)
    if isinstance(law, Empirical):
        return replace(law, values=tuple(value * factor for value in law.values))
    return replace(law, parts=tuple((weight, scaled(part, factor)) for weight, part in law.parts))


def _units(seed: int, draw: int, place: str, count: int) -> FloatArray:
    units: FloatArray = uniforms(seed, draw, [f"inputs/{place}"], 0, count + count % 2)[0][:count]
    return units


def _rate(law: Law, spread: Spread, unit: float) -> Law:
    """Draw the rate of an exponential law: `shape` events in `exposure`, gamma distributed (conjugate)."""
    from scipy.special import gammaincinv

    return scaled(law, spread.shape / max(float(gammaincinv(spread.shape, unit)), 1e-6))


def _parameters(law: Law, spread: Spread, normal: FloatArray) -> Law:
    """Draw the two parameters of a law: their logarithms are normal about the best estimate."""
    names = _FITTED.get(type(law), ())
    if len(names) != 2 or len(spread.covariance) != 2:
        return law
    (a, b), (_, d) = spread.covariance
    first = sqrt(max(a, 0.0))
    cross = b / first if first > 0.0 else 0.0
    rest = sqrt(max(d - cross * cross, 0.0)) * float(normal[1])
    if isinstance(law, Weibull) and first > 0.0:
        # What was seen tells the hazard at one age best, whatever the shape: that is drawn, and the scale follows.
        flatter = exp(-first * float(normal[0]))
        steps = (first * float(normal[0]), cross / first * (1.0 - flatter) + flatter * rest)
    else:
        steps = (first * float(normal[0]), cross * float(normal[0]) + rest)
    new = {name: getattr(law, name) * exp(step) for name, step in zip(names, steps, strict=True)}
    if "shape" in new:
        new["shape"] = min(max(new["shape"], FEWEST_SHAPE), STEEPEST)
    if "cv" in new:
        new["cv"] = min(new["cv"], MOST_CV)
    return replace(law, **new)


def _again(law: Empirical, units: FloatArray) -> Law:
    """Draw as many values anew: each is as likely as the gap between its neighbours' uniform numbers is wide.

    The Bayesian bootstrap of D. B. Rubin, Annals of Statistics 9 (1981) 130-134, with its weights rounded to values.
    """
    gaps = -np.log(units)
    count = len(law.values)
    edges = np.cumsum(gaps) / gaps.sum()
    places = np.searchsorted(edges, (np.arange(count) + 0.5) / count, side="left").clip(max=count - 1)
    ordered = sorted(law.values)
    return replace(law, values=tuple(ordered[int(place)] for place in places))


def width(spread: Spread) -> float:
    """Return how far off the mean may be, as the standard deviation of its logarithm, roughly."""
    if spread.kind == "rate":
        return 1.0 / sqrt(max(spread.shape, 0.5))
    if spread.kind == "law":
        return sqrt(max((row[place] for place, row in enumerate(spread.covariance)), default=0.0))
    return spread.deviation


def lognormal_deviation(share: float) -> float:
    """Return the standard deviation of the logarithm of what scatters by this share of its mean."""
    return sqrt(log(1.0 + share * share))
