"""The changes of rolls as a mixed-integer program: one flow over the arcs, and rows for what the roll shop can do.

A row says that no more changes may lie within a stretch of places than the sets and the people can serve; rows are
added as a plan breaks them, so the program stays small. Why they are exact: the shop works first come, first served,
and its times are alike, so a set is ready by a time if it was cold when somebody could last turn to it, and if the
set as many changes before it as there were people then was done by that time: and so on back to now. With S sets a
change needs back the set that came off S - 1 changes before; so a plan is possible if and only if, for each change and
each such way back, no more changes lie within it than it can serve.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np

from twin.study.rollplan import Plan, Problem, prices_from_now
from twin.study.rollsearch import LEAST_S, price_to_go
from twin.study.rollshop import free_times, ready_times

ROUNDS = 200
NEAR = 8  # places around a broken row that get one like it
NO_PLAN = 2  # scipy's word for an infeasible program


@dataclass(frozen=True, slots=True)
class Row:
    """At most so many changes from one place to another, both included."""

    start: int
    end: int
    most: int


class Rows:
    """The rows that scarce sets can need, place by place, from the shortest stretch to the longest."""

    def __init__(self, problem: Problem) -> None:
        assert problem.stock is not None
        self.times, self.stock = problem.times, problem.stock
        self.early = ready_times(self.stock)
        self.free = free_times(self.stock)
        self.made: dict[int, list[Row]] = {}

    def at(self, end: int) -> list[Row]:
        """Return the rows of one place."""
        if end not in self.made:
            self.made[end] = list(self._rows(end))
        return self.made[end]

    def _rows(self, end: int) -> Iterator[Row]:
        stock, shop = self.stock, self.stock.shop
        now = float(self.times[end]) + LEAST_S
        early = bisect_right(self.early, now)
        yield Row(0, end, early if early < stock.others else len(self.times))
        most, at = stock.others, now - shop.heat
        while True:
            at = shop.turns_to(at)
            start = int(np.searchsorted(self.times, at - shop.cool, side="right"))
            yield Row(start, end, most)
            people = bisect_right(self.free, at)
            if start == 0 or people == 0:
                break
            most += people
        yield Row(0, end, most)

    def broken(self, places: Sequence[int]) -> Iterator[Row]:
        """Yield the rows that a plan breaks, and their like at the places around, which the next would break."""
        size = len(self.times)
        for end in places:
            for kind, row in enumerate(self.at(end)):
                if sum(row.start <= place <= end for place in places) > row.most:
                    near = (self.at(other) for other in range(max(0, end - NEAR), min(size, end + NEAR + 1)))
                    yield from (rows[kind] for rows in near if kind < len(rows))
                    yield row


def proved(problem: Problem, *, most: float = inf) -> Plan | None:
    """Return the cheapest plan in which every change finds a set ready; None where there is none.

    Parameters
    ----------
    most : A price at which a plan is known; arcs that no plan of that price or less can have are left out.
    """
    rows, program = Rows(problem), Program(problem, most)
    known: dict[Row, None] = {}
    for _ in range(ROUNDS):
        plan = program.solve(list(known))
        broken = {} if plan is None else dict.fromkeys(row for row in rows.broken(plan.places) if row not in known)
        if not broken:
            return plan
        known.update(broken)
    raise RuntimeError(f"no plan was settled in {ROUNDS} rounds of {len(known)} rows")


class Program:
    """The arcs of a problem as columns of a program."""

    def __init__(self, problem: Problem, most: float) -> None:
        size = len(problem.times)
        from_now, to_go = prices_from_now(problem)[0], price_to_go(problem)
        limit = most + 1e-9 * max(1.0, abs(most)) if most < inf else np.finfo(float).max
        firsts = np.flatnonzero(problem.first + to_go <= limit)
        tails, heads = np.nonzero(from_now[:, None] + problem.between + to_go[None, :] <= limit)
        tails, heads = tails[heads > tails], heads[heads > tails]
        lasts = np.flatnonzero(from_now + problem.last <= limit)
        stay = [problem.stay] if problem.stay <= limit else []
        prices = (problem.first[firsts], problem.between[tails, heads], problem.last[lasts], stay)
        self.prices = np.concatenate(prices)
        self.into = np.concatenate([firsts, heads, np.full(len(lasts) + len(stay), -1)])
        self._tie(np.concatenate([np.full(len(firsts), size), tails, lasts, np.full(len(stay), size)]), size)

    def _tie(self, out_of: Any, size: int) -> None:  # noqa: ANN401 - an array of whole numbers
        """Let as much leave each place as enters it, and one path leave now."""
        from scipy import sparse

        count, arcs = len(self.prices), np.arange(len(self.prices))
        enters = self.into >= 0
        leaves = sparse.csr_array((np.ones(count), (out_of, arcs)), shape=(size + 1, count))
        self.enters = sparse.csr_array((np.ones(enters.sum()), (self.into[enters], arcs[enters])), shape=(size, count))
        self.flow = sparse.csr_array(leaves - sparse.vstack([self.enters, sparse.csr_array((1, count))]))
        self.source = np.append(np.zeros(size), 1.0)

    def solve(self, rows: Sequence[Row]) -> Plan | None:
        """Return the cheapest plan within the rows; None where there is none."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        if not len(self.prices):
            return None
        limits = [LinearConstraint(self.flow, self.source, self.source)]
        if rows:
            limits.append(self._counts(rows))
        found = milp(
            self.prices,
            constraints=limits,
            bounds=Bounds(0.0, 1.0),
            integrality=np.ones(len(self.prices), dtype=np.int64),
        )
        if found.status == NO_PLAN:
            return None
        if found.x is None:
            raise RuntimeError(f"the program of the roll changes was not solved: {found.message}")
        taken = np.flatnonzero(found.x > 0.5)
        places = tuple(sorted(int(place) for place in self.into[taken] if place >= 0))
        return Plan(places, float(self.prices[taken].sum()))

    def _counts(self, rows: Sequence[Row]) -> Any:  # noqa: ANN401 - scipy's own kind of constraint
        """Return the rows over arcs: an arc counts where it ends within the stretch."""
        from scipy import sparse
        from scipy.optimize import LinearConstraint

        size = self.enters.shape[0]
        picks = [np.arange(row.start, row.end + 1) for row in rows]
        lengths = np.array([len(pick) for pick in picks])
        chosen = sparse.csr_array(
            (np.ones(int(lengths.sum())), (np.repeat(np.arange(len(rows)), lengths), np.concatenate(picks))),
            shape=(len(rows), size),
        )
        return LinearConstraint(chosen @ self.enters, -np.inf, np.array([row.most for row in rows], dtype=float))
