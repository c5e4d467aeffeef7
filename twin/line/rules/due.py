"""Which clock of the line is due next."""

from mypy_extensions import i64

from twin.line.rules.state import Line


def find_next(line: Line) -> float:
    """Find the clock that is due first: earliest, then lowest rank, then first in the list.

    Note whether others are due with it: while that is so, nothing may start.
    """
    if line.slow_stale:
        find_slow(line)
    best = line.slow
    at = best.at
    shared = line.slow_shared
    place: i64 = 0
    for due in line.due_at:
        if due <= at:
            clock = line.clocks[place]
            if due < at:
                best = clock
                at = due
                shared = 0
            elif clock.rank < best.rank:
                best = clock
            shared += 1
        place += 1
    line.crowded = shared > 1
    line.due = best
    return at


def find_slow(line: Line) -> None:
    """Find which of the clocks that seldom change is due first, and how many with it."""
    best = line.day_clock
    at = best.at
    shared: i64 = 0
    for clock in line.slow_clocks:
        if clock.at > at:
            continue
        if clock.at < at:
            best = clock
            at = clock.at
            shared = 0
        elif clock.rank < best.rank:
            best = clock
        shared += 1
    line.slow = best
    line.slow_shared = shared
    line.slow_stale = False
