"""Which law tells recorded values best: likelihood for each, Akaike's criterion between them, a test of what is chosen.

Durations and distances of a log are positive and mostly seen to their end; those still going count as cut short.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import exp, log, sqrt

import numpy as np
from numpy.typing import NDArray

from twin.scenario import laws
from twin.scenario.laws import Constant, Empirical, Law
from twin.study.fitresult import Cause, Estimate, Sample
from twin.study.life import Fit, Lives
from twin.study.life import compare as fitted_laws
from twin.study.lifelaws import ExponentialLife, GammaLife, LifeLaw, LognormalLife, WeibullLife, values
from twin.study.spread import MOST_CV, Spread, scaled

FloatArray = NDArray[np.float64]

ENOUGH = 8
"""From so many events on a law is chosen; with fewer the form that was assumed is kept."""
PRIOR = 0.5
"""What was assumed counts as half an event: a stated guess that a handful of events outweighs."""
ALIKE = 0.01
"""Values that lie within this share of each other are one constant."""
LEAST_CHANCE = 0.05
BOOTSTRAPS = 199
MOST_VALUES = 2000
CUT_SHORT = 0.1
COARSE = 2.0
"""Values below so many steps of rounding tell their mean alone: some of them were rounded to nothing."""
AS_GOOD = 2.0
"""What comes at some rate has none but chance behind it, unless another law is better by more than this (AIC)."""
SIZES = {"time": (3600.0, 60.0, 1.0), "length": (1000.0, 1.0), "mass": (1000.0, 1.0), "pieces": (1.0,)}
Z95 = 1.959963984540054
EVENLY: FloatArray = (np.arange(2000, dtype=np.float64) + 0.5) / 2000.0


@dataclass(frozen=True)
class Chosen:
    """A law with its doubt and how it was found."""

    law: Law
    name: str
    parameters: dict[str, Estimate]
    aic: dict[str, float]
    fits: float | None
    mean: Estimate
    spread: Spread
    method: str


def chosen(sample: Sample, assumed: Law, *, between: bool) -> Chosen:
    """Return the law of a sample.

    Parameters
    ----------
    between : The values lie between events that come at some rate (failures, roll damage); with few of them the rate
        is learned by a conjugate gamma prior. Else they are durations.
    """
    if len(sample.values) < ENOUGH:
        return _few_events(sample, assumed) if between else _few_values(sample, assumed)
    if _coarse(sample):
        return _told_by_mean(sample, assumed, between)
    if _alike(sample.values):
        return _constant(sample, assumed)
    lives = Lives(tuple(sample.values.tolist()), tuple(sample.cut_short.tolist()))
    fits = list(fitted_laws(lives))
    aic = {one.law.name: one.aic for one in fits}
    if between:
        fits.sort(key=lambda one: one.aic - (AS_GOOD if one.law.name == "exponential" else 0.0))
    censored = len(sample.cut_short) > CUT_SHORT * len(sample.values)
    for one in fits:
        chance = None if censored else goodness(_of_whole(one.law, sample), sample.values)
        if chance is None or chance >= LEAST_CHANCE:
            return _told(one, sample, assumed, aic, chance)
    return _as_seen(sample, assumed, aic)


def _coarse(sample: Sample) -> bool:
    """Tell whether values are so near to what their times were rounded to that no form can be read out of them."""
    return sample.step > 0.0 and bool(sample.values.mean() < COARSE * sample.step or sample.values.min() <= 0.0)


def _told_by_mean(sample: Sample, assumed: Law, between: bool) -> Chosen:
    """Keep the form that was assumed, with the mean of the values: what rounding adds to one it takes from another."""
    found = _few_events(sample, assumed) if between else _few_values(sample, assumed, least=0.0)
    minutes = f"{sample.step / 60.0:g} min"
    words = f"times in steps of {minutes} tell no more than the mean: form as assumed"
    return replace(found, method=words)


def _of_whole(law: LifeLaw, sample: Sample) -> LifeLaw:
    """Return the law to test: where some values were cut short, the one fitted to the whole ones alone as they are."""
    return quick_fit(law.name, sample.values) if len(sample.cut_short) else law


def scenario_law(law: LifeLaw, dimension: str) -> Law:
    """Return a fitted law as a scenario has it."""
    if isinstance(law, ExponentialLife):
        return laws.Exponential(law.scale, dimension)
    if isinstance(law, WeibullLife):
        return laws.Weibull(law.shape, law.scale, dimension)
    cv = min(law.deviation / law.mean, MOST_CV)
    return (laws.Gamma if isinstance(law, GammaLife) else laws.Lognormal)(law.mean, cv, dimension)


def _told(found: Fit, sample: Sample, assumed: Law, aic: dict[str, float], chance: float | None) -> Chosen:
    law = scenario_law(found.law, assumed.dimension)
    how = "maximum likelihood, the lowest AIC of those that fit"
    if isinstance(law, laws.Exponential):
        n = len(sample.values)
        exposure = max(sample.exposure, float(sample.values.sum() + sample.cut_short.sum()))
        spread = Spread("rate", shape=n + PRIOR, exposure=exposure + PRIOR * assumed.average)
        mean = rate_estimate(spread)
        own = laws.Exponential(mean.mean, assumed.dimension)
        method = f"{how}; the rate by a gamma prior worth half an event at what was assumed"
        return Chosen(own, "exponential", {"mean": mean}, aic, chance, mean, spread, method)
    lives = Lives(tuple(sample.values.tolist()), tuple(sample.cut_short.tolist()))
    covariance = log_covariance(law, lives)
    names = ("shape", "scale") if isinstance(law, laws.Weibull) else ("mean", "cv")
    spread = Spread("law", covariance=covariance)
    parameters = {
        name: _lognormal_estimate(getattr(law, name), sqrt(covariance[place][place]))
        for place, name in enumerate(names)
    }
    return Chosen(law, found.law.name, parameters, aic, chance, _mean_estimate(law, covariance), spread, how)


def rate_estimate(spread: Spread) -> Estimate:
    """Return the mean between events when their rate is gamma distributed; its interval is exact (chi-square)."""
    from scipy.special import gammaincinv

    low, high = (float(gammaincinv(spread.shape, share)) for share in (0.025, 0.975))
    return Estimate(
        spread.exposure / spread.shape, spread.exposure / high, spread.exposure / low if low > 0.0 else float("inf")
    )


def _few_events(sample: Sample, assumed: Law) -> Chosen:
    """Keep the form that was assumed; its mean from the events there are and a prior worth half an event."""
    n = len(sample.values)
    spread = Spread("rate", shape=n + PRIOR, exposure=sample.exposure + PRIOR * assumed.average)
    mean = rate_estimate(spread)
    law = scaled(assumed, mean.mean / assumed.average) if assumed.average > 0.0 else assumed
    words = f"{n} event{'s' * (n != 1)} only: form as assumed, rate by a gamma prior worth half an event"
    return Chosen(law, type(law).__name__.lower(), {"mean": mean}, {}, None, mean, spread, words)


def _few_values(sample: Sample, assumed: Law, least: float = 0.3) -> Chosen:
    """Keep the form that was assumed; its mean weighs what was seen against it, worth half a value.

    `least` is the least variation that is thought possible where few values were seen.
    """
    n, own = len(sample.values), assumed.average
    mean = (float(sample.values.sum()) + PRIOR * own) / (n + PRIOR)
    seen = float(np.std(sample.values, ddof=1)) / mean if n > 1 and mean > 0.0 else 0.0
    deviation = max(seen, variation(assumed), least) / sqrt(n + PRIOR)
    law = scaled(assumed, mean / own) if own > 0.0 else assumed
    estimate = _lognormal_estimate(mean, deviation)
    words = f"{n} value{'s' * (n != 1)} only: form as assumed, mean with what was assumed worth half a value"
    spread = Spread("mean", deviation=deviation)
    return Chosen(law, type(law).__name__.lower(), {"mean": estimate}, {}, None, estimate, spread, words)


def _constant(sample: Sample, assumed: Law) -> Chosen:
    value = float(np.median(sample.values))
    deviation = float(np.std(sample.values)) / value / sqrt(len(sample.values))
    mean = _lognormal_estimate(value, deviation)
    words = "all values are alike: their median"
    return Chosen(
        Constant(value, assumed.dimension), "constant", {"value": mean}, {}, None, mean, Spread("none"), words
    )


def _as_seen(sample: Sample, assumed: Law, aic: dict[str, float]) -> Chosen:
    """Take the values as they are, where no law tells them; of very many, evenly chosen ones."""
    ordered, weights = product_limit(sample.values, sample.cut_short)
    count = min(len(ordered), MOST_VALUES)
    places = np.searchsorted(np.cumsum(weights), (np.arange(count) + 0.5) / count).clip(max=len(ordered) - 1)
    law = Empirical(tuple(float(f"{value:.6g}") for value in ordered[places]), assumed.dimension)
    mean = float(weights @ ordered)
    error = sqrt(float(weights @ (ordered - mean) ** 2) / (len(sample.values) - 1))
    estimate = Estimate(mean, max(mean - Z95 * error, 0.0), mean + Z95 * error)
    words = f"none of the laws tells the values (chance under {LEAST_CHANCE:g}): the values themselves"
    if len(sample.cut_short):
        words += f", {len(sample.cut_short)} cut short by what outlasts them"
    return Chosen(law, "empirical", {}, aic, None, estimate, Spread("values"), words)


def product_limit(ended: FloatArray, cut_short: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return values, rising, and their weights: what was cut short counts as what outlasts it.

    The product-limit estimate of E. L. Kaplan and P. Meier, Journal of the American Statistical Association 53 (1958)
    457-481; the longest counts as ended (B. Efron, 1967).
    """
    times = np.concatenate([ended, cut_short])
    whole = np.arange(len(times)) < len(ended)
    order = np.lexsort((~whole, times))
    times, whole = times[order], whole[order]
    whole[-1] = True
    left = np.cumprod(1.0 - whole / (len(times) - np.arange(len(times))))
    weights = -np.diff(left, prepend=1.0)
    return times[whole], weights[whole] / weights[whole].sum()


def rounded(law: Law) -> Law:
    """Return a law whose numbers have five digits in the unit that people use: more would be a show."""
    if isinstance(law, Constant):
        return replace(law, value=_five(law.value, law.dimension))
    if isinstance(law, laws.Exponential):
        return replace(law, mean=_five(law.mean, law.dimension))
    if isinstance(law, laws.Weibull):
        return replace(law, shape=float(f"{law.shape:.4g}"), scale=_five(law.scale, law.dimension))
    if isinstance(law, laws.Gamma | laws.Lognormal):
        return replace(law, mean=_five(law.mean, law.dimension), cv=float(f"{law.cv:.4g}"))
    return law


def _five(value: float, dimension: str) -> float:
    sizes = SIZES[dimension]
    size = next((one for one in sizes if value >= one), sizes[-1])
    return float(f"{value / size:.5g}") * size


def _alike(seen: FloatArray) -> bool:
    return bool(np.ptp(seen) <= ALIKE * abs(float(np.median(seen))))


def variation(law: Law) -> float:
    """Return the coefficient of variation of a law. [1]"""
    from twin.line.streams import scale

    if law.average <= 0.0:
        return 0.0
    drawn = scale(law, EVENLY)
    return float(drawn.std() / law.average)


def _lognormal_estimate(best: float, deviation: float) -> Estimate:
    return Estimate(best, best * exp(-Z95 * deviation), best * exp(Z95 * deviation))


def log_covariance(law: Law, lives: Lives) -> tuple[tuple[float, ...], ...]:
    """Return the covariance of the logarithms of a law's two parameters: the inverse of the observed information."""
    names = ("shape", "scale") if isinstance(law, laws.Weibull) else ("mean", "cv")
    best = np.log([getattr(law, name) for name in names])

    def likelihood(logs: FloatArray) -> float:
        from twin.study.life import law_of, log_likelihood

        own = type(law)(*(exp(one) for one in logs), law.dimension)  # type: ignore[call-arg, arg-type]
        return log_likelihood(law_of(own), lives)

    information = -_curvature(likelihood, best)
    floor = 1.0 / max(len(lives.ended), 1) ** 2
    with np.errstate(all="ignore"):
        try:
            covariance = np.linalg.inv(information)
        except np.linalg.LinAlgError:
            covariance = np.eye(2) / max(len(lives.ended), 1)
    if not np.all(np.isfinite(covariance)) or np.linalg.eigvalsh(covariance).min() <= 0.0:
        covariance = np.eye(2) / max(len(lives.ended), 1)
    covariance[np.diag_indices(2)] = np.maximum(np.diag(covariance), floor * 1e-3)
    return tuple(tuple(float(one) for one in row) for row in covariance)


def _curvature(function: Callable[[FloatArray], float], at: FloatArray, step: float = 1e-3) -> FloatArray:
    """Return the matrix of second derivatives by central differences."""
    size = len(at)
    found = np.empty((size, size))
    middle = function(at)
    for i in range(size):
        for j in range(i, size):
            a, b = np.zeros(size), np.zeros(size)
            a[i], b[j] = step, step
            if i == j:
                found[i, i] = (function(at + a) - 2.0 * middle + function(at - a)) / step**2
            else:
                corners = function(at + a + b) - function(at + a - b) - function(at - a + b) + function(at - a - b)
                found[i, j] = found[j, i] = corners / (4.0 * step**2)
    return found


def _mean_estimate(law: Law, covariance: Sequence[Sequence[float]]) -> Estimate:
    """Return the mean of a fitted law; its doubt follows from that of the parameters (delta method)."""
    if isinstance(law, laws.Weibull):
        from scipy.special import digamma

        slope = np.array([-float(digamma(1.0 + 1.0 / law.shape)) / law.shape, 1.0])
    else:
        slope = np.array([1.0, 0.0])
    variance = float(slope @ np.asarray(covariance) @ slope)
    return _lognormal_estimate(law.average, sqrt(max(variance, 0.0)))


# The test


def goodness(law: LifeLaw, seen: FloatArray, bootstraps: int = BOOTSTRAPS) -> float:
    """Return the chance that a sample of the law lies as far off the law fitted to it (parametric bootstrap).

    The distance is that of T. W. Anderson and D. A. Darling, Annals of Mathematical Statistics 23 (1952) 193-212; as
    the law is fitted to the same values, its published table does not hold, and samples of the law are fitted in turn
    (W. Stute, W. Gonzalez Manteiga and M. Presedo Quindimil, Metrika 40 (1993) 243-256, from memory).
    """
    if len(seen) > MOST_VALUES:
        ordered = np.sort(seen)
        seen = ordered[((np.arange(MOST_VALUES) + 0.5) / MOST_VALUES * len(ordered)).astype(int)]
    distance = anderson_darling(law, seen)
    random = np.random.Generator(np.random.Philox(key=len(seen)))
    farther = 0
    for _ in range(bootstraps):
        made = _sample(law, random.random(len(seen)))
        farther += anderson_darling(quick_fit(law.name, made), made) >= distance
    return (farther + 1.0) / (bootstraps + 1.0)


def anderson_darling(law: LifeLaw, seen: FloatArray) -> float:
    """Return the distance between values and a law, weighted towards both ends."""
    ordered = np.sort(seen)
    below = np.clip(law.failed(ordered), 1e-300, 1.0)
    above = np.clip(law.survival(ordered), 1e-300, 1.0)
    odd = 2.0 * np.arange(1, len(ordered) + 1) - 1.0
    return float(-len(ordered) - (odd * (np.log(below) + np.log(above[::-1]))).sum() / len(ordered))


def _sample(law: LifeLaw, units: FloatArray) -> FloatArray:
    from scipy.special import gammaincinv, ndtri

    if isinstance(law, ExponentialLife):
        return np.asarray(-law.scale * np.log1p(-units))
    if isinstance(law, WeibullLife):
        return np.asarray(law.scale * (-np.log1p(-units)) ** (1.0 / law.shape))
    first, second = values(law)
    if isinstance(law, GammaLife):
        return np.asarray(np.maximum(second * gammaincinv(first, units), 1e-300))
    return np.asarray(first * np.exp(second * ndtri(units)))


def quick_fit(name: str, seen: FloatArray) -> LifeLaw:
    """Return the law of a name that makes complete values most likely, each by the one equation that it needs."""
    logs = np.log(seen)
    if name == "exponential":
        return ExponentialLife(float(seen.mean()))
    if name == "lognormal":
        return LognormalLife(exp(float(logs.mean())), max(float(logs.std()), 1e-6))
    if name == "weibull":
        shape = _weibull_shape(seen, logs)
        return WeibullLife(shape, float((seen**shape).mean()) ** (1.0 / shape))
    shape = _gamma_shape(log(float(seen.mean())) - float(logs.mean()))
    return GammaLife(shape, float(seen.mean()) / shape)


def _weibull_shape(seen: FloatArray, logs: FloatArray) -> float:
    """Solve the likelihood equation of the shape by Newton's method."""
    scaled_values, centre = seen / seen.max(), float(logs.mean()) - log(float(seen.max()))
    own = np.log(scaled_values)
    shape = 1.2825 / max(float(logs.std()), 1e-6)
    for _ in range(30):
        weight = scaled_values**shape
        total, first, second = weight.sum(), (weight * own).sum(), (weight * own * own).sum()
        excess = first / total - 1.0 / shape - centre
        slope = second / total - (first / total) ** 2 + 1.0 / shape**2
        step = float(excess / slope)
        shape = max(shape - step, shape / 3.0)
        if abs(step) < 1e-9 * shape:
            break
    return float(shape)


def _gamma_shape(gap: float) -> float:
    """Solve log(shape) - digamma(shape) = gap by Newton's method, from T. P. Minka's start (2002, from memory)."""
    from scipy.special import digamma, polygamma

    gap = max(gap, 1e-9)
    shape = (3.0 - gap + sqrt((gap - 3.0) ** 2 + 24.0 * gap)) / (12.0 * gap)
    for _ in range(20):
        step = (log(shape) - float(digamma(shape)) - gap) / (1.0 / shape - float(polygamma(1, shape)))
        shape = max(shape - step, shape / 3.0)
        if abs(step) < 1e-10 * shape:
            break
    return shape


def curve(cause: Cause, points: int = 80) -> tuple[FloatArray, FloatArray]:
    """Return values [SI] from 0 on, and the share of the fitted law that lies below each: to draw over the data."""
    from twin.line.streams import scale

    drawn = np.sort(scale(cause.law, EVENLY))
    most = max(float(cause.sample.values.max(initial=0.0)), float(drawn[int(0.99 * len(drawn))]))
    at = np.linspace(0.0, most, points)
    return at, np.searchsorted(drawn, at, side="right") / len(drawn)
