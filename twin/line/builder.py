"""What is at hand while a line is put together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import ModuleType

from twin.line.draws import Draws
from twin.line.model import Model, Scripts
from twin.line.rules import state as st
from twin.scenario.laws import Law

LOWEST_PLACE = 999


class Builder:
    """What is at hand while one line is put together: the model, the classes, and the builder made so far.

    `make` is the module of classes, the plain or the compiled ones, and `setting` that of what only they may set.
    `later` are records for which the line is to have room, but which are put in only when it is ready.
    """

    def __init__(
        self, model: Model, scripts: Scripts, later: Sequence[Scripts], rules: ModuleType, setting: ModuleType
    ) -> None:
        self.model = model
        self.scenario = model.scenario
        self.ways = model.routes
        self.scripts = scripts
        self.later = later
        self.make = rules
        self.add_due: Callable[[st.Line, float], None] = setting.add_due
        self.spare: st.Spare = rules.Spare()
        self.line: st.Line = rules.Line(self.spare)
        later_names = {name for part in later for name in part.draws}
        self.draws = Draws(self.line, scripts, later_names, model.used, setting.hand)
        self.calendars: dict[str, st.Calendar] = {}
        self.shared: dict[str, st.Shared] = {}
        self.stores: dict[str, list[st.Store]] = {}
        self.machines: dict[str, list[st.Machine]] = {}

    def next_of(self, stream: st.Stream) -> float:
        """Take a stream's next number while the line is being built."""
        return next_value(stream)

    def stream(self, name: str, law: Law) -> st.Stream:
        """Return a stream of a law."""
        return self.draws.add(self.make.Stream, name, law)

    def calendar(self, name: str | None) -> st.Calendar:
        """Return a calendar by name; none means always."""
        return self.calendars[name or "always"]

    def crew(self, name: str | None) -> st.Shared:
        """Return a crane or crew by name, or the one that is nobody."""
        return self.shared[name] if name else self.make.NO_SHARED

    def new_machine(self, name: str, number: int, kind: int, calendar: st.Calendar) -> st.Machine:
        """Make one machine."""
        index = len(self.line.machines)
        machine: st.Machine = self.make.Machine(
            index, kind, calendar, self.make.Clock(st.C_MACHINE, index, 0), self.spare
        )
        machine.station = self.model.layout.stations.index(name)
        machine.number = number
        machine.open = calendar.open
        machine.state = st.STARVED if calendar.open else st.CLOSED
        self.line.machines.append(machine)
        machine.scrap = [self.make.Sum() for _ in self.model.reasons]
        self.machines.setdefault(name, []).append(machine)
        return machine


def next_value(stream: st.Stream) -> float:
    """Take a stream's first number while the line is being built."""
    if stream.constant:
        return stream.value
    stream.at += 1
    return stream.values[stream.at - 1]
