"""What such days give whatever their morning: the same calendar and plan, the line as it has settled in by itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.line import clock_loop
from twin.line.build import build
from twin.line.engine import compiled_available
from twin.line.model import NO_SCRIPTS, prepare
from twin.line.simulate import collector_resting
from twin.line.totals import made_by
from twin.logs.hours import station_hours
from twin.scenario import Scenario
from twin.scenario.beginning import Start
from twin.scenario.calendars import elapsed, timestamp
from twin.study.review_day import Day, Vary, fresh

Spans = Sequence[tuple[float, float]]

WEEKS = 4  # before the day: the same weekday is taken too, where its hours are the same
LEAST_WARM_UP = timedelta(weeks=2)
DAY = timedelta(days=1)
SAME_S = 1.0


def such_days(day: Day, runs: int, *, seed: int, vary: Vary | None = None) -> FloatArray:
    """Return the good tonnes of days like this one, each with a morning that the line came to by itself. [t]"""
    early, spans = settled_before(day)
    moments = tuple(sorted({at for span in spans for at in span}))
    pure, made = not compiled_available(), []
    with collector_resting():
        for run in range(runs):
            model = replace(prepare(_drawn(day, early, vary, seed, run)), days=moments)
            line, draws = build(model, seed, run, NO_SCRIPTS, pure=pure)
            clock_loop.run(line, draws, model, pure=pure)
            good = dict(zip(moments, made_by(line)[:-1].sum(axis=1).tolist(), strict=True))
            made += [(good[end] - good[begin]) / 1e3 for begin, end in spans]
    return np.array(made)


def _drawn(day: Day, early: Scenario, vary: Vary | None, seed: int, run: int) -> Scenario:
    """Return the line of one run, its numbers drawn where they are uncertain; its hours and its start stay."""
    return early if vary is None else fresh(vary(day.plant, seed, run), time=early.time, start=early.start)


def settled_before(day: Day) -> tuple[Scenario, Spans]:
    """Return the line started long before a day, and when such days begin and end, from that start. [s]"""
    own = day.plant.time
    local = datetime.fromtimestamp(day.begin, own.tz).replace(tzinfo=None)
    settle = max(timedelta(seconds=own.warm_up), LEAST_WARM_UP)
    clock = own.model_copy(update={"start": local - WEEKS * timedelta(weeks=1) - settle, "warm_up": 0.0})
    mornings = [local - timedelta(weeks=back) for back in range(WEEKS, -1, -1)]
    spans = [(elapsed(clock, at), elapsed(clock, at + DAY)) for at in mornings]
    clock = clock.model_copy(update={"length": spans[-1][1] + SAME_S})
    early = fresh(day.plant, time=clock, start=Start.model_validate("typical"))
    return early, tuple(_alike(early, spans))


def _alike(early: Scenario, spans: Spans) -> Iterator[tuple[float, float]]:
    """Yield the days on which every station works as long as on the last of them."""
    first = timestamp(early.time, early.time.start)
    hours = station_hours(early, first + spans[-1][1] + SAME_S).values()
    worked = [[float(own.between(np.array(first + a), np.array(first + b))) for own in hours] for a, b in spans]
    for span, one in zip(spans, worked, strict=True):
        if all(abs(a - b) < SAME_S for a, b in zip(one, worked[-1], strict=True)):
            yield span
