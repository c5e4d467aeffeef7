"""The state at the start must fit the line: stock its stores, sets their number, machines what they can be doing."""

from __future__ import annotations

from collections.abc import Iterator

from twin.scenario.building import Draft
from twin.scenario.faults import Path, Placed, Problem, did_you_mean
from twin.scenario.models import MachineNow, Mill, RollsNow, Start, Station, Stock, Store


def check(found: Draft) -> list[Placed]:
    """Return every problem of the state at the start."""
    start = found.parts.get("start")
    if not isinstance(start, Start):
        return []
    problems: list[Placed] = []
    for name, stock in start.stores.items():
        store = found.parts.get("stores", {}).get(name)
        if store is not None:
            problems += _stock(found, stock, store, ("start", "stores", name))
    stations = found.parts.get("stations", {})
    for name, rolls in start.rolls.items():
        if name in stations:
            problems += _rolls(rolls, stations[name], ("start", "rolls", name))
    for name, machines in start.machines.items():
        if name in stations:
            problems += _machines(machines, stations[name], ("start", "machines", name))
    return problems


def _stock(found: Draft, stock: Stock, store: Store, path: Path) -> Iterator[Placed]:
    wanted = store.holds if store.holds in ("coils", "pieces") else "mass"
    bare = isinstance(_raw(found, path), int | float) or stock.by
    if stock.dimension != wanted and not (bare and wanted != "mass" and stock.dimension != "mass"):
        message = f"'{store.name}' holds {store.holds}, so its stock is a {'mass' if wanted == 'mass' else 'number'}"
        yield (
            path,
            Problem(message, f"{_raw(found, path)}", wanted, f"Write {'20 t' if wanted == 'mass' else f'12 {wanted}'}"),
        )
        return
    if store.capacity is not None and stock.amount > store.capacity:
        unit, size = ("t", 1e3) if wanted == "mass" else (wanted, 1.0)
        message = (
            f"more lies in '{store.name}' than it can hold: {stock.amount / size:g} of {store.capacity / size:g} {unit}"
        )
        yield (
            path,
            Problem(
                message, f"{stock.amount / size:g} {unit}", f"at most {store.capacity / size:g} {unit}", "Lower it"
            ),
        )
    known = (*found.names("products"), *found.names("patterns"))
    for name, _ in stock.by:
        if name not in known:
            way_out = did_you_mean(name, known, "patterns or products")
            yield (*path, name), Problem(f"there is no pattern or product '{name}'", name, way_out=way_out)


def _raw(found: Draft, path: Path) -> object:
    here: object = found.raw
    for step in path:
        here = here.get(step) if isinstance(here, dict) else None
    return here


def _rolls(now: RollsNow, station: Station, path: Path) -> Iterator[Placed]:
    rolls = station.rolls if isinstance(station, Mill) else None
    if rolls is None:
        yield path, Problem(f"'{station.name}' has no rolls", station.name, way_out="Name a mill with rolls")
        return
    if now.sets is not None and rolls.sets is not None and now.sets.total != rolls.sets - 1:
        message = f"{now.sets.total} sets are told of, but beside the one on the mill there are {rolls.sets - 1}"
        yield (*path, "sets"), Problem(message, f"{now.sets.total}", f"{rolls.sets - 1}", "Tell of every set once")
    limit = rolls.change_after
    if limit is not None and now.used.dimension != limit.dimension and now.used.value:
        message = f"used is a {now.used.dimension}, but change_after is a {limit.dimension}"
        yield (*path, "used"), Problem(message, limit=limit.dimension, way_out="Give both in km, or both in t")


def _machines(machines: tuple[MachineNow, ...], station: Station, path: Path) -> Iterator[Placed]:
    met: set[int] = set()
    for number, now in enumerate(machines):
        here = (*path, number)
        if now.machine > station.machines:
            message = f"'{station.name}' has {station.machines} machines, there is no number {now.machine}"
            yield (
                (*here, "machine"),
                Problem(message, f"{now.machine}", f"1 to {station.machines}", "Name one that exists"),
            )
        if now.machine in met:
            yield (
                (*here, "machine"),
                Problem(f"machine {now.machine} is told of twice", f"{now.machine}", way_out="Keep one"),
            )
        met.add(now.machine)
        reasons = [failure.reason for failure in station.failures]
        if now.reason is not None and now.reason not in reasons:
            way_out = did_you_mean(now.reason, reasons, "reasons") if reasons else "Leave reason out"
            yield (
                (*here, "reason"),
                Problem(f"'{station.name}' has no failure '{now.reason}'", now.reason, way_out=way_out),
            )
        if now.state == "changing rolls" and not (isinstance(station, Mill) and station.rolls is not None):
            yield (*here, "state"), Problem(f"'{station.name}' has no rolls to change", now.state, way_out="Write idle")
