"""What few damages can tell of a roll's life: a stated guess of the shape, sharpened by the records."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf, log

import numpy as np

from twin.study.life import Lives, Range, compare, fit, intervals, least_scale
from twin.study.lifelaws import FloatArray, LifeLaw, WeibullLife

# From this many damages on, the records speak for themselves; below it the shape is mostly guessed.
ENOUGH = 5

_STEPS = 801


@dataclass(frozen=True)
class ShapeGuess:
    """What is believed of the Weibull shape before any record: lognormal, by its median and its 5 to 95 % range.

    The default says that rolls wear out, somewhere between not at all (1) and steeply (4). It is assumed; no published
    value for rolls of zinc or aluminium mills was found.
    """

    median: float = 2.0
    high: float = 4.0

    def __post_init__(self) -> None:
        if not 0.0 < self.median < self.high:
            raise ValueError(f"the shape must lie above 0 and its high end above its median, not {self}")

    @property
    def spread(self) -> float:
        """Return the standard deviation of the logarithm."""
        return log(self.high / self.median) / 1.6448536269514722

    def words(self) -> str:
        """Return the guess as a sentence."""
        low = self.median**2 / self.high
        return f"assumed: a shape of about {self.median:g}, with 90 % odds between {low:g} and {self.high:g}"


@dataclass(frozen=True)
class Learned:
    """What is believed of shape and scale after the records: weights of shapes, and for each a law of the scale.

    Given the shape b, the scale to the power -b is gamma distributed with as many degrees as there were damages and
    the rate `totals`, the sum of all lives to the power b.
    """

    shapes: FloatArray
    weights: FloatArray
    totals: FloatArray
    damages: int
    unit: float

    def shape_quantile(self, share: float) -> float:
        """Return the shape that is exceeded with the odds 1 - share."""
        steps = np.cumsum(self.weights)
        return float(np.interp(share, steps - self.weights / 2.0, self.shapes))

    def scale_quantile(self, share: float) -> float:
        """Return the scale that is exceeded with the odds 1 - share."""
        from scipy.optimize import brentq
        from scipy.special import gammaincc

        def excess(logarithm: float) -> float:
            with np.errstate(over="ignore"):
                below = gammaincc(self.damages, self.totals * np.exp(-self.shapes * logarithm))
            return float((self.weights * below).sum()) - share

        return self.unit * exp(float(brentq(excess, -30.0, 60.0, xtol=1e-10)))

    def laws(self, chances: FloatArray) -> tuple[WeibullLife, ...]:
        """Return laws drawn from what is believed, one for each row of two uniform numbers."""
        from scipy.special import gammaincinv

        rows = np.atleast_2d(chances)
        places = np.searchsorted(np.cumsum(self.weights), rows[:, 0]).clip(max=len(self.shapes) - 1)
        rates = gammaincinv(self.damages, rows[:, 1]) / self.totals[places]
        scales = self.unit * rates ** (-1.0 / self.shapes[places])
        return tuple(WeibullLife(float(b), float(c)) for b, c in zip(self.shapes[places], scales, strict=True))

    def range(self, level: float = 0.95) -> dict[str, Range]:
        """Return the interval that holds shape and scale with these odds."""
        low, high = (1.0 - level) / 2.0, (1.0 + level) / 2.0
        return {
            "shape": Range(self.shape_quantile(low), self.shape_quantile(high)),
            "scale": Range(self.scale_quantile(low), self.scale_quantile(high)),
        }


@dataclass(frozen=True)
class Judgement:
    """What the records of a mill's rolls say.

    Attributes
    ----------
    law : To plan with.
    shape, scale : 95 % intervals of the Weibull law.
    method : How law and intervals were found, in words.
    aic : Of each law that could be fitted, where there were damages enough.
    """

    law: WeibullLife
    shape: Range
    scale: Range
    method: str
    damages: int
    undamaged: int
    aic: dict[str, float]


def learn(lives: Lives, guess: ShapeGuess | None = None) -> Learned:
    """Return what the records leave of a guess of the shape, for Weibull lives.

    The scale is given no guess (flat in its logarithm), so at least one damage is needed; one damage alone says
    nothing of the shape.

    Raises
    ------
    ValueError : No roll was damaged.
    """
    from scipy.special import logsumexp

    if not lives.ended:
        raise ValueError("no roll was damaged, so nothing is learned of the scale but a lower bound (least_scale)")
    belief = guess if guess is not None else ShapeGuess()
    damages, every = len(lives.ended), np.array(lives.ended + lives.cut_short)
    unit = float(every.max())
    logs = np.linspace(log(belief.median) - 6.0 * belief.spread, log(belief.median) + 6.0 * belief.spread, _STEPS)
    shapes = np.exp(logs)
    totals = ((every / unit)[None, :] ** shapes[:, None]).sum(axis=1)
    told = (damages - 1.0) * logs + shapes * np.log(np.array(lives.ended) / unit).sum() - damages * np.log(totals)
    weight = told - ((logs - log(belief.median)) / belief.spread) ** 2 / 2.0
    return Learned(shapes, np.exp(weight - logsumexp(weight)), totals, damages, unit)


def judge(lives: Lives, guess: ShapeGuess | None = None) -> Judgement:
    """Return the life of rolls by the method that the number of damages allows, and say which it was."""
    belief = guess if guess is not None else ShapeGuess()
    if len(lives.ended) >= ENOUGH:
        try:
            return _by_likelihood(lives)
        except ValueError:
            pass  # all damages at one life: no shape can be told without a guess
    return _by_guess(lives, belief) if lives.ended else _by_bound(lives, belief)


def _by_likelihood(lives: Lives) -> Judgement:
    found = fit(lives, "weibull")
    ends = intervals(found, lives)
    aic = {other.law.name: other.aic for other in compare(lives)}
    law = _weibull(found.law)
    return _judgement(lives, law, ends, "maximum likelihood; intervals by profile likelihood", aic)


def _by_guess(lives: Lives, belief: ShapeGuess) -> Judgement:
    learned = learn(lives, belief)
    law = WeibullLife(learned.shape_quantile(0.5), learned.scale_quantile(0.5))
    few = f"only {len(lives.ended)} damage{'s' * (len(lives.ended) != 1)}"
    why = few if len(lives.ended) < ENOUGH else f"all {len(lives.ended)} damages came at nearly one life"
    return _judgement(lives, law, learned.range(), f"{why}, so with a guess ({belief.words()}); medians", {})


def _by_bound(lives: Lives, belief: ShapeGuess) -> Judgement:
    law = WeibullLife(belief.median, least_scale(lives, belief.median, confidence=0.5))
    ends = {
        "shape": Range(belief.median**2 / belief.high, belief.high),
        "scale": Range(least_scale(lives, belief.median), inf),
    }
    words = (
        f"no damage yet, so only a least life is known ({belief.words()}); the life to plan with is exceeded by half"
    )
    return _judgement(lives, law, ends, words, {})


def _judgement(lives: Lives, law: WeibullLife, ends: dict[str, Range], method: str, aic: dict[str, float]) -> Judgement:
    return Judgement(law, ends["shape"], ends["scale"], method, len(lives.ended), len(lives.cut_short), aic)


def _weibull(law: LifeLaw) -> WeibullLife:
    if not isinstance(law, WeibullLife):
        raise TypeError(f"expected a Weibull law, not {law}")
    return law
