"""Runs of days watched for a lasting change: cumulative sums of their places in the forecasts.

One bad day says little. Each day's position is turned into a normal score, which is standard normal when the forecasts
are right; what is left of it above (or below) a slack is summed up, and a sum above its limit is an alarm. The limit is
worked out, not guessed, from how often a false alarm may come.

References
----------
E. S. Page, Biometrika 41 (1954) 100-115: the cumulative sum. S. W. Roberts, Technometrics 1 (1959) 239-250: the
weighted mean that shows the level of today.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from twin.study.watchlimits import limit_for, run_length
from twin.words import plain

DAYS_A_YEAR = 250.0
"""Working days: with one false alarm in so many days, one comes a year."""
SLACK = 0.5  # sd; half of the shift that is to be found soonest
WEIGHT = 0.2  # of the newest day in the weighted mean
FARTHEST = 1e-6  # a position is no nearer to 0 or 1 than this
STANDS_DAYS = 20  # so long an alarm is shown


@dataclass(frozen=True, slots=True)
class Alarm:
    """A lasting change that was noticed.

    Attributes
    ----------
    index, day : The day on which it was noticed.
    side : "low" where the days give less than forecast, "high" where more.
    since_index, since_day : When it seems to have begun.
    first_day : On which it was noticed first, where an alarm before this one had the same cause.
    shift_sd : How large it seems, in sd of a day's ordinary scatter.
    words : A sentence.
    """

    index: int
    day: str
    side: str
    since_index: int
    since_day: str
    first_day: str
    shift_sd: float
    words: str


@dataclass(frozen=True, slots=True)
class Watch:
    """What the run of days says.

    Attributes
    ----------
    scores : Normal score of each day; 0 is the middle of its forecast. [sd]
    up, down : The two sums after each day; an alarm begins them anew. [sd]
    limit, slack : Above the limit is an alarm; the slack is what each day takes off. [sd]
    level : Weighted mean of the scores, the level of today. [sd]
    false_alarm_days : One false alarm in so many days on average, while nothing changes.
    finds_in_days : Days until a lasting shift of one sd is found, on average.
    alarms : Oldest first.
    state : Of the last day: "quiet", "leaning" (a sum is past half its limit), "alarm".
    side : "low" or "high" where it is not quiet.
    words : The state in a sentence.
    """

    scores: tuple[float, ...]
    up: tuple[float, ...]
    down: tuple[float, ...]
    limit: float
    slack: float
    level: tuple[float, ...]
    false_alarm_days: float
    finds_in_days: float
    alarms: tuple[Alarm, ...]
    state: str
    side: str
    words: str


def watch(positions: Sequence[float], *, days: Sequence[str] = (), false_alarm_days: float = DAYS_A_YEAR) -> Watch:
    """Return what a run of days says of a lasting change.

    Parameters
    ----------
    positions : Of each day in its forecast, 0 to 1, oldest first; with ties broken at random (`Place.position`).
    days : Their names; numbers from 1 if left out.
    false_alarm_days : How rare false alarms are to be.
    """
    from scipy.special import ndtri

    places = np.asarray(positions, dtype=float)
    if not ((places >= 0.0) & (places <= 1.0)).all():
        raise ValueError("positions lie between 0 and 1: give the place of each day in its own forecast")
    names = tuple(days) or tuple(f"day {i + 1}" for i in range(places.size))
    if len(names) != places.size:
        raise ValueError(f"there are {places.size} positions and {len(names)} names of days: give one a day")
    scores = tuple(float(z) for z in ndtri(np.clip(places, FARTHEST, 1.0 - FARTHEST)))
    limit = limit_for(SLACK, false_alarm_days)
    up, down, alarms = _sums(scores, names, limit)
    finds = run_length(SLACK, limit, 1.0)
    state, side = _state(len(scores), up, down, limit, alarms)
    words = _words(state, side, alarms, false_alarm_days, finds)
    level = _weighted(scores)
    return Watch(scores, up, down, limit, SLACK, level, false_alarm_days, finds, alarms, state, side, words)


@dataclass(slots=True)
class _Sum:
    """One of the two sums while it runs through the days."""

    sign: float
    total: float = 0.0
    since: int = 0
    kept: list[float] = field(default_factory=list)

    def add(self, index: int, score: float) -> None:
        if self.total == 0.0:
            self.since = index
        self.total = max(0.0, self.total + self.sign * score - SLACK)
        self.kept.append(self.total)


def _sums(
    scores: Sequence[float], names: Sequence[str], limit: float
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[Alarm, ...]]:
    """Return both sums after each day, and the alarms; one that goes on for the same reason keeps its beginning."""
    up, down, alarms = _Sum(1.0), _Sum(-1.0), list[Alarm]()
    for i, score in enumerate(scores):
        up.add(i, score)
        down.add(i, score)
        over = max(up, down, key=lambda own: own.total)
        if over.total > limit:
            side, since, first = ("high" if over is up else "low"), over.since, names[i]
            last = alarms[-1] if alarms else None
            if last is not None and last.side == side and i - last.index <= STANDS_DAYS:
                since, first = last.since_index, last.first_day
            shift = float(np.mean(scores[since : i + 1]))
            alarms.append(
                Alarm(i, names[i], side, since, names[since], first, shift, _said(side, names[since], first, shift))
            )
            up.total = down.total = 0.0
    return tuple(up.kept), tuple(down.kept), tuple(alarms)


def _said(side: str, since: str, first: str, shift: float) -> str:
    less = "less" if side == "low" else "more"
    return (
        f"Since about {since} the days give {less} than forecast, by some {plain(abs(shift), 1)} of a day's ordinary "
        f"scatter; noticed on {first}."
    )


def _state(
    count: int, up: Sequence[float], down: Sequence[float], limit: float, alarms: Sequence[Alarm]
) -> tuple[str, str]:
    if alarms and count - alarms[-1].index <= STANDS_DAYS:
        return "alarm", alarms[-1].side
    if count and max(up[-1], down[-1]) > limit / 2.0:
        return "leaning", "high" if up[-1] > down[-1] else "low"
    return "quiet", ""


def _words(state: str, side: str, alarms: Sequence[Alarm], rare: float, finds: float) -> str:
    if state == "alarm":
        return alarms[-1].words
    less = "less" if side == "low" else "more"
    seen = (
        f"The last days lean to {less} than forecast, but no more than happens by chance"
        if side
        else ("No lasting change is seen")
    )
    return (
        f"{seen}. A lasting change as large as a day's ordinary scatter is noticed after {plain(finds)} days on "
        f"average; a false alarm comes once in {plain(rare)} days."
    )


def _weighted(scores: Sequence[float]) -> tuple[float, ...]:
    """Return the exponentially weighted mean after each day, beginning at 0."""
    level, found = 0.0, []
    for score in scores:
        level += WEIGHT * (score - level)
        found.append(level)
    return tuple(found)
