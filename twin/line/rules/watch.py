"""A line that is let run until a cause would first show whether it is drawn or recorded.

Up to that moment both courses are one, to the last bit, so that they are run but once.
"""

from typing import Final

from mypy_extensions import i64

from twin.line.rules.run import next_time, step
from twin.line.rules.state import DUE_CAUSE, THEN_FAILURES, Cause, Line, Machine
from twin.line.rules.work import schedule

NOTHING: Final = -1
NUMBERS: Final = -2


class Watch:
    """Causes that are watched: of which machine, at which of its places, in which set, and when recorded first."""

    __slots__ = ("causes", "firsts", "machines", "places", "sets")
    machines: list[Machine]
    causes: list[Cause]
    places: list[int]
    sets: list[int]
    firsts: list[float]

    def __init__(self) -> None:
        self.machines = []
        self.causes = []
        self.places = []
        self.sets = []
        self.firsts = []


def run_watched(line: Line, until: float, watch: Watch, still: i64) -> i64:
    """Let everything happen up to a time, or until a cause of the sets that are `still` watched would show.

    Return the number of its set, NOTHING at the end, NUMBERS if a stream ran low first and must be filled.
    """
    at = next_time(line)
    while True:
        if line.low:
            return NUMBERS
        found = shows(watch, still, at if at < until else until)
        if found >= 0:
            return found
        if at > until:
            return NOTHING
        step(line, at)
        if line.low:
            return NUMBERS
        at = next_time(line)


def shows(watch: Watch, still: i64, at: float) -> i64:
    """Return which watched set would show: a machine waits for its drawn stop, or a recorded one comes by a time."""
    for i in range(len(watch.machines)):
        own = watch.sets[i]
        if still >> own & 1 == 0:
            continue
        machine = watch.machines[i]
        if watch.firsts[i] <= at or (machine.due == DUE_CAUSE and machine.due_cause == watch.places[i]):
            return own
    return NOTHING


def go_by_record(line: Line, watch: Watch, chosen: i64) -> None:
    """Let the causes of a set strike by record from now on; none of them has shown so far."""
    for i in range(len(watch.machines)):
        if watch.sets[i] == chosen:
            expect(line, watch.machines[i], watch.causes[i], watch.places[i])


def expect(line: Line, machine: Machine, cause: Cause, place: i64) -> None:
    """Let a machine wait for a recorded stop instead of a drawn one.

    A machine that waited for the drawn one has begun to at this very moment, so what else is due can be found anew.
    """
    machine.clocked = True
    clock = machine.clock
    waits = machine.due == DUE_CAUSE
    if waits and machine.due_cause == place:
        schedule(line, machine)
    elif cause.left < clock.at or (cause.left == clock.at and waits and place < machine.due_cause):
        machine.due = DUE_CAUSE
        machine.due_cause = place
        clock.at = cause.left
        clock.rank = THEN_FAILURES + machine.place
        line.due_at[clock.place] = cause.left
