"""How sure it is which cause was the largest: the ladder again with the log as it may just as well have been."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.line.model import Scripts
from twin.study.review_answer import DayEvent, LogQuality
from twin.study.review_day import Day
from twin.study.review_events import Cause
from twin.study.review_first import Teller
from twin.study.review_ladder import OTHERS, Game, Ladder
from twin.study.review_scripts import pieces, together
from twin.study.shapley import along, orders

LOGS = 24  # logs that might just as well have been written
RUNS = 3  # runs of each, with one order and its reverse
DRAWS = 40  # samples of the runs for each of those logs
SHORTEST_S = 1.0


@dataclass(frozen=True, slots=True)
class Sure:
    """Chances that a cause's place by size stays.

    Attributes
    ----------
    top : That the largest is the largest.
    largest : Of each cause, that it is the largest.
    places : Of each cause, that its place stays, in the order of the ladder's players.
    """

    top: float
    largest: FloatArray
    places: FloatArray


def sure_of(day: Day, found: Ladder, events: Sequence[DayEvent], quality: LogQuality, tell: Teller) -> Sure:
    """Return how sure the places of the causes are, given the quality of the log and the number of runs.

    Recorded times are moved within what they were rounded to and their clocks were off by, recorded durations by the
    share by which those of this log are off, and as many records are dropped as seem to be missing.
    """
    causes = len(found.players)
    if causes < 2:
        return Sure(1.0, np.ones(causes), np.ones(causes))
    random = np.random.default_rng(found.game.seed)
    share = found.shares
    first = _quick(found.game)
    off = [np.zeros(causes)]
    causes_in = [one for one in (*found.players, *found.small) if one != OTHERS]
    logs = LOGS if _is_off(quality) else 0
    for done in range(logs):
        tell("sure", done, logs)
        told = pieces(day, _otherwise(day, events, quality, random), causes_in)
        off.append(_quick(replace(found.game, parts=_parts(found, told), known={}, tell=None)) - first)
    rank = _ranks(share.mean(axis=1))
    kept, tops = np.zeros(causes), np.zeros(causes)
    tried = 0
    for change in off:
        picks = random.integers(0, share.shape[1], size=(DRAWS, share.shape[1]))
        for pick in picks:
            ranks = _ranks(share[:, pick].mean(axis=1) + change)
            kept += ranks == rank
            tops += ranks == 0
            tried += 1
    largest = (tops + 1.0 / causes) / (tried + 1.0)
    return Sure(float(largest[rank.argmin()]), largest, (kept + 0.5) / (tried + 1.0))


def _is_off(quality: LogQuality) -> bool:
    return max(quality.missing, quality.durations, quality.rounding_s, quality.clock_s) > 0.0


def _ranks(shares: FloatArray) -> FloatArray:
    """Return the place of each cause by the size of its share, 0 for the largest."""
    places = np.zeros(len(shares))
    places[np.argsort(-np.abs(shares), kind="stable")] = np.arange(len(shares))
    return places


def _quick(game: Game) -> FloatArray:
    """Return shares from a few runs, each in one order and its reverse; the same ones for every log."""
    made = []
    for run in range(RUNS):
        for order in orders(len(game.players), 1, seed=run + 1):
            made.append(along(lambda inside, run=run: game.value(inside, [run])[0], order))  # type: ignore[misc]
    mean: FloatArray = np.mean(made, axis=0)
    return mean


def _parts(found: Ladder, told: dict[Cause, Scripts]) -> tuple[Scripts, ...]:
    return tuple(together([told[own] for own in found.small]) if one == OTHERS else told[one] for one in found.players)


def _otherwise(
    day: Day, events: Sequence[DayEvent], quality: LogQuality, random: np.random.Generator
) -> tuple[DayEvent, ...]:
    """Return the events as they may just as well have been."""
    kept = [one for one in events if random.random() >= quality.missing or one.kind in ("speed", "loss")]
    made = []
    for one in kept:
        half = quality.rounding_s / 2.0
        late = random.uniform(-half, half) + random.normal(0.0, quality.clock_s) / 2.0
        lasts = _lasts(day, one, quality.durations, random) + random.uniform(-half, half)
        start = min(max(day.begin, one.start_s + late), day.end - SHORTEST_S)
        made.append(replace(one, start_s=start, end_s=start + max(SHORTEST_S, lasts)))
    return tuple(sorted(made, key=lambda one: one.start_s))


def _lasts(day: Day, one: DayEvent, share: float, random: np.random.Generator) -> float:
    """Return how long an event may just as well have lasted; less is open where the coils told of it. [s]"""
    lasts, left = one.end_s - one.start_s, day.settled.left_s
    if one.lines and all(line in left for line in one.lines):
        off = sum(left[line] ** 2 for line in one.lines) ** 0.5
        return lasts + float(random.normal(0.0, off))
    return lasts * float(np.exp(random.normal(0.0, share)))
