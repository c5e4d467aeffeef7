"""What is due next, letting it happen, and the start and end of counting: the two calls that a clock makes."""

from typing import Final

from mypy_extensions import i64

from twin.line.rules.caster import end_patience, end_restart, end_winding, start_winder
from twin.line.rules.coils import end_task, end_work, start_coil_station
from twin.line.rules.due import find_next
from twin.line.rules.flow import hit, look, settle, touch
from twin.line.rules.rings import (
    end_change,
    end_ring,
    start_follower,
    start_ring_station,
)
from twin.line.rules.roll_shop import (
    end_person_task,
    move_set,
    ring_roll_time,
    ring_shop,
    start_person,
)
from twin.line.rules.rows import write_level
from twin.line.rules.shared import book_slots, serve
from twin.line.rules.state import (
    ASKING,
    BY_CLOCK,
    C_CALENDAR,
    C_DAY,
    C_MACHINE,
    C_ROLL_TIME,
    C_SEGMENT,
    C_SHOP,
    C_SLOT,
    C_SPEED,
    C_STORE,
    CASTER,
    COILS,
    CUTTER,
    DUE_CAUSE,
    DUE_STOP_END,
    DUE_TASK_END,
    DUE_WORK_END,
    GRINDER,
    IDLE,
    NEVER,
    NO_CREW,
    NO_STOP,
    PATIENCE,
    PROFILER,
    R_OLD,
    RESTART,
    SUPPLY,
    WORK,
    Calendar,
    Clock,
    Line,
    Machine,
    Speeds,
    Store,
)
from twin.line.rules.stops import end_stop, strike
from twin.line.rules.supply import end_delivery, start_supply
from twin.line.rules.tools import (
    book_scrap,
    book_state,
    book_store,
    lift_coil,
    log_state,
    mother_done,
    poke,
    ripen,
    write_flow,
)
from twin.line.rules.vectors import no_floats, push
from twin.line.rules.work import refresh

AT_ONCE: Final = 100_000
"""More than this cannot happen at one instant in a line that gets on."""
MOST_EVENTS: Final = 50_000_000
"""More than this happens in no run worth waiting for: some 500 years of a plant of ten stations."""


def next_time(line: Line) -> float:
    """When does the line want to be called? All that ends now ends first, then what may start now starts."""
    if line.pokes > 0 and not line.crowded:
        begin_starts(line)
        settle(line)
    at = find_next(line)
    while at > line.now and line.pokes > 0:
        count_at_once(line)
        begin_starts(line)
        settle(line)
        at = find_next(line)
    return at


def count_at_once(line: Line) -> None:
    """Refuse a line in which something happens for ever without any time passing."""
    line.at_once += 1
    if line.at_once > AT_ONCE:
        raise OverflowError("the line never leaves one instant: work that takes no time is fed without end")


def give_up(line: Line) -> None:
    """Refuse a line in which things happen so fast that its run would never end."""
    passed = line.now - line.counting_since
    raise OverflowError(f"{line.events} events in {passed:.3g} s of the line's time: the run would hardly ever end")


def begin_starts(line: Line) -> None:
    """Let every machine that was poked look whether it can go on, the most downstream first."""
    last: i64 = len(line.order) - 1
    machine = line.order[line.first_turn]
    line.first_turn = last
    while True:
        if machine.poked:
            machine.poked = False
            line.pokes -= 1
            if not at_work(machine):
                start(line, machine)
            if line.pokes == 0:
                return
        if machine.turn == last:
            return
        machine = machine.then


def at_work(machine: Machine) -> bool:
    """Tell whether a machine has nothing to decide: a coil is in work, or it waits for a ring outside its hours."""
    if machine.stop != NO_STOP:
        return False
    return machine.phase == WORK if machine.discrete else machine.phase == IDLE and not machine.open


def start(line: Line, machine: Machine) -> None:
    """Let one machine go on, by its kind."""
    kind = machine.kind
    if machine.discrete:
        if kind == SUPPLY:
            start_supply(line, machine)
        elif kind == GRINDER:
            start_person(line, machine)
        else:
            start_coil_station(line, machine)
    elif machine.take.holds == COILS and (kind == CUTTER or kind == PROFILER):
        start_ring_station(line, machine)
    elif machine.give.holds == COILS or kind == CASTER or machine.rolls.used:
        start_winder(line, machine)
    else:
        start_follower(line, machine)


def step(line: Line, at: float) -> None:
    """Let the one thing that is due happen."""
    if at > line.now:
        line.at_once = 0
    else:
        count_at_once(line)
    line.now = at
    line.events += 1
    if line.events > MOST_EVENTS:
        give_up(line)
    ring(line, line.due)
    settle(line)


def ring(line: Line, clock: Clock) -> None:
    """Let the clock's owner have its moment."""
    kind = clock.kind
    if kind == C_MACHINE:
        ring_machine(line, line.machines[clock.index])
    elif kind == C_SEGMENT:
        hit(line, line.segments[clock.index])
    elif kind == C_CALENDAR:
        turn(line, line.calendars[clock.index])
    elif kind == C_STORE:
        ring_store(line, line.stores[clock.index])
    elif kind == C_SLOT:
        ring_slot(line, clock.index)
    elif kind == C_SHOP:
        ring_shop(line, line.shops[clock.index])
    elif kind == C_ROLL_TIME:
        ring_roll_time(line, line.machines[clock.index])
    elif kind == C_SPEED:
        new_speed(line, line.speeds[clock.index])
    elif kind == C_DAY:
        end_day(line)


def ring_machine(line: Line, machine: Machine) -> None:
    """Something is due at a machine."""
    due = machine.due
    if due == DUE_STOP_END:
        end_stop(line, machine)
    elif due == DUE_CAUSE:
        strike(line, machine, machine.due_cause)
    elif due == DUE_TASK_END:
        ring_task(line, machine)
    elif due == DUE_WORK_END:
        ring_work(line, machine)


def ring_task(line: Line, machine: Machine) -> None:
    """A timed task has ended."""
    machine.task_running = False
    machine.task_left = 0.0
    if machine.kind == SUPPLY:
        end_delivery(line, machine)
    elif machine.kind == GRINDER:
        end_person_task(line, machine)
    elif machine.task == PATIENCE:
        end_patience(line, machine)
    elif machine.task == RESTART:
        end_restart(line, machine)
    elif machine.discrete:
        end_task(line, machine)
    else:
        end_change(line, machine)


def ring_work(line: Line, machine: Machine) -> None:
    """The work in hand has ended."""
    if machine.discrete:
        end_work(line, machine)
    elif machine.take.holds == COILS and (machine.kind == CUTTER or machine.kind == PROFILER):
        end_ring(line, machine)
    elif machine.coil_kg < NEVER:
        end_winding(line, machine)
    else:
        look(line, machine)
        machine.scrap_left = 0.0
        refresh(line, machine)


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


def begin(line: Line) -> None:
    """Let everything look round at the first instant."""
    for machine in line.order:
        machine.clocked = by_clock(machine)
        refresh(line, machine)
        poke(line, machine)
    settle(line)


def by_clock(machine: Machine) -> bool:
    """Tell whether a cause strikes the machine by the clock, even while it stands."""
    for cause in machine.causes:
        if cause.counts == BY_CLOCK:
            return True
    return False


def run(line: Line, until: float) -> bool:
    """Let everything happen up to a time; False if a stream ran low first and must be filled."""
    at = next_time(line)
    while at <= until:
        step(line, at)
        if line.low:
            return False
        at = next_time(line)
        if line.low:
            return False
    return True


def bring_to(line: Line, until: float) -> None:
    """Bring all that runs up to a time at which nothing happens, and book it."""
    line.now = until
    for segment in line.segments:
        touch(line, segment)
    settle(line)
    for machine in line.machines:
        look(line, machine)
        book_state(line, machine)
    settle(line)
    for store in line.stores:
        if store.holds == COILS:
            book_store(line, store)
        elif line.trace and line.warm:
            write_level(line, store, store.level, -2.0)
    for shared in line.shared:
        book_slots(line, shared)
    for shop in line.shops:
        for roll_set in shop.sets:
            move_set(line, shop, roll_set, roll_set.stage, roll_set.until)


def start_counting(line: Line) -> None:
    """The warm-up is over: set every count to nothing, keep every state."""
    line.crowded = True
    line.slow_stale = True
    bring_to(line, line.now)
    line.warm = True
    line.counting_since = line.now
    line.warm_kg = line.in_kg - line.out_kg
    line.wip_kg_s = line.warm_kg * (line.end - line.now)
    line.in_kg = 0.0
    line.out_kg = 0.0
    line.events = 0
    line.mothers = 0
    line.mothers_done = 0
    line.lead_times = no_floats()
    line.active_rows = no_floats()
    for own in line.good_kg:
        own.total = 0.0
    for own in line.good_pieces:
        own.total = 0.0
    for machine in line.machines:
        forget_machine(line, machine)
    for store in line.stores:
        forget_store(line, store)
    for shared in line.shared:
        shared.busy_s = 0.0
    line.day_rows = no_floats()


def forget_machine(line: Line, machine: Machine) -> None:
    """Set a machine's counts to nothing."""
    for own in machine.times:
        own.total = 0.0
    for own in machine.scrap:
        own.total = 0.0
    machine.slowed_s = 0.0
    machine.run_kg = 0.0
    machine.out_kg = 0.0
    machine.coils = 0
    machine.pieces = 0.0
    machine.stops = 0
    machine.turned_away = 0
    machine.charged_kg = 0.0
    if line.active_log:
        log_state(line, machine)
    if machine.rolls.used:
        machine.rolls.changes = 0
        machine.rolls.damages = 0
        machine.rolls.km_sum = 0.0
        machine.rolls.change_s = 0.0
        machine.rolls.wait_s = 0.0


def forget_store(line: Line, store: Store) -> None:
    """Set a store's counts to nothing; its peak begins at what lies there now."""
    store.level_s = 0.0
    store.full_s = 0.0
    store.empty_s = 0.0
    store.peak = store.count if store.holds == COILS else store.level
    if line.trace and store.holds == COILS:
        write_level(line, store, store.count, -3.0)
        for lane in store.lanes:
            for i in range(lane.head + ripen(lane, line.now), len(lane.coils)):
                write_level(line, store, store.count, lane.coils[i].ready)
    elif line.trace:
        write_level(line, store, store.level, -2.0)
