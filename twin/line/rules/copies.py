"""What a run changes of each object of a line, copied from one object to another of its class.

A field that no rule and no start state writes is not here. A list that is changed in place is copied, one that is
only replaced is shared.
"""

from twin.line.rules.state import (
    Cause,
    Coil,
    Lane,
    Line,
    Machine,
    Planner,
    Rolls,
    RollSet,
    Segment,
    Shared,
    Shop,
    Slot,
    Store,
    Stream,
)
from twin.line.rules.vectors import column_of


def copy_line(source: Line, target: Line) -> None:
    """Copy what a line itself holds."""
    target.now = source.now
    target.warm = source.warm
    target.counting_since = source.counting_since
    target.trace = source.trace
    target.active_log = source.active_log
    target.low = source.low[:]
    target.due_at = column_of(source.due_at)
    target.slow = source.slow
    target.slow_shared = source.slow_shared
    target.slow_stale = source.slow_stale
    target.due = source.due
    target.first_turn = source.first_turn
    target.pokes = source.pokes
    target.at_once = source.at_once
    target.unsettled = source.unsettled
    target.unsettled_first = source.unsettled_first
    target.crowded = source.crowded
    target.coils_made = source.coils_made
    target.mothers = source.mothers
    target.mothers_in = source.mothers_in
    target.mothers_done = source.mothers_done
    target.heat_sum = source.heat_sum
    target.events = source.events
    target.in_kg = source.in_kg
    target.out_kg = source.out_kg
    target.warm_kg = source.warm_kg
    target.wip_kg_s = source.wip_kg_s
    target.day_at = source.day_at
    copy_rows(source, target)


def copy_rows(source: Line, target: Line) -> None:
    """Copy what a line has written down so far."""
    target.lead_times = column_of(source.lead_times)
    target.day_rows = column_of(source.day_rows)
    target.state_rows = column_of(source.state_rows)
    target.coil_rows = column_of(source.coil_rows)
    target.level_rows = column_of(source.level_rows)
    target.output_rows = column_of(source.output_rows)
    target.scrap_rows = column_of(source.scrap_rows)
    target.roll_rows = source.roll_rows[:]
    target.set_rows = source.set_rows[:]
    target.event_rows = source.event_rows[:]
    target.active_rows = column_of(source.active_rows)


def copy_planner(source: Planner, target: Planner) -> None:
    """Copy how far the planner has come, and in what."""
    target.total = source.total
    target.at = source.at
    target.sequence = source.sequence
    target.begins = source.begins
    target.repeats = source.repeats


def copy_machine(source: Machine, target: Machine) -> None:
    """Copy what a machine shows, does, holds, is set for, and has counted."""
    target.open = source.open
    target.state = source.state
    target.reason = source.reason
    target.slow = source.slow
    target.state_since = source.state_since
    target.slowed_s = source.slowed_s
    target.poked = source.poked
    target.due = source.due
    target.due_cause = source.due_cause
    target.clocked = source.clocked
    target.phase = source.phase
    target.task = source.task
    target.task_left = source.task_left
    target.task_end = source.task_end
    target.task_running = source.task_running
    target.task_reason = source.task_reason
    target.asked = source.asked
    target.ask_task = source.ask_task
    target.lent = source.lent
    target.has_coil = source.has_coil
    target.coil = source.coil
    target.out = source.out[:]
    target.out_at = source.out_at
    target.out_end = source.out_end
    target.hold_since = source.hold_since
    target.began = source.began
    target.lane = source.lane
    target.next_lane = source.next_lane
    target.product = source.product
    target.new_pattern = source.new_pattern
    target.stay_left = source.stay_left
    target.knife_left = source.knife_left
    target.setup_owed = source.setup_owed
    target.stopped = source.stopped
    target.held = source.held
    target.lacks = source.lacks
    copy_flow(source, target)
    copy_stop(source, target)
    copy_counts(source, target)


def copy_flow(source: Machine, target: Machine) -> None:
    """Copy at what rate a machine works and what is left of it."""
    target.left = source.left
    target.since = source.since
    target.rate = source.rate
    target.want = source.want
    target.nominal = source.nominal
    target.speed_factor = source.speed_factor
    target.unit_kg = source.unit_kg
    target.starved_by_flow = source.starved_by_flow
    target.changed = source.changed
    target.shown_rate = source.shown_rate
    target.shown_starved = source.shown_starved
    target.flow_since = source.flow_since
    target.flow_good = source.flow_good
    target.flow_kg = source.flow_kg
    target.flow_scrap = source.flow_scrap
    target.scrap_left = source.scrap_left
    target.scrap_reason = source.scrap_reason
    target.scrap_due = source.scrap_due


def copy_stop(source: Machine, target: Machine) -> None:
    """Copy what interrupts a machine."""
    target.stop = source.stop
    target.stop_cause = source.stop_cause
    target.stop_reason = source.stop_reason
    target.stop_left = source.stop_left
    target.stop_end = source.stop_end
    target.stop_running = source.stop_running
    target.stop_calendar = source.stop_calendar
    target.stop_lent = source.stop_lent
    target.stop_shared = source.stop_shared


def copy_counts(source: Machine, target: Machine) -> None:
    """Copy what was counted of a machine."""
    target.run_kg = source.run_kg
    target.out_kg = source.out_kg
    target.coils = source.coils
    target.pieces = source.pieces
    target.stops = source.stops
    target.refused = source.refused
    target.turned_away = source.turned_away
    target.charged_kg = source.charged_kg


def copy_cause(source: Cause, target: Cause) -> None:
    """Copy how far a cause of stops has come, and what is recorded of it."""
    target.counts = source.counts
    target.scripted = source.scripted
    target.starts = source.starts
    target.lasts = source.lasts
    target.left = source.left
    target.per = source.per
    target.pending = source.pending
    target.struck = source.struck
    target.script_at = source.script_at


def copy_rolls(source: Rolls, target: Rolls) -> None:
    """Copy what rolls are on a mill and how far they have run."""
    target.roll_set = source.roll_set
    target.km = source.km
    target.kilograms = source.kilograms
    target.per = source.per
    target.first = source.first
    target.time_at = source.time_at
    target.due = source.due
    target.bare = source.bare
    target.off_diameter = source.off_diameter
    target.why = source.why
    target.on_since = source.on_since
    target.took = source.took
    target.waited = source.waited
    target.wait_since = source.wait_since
    target.changes = source.changes
    target.damages = source.damages
    target.km_sum = source.km_sum
    target.change_s = source.change_s
    target.wait_s = source.wait_s


def copy_roll_set(source: RollSet, target: RollSet) -> None:
    """Copy where a roll set is."""
    target.stage = source.stage
    target.until = source.until
    target.since = source.since
    target.damaged = source.damaged
    target.diameter = source.diameter


def copy_shop(source: Shop, target: Shop) -> None:
    """Copy what waits at a roll shop."""
    target.queue = source.queue[:]
    target.back_ups_due = source.back_ups_due
    target.changes = source.changes
    target.scrapped = source.scrapped


def copy_store(source: Store, target: Store) -> None:
    """Copy what lies in a store and what was counted of it."""
    target.count = source.count
    target.level = source.level
    target.flow_in = source.flow_in
    target.flow_out = source.flow_out
    target.shown_net = source.shown_net
    target.piece_kg = source.piece_kg
    target.made = source.made
    target.taken = source.taken
    target.marks = source.marks[:]
    target.mark_head = source.mark_head
    target.since = source.since
    target.level_s = source.level_s
    target.peak = source.peak
    target.full_s = source.full_s
    target.empty_s = source.empty_s


def copy_lane(source: Lane, target: Lane) -> None:
    """Copy which coils lie in a lane."""
    if len(source.coils) > 0 or len(target.coils) > 0:
        target.coils = source.coils[:]
    target.head = source.head
    target.ripe = source.ripe


def copy_coil(source: Coil, target: Coil) -> None:
    """Copy what becomes of a coil on its way."""
    target.pattern = source.pattern
    target.product = source.product
    target.lane = source.lane
    target.mass = source.mass
    target.ready = source.ready


def copy_segment(source: Segment, target: Segment) -> None:
    """Copy what a segment will hit, and when."""
    target.dirty = source.dirty
    target.since = source.since
    target.hit = source.hit
    target.hit_full = source.hit_full


def copy_shared(source: Shared, target: Shared) -> None:
    """Copy who and what waits for a crane or crew."""
    target.queue = source.queue[:]
    target.waits = source.waits
    target.parked = source.parked[:]
    target.parked_at = source.parked_at
    target.parked_end = source.parked_end
    target.busy_s = source.busy_s


def copy_slot(source: Slot, target: Slot) -> None:
    """Copy what a crane or a person is at."""
    target.busy = source.busy
    target.moves = source.moves
    target.each = source.each
    target.start = source.start
    target.until = source.until
    target.since = source.since


def copy_stream(source: Stream, target: Stream) -> None:
    """Copy which numbers a stream has and how many are used; a list of numbers is never changed, only replaced."""
    target.constant = source.constant
    target.values = source.values
    target.drawn = source.drawn
    target.at = source.at
