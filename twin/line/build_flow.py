"""What ties the machines of a line: stores, segments, the order of starts and clocks."""

from __future__ import annotations

from twin.line.builder import Builder, next_value
from twin.line.rules import state as st


def join(builder: Builder) -> None:
    """Tie machines to their stores."""
    for name, station in builder.scenario.stations.items():
        for place, machine in enumerate(builder.machines[name]):
            if station.source:
                copies = builder.stores[station.source]
                machine.take = copies[place if len(copies) > 1 else 0]
                machine.take.takers.append(machine)
            if station.to:
                copies = builder.stores[station.to]
                machine.give = copies[place if len(copies) > 1 else 0]
                machine.give.givers.append(machine)


def add_segments(builder: Builder) -> None:
    """Gather flowing machines that are tied by stores of metal, strip or pieces."""
    flowing = [machine for machine in builder.line.machines if not machine.discrete]
    flowing.sort(key=lambda machine: (-machine.place, machine.index))
    for machine in flowing:
        if machine.segment >= 0:
            continue
        index = len(builder.line.segments)
        segment: st.Segment = builder.make.Segment(index, builder.make.Clock(st.C_SEGMENT, index, st.THEN_COILS))
        gather(builder, segment, machine)
        segment.machines.sort(key=lambda own: (-own.place, own.index))
        segment.clock.rank += segment.machines[-1].place
        segment.casts = any(own.least > 0.0 for own in segment.machines)
        builder.line.segments.append(segment)
        for own in segment.machines:
            set_first_product(builder, own)


def gather(builder: Builder, segment: st.Segment, machine: st.Machine) -> None:
    """Add a machine and all that it is tied to."""
    machine.segment = segment.index
    segment.machines.append(machine)
    for store in (machine.take, machine.give):
        if store.index < 0 or store.holds == st.COILS or store.segment >= 0:
            continue
        if store.finished and store.capacity >= st.NEVER:
            continue
        store.segment = segment.index
        segment.stores.append(store)
        for other in [*store.givers, *store.takers]:
            if other.segment < 0:
                gather(builder, segment, other)


def set_first_product(builder: Builder, machine: st.Machine) -> None:
    """Give a machine on a stream of one product that product; what flows unnamed weighs a kilogram a piece."""
    if machine.take.holds == st.PIECES and machine.take.givers and machine.take.givers[0].convert != 1.0:
        lane = 1 + len(builder.ways.patterns) + machine.take.givers[0].product
        machine.product = machine.take.givers[0].product
        machine.nominal = machine.want = machine.speeds[lane] if machine.speeds else machine.nominal
        machine.unit_kg = machine.take.givers[0].piece_kg[lane]
        machine.take.piece_kg = machine.unit_kg
    metres = machine.m_per_kg[0] if machine.m_per_kg else 0.0
    if machine.rolls.used:
        lane = 1 if len(builder.ways.patterns) else 0
        metres = machine.m_per_kg[lane]
        machine.rolls.per = metres
    for cause in machine.causes:
        if cause.counts == st.BY_LENGTH:
            cause.per = metres * machine.unit_kg
        elif cause.counts == st.BY_MASS:
            cause.per = machine.unit_kg
        elif cause.counts == st.BY_PIECES:
            cause.per = pieces_of(machine)


def pieces_of(machine: st.Machine) -> float:
    """Return how many pieces each unit of a flow is: coils where it is wound, none of metal and strip."""
    if machine.coil_kg < st.NEVER:
        return 1.0 / machine.coil_kg
    flows = (st.METAL, st.STRIP)
    return 0.0 if machine.give.holds in flows and machine.convert == 1.0 else machine.convert


def order(builder: Builder) -> None:
    """Put machines in the order of their starts, and all clocks in one list."""
    line = builder.line
    line.order = sorted(line.machines, key=lambda machine: (machine.place, machine.index))
    for turn, (machine, behind) in enumerate(zip(line.order, line.order[1:] + line.order[:1], strict=True)):
        machine.turn = turn
        machine.then = behind
    line.days = list(builder.model.days)
    line.day_clock = builder.make.Clock(st.C_DAY, 0, st.THEN_CALENDARS)
    line.day_clock.at = line.days[0] if line.days else st.NEVER
    for calendar in line.calendars:
        calendar.users = [machine for machine in line.order if uses(machine, calendar)]
    line.clocks = [machine.clock for machine in line.order]
    line.clocks += [segment.clock for segment in line.segments if segment.stores]
    for place, clock in enumerate(line.clocks):
        clock.place = place
        builder.add_due(line, clock.at)
    clocks = [calendar.clock for calendar in line.calendars if calendar.turns]
    clocks += [store.clock for store in line.stores if store.rest > 0.0 or store.keeps < st.NEVER]
    clocks += [slot.clock for slot in line.slots]
    clocks += [shop.clock for shop in line.shops if not shop.unlimited]
    clocks += [machine.rolls.clock for machine in line.machines if machine.rolls.times]
    clocks += [speeds.clock for speeds in line.speeds]
    line.slow_clocks = [*clocks, line.day_clock]


def take_apart(line: st.Line) -> None:
    """Cut the ties that go round in circles, so that a line that serves one run alone is gone at once.

    Else the garbage collector has to find it, which takes as long as a fifth of such a run.
    """
    for machine in line.machines:
        machine.then = line.spare.machine
    for store in line.stores:
        store.givers.clear()
        store.takers.clear()
    for calendar in line.calendars:
        calendar.users.clear()
        calendar.shared.clear()
    for shop in line.shops:
        shop.mills.clear()
        shop.people.clear()
    for shared in line.shared:
        shared.queue.clear()


def first_draws(builder: Builder) -> None:
    """Draw when each cause strikes first."""
    for machine in builder.line.machines:
        for cause in machine.causes:
            if not cause.scripted:
                cause.left = next_value(cause.every)
        if machine.phase == st.WORK and machine.rolls.used and machine.plans and machine.coil_kg < st.NEVER:
            machine.new_pattern = -1


def uses(machine: st.Machine, calendar: st.Calendar) -> bool:
    """Tell whether a machine works, is repaired or changes rolls by a calendar."""
    return (
        machine.calendar is calendar
        or any(cause.calendar is calendar for cause in machine.causes)
        or (machine.rolls.used and machine.rolls.calendar is calendar)
    )
