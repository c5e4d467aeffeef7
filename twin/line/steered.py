"""A run that stops when it is asked to, is looked at, and whose rolls are told when to come off; then it goes on.

It is what a planner does: the rules stay those of every run, only the limit of the rolls is moved, or a change asked
for. A run that is only looked at takes the same course as one that is not.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from twin.line.build import build
from twin.line.clock_loop import run_to
from twin.line.engine import rules_of
from twin.line.model import NO_SCRIPTS, Model, Scripts, model_of
from twin.line.reasons import SET_PLACES, WHY_OFF
from twin.line.rules import state as st
from twin.scenario.models import Scenario

STANDS = (st.STARVED, st.BLOCKED, st.CLOSED)


@dataclass(frozen=True, slots=True)
class RollsSeen:
    """The rolls of one mill at a moment.

    Attributes
    ----------
    set : Number of the set on the mill.
    run, before : Strip that it has rolled, and that all sets before it have, since the run began. [m]
    share : How much of its limit it has used, 0 where there is none. [1]
    changes, damages : Changes begun, and those after damage.
    coils : Coils rolled since counting began.
    stands : Whether the mill stands with nothing to roll, no room, or outside its hours.
    """

    set: int
    run: float
    before: float
    share: float
    changes: int
    damages: int
    coils: int
    stands: bool


@dataclass(frozen=True, slots=True)
class WorkSeen:
    """What the machines of a mill have done since counting began: time running [s], mass, strip [m] and coils."""

    seconds: float
    kilograms: float
    metres: float
    coils: int


@dataclass(frozen=True, slots=True)
class SetSeen:
    """A roll set at a moment: where it is, since when, until when as far as that is settled, and its diameter.

    `left` is what is still to be done to it there, in hours of the shop, where `until` is not settled. [s]
    """

    number: int
    place: str
    since: float
    until: float
    left: float
    diameter: float
    damaged: bool


@dataclass(frozen=True, slots=True)
class CardSeen:
    """The card of a roll set that came off: when, after how far, why."""

    set: int
    on: float
    off: float
    run: float
    why: str


@dataclass(frozen=True, slots=True)
class PlaceSeen:
    """Where a roll set was from one time to another. [s]"""

    number: int
    place: str
    start: float
    end: float


class Steered:
    """One run of a scenario, stopped and steered from outside. What it counts, it counts from `count` on."""

    def __init__(
        self, scenario: Scenario, mill: str, *, seed: int, run: int, scripts: Scripts | None = None, pure: bool = False
    ) -> None:
        self.model: Model = model_of(scenario)
        self.line, self.draws = build(self.model, seed, run, scripts or NO_SCRIPTS, pure=pure)
        self._pure = pure
        self._rules, self._flow, self._counting = (rules_of(part, pure=pure) for part in ("run", "flow", "counting"))
        place = self.model.layout.stations.index(mill)
        self._mills = [machine for machine in self.line.machines if machine.station == place]
        self._limits = [float(machine.rolls.limit) for machine in self._mills]
        self._idle = [(float(machine.rolls.idle_after), int(machine.rolls.keep_ready)) for machine in self._mills]
        self._begun = False
        self._run_before = 0.0

    @property
    def now(self) -> float:
        """Return how far the run is. [s]"""
        return float(self.line.now)

    @property
    def good_kg(self) -> float:
        """Return the good mass finished since counting began. [kg]"""
        return float(sum(one.total for one in self.line.good_kg))

    def begin(self) -> None:
        """Let everything look round at the first instant; sets may be put elsewhere before that."""
        self._rules.begin(self.line)
        self._begun = True

    def run_to(self, at: float) -> None:
        """Let everything happen up to a time."""
        if not self._begun:
            self.begin()
        run_to(self.line, self.draws, at, pure=self._pure)
        self.line.now = at

    def count(self, *, trace: bool = False) -> None:
        """Count from now on."""
        self._counting.start_counting(self.line)
        self._run_before = math.fsum(machine.rolls.km for machine in self._mills)
        self.line.trace = trace

    def book(self) -> None:
        """Bring all counts up to now."""
        self._counting.bring_to(self.line, self.now)

    def rolls(self, number: int = 1) -> RollsSeen:
        """Look at the rolls of one machine of the mill."""
        machine = self._mills[number - 1]
        self._flow.look(self.line, machine)
        rolls, limit = machine.rolls, self._limits[number - 1]
        used = rolls.kilograms if rolls.limit_in_mass else rolls.km
        changing = rolls.roll_set.since > rolls.on_since  # what the old set ran is in the sum by then
        used, run = (0.0, 0.0) if changing else (used, rolls.km)
        return RollsSeen(
            set=int(rolls.roll_set.number),
            run=float(run),
            before=float(rolls.km_sum),
            share=float(used) / limit if limit < st.NEVER else 0.0,
            changes=int(rolls.changes),
            damages=int(rolls.damages),
            coils=int(machine.coils),
            stands=machine.state in STANDS,
        )

    def work(self) -> WorkSeen:
        """Return what all machines of the mill have done, up to the last booking."""
        rolls = [machine.rolls for machine in self._mills]
        return WorkSeen(
            seconds=math.fsum(machine.times[st.RUNNING].total for machine in self._mills),
            kilograms=math.fsum(machine.run_kg for machine in self._mills),
            metres=math.fsum(own.km + own.km_sum for own in rolls) - self._run_before,
            coils=sum(int(machine.coils) for machine in self._mills),
        )

    def let_run(self, share: float | None, number: int = 1) -> None:
        """Let the set on the mill run up to a share of its limit, and as far in any standing moment; None: as ever.

        A mill without a limit takes the share as metres.
        """
        machine, limit = self._mills[number - 1], self._limits[number - 1]
        rolls = machine.rolls
        if share is None:
            rolls.limit = limit
            rolls.idle_after, rolls.keep_ready = self._idle[number - 1]
            return
        told = share * limit if limit < st.NEVER else share
        rolls.limit = min(told, limit)
        rolls.idle_in_mass = rolls.limit_in_mass
        rolls.idle_after, rolls.keep_ready = rolls.limit, 0

    def sets(self) -> tuple[SetSeen, ...]:
        """Look at all roll sets of the mill."""
        shop = self._mills[0].rolls.shop
        at_work = {int(person.lane): person for person in shop.people if person.phase == st.TIMED}
        found = []
        for place, one in enumerate(shop.sets):
            until, left = float(one.until), 0.0
            if one.stage in (st.GRINDING, st.FITTING) and place in at_work:
                person = at_work[place]
                until = float(person.task_end) if person.task_running else st.NEVER
                left = until - self.now if person.task_running else float(person.task_left)
            name = SET_PLACES[int(one.stage)]
            found.append(
                SetSeen(int(one.number), name, float(one.since), until, left, float(one.diameter), bool(one.damaged))
            )
        return tuple(found)

    def grinder_queue(self) -> tuple[int, ...]:
        """Return the sets that wait for the grinder, in their order."""
        return tuple(int(one.number) for one in self._mills[0].rolls.shop.queue)

    def back_ups(self) -> tuple[int, int]:
        """Return how many back-up rolls the grinder owes its time, and after how many changes the next is due."""
        shop = self._mills[0].rolls.shop
        return int(shop.back_ups_due), int(shop.back_up_every - shop.changes) if shop.back_up_every > 0 else -1

    def put(self, number: int, place: str, *, since: float, until: float, left: float, diameter: float) -> None:
        """Say more of a set than a file can: since when it is where it is, how long still, how thick."""
        shop = self._mills[0].rolls.shop
        index = next(i for i, one in enumerate(shop.sets) if one.number == number)
        one = shop.sets[index]
        if SET_PLACES[int(one.stage)] != place:
            raise ValueError(f"set {number} is {SET_PLACES[int(one.stage)]}, not {place}")
        one.since, one.diameter = since, diameter
        if place in ("cooling", "heating"):
            one.until = until
            shop.clock.at = min((float(other.until) for other in shop.sets), default=st.NEVER)
        for person in shop.people:
            if place in ("grinding", "fitting") and person.phase == st.TIMED and int(person.lane) == index:
                person.task_left = left

    def cards(self) -> tuple[CardSeen, ...]:
        """Return the cards of the sets that came off while a trace was kept."""
        machine = self._mills[0].index
        rows = [row for row in self.line.roll_rows if row[0] == machine]
        return tuple(CardSeen(int(row[1]), row[2], row[3], row[4], WHY_OFF[int(row[5])]) for row in rows)

    def places(self) -> tuple[PlaceSeen, ...]:
        """Return where the sets were while a trace was kept, up to the last booking."""
        shop = self._mills[0].rolls.shop.index
        rows: Sequence[tuple[int, int, int, float, float]] = self.line.set_rows
        return tuple(
            PlaceSeen(int(row[1]), SET_PLACES[int(row[2])], row[3], row[4]) for row in rows if int(row[0]) == shop
        )
