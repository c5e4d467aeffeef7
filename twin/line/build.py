"""Makes a line of objects from a model, a seed and a run: every reference set, every stream filled."""

from __future__ import annotations

import math
from collections.abc import Sequence
from types import ModuleType

from twin.line.engine import rules_of
from twin.line.model import NO_SCRIPTS, SHOP, Model, Scripts, paired, shop_people
from twin.line.reasons import FIXED_REASONS, HOLDS, KINDS
from twin.line.routes import sold_as
from twin.line.rules import state as st
from twin.line.scripted import add_scripts, check_draws
from twin.line.start import begin_now
from twin.line.streams import scale, uniforms
from twin.line.tables import has_crane_moves
from twin.scenario.calendars import elapsed, moments
from twin.scenario.laws import Constant, Law
from twin.scenario.models import (
    Activity,
    AtTimes,
    Caster,
    Cutter,
    Failure,
    Furnace,
    Mill,
    Profiler,
    Rolls,
    Slitter,
    Station,
    Step,
    Supply,
    WhenIdle,
)

FIRST_BLOCK = 160
LOWEST_PLACE = 999


class Draws:
    """The streams of a line: which law each follows, and the numbers handed out so far."""

    def __init__(self, line: st.Line, seed: int, run: int, scripts: Scripts) -> None:
        self.line = line
        self.seed = seed
        self.run = run
        self.scripts = scripts
        self.asked: set[str] = set()
        self.names: list[str] = []
        self.laws: list[Law] = []
        self.drawn: list[int] = []

    def add(
        self, make: type[st.Stream], name: str, law: Law, recorded: Sequence[float] | None = None
    ) -> st.Stream:
        """Return a stream of the law, behind the numbers that were recorded; a constant needs no numbers."""
        self.asked.add(name)
        recorded = self.scripts.draws.get(name, recorded)
        if isinstance(law, Constant) and recorded is None:
            return make(-1, law.value)
        stream = make(len(self.names), 0.0)
        stream.constant = False
        if recorded is not None:
            stream.values.extend(float(value) for value in recorded)
        self.names.append(name)
        self.laws.append(law)
        self.drawn.append(0)
        self.line.streams.append(stream)
        return stream

    def fill(self, places: Sequence[int], count: int) -> None:
        """Append the next numbers to streams that have handed out equally many."""
        if not places:
            return
        start = self.drawn[places[0]]
        unit = uniforms(self.seed, self.run, [self.names[place] for place in places], start, count)
        for row, place in enumerate(places):
            self.line.streams[place].values.extend(scale(self.laws[place], unit[row]).tolist())
            self.drawn[place] += count

    def fill_all(self) -> None:
        """Give every stream its first block."""
        self.fill(range(len(self.names)), FIRST_BLOCK)

    def refill(self) -> None:
        """Double the numbers of the streams that ran low, and drop what has been used."""
        for place in dict.fromkeys(self.line.low):
            stream = self.line.streams[place]
            del stream.values[: stream.at]
            stream.at = 0
            self.fill([place], max(FIRST_BLOCK, min(self.drawn[place], 4096)))
        self.line.low.clear()


class Builder:
    """Puts one line together. `make` is the module of classes: the plain or the compiled ones."""

    def __init__(self, model: Model, seed: int, run: int, scripts: Scripts, rules: ModuleType) -> None:
        self.model = model
        self.scenario = model.scenario
        self.ways = model.routes
        self.scripts = scripts
        self.make = rules
        self.spare: st.Spare = rules.Spare()
        self.line: st.Line = rules.Line(self.spare)
        self.draws = Draws(self.line, seed, run, scripts)
        self.calendars: dict[str, st.Calendar] = {}
        self.shared: dict[str, st.Shared] = {}
        self.stores: dict[str, list[st.Store]] = {}
        self.machines: dict[str, list[st.Machine]] = {}

    def build(self) -> st.Line:
        """Return the line, ready to begin."""
        line, ways = self.line, self.ways
        line.end = self.model.end
        line.products = len(ways.products)
        line.lanes = ways.lanes
        line.lane_product = list(ways.lane_product)
        line.good_kg = [0.0] * (line.products + 1)
        line.good_pieces = [0.0] * (line.products + 1)
        self.add_calendars()
        self.add_shared()
        self.add_stores()
        for name in self.model.scenario.stations:
            self.add_station(name)
        for name in self.model.layout.mills:
            self.add_shop(name)
        self.join()
        self.add_segments()
        self.add_patterns()
        add_scripts(self)
        self.order()
        check_draws(self.scripts, self.draws.asked)
        self.draws.fill_all()
        self.first_draws()
        line.in_kg = math.fsum(store.level for store in line.stores if store.holds == st.METAL)
        if self.scenario.start.mode == "now":
            begin_now(self)
        return line

    def next_of(self, stream: st.Stream) -> float:
        """Take a stream's next number while the line is being built."""
        return next_value(stream)

    def stream(self, name: str, law: Law) -> st.Stream:
        """Return a stream of a law."""
        return self.draws.add(self.make.Stream, name, law)

    # Parts that stand by themselves

    def add_calendars(self) -> None:
        """Make the calendars, `always` among them."""
        for index, (name, (is_open, turns)) in enumerate(self.model.turns.items()):
            clock = self.make.Clock(st.C_CALENDAR, index, st.THEN_CALENDARS + index)
            calendar = self.make.Calendar(index, clock)
            calendar.open = is_open
            calendar.turns = turns
            clock.at = turns[0] if turns else st.NEVER
            self.calendars[name] = calendar
            self.line.calendars.append(calendar)

    def calendar(self, name: str | None) -> st.Calendar:
        """Return a calendar by name; none means always."""
        return self.calendars[name or "always"]

    def add_shared(self) -> None:
        """Make cranes and crews, each with its slots."""
        for index, (name, own) in enumerate(self.scenario.shared.items()):
            shared = self.make.Shared(index, self.calendar(own.calendar))
            shared.calendar.shared.append(shared)
            for _ in range(own.count):
                place = len(self.line.slots)
                slot = self.make.Slot(place, self.make.Clock(st.C_SLOT, place, st.FIRST_ENDS))
                shared.slots.append(slot)
                self.line.slots.append(slot)
            self.shared[name] = shared
            self.line.shared.append(shared)

    def crew(self, name: str | None) -> st.Shared:
        """Return a crane or crew by name, or the one that is nobody."""
        return self.shared[name] if name else self.make.NO_SHARED

    def add_stores(self) -> None:
        """Make the stores; one of strip or pieces between pairs of machines once for each pair."""
        for name, own in self.scenario.stores.items():
            copies = []
            for _ in range(paired(self.scenario, name)):
                place = len(self.line.stores)
                store = self.make.Store(place, HOLDS.index(own.holds), self.make.Clock(st.C_STORE, place, 0))
                store.capacity = st.NEVER if own.capacity is None else own.capacity
                store.heel = own.heel
                store.level = own.heel
                store.rest = own.rest
                store.keeps = st.NEVER if own.keeps is None else own.keeps
                store.finished = name in self.model.finished
                store.lanes = [self.make.Lane() for _ in range(self.ways.lanes)]
                store.drawn = [lane in self.ways.drawn[name] for lane in range(self.ways.lanes)]
                copies.append(store)
                self.line.stores.append(store)
            self.stores[name] = copies

    # Stations

    def add_station(self, name: str) -> None:
        """Make a station's machines."""
        station = self.scenario.stations[name]
        for number in range(1, station.machines + 1):
            machine = self.new_machine(name, number, KINDS.index(station.kind), self.calendar(station.calendar))
            self.set_common(machine, station)
            key = f"{name}/{number}"
            if isinstance(station, Supply):
                self.set_supply(machine, station, key)
            elif isinstance(station, Furnace):
                self.set_furnace(machine, station, key)
            elif isinstance(station, Caster):
                self.set_caster(machine, station, key)
            elif isinstance(station, Mill):
                self.set_mill(machine, station, key)
            elif isinstance(station, Slitter):
                self.set_slitter(machine, station, key)
            elif isinstance(station, Cutter | Profiler):
                self.set_pieces(machine, station, key)
            else:
                self.set_step(machine, station)
            self.set_handling(machine, station, key)
            self.set_drawn_times(machine, name, key)
            for failure in station.failures:
                machine.causes.append(self.cause(machine, failure, key))

    def new_machine(self, name: str, number: int, kind: int, calendar: st.Calendar) -> st.Machine:
        """Make one machine."""
        index = len(self.line.machines)
        machine: st.Machine = self.make.Machine(
            index, kind, calendar, self.make.Clock(st.C_MACHINE, index, 0), self.spare
        )
        machine.station = self.model.layout.stations.index(name)
        machine.number = number
        machine.open = calendar.open
        machine.state = st.STARVED if calendar.open else st.CLOSED
        self.line.machines.append(machine)
        self.line.scrap.append([0.0] * len(self.model.reasons))
        self.machines.setdefault(name, []).append(machine)
        return machine

    def set_common(self, machine: st.Machine, station: Station) -> None:
        """Set what every machine has: its stores, lanes and tables."""
        name = station.name
        numbers = self.model.tables[name]
        machine.place = LOWEST_PLACE - self.ways.order.index(name)
        machine.discrete = name not in self.model.flowing
        machine.takes = list(self.ways.takes[name])
        machine.plans = name in self.ways.planners
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

    def set_supply(self, machine: st.Machine, station: Supply, key: str) -> None:
        """Set a supply."""
        machine.new_mass = station.coil.mass
        if station.coil.pattern is not None:
            machine.new_pattern = self.ways.patterns.index(station.coil.pattern)
        machine.every = self.stream(f"{key}/every", station.every or Constant(0.0, "time"))
        machine.turn_away = station.when_full == "turn away" and station.every is not None
        machine.limit = station.limit or 0
        self.line.supply_waits = self.line.supply_waits or machine.limit > 0

    def set_furnace(self, machine: st.Machine, station: Furnace, key: str) -> None:
        """Set a furnace: its losses and its skimming."""
        machine.gain = 1.0 - station.melt_loss
        if station.skimming is not None:
            machine.gain *= 1.0 - station.skimming.loss
            machine.causes.append(
                self.service(machine, f"{key}/skimming", station.skimming.every, station.skimming.takes, st.R_SKIM)
            )

    def service(self, machine: st.Machine, key: str, every: float, takes: Law, reason: int) -> st.Cause:
        """Make a planned stop after so much running time."""
        nothing = self.spare.nothing
        cause: st.Cause = self.make.Cause(
            st.BY_TIME, self.make.Stream(-1, every), self.stream(key, takes), nothing, machine.calendar
        )
        cause.reason = reason
        cause.service = True
        return cause

    def set_caster(self, machine: st.Machine, station: Caster, key: str) -> None:
        """Set a caster."""
        machine.slowest = self.model.tables[station.name].slowest
        machine.least = machine.slowest or self.steady(machine, station)
        machine.patience = station.patience
        machine.restart = self.stream(f"{key}/restart", station.restart.takes)
        machine.restart_scrap = self.stream(f"{key}/restart scrap", station.restart.scrap)
        if station.coil is not None:
            machine.coil_kg = machine.left = station.coil.mass
        bath = self.scenario.stores[station.source].capacity if station.source else None
        if bath is not None:
            self.line.heat_kg = bath
        if station.service is not None:
            cause = self.service(machine, f"{key}/service", station.service.every, station.service.takes, st.R_SERVICE)
            cause.scrap = self.stream(f"{key}/service scrap", station.service.scrap)
            machine.causes.append(cause)

    def steady(self, machine: st.Machine, station: Caster) -> float:
        """Return the one speed of a caster that cannot slow; where a stop costs nothing it follows its neighbours."""
        costs = station.patience > 0.0 or station.restart.takes.average > 0.0
        return machine.nominal if costs else 0.0

    def set_mill(self, machine: st.Machine, station: Mill, key: str) -> None:
        """Set a mill; its rolls come with its shop."""
        machine.crop = station.crop
        if not machine.discrete and station.coil is not None:
            machine.coil_kg = machine.left = station.coil.mass
        if not machine.discrete:
            lane = 1 if len(self.ways.patterns) and machine.speeds[1] > 0.0 else 0
            machine.nominal = machine.want = machine.speeds[lane]
            machine.gain = 1.0 if station.coil is not None else 1.0 - station.crop

    def set_slitter(self, machine: st.Machine, station: Slitter, key: str) -> None:
        """Set a slitter: setup, how long it stays on a pattern, knives."""
        machine.setup = self.stream(f"{key}/setup", station.setup.time)
        machine.setup_scrap = self.stream(f"{key}/setup scrap", station.setup.scrap)
        machine.setup_shared = self.crew(station.setup.needs)
        machine.stay = self.stream(f"{key}/stay", station.coils_per_pattern or Constant(1e9, "coils"))
        if station.knives is None:
            return
        machine.knives = self.stream(f"{key}/knives", station.knives.takes)
        machine.knife_shared = self.crew(station.knives.needs)
        machine.knife_each = machine.knife_left = station.knives.every.value
        zeros, ones = [0.0] * self.ways.lanes, [1.0] * self.ways.lanes
        per_kg = {"length": machine.m_per_kg, "mass": ones, "time": machine.s_per_kg}
        per_coil = {"coils": ones, "time": machine.fixed_s}
        machine.knife_per_kg = per_kg.get(station.knives.every.dimension, zeros)
        machine.knife_per_coil = per_coil.get(station.knives.every.dimension, zeros)

    def set_pieces(self, machine: st.Machine, station: Cutter | Profiler, key: str) -> None:
        """Set a cutter or a profiler."""
        change: Activity = station.width_change if isinstance(station, Cutter) else station.tool_change
        machine.coil_change = self.stream(f"{key}/coil change", station.coil_change.time)
        machine.coil_scrap = self.stream(f"{key}/coil scrap", station.coil_change.scrap)
        machine.coil_shared = self.crew(station.coil_change.needs)
        machine.tool_change = self.stream(f"{key}/tool change", change.time)
        machine.tool_shared = self.crew(change.needs)
        machine.setup_scrap = self.stream(f"{key}/tool scrap", change.scrap)
        if isinstance(station, Profiler):
            machine.gain = 1.0 - station.scrap
            machine.first_off = self.stream(f"{key}/first-off", station.first_off)
        if machine.discrete:
            self.set_whole_coils(machine, key)
            return
        takes = self.scenario.stores[station.source].holds if station.source else ""
        if takes == "coils":
            machine.phase = st.IDLE
            machine.left = st.NEVER
        elif takes == "strip":
            self.set_flying(machine, station)

    def set_whole_coils(self, machine: st.Machine, key: str) -> None:
        """A cutter that hands its coils on works each in one time: the change and its pieces."""
        machine.s_per_kg = [
            1.0 / (speed * kilograms) if speed > 0.0 else 0.0
            for speed, kilograms in zip(machine.speeds, machine.piece_kg, strict=True)
        ]
        machine.crop = 1.0 - machine.gain
        machine.extra.append(machine.coil_change)
        machine.extra_times.append([1.0] * self.ways.lanes)

    def set_flying(self, machine: st.Machine, station: Cutter | Profiler) -> None:
        """A shear or profiler that runs on endless strip: kilograms in, pieces out, of one product."""
        product = self.ways.products.index((station.makes or self.ways.products)[0])
        lane = 1 + len(self.ways.patterns) + product
        machine.product = product
        machine.convert = 1.0 / machine.piece_kg[lane]
        machine.nominal = machine.want = machine.speeds[lane] * machine.piece_kg[lane]

    def set_step(self, machine: st.Machine, station: Step) -> None:
        """Set any other step; what flows in pieces weighs what its product does."""
        if machine.discrete or not station.makes:
            return
        machine.product = self.ways.products.index(station.makes[0])

    def set_handling(self, machine: st.Machine, station: Station, key: str) -> None:
        """Set the lifts that a shared crane makes; those that none makes are part of a ring's change, or of its time."""
        handling = station.handling
        if handling is None:
            return
        takes = self.scenario.stores[station.source].holds if station.source else ""
        if not machine.discrete and takes == "coils":
            own = {"load": handling.load, "unload": handling.unload, "crane in": handling.crane_in}
            if handling.needs is not None:
                own = {k: own[k] for k in ("load", "unload") if has_crane_moves(station)}
            machine.extra += [self.stream(f"{key}/{what}", law) for what, law in own.items()]
        if handling.needs is None:
            return
        machine.load_shared = self.crew(handling.needs)
        machine.crane_in = has_crane_moves(station)
        machine.load = self.stream(f"{key}/load", handling.crane_in if machine.crane_in else handling.load)
        machine.unload = self.stream(f"{key}/unload", handling.unload)
        machine.crane_out = handling.crane_out_per_ring.average

    def set_drawn_times(self, machine: st.Machine, name: str, key: str) -> None:
        """Set the times that are drawn for each coil."""
        for what, law, often in self.model.tables[name].drawn:
            machine.extra.append(self.stream(f"{key}/{what}", law))
            machine.extra_times.append(often)

    def cause(self, machine: st.Machine, failure: Failure, key: str) -> st.Cause:
        """Make a cause of stops."""
        counts = {"length": st.BY_LENGTH, "mass": st.BY_MASS, "pieces": st.BY_PIECES}.get(
            failure.every.dimension, st.BY_CLOCK if failure.counts == "clock" else st.BY_TIME
        )
        cause: st.Cause = self.make.Cause(
            counts,
            self.stream(f"{key}/every {failure.reason}", failure.every),
            self.stream(f"{key}/repair {failure.reason}", failure.repair),
            self.stream(f"{key}/scrap {failure.reason}", failure.scrap),
            self.calendar(failure.calendar) if failure.calendar else machine.calendar,
        )
        cause.reason = self.model.reasons.index(failure.reason, len(FIXED_REASONS) + len(self.scenario.shared))
        cause.coil_scrapped = failure.coil == "scrapped"
        cause.shared = self.crew(failure.needs)
        return cause

    # Rolls

    def add_shop(self, name: str) -> None:
        """Make a mill's roll shop, its people and sets, and put rolls on its machines."""
        station = self.scenario.stations[name]
        assert isinstance(station, Mill) and station.rolls is not None
        rolls, own = station.rolls, station.rolls.shop
        index = len(self.line.shops)
        shop: st.Shop = self.make.Shop(index, self.make.Clock(st.C_SHOP, index, st.FIRST_ENDS), self.spare.nothing)
        shop.unlimited = rolls.sets is None or own is None
        if own is not None:
            self.set_shop(shop, name, rolls)
        for number in range(rolls.sets or 0):
            shop.sets.append(self.make.RollSet(number + 1, shop.new_diameter))
        for number in range(shop_people(self.scenario, name)):
            person = self.new_machine(name + SHOP, number + 1, st.GRINDER, self.calendar(own.calendar if own else None))
            person.place = LOWEST_PLACE
            person.shop = shop
            shop.people.append(person)
        for place, machine in enumerate(self.machines[name]):
            shop.mills.append(machine)
            self.set_rolls(machine, station, rolls, shop, place)
        self.line.shops.append(shop)

    def set_shop(self, shop: st.Shop, name: str, rolls: Rolls) -> None:
        """Set the times and diameters of a roll shop."""
        own = rolls.shop
        assert own is not None
        key = f"{name}{SHOP}"
        shop.cool = self.stream(f"{key}/cool", own.cool)
        shop.grind = self.stream(f"{key}/grind", own.grind)
        shop.extra = self.stream(f"{key}/extra", own.extra_after_damage)
        shop.assemble = self.stream(f"{key}/assemble", own.assemble)
        shop.heating = self.stream(f"{key}/heating", rolls.heating or Constant(0.0, "time"))
        if own.back_up is not None:
            shop.back_up_every = int(own.back_up.every)
            shop.back_up_grind = self.stream(f"{key}/back-up", own.back_up.grind)
        shop.removes = own.removes
        shop.removes_damage = own.removes_after_damage
        shop.new_diameter = own.new or 0.0
        shop.scrap_below = own.scrap_below or -st.NEVER

    def set_rolls(self, machine: st.Machine, station: Mill, own: Rolls, shop: st.Shop, place: int) -> None:
        """Put rolls on one mill."""
        key = f"{station.name}/{machine.number}"
        nothing = self.spare.nothing
        dimension = own.damage.dimension if own.damage is not None else "length"
        counts = {"mass": st.BY_MASS, "time": st.BY_TIME}.get(dimension, st.BY_LENGTH)
        life: st.Cause = self.make.Cause(
            counts,
            self.stream(f"{key}/life", own.damage or Constant(st.NEVER, "length")),
            nothing,
            nothing,
            machine.calendar,
        )
        life.rolls = True
        first = shop.sets[place] if place < len(shop.sets) else self.make.RollSet(place + 1, shop.new_diameter)
        first.stage = st.ON_MILL
        clock = self.make.Clock(st.C_ROLL_TIME, machine.index, st.THEN_CALENDARS)
        rolls: st.Rolls = self.make.Rolls(first, shop, life, clock)
        rolls.used = True
        rolls.change = self.stream(f"{key}/change", own.change)
        rolls.damaged_change = self.stream(f"{key}/damaged change", own.damaged_change)
        rolls.damage_scrap = self.stream(f"{key}/damage scrap", own.damage_scrap)
        rolls.calendar = self.calendar(own.calendar) if own.calendar else machine.calendar
        rolls.shared = self.crew(own.needs)
        if own.first_coil is not None:
            rolls.first_slower = own.first_coil.slower
            rolls.first_scrap = self.stream(f"{key}/first coil", own.first_coil.scrap)
        else:
            rolls.first_scrap = nothing
        self.set_roll_rules(rolls, own)
        machine.rolls = rolls
        if own.damage is not None:
            machine.causes.append(life)
        if not machine.discrete and machine.coil_kg >= st.NEVER:
            machine.causes.append(self.limit_in_flow(machine, rolls))

    def set_roll_rules(self, rolls: st.Rolls, own: Rolls) -> None:
        """Set when rolls are to come off."""
        if own.change_after is not None:
            rolls.limit = own.change_after.value
            rolls.limit_in_mass = own.change_after.dimension == "mass"
        for rule in own.rule:
            if isinstance(rule, WhenIdle):
                rolls.idle_after = rule.after.value
                rolls.idle_in_mass = rule.after.dimension == "mass"
                rolls.keep_ready = rule.keep_ready
            elif isinstance(rule, AtTimes):
                rolls.times = moments(rule.times, self.scenario.time, self.model.end)
                rolls.clock.at = rolls.times[0] if rolls.times else st.NEVER

    def limit_in_flow(self, machine: st.Machine, rolls: st.Rolls) -> st.Cause:
        """In a mill that never ends a coil the limit comes in mid-strip."""
        limit = self.make.Stream(-1, rolls.limit)
        nothing = self.spare.nothing
        cause: st.Cause = self.make.Cause(
            st.BY_MASS if rolls.limit_in_mass else st.BY_LENGTH, limit, nothing, nothing, machine.calendar
        )
        cause.rolls = True
        cause.service = True
        return cause

    # References

    def join(self) -> None:
        """Tie machines to their stores."""
        for name, station in self.scenario.stations.items():
            for place, machine in enumerate(self.machines[name]):
                if station.source:
                    copies = self.stores[station.source]
                    machine.take = copies[place if len(copies) > 1 else 0]
                    machine.take.takers.append(machine)
                if station.to:
                    copies = self.stores[station.to]
                    machine.give = copies[place if len(copies) > 1 else 0]
                    machine.give.givers.append(machine)

    def add_segments(self) -> None:
        """Gather flowing machines that are tied by stores of metal, strip or pieces."""
        flowing = [machine for machine in self.line.machines if not machine.discrete]
        flowing.sort(key=lambda machine: (-machine.place, machine.index))
        for machine in flowing:
            if machine.segment >= 0:
                continue
            index = len(self.line.segments)
            segment: st.Segment = self.make.Segment(index, self.make.Clock(st.C_SEGMENT, index, st.THEN_COILS))
            self.gather(segment, machine)
            segment.machines.sort(key=lambda own: (-own.place, own.index))
            segment.clock.rank += segment.machines[-1].place
            segment.casts = any(own.least > 0.0 for own in segment.machines)
            self.line.segments.append(segment)
            for own in segment.machines:
                self.set_first_product(own)

    def gather(self, segment: st.Segment, machine: st.Machine) -> None:
        """Add a machine and all that it is tied to."""
        machine.segment = segment.index
        segment.machines.append(machine)
        for store in (machine.take, machine.give):
            if store.index < 0 or store.holds == st.COILS or store.segment >= 0:
                continue
            if store.finished and store.capacity >= st.NEVER:
                continue
            store.segment = segment.index
            segment.stores.append(store)
            for other in [*store.givers, *store.takers]:
                if other.segment < 0:
                    self.gather(segment, other)

    def set_first_product(self, machine: st.Machine) -> None:
        """Give a machine on a stream of one product that product; what flows unnamed weighs a kilogram a piece."""
        if machine.take.holds == st.PIECES and machine.take.givers and machine.take.givers[0].convert != 1.0:
            lane = 1 + len(self.ways.patterns) + machine.take.givers[0].product
            machine.product = machine.take.givers[0].product
            machine.nominal = machine.want = machine.speeds[lane] if machine.speeds else machine.nominal
            machine.unit_kg = machine.take.givers[0].piece_kg[lane]
            machine.take.piece_kg = machine.unit_kg
        metres = machine.m_per_kg[0] if machine.m_per_kg else 0.0
        if machine.rolls.used:
            lane = 1 if len(self.ways.patterns) else 0
            metres = machine.m_per_kg[lane]
            machine.rolls.per = metres
        for cause in machine.causes:
            if cause.counts == st.BY_LENGTH:
                cause.per = metres * machine.unit_kg
            elif cause.counts == st.BY_MASS:
                cause.per = machine.unit_kg
            elif cause.counts == st.BY_PIECES:
                cause.per = machine.convert

    # Patterns

    def add_patterns(self) -> None:
        """Set the patterns and how the planner chooses among them."""
        planner = self.line.planner
        planner.used = bool(self.ways.planners)
        planner.before = [0] * len(self.scenario.stations)
        stations = list(self.scenario.stations)
        for name in self.ways.patterns:
            own = self.scenario.patterns[name]
            pattern: st.Pattern = self.make.Pattern()
            width = own.width or self.mother_width()
            for product, count in own.rings.items():
                girth = self.scenario.products[product].girth
                place = self.ways.products.index(product)
                sold = self.ways.products.index(sold_as(self.scenario.products, product))
                for _ in range(count):
                    pattern.ring_product.append(place)
                    pattern.ring_share.append(girth / width if width > 0.0 else 1.0 / sum(own.rings.values()))
                    pattern.sold_product.append(sold)
            pattern.sold_share = own.sold_as_coil
            self.line.patterns.append(pattern)
            planner.share.append(own.share or 0.0)
            planner.made.append(0)
            planner.flow.append(0)
            planner.holders.append([stations.index(holder) for holder in own.hold_above])
            planner.hold_above.append(list(own.hold_above.values()))
        if planner.used and not any(planner.share):
            planner.share = [1.0 / len(planner.share)] * len(planner.share)
        self.set_sequence()

    def mother_width(self) -> float:
        """Return the width of a mother coil: as cast, else as supplied."""
        for station in self.scenario.stations.values():
            if isinstance(station, Caster):
                return station.width
        for station in self.scenario.stations.values():
            if isinstance(station, Supply):
                return station.coil.width
        return 0.0

    def set_sequence(self) -> None:
        """Set the planner's sequence: recorded, planned, or by counts."""
        planner, names = self.line.planner, self.ways.patterns
        plan, counts = self.scenario.plan, [own.count or 0 for own in self.scenario.patterns.values()]
        if self.scripts.sequence:
            planner.sequence = [names.index(name) for name in self.scripts.sequence]
        elif plan is not None:
            for step in plan.repeat or plan.dated:
                planner.sequence += [names.index(step.pattern)] * step.coils
                if step.start is not None:
                    planner.begins += [elapsed(self.scenario.time, step.start)] * step.coils
            planner.repeats = bool(plan.repeat)
        elif any(counts):
            for place, count in enumerate(counts):
                planner.sequence += [place] * count
            planner.repeats = True

    # The end

    def order(self) -> None:
        """Put machines in the order of their starts, and all clocks in one list."""
        line = self.line
        line.order = sorted(line.machines, key=lambda machine: (machine.place, machine.index))
        line.days = list(self.model.days)
        line.day_clock = self.make.Clock(st.C_DAY, 0, st.THEN_CALENDARS)
        line.day_clock.at = line.days[0] if line.days else st.NEVER
        for calendar in line.calendars:
            calendar.users = [machine for machine in line.order if uses(machine, calendar)]
        clocks = [machine.clock for machine in line.order]
        clocks += [segment.clock for segment in line.segments if segment.stores]
        clocks += [calendar.clock for calendar in line.calendars if calendar.turns]
        clocks += [store.clock for store in line.stores if store.rest > 0.0 or store.keeps < st.NEVER]
        clocks += [slot.clock for slot in line.slots]
        clocks += [shop.clock for shop in line.shops if not shop.unlimited]
        clocks += [machine.rolls.clock for machine in line.machines if machine.rolls.times]
        clocks += [speeds.clock for speeds in line.speeds]
        line.clocks = [*clocks, line.day_clock]

    def first_draws(self) -> None:
        """Draw when each cause strikes first."""
        for machine in self.line.machines:
            for cause in machine.causes:
                if not cause.scripted:
                    cause.left = next_value(cause.every)
            if machine.phase == st.WORK and machine.rolls.used and machine.plans and machine.coil_kg < st.NEVER:
                machine.new_pattern = -1


def next_value(stream: st.Stream) -> float:
    """Take a stream's first number while the line is being built."""
    if stream.constant:
        return stream.value
    stream.at += 1
    return stream.values[stream.at - 1]


def uses(machine: st.Machine, calendar: st.Calendar) -> bool:
    """Tell whether a machine works, is repaired or changes rolls by a calendar."""
    return (
        machine.calendar is calendar
        or any(cause.calendar is calendar for cause in machine.causes)
        or (machine.rolls.used and machine.rolls.calendar is calendar)
    )


def build(
    model: Model, seed: int, run: int, scripts: Scripts = NO_SCRIPTS, *, pure: bool = False
) -> tuple[st.Line, Draws]:
    """Return a line ready to begin, and its streams."""
    builder = Builder(model, seed, run, scripts, rules_of("state", pure=pure))
    return builder.build(), builder.draws


def store_names(model: Model) -> list[str]:
    """Return the name of each store of a line; one between pairs of machines comes once for each pair."""
    return [name for name in model.scenario.stores for _ in range(paired(model.scenario, name))]
