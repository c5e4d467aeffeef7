"""The machines of each kind of station, with their times, tables and causes of stops."""

from __future__ import annotations

from twin.line.builder import LOWEST_PLACE, Builder
from twin.line.reasons import FIXED_REASONS, KINDS
from twin.line.rules import state as st
from twin.line.tables import has_crane_moves
from twin.scenario.laws import Constant, Law
from twin.scenario.models import (
    Activity,
    Caster,
    Cutter,
    Failure,
    Furnace,
    Mill,
    Profiler,
    Slitter,
    Station,
    Step,
    Supply,
)


def add_station(builder: Builder, name: str) -> None:
    """Make a station's machines."""
    station = builder.scenario.stations[name]
    for number in range(1, station.machines + 1):
        machine = builder.new_machine(name, number, KINDS.index(station.kind), builder.calendar(station.calendar))
        set_common(builder, machine, station)
        key = f"{name}/{number}"
        if isinstance(station, Supply):
            set_supply(builder, machine, station, key)
        elif isinstance(station, Furnace):
            set_furnace(builder, machine, station, key)
        elif isinstance(station, Caster):
            set_caster(builder, machine, station, key)
        elif isinstance(station, Mill):
            set_mill(builder, machine, station, key)
        elif isinstance(station, Slitter):
            set_slitter(builder, machine, station, key)
        elif isinstance(station, Cutter | Profiler):
            set_pieces(builder, machine, station, key)
        else:
            set_step(builder, machine, station)
        set_handling(builder, machine, station, key)
        set_drawn_times(builder, machine, name, key)
        for failure in station.failures:
            machine.causes.append(cause(builder, machine, failure, key))


def set_common(builder: Builder, machine: st.Machine, station: Station) -> None:
    """Set what every machine has: its stores, lanes and tables."""
    name = station.name
    numbers = builder.model.tables[name]
    machine.place = LOWEST_PLACE - builder.ways.order.index(name)
    machine.discrete = name not in builder.model.flowing
    machine.takes = list(builder.ways.takes[name])
    machine.plans = name in builder.ways.planners
    machine.fixed_s = numbers.fixed_s
    machine.s_per_kg = numbers.s_per_kg
    machine.m_per_kg = numbers.m_per_kg
    machine.speeds = numbers.speeds
    machine.piece_kg = numbers.piece_kg
    machine.end_kg = numbers.end_kg
    machine.keep_share = numbers.keep_share
    machine.never_starves = station.source is None and not machine.discrete
    if not machine.discrete:
        machine.nominal = machine.want = numbers.nominal
        machine.unit_kg = 1.0
        machine.phase = st.WORK


def set_supply(builder: Builder, machine: st.Machine, station: Supply, key: str) -> None:
    """Set a supply."""
    machine.new_mass = station.coil.mass
    if station.coil.pattern is not None:
        machine.new_pattern = builder.ways.patterns.index(station.coil.pattern)
    machine.every = builder.stream(f"{key}/every", station.every or Constant(0.0, "time"))
    machine.turn_away = station.when_full == "turn away" and station.every is not None
    machine.limit = station.limit or 0
    builder.line.supply_waits = builder.line.supply_waits or machine.limit > 0


def set_furnace(builder: Builder, machine: st.Machine, station: Furnace, key: str) -> None:
    """Set a furnace: its losses and its skimming."""
    machine.gain = 1.0 - station.melt_loss
    if station.skimming is not None:
        machine.gain *= 1.0 - station.skimming.loss
        machine.causes.append(
            service(builder, machine, f"{key}/skimming", station.skimming.every, station.skimming.takes, st.R_SKIM)
        )


def service(builder: Builder, machine: st.Machine, key: str, every: float, takes: Law, reason: int) -> st.Cause:
    """Make a planned stop after so much running time."""
    nothing = builder.spare.nothing
    cause: st.Cause = builder.make.Cause(
        st.BY_TIME, builder.make.Stream(-1, every), builder.stream(key, takes), nothing, machine.calendar
    )
    cause.reason = reason
    cause.service = True
    return cause


def set_caster(builder: Builder, machine: st.Machine, station: Caster, key: str) -> None:
    """Set a caster."""
    machine.slowest = builder.model.tables[station.name].slowest
    machine.least = machine.slowest or steady(builder, machine, station)
    machine.patience = station.patience
    machine.restart = builder.stream(f"{key}/restart", station.restart.takes)
    machine.restart_scrap = builder.stream(f"{key}/restart scrap", station.restart.scrap)
    if station.coil is not None:
        machine.coil_kg = machine.left = station.coil.mass
    bath = builder.scenario.stores[station.source].capacity if station.source else None
    if bath is not None:
        builder.line.heat_kg = bath
    if station.service is not None:
        cause = service(builder, machine, f"{key}/service", station.service.every, station.service.takes, st.R_SERVICE)
        cause.scrap = builder.stream(f"{key}/service scrap", station.service.scrap)
        machine.causes.append(cause)


def steady(builder: Builder, machine: st.Machine, station: Caster) -> float:
    """Return the one speed of a caster that cannot slow; where a stop costs nothing it follows its neighbours."""
    costs = station.patience > 0.0 or station.restart.takes.average > 0.0
    return machine.nominal if costs else 0.0


def set_mill(builder: Builder, machine: st.Machine, station: Mill, key: str) -> None:
    """Set a mill; its rolls come with its shop."""
    machine.crop = station.crop
    if not machine.discrete and station.coil is not None:
        machine.coil_kg = machine.left = station.coil.mass
    if not machine.discrete:
        lane = 1 if len(builder.ways.patterns) and machine.speeds[1] > 0.0 else 0
        machine.nominal = machine.want = machine.speeds[lane]
        machine.gain = 1.0 if station.coil is not None else 1.0 - station.crop


def set_slitter(builder: Builder, machine: st.Machine, station: Slitter, key: str) -> None:
    """Set a slitter: setup, how long it stays on a pattern, knives."""
    machine.setup = builder.stream(f"{key}/setup", station.setup.time)
    machine.setup_scrap = builder.stream(f"{key}/setup scrap", station.setup.scrap)
    machine.setup_shared = builder.crew(station.setup.needs)
    machine.stay = builder.stream(f"{key}/stay", station.coils_per_pattern or Constant(1e9, "coils"))
    if station.knives is None:
        return
    machine.knives = builder.stream(f"{key}/knives", station.knives.takes)
    machine.knife_shared = builder.crew(station.knives.needs)
    machine.knife_each = machine.knife_left = station.knives.every.value
    zeros, ones = [0.0] * builder.ways.lanes, [1.0] * builder.ways.lanes
    per_kg = {"length": machine.m_per_kg, "mass": ones, "time": machine.s_per_kg}
    per_coil = {"coils": ones, "time": machine.fixed_s}
    machine.knife_per_kg = per_kg.get(station.knives.every.dimension, zeros)
    machine.knife_per_coil = per_coil.get(station.knives.every.dimension, zeros)


def set_pieces(builder: Builder, machine: st.Machine, station: Cutter | Profiler, key: str) -> None:
    """Set a cutter or a profiler."""
    change: Activity = station.width_change if isinstance(station, Cutter) else station.tool_change
    machine.coil_change = builder.stream(f"{key}/coil change", station.coil_change.time)
    machine.coil_scrap = builder.stream(f"{key}/coil scrap", station.coil_change.scrap)
    machine.coil_shared = builder.crew(station.coil_change.needs)
    machine.tool_change = builder.stream(f"{key}/tool change", change.time)
    machine.tool_shared = builder.crew(change.needs)
    machine.setup_scrap = builder.stream(f"{key}/tool scrap", change.scrap)
    if isinstance(station, Profiler):
        machine.gain = 1.0 - station.scrap
        machine.first_off = builder.stream(f"{key}/first-off", station.first_off)
    if machine.discrete:
        set_whole_coils(builder, machine, key)
        return
    takes = builder.scenario.stores[station.source].holds if station.source else ""
    if takes == "coils":
        machine.phase = st.IDLE
        machine.left = st.NEVER
    elif takes == "strip":
        set_flying(builder, machine, station)


def set_whole_coils(builder: Builder, machine: st.Machine, key: str) -> None:
    """A cutter that hands its coils on works each in one time: the change and its pieces."""
    machine.s_per_kg = [
        1.0 / (speed * kilograms) if speed > 0.0 else 0.0
        for speed, kilograms in zip(machine.speeds, machine.piece_kg, strict=True)
    ]
    machine.crop = 1.0 - machine.gain
    machine.extra.append(machine.coil_change)
    machine.extra_times.append([1.0] * builder.ways.lanes)


def set_flying(builder: Builder, machine: st.Machine, station: Cutter | Profiler) -> None:
    """A shear or profiler that runs on endless strip: kilograms in, pieces out, of one product."""
    product = builder.ways.products.index((station.makes or builder.ways.products)[0])
    lane = 1 + len(builder.ways.patterns) + product
    machine.product = product
    single = [
        1 + place for place in range(len(builder.ways.patterns)) if builder.ways.lane_product[1 + place] == product
    ]
    used = machine.keep_share[single[0]] if single else 1.0
    machine.gain *= used
    machine.convert = 1.0 / machine.piece_kg[lane]
    machine.nominal = machine.want = machine.speeds[lane] * machine.piece_kg[lane] / used


def set_step(builder: Builder, machine: st.Machine, station: Step) -> None:
    """Set any other step; what flows in pieces weighs what its product does."""
    if machine.discrete or not station.makes:
        return
    machine.product = builder.ways.products.index(station.makes[0])


def set_handling(builder: Builder, machine: st.Machine, station: Station, key: str) -> None:
    """Set the lifts that a shared crane makes; those that none makes are part of a ring's change, or of its time."""
    handling = station.handling
    if handling is None:
        return
    takes = builder.scenario.stores[station.source].holds if station.source else ""
    if not machine.discrete and takes == "coils":
        own = {"load": handling.load, "unload": handling.unload, "crane in": handling.crane_in}
        if handling.needs is not None:
            own = {k: own[k] for k in ("load", "unload") if has_crane_moves(station)}
        machine.extra += [builder.stream(f"{key}/{what}", law) for what, law in own.items()]
    if handling.needs is None:
        return
    machine.load_shared = builder.crew(handling.needs)
    machine.crane_in = has_crane_moves(station)
    machine.load = builder.stream(f"{key}/load", handling.crane_in if machine.crane_in else handling.load)
    machine.unload = builder.stream(f"{key}/unload", handling.unload)
    machine.crane_out = handling.crane_out_per_ring.average


def set_drawn_times(builder: Builder, machine: st.Machine, name: str, key: str) -> None:
    """Set the times that are drawn for each coil."""
    for what, law, often in builder.model.tables[name].drawn:
        machine.extra.append(builder.stream(f"{key}/{what}", law))
        machine.extra_times.append(often)


def cause(builder: Builder, machine: st.Machine, failure: Failure, key: str) -> st.Cause:
    """Make a cause of stops."""
    counts = {"length": st.BY_LENGTH, "mass": st.BY_MASS, "pieces": st.BY_PIECES}.get(
        failure.every.dimension, st.BY_CLOCK if failure.counts == "clock" else st.BY_TIME
    )
    cause: st.Cause = builder.make.Cause(
        counts,
        builder.stream(f"{key}/every {failure.reason}", failure.every),
        builder.stream(f"{key}/repair {failure.reason}", failure.repair),
        builder.stream(f"{key}/scrap {failure.reason}", failure.scrap),
        builder.calendar(failure.calendar) if failure.calendar else machine.calendar,
    )
    cause.reason = builder.model.reasons.index(failure.reason, len(FIXED_REASONS) + len(builder.scenario.shared))
    cause.coil_scrapped = failure.coil == "scrapped"
    cause.shared = builder.crew(failure.needs)
    return cause
