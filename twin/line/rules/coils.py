"""Stations that work one coil at a time: mill, slitter, and any other step."""

from mypy_extensions import i64

from twin.line.rules.choosing import choose_lane, get_coil, wake_when_ripe, whole_draw
from twin.line.rules.flow import look
from twin.line.rules.planner import plan, sell_as_ring
from twin.line.rules.roll_change import ask_rolls, closed_change, idle_change, rolls_due
from twin.line.rules.shared import ask, let_go, lifts, park_moves
from twin.line.rules.state import (
    ASKING,
    HOLD,
    IDLE,
    LOAD,
    MILL,
    NEVER,
    PATTERN,
    R_CROP,
    R_FIRST_COIL,
    R_NONE,
    R_PATTERN,
    R_RECORD,
    R_SCRAP,
    R_TRIM,
    SLITTER,
    STARVED,
    UNLOAD,
    Coil,
    Line,
    Machine,
    Store,
)
from twin.line.rules.stops import go_on, knife_change, lose
from twin.line.rules.tools import (
    book_scrap,
    deliver,
    draw,
    first_out,
    has_room,
    hold_out,
    holds_out,
    poke,
    sell,
    take_out,
    visit,
)
from twin.line.rules.work import begin_task, begin_work, refresh, set_use


def start_coil_station(line: Line, machine: Machine) -> None:
    """Hand on what is finished, then take the next coil, as far as the moment allows."""
    if not go_on(line, machine):
        closed_change(line, machine)
        return
    if machine.phase == ASKING:
        granted(line, machine)
    if machine.phase == HOLD:
        hand_on(line, machine)
    if machine.phase == IDLE and machine.open:
        next_coil(line, machine)


def granted(line: Line, machine: Machine) -> None:
    """Begin what the crane or the people were asked for."""
    if machine.lent < 0:
        return
    task = machine.ask_task
    if task == PATTERN:
        begin_task(line, machine, PATTERN, R_PATTERN, draw(line, machine.setup))
    elif task == LOAD:
        begin_task(line, machine, LOAD, R_NONE, draw(line, machine.load))
    else:
        begin_task(line, machine, UNLOAD, R_NONE, draw(line, machine.unload))


def hand_on(line: Line, machine: Machine) -> None:
    """Set finished coils down while there is room; stand blocked with the rest."""
    while holds_out(machine) > 0 and (has_room(machine.give) or not goes_on(machine.give, first_out(machine))):
        deliver(line, machine, take_out(machine))
    if holds_out(machine) == 0:
        machine.phase = IDLE
        return
    refresh(line, machine)
    if machine.rolls.used:
        idle_change(line, machine)
    if machine.give.capacity < 1.0:
        for taker in machine.give.takers:
            poke(line, taker)


def goes_on(store: Store, coil: Coil) -> bool:
    """Tell whether the coil needs a place: it is set down, not sold at once."""
    return store.finished or store.drawn[coil.lane]


def next_coil(line: Line, machine: Machine) -> None:
    """Change what is worn, set up for what comes, then take a coil; or stand starved."""
    if rolls_due(machine):
        ask_rolls(line, machine, machine.rolls.why)
        return
    if machine.knife_left <= 0.0:
        knife_change(line, machine)
        return
    lane = choose_lane(line, machine)
    if lane < 0:
        starve(line, machine)
    elif machine.kind == SLITTER and lane != machine.lane:
        set_up(line, machine, lane)
    else:
        take_coil(line, machine, lane)


def starve(line: Line, machine: Machine) -> None:
    """Stand until a coil may be taken."""
    if machine.state != STARVED:
        refresh(line, machine)
    wake_when_ripe(line, machine)
    if machine.rolls.used:
        idle_change(line, machine)


def set_up(line: Line, machine: Machine, lane: i64) -> None:
    """Build the arbor for another pattern; the first pattern of all is found set up."""
    if machine.lane < 0:
        machine.lane = lane
        machine.stay_left = whole_draw(line, machine)
        take_coil(line, machine, lane)
        return
    machine.next_lane = lane
    if machine.setup_shared.index >= 0:
        ask(line, machine, machine.setup_shared, PATTERN)
        if machine.lent >= 0:
            granted(line, machine)
    else:
        begin_task(line, machine, PATTERN, R_PATTERN, draw(line, machine.setup))


def end_set_up(line: Line, machine: Machine) -> None:
    """The arbor stands; its trial strip is scrap of the next coil."""
    machine.lane = machine.next_lane
    machine.stay_left = whole_draw(line, machine)
    machine.setup_owed += draw(line, machine.setup_scrap)
    let_go(line, machine)
    machine.phase = IDLE
    refresh(line, machine)
    poke(line, machine)


def take_coil(line: Line, machine: Machine, lane: i64) -> None:
    """Take a coil and begin: with the crane where it lifts, else at once."""
    machine.coil = get_coil(line, machine, lane)
    machine.has_coil = True
    machine.began = line.now
    if machine.kind == SLITTER:
        machine.stay_left -= 1
    if machine.load_shared.index >= 0 and lifts(machine.load):
        ask(line, machine, machine.load_shared, LOAD)
        if machine.lent >= 0:
            granted(line, machine)
    else:
        work_coil(line, machine)


def work_coil(line: Line, machine: Machine) -> None:
    """Begin the work on the coil in hand."""
    coil = machine.coil
    if machine.plans:
        plan(line, coil)
    if machine.setup_owed > 0.0:
        owed = machine.setup_owed
        machine.setup_owed = 0.0
        lose(line, machine, R_PATTERN, owed)
    if machine.has_coil:
        lasts = work_seconds(line, machine, coil)
        length = machine.m_per_kg[coil.lane] * coil.mass
        if lasts > 0.0:
            set_use(machine, length / lasts, coil.mass / lasts, 1.0 / lasts)
        else:
            set_use(machine, 0.0, 0.0, 0.0)
        begin_work(line, machine, lasts)
    else:
        refresh(line, machine)
        poke(line, machine)


def work_seconds(line: Line, machine: Machine, coil: Coil) -> float:
    """Return how long the coil takes: fixed times, time by its mass, drawn times; slower behind new rolls."""
    lasts = machine.fixed_s[coil.lane] + machine.s_per_kg[coil.lane] * coil.mass
    for i in range(len(machine.extra)):
        lasts += draw(line, machine.extra[i]) * machine.extra_times[i][coil.lane]
    if machine.rolls.used and machine.rolls.first:
        lasts *= machine.rolls.first_slower
    return lasts


def end_task(line: Line, machine: Machine) -> None:
    """A setup, a lifting in or a lifting out has ended."""
    if machine.task == PATTERN:
        end_set_up(line, machine)
        return
    let_go(line, machine)
    if machine.task == LOAD:
        machine.phase = IDLE
        work_coil(line, machine)
    else:
        finish(line, machine)


def end_work(line: Line, machine: Machine) -> None:
    """The coil is worked: it is lifted out, or stands ready behind the machine."""
    look(line, machine)
    machine.left = 0.0
    wear(machine)
    if machine.load_shared.index >= 0 and not machine.crane_in and lifts(machine.unload):
        ask(line, machine, machine.load_shared, UNLOAD)
        if machine.lent >= 0:
            granted(line, machine)
    else:
        finish(line, machine)


def wear(machine: Machine) -> None:
    """Count what the coil used of knives and rolls."""
    coil = machine.coil
    if machine.knife_each < NEVER:
        used = machine.knife_per_coil[coil.lane] + machine.knife_per_kg[coil.lane] * coil.mass
        machine.knife_left -= used
    machine.rolls.kilograms += coil.mass


def finish(line: Line, machine: Machine) -> None:
    """Take the scrap off, cut rings, and hand on."""
    machine.run_kg += machine.coil.mass
    take_scrap_off(line, machine)
    machine.coils += 1
    machine.has_coil = False
    machine.phase = HOLD
    machine.hold_since = line.now
    visit(line, machine, machine.coil)
    if machine.kind == SLITTER and machine.coil.pattern >= 0:
        slit(line, machine)
    else:
        machine.out_kg += machine.coil.mass
        hold_out(machine, machine.coil)
        park_moves(line, machine.load_shared, 1, machine.crane_out)
    hand_on(line, machine)
    refresh(line, machine)
    poke(line, machine)


def take_scrap_off(line: Line, machine: Machine) -> None:
    """Crop, first-coil scrap, recorded losses."""
    coil = machine.coil
    if machine.crop > 0.0:
        kg = coil.mass * machine.crop
        coil.mass -= kg
        book_scrap(line, machine, R_CROP if machine.kind == MILL else R_SCRAP, kg, line.now)
    if machine.rolls.used and machine.rolls.first:
        machine.rolls.first = False
        kg = draw(line, machine.rolls.first_scrap)
        kg = kg if kg < coil.mass else coil.mass
        coil.mass -= kg
        book_scrap(line, machine, R_FIRST_COIL, kg, line.now)
    if machine.losses:
        kg = coil.mass * draw(line, machine.loss)
        coil.mass -= kg
        book_scrap(line, machine, R_RECORD, kg, line.now)


def slit(line: Line, machine: Machine) -> None:
    """Cut the mother coil into its pattern's rings; those sold as rings leave, the crane takes them all away."""
    mother = machine.coil
    pattern = line.patterns[mother.pattern]
    rings = len(pattern.rings)
    mother.mother.left += rings - 1
    rest = mother.mass
    for own in pattern.rings:
        line.coils_made += 1
        ring = Coil(line.coils_made, mother.mass * own.share, mother.mother)
        rest -= ring.mass
        ring.parent = mother.number
        ring.heat = mother.heat
        ring.pattern = mother.pattern
        ring.product = own.product
        ring.lane = line.lanes - line.products + ring.product
        machine.out_kg += ring.mass
        visit(line, machine, ring)
        if sell_as_ring(pattern, own):
            ring.product = own.sold_as
            sell(line, machine, ring)
        else:
            hold_out(machine, ring)
    book_scrap(line, machine, R_TRIM, rest, line.now)
    park_moves(line, machine.load_shared, rings, machine.crane_out)
