"""Which strip comes to a station, and how the coils of a pattern run through the line."""

from __future__ import annotations

from dataclasses import dataclass, field

from twin.scenario.building import Draft
from twin.scenario.checks.flow import Link, links
from twin.scenario.models import Caster, Pattern, Supply


@dataclass(slots=True)
class Sources:
    """The strip that comes to a station: widths and thicknesses as cast or supplied, and if a mill was passed."""

    widths: set[float] = field(default_factory=set)
    thicknesses: set[float] = field(default_factory=set)
    rolled: bool = False

    @property
    def thinnest(self) -> float | None:
        """Return the thinnest strip that comes, or None when it is not known."""
        return min(self.thicknesses, default=None)


def sources(found: Draft) -> dict[str, Sources]:
    """Return for each station what strip can come to it."""
    chain = links(found)
    into = {name: Sources() for name in found.names("stations")}
    for station in found.parts.get("stations", {}).values():
        if isinstance(station, Caster):
            _spread(chain, station.to, (station.width, station.thickness), into)
        elif isinstance(station, Supply):
            _spread(chain, station.to, (station.coil.width, station.coil.thickness), into)
    return into


def _spread(chain: list[Link], store: str | None, strip: tuple[float, float], into: dict[str, Sources]) -> None:
    """Tell every station behind a store what strip comes, and whether it came through a mill."""
    todo, met = [(store, False)], set[tuple[str | None, bool]]()
    while todo:
        place = todo.pop()
        if place in met or place[0] is None:
            continue
        met.add(place)
        for link in (link for link in chain if link.source == place[0]):
            here = into[link.station]
            here.widths.add(strip[0])
            here.thicknesses.add(strip[1])
            here.rolled = here.rolled or place[1]
            todo.append((link.to, place[1] or link.kind == "mill"))


@dataclass(slots=True)
class Route:
    """How far the coils of one pattern come: stations that take them, by product; stores where each product ends."""

    stations: dict[str, set[str]] = field(default_factory=dict)
    ends: dict[str, set[str]] = field(default_factory=dict)
    formed: dict[str, set[str]] = field(default_factory=dict)
    slit: bool = False


def route(found: Draft, chain: list[Link], name: str, pattern: Pattern) -> Route:
    """Return how the coils of a pattern and its rings can run from where they come into the line to where they end."""
    run = Route()
    for link in chain:
        station = found.parts["stations"][link.station]
        starts = link.kind == "caster" or (link.source is None and link.kind != "furnace")
        if starts and not (link.kind == "supply" and station.coil.pattern not in (None, name)):
            for product in pattern.rings:
                _follow(found, chain, link, pattern, product, run, formed=False)
    return run


def _follow(
    found: Draft, chain: list[Link], link: Link, pattern: Pattern, product: str, run: Route, *, formed: bool
) -> None:
    if product in run.stations.setdefault(link.station, set()):
        return
    run.stations[link.station].add(product)
    run.slit = run.slit or link.kind == "slitter"
    formed = formed or link.kind in ("cutter", "profiler")
    takers = [
        one for one in chain if one.source == link.to and link.to is not None and takes(found, one, pattern, product)
    ]
    for one in takers:
        _follow(found, chain, one, pattern, product, run, formed=formed)
    if not takers:
        run.ends.setdefault(product, set()).add(link.to or link.station)
        if formed:
            run.formed.setdefault(product, set()).add(link.to or link.station)


def takes(found: Draft, link: Link, pattern: Pattern, product: str) -> bool:
    """Tell whether a station takes the coil or the rings of a product of a pattern."""
    station = found.parts["stations"][link.station]
    if link.station in pattern.skips:
        return False
    if station.makes is not None:
        return product in station.makes or (
            link.kind not in ("cutter", "profiler") and bool(set(pattern.rings) & set(station.makes))
        )
    sold = found.parts["products"][product].sold if product in found.parts.get("products", {}) else "piece"
    return not (link.kind in ("cutter", "profiler") and sold == "coil")
