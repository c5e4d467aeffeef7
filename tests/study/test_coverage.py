"""Do intervals hold what they promise? Experiments on small lines whose truth is known, each with a seed of its own.

A nominal 95 % interval should hold the truth in 93 to 97 of 100 experiments; a thousand tell that at night, forty here
see only gross faults (four standard errors).
"""

from collections.abc import Callable
from math import log, sqrt

import numpy as np
import pytest
from line.texts import exponential, in_a_row
from scipy import stats

from twin.indicators.intervals import Interval, mean_interval
from twin.line import simulate
from twin.scenario import Scenario, loads
from twin.study.replicate import replicate, replicate_many
from twin.study.statistics import paired_interval, quantile_interval

RUNS = 20
WORK = {"time": exponential("1 h")}
THREE = loads(in_a_row([WORK] * 3, (0, 0), length="400 h", warm_up="50 h"))
TWO = loads(in_a_row([WORK] * 2, (0,), length="400 h", warm_up="50 h"))
THREE_MAKE, TWO_MAKE = (
    22.0 / 39.0,
    2.0 / 3.0,
)  # coils an hour, F. S. Hillier and R. W. Boling, Operations Research 15 (1967)
ONE = loads(in_a_row([WORK], (), length="60 h"))
MEDIAN_RUNS = 44


def output(line: Scenario, seed: int) -> np.ndarray:
    """Return what each run of a line made. [1/h]"""
    made = replicate(line, runs=RUNS, seed=seed, workers=1, activity=False)
    return made.column("stations", list(line.stations)[-1], "coils")


def mean_holds(seed: int) -> bool:
    """Tell whether the interval of the mean holds the true output of three stations without room between them."""
    return holds(mean_interval(output(THREE, seed)), THREE_MAKE)


def difference_holds(seed: int) -> bool:
    """Tell whether the paired interval of a difference holds what one station fewer brings."""
    made = replicate_many([THREE, TWO], runs=RUNS, seed=seed, workers=1, activity=False)
    three, two = (own.column("stations", list(own.scenario.stations)[-1], "coils") for own in made)
    return holds(paired_interval(two, three), TWO_MAKE - THREE_MAKE)


def median_holds(seed: int) -> bool:
    """Tell whether the interval of a quantile holds the median of the first coil's exponential time."""
    first = [float(simulate(ONE, seed=seed, run=run).totals.lead_time_s[0]) for run in range(MEDIAN_RUNS)]
    return holds(quantile_interval(first, 0.5), 3600.0 * log(2.0))


def holds(interval: Interval, truth: float) -> bool:
    """Tell whether an interval holds a value."""
    assert interval.low is not None
    assert interval.high is not None
    return interval.low <= truth <= interval.high


KINDS = pytest.mark.parametrize("holds_truth", [mean_holds, difference_holds, median_holds])


@KINDS
def test_intervals_hold_the_truth_about_as_often_as_they_promise(holds_truth: Callable[[int], bool]) -> None:
    share = np.mean([holds_truth(seed) for seed in range(40)])

    assert share == pytest.approx(0.95, abs=4.0 * sqrt(0.95 * 0.05 / 40.0))


@pytest.mark.nightly
@KINDS
def test_a_thousand_intervals_hold_the_truth_in_93_to_97_of_100(holds_truth: Callable[[int], bool]) -> None:
    share = float(np.mean([holds_truth(1000 + seed) for seed in range(1000)]))

    assert 0.93 <= share <= 0.97, share


def test_the_interval_of_the_median_promises_what_the_binomial_law_gives() -> None:
    """Exact level of the two order statistics that are taken: within what the experiments may show."""
    values = [float(number) for number in range(1, MEDIAN_RUNS + 1)]
    found = quantile_interval(values, 0.5)
    assert found.low is not None
    assert found.high is not None
    level = stats.binom.cdf(found.high - 1.0, MEDIAN_RUNS, 0.5) - stats.binom.cdf(found.low - 1.0, MEDIAN_RUNS, 0.5)

    assert 0.95 <= level <= 0.97
