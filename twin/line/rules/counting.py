"""The end of the warm-up and of the run: what is under way is booked, what was counted is set to nothing."""

from twin.line.rules.flow import look, settle, touch
from twin.line.rules.roll_shop import move_set
from twin.line.rules.rows import write_level
from twin.line.rules.shared import book_slots
from twin.line.rules.state import COILS, Line, Machine, Store
from twin.line.rules.tools import book_state, book_store, log_state, ripen
from twin.line.rules.vectors import no_floats


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
