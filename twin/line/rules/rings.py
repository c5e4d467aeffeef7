"""Stations that turn a ring into pieces, and those that work the pieces: cutters and profilers."""

from mypy_extensions import i64

from twin.line.rules.choosing import get_coil, handed_lane, most_ripe, wake_when_ripe
from twin.line.rules.coils import starve
from twin.line.rules.flow import add_mark, look
from twin.line.rules.shared import ask, let_go, lifts, park_moves
from twin.line.rules.state import (
    ASKING,
    COIL_CHANGE,
    COILS,
    HOLD,
    IDLE,
    LOAD,
    NEVER,
    NO_STOP,
    R_COIL_CHANGE,
    R_END,
    R_FIRST_OFF,
    R_NONE,
    R_RECORD,
    R_TOOL_CHANGE,
    R_TRIM,
    STARVED,
    TOOL_CHANGE,
    WORK,
    Line,
    Machine,
    Shared,
    Store,
)
from twin.line.rules.stops import go_on
from twin.line.rules.tools import book_scrap, book_store, draw, mother_done, poke, ripen, visit
from twin.line.rules.work import begin_task, busy, refresh, set_use


def start_ring_station(line: Line, machine: Machine) -> None:
    """Take the next ring, or begin the one that waited until the pieces of another product were gone."""
    if busy(machine) or starves_on(line, machine):
        return
    look(line, machine)
    if not go_on(line, machine):
        refresh(line, machine)
        return
    if machine.phase == ASKING:
        begin_change(line, machine)
    if machine.phase == HOLD:
        begin_ring(line, machine)
    if machine.phase == IDLE and machine.open:
        next_ring(line, machine)


def starves_on(line: Line, machine: Machine) -> bool:
    """Tell whether a machine that stands starved has to go on so, as there is still no ring for it."""
    if machine.phase != IDLE or machine.stop != NO_STOP or machine.state != STARVED:
        return False
    if choose_ring(line, machine) >= 0:
        return False
    wake_when_ripe(line, machine)
    return True


def next_ring(line: Line, machine: Machine) -> None:
    """Take a ring of the product that is set up, else of the one that most rings wait for."""
    lane = choose_ring(line, machine)
    if lane < 0:
        starve(line, machine)
        return
    machine.coil = get_coil(line, machine, lane)
    machine.has_coil = True
    machine.began = line.now
    machine.left = NEVER
    machine.next_lane = lane
    if machine.load_shared.index >= 0 and lifts(machine.load):
        ask(line, machine, machine.load_shared, LOAD)
        begin_change(line, machine)
    else:
        ask_people(line, machine)


def ask_people(line: Line, machine: Machine) -> None:
    """Ask who the change of ring or of tools needs, and begin it."""
    changes = machine.lane >= 0 and machine.next_lane != machine.lane
    machine.lane = machine.next_lane
    machine.ask_task = TOOL_CHANGE if changes else COIL_CHANGE
    shared = people_for(machine)
    if shared.index >= 0:
        ask(line, machine, shared, machine.ask_task)
    begin_change(line, machine)


def people_for(machine: Machine) -> Shared:
    """Return whom the change of ring or tools needs."""
    return machine.tool_shared if machine.ask_task == TOOL_CHANGE else machine.coil_shared


def choose_ring(line: Line, machine: Machine) -> i64:
    """Choose a lane: what is handed over, else stay with the product while a ring of it is ready."""
    if machine.take.capacity < 1.0:
        return handed_lane(line, machine)
    if machine.lane >= 0 and ripen(machine.take.lanes[machine.lane], line.now) > 0:
        return machine.lane
    return most_ripe(line, machine)


def begin_change(line: Line, machine: Machine) -> None:
    """Lift the ring in, or change the tools or the width and thread it, when the crane or the people are there."""
    if machine.phase == ASKING and machine.lent < 0:
        return
    if machine.phase == ASKING and machine.ask_task == LOAD:
        lasts = draw(line, machine.load)
        begin_task(line, machine, LOAD, R_NONE, lasts if machine.crane_in else lasts + draw(line, machine.unload))
        return
    lasts = draw(line, machine.coil_change)
    for stream in machine.extra:
        lasts += draw(line, stream)
    machine.setup_owed += draw(line, machine.coil_scrap)
    if machine.ask_task == TOOL_CHANGE:
        lasts += draw(line, machine.tool_change)
        machine.setup_owed += draw(line, machine.setup_scrap)
        begin_task(line, machine, TOOL_CHANGE, R_TOOL_CHANGE, lasts)
    else:
        begin_task(line, machine, COIL_CHANGE, R_COIL_CHANGE, lasts)


def end_change(line: Line, machine: Machine) -> None:
    """The ring is lifted in or threaded: begin it when what lies behind is of the same product."""
    look(line, machine)
    let_go(line, machine)
    if machine.task == LOAD:
        ask_people(line, machine)
        return
    if machine.task == TOOL_CHANGE:
        machine.scrap_left += draw(line, machine.first_off)
        machine.scrap_reason = R_FIRST_OFF
    if machine.take.holds != COILS:
        machine.phase = WORK
        refresh(line, machine)
        return
    machine.phase = HOLD
    begin_ring(line, machine)


def begin_ring(line: Line, machine: Machine) -> None:
    """Begin to run the ring, unless pieces of another product still lie behind."""
    lane = machine.lane
    product = line.lane_product[lane]
    if machine.product != product and not clear(machine.give):
        refresh(line, machine)
        return
    machine.phase = WORK
    if machine.product != product:
        set_product(line, machine, lane)
    coil = machine.coil
    trim = coil.mass * (1.0 - machine.keep_share[lane])
    book_scrap(line, machine, R_TRIM, trim, line.now)
    kilograms = machine.piece_kg[lane]
    lost = coil.mass * draw(line, machine.loss) if machine.losses else 0.0
    book_scrap(line, machine, R_RECORD, lost, line.now)
    trim += lost
    usable = coil.mass - trim - machine.end_kg[lane] - machine.setup_owed
    machine.setup_owed = 0.0
    machine.left = float(int(usable / kilograms + 1e-9)) if usable > 0.0 else 0.0
    book_scrap(line, machine, R_END, coil.mass - trim - machine.left * kilograms, line.now)
    refresh(line, machine)


def clear(store: Store) -> bool:
    """Tell whether no pieces lie in the stores behind, as far as they are joined."""
    while not store.finished and store.holds != COILS:
        if store.level > 0.0:
            return False
        store = store.takers[0].give
    return True


def set_product(line: Line, machine: Machine, lane: i64) -> None:
    """Set a machine, and those joined behind it, to another product; each changes its tools for it."""
    machine.product = line.lane_product[lane]
    set_speed(machine, lane)
    give = machine.give
    while not give.finished and give.holds != COILS:
        give.piece_kg = machine.piece_kg[lane]
        follower = give.takers[0]
        change_follower(line, follower, lane)
        give = follower.give


def set_speed(machine: Machine, lane: i64) -> None:
    """Set the pace and what a piece weighs."""
    machine.nominal = machine.speeds[lane]
    machine.want = machine.nominal
    machine.unit_kg = machine.piece_kg[lane]
    set_use(machine, machine.m_per_kg[lane] * machine.unit_kg, machine.unit_kg, 1.0)


def change_follower(line: Line, machine: Machine, lane: i64) -> None:
    """A machine fed by pieces changes its tools for a new product; the first product of all is found set up."""
    first = machine.product < 0
    machine.product = line.lane_product[lane]
    set_speed(machine, lane)
    if first or machine.phase != WORK:
        refresh(line, machine)
    elif machine.tool_shared.index >= 0:
        machine.ask_task = TOOL_CHANGE
        ask(line, machine, machine.tool_shared, TOOL_CHANGE)
        start_follower(line, machine)
    else:
        change_tools(line, machine)


def change_tools(line: Line, machine: Machine) -> None:
    """Change the tools of a machine fed by pieces; what that scraps comes out of the next ones."""
    machine.scrap_left += draw(line, machine.setup_scrap) / machine.unit_kg
    begin_task(line, machine, TOOL_CHANGE, R_TOOL_CHANGE, draw(line, machine.tool_change))


def start_follower(line: Line, machine: Machine) -> None:
    """Begin the tool change when the people have come, go on after an interruption."""
    if busy(machine):
        return
    look(line, machine)
    if go_on(line, machine) and machine.phase == ASKING and machine.lent >= 0:
        change_tools(line, machine)
    refresh(line, machine)


def end_ring(line: Line, machine: Machine) -> None:
    """First-offs are over, or the ring is used up: mark its end in the store behind and take the next."""
    look(line, machine)
    if machine.scrap_due or not machine.has_coil:
        machine.scrap_left = 0.0
        refresh(line, machine)
        return
    machine.left = NEVER
    machine.has_coil = False
    machine.coils += 1
    machine.phase = IDLE
    visit(line, machine, machine.coil)
    if machine.give.holds == COILS:
        book_store(line, machine.give)
        machine.give.count += 1.0
        park_moves(line, machine.load_shared, 1, machine.crane_out)
    mother = machine.coil.mother
    if machine.give.finished or machine.give.holds == COILS:
        mother_done(line, mother, line.now, True)
    else:
        add_mark(line, machine.give, mother)
    refresh(line, machine)
    poke(line, machine)
