"""How often an answer with uncertain inputs holds the truth: many synthetic plants, each known by its log alone.

`python tests/fit_study.py 300` takes about 15 minutes and prints the table of docs/fit.md.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np

from twin.indicators.intervals import Interval, mean_interval, plant_interval
from twin.line import simulate
from twin.logs.doctor import Examined
from twin.logs.write import log_of
from twin.scenario import Scenario, apply_settings, loads
from twin.study.fit import fit
from twin.study.fitresult import Fitted
from twin.study.fitsamples import asked
from twin.study.inputs import ASSUMED, GUESS, Inputs, Number
from twin.study.maker import weekly
from twin.study.moves import written
from twin.study.replicate import replicate
from twin.study.spread import scaled
from twin.study.uncertain import vary_of

RUNS = 60
LEVEL = 0.90
DAYS = (10, 20, 40, 80)

# Three stations with little room between them. Invented for this study; the file is what is assumed; each mean
# of a true plant is some SPREAD off, and nobody but the log knows.
LINE = """
passline: 1
name: Three stations with a short log
metal: zinc
time: {warm_up: 1 week, length: 8 weeks}
stores:
  ready:      {holds: coils, capacity: 2}
  first gap:  {holds: coils, capacity: 4}
  second gap: {holds: coils, capacity: 4}
  done:       {holds: coils}
stations:
  supply:  {kind: supply, to: ready, coil: {mass: 5 t, width: 1000 mm, thickness: 0.7 mm}}
  mill:
    {kind: step, from: ready, to: first gap, time: 55 min,
     failures: [{reason: break, every: {exponential: {mean: 14 h}}, repair: {lognormal: {mean: 70 min, cv: 0.8}}}]}
  slitter:
    {kind: step, from: first gap, to: second gap, time: 52 min,
     failures: [{reason: knife jam, every: {exponential: {mean: 9 h}}, repair: {gamma: {mean: 60 min, cv: 0.7}}}]}
  packer:
    {kind: step, from: second gap, to: done, time: 50 min,
     failures: [{reason: strap, every: {exponential: {mean: 5 h}}, repair: {lognormal: {mean: 40 min, cv: 1}}}]}
"""
SPREAD = 0.3
BASE = loads(LINE)


@dataclass(frozen=True)
class Known:
    """What is said of one plant: the honest interval, the plain one, and the truth. [t/week]"""

    honest: Interval
    plain: Interval
    truth: float


@dataclass(frozen=True)
class Coverage:
    """How often intervals held the truth, and half their width, as shares."""

    honest: float
    plain: float
    half: float
    plain_half: float
    plants: int

    @property
    def error(self) -> float:
        """Return the Monte Carlo error (one standard deviation) of a coverage of 90 %."""
        return sqrt(LEVEL * (1.0 - LEVEL) / self.plants)


def plant(number: int) -> Scenario:
    """Return a true plant."""
    wanted = asked(BASE)
    factors = np.exp(SPREAD * np.random.default_rng(number).standard_normal(len(wanted))).tolist()
    new: dict[str, Any] = {
        one.path: written(scaled(one.law, factor)) for one, factor in zip(wanted, factors, strict=True)
    }
    return apply_settings(BASE, new)


def truth_of(number: int) -> float:
    """Return what a plant makes in the long run. [t/week]"""
    longer = apply_settings(plant(number), {"time.length": "400 weeks"})
    return float(weekly(replicate(longer, runs=4, seed=5, workers=1, activity=False)).mean())


def fitted(number: int, days: int) -> Fitted:
    """Return what the log of so many days says of a plant."""
    lasting = apply_settings(plant(number), {"time.length": f"{days} days"})
    trace = simulate(lasting, seed=77, run=number, trace=True).trace
    assert trace is not None
    return fit(BASE, Examined(log_of(trace, lasting), ()), twin=False)


def known(number: int, days: int, truth: float) -> Known:
    """Return what is said of a plant after so many days of log."""
    told = fitted(number, days)
    best = apply_settings(BASE, {one.path: written(one.law) for one in told.causes})
    numbers = {one.path: Number(one.path, ASSUMED, GUESS) for one in asked(BASE)}
    numbers |= {one.path: Number(one.path, one.source, one.spread) for one in told.causes}
    vary = vary_of(Inputs(numbers))
    honest = weekly(replicate(best, runs=RUNS, seed=number, workers=1, vary=vary, activity=False))
    plain = weekly(replicate(best, runs=RUNS, seed=number, workers=1, activity=False))
    return Known(plant_interval(honest, vary.group, LEVEL), mean_interval(plain, LEVEL), truth)


def coverage(days: int, truths: Iterable[float]) -> Coverage:
    """Return how often the truth is held after so many days of log; one plant a truth."""
    said = [known(number, days, truth) for number, truth in enumerate(truths)]
    return Coverage(
        honest=float(np.mean([holds(one.honest, one.truth) for one in said])),
        plain=float(np.mean([holds(one.plain, one.truth) for one in said])),
        half=float(np.mean([(one.honest.half or 0.0) / one.truth for one in said])),
        plain_half=float(np.mean([(one.plain.half or 0.0) / one.truth for one in said])),
        plants=len(said),
    )


def holds(interval: Interval, truth: float) -> bool:
    """Tell whether an interval holds the truth."""
    return interval.low is not None and interval.high is not None and interval.low <= truth <= interval.high


def main() -> None:
    """Print how often both intervals hold the truth, after 10, 20, 40 and 80 days."""
    plants = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    truths = [truth_of(number) for number in range(plants)]
    for days in DAYS:
        found = coverage(days, truths)
        sys.stdout.write(
            f"{days} days: honest {found.honest:.1%} (± {found.half:.1%} of the mean), "
            f"runs only {found.plain:.1%} (± {found.plain_half:.1%}), {found.plants} plants, error {found.error:.1%}\n"
        )
        sys.stdout.flush()


if __name__ == "__main__":
    main()
