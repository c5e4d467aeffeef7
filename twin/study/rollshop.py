"""The roll shop as a plan sees it: every time at its mean, its hours as they are, first come first served.

Times are seconds of the run. A set that comes off cools, is ground while the shop is open, is fitted by the same
person without a pause, is heated, and is ready.
"""

from __future__ import annotations

import heapq
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

DISTANT = 1e12
"""A time that no plan reaches. [s]"""


@dataclass(frozen=True, slots=True)
class Hours:
    """Opening hours: whether open at time 0, and the times at which that turns. [s]"""

    open_at_start: bool = True
    turns: tuple[float, ...] = ()

    def is_open(self, at: float) -> bool:
        """Tell whether the hours run at a time; they do from the turn itself on."""
        return self.open_at_start != (bisect_right(self.turns, at) % 2 == 1)

    def next_turn(self, at: float) -> float:
        """Return the first turn after a time."""
        place = bisect_right(self.turns, at)
        return self.turns[place] if place < len(self.turns) else inf

    def opens(self, at: float) -> float:
        """Return a time itself where open, else the next opening."""
        return at if self.is_open(at) else self.next_turn(at)

    def after(self, at: float, work: float) -> float:
        """Return when so many open seconds have passed; beyond the last closing it is infinite."""
        now, left = self.opens(at), work
        while now < inf:
            closes = self.next_turn(now)
            if now + left <= closes:
                return now + left
            left -= closes - now
            now = self.opens(closes)
        return inf

    def before(self, at: float, work: float) -> float:
        """Return the latest time from which so many open seconds pass until a time; -inf where there are too few."""
        now, left = at, work
        while True:
            place = bisect_left(self.turns, now)
            begins = self.turns[place - 1] if place else -inf
            if self.open_at_start != (place % 2 == 1):
                if now - left >= begins:
                    return now - left
                left -= now - begins
            if begins == -inf:
                return -inf
            now = begins

    def without(self, start: float, end: float) -> Hours:
        """Return the same hours, closed besides from one time to another."""

        def runs(at: float) -> bool:
            return self.is_open(at) and not start <= at < end

        begins = now = runs(0.0)
        kept = []
        for edge in sorted({*self.turns, start, end}):
            if edge > 0.0 and runs(edge) != now:
                now = not now
                kept.append(edge)
        return Hours(begins, tuple(kept))


ALWAYS = Hours()


@dataclass(frozen=True, slots=True)
class Pending:
    """A set that is not ready yet: when it can be worked on, and what is still to be done with it.

    Attributes
    ----------
    number : The set.
    cold : When the grinder may take it. [s]
    grind, fit, heat : Time still needed for each. [s]
    begun : Whether a person is already at it; it is then worked on from `cold` on.
    """

    number: int
    cold: float
    grind: float
    fit: float
    heat: float
    begun: bool = False


@dataclass(frozen=True, slots=True)
class Shop:
    """How long a set takes from coming off to being ready again, all at the mean. [s]"""

    hours: Hours = ALWAYS
    people: int = 1
    cool: float = 0.0
    grind: float = 0.0
    fit: float = 0.0
    heat: float = 0.0
    extra_after_damage: float = 0.0

    def done(self, at: float) -> float:
        """Return when a person who turns to a cold set at a time has ground and fitted it."""
        return self.hours.after(self.hours.opens(at), self.grind) + self.fit

    def turns_to(self, done: float) -> float:
        """Return the latest time at which a person may turn to a cold set and have it done by a time."""
        return self.hours.before(done - self.fit, self.grind)

    def pending(self, number: int, off: float) -> Pending:
        """Return the set that comes off undamaged at a time."""
        return Pending(number, off + self.cool, self.grind, self.fit, self.heat)


@dataclass(frozen=True, slots=True)
class Stock:
    """Where the sets beside the one on the mill are: `ready`, by their numbers, and `pending`, in the order of work."""

    shop: Shop
    ready: tuple[int, ...]
    pending: tuple[Pending, ...] = ()

    @property
    def others(self) -> int:
        """Return how many sets there are beside the one on the mill."""
        return len(self.ready) + len(self.pending)


@dataclass(frozen=True, slots=True)
class Stay:
    """Where a set is from one time to another. [s]"""

    number: int
    place: str
    start: float
    end: float


class Bench:
    """The people of the shop working through the sets one after another."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self.free = [-inf] * shop.people
        heapq.heapify(self.free)
        self.stays: list[Stay] = []

    def work(self, one: Pending) -> float:
        """Let the next free person work on a set; return when it is ready."""
        hours = self.shop.hours
        if one.grind <= 0.0 and one.fit <= 0.0 and not one.begun and one.heat > 0.0:
            self.stays.append(Stay(one.number, "heating", one.cold, one.cold + one.heat))
            return one.cold + one.heat
        free = max(one.cold, heapq.heappop(self.free))
        begins = free if one.begun else hours.opens(free)
        ground = hours.after(begins, one.grind) if one.grind > 0.0 else begins
        fitted = ground + one.fit
        heapq.heappush(self.free, fitted)
        ready = fitted + one.heat
        places = ("waiting", one.cold, begins), ("grinding", begins, ground), ("fitting", ground, fitted)
        for place, start, end in (*places, ("heating", fitted, ready)):
            if end > start:
                self.stays.append(Stay(one.number, place, start, min(end, DISTANT)))
        return ready


def ready_times(stock: Stock) -> list[float]:
    """Return when each set beside the one on the mill is ready if no further one comes off, in order."""
    bench = Bench(stock.shop)
    return sorted([-inf] * len(stock.ready) + [bench.work(one) for one in stock.pending])


def free_times(stock: Stock) -> list[float]:
    """Return when each person has worked through what waits now, in order."""
    bench = Bench(stock.shop)
    for one in stock.pending:
        bench.work(one)
    return sorted(bench.free)


@dataclass(frozen=True, slots=True)
class Course:
    """What becomes of the sets when changes are wished for at given times.

    Attributes
    ----------
    on : Number of the set that goes on at each change.
    at : When each change can be, at the wish or when a set is ready. [s]
    ready : When that set was ready. [s]
    stays : Where each set is, and until when.
    """

    on: tuple[int, ...]
    at: tuple[float, ...]
    ready: tuple[float, ...]
    stays: tuple[Stay, ...]


def follow(stock: Stock, wished: Sequence[float], mounted: int, start: float, end: float) -> Course:
    """Follow the sets through changes wished for at given times; whoever finds no set ready waits for the next.

    Later changes keep their distance to the one before, so a wait pushes them back.

    Parameters
    ----------
    wished : Times of the changes if a set were always ready. [s]
    mounted : Number of the set that is on the mill.
    start, end : Between which the stays are told. [s]
    """
    bench = Bench(stock.shop)
    queue = [(-inf, place, number) for place, number in enumerate(stock.ready)]
    order = len(queue)
    for one in stock.pending:
        queue.append((bench.work(one), order, one.number))
        order += 1
    heapq.heapify(queue)
    since = {number: start for number in stock.ready} | {one.number: start for one in stock.pending}
    stays = [Stay(one.number, "cooling", start, one.cold) for one in stock.pending if one.cold > start]
    on, at, ready = [], [], []
    late, mounted_since = 0.0, start
    for wish in wished:
        found, _, number = heapq.heappop(queue)
        when = max(wish + late, found)
        late = when - wish
        stays += [Stay(number, "ready", max(found, since.get(number, start), start), when)]
        stays += [Stay(mounted, "on mill", mounted_since, when), Stay(mounted, "cooling", when, when + stock.shop.cool)]
        heapq.heappush(queue, (bench.work(stock.shop.pending(mounted, when)), order, mounted))
        order += 1
        on.append(number)
        at.append(when)
        ready.append(found)
        mounted, mounted_since = number, when
    stays.append(Stay(mounted, "on mill", mounted_since, end))
    stays += [Stay(number, "ready", max(found, start), end) for found, _, number in queue if found < end]
    return Course(tuple(on), tuple(at), tuple(ready), _within([*stays, *bench.stays], start, end))


def _within(stays: Sequence[Stay], start: float, end: float) -> tuple[Stay, ...]:
    """Return stays cut to a stretch of time, by set and time."""
    cut = (Stay(one.number, one.place, max(one.start, start), min(one.end, end)) for one in stays)
    return tuple(sorted((one for one in cut if one.end > one.start), key=lambda one: (one.number, one.start)))
