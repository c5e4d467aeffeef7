"""The numbers that a run draws, asked for by name: the one thing that the oracles share with the simulation."""

import numpy as np
from line.rows import Drawn
from numpy.typing import NDArray

from twin.line.streams import scale, uniforms
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

SEED = 2026


def drawn_law(name: str, drawn: Drawn, unit: float, run: int, count: int) -> NDArray[np.float64]:
    """Return the first numbers of a stream, for a law of `line.lines.law` in a unit of so many SI units."""
    made = law_of(*drawn, unit)
    if isinstance(made, Constant):
        return np.full(count, made.value)
    return np.asarray(scale(made, uniforms(SEED, run, [name], 0, count + count % 2))[0][:count])


def law_of(kind: str, mean: float, unit: float) -> Law:
    """Return what the text of `line.lines.law` means, made without reading it."""

    def some(part: float) -> float:
        return mean * part * unit

    made: dict[str, Law] = {
        "constant": Constant(some(1.0)),
        "exponential": Exponential(some(1.0)),
        "uniform": Uniform(some(0.5), some(1.5)),
        "triangular": Triangular(some(0.6), some(0.9), some(1.5)),
        "normal": Normal(some(1.0), some(0.4)),
        "lognormal": Lognormal(some(1.0), 0.8),
        "gamma": Gamma(some(1.0), 0.6),
        "weibull": Weibull(2.2, some(1.13)),
        "empirical": Empirical((some(0.4), some(1.0), some(1.0), some(1.6))),
        "mixture": Mixture(((0.7, Constant(some(0.5))), (0.3, Exponential(some(2.1))))),
    }
    return made[kind]
