"""The flow of a line: stations and the stores between them must fit, feed each other and lead somewhere."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from twin.scenario.building import Draft, Placed
from twin.scenario.faults import Problem
from twin.scenario.stations import KINDS

TAKES = {
    "supply": (),
    "furnace": (),
    "caster": ("metal",),
    "mill": ("coils", "strip"),
    "slitter": ("coils",),
    "cutter": ("coils", "strip"),
    "profiler": ("coils", "strip", "pieces"),
    "step": ("metal", "strip", "coils", "pieces"),
}
GIVES = {
    "supply": ("coils",),
    "furnace": ("metal",),
    "caster": ("coils", "strip"),
    "mill": ("coils", "strip"),
    "slitter": ("coils",),
    "cutter": ("pieces", "coils"),
    "profiler": ("pieces", "coils"),
    "step": ("metal", "strip", "coils", "pieces"),
}
"""What a station of each kind may draw and give."""


@dataclass(frozen=True, slots=True)
class Link:
    """Where a station draws and gives, as far as it could be read."""

    station: str
    kind: str
    source: str | None
    to: str | None


def links(found: Draft) -> list[Link]:
    """Return how stations and stores hang together, stations with faults of their own among them."""
    stations = found.raw.get("stations")
    made = []
    for name, raw in (stations if isinstance(stations, Mapping) else {}).items():
        kind = raw.get("kind") if isinstance(raw, Mapping) else None
        if isinstance(raw, Mapping) and isinstance(kind, str) and kind in KINDS:
            made.append(Link(name, kind, _store(found, raw.get("from")), _store(found, raw.get("to"))))
    return made


def _store(found: Draft, name: object) -> str | None:
    return name if isinstance(name, str) and name in found.names("stores") else None


def check(found: Draft) -> list[Placed]:
    """Return every problem of the flow."""
    chain = links(found)
    problems = [*_kinds(found, chain), *_loops(chain), *_pairs(found, chain)]
    if not found.broken("stations"):
        problems += [*_unfed(found, chain), *_undrawn(found, chain)]
    return problems


def _holds(found: Draft, store: str | None) -> str | None:
    part = found.parts.get("stores", {}).get(store)
    return part.holds if part is not None else None


def _kinds(found: Draft, chain: list[Link]) -> Iterator[Placed]:
    for link in chain:
        here = ("stations", link.station)
        source, to = _holds(found, link.source), _holds(found, link.to)
        raw = found.raw["stations"][link.station]
        if not TAKES[link.kind] and raw.get("from") is not None:
            yield (
                (*here, "from"),
                Problem(f"a {link.kind} draws on no store", f"{raw['from']}", way_out="Leave from out"),
            )
        elif source and TAKES[link.kind] and source not in TAKES[link.kind]:
            yield (*here, "from"), _misfit(link, "take", link.source, source, TAKES[link.kind])
        if to and to not in GIVES[link.kind]:
            yield (*here, "to"), _misfit(link, "give", link.to, to, GIVES[link.kind])
        if link.kind == "step" and source and to and source != to:
            message = f"a step hands on what it takes, but '{link.source}' holds {source} and '{link.to}' {to}"
            yield (*here, "to"), Problem(message, f"{link.to}", source, f"Give to a store of {source}")
        if link.kind in ("supply", "furnace") and raw.get("to") is None:
            yield (*here, "to"), Problem(f"a {link.kind} must give to a store", way_out="Add to: name of a store")
        yield from _own_form(found, link, source, to)


def _misfit(link: Link, verb: str, store: str | None, holds: str, fitting: tuple[str, ...]) -> Problem:
    what = " or ".join(fitting)
    message = f"a {link.kind} cannot {verb} {holds}, but '{store}' holds {holds}"
    return Problem(message, f"{store}", what, f"Name a store of {what}")


def _own_form(found: Draft, link: Link, source: str | None, to: str | None) -> Iterator[Placed]:
    station = found.parts.get("stations", {}).get(link.station)
    here = ("stations", link.station)
    if station is None:
        return
    if link.kind == "caster" and to == "coils" and station.coil is None:
        yield (*here, "coil"), Problem("coil is missing: the caster winds coils", way_out="Add coil: {mass: 4.9 t}")
    if link.kind == "caster" and to == "strip" and station.coil is not None:
        yield (*here, "coil"), Problem("the caster gives strip, so it winds no coil", way_out="Leave coil out")
    if link.kind == "step" and station.time is not None and (source or to) in ("metal", "strip", "pieces"):
        message = f"time is per coil, but this step works on {source or to}"
        yield (*here, "time"), Problem(message, limit="rate", way_out="Give rate in place of time")


def _loops(chain: list[Link]) -> Iterator[Placed]:
    after: dict[str, list[Link]] = {}
    for link in chain:
        if link.source is not None and link.to is not None:
            after.setdefault(link.source, []).append(link)
    done: set[str] = set()
    for store in after:
        loop = _loop_from(store, after, done, [])
        if loop:
            ring = " -> ".join(word for link in loop for word in (f"{link.source}", link.station))
            message = f"the flow runs in a loop: {ring} -> {loop[-1].to}"
            yield (
                ("stations", loop[-1].station, "to"),
                Problem(message, f"{loop[-1].to}", way_out="Give to a store further on"),
            )


def _loop_from(store: str, after: Mapping[str, list[Link]], done: set[str], trail: list[Link]) -> list[Link]:
    """Return the links of a loop that is met from a store on, or none; stores once searched are not searched again."""
    met = [link.source for link in trail]
    if store in met:
        return trail[met.index(store) :]
    if store in done:
        return []
    for link in after.get(store, ()):
        loop = _loop_from(f"{link.to}", after, done, [*trail, link])
        if loop:
            done.add(store)
            return loop
    done.add(store)
    return []


def _unfed(found: Draft, chain: list[Link]) -> Iterator[Placed]:
    fed = {link.to for link in chain}
    drawn = {link.source for link in chain}
    stocked = getattr(found.parts.get("start"), "stores", {})
    for name in found.names("stores"):
        if name in fed or name in stocked:
            continue
        if name not in drawn:
            yield (
                ("stores", name),
                Problem(f"no station gives to or draws on '{name}'", name, way_out="Leave it out or use it"),
            )
            continue
        message = f"no station gives to '{name}', so those that draw on it would never work"
        yield (
            ("stores", name),
            Problem(message, name, way_out="Add a station that gives to it, or give it stock under start"),
        )


def _undrawn(found: Draft, chain: list[Link]) -> Iterator[Placed]:
    drawn = {link.source for link in chain}
    for link in chain:
        if link.to is not None and link.to not in drawn and _holds(found, link.to) == "metal":
            message = f"the flow ends in '{link.to}': no station draws molten metal from it"
            yield ("stores", link.to), Problem(message, link.to, way_out="Add a caster that draws on it")


def _pairs(found: Draft, chain: list[Link]) -> Iterator[Placed]:
    """Yield a problem where machines on both sides of a store of strip or pieces are not one to one."""
    for name, store in found.parts.get("stores", {}).items():
        feeders = [link.station for link in chain if link.to == name]
        drawers = [link.station for link in chain if link.source == name]
        if store.holds not in ("strip", "pieces") or not feeders or not drawers:
            continue
        if len(feeders) > 1 or len(drawers) > 1:
            message = (
                f"'{name}' holds {store.holds}, so one station gives to it and one draws on it, "
                f"not {len(feeders)} and {len(drawers)}"
            )
            yield ("stores", name), Problem(message, name, "one and one", "Make a store for each pair")
            continue
        sides = [found.parts.get("stations", {}).get(station) for station in (feeders[0], drawers[0])]
        if sides[0] is not None and sides[1] is not None and sides[0].machines != sides[1].machines:
            message = (
                f"machines joined by {store.holds} are paired one to one, but '{feeders[0]}' has {sides[0].machines} "
                f"and '{drawers[0]}' has {sides[1].machines}"
            )
            yield (
                ("stations", drawers[0], "machines"),
                Problem(message, f"{sides[1].machines}", f"{sides[0].machines}", "Make them equal"),
            )
