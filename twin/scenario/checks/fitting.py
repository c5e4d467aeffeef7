"""What each kind of station draws and gives must fit the stores it names, and it must have what that needs."""

from __future__ import annotations

from collections.abc import Iterator

from twin.scenario.building import Draft
from twin.scenario.checks.flow import Link, holds, links
from twin.scenario.faults import Placed, Problem
from twin.scenario.models import Caster, Cutter, Mill, Profiler, Step, Store, Supply

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


def check(found: Draft) -> list[Placed]:
    """Return every problem between a station and the stores it draws on and gives to."""
    problems: list[Placed] = []
    for link in links(found):
        problems += _stores(found, link)
        problems += [(("stations", link.station, key), problem) for key, problem in _needs(found, link)]
    return problems


def _stores(found: Draft, link: Link) -> Iterator[Placed]:
    here = ("stations", link.station)
    source, to = holds(found, link.source), holds(found, link.to)
    raw = found.raw["stations"][link.station]
    if not TAKES[link.kind] and raw.get("from") is not None:
        yield (*here, "from"), Problem(f"a {link.kind} draws on no store", f"{raw['from']}", way_out="Leave from out")
    elif source and TAKES[link.kind] and source not in TAKES[link.kind]:
        yield (*here, "from"), _misfit(link, "take", link.source, source, TAKES[link.kind])
    if to and to not in GIVES[link.kind]:
        yield (*here, "to"), _misfit(link, "give", link.to, to, GIVES[link.kind])
    if link.kind == "step" and source and to and source != to:
        message = f"a step hands on what it takes, but '{link.source}' holds {source} and '{link.to}' {to}"
        yield (*here, "to"), Problem(message, f"{link.to}", source, f"Give to a store of {source}")
    if link.kind in ("supply", "furnace") and raw.get("to") is None:
        yield (*here, "to"), Problem(f"a {link.kind} must give to a store", way_out="Add to: name of a store")


def _misfit(link: Link, verb: str, store: str | None, holds: str, fitting: tuple[str, ...]) -> Problem:
    what = " or ".join(fitting)
    message = f"a {link.kind} cannot {verb} {holds}, but '{store}' holds {holds}"
    return Problem(message, f"{store}", what, f"Name a store of {what}")


def _needs(found: Draft, link: Link) -> Iterator[tuple[str, Problem]]:
    """Yield the key and problem of what a station lacks, or has too much, for what it draws and gives."""
    station = found.parts.get("stations", {}).get(link.station)
    source, to = holds(found, link.source), holds(found, link.to)
    if isinstance(station, Caster | Mill):
        yield from _winding(station, source, to)
    if isinstance(station, Caster) and to == "strip":
        yield from _stopping(station)
    if isinstance(station, Step) and station.time is not None and (source or to) in ("metal", "strip", "pieces"):
        message = f"time is per coil, but this step works on {source or to}"
        yield "time", Problem(message, limit="rate", way_out="Give rate in place of time")
    if isinstance(station, Cutter | Profiler) and source == "strip" and len(station.makes or ()) != 1:
        message = f"a {station.kind} that draws on strip makes one product"
        yield "makes", Problem(message, limit="one product", way_out="Write makes: [product]")
    if isinstance(station, Supply) and link.to is not None:
        yield from _endless(station, found.parts.get("stores", {}).get(link.to))


def _winding(station: Caster | Mill, source: str | None, to: str | None) -> Iterator[tuple[str, Problem]]:
    winds = to == "coils" and (isinstance(station, Caster) or source == "strip")
    if winds and station.coil is None:
        yield "coil", Problem(f"coil is missing: the {station.kind} winds coils", way_out="Add coil: {mass: 4.9 t}")
    if station.coil is not None and not winds and to is not None:
        why = "it gives strip" if to == "strip" else "it draws on coils"
        yield "coil", Problem(f"the {station.kind} winds no new coil, {why}", way_out="Leave coil out")


def _stopping(caster: Caster) -> Iterator[tuple[str, Problem]]:
    can_slow = caster.speed.slowest < caster.speed.nominal
    if can_slow and not caster.patience and not caster.restart.takes.average:
        message = "a caster that stops at a full looper must take some time before it casts again"
        yield "restart", Problem(message, "0 s", "above 0 s", "Give patience, or restart: {takes: 3.5 h}")


def _endless(supply: Supply, store: Store | None) -> Iterator[tuple[str, Problem]]:
    if supply.every is None and supply.limit is None and store is not None and store.capacity is None:
        message = f"a supply that always has a coil ready would fill '{store.name}' without end"
        yield "every", Problem(message, way_out="Give every or limit here, or a capacity to the store")
