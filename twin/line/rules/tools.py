"""Small tools that every rule uses: draw, poke, book time, mass and stock."""

from typing import Final

from mypy_extensions import i64

from twin.line.rules.planner import count_mothers
from twin.line.rules.rows import (
    write_active,
    write_level,
    write_output,
    write_scrap,
    write_sold,
    write_state,
    write_visit,
)
from twin.line.rules.state import (
    CUTTER,
    FURNACE,
    MILL,
    NEVER,
    R_CROP,
    R_MELT,
    R_ROLL_SET,
    R_SCRAP,
    R_TRIM,
    Coil,
    Lane,
    Line,
    Machine,
    Mother,
    Store,
    Stream,
)
from twin.line.rules.vectors import push

RESERVE: Final = 16


def draw(line: Line, stream: Stream) -> float:
    """Take the stream's next number; ask for more when fewer than a reserve are left."""
    if stream.constant:
        return stream.value
    value = stream.values[stream.at]
    stream.at += 1
    if stream.at + RESERVE > len(stream.values):
        line.low.append(stream.index)
    return value


def poke(line: Line, machine: Machine) -> None:
    """Let a machine look, after all that ends at this instant, whether it can go on."""
    if not machine.poked:
        machine.poked = True
        line.pokes += 1
        if machine.turn < line.first_turn:
            line.first_turn = machine.turn


def hold_out(machine: Machine, coil: Coil) -> None:
    """Stand a finished coil behind those that the machine holds out."""
    if machine.out_end < len(machine.out):
        machine.out[machine.out_end] = coil
    else:
        machine.out.append(coil)
    machine.out_end += 1


def holds_out(machine: Machine) -> i64:
    """Count the finished coils that a machine holds out."""
    return machine.out_end - machine.out_at


def first_out(machine: Machine) -> Coil:
    """Return the coil that is held out first."""
    return machine.out[machine.out_at]


def take_out(machine: Machine) -> Coil:
    """Take the coil that is held out first."""
    coil = machine.out[machine.out_at]
    machine.out_at += 1
    if machine.out_at == machine.out_end:
        machine.out_at = 0
        machine.out_end = 0
    return coil


def set_state(line: Line, machine: Machine, state: i64, reason: i64, slow: bool) -> None:
    """Book the time in the old state, then enter the new one."""
    if machine.state == state and machine.reason == reason and machine.slow == slow:
        return
    book_state(line, machine)
    machine.state = state
    machine.reason = reason
    machine.slow = slow
    if line.active_log:
        log_state(line, machine)


def log_state(line: Line, machine: Machine) -> None:
    """Note when a state began, and which: 8 more when slowed, 16 more when a roll set is awaited, 32 a machine."""
    code = machine.state
    if machine.slow:
        code += 8
    if machine.reason == R_ROLL_SET:
        code += 16
    write_active(line, 32 * machine.index + code)


def book_state(line: Line, machine: Machine) -> None:
    """Book the time since the last booking to the state that the machine is in."""
    now = line.now
    if now > machine.state_since:
        machine.times[machine.state].total += now - machine.state_since
        if machine.reason == R_ROLL_SET:
            machine.rolls.wait_s += now - machine.state_since
        if line.trace and line.warm:
            write_state(line, machine)
        machine.state_since = now
        if machine.flow_kg > 0.0 or machine.flow_scrap > 0.0:
            write_flow(line, machine)


def flow_reason(machine: Machine) -> i64:
    """Name what a flow always loses: dross, crops, trim, or pieces."""
    if machine.kind == FURNACE:
        return R_MELT
    if machine.kind == MILL:
        return R_CROP
    return R_TRIM if machine.kind == CUTTER else R_SCRAP


def write_flow(line: Line, machine: Machine) -> None:
    """Write into the trace what a flow has made and scrapped since the last time."""
    if machine.flow_kg > 0.0:
        write_output(line, machine, machine.flow_since, machine.coil, machine.flow_good, machine.flow_kg)
    if machine.flow_scrap > 0.0:
        write_scrap(line, machine, flow_reason(machine), machine.flow_scrap)
    machine.flow_good = 0.0
    machine.flow_kg = 0.0
    machine.flow_scrap = 0.0


def book_in(line: Line, kg: float, start: float) -> None:
    """Book metal that came into the line, evenly from `start` until now."""
    line.in_kg += kg
    line.wip_kg_s += kg * (line.end - 0.5 * (start + line.now))


def book_out(line: Line, kg: float, start: float) -> None:
    """Book metal that left the line, evenly from `start` until now."""
    line.out_kg += kg
    line.wip_kg_s -= kg * (line.end - 0.5 * (start + line.now))


def book_scrap(line: Line, machine: Machine, reason: i64, kg: float, start: float) -> None:
    """Book scrap to the machine that made it and the reason."""
    if kg <= 0.0:
        return
    machine.scrap[reason].total += kg
    book_out(line, kg, start)
    if line.trace and line.warm:
        write_scrap(line, machine, reason, kg)


def book_good(line: Line, machine: Machine, product: i64, pieces: float, kg: float, start: float) -> None:
    """Book good product that reached a finished store."""
    place = product if product >= 0 else line.products
    line.good_kg[place].total += kg
    line.good_pieces[place].total += pieces
    book_out(line, kg, start)


def book_store(line: Line, store: Store) -> None:
    """Book what lay in a store of coils since its last change."""
    passed = line.now - store.since
    if passed > 0.0:
        count = store.count
        store.level_s += count * passed
        if count >= store.capacity:
            store.full_s += passed
        if count == 0.0:
            store.empty_s += passed
    store.since = line.now


def mother_done(line: Line, mother: Mother, at: float, good: bool) -> None:
    """One coil or ring of a mother coil has left the line; with the last one its lead time is known."""
    mother.left -= 1
    if mother.left > 0:
        return
    line.mothers_in -= 1
    if mother.pattern >= 0 and line.planner.used:
        count_mothers(line, mother.pattern, -1.0)
    if good and line.warm and mother.born < NEVER:
        line.lead_times = push(line.lead_times, at - mother.born)
        line.mothers_done += 1
    if line.supply_waits:
        for machine in line.order:
            if machine.limit > 0:
                poke(line, machine)


def ripen(lane: Lane, now: float) -> i64:
    """Count the coils of a lane that have lain long enough."""
    coils = lane.coils
    while lane.head + lane.ripe < len(coils) and coils[lane.head + lane.ripe].ready <= now:
        lane.ripe += 1
    return lane.ripe


def lies_in(lane: Lane) -> i64:
    """Count the coils in a lane."""
    return len(lane.coils) - lane.head


def has_room(store: Store) -> bool:
    """Tell whether one more coil can be set down (never in a store of no places: there coils are pulled)."""
    return store.count < store.capacity


def put_coil(line: Line, store: Store, coil: Coil) -> None:
    """Set a coil down and let those who take from here look."""
    book_store(line, store)
    store.count += 1.0
    if store.count > store.peak:
        store.peak = store.count
    coil.ready = line.now + store.rest
    store.lanes[coil.lane].coils.append(coil)
    if line.trace and line.warm:
        write_level(line, store, store.count, coil.ready)
    if store.keeps < NEVER and line.now + store.keeps < store.clock.at:
        store.clock.at = line.now + store.keeps
        line.slow_stale = True
    for machine in store.takers:
        poke(line, machine)
    poke_full(line, store)


def poke_full(line: Line, store: Store) -> None:
    """A store that became full, or is so no longer, changes the pace of a caster before it."""
    for machine in store.givers:
        if not machine.discrete:
            poke(line, machine)


def lift_coil(line: Line, store: Store, lane: Lane) -> Coil:
    """Take the oldest coil of a lane and let those who give to here look."""
    book_store(line, store)
    store.count -= 1.0
    coil = lane.coils[lane.head]
    lane.head += 1
    lane.ripe -= 1
    if lane.head > 32 and lane.head * 2 > len(lane.coils):
        del lane.coils[: lane.head]
        lane.head = 0
    if line.trace and line.warm:
        write_level(line, store, store.count, -1.0)
    for machine in store.givers:
        poke(line, machine)
    return coil


def deliver(line: Line, machine: Machine, coil: Coil) -> None:
    """Set a coil down behind the machine; where nobody takes it any further it is sold."""
    store = machine.give
    if not store.finished and store.drawn[coil.lane]:
        put_coil(line, store, coil)
        return
    if store.finished:
        book_store(line, store)
        store.count += 1.0
        if store.count > store.peak:
            store.peak = store.count
        if line.trace and line.warm:
            write_level(line, store, store.count, line.now)
    sell(line, machine, coil)


def sell(line: Line, machine: Machine, coil: Coil) -> None:
    """Book a coil or ring as good."""
    book_good(line, machine, coil.product, 1.0, coil.mass, line.now)
    if line.trace and line.warm:
        write_sold(line, machine, coil)
    mother_done(line, coil.mother, line.now, True)


def visit(line: Line, machine: Machine, coil: Coil) -> None:
    """Note in the trace that a coil was worked here, from when the machine began until now."""
    if line.trace and line.warm:
        write_visit(line, machine, coil)
