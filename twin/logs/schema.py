"""The tables of a plant's log: names, columns, what each holds. The same as a Frictionless table schema."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Kind = Literal["text", "time", "number"]


@dataclass(frozen=True)
class Column:
    """One column: what it holds, its unit, and whether a log may do without it."""

    name: str
    kind: Kind
    about: str
    unit: str = ""
    needed: bool = False


def _text(name: str, about: str, *, needed: bool = False) -> Column:
    return Column(name, "text", about, needed=needed)


def _time(name: str, about: str, *, needed: bool = False) -> Column:
    return Column(name, "time", about, needed=needed)


def _number(name: str, about: str, unit: str = "") -> Column:
    return Column(name, "number", about, unit)


_STATION = _text("station", "Name of the station, as in the scenario.", needed=True)
_MACHINE = Column("machine", "number", "Number of the machine within the station, from 1; 1 if left out.")

TABLES: dict[str, tuple[Column, ...]] = {
    "stops": (
        _STATION,
        _MACHINE,
        _time("start", "When the machine stood still.", needed=True),
        _time("end", "When it ran again; empty where nobody wrote it down."),
        _text("reason", "Why, in the plant's words; the mapping turns them into the scenario's."),
        _text("note", "Anything else that was written down."),
        _time("version", "When the row was last changed; of two rows with one key the later holds."),
    ),
    "output": (
        _STATION,
        _MACHINE,
        _time("time", "When the coil, ring or lot was finished.", needed=True),
        _text("coil", "Number of the coil or ring that was worked."),
        _text("product", "What was made, as in the scenario."),
        _number("pieces", "Good pieces."),
        _number("good_kg", "Good mass.", "kg"),
        _number("scrap_kg", "Scrap at this station.", "kg"),
        _time("version", "When the row was last changed."),
    ),
    "rolls": (
        _text("station", "Name of the mill.", needed=True),
        _text("set", "Number of the roll set."),
        _time("on", "When it went on the mill.", needed=True),
        _time("off", "When it came off; empty while it is on the mill."),
        _number("km", "What it rolled.", "km"),
        _text("why", "limit, damage, idle or planned."),
        _number("diameter_mm", "Diameter after grinding.", "mm"),
    ),
    "coils": (
        _text("coil", "Number of the coil or ring.", needed=True),
        _text("parent", "Number of the coil it was slit from; empty for a mother coil."),
        _STATION,
        _time("start", "When the station began with it.", needed=True),
        _time("end", "When it was done.", needed=True),
        _number("mass_kg", "Net mass when done.", "kg"),
        _number("length_m", "Length when done.", "m"),
        _number("thickness_mm", "Thickness when done.", "mm"),
        _number("width_mm", "Width when done.", "mm"),
    ),
    "stock": (
        _time("time", "When it was counted.", needed=True),
        _text("store", "Name of the store, as in the scenario.", needed=True),
        Column("amount", "number", "What lay there: kg, coils or pieces, as the store holds.", needed=True),
    ),
}
NEEDED_TABLES = ("stops", "output")
KEYS: dict[str, tuple[str, ...]] = {
    "stops": ("station", "machine", "start"),
    "output": ("station", "machine", "time", "coil", "product"),
    "rolls": ("station", "set", "on"),
    "coils": ("coil", "station", "start"),
    "stock": ("time", "store"),
}
_FRICTIONLESS = {"text": "string", "time": "datetime", "number": "number"}


def column(table: str, name: str) -> Column:
    """Return a column of a table by its name."""
    return next(one for one in TABLES[table] if one.name == name)


def data_package() -> dict[str, Any]:
    """Return the tables as a Frictionless data package, one resource a table."""
    return {
        "name": "passline-log",
        "title": "A plant's log, as passline reads it",
        "resources": [_resource(name, columns) for name, columns in TABLES.items()],
    }


def _resource(name: str, columns: tuple[Column, ...]) -> dict[str, Any]:
    fields = [_field(one) for one in columns]
    schema = {"fields": fields, "missingValues": [""], "primaryKey": list(KEYS[name])}
    return {"name": name, "path": f"{name}.csv", "format": "csv", "encoding": "utf-8", "schema": schema}


def _field(one: Column) -> dict[str, Any]:
    told: dict[str, Any] = {"name": one.name, "type": _FRICTIONLESS[one.kind], "description": one.about}
    if one.kind == "time":
        told["format"] = "any"
    if one.unit:
        told["unit"] = one.unit
    if one.needed:
        told["constraints"] = {"required": True}
    return told
