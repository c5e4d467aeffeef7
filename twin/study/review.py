"""Yesterday, explained: was it an ordinary day, which causes moved it by how much, and what cannot be explained."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from datetime import date, time
from math import hypot
from typing import TYPE_CHECKING, Any

import numpy as np

from twin.line.model import Scripts
from twin.study.review_answer import DayEvent, Edit, Expected, FirstSight, Review, Rung, WhatIf
from twin.study.review_booked import Booked, booked
from twin.study.review_day import Day, Vary, prepare_day, run_days
from twin.study.review_events import Cause, cause_of, causes_of, edited, events_of
from twin.study.review_first import RUNS, SEED, Sight, Stop, Tell, Teller, expected_of, interval, sight_of
from twin.study.review_ladder import Game, Ladder, ladder
from twin.study.review_scripts import pieces, together
from twin.study.review_such import such_days
from twin.study.review_sure import Sure, sure_of
from twin.study.review_told import look_at, record_words
from twin.study.review_verdict import cannot_tell, largest_words, verdict
from twin.version import VERSION

if TYPE_CHECKING:
    from twin.logs import Log, Mapping
    from twin.scenario import Scenario

WHAT_IF_RUNS = 6
SUCH_RUNS = 20  # of the line through the weeks before, for days like this one with other mornings


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
    sight = sight_of(own, runs=runs, seed=seed, vary=vary, progress=progress, stop=stop)
    return explained(sight, progress=progress, stop=stop, sure=sure)


def explained(sight: Sight, *, progress: Tell | None = None, stop: Stop | None = None, sure: bool = True) -> Review:
    """Return what happened on a day that was seen at first sight.

    Raises
    ------
    NothingMadeError : Stopped before there was an answer.
    """
    day, first, tell = sight.day, sight.first, Teller(progress, stop)
    such = expected_of(such_days(day, min(first.runs, SUCH_RUNS), seed=sight.seed, vary=sight.vary))
    found = ladder(_game(sight, tell), first.runs)
    certain = sure_of(day, found, first.events, first.quality, tell) if sure else None
    return _answer(_Made(sight, such, found, certain))


@dataclass(frozen=True, slots=True)
class _Made:
    """All that was worked out."""

    sight: Sight
    such: Expected
    found: Ladder
    sure: Sure | None


def _game(sight: Sight, tell: Teller) -> Game:
    day, events = sight.day, sight.first.events
    told = pieces(day, events, causes_of(day, events))
    return Game(day, tuple(told), tuple(told.values()), sight.seed, sight.vary, lambda done: tell("causes", done, 0))


def _answer(own: _Made) -> Review:
    day, first, found = own.sight.day, own.sight.first, own.found
    expected, rungs = first.expected, _rungs(own)
    replay_t = expected.mean_t + float(found.shares.mean(axis=1).sum()) if len(found.players) else expected.mean_t
    unexplained = first.actual_t - first.edges_t - replay_t
    top = own.sure.top if own.sure is not None else None
    why_not = cannot_tell(first.quality, rungs, unexplained, expected.mean_t, top)
    morning = morning_rung(own.such, expected)
    gone_on = replace(
        first,
        verdict=verdict(day, first, rungs, unexplained, why_not, morning),
        fan=replace(first.fan, replay_t=_replay_curve(own)),
    )
    return Review(
        **_fields(gone_on),
        scenario=day.plant.name,
        digest=day.plant.digest,
        seed=own.sight.seed,
        version=VERSION,
        day=day.date.isoformat(),
        such=own.such,
        morning=morning,
        ladder=rungs,
        booking=_booking(own.sight.made),
        replay_t=replay_t,
        unexplained_t=unexplained,
        exact=found.exact_runs == first.runs,
        tells=not why_not,
        why_not=why_not,
        top_sure=top,
        largest="" if why_not else largest_words(rungs),
        look_at=look_at(rungs, first.events, first.suspect, unexplained, expected.mean_t, not why_not),
        start=dict(day.morning.told),
    )


def _fields(first: FirstSight) -> dict[str, Any]:
    return {one.name: getattr(first, one.name) for one in fields(first)}


def _replay_curve(own: _Made) -> tuple[float, ...]:
    game = own.found.game
    return tuple(run_days(own.sight.day, game.scripts(game.everything), [0], seed=own.sight.seed)[0].tolist())


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
    day, found = own.sight.day, own.found
    cause = found.players[i]
    causes = set(found.small) if cause.kind == "others" else {cause}
    events = [one for one in own.sight.first.events if cause_of(one) in causes]
    shares = found.shares[i]
    mean, sample_low, sample_high = interval(shares)
    worked = sum(day.records.worked(one.station, one.start_s, one.end_s) for one in events if one.kind != "speed")
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
        record=_record(day, cause, events),
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
    mean, low, high = interval(change[:, -1])
    made = booked(day)
    curve = np.array(made.curve_t) + change.mean(axis=0)
    return WhatIf(mean, low, high, made.booked_t + mean, tuple(curve.tolist()))


def _everything(day: Day, events: Sequence[DayEvent], causes: Sequence[Cause]) -> Scripts:
    return together([day.base, *pieces(day, events, causes).values()])
