"""What records tell of a line's beginning beyond the grammar of `start:`: each coil, how long it has lain, wear."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from twin.line.rules import state as st
from twin.line.rules.planner import count_mothers

if TYPE_CHECKING:
    from twin.line.builder import Builder
    from twin.line.start import Present
    from twin.scenario.models import Store


@dataclass(frozen=True, slots=True)
class Lying:
    """A coil or ring that lies in a store.

    Attributes
    ----------
    name : Its pattern or product; empty for a coil that is for no pattern yet.
    kg : Its mass.
    ready_s : When it may be taken, from the start of the run; 0 or less for one that has lain long enough.
    mother : The mother coil that it was slit from, by any name; empty where it is not known.
    """

    name: str
    kg: float
    ready_s: float = 0.0
    mother: str = ""


@dataclass(frozen=True)
class Found:
    """What lies and how far wear has come, as far as records tell; what they do not tell is as `start:` has it.

    Attributes
    ----------
    coils : Store -> its coils, the oldest first, in the place of what `start:` tells of that store.
    knives : (station, machine) -> what the knives may still do, in the unit of their `every`.
    stays : (slitter, machine) -> coils that it still takes before it looks for another pattern; it may be none.
    stayed : (slitter, machine) -> coils that it has taken since it was set up; how many more follow is drawn.
    sold : Pattern -> rings of each product that are owed to those who buy them as coil, from 0 up to 1.
    behind : Pattern -> coils by which it is behind its share of what was planned.
    services : (station, machine, reason) -> running time until the next planned stop. [s]
    """

    coils: Mapping[str, Sequence[Lying]] = field(default_factory=dict)
    knives: Mapping[tuple[str, int], float] = field(default_factory=dict)
    stays: Mapping[tuple[str, int], int] = field(default_factory=dict)
    stayed: Mapping[tuple[str, int], int] = field(default_factory=dict)
    sold: Mapping[str, float] = field(default_factory=dict)
    behind: Mapping[str, float] = field(default_factory=dict)
    services: Mapping[tuple[str, int, str], float] = field(default_factory=dict)


NOTHING_FOUND = Found()


def lay(state: Present, own: Store, store: st.Store, coils: Sequence[Lying]) -> None:
    """Lay recorded coils into a store; rings that were slit from one mother coil have one account.

    Done thousands of times for one day, so what is the same for many coils is worked out once.
    """
    line, make = state.line, state.builder.make
    lanes = {name: state.lane_of(own, name) if name else 0 for name in {one.name for one in coils}}
    products = {lane: lane - 1 - len(state.ways.patterns) for lane in lanes.values()}
    usual = {lane: state.usual_pattern(own) if own >= 0 else lane - 1 for lane, own in products.items()}
    mothers: dict[tuple[str, int], st.Mother] = {}
    made: dict[int, int] = {}
    number = int(line.coils_made)
    for one in coils:
        lane = lanes[one.name]
        product = products[lane]
        mother = mothers.get((one.mother, lane)) if product >= 0 and one.mother else None
        number += 1
        if mother is None:
            mother = make.Mother(number, st.NEVER)
            mother.pattern = usual[lane]
            made[usual[lane]] = made.get(usual[lane], 0) + 1
            mothers[one.mother, lane] = mother
        else:
            mother.left += 1
        coil: st.Coil = make.Coil(number, one.kg, mother)
        coil.pattern, coil.product, coil.lane, coil.ready = usual[lane], max(product, -1), lane, one.ready_s
        store.lanes[lane].coils.append(coil)
    line.coils_made = number
    line.mothers_in += sum(made.values())
    for pattern, count in made.items():
        if pattern >= 0 and line.planner.used:
            count_mothers(line, pattern, float(count))
    store.count += len(coils)
    store.peak = max(store.peak, float(store.count))
    if store.keeps < st.NEVER and coils:
        store.clock.at = max(0.0, min(one.ready_s for one in coils) - store.rest + store.keeps)


def wear(builder: Builder, found: Found) -> None:
    """Set how far knives, stays, planned stops and what is planned have come."""
    for (name, number), left in found.knives.items():
        machine = builder.machines[name][number - 1]
        if machine.knife_each < st.NEVER:
            machine.knife_left = min(machine.knife_each, max(0.0, left))
    for (name, number), taken in found.stayed.items():
        if (name, number) not in found.stays:
            _stay_on(builder, builder.machines[name][number - 1], taken)
    for (name, number), coils in found.stays.items():
        builder.machines[name][number - 1].stay_left = coils
    for name, owed in found.sold.items():
        pattern = builder.line.patterns[builder.ways.patterns.index(name)]
        pattern.owed = [owed] * len(pattern.owed)
    for name, lacking in found.behind.items():
        builder.line.planner.shares[builder.ways.patterns.index(name)].made = -lacking
    for (name, number, reason), left in found.services.items():
        for cause in builder.machines[name][number - 1].causes:
            known = builder.model.reasons[int(cause.reason)]
            if cause.service and not cause.rolls and not cause.scripted and known == reason:
                cause.left = max(0.0, left)


def _stay_on(builder: Builder, machine: st.Machine, taken: int) -> None:
    """Let a slitter stay on its pattern for what is left of a stay of which so many coils are over.

    Where it has taken more than a stay it has looked for another pattern and stayed, each time for one more stay.
    """
    if machine.lane < 0 or machine.stay_left <= 0:
        return
    stay = int(machine.stay_left)
    while taken >= stay:
        taken -= stay
        stay = max(1, int(builder.next_of(machine.stay) + 0.5))
    machine.stay_left = stay - taken
