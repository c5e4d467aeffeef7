"""A line as it is at one moment, kept so that it can be set back to it.

Beside each object that a run changes lies a copy of what it changes of it. What ties a line together (which machine
gives to which store, whose clock is whose) stays as it was built and is in no copy; coils that come after the moment
are forgotten when the line is set back.
"""

from twin.line.rules.copies import (
    copy_cause,
    copy_coil,
    copy_lane,
    copy_line,
    copy_machine,
    copy_planner,
    copy_roll_set,
    copy_rolls,
    copy_segment,
    copy_shared,
    copy_shop,
    copy_slot,
    copy_store,
    copy_stream,
)
from twin.line.rules.state import (
    COILS,
    STEP,
    Calendar,
    Cause,
    Clock,
    Coil,
    Count,
    Lane,
    Line,
    Machine,
    Mother,
    Pattern,
    Planner,
    Rings,
    Rolls,
    RollSet,
    Segment,
    Share,
    Shared,
    Shop,
    Slot,
    Speeds,
    Store,
    Stream,
    Sum,
)


class Parts:
    """The objects of a line that a run changes, those of each class in one order; some may be there twice."""

    __slots__ = (
        "calendars", "causes", "clocks", "coils", "counts", "lanes", "line", "machines", "mothers", "patterns",
        "planner", "rings", "roll_sets", "rolls", "segments", "shared", "shares", "shops", "slots", "speeds",
        "stores", "streams", "sums",
    )  # fmt: skip
    line: Line
    planner: Planner
    machines: list[Machine]
    causes: list[Cause]
    rolls: list[Rolls]
    roll_sets: list[RollSet]
    shops: list[Shop]
    stores: list[Store]
    lanes: list[Lane]
    coils: list[Coil]
    mothers: list[Mother]
    segments: list[Segment]
    calendars: list[Calendar]
    shared: list[Shared]
    slots: list[Slot]
    rings: list[Rings]
    speeds: list[Speeds]
    patterns: list[Pattern]
    shares: list[Share]
    counts: list[Count]
    streams: list[Stream]
    clocks: list[Clock]
    sums: list[Sum]

    def __init__(self, line: Line) -> None:
        self.line = line
        self.planner = line.planner
        self.machines = [*line.machines, line.spare.machine]
        self.causes = []
        self.rolls = [line.spare.rolls]
        self.roll_sets = []
        self.shops = [*line.shops, line.spare.shop]
        self.stores = [*line.stores, line.spare.store]
        self.lanes = []
        self.coils = []
        self.mothers = []
        self.segments = line.segments
        self.calendars = line.calendars
        self.shared = line.shared
        self.slots = line.slots
        self.rings = []
        self.speeds = line.speeds
        self.patterns = line.patterns
        self.shares = line.planner.shares
        self.counts = []
        self.streams = line.streams
        self.clocks = [line.day_clock]
        self.sums = [*line.good_kg, *line.good_pieces]


class Moment:
    """A line's objects, and beside each a copy of it as it was; the copies never run."""

    __slots__ = ("now", "then")
    now: Parts
    then: Parts

    def __init__(self, now: Parts, then: Parts) -> None:
        self.now = now
        self.then = then


def keep(line: Line) -> Moment:
    """Keep a line as it is now."""
    now = parts_of(line)
    moment = Moment(now, blank(now))
    copy_parts(moment.now, moment.then)
    return moment


def keep_anew(moment: Moment) -> None:
    """Keep the line as it is now in the place of the moment that was kept of it; the copies serve again."""
    now, then = moment.now, moment.then
    gather_material(now)
    del then.coils[len(now.coils) :]
    while len(then.coils) < len(now.coils):
        then.coils.append(Coil(-1, 0.0, now.line.spare.coil.mother))
    del then.mothers[len(now.mothers) :]
    while len(then.mothers) < len(now.mothers):
        then.mothers.append(Mother(-1, 0.0))
    del then.roll_sets[len(now.roll_sets) :]
    while len(then.roll_sets) < len(now.roll_sets):
        then.roll_sets.append(RollSet(0, 0.0))
    del then.rings[len(now.rings) :]
    while len(then.rings) < len(now.rings):
        then.rings.append(Rings(0, 0.0))
    copy_parts(now, then)


def set_back(moment: Moment) -> None:
    """Set a line back to a moment that was kept of it, whatever has happened since."""
    copy_parts(moment.then, moment.now)


def parts_of(line: Line) -> Parts:
    """Gather the objects of a line."""
    parts = Parts(line)
    for machine in parts.machines:
        add_machine(parts, machine)
    for store in parts.stores:
        parts.clocks.append(store.clock)
        parts.lanes.extend(store.lanes)
    for shop in parts.shops:
        parts.clocks.append(shop.clock)
    for share in parts.shares:
        for hold in share.holds:
            parts.counts.append(hold.before)
    parts.clocks.extend([own.clock for own in parts.segments])
    parts.clocks.extend([own.clock for own in parts.calendars])
    parts.clocks.extend([own.clock for own in parts.slots])
    parts.clocks.extend([own.clock for own in parts.speeds])
    gather_material(parts)
    return parts


def gather_material(parts: Parts) -> None:
    """Gather what lies, waits and turns in a line at this moment; all else that belongs to it stays."""
    parts.coils = [parts.line.spare.coil]
    parts.mothers = []
    parts.rings = []
    parts.roll_sets = []
    for shop in parts.shops:
        parts.roll_sets.extend(shop.sets)
    for rolls in parts.rolls:
        parts.roll_sets.append(rolls.roll_set)
    for machine in parts.machines:
        parts.coils.append(machine.coil)
        parts.coils.extend(machine.out)
    for lane in parts.lanes:
        parts.coils.extend(lane.coils)
    for store in parts.stores:
        for mark in store.marks:
            parts.mothers.append(mark.mother)
    for shared in parts.shared:
        parts.rings.extend(shared.parked)
    for coil in parts.coils:
        parts.mothers.append(coil.mother)


def add_machine(parts: Parts, machine: Machine) -> None:
    """Add a machine's own objects."""
    parts.causes.extend(machine.causes)
    parts.clocks.append(machine.clock)
    parts.sums.extend(machine.times)
    parts.sums.extend(machine.scrap)
    rolls = machine.rolls
    if rolls.used:
        parts.rolls.append(rolls)
        parts.causes.append(rolls.life)
        parts.clocks.append(rolls.clock)


def blank(parts: Parts) -> Parts:
    """Make new objects, as many as these of each class."""
    spare = parts.line.spare
    clock, calendar, shop, nothing = spare.calendar.clock, spare.calendar, spare.shop, spare.nothing
    made = Parts(Line(spare))
    made.machines = [Machine(-1, STEP, calendar, clock, spare) for _ in parts.machines]
    made.causes = [Cause(0, nothing, nothing, nothing, calendar) for _ in parts.causes]
    made.rolls = [Rolls(spare.rolls.roll_set, shop, spare.rolls.life, clock) for _ in parts.rolls]
    made.roll_sets = [RollSet(0, 0.0) for _ in parts.roll_sets]
    made.shops = [Shop(-1, clock, nothing) for _ in parts.shops]
    made.stores = [Store(-1, COILS, clock) for _ in parts.stores]
    made.lanes = [Lane() for _ in parts.lanes]
    made.coils = [Coil(-1, 0.0, spare.coil.mother) for _ in parts.coils]
    made.mothers = [Mother(-1, 0.0) for _ in parts.mothers]
    made.segments = [Segment(-1, clock) for _ in parts.segments]
    made.calendars = [Calendar(-1, clock) for _ in parts.calendars]
    made.shared = [Shared(-1, calendar) for _ in parts.shared]
    made.slots = [Slot(-1, clock) for _ in parts.slots]
    made.rings = [Rings(0, 0.0) for _ in parts.rings]
    made.speeds = [Speeds(spare.machine, clock) for _ in parts.speeds]
    made.patterns = [Pattern() for _ in parts.patterns]
    made.shares = [Share(0.0) for _ in parts.shares]
    made.counts = [Count() for _ in parts.counts]
    made.streams = [Stream(-1, 0.0) for _ in parts.streams]
    made.clocks = [Clock(0, 0, 0) for _ in parts.clocks]
    made.sums = [Sum() for _ in parts.sums]
    return made


def copy_parts(source: Parts, target: Parts) -> None:
    """Copy what a run changes of each object."""
    copy_line(source.line, target.line)
    copy_planner(source.planner, target.planner)
    for i in range(len(source.machines)):
        copy_machine(source.machines[i], target.machines[i])
    for i in range(len(source.causes)):
        copy_cause(source.causes[i], target.causes[i])
    for i in range(len(source.rolls)):
        copy_rolls(source.rolls[i], target.rolls[i])
    for i in range(len(source.roll_sets)):
        copy_roll_set(source.roll_sets[i], target.roll_sets[i])
    for i in range(len(source.shops)):
        copy_shop(source.shops[i], target.shops[i])
    for i in range(len(source.stores)):
        copy_store(source.stores[i], target.stores[i])
    for i in range(len(source.lanes)):
        copy_lane(source.lanes[i], target.lanes[i])
    for i in range(len(source.coils)):
        copy_coil(source.coils[i], target.coils[i])
    for i in range(len(source.mothers)):
        target.mothers[i].left = source.mothers[i].left
        target.mothers[i].pattern = source.mothers[i].pattern
    copy_surroundings(source, target)


def copy_surroundings(source: Parts, target: Parts) -> None:
    """Copy what is no machine and no material."""
    for i in range(len(source.segments)):
        copy_segment(source.segments[i], target.segments[i])
    for i in range(len(source.calendars)):
        target.calendars[i].open = source.calendars[i].open
        target.calendars[i].at = source.calendars[i].at
    for i in range(len(source.shared)):
        copy_shared(source.shared[i], target.shared[i])
    for i in range(len(source.slots)):
        copy_slot(source.slots[i], target.slots[i])
    for i in range(len(source.rings)):
        target.rings[i].moves = source.rings[i].moves
        target.rings[i].each = source.rings[i].each
    for i in range(len(source.speeds)):
        target.speeds[i].at = source.speeds[i].at
    for i in range(len(source.patterns)):
        target.patterns[i].owed = source.patterns[i].owed[:]
    for i in range(len(source.shares)):
        target.shares[i].made = source.shares[i].made
    for i in range(len(source.counts)):
        target.counts[i].coils = source.counts[i].coils
    for i in range(len(source.streams)):
        copy_stream(source.streams[i], target.streams[i])
    for i in range(len(source.clocks)):
        target.clocks[i].at = source.clocks[i].at
        target.clocks[i].rank = source.clocks[i].rank
    for i in range(len(source.sums)):
        target.sums[i].total = source.sums[i].total
