"""What is due that is no machine's: calendars turn, coils ripen or age, recorded speeds change, midnight comes."""

from mypy_extensions import i64

from twin.line.rules.flow import look, touch
from twin.line.rules.shared import serve
from twin.line.rules.state import ASKING, IDLE, NEVER, NO_CREW, R_OLD, Calendar, Line, Speeds, Store
from twin.line.rules.tools import book_scrap, lift_coil, mother_done, poke, ripen, write_flow
from twin.line.rules.vectors import push
from twin.line.rules.work import refresh


def turn(line: Line, calendar: Calendar) -> None:
    """A calendar opens or closes: its machines go on or pause, repairs by it likewise."""
    calendar.open = not calendar.open
    calendar.at += 1
    calendar.clock.at = calendar.turns[calendar.at] if calendar.at < len(calendar.turns) else NEVER
    line.slow_stale = True
    for machine in calendar.users:
        look(line, machine)
        machine.open = machine.calendar.open
        refresh(line, machine)
        if machine.open or machine.rolls.used:
            poke(line, machine)
        if machine.stop == NO_CREW:
            serve(line, machine.stop_shared)
        elif machine.phase == ASKING:
            serve(line, machine.asked)
    for shared in calendar.shared:
        serve(line, shared)


def ring_store(line: Line, store: Store) -> None:
    """Coils have lain long enough to be taken, or too long to be kept."""
    store.clock.at = NEVER
    soonest = NEVER
    for lane in store.lanes:
        ripen(lane, line.now)
        if store.keeps < NEVER:
            while lane.head < len(lane.coils) and lane.coils[lane.head].ready - store.rest + store.keeps <= line.now:
                ripen(lane, line.now)
                if lane.ripe == 0:
                    lane.ripe = 1
                coil = lift_coil(line, store, lane)
                book_scrap(line, store.takers[0], R_OLD, coil.mass, line.now)
                mother_done(line, coil.mother, line.now, False)
            if lane.head < len(lane.coils):
                old = lane.coils[lane.head].ready - store.rest + store.keeps
                if old < soonest:
                    soonest = old
    store.clock.at = soonest
    line.slow_stale = True
    for machine in store.takers:
        if machine.phase == IDLE:
            poke(line, machine)


def ring_slot(line: Line, index: i64) -> None:
    """A crane has carried its rings away."""
    for shared in line.shared:
        for slot in shared.slots:
            if slot.index == index:
                serve(line, shared)


def new_speed(line: Line, speeds: Speeds) -> None:
    """A recorded change of speed."""
    machine = speeds.machine
    look(line, machine)
    machine.speed_factor = speeds.factors[speeds.at]
    speeds.at += 1
    speeds.clock.at = speeds.times[speeds.at] if speeds.at < len(speeds.times) else NEVER
    line.slow_stale = True
    refresh(line, machine)


def end_day(line: Line) -> None:
    """Midnight: note what has been made so far."""
    for segment in line.segments:
        touch(line, segment)
        for machine in segment.machines:
            if machine.flow_kg > 0.0 or machine.flow_scrap > 0.0:
                write_flow(line, machine)
    for own in line.good_kg:
        line.day_rows = push(line.day_rows, own.total)
    line.day_at += 1
    line.day_clock.at = line.days[line.day_at] if line.day_at < len(line.days) else NEVER
    line.slow_stale = True
