"""What the machines are doing at the start: running, being set up, changing rolls, down, or idle."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from twin.line.rules import state as st
from twin.line.rules.rings import set_speed
from twin.line.rules.shared import stand_in_line
from twin.line.rules.tools import hold_out
from twin.line.rules.work import set_use
from twin.scenario import Fault, ScenarioError
from twin.scenario.models import MachineNow

if TYPE_CHECKING:
    from twin.line.start import Present

LENT = 1
HALF = 0.5
INTERRUPTED = ("down", "changing rolls")


def put_machines(state: Present, now: Mapping[str, tuple[MachineNow, ...]]) -> None:
    """Let each machine do what it is told to; a repair can wait for people, so what those are at comes first."""
    told = [(name, own) for name, machines in now.items() for own in machines]
    for name, own in sorted(told, key=lambda one: one[1].state in INTERRUPTED):
        Doing(state, name, own).put()


class Doing:
    """Puts one machine into the state that is told of it."""

    def __init__(self, state: Present, name: str, now: MachineNow) -> None:
        self.state = state
        self.builder = state.builder
        self.name = name
        self.now = now
        self.machine: st.Machine = state.builder.machines[name][now.machine - 1]
        station = state.builder.scenario.stations[name]
        self.store = station.source or ""
        holds = state.builder.scenario.stores[self.store].holds if self.store else ""
        self.takes_coils = holds == "coils"
        self.rings = self.takes_coils and not self.machine.discrete

    def refuse(self, message: str, way_out: str) -> ScenarioError:
        """Return the error of something that this machine cannot be doing."""
        place = f"start.machines.{self.name}.{self.now.machine}"
        file = self.builder.scenario.file
        return ScenarioError([Fault(file, 0, place, "", "", way_out, message)])

    def put(self) -> None:
        """Set what it is set for, what it holds, and what it does."""
        self.set_for()
        self.hold()
        state = self.now.state
        if state == "running":
            self.run()
        elif state == "setup":
            self.set_up()
        elif state == "down":
            self.stop_for_repair()
        elif state == "changing rolls":
            self.change_rolls()

    # What it is set for and what it holds

    def set_for(self) -> None:
        """Set a slitter for its pattern, a cutter or profiler for its product."""
        machine = self.machine
        name = self.now.set_for or (self.now.holds if machine.kind == st.SLITTER else None)
        if name is None or self.now.state == "setup":
            return
        lane = self.state.lane(name)
        if machine.kind == st.SLITTER:
            machine.lane = lane
            machine.stay_left = max(1, int(self.builder.next_of(machine.stay) + 0.5))
        elif machine.speeds and machine.kind in (st.CUTTER, st.PROFILER) and not machine.discrete:
            machine.lane = lane
            self.set_product(machine, lane)

    def set_product(self, machine: st.Machine, lane: int) -> None:
        """Set a machine, and those that are fed by it with pieces, for a product."""
        machine.product = self.builder.ways.lane_product[lane]
        set_speed(machine, lane)
        if self.rings and machine is self.machine:
            give = machine.give
            while not give.finished and give.holds == st.PIECES:
                give.piece_kg = machine.piece_kg[lane]
                follower = give.takers[0]
                follower.product = machine.product
                set_speed(follower, lane)
                give = follower.give

    def hold(self) -> None:
        """Give it the coil or ring that it holds; where only one kind can come, it need not be named."""
        if not self.takes_coils:
            return
        machine, now = self.machine, self.now
        needs = now.state == "running" or (now.state == "setup" and self.rings)
        name = now.holds or (now.set_for if self.rings and needs else None)
        if name is None and not needs:
            return
        if now.state == "setup" and machine.kind == st.SLITTER:
            raise self.refuse("a slitter that is being set up holds no coil", "Count it in its store")
        lane = self.state.lane(name) if name is not None else self.only_lane()
        gives = self.builder.ways.gives[self.name] if machine.plans else ()
        if lane not in machine.takes and lane not in gives:
            raise self.refuse(f"'{self.name}' takes no '{name}'", "Name what it takes")
        machine.coil = self.state.coil_in(lane, self.state.mass_in(self.store, lane))
        machine.has_coil = True
        if self.rings:
            self.hold_ring(lane)
        elif now.state == "idle" and machine.kind != st.SLITTER:
            self.hold_out()
        else:
            self.begin(HALF if now.state in INTERRUPTED else 1.0)

    def hold_ring(self, lane: int) -> None:
        """A ring lies in a machine that is set for it, or is being set for it."""
        machine = self.machine
        machine.left = st.NEVER
        if self.now.state == "setup":
            return
        machine.lane = lane
        machine.phase = st.HOLD
        self.set_product(machine, lane)

    def only_lane(self) -> int:
        """Return the only lane that it takes."""
        takes = self.machine.takes
        if 0 in takes:
            return 0
        if len(takes) == 1:
            return int(takes[0])
        raise self.refuse("it holds a coil, but of which pattern or product is not told", "Add holds")

    def hold_out(self) -> None:
        """A finished coil stands in a machine that is blocked."""
        machine = self.machine
        machine.coil.mass *= 1.0 - machine.crop
        machine.has_coil = False
        hold_out(machine, machine.coil)
        machine.phase = st.HOLD

    def begin(self, part: float) -> None:
        """Let the coil in hand be worked, with this part of its usual time still to come."""
        machine, coil = self.machine, self.machine.coil
        lasts = machine.fixed_s[coil.lane] + machine.s_per_kg[coil.lane] * coil.mass
        for _, law, often in self.builder.model.tables[self.name].drawn:
            lasts += law.average * often[coil.lane]
        if lasts > 0.0:
            set_use(machine, machine.m_per_kg[coil.lane] * coil.mass / lasts, coil.mass / lasts, 1.0 / lasts)
        machine.phase = st.WORK
        machine.left = part * lasts

    # What it does

    def run(self) -> None:
        """Let it run on for as long as is told."""
        machine, left = self.machine, self.now.left
        if machine.kind == st.SUPPLY:
            self.time(st.DELIVERY, st.R_NONE)
        elif machine.discrete:
            machine.left = left
        elif self.rings:
            self.begin_ring(min(left * machine.nominal, self.pieces_of_ring()))
        elif machine.coil_kg < st.NEVER:
            machine.left = min(machine.coil_kg, left * machine.nominal)

    def pieces_of_ring(self) -> float:
        """Return how many pieces a whole ring in hand gives."""
        machine = self.machine
        usable = machine.coil.mass * machine.keep_share[machine.lane] - machine.end_kg[machine.lane]
        return float(int(usable / machine.unit_kg + 1e-9))

    def begin_ring(self, pieces: float) -> None:
        """Let a ring run with so many pieces left in it."""
        self.machine.left = pieces
        self.machine.phase = st.WORK

    def set_up(self) -> None:
        """Let a setup, a change of tools, a restart or a service go on for as long as is told."""
        machine = self.machine
        if machine.kind == st.SLITTER:
            self.set_up_slitter()
        elif self.rings:
            self.change_ring()
        elif machine.discrete:
            self.time(st.LOAD, st.R_NONE)
        elif machine.kind == st.CASTER:
            machine.scrap_left = self.builder.next_of(machine.restart_scrap)
            self.time(st.RESTART, st.R_RESTART)
        elif machine.kind in (st.CUTTER, st.PROFILER):
            self.change_tools()
        else:
            self.serve()

    def set_up_slitter(self) -> None:
        """A slitter is being set up for a pattern."""
        machine = self.machine
        name = self.now.set_for
        machine.next_lane = self.state.lane(name) if name is not None else self.only_lane()
        machine.lane = next((int(lane) for lane in machine.takes if lane != machine.next_lane), machine.next_lane)
        self.lend(machine.setup_shared)
        self.time(st.PATTERN, st.R_PATTERN)

    def change_ring(self) -> None:
        """A ring is being threaded; with another product named, tools are changed for it."""
        machine = self.machine
        machine.lane = machine.next_lane = machine.coil.lane
        tools = self.now.set_for is not None
        machine.ask_task = st.TOOL_CHANGE if tools else st.COIL_CHANGE
        self.lend(machine.tool_shared if tools else machine.coil_shared)
        self.time(machine.ask_task, st.R_TOOL_CHANGE if tools else st.R_COIL_CHANGE)

    def change_tools(self) -> None:
        """The tools of a machine that is fed by pieces are being changed."""
        machine = self.machine
        if self.now.set_for is not None:
            self.set_product(machine, self.state.lane(self.now.set_for))
        machine.ask_task = st.TOOL_CHANGE
        self.lend(machine.tool_shared)
        self.time(st.TOOL_CHANGE, st.R_TOOL_CHANGE)

    def time(self, task: int, reason: int) -> None:
        """Let a task go on for the time that is left."""
        machine = self.machine
        machine.phase = st.TIMED
        machine.task = task
        machine.task_reason = reason
        machine.task_left = self.now.left

    def serve(self) -> None:
        """A furnace is being skimmed, or another planned stop goes on."""
        found = [place for place, cause in enumerate(self.machine.causes) if cause.service and not cause.rolls]
        if not found:
            raise self.refuse(f"'{self.name}' has no setup", "Write running, down or idle")
        self.stop(st.SERVICE, found[0])

    def stop_for_repair(self) -> None:
        """A repair goes on; start scrap of a caster comes after it."""
        machine = self.machine
        reasons = self.builder.model.reasons
        found = [
            place
            for place, cause in enumerate(machine.causes)
            if not cause.service and not cause.rolls and self.now.reason in (None, reasons[cause.reason])
        ]
        if not found:
            raise self.refuse(f"'{self.name}' has no failures", "Write idle, or give it failures")
        if self.rings and machine.has_coil:
            self.begin_ring(float(int(HALF * self.pieces_of_ring())))
        if machine.kind == st.CASTER:
            machine.scrap_left = self.builder.next_of(machine.causes[found[0]].scrap)
        self.stop(st.REPAIR, found[0])

    def stop(self, kind: int, place: int) -> None:
        """Interrupt the machine for the time that is left."""
        machine, cause = self.machine, self.machine.causes[place]
        machine.stop, machine.stop_cause, machine.stop_reason = kind, place, cause.reason
        machine.stop_left, machine.stop_calendar = self.now.left, cause.calendar
        cause.left = st.NEVER
        self.lend_stop(cause.shared)

    def change_rolls(self) -> None:
        """Rolls are being changed; the set that goes on is new."""
        machine = self.machine
        machine.stop, machine.stop_cause, machine.stop_reason = st.ROLLS, -1, st.R_LIMIT
        machine.stop_left, machine.stop_calendar = self.now.left, machine.rolls.calendar
        machine.rolls.took = self.now.left
        self.lend_stop(machine.rolls.shared)

    # Cranes and people

    def lend(self, shared: st.Shared) -> None:
        """Lend the machine who its task needs."""
        if shared.index < 0:
            return
        self.machine.asked = shared
        self.machine.lent = self.slot(shared)
        if self.machine.lent < 0:
            name = list(self.builder.scenario.shared)[shared.index]
            raise self.refuse(f"more machines are at work with '{name}' than there are", "Let one of them be idle")

    def lend_stop(self, shared: st.Shared) -> None:
        """Lend the machine who its interruption needs; when all are busy it waits for them."""
        machine = self.machine
        if shared.index < 0:
            return
        machine.stop_shared = shared
        machine.stop_lent = self.slot(shared)
        if machine.stop_lent < 0:
            machine.stop = st.NO_CREW
            stand_in_line(shared, machine)

    def slot(self, shared: st.Shared) -> int:
        """Return a free crane or person, who is so no longer; -1 if all are busy."""
        for slot in shared.slots:
            if slot.busy == 0:
                slot.busy = LENT
                return int(slot.index)
        return -1
