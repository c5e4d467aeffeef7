"""The flow of a line: stations and stores must feed each other and lead somewhere."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from twin.scenario.building import Draft
from twin.scenario.faults import Placed, Problem
from twin.scenario.stations import KINDS


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


def check(found: Draft, *, sound: bool = True) -> list[Placed]:
    """Return every problem of the flow; stores without use are told only where stations name the right ones."""
    chain = links(found)
    problems = [*_loops(chain), *_pairs(found, chain)]
    if sound and not problems and found.whole("stations", "stores"):
        problems += [*_unfed(found, chain), *_undrawn(found, chain)]
    return problems


def holds(found: Draft, store: str | None) -> str | None:
    """Return what a store holds, or None where that could not be read."""
    part = found.parts.get("stores", {}).get(store)
    return part.holds if part is not None else None


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
        if link.to is not None and link.to not in drawn and holds(found, link.to) == "metal":
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
