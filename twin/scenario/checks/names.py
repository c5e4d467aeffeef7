"""Every name that a part uses must stand in its section."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from pydantic import BaseModel

from twin.scenario.building import Draft
from twin.scenario.faults import Path, Placed, Problem, did_you_mean
from twin.scenario.models import PLAIN, MachineNow

SECTIONS = {
    "calendar": "calendars",
    "needs": "shared",
    "source": "stores",
    "to": "stores",
    "makes": "products",
    "pattern": "patterns",
    "product": "products",
    "rings": "products",
    "hold_above": "stations",
    "skips": "stations",
}
"""The section in which the names of a key stand."""
WORDS = {
    "calendars": "calendar",
    "shared": "shared crane or crew",
    "stores": "store",
    "products": "product",
    "patterns": "pattern",
    "stations": "station",
}


def check(found: Draft) -> list[Placed]:
    """Return a problem for every name that is used but does not exist, or that must tell two things apart."""
    problems: list[Placed] = []
    for section in ("stations", "shared", "patterns"):
        for name, part in found.parts.get(section, {}).items():
            problems += _used(found, part, (section, name))
    for section in ("plan", "start"):
        if isinstance(found.parts.get(section), BaseModel):
            problems += _used(found, found.parts[section], (section,))
    for number, order in enumerate(found.parts.get("orders", ())):
        problems += _used(found, order, ("orders", number))
    return problems + list(_reasons(found)) + list(_money(found)) + list(_starts(found))


def unknown(found: Draft, section: str, name: str, path: Path) -> Iterator[Placed]:
    """Yield the problem of a name that does not stand in its section."""
    known = found.names(section)
    if name in known or (section == "calendars" and name == "always"):
        return
    listed = (*known, "always") if section == "calendars" else known
    message = f"there is no {WORDS[section]} '{name}'"
    yield path, Problem(message, name, ", ".join(listed), did_you_mean(name, listed, section))


@lru_cache(maxsize=256)
def _keys(kind: type[BaseModel]) -> tuple[tuple[str, str, str | None], ...]:
    """Return field, key in the file and section of the names of each field of a kind of part."""
    return tuple((field, own.alias or field, SECTIONS.get(field)) for field, own in kind.model_fields.items())


def _used(found: Draft, part: BaseModel, path: Path) -> Iterator[Placed]:
    for field, key, section in _keys(type(part)):
        value = getattr(part, field)
        if type(value) in PLAIN and (section is None or value is None):
            continue
        if isinstance(value, BaseModel):
            yield from _used(found, value, (*path, key))
        elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            for number, item in enumerate(value):
                yield from _used(found, item, (*path, key, number))
        elif section is not None and isinstance(value, str):
            yield from unknown(found, section, value, (*path, key))
        elif section is not None and isinstance(value, dict | tuple):
            for number, name in enumerate(value):
                step = name if isinstance(value, dict) else number
                yield from unknown(found, section, str(name), (*path, key, step))


def _reasons(found: Draft) -> Iterator[Placed]:
    """Yield a problem for every failure with the reason of one before it: its random numbers are drawn by that name."""
    for name, station in found.parts.get("stations", {}).items():
        met: set[str] = set()
        for number, failure in enumerate(station.failures):
            if failure.reason in met:
                message = f"'{name}' has two failures with the reason '{failure.reason}'"
                way_out = "Name them apart, or make one of them whose times are a mixture"
                here = ("stations", name, "failures", number, "reason")
                yield here, Problem(message, failure.reason, way_out=way_out)
            met.add(failure.reason)


def _money(found: Draft) -> Iterator[Placed]:
    money = found.parts.get("money")
    known = (*found.names("products"), "coil", "sheet", "piece")
    for key in ("contribution", "demand"):
        for name in getattr(money, key, {}):
            if name not in known:
                message = f"there is no product '{name}', nor is anything sold as that"
                yield ("money", key, name), Problem(message, name, way_out=did_you_mean(name, known, "products"))


def _starts(found: Draft) -> Iterator[Placed]:
    start = found.parts.get("start")
    for key, section in (("stores", "stores"), ("rolls", "stations"), ("machines", "stations")):
        for name in getattr(start, key, {}):
            yield from unknown(found, section, name, ("start", key, name))
    for name, machines in getattr(start, "machines", {}).items():
        for number, machine in enumerate(machines):
            yield from _pattern_or_product(found, machine, ("start", "machines", name, number))


def _pattern_or_product(found: Draft, machine: MachineNow, path: Path) -> Iterator[Placed]:
    known = (*found.names("patterns"), *found.names("products"))
    for key, name in (("set_for", machine.set_for), ("holds", machine.holds)):
        if name is not None and name not in known:
            yield (
                (*path, key),
                Problem(f"there is no pattern or product '{name}'", name, way_out=did_you_mean(name, known, "names")),
            )
