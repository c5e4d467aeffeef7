"""Which strip comes to a station, and how the coils of a pattern run through the line."""

from __future__ import annotations

from dataclasses import dataclass, field

from twin.scenario.building import Draft
from twin.scenario.checks.flow import Link, links
from twin.scenario.models import Caster, Pattern, Supply


@dataclass(slots=True)
class Sources:
    """The strip that comes to a station: thicknesses as cast or supplied, and if a mill was passed."""

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
            _spread(chain, station.to, station.thickness, into)
        elif isinstance(station, Supply):
            _spread(chain, station.to, station.coil.thickness, into)
    return into


def _spread(chain: list[Link], store: str | None, thickness: float, into: dict[str, Sources]) -> None:
    """Tell every station behind a store what strip comes, and whether it came through a mill."""
    todo, met = [(store, False)], set[tuple[str | None, bool]]()
    while todo:
        place = todo.pop()
        if place in met or place[0] is None:
            continue
        met.add(place)
        for link in (link for link in chain if link.source == place[0]):
            here = into[link.station]
            here.thicknesses.add(thickness)
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
                _Walk(found, chain, pattern, product, run).follow(link, slit=False, formed=False)
    return run


@dataclass(slots=True)
class _Walk:
    """Follows one product of a pattern through the line."""

    found: Draft
    chain: list[Link]
    pattern: Pattern
    product: str
    run: Route

    def follow(self, link: Link, *, slit: bool, formed: bool) -> None:
        """Go on from a station; ``slit`` and ``formed`` tell what has been done to the coil before it."""
        met = self.run.stations.setdefault(link.station, set())
        if self.product in met:
            return
        met.add(self.product)
        slit = slit or link.kind in ("slitter", "cutter", "profiler")
        self.run.slit = self.run.slit or link.kind == "slitter"
        formed = formed or link.kind in ("cutter", "profiler")
        takers = [one for one in self.chain if one.source == link.to and link.to is not None and self.takes(one, slit)]
        for one in takers:
            self.follow(one, slit=slit, formed=formed)
        if not takers:
            self.run.ends.setdefault(self.product, set()).add(link.to or link.station)
            if formed:
                self.run.formed.setdefault(self.product, set()).add(link.to or link.station)

    def takes(self, link: Link, slit: bool) -> bool:
        """Tell whether a station takes rings of the product, or mother coils of the pattern while it is not slit."""
        makes = self.found.parts["stations"][link.station].makes
        if slit:
            return link.kind != "slitter" and (makes is None or self.product in makes)
        if link.station in self.pattern.skips:
            return False
        if link.kind in ("cutter", "profiler"):
            slitters = {one.station for one in self.chain if one.source == link.source and one.kind == "slitter"}
            if len(self.pattern.rings) != 1 or not slitters <= set(self.pattern.skips):
                return False
        return makes is None or set(self.pattern.rings) <= set(makes)
