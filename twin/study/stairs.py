"""The staircase: the limit is relieved a little more, and more, until another takes over; then that one.

It is climbed at the best inputs: a plant that is drawn anew in every other run would hide the few tonnes of a stair.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from twin.indicators.intervals import FloatArray, Interval, indicator, mean_interval
from twin.study.limits import MORE, Limits, Relief, limits, reliefs
from twin.study.maker import Maker, weekly
from twin.study.replications import Replications

RUNS = 8
STEPS = 6
GIVES_OUT = 0.4  # of what the first step brought: when a further one brings less, something else holds the line
WHAT = "until another takes over"


@dataclass(frozen=True, slots=True)
class Stair:
    """One stair: what limited, how much more of it was given until another took over, and what the line makes then.

    Attributes
    ----------
    limit : What limited.
    relief : About how much more of it, as a share, until another takes over; of roll sets and cranes one is a tenth.
    good : What the line makes when another has taken over. [t/week]
    levels, tonnes : How the line answered on the way, from no relief on: share of relief, t/week.
    then : What limits after that; None if nothing single, or if it was not asked.
    """

    limit: str
    relief: float
    good: Interval
    levels: tuple[float, ...]
    tonnes: tuple[float, ...]
    then: str | None


def stairs(
    today: Replications, maker: Maker, *, now: Limits | None = None, floors: int = 2, runs: int = RUNS
) -> list[Stair]:
    """Return the stairs from today's limit on; fewer than `floors` where nothing single limits any more.

    All of it is at the best inputs, whatever `today` and `maker` take.
    """
    runs, maker = min(runs, today.runs), maker.with_best_inputs()
    if today.group:
        today = maker.make(WHAT, [today.scenario], runs)[0]
    line, limit = today, (now or limits([today], maker, runs=runs)[0]).first
    found: list[Stair] = []
    for _ in range(floors):
        if limit is None:
            break
        climbed = _climb(line, limit, runs, maker)
        place = _gives_out([weekly(one)[:runs] for one in climbed])
        line = climbed[place]
        then = limits([line], maker, runs=runs)[0].first
        tonnes = tuple(float(weekly(one)[:runs].mean()) for one in climbed)
        levels = tuple((1.0 + MORE) ** step - 1.0 for step in range(len(climbed)))
        good = mean_interval(weekly(line)[:runs])
        found.append(Stair(limit, _taken_over(levels, tonnes, place), good, levels, tonnes, then))
        limit = then if then != limit else None
    return found


def _climb(line: Replications, limit: str, runs: int, maker: Maker) -> list[Replications]:
    """Return the line as it is and with one step after the other more of what limits it."""
    lines = []
    scenario = line.scenario
    for _ in range(STEPS):
        scenario = _relief(reliefs(scenario), limit).apply(scenario)
        lines.append(scenario)
    return [line, *maker.make(WHAT, lines, runs)]


def _relief(things: list[Relief], limit: str) -> Relief:
    return next(one for one in things if one.name == limit)


def _gives_out(climbed: list[FloatArray]) -> int:
    """Return at which step another has taken over: the first that brings little of what the very first did."""
    steps = [float((after - before).mean()) for before, after in zip(climbed[:-1], climbed[1:], strict=True)]
    for place, step in enumerate(steps[1:], start=2):
        if step < GIVES_OUT * steps[0]:
            return place
    return len(steps)


def _taken_over(levels: tuple[float, ...], tonnes: tuple[float, ...], place: int) -> float:
    """Return where the first slope reaches what the line makes once another limits."""
    slope = tonnes[1] - tonnes[0]
    if slope <= 0.0:
        return levels[place]
    return min(levels[place], levels[1] * (tonnes[place] - tonnes[0]) / slope)


def plain_stairs(found: list[Stair]) -> list[dict[str, Any]]:
    """Return stairs as plain values."""
    return [
        {
            "limit": stair.limit,
            "relief": stair.relief,
            "good": indicator(stair.good, "t/week"),
            "levels": list(stair.levels),
            "tonnes": list(stair.tonnes),
            "then": stair.then,
        }
        for stair in found
    ]
