"""Which changes are possible with few sets: every course of the roll shop that no other one beats, place by place.

A course is known by its price and by when the other sets are ready and the people free; one that is dearer and has
every set later than another cannot end better, and is dropped. Few are left, because the roll shop's hours bring most
courses to the same times. If none had to be left out for want of room, the best course is the best plan, and where no
course is left there is no plan.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterator
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, Any

import numpy as np

from twin.study.lifelaws import FloatArray
from twin.study.rollshop import free_times, ready_times

if TYPE_CHECKING:
    from twin.study.rollplan import Problem

LEAST_S = 1e-6  # a set that is ready a rounding after the change is ready


@dataclass(slots=True)
class Course:
    """A way to have changed at a place: its price, when the other sets are ready and the people free, and whence."""

    price: float
    ready: tuple[float, ...]
    free: tuple[float, ...]
    place: int
    before: Course | None


@dataclass(frozen=True, slots=True)
class Found:
    """The best course, if there is one; whether it is proved the best; the last place that any course reaches.

    `ready` is when the next set would be ready for the course that waits least there. [s]
    """

    places: tuple[int, ...] | None
    price: float
    proved: bool
    reached: int
    ready: float


def price_to_go(problem: Problem) -> FloatArray:
    """Return the least price from a change at each place to the end, if a set were always ready."""
    size = len(problem.times)
    price = problem.last.copy()
    for place in range(size - 2, -1, -1):
        onward = problem.between[place, place + 1 :] + price[place + 1 :]
        price[place] = min(float(price[place]), float(onward.min()))
    return price


class Search:
    """Goes through the places and keeps at each the courses that no other one beats, at most `room` of them."""

    def __init__(self, problem: Problem, room: int, most: float = inf) -> None:
        assert problem.stock is not None
        self.problem, self.room, self.most = problem, room, most
        self.stock, self.shop = problem.stock, problem.stock.shop
        self.times = problem.times.tolist()
        self.to_go = price_to_go(problem)
        self.fresh = [self.shop.done(at + self.shop.cool) for at in self.times]
        self.courses: list[list[Course]] = [[] for _ in self.times]
        self.crowded = False
        self.turned_away: list[tuple[int, float]] = []

    def run(self) -> Found:
        """Return the best course."""
        start = Course(0.0, tuple(ready_times(self.stock)), tuple(free_times(self.stock)), -1, None)
        best, price = None, self.problem.stay
        for place in range(len(self.times)):
            self.courses[place] = self._kept(place, self._changed(place, start))
            end = float(self.problem.last[place])
            for course in self.courses[place]:
                if course.price + end < price:
                    best, price = course, course.price + end
        reached, ready = self._reached()
        if price == inf:
            return Found(None, inf, not self.crowded, reached, ready)
        return Found(tuple(_path(best)), price, not self.crowded, len(self.times) - 1, -inf)

    def _changed(self, place: int, start: Course) -> Iterator[Course]:
        """Yield every course that changes at a place next."""
        first, column = float(self.problem.first[place]), self.problem.between[:place, place]
        limit = self.most - float(self.to_go[place]) + 1e-9 * max(1.0, abs(self.most) if self.most < inf else 1.0)
        if first < inf and first <= limit:
            yield from self._next(start, first, place)
        for earlier in np.flatnonzero(column < inf).tolist():
            arc = float(column[earlier])
            for course in self.courses[earlier]:
                if course.price + arc <= limit:
                    yield from self._next(course, course.price + arc, place)

    def _next(self, course: Course, price: float, place: int) -> Iterator[Course]:
        """Yield the course after one more change, if a set is ready for it."""
        now = self.times[place]
        if not course.ready or course.ready[0] > now + LEAST_S:
            self.turned_away.append((place, course.ready[0] if course.ready else inf))
            return
        cold = now + self.shop.cool
        free = course.free
        done = self.fresh[place] if free[0] <= cold else self.shop.done(free[0])
        ready = [at for at in course.ready[1:] if at > now]
        insort(ready, done + self.shop.heat)
        people = [at for at in free[1:] if at > cold]
        insort(people, done)
        yield Course(
            price,
            (-inf,) * (len(course.ready) - len(ready)) + tuple(ready),
            (-inf,) * (len(free) - len(people)) + tuple(people),
            place,
            course if course.place >= 0 else None,
        )

    def _kept(self, place: int, made: Iterator[Course]) -> list[Course]:
        """Return the courses that no other one beats, the cheapest first."""
        cheapest: dict[tuple[tuple[float, ...], tuple[float, ...]], Course] = {}
        for course in made:
            known = cheapest.get((course.ready, course.free))
            if known is None or course.price < known.price:
                cheapest[course.ready, course.free] = course
        kept: list[Course] = []
        for course in sorted(cheapest.values(), key=lambda one: one.price):
            if not any(_no_later(other, course) for other in kept):
                if len(kept) == self.room:
                    self.crowded = True
                    break
                kept.append(course)
        return kept

    def _reached(self) -> tuple[int, float]:
        """Return the last place that a course changes at or runs up to, and when it would have its next set."""
        ends = [place for place, _ in self.turned_away]
        reached = max((place for place, there in enumerate(self.courses) if there), default=0)
        last = max([reached, *ends], default=0)
        waits = [ready for place, ready in self.turned_away if place == last]
        return last, min(waits, default=inf)


def _no_later(one: Course, other: Course) -> bool:
    """Tell whether one course has every set and everybody at least as early as another."""
    return all(a <= b for a, b in zip(one.ready, other.ready, strict=True)) and all(
        a <= b for a, b in zip(one.free, other.free, strict=True)
    )


def _path(course: Course | None) -> list[int]:
    """Return the places of a course, first to last."""
    path: list[Any] = []
    while course is not None:
        path.append(course.place)
        course = course.before
    return path[::-1]
