"""The plant's state now, put into a line that has just been built: what lies in its stores.

A scenario tells what is known; what it leaves out is empty, idle, new or ready. What the grammar does not hold is
assumed, and `docs/rules.md` says how: coils have lain long enough to be taken, mother coils share out their rings.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from twin.line.found import lay
from twin.line.rules import state as st
from twin.line.rules.planner import count_mothers
from twin.line.rules.rings import set_speed
from twin.line.rules.setting import start_with
from twin.line.start_machines import put_machines
from twin.line.start_rolls import put_rolls
from twin.line.totals import stock_kg
from twin.scenario import Fault, ScenarioError
from twin.scenario.models import Caster, Cutter, Mill, Profiler, Stock, Store, Supply

if TYPE_CHECKING:
    from twin.line.builder import Builder

Counts = Mapping[str, float]


def begin_now(builder: Builder) -> None:
    """Put the state that the scenario tells into a line that is ready to begin."""
    state = Present(builder)
    start = builder.scenario.start
    for name, stock in start.stores.items():
        state.fill(name, stock)
    for name, coils in builder.scripts.found.coils.items():
        lay(state, builder.scenario.stores[name], builder.stores[name][0], coils)
    put_rolls(builder, start.rolls)
    put_machines(state, start.machines)
    builder.line.in_kg = stock_kg(builder.line)
    builder.line.mothers = 0


def refuse(builder: Builder, place: str, message: str, way_out: str) -> ScenarioError:
    """Return the error of a state that the line cannot be in."""
    return ScenarioError([Fault(builder.scenario.file or "<scenario>", 0, place, "", "", way_out, message)])


class Present:
    """Makes the coils and rings that lie in a line at its start, each with a mother coil's account."""

    def __init__(self, builder: Builder) -> None:
        self.builder = builder
        self.line = builder.line
        self.ways = builder.ways
        self.open_mothers: dict[int, tuple[st.Mother, int]] = {}
        self.usual_patterns: dict[int, int] = {}

    def fill(self, name: str, stock: Stock) -> None:
        """Lay a stock into a store; one between pairs of machines is shared out evenly."""
        copies = self.builder.stores[name]
        own = self.builder.scenario.stores[name]
        if own.holds == "coils":
            if name not in self.builder.scripts.found.coils:
                self.lay_coils(own, copies[0], stock)
            return
        lanes = self.lanes_of_pieces(own, stock, len(copies)) if own.holds == "pieces" else []
        for place, store in enumerate(copies):
            store.level = store.made = stock.amount / len(copies)
            if lanes and not store.finished:
                self.set_pieces(store, lanes[place])
            store.peak = store.level

    # Coils and rings

    def lay_coils(self, own: Store, store: st.Store, stock: Stock) -> None:
        """Lay coils, those of each pattern or product evenly between the others; all have lain long enough."""
        if store.finished:
            store.count = float(int(stock.amount))
            store.peak = stock.amount
            return
        counts = {self.lane_of(own, name): count for name, count in stock.by}
        counts = counts or self.usual(own, stock.amount)
        masses = {lane: self.mass_in(own.name, lane) for lane in counts}
        for lane in spread(counts):
            start_with(self.line, store, self.coil_in(lane, masses[lane]))
        if store.keeps < st.NEVER and store.count > 0:
            store.clock.at = max(0.0, store.keeps - store.rest)

    def lane_of(self, own: Store, name: str) -> int:
        """Return the lane of a pattern or product in a store from which somebody takes it."""
        lane = self.lane(name)
        if lane not in self.ways.drawn[own.name]:
            raise refuse(
                self.builder,
                f"start.stores.{own.name}",
                f"no station takes '{name}' from '{own.name}'",
                "Name what lies there and is taken, or leave it out",
            )
        return lane

    def lane(self, name: str) -> int:
        """Return the lane of a pattern or product."""
        if name in self.ways.patterns:
            return 1 + self.ways.patterns.index(name)
        return 1 + len(self.ways.patterns) + self.ways.products.index(name)

    def usual(self, own: Store, amount: float) -> dict[int, float]:
        """Share coils of which only the number is known out among those that are taken from the store."""
        lanes = sorted(self.ways.drawn[own.name])
        if 0 in lanes or not lanes:
            return {0: amount}
        weights = {lane: self.weight(lane) for lane in lanes}
        total = sum(weights.values()) or 1.0
        counts = {lane: float(int(amount * weight / total)) for lane, weight in weights.items()}
        rest = sorted(lanes, key=lambda lane: counts[lane] - amount * weights[lane] / total)
        for lane in rest[: round(amount - sum(counts.values()))]:
            counts[lane] += 1.0
        return counts

    def weight(self, lane: int) -> float:
        """Return how often coils of a lane come: a pattern's share, or that of a product's rings."""
        shares = [own.share for own in self.line.planner.shares]
        if lane <= len(self.ways.patterns):
            return shares[lane - 1]
        product = self.ways.lane_product[lane]
        return sum(
            share * rings_of(pattern, product) for share, pattern in zip(shares, self.line.patterns, strict=True)
        )

    def coil_in(self, lane: int, mass: float) -> st.Coil:
        """Return a coil of a lane; rings of one product share mother coils as their pattern makes them."""
        line = self.line
        product = lane - 1 - len(self.ways.patterns)
        mother = self.mother_of_ring(product) if product >= 0 else self.new_mother(lane - 1)
        line.coils_made += 1
        coil: st.Coil = self.builder.make.Coil(line.coils_made, mass, mother)
        coil.pattern, coil.product, coil.lane = mother.pattern, max(product, -1), lane
        return coil

    def new_mother(self, pattern: int) -> st.Mother:
        """Return a mother coil's account; when it came to be nobody knows, so it has no lead time."""
        line = self.line
        mother: st.Mother = self.builder.make.Mother(line.coils_made + 1, st.NEVER)
        mother.pattern = pattern
        line.mothers_in += 1
        if pattern >= 0 and line.planner.used:
            count_mothers(line, pattern, 1.0)
        return mother

    def mother_of_ring(self, product: int) -> st.Mother:
        """Return the mother of one more ring of a product: each has as many as its usual pattern makes."""
        mother, left = self.open_mothers.get(product, (None, 0))
        if mother is None or left == 0:
            pattern = self.usual_pattern(product)
            left = rings_of(self.line.patterns[pattern], product) if pattern >= 0 else 1
            mother = self.new_mother(pattern)
            mother.left = 0
        mother.left += 1
        self.open_mothers[product] = mother, left - 1
        return mother

    def usual_pattern(self, product: int) -> int:
        """Return the pattern with the greatest share among those that make a product; -1 if none does."""
        if product not in self.usual_patterns:
            shares = [own.share for own in self.line.planner.shares]
            found = [i for i, own in enumerate(self.line.patterns) if rings_of(own, product)]
            self.usual_patterns[product] = max(found, key=lambda i: (shares[i], -i), default=-1)
        return self.usual_patterns[product]

    # Masses

    def mass_in(self, store: str, lane: int) -> float:
        """Return what a coil of a lane usually weighs in a store. [kg]"""
        product = lane - 1 - len(self.ways.patterns)
        if product < 0:
            return self.mother_kg(store)
        pattern = self.usual_pattern(product)
        own = self.line.patterns[pattern]
        return self.mother_kg(store) * next(ring.share for ring in own.rings if ring.product == product)

    def mother_kg(self, store: str) -> float:
        """Return what a mother coil weighs where it lies, mills' crops taken off. [kg]"""
        left = 1.0
        for name in self.before(store):
            station = self.builder.scenario.stations[name]
            left *= 1.0 - station.crop if isinstance(station, Mill) else 1.0
            if isinstance(station, Supply | Caster | Mill) and station.coil is not None:
                return station.coil.mass * left
        raise refuse(
            self.builder, f"start.stores.{store}", "nothing is known of the coils that lie here", "Leave it out"
        )

    def before(self, store: str) -> Iterator[str]:
        """Yield the stations before a store, nearest first, always by the first that gives."""
        stations = self.builder.scenario.stations
        at: str | None = store
        while at is not None:
            giver = next((name for name, own in stations.items() if own.to == at), None)
            if giver is None:
                return
            yield giver
            at = stations[giver].source

    # Pieces

    def lanes_of_pieces(self, own: Store, stock: Stock, copies: int) -> list[int]:
        """Return of which product the pieces in each copy of a store are."""
        names = [name for name, count in stock.by if count > 0.0]
        if not names:
            names = self.possible(own.name)
        if len(names) not in (1, copies) or own.name in self.builder.model.finished:
            if own.name in self.builder.model.finished:
                return []
            raise refuse(
                self.builder,
                f"start.stores.{own.name}",
                "pieces of one product lie between two machines",
                f"Name it, like {own.name}: {{{(names or ['product'])[0]}: {stock.amount:g}}}",
            )
        return [self.lane(names[place if len(names) > 1 else 0]) for place in range(copies)]

    def possible(self, store: str) -> list[str]:
        """Return the products that can lie in a store of pieces."""
        for name in self.before(store):
            station = self.builder.scenario.stations[name]
            if isinstance(station, Cutter | Profiler) and station.makes:
                return list(station.makes)
        return list(self.ways.products)

    def set_pieces(self, store: st.Store, lane: int) -> None:
        """Set the machines on both sides of a store of pieces to their product."""
        for machine in [*store.givers, *store.takers]:
            if machine.speeds and machine.convert == 1.0:
                machine.product = self.ways.lane_product[lane]
                machine.lane = lane
                set_speed(machine, lane)
        if store.givers and store.givers[0].piece_kg:
            store.piece_kg = store.givers[0].piece_kg[lane]


def spread(counts: Mapping[int, float]) -> list[int]:
    """Return lanes as often as counted, each evenly between the others."""
    places = [
        ((number + 0.5) / count, lane) for lane, count in counts.items() if count > 0 for number in range(int(count))
    ]
    return [lane for _, lane in sorted(places)]


def rings_of(pattern: st.Pattern, product: int) -> int:
    """Return how many rings of a product a pattern makes."""
    return sum(1 for ring in pattern.rings if ring.product == product)
