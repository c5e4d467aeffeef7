"""Which coil a station takes next, and where it comes from: a store, a machine before it, the gate."""

from typing import Final

from mypy_extensions import i64

from twin.line.rules.flow import look
from twin.line.rules.planner import assign, new_coil
from twin.line.rules.state import HOLD, IDLE, NEVER, SLITTER, SUPPLY, Coil, Line, Machine
from twin.line.rules.tools import book_in, draw, first_out, holds_out, lies_in, lift_coil, poke, ripen, take_out
from twin.line.rules.work import refresh

PREFERS_SET_UP: Final = 2


def wake_when_ripe(line: Line, machine: Machine) -> None:
    """Let the store call when the first coil that the machine may take has lain long enough."""
    store = machine.take
    if store.rest <= 0.0:
        return
    for place in machine.takes:
        lane = store.lanes[place]
        if lies_in(lane) > lane.ripe:
            ready = lane.coils[lane.head + lane.ripe].ready
            if ready < store.clock.at:
                store.clock.at = ready
                line.slow_stale = True


def whole_draw(line: Line, machine: Machine) -> i64:
    """Draw for how many coils the slitter stays on a pattern: the nearest whole number, at least one."""
    coils = int(draw(line, machine.stay) + 0.5)
    return coils if coils > 0 else 1


def choose_lane(line: Line, machine: Machine) -> i64:
    """Choose what to take: a slitter stays with its pattern, then takes the most; others take the oldest."""
    if machine.take.capacity < 1.0:
        return handed_lane(line, machine)
    if machine.kind != SLITTER:
        return oldest_lane(line, machine)
    lanes = machine.take.lanes
    if machine.lane >= 0 and machine.stay_left > 0 and ripen(lanes[machine.lane], line.now) > 0:
        return machine.lane
    best = most_ripe(line, machine)
    if best >= 0 and machine.lane >= 0:
        own = lanes[machine.lane].ripe
        if own > 0 and lanes[best].ripe <= own * PREFERS_SET_UP:
            best = machine.lane
            machine.stay_left = whole_draw(line, machine)
    return best


def most_ripe(line: Line, machine: Machine) -> i64:
    """Find the lane with most coils ready; -1 if none is."""
    best: i64 = -1
    most: i64 = 0
    for place in machine.takes:
        ripe = ripen(machine.take.lanes[place], line.now)
        if ripe > most:
            most = ripe
            best = place
    return best


def oldest_lane(line: Line, machine: Machine) -> i64:
    """Find the lane whose first coil has been ready longest; -1 if none is ready."""
    best: i64 = -1
    since = NEVER
    number: i64 = 0
    for place in machine.takes:
        lane = machine.take.lanes[place]
        if ripen(lane, line.now) > 0:
            first = lane.coils[lane.head]
            if first.ready < since or (first.ready == since and first.number < number):
                since = first.ready
                number = first.number
                best = place
    return best


def handed_lane(line: Line, machine: Machine) -> i64:
    """Find the lane of a coil that a machine before a store of no places holds out; -1 if none does."""
    giver = holding_giver(line, machine)
    if giver < 0:
        return -1
    return first_out(machine.take.givers[giver]).lane


def holding_giver(line: Line, machine: Machine) -> i64:
    """Find the giver that has held a coil longest that this machine may take; -1 if none."""
    best = -1
    since = NEVER
    givers = machine.take.givers
    for i in range(len(givers)):
        giver = givers[i]
        if giver.kind == SUPPLY and not may_come(line, giver):
            continue
        if giver.phase == HOLD and holds_out(giver) > 0 and giver.hold_since < since:
            if first_out(giver).lane in machine.takes:
                since = giver.hold_since
                best = i
    return best


def may_come(line: Line, supply: Machine) -> bool:
    """Tell whether the line may hold one more coil."""
    return supply.limit <= 0 or line.mothers_in < supply.limit


def get_coil(line: Line, machine: Machine, lane: i64) -> Coil:
    """Lift a coil from the store, or take it from the machine that holds it out."""
    if machine.take.capacity >= 1.0:
        return lift_coil(line, machine.take, machine.take.lanes[lane])
    giver = machine.take.givers[holding_giver(line, machine)]
    look(line, giver)
    coil = take_out(giver)
    if giver.kind == SUPPLY:
        coil = born_now(line, giver, coil)
    if holds_out(giver) == 0 and giver.discrete:
        giver.phase = IDLE
    refresh(line, giver)
    poke(line, giver)
    return coil


def born_now(line: Line, supply: Machine, waiting: Coil) -> Coil:
    """A coil that waited at the gate enters the line."""
    coil = new_coil(line, waiting.mass)
    if waiting.pattern >= 0:
        assign(line, coil, waiting.pattern)
    supply.charged_kg += coil.mass
    supply.coils += 1
    supply.out_kg += coil.mass
    book_in(line, coil.mass, line.now)
    return coil
