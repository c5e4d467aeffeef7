"""How material can go through a line: the order of the stations, and which coils each of them may take.

A lane is a kind of coil that lies apart in every store: lane 0 what has no pattern, then one a pattern (mother coils),
then one a product (slit rings).
"""

from collections.abc import Iterable
from dataclasses import dataclass

from twin.scenario.models import Pattern, Product, Scenario, Station


@dataclass(frozen=True)
class Routes:
    """Where material goes.

    Attributes
    ----------
    order : Stations from upstream to downstream.
    patterns, products : Names, in the order of their lanes.
    takes : Station -> lanes that it may take from its store of coils.
    gives : Station -> lanes that it may give.
    drawn : Store -> lanes that somebody takes from it.
    lane_product : Lane -> place of its product, -1 if it has none of its own.
    planners : Stations that decide which pattern a mother coil is for.
    rolled : Stations whose strip has been through a mill.
    """

    order: tuple[str, ...]
    patterns: tuple[str, ...]
    products: tuple[str, ...]
    takes: dict[str, tuple[int, ...]]
    gives: dict[str, tuple[int, ...]]
    drawn: dict[str, frozenset[int]]
    lane_product: tuple[int, ...]
    planners: frozenset[str]
    rolled: frozenset[str]

    @property
    def lanes(self) -> int:
        """Return how many lanes a store of coils has."""
        return 1 + len(self.patterns) + len(self.products)


def routes(scenario: Scenario) -> Routes:
    """Work out the routes of a scenario."""
    order = flow_order(scenario)
    patterns, products = tuple(scenario.patterns), tuple(scenario.products)
    planners = planning_stations(scenario, order)
    takes: dict[str, tuple[int, ...]] = {}
    gives: dict[str, tuple[int, ...]] = {}
    lying: dict[str, set[int]] = {name: set() for name in scenario.stores}
    for name in order:
        station = scenario.stations[name]
        offered = lying[station.source] if station.source else set()
        takes[name] = tuple(lane for lane in sorted(offered) if may_take(scenario, station, lane))
        gives[name] = tuple(sorted(given_lanes(scenario, station, takes[name], name in planners)))
        if station.to:
            lying[station.to] |= set(gives[name])
    drawn = {store: frozenset(_drawn(scenario, takes, store)) for store in scenario.stores}
    lane_product = (-1, *(_single(scenario, name) for name in patterns), *range(len(products)))
    return Routes(
        order, patterns, products, takes, gives, drawn, lane_product, planners, frozenset(_rolled(scenario, order))
    )


def flow_order(scenario: Scenario) -> tuple[str, ...]:
    """Return the stations from upstream to downstream; where the flow leaves it open, in the file's order."""
    placed: list[str] = []
    left = list(scenario.stations)
    while left:
        for name in left:
            source = scenario.stations[name].source
            if all(other not in left for other in givers_of(scenario, source)):
                placed.append(name)
                left.remove(name)
                break
        else:
            raise ValueError("the flow of the stations goes round in a circle: " + ", ".join(left))
    return tuple(placed)


def givers_of(scenario: Scenario, store: str | None) -> list[str]:
    """Return the stations that give to a store."""
    return [name for name, station in scenario.stations.items() if store is not None and station.to == store]


def takers_of(scenario: Scenario, store: str | None) -> list[str]:
    """Return the stations that draw on a store."""
    return [name for name, station in scenario.stations.items() if store is not None and station.source == store]


def upstream_of(scenario: Scenario, station: str) -> Iterable[str]:
    """Yield all stations before one, nearest first."""
    seen: list[str] = []
    waiting = [station]
    while waiting:
        for giver in givers_of(scenario, scenario.stations[waiting.pop(0)].source):
            if giver not in seen:
                seen.append(giver)
                waiting.append(giver)
    return seen


def planning_stations(scenario: Scenario, order: tuple[str, ...]) -> frozenset[str]:
    """Return who decides on patterns: the mills; in a line without one the supplies, else the casters."""
    if not scenario.patterns:
        return frozenset()
    for kind in ("mill", "supply", "caster"):
        found = [name for name in order if scenario.stations[name].kind == kind]
        if kind == "mill":
            rolled = _rolled(scenario, order)
            found = [name for name in found if name not in rolled]
        if found:
            return frozenset(found)
    return frozenset()


def may_take(scenario: Scenario, station: Station, lane: int) -> bool:
    """Tell whether a station may take coils of a lane."""
    patterns, products = list(scenario.patterns), list(scenario.products)
    if lane == 0:
        return station.makes is None
    if lane <= len(patterns):
        return _may_take_mother(scenario, station, scenario.patterns[patterns[lane - 1]])
    product = products[lane - 1 - len(patterns)]
    if station.kind == "slitter":
        return False
    return station.makes is None or product in station.makes


def _may_take_mother(scenario: Scenario, station: Station, pattern: Pattern) -> bool:
    """Mother coils go to mills, slitters and steps unless they skip them; to a cutter only if they skip slitting."""
    if station.name in pattern.skips:
        return False
    if station.kind in ("cutter", "profiler"):
        slitters = [name for name in takers_of(scenario, station.source) if scenario.stations[name].kind == "slitter"]
        if len(pattern.rings) != 1 or any(name not in pattern.skips for name in slitters):
            return False
    return station.makes is None or all(product in station.makes for product in pattern.rings)


def given_lanes(scenario: Scenario, station: Station, takes: tuple[int, ...], plans: bool) -> set[int]:
    """Return the lanes that a station's coils may be in."""
    patterns, products = list(scenario.patterns), list(scenario.products)
    if station.kind == "slitter":
        given = {lane for lane in takes if lane == 0}
        for lane in takes:
            if 0 < lane <= len(patterns):
                rings = scenario.patterns[patterns[lane - 1]].rings
                given |= {1 + len(patterns) + products.index(name) for name in rings}
        return given
    if plans:
        return set(range(1, 1 + len(patterns)))
    if station.kind == "supply":
        pattern = station.coil.pattern
        return {0 if pattern is None else 1 + patterns.index(pattern)}
    return set(takes) if takes else {0}


def _drawn(scenario: Scenario, takes: dict[str, tuple[int, ...]], store: str) -> set[int]:
    return {lane for name in takers_of(scenario, store) for lane in takes[name]}


def _single(scenario: Scenario, pattern: str) -> int:
    """Return the product of a pattern that has only one, else -1."""
    rings = list(scenario.patterns[pattern].rings)
    return list(scenario.products).index(rings[0]) if len(rings) == 1 else -1


def _rolled(scenario: Scenario, order: tuple[str, ...]) -> list[str]:
    return [name for name in order if any(scenario.stations[up].kind == "mill" for up in upstream_of(scenario, name))]


def sold_as(products: dict[str, Product], name: str) -> str:
    """Return the product as which a ring of this one is sold: the same strip sold as coil, else itself."""
    own = products[name]
    for other in products.values():
        if other.sold == "coil" and other.girth == own.girth and other.thickness == own.thickness:
            return other.name
    return name
