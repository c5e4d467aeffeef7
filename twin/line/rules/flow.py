"""Segments: machines tied by stores of metal, strip or pieces run at the largest rates that the stores allow."""

from typing import Final

from mypy_extensions import i64

from twin.line.rules.holding import hold_casters, try_held
from twin.line.rules.rows import write_level
from twin.line.rules.showing import show
from twin.line.rules.state import NEVER, Line, Machine, Mark, Mother, Segment, Store
from twin.line.rules.tools import mother_done, poke
from twin.line.rules.work import age, schedule, unsettle, working

EQUAL: Final = 1e-12


def touch(line: Line, segment: Segment) -> None:
    """Let everything in the segment run up to now at the rates it had."""
    passed = line.now - segment.since
    if passed > 0.0:
        for store in segment.stores:
            run_store(line, store, segment.since, passed)
        segment.since = line.now
        for machine in segment.machines:
            age(line, machine)
    unsettle(line, segment)


def look(line: Line, machine: Machine) -> None:
    """Bring a machine up to now, before anything of it is changed."""
    if machine.discrete:
        age(line, machine)
    else:
        touch(line, line.segments[machine.segment])


def run_store(line: Line, store: Store, start: float, passed: float) -> None:
    """Let a store's level run, and count it."""
    before = store.level
    level = before + (store.flow_in - store.flow_out) * passed
    if level > store.capacity:
        level = store.capacity
    elif level < 0.0:
        level = 0.0
    store.level = level
    store.level_s += 0.5 * (before + level) * passed
    if before >= store.capacity and level >= store.capacity:
        store.full_s += passed
    if before <= store.heel and level <= store.heel:
        store.empty_s += passed
    if level > store.peak:
        store.peak = level
    store.made += store.flow_in * passed
    taken = store.taken
    store.taken += store.flow_out * passed
    if store.mark_head < len(store.marks):
        pass_marks(line, store, start, taken)


def pass_marks(line: Line, store: Store, start: float, taken: float) -> None:
    """Note when the last piece of a ring left the store."""
    while store.mark_head < len(store.marks) and store.marks[store.mark_head].at <= store.taken * (1.0 + EQUAL):
        mark = store.marks[store.mark_head]
        store.mark_head += 1
        at = start
        if store.flow_out > 0.0 and mark.at > taken:
            at = start + (mark.at - taken) / store.flow_out
            if at > line.now:
                at = line.now
        ring_left(line, store, mark.mother, at)
    if store.mark_head > 32:
        del store.marks[: store.mark_head]
        store.mark_head = 0


def ring_left(line: Line, store: Store, mother: Mother, at: float) -> None:
    """The last piece of a ring went on: into the next store of pieces, or into a finished one."""
    following = store.takers[0].give
    if following.finished:
        mother_done(line, mother, at, True)
    else:
        add_mark(line, following, mother)


def add_mark(line: Line, store: Store, mother: Mother) -> None:
    """Mark the end of a ring behind all that has gone into the store."""
    if store.made <= store.taken * (1.0 + EQUAL):
        ring_left(line, store, mother, line.now)
    else:
        store.marks.append(Mark(store.made, mother))


def settle(line: Line) -> None:
    """Work out the rates anew wherever something changed."""
    if line.unsettled == 0:
        return
    if line.unsettled == 1:
        settle_segment(line, line.segments[line.unsettled_first])
        if line.unsettled == 0:
            return
    for segment in line.segments:
        if segment.dirty:
            settle_segment(line, segment)


def settle_segment(line: Line, segment: Segment) -> None:
    """Find the rates, let casters that cannot be slowed so far hold, show states, find the next hit."""
    segment.dirty = False
    line.unsettled -= 1
    if segment.casts:
        try_held(segment)
    solve(segment)
    if segment.casts:
        while hold_casters(line, segment):
            solve(segment)
    for machine in segment.machines:
        machine.since = line.now
        lacks = machine.starved_by_flow
        if machine.changed or machine.rate != machine.shown_rate or lacks != machine.shown_starved:
            machine.changed = False
            machine.shown_starved = lacks
            machine.shown_rate = machine.rate
            show(line, machine)
            schedule(line, machine)
    if segment.stores:
        find_hit(line, segment)
        if line.trace and line.warm:
            write_levels(line, segment)


def write_levels(line: Line, segment: Segment) -> None:
    """Write into the trace where the line of a level bends."""
    for store in segment.stores:
        net = store.flow_in - store.flow_out
        if net != store.shown_net:
            store.shown_net = net
            write_level(line, store, store.level, -2.0)


def solve(segment: Segment) -> None:
    """Start from what each machine wants and cut back at empty and full stores until nothing changes."""
    for machine in segment.machines:
        machine.rate = machine.want * machine.speed_factor if working(machine) else 0.0
        machine.starved_by_flow = False
    if len(segment.stores) < 2:
        for store in segment.stores:
            balance(store)
        return
    for _ in range(2 * len(segment.machines) + 4):
        changed = False
        for store in segment.stores:
            changed = balance(store) or changed
        if not changed:
            return


def balance(store: Store) -> bool:
    """Set a store's flows; cut back who takes from an empty one or gives to a full one; tell whether that was needed.

    What differs by rounding alone is equal.
    """
    inflow = 0.0
    for machine in store.givers:
        if machine.scrap_left <= 0.0:
            inflow += machine.rate * machine.gain * machine.convert
    outflow = 0.0
    for machine in store.takers:
        outflow += machine.rate
    gap = inflow - outflow
    if -EQUAL * outflow <= gap <= EQUAL * outflow:
        inflow = outflow
    store.flow_in = inflow
    store.flow_out = outflow
    if gap < 0.0 and inflow != outflow and store.level <= store.heel:
        cut_takers(store, inflow, outflow)
        store.flow_out = inflow
        return True
    if gap > 0.0 and inflow != outflow and store.level >= store.capacity:
        cut_givers(store, outflow / inflow)
        store.flow_in = outflow
        return True
    return False


def cut_takers(store: Store, inflow: float, outflow: float) -> None:
    """Who takes from an empty store gets no more than comes in, each in proportion."""
    share = inflow / outflow
    alone = len(store.takers) == 1
    for machine in store.takers:
        machine.rate = inflow if alone else machine.rate * share
        machine.starved_by_flow = True


def cut_givers(store: Store, share: float) -> None:
    """Who gives to a full store gives no more than goes out, each in proportion; start scrap does not go there."""
    for machine in store.givers:
        if machine.scrap_left <= 0.0:
            machine.rate *= share


def find_hit(line: Line, segment: Segment) -> None:
    """Find when the first store will be full or empty."""
    at = NEVER
    place: i64 = 0
    for store in segment.stores:
        net = store.flow_in - store.flow_out
        when = NEVER
        if net > 0.0 and store.capacity < NEVER:
            when = line.now + (store.capacity - store.level) / net
        elif net < 0.0:
            when = line.now + (store.level - store.heel) / -net
        if when < line.now:
            when = line.now
        if when < at:
            at = when
            segment.hit = place
            segment.hit_full = net > 0.0
        place += 1
    segment.clock.at = at
    line.due_at[segment.clock.place] = at
    if at <= line.now:
        line.crowded = True


def hit(line: Line, segment: Segment) -> None:
    """A store is full or empty: set its level to the bound it hit."""
    touch(line, segment)
    store = segment.stores[segment.hit]
    if segment.hit_full:
        store.level = store.capacity
        return
    store.level = store.heel
    if store.heel <= 0.0:
        store.taken = store.made
        if store.mark_head < len(store.marks):
            pass_marks(line, store, line.now, store.taken)
        store.made = 0.0
        store.taken = 0.0
    for machine in store.givers:
        poke(line, machine)
