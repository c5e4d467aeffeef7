"""A line of one random day whose causes are switched from drawn to recorded, any set of them, before each run.

Everything drawn stays as it is, so what a set of causes is worth is a difference on the same random numbers. The line
is put together and brought into its morning once; for each set it is set back to there, and what is recorded of the
set is put in.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from twin.line import clock_loop
from twin.line.build import builder_of, make_ready
from twin.line.builder import Builder
from twin.line.engine import rules_of
from twin.line.model import NO_SCRIPTS, Model, Scripts
from twin.line.rules import state as st
from twin.line.rules.watch import NOTHING, NUMBERS, Watch
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
        modules = ("moment", "run", "counting", "watch")
        self._rules, self._run, self._counting, self._watching = (rules_of(name, pure=pure) for name in modules)
        self._parts = [_Part(self._builder, part) for part in parts]
        self._watch, self._free = self._set_watch()
        self._built = self._rules.keep(self.line)
        self._morning = self._rules.keep(self.line)
        self._forks = [self._rules.keep(self.line) for _ in members(self._free)]

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
        return self._good()

    def good_kg_of_all(self) -> list[float]:
        """Return the good mass of that day for every set of parts; bit i of a set's number stands for part i.

        Stops are decided one after the other, each when it would first show: sets that differ only in what has not
        shown yet are one run so far.
        """
        if self._model.warm_up > 0.0:
            return [self.good_kg(members(inside)) for inside in range(1 << len(self._parts))]
        made = [0.0] * (1 << len(self._parts))
        for inside in subsets(len(made) - 1 & ~self._free):
            self._rules.set_back(self._morning)
            for place in members(inside):
                self._parts[place].put_in()
            self._run.begin(self.line)
            self._counting.start_counting(self.line)
            self._go_on(inside, self._free, made)
        return made

    def _go_on(self, inside: int, open_still: int, made: list[float]) -> None:
        """Go on to the end of the day; where a part that is open would show, without it, and then with it."""
        part = self._until_one_shows(open_still)
        if part == NOTHING:
            self._counting.bring_to(self.line, self._model.end)
            good = self._good()
            for unseen in subsets(open_still):
                made[inside | unseen] = good
            return
        rest = open_still & ~(1 << part)
        fork = self._forks[bin(rest).count("1")]
        self._rules.keep_anew(fork)
        self._go_on(inside, rest, made)
        self._rules.set_back(fork)
        self._parts[part].put_in()
        self._watching.go_by_record(self.line, self._watch, part)
        self._go_on(inside | 1 << part, rest, made)

    def _until_one_shows(self, open_still: int) -> int:
        while True:
            found = int(self._watching.run_watched(self.line, self._model.end, self._watch, open_still))
            if found != NUMBERS:
                return found
            self._builder.draws.refill()

    def _good(self) -> float:
        return float(sum(own.total for own in self.line.good_kg))

    def _set_watch(self) -> tuple[Watch, int]:
        """Return the causes of the parts that can be decided in mid-run, to be watched, and the set of those parts.

        Such parts tell of stops alone, none at the very beginning, and no two of them of one cause.
        """
        watch: Watch = self._watching.Watch()
        causes = [id(cause) for part in self._parts for _, cause, _ in part.stops]
        free = 0
        for place, part in enumerate(self._parts):
            alone = all(causes.count(id(cause)) == 1 and not recorded_of(cause) for _, cause, _ in part.stops)
            if not (alone and part.stops_only):
                continue
            free |= 1 << place
            for machine, cause, stops in part.stops:
                watch.machines.append(machine)
                watch.causes.append(cause)
                watch.places.append(list(machine.causes).index(cause))
                watch.sets.append(place)
                watch.firsts.append(stops[0][0] if stops else st.NEVER)
        return watch, free


class _Part:
    """The records of one cause, and where in a line they go."""

    def __init__(self, builder: Builder, part: Scripts) -> None:
        self._line, self._draws = builder.line, builder.draws
        self.stops: list[tuple[st.Machine, st.Cause, Sequence[tuple[float, float]]]] = []
        for (name, number, reason), stops in part.stops.items():
            machine = builder.machines[name][number - 1]
            self.stops.append((machine, cause_of(builder, machine, reason), sorted(stops)))
        self._numbers = part.draws
        self._sequence = [builder.ways.patterns.index(name) for name in part.sequence]

    @property
    def stops_only(self) -> bool:
        """Return whether it tells of stops alone, and of none at the very beginning."""
        early = any(stops and stops[0][0] <= 0.0 for _, _, stops in self.stops)
        return not (self._numbers or self._sequence or early)

    def put_in(self) -> None:
        """Put the records into the line, in the place of what would be drawn."""
        for _, cause, stops in self.stops:
            strike_when(cause, sorted([*recorded_of(cause), *stops]))
        for name, numbers in self._numbers.items():
            self._draws.put_in(name, numbers)
        if self._sequence:
            planner = self._line.planner
            planner.sequence, planner.begins, planner.repeats = self._sequence, [], False


def subsets(whole: int) -> Iterator[int]:
    """Yield every subset of a set of bits, the empty one first."""
    part = 0
    while True:
        yield part
        if part == whole:
            return
        part = (part - whole) & whole


def members(whole: int) -> list[int]:
    """Return the places of the bits in a set."""
    return [place for place in range(whole.bit_length()) if whole >> place & 1]
