"""How often an answer with uncertain inputs holds the truth: many synthetic plants, each known by its log alone."""

import sys
from dataclasses import dataclass

import numpy as np

from twin.indicators.intervals import Interval, mean_interval, plant_interval
from twin.line import simulate
from twin.logs.doctor import Examined
from twin.logs.write import log_of
from twin.scenario import Scenario, apply_settings, loads
from twin.study.fit import fit
from twin.study.fitsamples import asked
from twin.study.inputs import GUESS, Inputs, Number
from twin.study.maker import weekly
from twin.study.moves import written
from twin.study.replicate import replicate
from twin.study.uncertain import vary_of

RUNS = 60
LEVEL = 0.90

# Three stations with little room between them. Invented for this study; the file is what is assumed, the truth is
# TRUE_FACTORS times it, and nobody but the log knows.
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


@dataclass(frozen=True)
class Known:
    """What is said of one plant: the honest interval, the plain one, and the truth. [t/week]"""

    honest: Interval
    plain: Interval
    truth: float


def plant(number: int) -> Scenario:
    """Return a true plant: each mean some 30 % off what the file says."""
    base = loads(LINE)
    factors = np.exp(SPREAD * np.random.default_rng(number).standard_normal(len(asked(base))))
    return apply_settings(base, {one.path: _times(one.law, f) for one, f in zip(asked(base), factors, strict=True)})


def _times(law: object, factor: float) -> object:
    from twin.study.spread import scaled

    return written(scaled(law, float(factor)))  # type: ignore[arg-type]


def known(number: int, days: int, truth: float) -> Known:
    """Return what is said of a plant after so many days of log."""
    true, base = plant(number), loads(LINE)
    lasting = apply_settings(true, {"time.length": f"{days} days"})
    trace = simulate(lasting, seed=77, run=number, trace=True).trace
    assert trace is not None
    fitted = fit(base, Examined(log_of(trace, lasting), ()), twin=False)
    best = apply_settings(base, {one.path: written(one.law) for one in fitted.causes})
    spreads = {one.path: one.spread for one in fitted.causes}
    sources = {one.path: one.source for one in fitted.causes}
    numbers = {
        one.path: Number(one.path, sources[one.path], spreads.get(one.path, GUESS))
        for one in asked(base)
        if one.path in sources
    }
    vary = vary_of(Inputs(numbers))
    honest = weekly(replicate(best, runs=RUNS, seed=number, workers=1, vary=vary))
    plain = weekly(replicate(best, runs=RUNS, seed=number, workers=1))
    return Known(plant_interval(honest, vary.group, LEVEL), mean_interval(plain, LEVEL), truth)


def truth_of(number: int) -> float:
    """Return what a plant makes in the long run. [t/week]"""
    return float(weekly(replicate(plant(number), runs=200, seed=5, workers=1)).mean())


def holds(interval: Interval, truth: float) -> bool:
    """Tell whether an interval holds the truth."""
    return interval.low is not None and interval.high is not None and interval.low <= truth <= interval.high


def main() -> None:
    """Print how often both intervals hold the truth, after 10, 20, 40 and 80 days."""
    plants = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    truths = [truth_of(number) for number in range(plants)]
    for days in (10, 20, 40, 80):
        said = [known(number, days, truth) for number, truth in enumerate(truths)]
        honest = np.mean([holds(one.honest, one.truth) for one in said])
        plain = np.mean([holds(one.plain, one.truth) for one in said])
        width = np.mean([(one.honest.half or 0.0) / one.truth for one in said])
        sys.stdout.write(f"{days} days: honest {honest:.1%}, runs only {plain:.1%}, half-width {width:.1%}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
