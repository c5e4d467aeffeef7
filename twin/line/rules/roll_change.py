"""When rolls come off, the change itself, and what is noted of it."""

from mypy_extensions import i64

from twin.line.rules.flow import look
from twin.line.rules.roll_shop import move_set, poke_people, set_shop_clock
from twin.line.rules.shared import ask_for_stop
from twin.line.rules.state import (
    AFTER_DAMAGE,
    AT_TIME,
    COOLING,
    NEVER,
    NO_SET,
    NO_STOP,
    ON_MILL,
    R_LIMIT,
    READY,
    ROLLS,
    WHEN_IDLE,
    Line,
    Machine,
    Rolls,
    RollSet,
    Shop,
)
from twin.line.rules.tools import draw, poke
from twin.line.rules.work import begin_stop


def rolls_due(machine: Machine) -> bool:
    """Tell whether the rolls have reached their limit or a fixed time for the change has passed."""
    rolls = machine.rolls
    if not rolls.used:
        return False
    run = rolls.kilograms if rolls.limit_in_mass else rolls.km
    if run >= rolls.limit * (1.0 - 1e-12):
        rolls.why = 0
        return True
    if rolls.due:
        rolls.why = AT_TIME
        return True
    return False


def idle_change(line: Line, machine: Machine) -> bool:
    """Use a standing moment for the change, if the rolls are far enough on and enough sets stay ready."""
    rolls = machine.rolls
    run = rolls.kilograms if rolls.idle_in_mass else rolls.km
    if not rolls.used or run < rolls.idle_after * (1.0 - 1e-12) or not rolls.calendar.open:
        return False
    if not rolls.shop.unlimited and sets_ready(rolls.shop) - 1 < rolls.keep_ready:
        return False
    ask_rolls(line, machine, WHEN_IDLE)
    return True


def sets_ready(shop: Shop) -> i64:
    """Count the sets that could go on now."""
    ready = 0
    for roll_set in shop.sets:
        if roll_set.stage == READY:
            ready += 1
    return ready


def has_its_turn(machine: Machine) -> bool:
    """Tell whether there is a ready set left for this mill when those that have waited longer have theirs."""
    shop = machine.rolls.shop
    ready = sets_ready(shop)
    for other in shop.mills:
        if other.stop == NO_SET and other.rolls.wait_since < machine.rolls.wait_since:
            ready -= 1
    return ready > 0


def ask_rolls(line: Line, machine: Machine, why: i64) -> None:
    """Begin the change, or stand until a set is ready."""
    rolls = machine.rolls
    rolls.why = why
    rolls.due = False
    rolls.waited = 0.0
    rolls.wait_since = line.now
    if rolls.shop.unlimited or sets_ready(rolls.shop) > 0:
        change_rolls(line, machine)
    else:
        begin_stop(line, machine, NO_SET, 0, 0.0, rolls.calendar)
        take_off_early(line, rolls)


def take_off_early(line: Line, rolls: Rolls) -> None:
    """Where no set is on its way through the shop, none would ever be ready: the worn one is ground meanwhile."""
    if rolls.bare:
        return
    for roll_set in rolls.shop.sets:
        if roll_set.stage != ON_MILL:
            return
    rolls.bare = True
    take_off(line, rolls, rolls.roll_set, rolls.why == AFTER_DAMAGE)


def change_rolls(line: Line, machine: Machine) -> None:
    """Take the old set off, for the roll shop, and begin the change; people are asked for first where needed."""
    rolls = machine.rolls
    rolls.waited = line.now - rolls.wait_since
    old = rolls.roll_set
    new = RollSet(old.number + 1, old.diameter) if rolls.shop.unlimited else first_ready(rolls.shop)
    damaged = rolls.why == AFTER_DAMAGE
    rolls.took = draw(line, rolls.damaged_change if damaged else rolls.change)
    if not rolls.bare:
        take_off(line, rolls, old, damaged)
    rolls.bare = False
    note_change(line, machine, old)
    move_set(line, rolls.shop, new, ON_MILL, NEVER)
    rolls.roll_set = new
    begin_stop(line, machine, ROLLS, R_LIMIT + reason_place(rolls.why), rolls.took, rolls.calendar)
    if rolls.shared.index >= 0:
        ask_for_stop(line, machine, rolls.shared)


def reason_place(why: i64) -> i64:
    """Order the reasons of a change as the fixed reasons are: limit, idle, planned; damage has its own."""
    if why == WHEN_IDLE:
        return 1
    if why == AT_TIME:
        return 2
    return -10 if why == AFTER_DAMAGE else 0


def note_change(line: Line, machine: Machine, old: RollSet) -> None:
    """Count the change and write the roll card of the set that comes off."""
    rolls = machine.rolls
    rolls.changes += 1
    rolls.km_sum += rolls.km
    rolls.change_s += rolls.took
    if line.trace and line.warm:
        line.roll_rows.append(
            (
                machine.index,
                old.number,
                rolls.on_since,
                line.now,
                rolls.km,
                rolls.why,
                rolls.off_diameter,
                rolls.took,
                rolls.waited,
            )  # fmt: skip
        )


def take_off(line: Line, rolls: Rolls, old: RollSet, damaged: bool) -> None:
    """Send the old set to cool; every so many changes the grinder owes a back-up roll its time."""
    shop = rolls.shop
    rolls.off_diameter = old.diameter
    shop.changes += 1
    if shop.unlimited:
        return
    old.damaged = damaged
    move_set(line, shop, old, COOLING, line.now + draw(line, shop.cool))
    if shop.back_up_every > 0 and shop.changes >= shop.back_up_every:
        shop.changes = 0
        shop.back_ups_due += 1
    set_shop_clock(line, shop)
    poke_people(line, shop)


def end_change(line: Line, machine: Machine) -> None:
    """The new set is on and has its life before it."""
    rolls = machine.rolls
    rolls.km = 0.0
    rolls.kilograms = 0.0
    rolls.first = True
    rolls.on_since = line.now
    rolls.life.left = draw(line, rolls.life.every)
    for cause in machine.causes:
        if cause.rolls and cause.service:
            cause.left = rolls.limit


def first_ready(shop: Shop) -> RollSet:
    """Find the set that has been ready longest."""
    best = shop.sets[0]
    since = NEVER
    for roll_set in shop.sets:
        if roll_set.stage == READY and roll_set.since < since:
            since = roll_set.since
            best = roll_set
    return best


def ring_roll_time(line: Line, machine: Machine) -> None:
    """A fixed time for the change has come; the mill takes it at its next coil."""
    rolls = machine.rolls
    look(line, machine)
    rolls.due = True
    rolls.time_at += 1
    rolls.clock.at = rolls.times[rolls.time_at] if rolls.time_at < len(rolls.times) else NEVER
    line.slow_stale = True
    poke(line, machine)


def closed_change(line: Line, machine: Machine) -> None:
    """Use closed hours, with no coil in the mill, for a change of rolls that others make."""
    if machine.rolls.used and not machine.open and machine.stop == NO_STOP and not machine.has_coil:
        idle_change(line, machine)
