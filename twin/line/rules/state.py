"""Every class and constant of the line's state; no behaviour.

Times are absolute seconds since the scenario's start, masses kilograms, lengths metres. A time that never
comes is `NEVER`. Nothing here is ever None: a part that a machine does not have is a spare that does nothing.
"""

from typing import Final

from mypy_extensions import i64, mypyc_attr

from twin.line.rules.vectors import Floats, no_floats

NEVER: Final = 1e300

# States of a machine, exclusive, filling the clock (order of `STATE_NAMES` in twin.line.model).
RUNNING: Final = 0
SETUP: Final = 1
CHANGING: Final = 2
DOWN: Final = 3
WAITING: Final = 4
STARVED: Final = 5
BLOCKED: Final = 6
CLOSED: Final = 7

# Kinds of station.
SUPPLY: Final = 0
FURNACE: Final = 1
CASTER: Final = 2
MILL: Final = 3
SLITTER: Final = 4
CUTTER: Final = 5
PROFILER: Final = 6
STEP: Final = 7
GRINDER: Final = 8

# What a machine is busy with.
IDLE: Final = 0  # nothing at hand
TIMED: Final = 1  # a setup or move that takes a time
WORK: Final = 2  # material runs
HOLD: Final = 3  # finished, but no room behind
ASKING: Final = 4  # waits for something shared

# What a timed task is.
NO_TASK: Final = 0
LOAD: Final = 1
UNLOAD: Final = 2
PATTERN: Final = 3
COIL_CHANGE: Final = 4
TOOL_CHANGE: Final = 5
RESTART: Final = 6
PATIENCE: Final = 7
DELIVERY: Final = 8
GRIND: Final = 9
FIT: Final = 10
BACK_UP: Final = 11

# What interrupts it.
NO_STOP: Final = 0
REPAIR: Final = 1
SERVICE: Final = 2
ROLLS: Final = 3
NO_SET: Final = 4  # a roll set is awaited
NO_CREW: Final = 5  # people for the repair are awaited

# What a cause counts.
BY_TIME: Final = 0  # seconds of running
BY_CLOCK: Final = 1  # an absolute time
BY_LENGTH: Final = 2  # metres passed
BY_MASS: Final = 3  # kilograms passed
BY_PIECES: Final = 4  # pieces or coils passed

# What is due at a machine.
DUE_NONE: Final = 0
DUE_STOP_END: Final = 1
DUE_TASK_END: Final = 2
DUE_WORK_END: Final = 3
DUE_CAUSE: Final = 4

# What stores hold.
METAL: Final = 0
STRIP: Final = 1
COILS: Final = 2
PIECES: Final = 3

# Where a roll set is.
ON_MILL: Final = 0
COOLING: Final = 1
QUEUED: Final = 2
GRINDING: Final = 3
FITTING: Final = 4
HEATING: Final = 5
READY: Final = 6

# Why rolls came off.
AT_LIMIT: Final = 0
AFTER_DAMAGE: Final = 1
WHEN_IDLE: Final = 2
AT_TIME: Final = 3

# Reasons that every line has (names in twin.line.model, same order).
R_NONE: Final = 0
R_CROP: Final = 1
R_FIRST_COIL: Final = 2
R_TRIM: Final = 3
R_PATTERN: Final = 4
R_END: Final = 5
R_SCRAP: Final = 6
R_FIRST_OFF: Final = 7
R_START: Final = 8
R_DAMAGE: Final = 9
R_MELT: Final = 10
R_SKIM: Final = 11
R_OLD: Final = 12
R_COIL_CHANGE: Final = 13
R_TOOL_CHANGE: Final = 14
R_KNIVES: Final = 15
R_SERVICE: Final = 16
R_RESTART: Final = 17
R_ROLL_SET: Final = 18
R_LIMIT: Final = 19
R_IDLE: Final = 20
R_PLANNED: Final = 21
R_REPAIR_CREW: Final = 22
R_RECORD: Final = 23

# Kinds of clock.
C_MACHINE: Final = 0
C_SEGMENT: Final = 1
C_CALENDAR: Final = 2
C_STORE: Final = 3
C_SLOT: Final = 4
C_SHOP: Final = 5
C_SPEED: Final = 6
C_DAY: Final = 7
C_ROLL_TIME: Final = 8

# Order at one instant: class of what is due, then the most downstream place first.
FIRST_ENDS: Final = 0
THEN_COILS: Final = 1000
THEN_CALENDARS: Final = 2000
THEN_FAILURES: Final = 3000


class Clock:
    """When something is due: its absolute time, its rank at that instant, and what it belongs to.

    The clocks that change all the time have a `place` in `Line.due_at`, which tells their times side by side.
    """

    __slots__ = ("at", "index", "kind", "place", "rank")
    at: float
    rank: i64
    kind: i64
    index: i64
    place: i64

    def __init__(self, kind: i64, index: i64, rank: i64) -> None:
        self.at = NEVER
        self.rank = rank
        self.kind = kind
        self.index = index
        self.place = -1


class Stream:
    """Numbers drawn beforehand for one cause, used one after the other.

    A constant gives `value` for ever. `index` is the stream's place in the line, by which the clock refills it, and
    `drawn` how many numbers it has been handed. `values` is never changed, only replaced.
    """

    __slots__ = ("at", "constant", "drawn", "index", "value", "values")
    index: i64
    constant: bool
    value: float
    values: Floats
    at: i64
    drawn: i64

    def __init__(self, index: i64, value: float) -> None:
        self.index = index
        self.constant = True
        self.value = value
        self.values = no_floats()
        self.at = 0
        self.drawn = 0


@mypyc_attr(acyclic=True)
class Sum:
    """A number that is added to all the time."""

    __slots__ = ("total",)
    total: float

    def __init__(self) -> None:
        self.total = 0.0


@mypyc_attr(acyclic=True)
class Mother:
    """A mother coil's account: when it came to be and how many of its coils and rings are still in the line."""

    __slots__ = ("born", "left", "number", "pattern")
    number: i64
    born: float
    left: i64
    pattern: i64

    def __init__(self, number: i64, born: float) -> None:
        self.number = number
        self.born = born
        self.left = 1
        self.pattern = -1


@mypyc_attr(acyclic=True)
class Coil:
    """A coil or a slit ring. `lane` says which lane of a store it lies in (pattern or product)."""

    __slots__ = ("heat", "lane", "mass", "mother", "number", "parent", "pattern", "product", "ready")
    number: i64
    parent: i64
    heat: i64
    pattern: i64
    product: i64
    lane: i64
    mass: float
    ready: float
    mother: Mother

    def __init__(self, number: i64, mass: float, mother: Mother) -> None:
        self.number = number
        self.parent = -1
        self.heat = 0
        self.pattern = -1
        self.product = -1
        self.lane = 0
        self.mass = mass
        self.ready = 0.0
        self.mother = mother


class Lane:
    """Coils of one pattern or product in a store, oldest first; `ripe` of them may be taken."""

    __slots__ = ("coils", "head", "ripe")
    coils: list[Coil]
    head: i64
    ripe: i64

    def __init__(self) -> None:
        self.coils = []
        self.head = 0
        self.ripe = 0


@mypyc_attr(acyclic=True)
class Mark:
    """The end of a ring in a store of pieces: leaves when so many pieces have left in all."""

    __slots__ = ("at", "mother")
    at: float
    mother: Mother

    def __init__(self, at: float, mother: Mother) -> None:
        self.at = at
        self.mother = mother


class Store:
    """A place where material lies between stations, and what was counted of it."""

    __slots__ = (
        "capacity", "clock", "count", "drawn", "empty_s", "finished", "flow_in", "flow_out", "full_s", "givers",
        "heel", "holds", "index", "keeps", "lanes", "level", "level_s", "made", "mark_head", "marks", "peak",
        "piece_kg", "rest", "segment", "shown_net", "since", "taken", "takers",
    )  # fmt: skip
    index: i64
    holds: i64
    capacity: float
    heel: float
    rest: float
    keeps: float
    finished: bool
    count: float
    level: float
    lanes: list[Lane]
    drawn: list[bool]
    givers: list["Machine"]
    takers: list["Machine"]
    clock: Clock
    segment: i64
    flow_in: float
    flow_out: float
    shown_net: float
    piece_kg: float
    made: float
    taken: float
    marks: list[Mark]
    mark_head: i64
    since: float
    level_s: float
    peak: float
    full_s: float
    empty_s: float

    def __init__(self, index: i64, holds: i64, clock: Clock) -> None:
        self.index = index
        self.holds = holds
        self.capacity = NEVER
        self.heel = 0.0
        self.rest = 0.0
        self.keeps = NEVER
        self.finished = False
        self.count = 0.0
        self.level = 0.0
        self.lanes = []
        self.drawn = []
        self.givers = []
        self.takers = []
        self.clock = clock
        self.segment = -1
        self.flow_in = 0.0
        self.flow_out = 0.0
        self.shown_net = NEVER
        self.piece_kg = 1.0
        self.made = 0.0
        self.taken = 0.0
        self.marks = []
        self.mark_head = 0
        self.since = 0.0
        self.level_s = 0.0
        self.peak = 0.0
        self.full_s = 0.0
        self.empty_s = 0.0


class Calendar:
    """Open or closed, with the absolute times at which that turns; who works by it."""

    __slots__ = ("at", "clock", "index", "open", "shared", "turns", "users")
    index: i64
    open: bool
    turns: list[float]
    at: i64
    clock: Clock
    users: list["Machine"]
    shared: list["Shared"]

    def __init__(self, index: i64, clock: Clock) -> None:
        self.index = index
        self.open = True
        self.turns = []
        self.at = 0
        self.clock = clock
        self.users = []
        self.shared = []


class Slot:
    """One crane or one person of a crew: free, lent to a machine, or carrying rings away move by move."""

    __slots__ = ("busy", "clock", "each", "index", "moves", "since", "start", "until")
    index: i64
    busy: i64
    moves: i64
    each: float
    start: float
    until: float
    since: float
    clock: Clock

    def __init__(self, index: i64, clock: Clock) -> None:
        self.index = index
        self.busy = 0
        self.moves = 0
        self.each = 0.0
        self.start = 0.0
        self.until = 0.0
        self.since = 0.0
        self.clock = clock


@mypyc_attr(acyclic=True)
class Rings:
    """Rings that wait to be carried away: how many, and how long each takes."""

    __slots__ = ("each", "moves")
    moves: i64
    each: float

    def __init__(self, moves: i64, each: float) -> None:
        self.moves = moves
        self.each = each


class Shared:
    """A crane or crew that several machines share: first come, first served; ring moves go in between.

    The first `waits` of the queue wait; the rings parked are those from `parked_at` to `parked_end`. What lies behind
    is room that is used again.
    """

    __slots__ = ("busy_s", "calendar", "index", "parked", "parked_at", "parked_end", "queue", "slots", "waits")
    index: i64
    calendar: Calendar
    slots: list[Slot]
    queue: list["Machine"]
    waits: i64
    parked: list["Rings"]
    parked_at: i64
    parked_end: i64
    busy_s: float

    def __init__(self, index: i64, calendar: Calendar) -> None:
        self.index = index
        self.calendar = calendar
        self.slots = []
        self.queue = []
        self.waits = 0
        self.parked = []
        self.parked_at = 0
        self.parked_end = 0
        self.busy_s = 0.0


class Cause:
    """Something that interrupts a machine: a failure, a service, the end of the rolls' life.

    `left` is what is still to run before it strikes: seconds (BY_TIME), an absolute time (BY_CLOCK), or an amount
    of which each unit of work uses `per`. A scripted cause strikes at its recorded starts.
    """

    __slots__ = (
        "calendar", "coil_scrapped", "counts", "every", "lasts", "left", "pending", "per", "reason", "repair",
        "rolls", "scrap", "script_at", "scripted", "service", "shared", "starts", "struck",
    )  # fmt: skip
    counts: i64
    every: Stream
    repair: Stream
    scrap: Stream
    left: float
    per: float
    reason: i64
    service: bool
    rolls: bool
    coil_scrapped: bool
    pending: i64
    struck: i64
    calendar: Calendar
    shared: Shared
    scripted: bool
    starts: list[float]
    lasts: list[float]
    script_at: i64

    def __init__(self, counts: i64, every: Stream, repair: Stream, scrap: Stream, calendar: Calendar) -> None:
        self.counts = counts
        self.every = every
        self.repair = repair
        self.scrap = scrap
        self.left = NEVER
        self.per = 0.0
        self.reason = R_NONE
        self.service = False
        self.rolls = False
        self.coil_scrapped = False
        self.pending = 0
        self.struck = 0
        self.calendar = calendar
        self.shared = NO_SHARED
        self.scripted = False
        self.starts = []
        self.lasts = []
        self.script_at = 0


class RollSet:
    """A set of work rolls: where it is, until when, how far it ran, its diameter."""

    __slots__ = ("damaged", "diameter", "number", "since", "stage", "until")
    number: i64
    stage: i64
    until: float
    since: float
    damaged: bool
    diameter: float

    def __init__(self, number: i64, diameter: float) -> None:
        self.number = number
        self.stage = READY
        self.until = NEVER
        self.since = 0.0
        self.damaged = False
        self.diameter = diameter


class Shop:
    """The roll shop of one station: its sets, the queue at the grinder, the people."""

    __slots__ = (
        "assemble", "back_up_every", "back_up_grind", "back_ups_due", "changes", "clock", "cool", "extra",
        "grind", "heating", "index", "mills", "new_diameter", "people", "queue", "removes", "removes_damage",
        "scrap_below", "scrapped", "sets", "unlimited",
    )  # fmt: skip
    index: i64
    unlimited: bool
    sets: list[RollSet]
    queue: list[RollSet]
    people: list["Machine"]
    mills: list["Machine"]
    clock: Clock
    cool: Stream
    grind: Stream
    extra: Stream
    assemble: Stream
    heating: Stream
    back_up_every: i64
    back_up_grind: Stream
    back_ups_due: i64
    changes: i64
    removes: float
    removes_damage: float
    new_diameter: float
    scrap_below: float
    scrapped: i64

    def __init__(self, index: i64, clock: Clock, nothing: Stream) -> None:
        self.index = index
        self.unlimited = True
        self.sets = []
        self.queue = []
        self.people = []
        self.mills = []
        self.clock = clock
        self.cool = nothing
        self.grind = nothing
        self.extra = nothing
        self.assemble = nothing
        self.heating = nothing
        self.back_up_every = 0
        self.back_up_grind = nothing
        self.back_ups_due = 0
        self.changes = 0
        self.removes = 0.0
        self.removes_damage = 0.0
        self.new_diameter = 0.0
        self.scrap_below = 0.0
        self.scrapped = 0


class Rolls:
    """The rolls on one mill: the set, how far it has run, when it is to come off, and what was counted."""

    __slots__ = (
        "calendar", "change", "change_s", "changes", "clock", "damage_scrap", "damaged_change", "damages",
        "due", "first", "first_scrap", "first_slower", "idle_after", "idle_in_mass", "keep_ready", "kilograms",
        "km", "km_sum", "life", "limit", "limit_in_mass", "on_since", "per", "roll_set", "shared", "shop",
        "time_at", "times", "took", "used", "wait_s", "wait_since", "bare", "off_diameter", "waited", "why",
    )  # fmt: skip
    used: bool
    roll_set: RollSet
    shop: Shop
    km: float
    kilograms: float
    limit: float
    limit_in_mass: bool
    life: Cause
    per: float
    change: Stream
    damaged_change: Stream
    damage_scrap: Stream
    calendar: Calendar
    shared: Shared
    first: bool
    first_slower: float
    first_scrap: Stream
    idle_after: float
    idle_in_mass: bool
    keep_ready: i64
    times: list[float]
    time_at: i64
    due: bool
    bare: bool
    off_diameter: float
    clock: Clock
    why: i64
    on_since: float
    took: float
    waited: float
    wait_since: float
    changes: i64
    damages: i64
    km_sum: float
    change_s: float
    wait_s: float

    def __init__(self, roll_set: RollSet, shop: Shop, life: Cause, clock: Clock) -> None:
        self.used = False
        self.roll_set = roll_set
        self.shop = shop
        self.km = 0.0
        self.kilograms = 0.0
        self.limit = NEVER
        self.limit_in_mass = False
        self.life = life
        self.per = 0.0
        self.change = life.every
        self.damaged_change = life.every
        self.damage_scrap = life.repair
        self.calendar = life.calendar
        self.shared = NO_SHARED
        self.first = False
        self.first_slower = 1.0
        self.first_scrap = life.repair
        self.idle_after = NEVER
        self.idle_in_mass = False
        self.keep_ready = 0
        self.times = []
        self.time_at = 0
        self.due = False
        self.bare = False
        self.off_diameter = 0.0
        self.clock = clock
        self.why = AT_LIMIT
        self.on_since = 0.0
        self.took = 0.0
        self.waited = 0.0
        self.wait_since = 0.0
        self.changes = 0
        self.damages = 0
        self.km_sum = 0.0
        self.change_s = 0.0
        self.wait_s = 0.0


class Machine:
    """One machine of a station: what it does now, what it is told to do, and what was counted of it.

    `turn` counts the order in which machines start at one instant, and `then` is whose turn is next.
    """

    __slots__ = (
        "ask_task", "asked", "began", "calendar", "causes", "changed", "charged_kg", "clock", "clocked", "coil",
        "coil_change", "coil_kg", "coil_scrap", "coil_shared", "coils", "convert", "crane_in", "crane_out",
        "crop", "discrete", "due", "due_cause", "end_kg", "every", "extra", "extra_times", "first_off",
        "fixed_s", "flow_good", "flow_kg", "flow_scrap", "flow_since", "gain", "give", "has_coil", "held",
        "hold_since", "in_line", "index", "keep_share", "kind", "knife_each", "knife_left", "knife_per_coil",
        "knife_per_kg", "knife_shared", "knives", "lacks", "lane", "least", "left", "lent", "limit", "load",
        "load_shared", "loss", "losses", "m_per_kg", "never_starves", "new_mass", "new_pattern", "next_lane",
        "nominal", "number", "open", "out", "out_at", "out_end", "out_kg", "patience", "phase", "piece_kg",
        "pieces", "place", "plans", "poked", "product", "rate", "reason", "refused", "restart", "restart_scrap",
        "rolls", "run_kg",
        "s_per_kg", "scrap", "scrap_due", "scrap_left", "scrap_reason", "segment", "setup", "setup_owed", "setup_scrap",
        "setup_shared", "shop", "shown_rate", "shown_starved", "since", "slow", "slowed_s", "slowest",
        "speed_factor", "speeds", "starved_by_flow", "state", "state_since", "station", "stay", "stay_left",
        "stop", "stop_calendar", "stop_cause", "stop_end", "stop_left", "stop_lent", "stop_reason",
        "stop_running", "stop_shared", "stopped", "stops", "take", "takes", "task", "task_end", "task_left",
        "task_reason", "task_running", "then", "time", "times", "tool_change", "tool_shared", "turn", "turn_away",
        "turned_away", "unit_kg", "unload", "want",
    )  # fmt: skip
    index: i64
    station: i64
    number: i64
    kind: i64
    place: i64
    calendar: Calendar
    open: bool
    state: i64
    reason: i64
    slow: bool
    state_since: float
    times: list[Sum]
    slowed_s: float
    scrap: list[Sum]
    poked: bool
    turn: i64
    then: "Machine"
    clock: Clock
    due: i64
    due_cause: i64
    # what it does
    phase: i64
    task: i64
    task_left: float
    task_end: float
    task_running: bool
    task_reason: i64
    left: float
    since: float
    rate: float
    want: float
    nominal: float
    speed_factor: float
    least: float
    slowest: float
    gain: float
    convert: float
    unit_kg: float
    starved_by_flow: bool
    changed: bool
    shown_rate: float
    shown_starved: bool
    flow_since: float
    flow_good: float
    flow_kg: float
    flow_scrap: float
    scrap_left: float
    scrap_reason: i64
    scrap_due: bool
    discrete: bool
    in_line: bool
    segment: i64
    # what interrupts it
    causes: list[Cause]
    clocked: bool
    stop: i64
    stop_cause: i64
    stop_reason: i64
    stop_left: float
    stop_end: float
    stop_running: bool
    stop_calendar: Calendar
    stop_lent: i64
    stop_shared: Shared
    # where material comes from and goes to
    take: Store
    give: Store
    takes: list[int]
    never_starves: bool
    has_coil: bool
    coil: Coil
    out: list[Coil]
    out_at: i64
    out_end: i64
    hold_since: float
    # times and tables by lane
    fixed_s: list[float]
    s_per_kg: list[float]
    m_per_kg: list[float]
    extra: list[Stream]
    extra_times: list[list[float]]
    time: Stream
    crop: float
    loss: Stream
    losses: bool
    load: Stream
    unload: Stream
    load_shared: Shared
    asked: Shared
    crane_in: bool
    crane_out: float
    lent: i64
    setup: Stream
    setup_scrap: Stream
    setup_shared: Shared
    lane: i64
    next_lane: i64
    stay: Stream
    stay_left: i64
    knives: Stream
    knife_each: float
    knife_left: float
    knife_per_kg: list[float]
    knife_per_coil: list[float]
    knife_shared: Shared
    coil_change: Stream
    coil_scrap: Stream
    coil_shared: Shared
    tool_change: Stream
    tool_shared: Shared
    first_off: Stream
    piece_kg: list[float]
    end_kg: list[float]
    keep_share: list[float]
    speeds: list[float]
    product: i64
    # supply and caster
    every: Stream
    limit: i64
    turn_away: bool
    refused: bool
    new_mass: float
    new_pattern: i64
    coil_kg: float
    patience: float
    restart: Stream
    restart_scrap: Stream
    stopped: bool
    held: bool
    lacks: bool
    plans: bool
    began: float
    ask_task: i64
    setup_owed: float
    # rolls and roll shop
    rolls: Rolls
    shop: Shop
    # counted
    run_kg: float
    out_kg: float
    coils: i64
    pieces: float
    stops: i64
    turned_away: i64
    charged_kg: float

    def __init__(self, index: i64, kind: i64, calendar: Calendar, clock: Clock, spare: "Spare") -> None:
        self.index = index
        self.station = 0
        self.number = 1
        self.kind = kind
        self.place = 0
        self.calendar = calendar
        self.open = True
        self.state = STARVED
        self.reason = R_NONE
        self.slow = False
        self.state_since = 0.0
        self.times = [Sum(), Sum(), Sum(), Sum(), Sum(), Sum(), Sum(), Sum()]
        self.slowed_s = 0.0
        self.scrap = []
        self.poked = False
        self.turn = 0
        self.clock = clock
        self.due = DUE_NONE
        self.due_cause = 0
        self.phase = IDLE
        self.task = NO_TASK
        self.task_left = 0.0
        self.task_end = NEVER
        self.task_running = False
        self.task_reason = R_NONE
        self.left = NEVER
        self.since = 0.0
        self.rate = 0.0
        self.want = 1.0
        self.nominal = 1.0
        self.speed_factor = 1.0
        self.least = 0.0
        self.slowest = 0.0
        self.gain = 1.0
        self.convert = 1.0
        self.unit_kg = 0.0
        self.starved_by_flow = False
        self.changed = True
        self.shown_rate = -1.0
        self.shown_starved = False
        self.flow_since = 0.0
        self.flow_good = 0.0
        self.flow_kg = 0.0
        self.flow_scrap = 0.0
        self.scrap_left = 0.0
        self.scrap_reason = R_START
        self.scrap_due = False
        self.discrete = True
        self.in_line = False
        self.segment = -1
        self.causes = []
        self.clocked = False
        self.stop = NO_STOP
        self.stop_cause = -1
        self.stop_reason = R_NONE
        self.stop_left = 0.0
        self.stop_end = NEVER
        self.stop_running = False
        self.stop_calendar = calendar
        self.stop_lent = -1
        self.stop_shared = NO_SHARED
        self.take = spare.store
        self.give = spare.store
        self.takes = []
        self.never_starves = False
        self.has_coil = False
        self.coil = spare.coil
        self.out = []
        self.out_at = 0
        self.out_end = 0
        self.hold_since = 0.0
        self.fixed_s = []
        self.s_per_kg = []
        self.m_per_kg = []
        self.extra = []
        self.extra_times = []
        self.time = spare.nothing
        self.crop = 0.0
        self.loss = spare.nothing
        self.losses = False
        self.load = spare.nothing
        self.unload = spare.nothing
        self.load_shared = NO_SHARED
        self.asked = NO_SHARED
        self.crane_in = False
        self.crane_out = 0.0
        self.lent = -1
        self.setup = spare.nothing
        self.setup_scrap = spare.nothing
        self.setup_shared = NO_SHARED
        self.lane = -1
        self.next_lane = -1
        self.stay = spare.nothing
        self.stay_left = 0
        self.knives = spare.nothing
        self.knife_each = NEVER
        self.knife_left = NEVER
        self.knife_per_kg = []
        self.knife_per_coil = []
        self.knife_shared = NO_SHARED
        self.coil_change = spare.nothing
        self.coil_scrap = spare.nothing
        self.coil_shared = NO_SHARED
        self.tool_change = spare.nothing
        self.tool_shared = NO_SHARED
        self.first_off = spare.nothing
        self.piece_kg = []
        self.end_kg = []
        self.keep_share = []
        self.speeds = []
        self.product = -1
        self.every = spare.nothing
        self.limit = 0
        self.turn_away = False
        self.refused = False
        self.new_mass = 0.0
        self.new_pattern = -1
        self.coil_kg = NEVER
        self.patience = 0.0
        self.restart = spare.nothing
        self.restart_scrap = spare.nothing
        self.stopped = False
        self.held = False
        self.lacks = False
        self.plans = False
        self.began = 0.0
        self.ask_task = NO_TASK
        self.setup_owed = 0.0
        self.rolls = spare.rolls
        self.shop = spare.shop
        self.run_kg = 0.0
        self.out_kg = 0.0
        self.coils = 0
        self.pieces = 0.0
        self.stops = 0
        self.turned_away = 0
        self.charged_kg = 0.0
        self.then = self


class Segment:
    """Machines tied by stores of metal, strip or pieces; between events everything in it runs at constant rates."""

    __slots__ = ("casts", "clock", "dirty", "hit", "hit_full", "index", "machines", "since", "stores")
    index: i64
    machines: list[Machine]
    stores: list[Store]
    clock: Clock
    dirty: bool
    casts: bool
    since: float
    hit: i64
    hit_full: bool

    def __init__(self, index: i64, clock: Clock) -> None:
        self.index = index
        self.machines = []
        self.stores = []
        self.clock = clock
        self.dirty = False
        self.casts = False
        self.since = 0.0
        self.hit = 0
        self.hit_full = False


class Count:
    """How many mother coils are on their way to a station."""

    __slots__ = ("coils",)
    coils: float

    def __init__(self) -> None:
        self.coils = 0.0


class Hold:
    """A pattern is held while more mother coils than so many are on their way to a station."""

    __slots__ = ("above", "before")
    before: Count
    above: float

    def __init__(self, before: Count, above: float) -> None:
        self.before = before
        self.above = above


class Share:
    """What share of all coils a pattern is to have, how many it had, and what holds it."""

    __slots__ = ("holds", "made", "share")
    share: float
    made: float
    holds: list[Hold]

    def __init__(self, share: float) -> None:
        self.share = share
        self.made = 0.0
        self.holds = []


class Planner:
    """Which pattern the next coil is for: shares kept, or a sequence; patterns whose line is full are held."""

    __slots__ = ("at", "begins", "repeats", "sequence", "shares", "total", "used")
    used: bool
    shares: list[Share]
    total: float
    sequence: list[int]
    begins: list[float]
    at: i64
    repeats: bool

    def __init__(self) -> None:
        self.used = False
        self.shares = []
        self.total = 0.0
        self.sequence = []
        self.begins = []
        self.at = 0
        self.repeats = False


class Ring:
    """One ring of a pattern: its product, its share of the mother's mass, as what it is bought as a ring.

    `debt` is the place in `Pattern.owed` of what is owed of its product.
    """

    __slots__ = ("debt", "product", "share", "sold_as")
    product: i64
    share: float
    sold_as: i64
    debt: i64

    def __init__(self, product: i64, share: float, sold_as: i64, debt: i64) -> None:
        self.product = product
        self.share = share
        self.sold_as = sold_as
        self.debt = debt


class Pattern:
    """How a mother coil is slit: its rings, the share that is sold as they are, what is owed of each product."""

    __slots__ = ("owed", "rings", "sold_share")
    rings: list[Ring]
    sold_share: float
    owed: list[float]

    def __init__(self) -> None:
        self.rings = []
        self.sold_share = 0.0
        self.owed = []


class Speeds:
    """Recorded changes of one machine's speed: from each time on, its nominal speed times the factor."""

    __slots__ = ("at", "clock", "factors", "machine", "times")
    machine: Machine
    times: list[float]
    factors: list[float]
    at: i64
    clock: Clock

    def __init__(self, machine: Machine, clock: Clock) -> None:
        self.machine = machine
        self.times = []
        self.factors = []
        self.at = 0
        self.clock = clock


class Spare:
    """Parts that do nothing, for machines that lack them."""

    __slots__ = ("calendar", "coil", "machine", "nothing", "rolls", "shop", "store")
    nothing: Stream
    calendar: Calendar
    store: Store
    coil: Coil
    shop: Shop
    rolls: Rolls
    machine: Machine

    def __init__(self) -> None:
        self.nothing = Stream(-1, 0.0)
        self.calendar = Calendar(-1, Clock(C_CALENDAR, -1, 0))
        self.store = Store(-1, COILS, Clock(C_STORE, -1, 0))
        self.store.finished = True
        self.coil = Coil(-1, 0.0, Mother(-1, 0.0))
        self.shop = Shop(-1, Clock(C_SHOP, -1, 0), self.nothing)
        life = Cause(BY_LENGTH, self.nothing, self.nothing, self.nothing, self.calendar)
        self.rolls = Rolls(RollSet(0, 0.0), self.shop, life, Clock(C_ROLL_TIME, -1, 0))
        self.machine = Machine(-1, STEP, self.calendar, Clock(C_MACHINE, -1, 0), self)


NO_SHARED: Final = Shared(-1, Calendar(-1, Clock(C_CALENDAR, -1, 0)))


class Line:
    """The whole line at one moment, and what was counted since the end of the warm-up.

    No machine whose turn is before `first_turn` has been poked.
    """

    __slots__ = (
        "active_log", "active_rows", "at_once", "calendars", "clocks", "coil_rows", "coils_made",
        "counting_since", "crowded", "day_at", "day_clock", "day_rows", "days", "due", "due_at", "end", "event_rows",
        "events", "first_turn", "good_kg", "good_pieces", "heat_kg", "heat_sum", "in_kg", "lane_product", "lanes",
        "lead_times", "level_rows", "low", "machines", "mothers", "mothers_done", "mothers_in", "now", "order",
        "out_kg", "output_rows", "patterns", "planner", "pokes", "products", "roll_rows", "scrap_rows",
        "segments", "set_rows", "shared", "shops", "slots", "slow", "slow_clocks", "slow_shared", "slow_stale",
        "spare", "speeds", "state_rows", "stores", "streams", "supply_waits", "trace", "unsettled",
        "unsettled_first", "warm", "warm_kg", "wip_kg_s",
    )  # fmt: skip
    now: float
    end: float
    warm: bool
    counting_since: float
    trace: bool
    active_log: bool
    machines: list[Machine]
    order: list[Machine]
    segments: list[Segment]
    stores: list[Store]
    calendars: list[Calendar]
    shared: list[Shared]
    slots: list[Slot]
    shops: list[Shop]
    speeds: list[Speeds]
    patterns: list[Pattern]
    planner: Planner
    streams: list[Stream]
    low: list[int]
    clocks: list[Clock]
    due_at: Floats
    slow_clocks: list[Clock]
    slow: Clock
    slow_shared: i64
    slow_stale: bool
    due: Clock
    pokes: i64
    first_turn: i64
    at_once: i64
    unsettled: i64
    unsettled_first: i64
    crowded: bool
    spare: Spare
    products: i64
    lanes: i64
    lane_product: list[int]
    coils_made: i64
    mothers: i64
    mothers_in: i64
    mothers_done: i64
    supply_waits: bool
    heat_kg: float
    heat_sum: float
    events: i64
    in_kg: float
    out_kg: float
    warm_kg: float
    wip_kg_s: float
    good_kg: list[Sum]
    good_pieces: list[Sum]
    lead_times: Floats
    days: list[float]
    day_at: i64
    day_clock: Clock
    day_rows: Floats
    state_rows: Floats
    coil_rows: Floats
    level_rows: Floats
    output_rows: Floats
    scrap_rows: Floats
    roll_rows: list[tuple[int, int, float, float, float, int, float, float, float]]
    set_rows: list[tuple[int, int, int, float, float]]
    event_rows: list[tuple[int, float, int, int, float]]
    active_rows: Floats

    def __init__(self, spare: Spare) -> None:
        self.now = 0.0
        self.end = 0.0
        self.warm = False
        self.counting_since = 0.0
        self.trace = False
        self.active_log = False
        self.machines = []
        self.order = []
        self.segments = []
        self.stores = []
        self.calendars = []
        self.shared = []
        self.slots = []
        self.shops = []
        self.speeds = []
        self.patterns = []
        self.planner = Planner()
        self.streams = []
        self.low = []
        self.clocks = []
        self.due_at = no_floats()
        self.slow_clocks = []
        self.slow = spare.calendar.clock
        self.slow_shared = 0
        self.slow_stale = True
        self.due = spare.calendar.clock
        self.pokes = 0
        self.first_turn = 0
        self.at_once = 0
        self.unsettled = 0
        self.unsettled_first = 0
        self.crowded = True
        self.spare = spare
        self.products = 0
        self.lanes = 1
        self.lane_product = [-1]
        self.coils_made = 0
        self.mothers = 0
        self.mothers_in = 0
        self.mothers_done = 0
        self.supply_waits = False
        self.heat_kg = NEVER
        self.heat_sum = 0.0
        self.events = 0
        self.in_kg = 0.0
        self.out_kg = 0.0
        self.warm_kg = 0.0
        self.wip_kg_s = 0.0
        self.good_kg = []
        self.good_pieces = []
        self.lead_times = no_floats()
        self.days = []
        self.day_at = 0
        self.day_clock = Clock(C_DAY, 0, THEN_CALENDARS)
        self.day_rows = no_floats()
        self.state_rows = no_floats()
        self.coil_rows = no_floats()
        self.level_rows = no_floats()
        self.output_rows = no_floats()
        self.scrap_rows = no_floats()
        self.roll_rows = []
        self.set_rows = []
        self.event_rows = []
        self.active_rows = no_floats()
