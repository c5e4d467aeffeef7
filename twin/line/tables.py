"""The physics of each station as plain numbers by lane: seconds, metres and pieces a kilogram."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from twin.line.routes import Routes, upstream_of
from twin.materials import Material, material, own_material
from twin.process.caster import mass_flow
from twin.process.coil import mass_per_length
from twin.process.cutter import piece_mass, piece_rate
from twin.process.furnace import melt_rate
from twin.process.mill import Pass, Strip, schedule
from twin.process.profiler import piece_time
from twin.scenario.laws import Constant, Law
from twin.scenario.models import Caster, Cutter, Furnace, Mill, Profiler, Scenario, Slitter, Station, Step, Supply

SAMPLE_KG = 1000.0  # times and lengths go with mass, so any coil will do


@dataclass
class Tables:
    """What one station needs of physics, by lane.

    Attributes
    ----------
    fixed_s : Time of a coil that does not depend on its mass. [s]
    s_per_kg : Time by mass. [s/kg]
    m_per_kg : Strip that passes, at a mill through the bite of the rolls. [m/kg]
    drawn : Laws drawn once a coil, each with how often it counts by lane.
    speeds : Rate of a flow: kilograms or pieces a second.
    piece_kg, end_kg, keep_share : Mass of a piece, ends lost a ring, share of a coil's width that is used.
    nominal, slowest : Rate of a flow that does not depend on the lane.
    """

    fixed_s: list[float]
    s_per_kg: list[float]
    m_per_kg: list[float]
    drawn: list[tuple[str, Law, list[float]]] = field(default_factory=list)
    speeds: list[float] = field(default_factory=list)
    piece_kg: list[float] = field(default_factory=list)
    end_kg: list[float] = field(default_factory=list)
    keep_share: list[float] = field(default_factory=list)
    nominal: float = 1.0
    slowest: float = 0.0
    convert: float = 1.0


@dataclass(frozen=True)
class Strips:
    """Width and thickness of the strip before and behind a station, by lane. [m]"""

    width: list[float]
    before: list[float]
    behind: list[float]


def metal_of(scenario: Scenario) -> Material:
    """Return the scenario's metal."""
    if isinstance(scenario.metal, str):
        return material(scenario.metal)
    return own_material(scenario.metal.values(), like=scenario.metal.like)


def tables(scenario: Scenario, station: Station, ways: Routes) -> Tables:
    """Return the numbers of one station."""
    metal = metal_of(scenario)
    strips = strips_at(scenario, station, ways)
    plain = Tables([0.0] * ways.lanes, [0.0] * ways.lanes, _metres(strips, metal.density))
    if isinstance(station, Furnace):
        return _furnace(plain, station, metal)
    if isinstance(station, Caster):
        return _caster(plain, station, metal)
    if isinstance(station, Mill):
        return _mill(plain, scenario, station, ways, strips, metal)
    if isinstance(station, Slitter):
        return _slitter(plain, scenario, station, ways)
    if isinstance(station, Cutter | Profiler):
        return _pieces(plain, scenario, station, ways, strips, metal)
    return _step(plain, station) if isinstance(station, Step) else plain


def strips_at(scenario: Scenario, station: Station, ways: Routes) -> Strips:
    """Return the strip at a station, by lane."""
    origin = next(
        (
            own
            for name in (station.name, *upstream_of(scenario, station.name))
            if isinstance(own := scenario.stations[name], Caster | Supply)
        ),
        None,
    )
    width, cast = _origin_size(origin)
    before, behind, widths = [cast], [cast], [width]
    rolled, mill = station.name in ways.rolled, isinstance(station, Mill)
    for pattern in scenario.patterns.values():
        widths.append(pattern.width or width)
        before.append(pattern.thickness if rolled or isinstance(origin, Supply) else cast)
        behind.append(pattern.thickness if rolled or mill else before[-1])
    for product in scenario.products.values():
        widths.append(product.girth)
        before.append(product.thickness)
        behind.append(product.thickness)
    if mill and not rolled:
        before[1 : 1 + len(ways.patterns)] = [cast] * len(ways.patterns)
    return Strips(widths, before, behind)


def _origin_size(origin: Station | None) -> tuple[float, float]:
    if isinstance(origin, Caster):
        return origin.width, origin.thickness
    if isinstance(origin, Supply):
        return origin.coil.width, origin.coil.thickness
    return 0.0, 0.0


def _metres(strips: Strips, density: float) -> list[float]:
    return [
        1.0 / mass_per_length(width, thickness, density) if width > 0.0 and thickness > 0.0 else 0.0
        for width, thickness in zip(strips.width, strips.behind, strict=True)
    ]


def _furnace(plain: Tables, station: Furnace, metal: Material) -> Tables:
    if station.melt_rate is not None:
        plain.nominal = station.melt_rate
    else:
        power, efficiency = station.power or 0.0, station.efficiency or 1.0
        plain.nominal = melt_rate(metal, power=power, efficiency=efficiency, charge=station.charge, pour=station.pour)
    return plain


def _caster(plain: Tables, station: Caster, metal: Material) -> Tables:
    plain.nominal = mass_flow(station.thickness, station.width, station.speed.nominal, metal.density)
    if station.speed.slowest < station.speed.nominal:
        plain.slowest = mass_flow(station.thickness, station.width, station.speed.slowest, metal.density)
    plain.m_per_kg = [1.0 / mass_per_length(station.width, station.thickness, metal.density)] * len(plain.fixed_s)
    return plain


def _mill(plain: Tables, scenario: Scenario, station: Mill, ways: Routes, strips: Strips, metal: Material) -> Tables:
    """A coil's time is that of its passes and of the pauses between them; rolls age by all strip they bite."""
    times = [0.0] * ways.lanes
    plain.speeds = [0.0] * ways.lanes
    for lane in range(1 + len(ways.patterns)):
        gauge = _gauge(scenario, station, ways, lane)
        width, thick = strips.width[lane], strips.before[lane]
        if station.passes is None or gauge is None:
            speed = (station.speed or 1.0) * station.speed_factor
            plain.s_per_kg[lane] = plain.m_per_kg[lane] / speed
            plain.speeds[lane] = speed / plain.m_per_kg[lane] if plain.m_per_kg[lane] > 0.0 else 0.0
            times[lane] = 1.0
            continue
        passes = [Pass(own.thickness, own.speed) for own in station.passes[gauge]]
        rolled = schedule(Strip(SAMPLE_KG, width, thick, metal.density), passes, speed_factor=station.speed_factor)
        plain.s_per_kg[lane] = rolled.time / SAMPLE_KG
        plain.m_per_kg[lane] = rolled.bite_length / SAMPLE_KG
        plain.speeds[lane] = min(SAMPLE_KG / own.time for own in rolled.passes)
        times[lane] = float(len(passes))
    _add(plain, "between passes", station.between_passes, times)
    plain.nominal = next((speed for speed in plain.speeds[1:] if speed > 0.0), plain.speeds[0])
    return plain


def _gauge(scenario: Scenario, station: Mill, ways: Routes, lane: int) -> float | None:
    if station.passes is None:
        return None
    if lane > 0 and (gauge := scenario.patterns[ways.patterns[lane - 1]].thickness) in station.passes:
        return gauge
    return next(iter(station.passes))


def _add(plain: Tables, name: str, law: Law, times: Sequence[float]) -> None:
    """Add a time that counts so often by lane: at once if it is constant, else drawn for each coil."""
    if isinstance(law, Constant):
        for lane, often in enumerate(times):
            plain.fixed_s[lane] += law.value * often
    else:
        plain.drawn.append((name, law, list(times)))


def _slitter(plain: Tables, scenario: Scenario, station: Slitter, ways: Routes) -> Tables:
    rings = [1.0] + [float(sum(scenario.patterns[name].rings.values())) for name in ways.patterns]
    rings += [1.0] * len(ways.products)
    plain.s_per_kg = [metres / station.speed for metres in plain.m_per_kg]
    ones = [1.0] * ways.lanes
    _add(plain, "thread", station.thread, ones)
    _add(plain, "stop and start", station.stop_start, ones)
    _add(plain, "per ring", station.per_ring, rings)
    return plain


def add_handling(plain: Tables, station: Station) -> None:
    """Add the lifts that no shared crane makes to a coil's own time."""
    handling = station.handling
    if handling is None:
        return
    ones = [1.0] * len(plain.fixed_s)
    if handling.needs is None or has_crane_moves(station):
        _add(plain, "load", handling.load, ones)
        _add(plain, "unload", handling.unload, ones)
    if handling.needs is None:
        _add(plain, "crane in", handling.crane_in, ones)


def has_crane_moves(station: Station) -> bool:
    """Tell whether a station names its crane's moves apart from its own loading and unloading."""
    handling = station.handling
    return handling is not None and (handling.crane_in.average > 0.0 or handling.crane_out_per_ring.average > 0.0)


def _pieces(
    plain: Tables, scenario: Scenario, station: Cutter | Profiler, ways: Routes, strips: Strips, metal: Material
) -> Tables:
    plain.speeds, plain.piece_kg = [0.0] * ways.lanes, [1.0] * ways.lanes
    plain.end_kg, plain.keep_share = [0.0] * ways.lanes, [1.0] * ways.lanes
    names = list(scenario.products)
    for lane in range(ways.lanes):
        place = ways.lane_product[lane]
        if place < 0:
            continue
        product = scenario.products[names[place]]
        length = product.length or 1.0
        kilograms = piece_mass(thickness=product.thickness, girth=product.girth, length=length, density=metal.density)
        plain.piece_kg[lane] = kilograms
        plain.m_per_kg[lane] = length / kilograms
        plain.speeds[lane] = _piece_rate(station, product.name, length, kilograms)
        if 0 < lane <= len(ways.patterns) and strips.width[lane] > 0.0:
            plain.keep_share[lane] = min(1.0, product.girth / strips.width[lane])
        if isinstance(station, Cutter) and station.end_scrap is not None:
            ends = station.end_scrap
            plain.end_kg[lane] = ends.value if ends.dimension == "mass" else ends.value * kilograms / length
    return plain


def _piece_rate(station: Cutter | Profiler, product: str, length: float, kilograms: float) -> float:
    """Return the pieces a second."""
    if isinstance(station, Profiler):
        speed = station.speed if isinstance(station.speed, float | int) else station.speed.get(product, 0.0)
        return 1.0 / piece_time(length, speed, gap=station.gap) if speed > 0.0 else 0.0
    if station.rate is not None:
        return station.rate.value / kilograms if station.rate.dimension == "mass" else station.rate.value
    return piece_rate(length, speed=station.speed, strokes=station.strokes)


def _step(plain: Tables, station: Step) -> Tables:
    if station.time is not None:
        _add(plain, "time", station.time, [1.0] * len(plain.fixed_s))
    elif station.rate is not None and station.rate.dimension == "coils":
        plain.fixed_s = [own + 1.0 / station.rate.value for own in plain.fixed_s]
    elif station.rate is not None:
        plain.nominal = station.rate.value
        plain.s_per_kg = [1.0 / station.rate.value] * len(plain.fixed_s)
    return plain
