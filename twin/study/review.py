"""Yesterday, explained: was it an ordinary day, which causes moved it by how much, and what cannot be explained."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, time
from math import hypot
from typing import TYPE_CHECKING

import numpy as np

from twin.indicators.intervals import FloatArray, mean_interval
from twin.line.model import Scripts
from twin.study.replicate import NothingMadeError
from twin.study.review_answer import (
    QUANTILES,
    DayEvent,
    Edit,
    Expected,
    Fan,
    LogQuality,
    Review,
    Rung,
    Suspect,
    WhatIf,
)
from twin.study.review_booked import Booked, booked, moments
from twin.study.review_day import Day, Vary, days_of, prepare_day, run_days
from twin.study.review_events import Cause, cause_of, causes_of, edited, events_of
from twin.study.review_ladder import Game, Ladder, ladder
from twin.study.review_pace import paces
from twin.study.review_scripts import pieces, together
from twin.study.review_strips import recorded_strips, typical_strips
from twin.study.review_such import such_days
from twin.study.review_sure import Sure, sure_of
from twin.study.review_told import (
    cannot_tell,
    hand_over,
    largest_words,
    look_at,
    quality_of,
    record_words,
    suspects,
    verdict,
)
from twin.version import VERSION

if TYPE_CHECKING:
    from twin.logs import Log, Mapping
    from twin.scenario import Scenario

__all__ = ["ReviewStep", "days_of", "expectation", "review", "review_day", "what_if", "whatif"]

RUNS = 100
SEED = 2026
BAND = (0.05, 0.95)
SAME_T = 1e-9
SAME_SHARE = 0.005  # replays miss what was made by about so much: days that are nearer are alike
WHAT_IF_RUNS = 6
SUCH_RUNS = 20  # of the line through the weeks before, for days like this one with other mornings
AT_ONCE = 10  # runs between two questions whether to stop


@dataclass(frozen=True, slots=True)
class ReviewStep:
    """How far a review is: what it is at, and how many runs of the day are made; 0 wanted where that is not known."""

    what: str
    done: int
    wanted: int


Tell = Callable[[ReviewStep], None]
Stop = Callable[[], bool]


def review(
    scenario: Scenario,
    log: Log,
    day: date | str,
    *,
    runs: int = RUNS,
    seed: int = SEED,
    begins: time | None = None,
    mapping: Mapping | None = None,
    vary: Vary | None = None,
    progress: Tell | None = None,
    stop: Stop | None = None,
    sure: bool = True,
) -> Review:
    """Return what happened on a production day.

    Parameters
    ----------
    scenario, log : The line and its records.
    day : The date on which the production day begins.
    runs : Runs of the day, for its distribution and for the shares of the causes.
    begins : When the production day begins; left out: at the time of day at which the scenario starts.
    mapping : What the plant declared of its log.
    vary : Gives each run inputs as uncertain as they are.
    sure : Whether to find how sure the places of the causes are.

    Raises
    ------
    LogError : A log that is not fit for use, or that tells nothing of that day.
    ScenarioError : A line that the log does not fit.
    NothingMadeError : Stopped before there was an answer.
    """
    when = date.fromisoformat(day) if isinstance(day, str) else day
    own = prepare_day(scenario, log, when, begins=begins, mapping=mapping)
    return review_day(own, runs=runs, seed=seed, vary=vary, progress=progress, stop=stop, sure=sure)


def review_day(
    day: Day,
    *,
    runs: int = RUNS,
    seed: int = SEED,
    vary: Vary | None = None,
    progress: Tell | None = None,
    stop: Stop | None = None,
    sure: bool = True,
) -> Review:
    """Return what happened on a day that is prepared."""
    events = events_of(day)
    tell = _Teller(progress, stop)
    such = expected_of(such_days(day, min(runs, SUCH_RUNS), seed=seed, vary=vary))
    curves = _curves(day, runs, seed, vary, tell)
    whole = _game(day, events, seed, vary, tell)
    found = ladder(whole, runs)
    pace = paces(day)
    made = booked(day)
    today = [one for one in day.records.stops if day.begin <= one.start < day.end]
    quality = quality_of(day, pace, len(today), len(_output(day)))
    certain = sure_of(day, found, events, quality, stop) if sure else None
    return _answer(_Made(day, events, such, curves, found, made, certain, seed, runs), suspects(day, pace), quality)


@dataclass(frozen=True, slots=True)
class _Made:
    """All that was worked out."""

    day: Day
    events: tuple[DayEvent, ...]
    such: Expected
    curves: FloatArray
    found: Ladder
    made: Booked
    sure: Sure | None
    seed: int
    runs: int


class _Teller:
    """Tells how far a review is, and hears when to stop."""

    def __init__(self, tell: Tell | None, stop: Stop | None) -> None:
        self._tell, self._stop = tell, stop

    def __call__(self, what: str, done: int, wanted: int) -> None:
        if self._tell is not None:
            self._tell(ReviewStep(what, done, wanted))
        if self._stop is not None and self._stop():
            raise NothingMadeError("stopped before the day was explained")


def _curves(day: Day, runs: int, seed: int, vary: Vary | None, tell: _Teller) -> FloatArray:
    made = []
    for first in range(0, runs, AT_ONCE):
        made.append(run_days(day, day.base, range(first, min(first + AT_ONCE, runs)), seed=seed, vary=vary))
        tell("runs of the day as it was expected", min(first + AT_ONCE, runs), runs)
    return np.concatenate(made)


def _game(day: Day, events: Sequence[DayEvent], seed: int, vary: Vary | None, tell: _Teller) -> Game:
    told = pieces(day, events, causes_of(day, events))
    return Game(
        day, tuple(told), tuple(told.values()), seed, vary, lambda done: tell("days with causes switched", done, 0)
    )


def _output(day: Day) -> list[object]:
    return [one for one in day.records.made if day.begin < one.time <= day.end]


def expectation(day: Day, *, runs: int = RUNS, seed: int = SEED, vary: Vary | None = None) -> tuple[Expected, Fan]:
    """Return what a day should give from its morning on, and its fan, with nothing of the day itself looked at."""
    curves = run_days(day, day.base, range(runs), seed=seed, vary=vary)
    return expected_of(curves[:, -1]), fan_of(day, curves, (), ())


def expected_of(runs_t: FloatArray) -> Expected:
    """Return the distribution of a day's output."""
    low, high = np.quantile(runs_t, BAND)
    return Expected(*_interval(runs_t), float(low), float(high), tuple(runs_t.tolist()))


def _interval(values: FloatArray) -> tuple[float, float, float]:
    """Return the mean and its 95 % interval; of one value the value itself."""
    found = mean_interval(values)
    low, high = found.low, found.high
    return found.mean, found.mean if low is None else low, found.mean if high is None else high


def fan_of(day: Day, curves: FloatArray, actual: Sequence[float], replay: Sequence[float]) -> Fan:
    """Return the quantiles of curves through the day."""
    quantiles = tuple(tuple(row.tolist()) for row in np.quantile(curves, QUANTILES, axis=0))
    return Fan(tuple(moments(day).tolist()), quantiles, tuple(actual), tuple(replay))


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


def _answer(own: _Made, suspect: tuple[Suspect, ...], quality: LogQuality) -> Review:
    day, found, made = own.day, own.found, own.made
    base = own.curves[:, -1]
    expected = expected_of(base)
    replay_t = expected.mean_t + float(found.shares.mean(axis=1).sum()) if len(found.players) else expected.mean_t
    unexplained = made.booked_t - made.edges_t - replay_t
    place = place_of(base, made.booked_t - made.edges_t)
    rungs = _rungs(own)
    top = own.sure.top if own.sure is not None else None
    why_not = cannot_tell(quality, rungs, unexplained, expected.mean_t, top)
    morning = morning_rung(own.such, expected)
    typical = int(np.abs(base - np.median(base)).argmin())
    return Review(
        scenario=day.plant.name,
        digest=day.plant.digest,
        seed=own.seed,
        runs=own.runs,
        version=VERSION,
        day=day.date.isoformat(),
        begin_s=day.begin,
        end_s=day.end,
        zone=day.plant.time.zone,
        verdict=verdict(made.booked_t, expected, place, rungs, unexplained, why_not, day, quality, morning),
        actual_t=made.booked_t,
        edges_t=made.edges_t,
        expected=expected,
        position=place[0],
        signal=place[1],
        days_in=place[2],
        fan=fan_of(day, own.curves, made.curve_t, _replay_curve(own)),
        ladder=rungs,
        booking=_booking(made),
        replay_t=replay_t,
        unexplained_t=unexplained,
        exact=found.exact_runs == own.runs,
        tells=not why_not,
        why_not=why_not,
        top_sure=top,
        events=own.events,
        suspect=suspect,
        recorded=recorded_strips(day),
        typical=typical_strips(day, typical, own.seed),
        look_at=look_at(rungs, own.events, suspect, unexplained, expected.mean_t, not why_not),
        hand_over=hand_over(day, made, own.events),
        quality=quality,
        assumed=day.morning.assumed,
        start=dict(day.morning.told),
        such=own.such,
        morning=morning,
        largest="" if why_not else largest_words(rungs),
    )


def _replay_curve(own: _Made) -> tuple[float, ...]:
    game = own.found.game
    return tuple(run_days(own.day, game.scripts(game.everything), [0], seed=own.seed)[0].tolist())


def morning_rung(such: Expected, expected: Expected) -> Rung:
    """Return what the state of the line in the morning gave or took, against mornings to which it comes by itself."""
    t = expected.mean_t - such.mean_t
    half = hypot(expected.mean_high_t - expected.mean_t, such.mean_high_t - such.mean_t)
    return Rung("start state", "start", "", t, t, t, t - half, t + half)


def _booking(made: Booked) -> Rung | None:
    if abs(made.edges_t) < 1e-9:
        return None
    t = made.edges_t
    return Rung("booked on another day than made", "booking", "", t, t, t, t, t)


def _rungs(own: _Made) -> tuple[Rung, ...]:
    """Return the rungs: losses first, the largest first, then gains."""
    made = [_rung(own, i) for i in range(len(own.found.players))]
    losses, gains = [one for one in made if one.t < 0.0], [one for one in made if one.t >= 0.0]
    return (*sorted(losses, key=lambda one: one.t), *sorted(gains, key=lambda one: -one.t))


def _rung(own: _Made, i: int) -> Rung:
    found = own.found
    cause = found.players[i]
    causes = set(found.small) if cause.kind == "others" else {cause}
    events = [one for one in own.events if cause_of(one) in causes]
    shares = found.shares[i]
    mean, sample_low, sample_high = _interval(shares)
    worked = sum(own.day.records.worked(one.station, one.start_s, one.end_s) for one in events if one.kind != "speed")
    return Rung(
        cause=cause.words,
        kind=cause.kind,
        station=cause.station,
        t=mean,
        low=min(mean, float(found.low[i])),
        high=max(mean, float(found.high[i])),
        sample_low=sample_low,
        sample_high=sample_high,
        sure=None if own.sure is None else float(own.sure.places[i]),
        minutes=worked / 60.0,
        events=tuple(one.number for one in events),
        record=_record(own.day, cause, events),
        largest=None if own.sure is None else float(own.sure.largest[i]),
    )


def _record(day: Day, cause: Cause, events: Sequence[DayEvent]) -> str:
    if cause.kind in ("sequence", "pattern"):
        return "coils"
    return record_words(
        "coils" if cause.kind in ("speed", "loss") else "stops", [row for own in events for row in own.lines]
    )


# What if


def whatif(day: Day, edits: Sequence[Edit], *, seed: int = SEED, runs: int = WHAT_IF_RUNS) -> WhatIf:
    """Return the day again with some events otherwise and everything else as recorded.

    Raises
    ------
    ValueError : An edit of an event that there is not.
    """
    events = events_of(day)
    causes = causes_of(day, events)
    before = _everything(day, events, causes)
    after = _everything(day, edited(events, edits), causes)
    numbers = range(runs)
    change = run_days(day, after, numbers, seed=seed) - run_days(day, before, numbers, seed=seed)
    mean, low, high = _interval(change[:, -1])
    made = booked(day)
    curve = np.array(made.curve_t) + change.mean(axis=0)
    return WhatIf(mean, low, high, made.booked_t + mean, tuple(curve.tolist()))


def _everything(day: Day, events: Sequence[DayEvent], causes: Sequence[Cause]) -> Scripts:
    return together([day.base, *pieces(day, events, causes).values()])


_KEPT: dict[tuple[str, int, date, time | None], tuple[Log, Day]] = {}
MOST_KEPT = 8


def what_if(
    scenario: Scenario,
    log: Log,
    day: date | str,
    edits: Sequence[Edit],
    *,
    seed: int = SEED,
    begins: time | None = None,
    mapping: Mapping | None = None,
) -> WhatIf:
    """Return the same as `whatif` for a day that is prepared on the first call and kept."""
    when = date.fromisoformat(day) if isinstance(day, str) else day
    key = scenario.digest, id(log), when, begins
    if key not in _KEPT:
        while len(_KEPT) >= MOST_KEPT:
            del _KEPT[next(iter(_KEPT))]
        _KEPT[key] = log, prepare_day(scenario, log, when, begins=begins, mapping=mapping)
    return whatif(_KEPT[key][1], edits, seed=seed)
