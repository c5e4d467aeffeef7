"""What to compare when nobody says: each option by itself, then each with what relieves the limit that it runs into."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

from twin.study.compare import LEAST_SHARE, Asked, Comparison, Row, compare, possible
from twin.study.maker import Maker, weekly
from twin.study.moves import acts_on

if TYPE_CHECKING:
    from twin.scenario import Scenario

MOST_SINGLES = 8
MOST_PAIRS = 8
LIKELY = 0.1  # chance from which something counts as a limit


def proposed(
    scenario: Scenario, asked: Asked, maker: Maker, *, so_far: Callable[[Comparison], None] | None = None
) -> Comparison:
    """Return the options of a scenario and those pairs of them that free one limit after the other.

    `asked.options` names the options to look at, the file's if there are none; sums of more are taken as they are.
    """
    singles = list(asked.options) or [(name,) for name in list(scenario.options)[:MOST_SINGLES]]
    alone = replace(asked, options=tuple(singles), most=asked.runs)
    found = compare(scenario, alone, maker, so_far=so_far)
    if found.stopped:
        return found
    pairs = pairs_of(scenario, found.rows)
    if not pairs:
        return found
    tried = compare(scenario, _look(asked, pairs), maker, known=found.made)
    kept = [row.options for row in tried.rows[1:] if _helps(row, tried)]
    if not kept or tried.stopped:
        return found
    wanted = replace(asked, options=(*singles, *kept))
    known = {row.options: row.limits for row in found.rows if row.limits is not None}
    return compare(scenario, wanted, maker, known=tried.made, known_limits=known, so_far=so_far)


def _look(asked: Asked, pairs: list[tuple[str, ...]]) -> Asked:
    """Return a short look at pairs, to see which are worth more runs."""
    return replace(asked, options=tuple(pairs), runs=asked.first, most=asked.first, with_limits=False)


def _helps(row: Row, tried: Comparison) -> bool:
    """Return whether a pair makes more than the better of its two options, by what is worth finding."""
    halves = [tried.made[frozenset([name])] for name in row.options]
    runs = min(row.made.runs, *(one.runs for one in halves))
    pair = float(weekly(row.made)[:runs].mean())
    better = max(float(weekly(one)[:runs].mean()) for one in halves)
    return pair - better > LEAST_SHARE * tried.today.made.good.mean


def pairs_of(scenario: Scenario, rows: Sequence[Row]) -> list[tuple[str, ...]]:
    """Return pairs of options of which one acts on what limits once the other works, the most promising first."""
    limits = {row.options[0]: row.limits.named for row in rows if len(row.options) == 1 and row.limits is not None}
    there = {frozenset(row.options) for row in rows}
    scored: dict[tuple[str, str], float] = {}
    for one, other in combinations([name for name in scenario.options if name in limits], 2):
        chance = _relieves(scenario, other, limits[one]) + _relieves(scenario, one, limits[other])
        if chance >= LIKELY and frozenset((one, other)) not in there and possible(scenario, (one, other)):
            scored[(one, other)] = chance
    ranked = sorted(scored, key=lambda pair: -scored[pair])
    return list(ranked[:MOST_PAIRS])


def _relieves(scenario: Scenario, option: str, limits: Mapping[str, float]) -> float:
    """Return how likely an option acts on what limits."""
    return max((chance for name, chance in limits.items() if acts_on(scenario.options[option], name)), default=0.0)
