"""The ladder: cheaper moves at what limits now and at what limits next, each by itself and two by two.

A look at single options misses pairs: where two limits lie at almost the same tonnage, freeing one only hands the line
over to the other, and both moves look worthless until they are made together.

What limits next is found at the best inputs; the moves themselves are run as the maker says, so that with uncertain
inputs their intervals hold what is not known of the plant.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from twin.indicators.intervals import Interval, indicator, plant_interval
from twin.study.compare import Asked, Comparison, Row, compare, possible
from twin.study.limits import Limits, limits, reliefs
from twin.study.maker import Maker, weekly
from twin.study.moves import Move, moves, with_moves
from twin.study.replicate import NothingMadeError

if TYPE_CHECKING:
    from twin.study.replications import Replications

RUNS = 12
MUCH = 0.5  # more of the first limit, so that the next one shows
WORTH_A_LOOK = 0.1  # chance from which a limit is looked at
MOST_AT_ONE = 5  # moves at one limit
WHAT = "what limits next"


@dataclass(frozen=True, slots=True)
class Ladder:
    """Moves at what limits now and next.

    Attributes
    ----------
    now, then : What limits, and what limits once that is relieved.
    moves : All moves that were tried.
    found : Their comparison, singles first, then pairs.
    missed : The pair of the most worth whose two halves together bring more than their sum; None if there is none.
    together : How much more it brings than the two one by one. [t/week]
    """

    now: Limits
    then: Limits | None
    moves: tuple[Move, ...]
    found: Comparison
    missed: Row | None
    together: Interval | None


def ladder(
    today: Replications,
    now: Limits,
    maker: Maker,
    *,
    runs: int = RUNS,
    known: dict[frozenset[str], Replications] | None = None,
    so_far: Callable[[Comparison], None] | None = None,
) -> Ladder | None:
    """Return the moves at the limits of a line; None where nothing limits it or nothing can be moved.

    Parameters
    ----------
    today, now : Runs of the line as it is, and what limits it.
    known : Runs of options that have been made already.
    """
    runs = min(runs, today.runs)
    first = [name for name, chance in now.named.items() if chance >= WORTH_A_LOOK]
    if not first:
        return None
    then = next_limits(today, first[0], maker.with_best_inputs())
    second = [name for name, chance in then.named.items() if chance >= WORTH_A_LOOK] if then is not None else []
    tried = _few(moves(today.scenario, [*first, *second]))
    line = with_moves(today.scenario, tried)
    singles = [(move.name,) for move in tried if possible(line, (move.name,))]
    pairs = [pair for pair in _pairs(tried, set(first)) if possible(line, pair)]
    if not singles:
        return None
    made = {frozenset(): today, **(known or {})}
    wanted = Asked((*singles, *pairs), runs=runs, most=runs, with_limits=False)
    found = compare(line, wanted, maker, known=made, so_far=so_far)
    missed = _missed(found, {move.name for move in tried if move.priced})
    return Ladder(now, then, tuple(tried), found, missed, together(found, missed) if missed is not None else None)


def next_limits(today: Replications, first: str, maker: Maker) -> Limits | None:
    """Return what limits once the first limit has half as much more; None if it was stopped before that."""
    relieved = next(one.apply(today.scenario) for one in reliefs(today.scenario, MUCH) if one.name == first)
    try:
        made = maker.make(WHAT, [relieved], min(RUNS, today.runs))
        return limits(made, maker)[0]
    except (NothingMadeError, KeyboardInterrupt):
        return None


def _few(found: list[Move]) -> list[Move]:
    """Return not more than a few moves at each limit, those with a price first."""
    kept: list[Move] = []
    for limit in dict.fromkeys(move.limit for move in found):
        here = sorted((move for move in found if move.limit == limit), key=lambda move: not move.priced)
        kept += here[:MOST_AT_ONE]
    return kept


def _pairs(tried: list[Move], first: set[str]) -> list[tuple[str, ...]]:
    """Return one move at what limits now with one at something else."""
    return [
        (one.name, other.name)
        for i, one in enumerate(tried)
        for other in tried[i + 1 :]
        if one.limit != other.limit and (one.limit in first or other.limit in first)
    ]


def together(found: Comparison, pair: Row) -> Interval:
    """Return how much more a pair brings than its two halves by themselves, run by run. [t/week]"""
    runs = min(found.made[frozenset(one)].runs for one in ((), pair.options, *((name,) for name in pair.options)))
    today, both = weekly(found.made[frozenset()])[:runs], weekly(pair.made)[:runs]
    halves = [weekly(found.made[frozenset([name])])[:runs] - today for name in pair.options]
    return plant_interval(both - today - sum(halves), pair.made.group)


def _missed(found: Comparison, priced: set[str]) -> Row | None:
    """Return the best of the pairs that bring more than their halves for sure, those whose costs are known first."""
    pairs = [row for row in found.rows if len(row.options) == 2 and (together(found, row).low or 0.0) > 0.0]
    return max(pairs, key=lambda row: (set(row.options) <= priced, _worth(row)), default=None)


def _worth(row: Row) -> float:
    """Return by what pairs are ranked: their value, or the tonnes where the file has no money."""
    if row.worth is not None:
        return row.worth.value.mean
    return row.change.mean if row.change is not None else 0.0


def _adds(found: Comparison, row: Row) -> bool:
    """Return whether a move adds something for sure, a pair more than the better of its two."""
    if row.change is None or (row.change.low or 0.0) <= 0.0:
        return False
    halves = [found.made[frozenset([name])] for name in row.options] if len(row.options) > 1 else []
    runs = min([row.made.runs, *(one.runs for one in halves)])
    group = row.made.group
    gains = [plant_interval(weekly(row.made)[:runs] - weekly(one)[:runs], group) for one in halves]
    return all((gain.low or 0.0) > 0.0 for gain in gains)


def plain_ladder(found: Ladder) -> dict[str, Any]:
    """Return a ladder as plain values."""
    priced = {move.name for move in found.moves if move.priced}
    return {
        "now": found.now.named,
        "then": found.then.named if found.then is not None else {},
        "rungs": [_rung(found, row, priced) for row in found.found.rows[1:]],
        "missed": None if found.missed is None else _rung(found, found.missed, priced),
        "together": None if found.together is None else indicator(found.together, "t/week"),
    }


def _rung(found: Ladder, row: Row, priced: set[str]) -> dict[str, Any]:
    """Return one move or pair: what it brings, and what a tonne more costs, as far as prices are given."""
    currency = found.found.ledger.currency if found.found.ledger is not None else ""
    per_tonne = row.worth.per_tonne if row.worth is not None else None
    known = all(name in priced for name in row.options)
    return {
        "adds": _adds(found.found, row),
        "moves": list(row.options),
        "on": [move.limit for name in row.options for move in found.moves if move.name == name],
        "set": {path: value for move in found.moves if move.name in row.options for path, value in move.set.items()},
        "priced": known,
        "change": indicator(row.change, "t/week"),
        "per_tonne": {"mean": per_tonne, "low": None, "high": None, "unit": f"{currency}/t"} if known else None,
        "npv": None if row.worth is None else row.worth.value.mean / 1000.0,
    }
