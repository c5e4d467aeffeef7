"""Roll sets: on the mill, cooling, waiting for the grinder, ground, fitted, heated, ready again."""

from mypy_extensions import i64

from twin.line.rules.state import (
    BACK_UP,
    COOLING,
    FIT,
    FITTING,
    GRIND,
    GRINDING,
    HEATING,
    IDLE,
    NEVER,
    QUEUED,
    READY,
    Line,
    Machine,
    RollSet,
    Shop,
)
from twin.line.rules.tools import draw, poke
from twin.line.rules.work import begin_task, refresh


def move_set(line: Line, shop: Shop, roll_set: RollSet, stage: i64, until: float) -> None:
    """Move a set to its next place and note where it was."""
    if line.trace and line.warm and line.now > roll_set.since:
        line.set_rows.append((shop.index, roll_set.number, roll_set.stage, roll_set.since, line.now))
    roll_set.stage = stage
    roll_set.since = line.now
    roll_set.until = until


def set_shop_clock(line: Line, shop: Shop) -> None:
    """Find when the next set will be cold or hot."""
    at = NEVER
    for roll_set in shop.sets:
        if roll_set.until < at:
            at = roll_set.until
    shop.clock.at = at
    line.slow_stale = True
    if at <= line.now:
        line.crowded = True


def poke_people(line: Line, shop: Shop) -> None:
    """Let the people of the shop look for work."""
    for person in shop.people:
        poke(line, person)


def ring_shop(line: Line, shop: Shop) -> None:
    """A set is cold and may be ground, or hot and ready."""
    for roll_set in shop.sets:
        if roll_set.until <= line.now:
            if roll_set.stage == COOLING:
                move_set(line, shop, roll_set, QUEUED, NEVER)
                shop.queue.append(roll_set)
                poke_people(line, shop)
            else:
                set_is_ready(line, shop, roll_set)
    set_shop_clock(line, shop)


def set_is_ready(line: Line, shop: Shop, roll_set: RollSet) -> None:
    """A set is ready: the mill that waits for it looks."""
    move_set(line, shop, roll_set, READY, NEVER)
    for machine in shop.mills:
        poke(line, machine)


def start_person(line: Line, person: Machine) -> None:
    """Begin the next grinding: a back-up roll that is owed, else the set that has waited longest."""
    if not person.open or person.phase != IDLE:
        return
    shop = person.shop
    if shop.back_ups_due > 0:
        shop.back_ups_due -= 1
        begin_task(line, person, BACK_UP, 0, draw(line, shop.back_up_grind))
    elif len(shop.queue) > 0:
        roll_set = shop.queue.pop(0)
        move_set(line, shop, roll_set, GRINDING, NEVER)
        person.lane = set_place(shop, roll_set)
        lasts = draw(line, shop.grind)
        if roll_set.damaged:
            lasts += draw(line, shop.extra)
        begin_task(line, person, GRIND, 0, lasts)
    else:
        refresh(line, person)


def set_place(shop: Shop, roll_set: RollSet) -> i64:
    """Find a set's place in the shop's list."""
    for i in range(len(shop.sets)):
        if shop.sets[i] is roll_set:
            return i
    return 0


def end_person_task(line: Line, person: Machine) -> None:
    """A grinding or fitting has ended."""
    shop = person.shop
    if person.task == GRIND:
        roll_set = shop.sets[person.lane]
        grind_down(shop, roll_set)
        move_set(line, shop, roll_set, FITTING, NEVER)
        begin_task(line, person, FIT, 0, draw(line, shop.assemble))
        return
    if person.task == FIT:
        heat_set(line, shop, shop.sets[person.lane])
    person.coils += 1
    person.phase = IDLE
    refresh(line, person)
    poke(line, person)


def grind_down(shop: Shop, roll_set: RollSet) -> None:
    """Take the ground layer off the diameter; a set below its least diameter is replaced by a new one."""
    roll_set.diameter -= shop.removes_damage if roll_set.damaged else shop.removes
    roll_set.damaged = False
    if roll_set.diameter < shop.scrap_below:
        roll_set.diameter = shop.new_diameter
        shop.scrapped += 1


def heat_set(line: Line, shop: Shop, roll_set: RollSet) -> None:
    """Heat the set where rolls are heated, else it is ready."""
    lasts = draw(line, shop.heating)
    if lasts > 0.0:
        move_set(line, shop, roll_set, HEATING, line.now + lasts)
        set_shop_clock(line, shop)
    else:
        set_is_ready(line, shop, roll_set)
