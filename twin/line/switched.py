"""A line of one random day whose causes are switched from drawn to recorded, any set of them, before each run.

Everything drawn stays as it is, so what a set of causes is worth is a difference on the same random numbers. The line
is put together and brought into its morning once; for each set it is set back to there, and what is recorded of the
set is put in.
"""

from __future__ import annotations

from collections.abc import Sequence

from twin.line import clock_loop
from twin.line.build import builder_of, make_ready
from twin.line.builder import Builder
from twin.line.engine import rules_of
from twin.line.model import NO_SCRIPTS, Model, Scripts
from twin.line.rules import state as st
from twin.line.scripted import cause_of, recorded_of, strike_when

LATER = frozenset({"setup", "knives", "coil change", "tool change", "restart", "time"})
"""What is not drawn before a run begins, whatever state it starts from."""


def can_wait(part: Scripts) -> bool:
    """Tell whether records can be put into a line that is ready to begin: nothing of them shows before that."""
    bound = part.speeds or part.losses or part.closed or part.changes or part.found != NO_SCRIPTS.found
    return not bound and all(name.rpartition("/")[2] in LATER for name in part.draws)


class Switched:
    """A line of a model with some records from the beginning, and others that are put in for a run.

    Parameters
    ----------
    always : What is recorded in every run.
    parts : What may be put in, cause by cause; each must be able to wait, and no two tell of one stream.
    """

    def __init__(self, model: Model, always: Scripts, parts: Sequence[Scripts], *, pure: bool) -> None:
        self._model, self._pure = model, pure
        self._builder = builder_of(model, always, pure=pure, later=parts)
        self._rules = rules_of("moment", pure=pure)
        self._parts = [_Part(self._builder, part) for part in parts]
        self._built = self._rules.keep(self.line)
        self._morning = self._rules.keep(self.line)

    @property
    def line(self) -> st.Line:
        """Return the line."""
        return self._builder.line

    def begin(self, seed: int, run: int) -> None:
        """Bring the line into the morning of a random day."""
        self._rules.set_back(self._built)
        make_ready(self._builder, seed, run)
        self._rules.keep_anew(self._morning)

    def good_kg(self, inside: Sequence[int]) -> float:
        """Return the good mass of that day with some parts put in."""
        self._rules.set_back(self._morning)
        for place in inside:
            self._parts[place].put_in()
        clock_loop.run(self.line, self._builder.draws, self._model, pure=self._pure)
        return float(sum(own.total for own in self.line.good_kg))


class _Part:
    """The records of one cause, and where in a line they go."""

    def __init__(self, builder: Builder, part: Scripts) -> None:
        self._line, self._draws = builder.line, builder.draws
        self._stops = [
            (cause_of(builder, builder.machines[name][number - 1], reason), stops)
            for (name, number, reason), stops in part.stops.items()
        ]
        self._numbers = part.draws
        self._sequence = [builder.ways.patterns.index(name) for name in part.sequence]

    def put_in(self) -> None:
        """Put the records into the line, in the place of what would be drawn."""
        for cause, stops in self._stops:
            strike_when(cause, sorted([*recorded_of(cause), *stops]))
        for name, numbers in self._numbers.items():
            self._draws.put_in(name, numbers)
        if self._sequence:
            planner = self._line.planner
            planner.sequence, planner.begins, planner.repeats = self._sequence, [], False
