"""A day at first sight: what was to be expected, what was made, and how the day went, before any cause is looked at.

The whole answer goes on from here, so that what is shown first stands on the very runs that the causes stand on.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from twin.indicators.intervals import FloatArray, mean_interval
from twin.indicators.verdict import Verdict
from twin.study.replicate import NothingMadeError
from twin.study.review_answer import QUANTILES, Expected, Fan, FirstSight
from twin.study.review_booked import Booked, booked, moments
from twin.study.review_day import Day, Vary, run_days
from twin.study.review_events import events_of
from twin.study.review_pace import paces
from twin.study.review_strips import recorded_strips, typical_strips
from twin.study.review_told import hand_over, quality_of, sure_words, suspects
from twin.study.review_verdict import nothing_asked, opening, rarity

RUNS = 100
SEED = 2026
BAND = (0.05, 0.95)
SAME_T = 1e-9
SAME_SHARE = 0.005  # replays miss what was made by about so much: days that are nearer are alike
AT_ONCE = 10  # runs between two questions whether to stop

Stage = Literal["expected", "causes", "sure"]
STAGES: dict[Stage, str] = {
    "expected": "runs of the day as it was expected",
    "causes": "days with causes switched",
    "sure": "logs that might just as well have been written",
}


@dataclass(frozen=True, slots=True)
class ReviewStep:
    """How far a stage of a review is; 0 wanted where that is not known."""

    stage: Stage
    done: int
    wanted: int

    @property
    def what(self) -> str:
        """Return what is counted, in words."""
        return STAGES[self.stage]


Tell = Callable[[ReviewStep], None]
Stop = Callable[[], bool]


class Teller:
    """Tells how far a review is, and hears when to stop."""

    def __init__(self, tell: Tell | None = None, stop: Stop | None = None) -> None:
        self._tell, self._stop = tell, stop

    def __call__(self, stage: Stage, done: int, wanted: int) -> None:
        """Tell of a stage. Raises NothingMadeError when it is time to stop."""
        if self._tell is not None:
            self._tell(ReviewStep(stage, done, wanted))
        if self._stop is not None and self._stop():
            raise NothingMadeError("stopped before the day was explained")


@dataclass(frozen=True, slots=True)
class Sight:
    """All that is known of a day before its causes.

    Attributes
    ----------
    day, seed, vary : What made it.
    curves : Good tonnes cumulated through the day, of each run. [runs, moments]
    made : What was booked.
    first : What is shown of it.
    """

    day: Day
    seed: int
    vary: Vary | None
    curves: FloatArray
    made: Booked
    first: FirstSight


def sight_of(
    day: Day,
    *,
    runs: int = RUNS,
    seed: int = SEED,
    vary: Vary | None = None,
    progress: Tell | None = None,
    stop: Stop | None = None,
) -> Sight:
    """Return a day at first sight. Raises NothingMadeError where it is stopped before."""
    curves = _curves(day, runs, seed, vary, Teller(progress, stop))
    made = booked(day)
    return Sight(day, seed, vary, curves, made, _first(day, seed, curves, made))


def _curves(day: Day, runs: int, seed: int, vary: Vary | None, tell: Teller) -> FloatArray:
    made = []
    for first in range(0, runs, AT_ONCE):
        made.append(run_days(day, day.base, range(first, min(first + AT_ONCE, runs)), seed=seed, vary=vary))
        tell("expected", min(first + AT_ONCE, runs), runs)
    return np.concatenate(made)


def _first(day: Day, seed: int, curves: FloatArray, made: Booked) -> FirstSight:
    """Return what is shown of a day whose runs are made."""
    ends = curves[:, -1]
    expected, pace, events = expected_of(ends), paces(day), events_of(day)
    place = place_of(ends, made.booked_t - made.edges_t)
    today = [one for one in day.records.stops if day.begin <= one.start < day.end]
    rows = [one for one in day.records.made if day.begin < one.time <= day.end]
    quality = quality_of(day, pace, len(today), len(rows))
    often = "" if nothing_asked(made.booked_t, expected) else f"{rarity(place[0], place[2])} "
    middle = int(np.abs(ends - np.median(ends)).argmin())
    return FirstSight(
        runs=len(ends),
        begin_s=day.begin,
        end_s=day.end,
        zone=day.plant.time.zone,
        verdict=Verdict(tuple(opening(made.booked_t, expected, place[1])), often + sure_words(day, quality)),
        actual_t=made.booked_t,
        edges_t=made.edges_t,
        expected=expected,
        position=place[0],
        signal=place[1],
        days_in=place[2],
        fan=fan_of(day, curves, made.curve_t),
        events=events,
        suspect=suspects(day, pace),
        recorded=recorded_strips(day),
        typical=typical_strips(day, middle, seed),
        hand_over=hand_over(day, made, events),
        quality=quality,
        assumed=day.morning.assumed,
    )


def expectation(day: Day, *, runs: int = RUNS, seed: int = SEED, vary: Vary | None = None) -> Expected:
    """Return what a day should give from its morning on, with nothing of the day itself looked at."""
    return expected_of(run_days(day, day.base, range(runs), seed=seed, vary=vary)[:, -1])


def expected_of(runs_t: FloatArray) -> Expected:
    """Return the distribution of a day's output."""
    low, high = np.quantile(runs_t, BAND)
    return Expected(*interval(runs_t), float(low), float(high), tuple(runs_t.tolist()))


def interval(values: FloatArray) -> tuple[float, float, float]:
    """Return the mean and its 95 % interval; of one value the value itself."""
    found = mean_interval(values)
    low, high = found.low, found.high
    return found.mean, found.mean if low is None else low, found.mean if high is None else high


def fan_of(day: Day, curves: FloatArray, actual: Sequence[float]) -> Fan:
    """Return the quantiles of curves through the day, and what was booked; no replay yet."""
    quantiles = tuple(tuple(row.tolist()) for row in np.quantile(curves, QUANTILES, axis=0))
    return Fan(tuple(moments(day).tolist()), quantiles, tuple(actual), ())


def place_of(runs_t: FloatArray, value: float) -> tuple[float, bool, float]:
    """Return the share of days below a value, whether it lies outside the band, and one in how many is as far out.

    The last two are careful: a value beyond all of n runs is taken as one day in n + 1, not as one that never comes.
    """
    count = len(runs_t) + 1.0
    near = SAME_T + SAME_SHARE * abs(value)
    below, equal = int((runs_t < value - near).sum()), int((np.abs(runs_t - value) <= near).sum())
    position = (below + 0.5 * equal + 0.5) / count
    lower = min(position, 1.0 - position)
    out = lower + 0.5 / count
    return position, out < BAND[0], 1.0 / out
