"""A plant's own words for its log: file names, columns, units, decimal sign, zone, production day, reason words.

```yaml
zone: Europe/Vienna
decimal: ","
thousands: "."
times: "%d.%m.%Y %H:%M"
production_day: "06:00"      # what was written for a night belongs to the day before
tables:
  stops: {file: Stillstand.csv, columns: {station: Anlage, start: Beginn, end: Ende, reason: Grund}}
  output: {file: Produktion.csv, columns: {good_kg: Menge}, units: {good_kg: t}}
stations: {WW1: mill}
reasons: {Walzenwechsel: roll change, Sonstiges: null}
tare_kg: {slitter: 45}
```
"""

from __future__ import annotations

import re
from collections.abc import Mapping as AnyMapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from twin.logs.faults import LogError, refuse
from twin.logs.schema import TABLES, column
from twin.scenario.faults import Refusal, ScenarioError, did_you_mean
from twin.scenario.quantities import parse, unit_size

NAME = "mapping.yaml"
_KEYS = ("zone", "decimal", "thousands", "times", "production_day", "tables", "stations", "reasons", "tare_kg")
_TABLE_KEYS = ("file", "sheet", "separator", "encoding", "columns", "units")
_ENCODINGS = ("utf-8", "utf-16", "cp1252", "latin-1", "cp1250", "cp437", "cp850")


@dataclass(frozen=True)
class TableMapping:
    """Where one table stands and what its columns are called."""

    file: str = ""
    sheet: str = ""
    separator: str = ""
    encoding: str = "utf-8"
    columns: AnyMapping[str, str] = field(default_factory=dict)
    """Our name of a column -> the plant's."""
    factors: AnyMapping[str, float] = field(default_factory=dict)
    """What a number of the plant must be multiplied with."""


@dataclass(frozen=True)
class Mapping:
    """How a plant's log is to be read; everything left out is as the published schema has it."""

    zone: str = ""
    decimal: str = "."
    thousands: str = ""
    times: str = ""
    production_day_s: float = 0.0
    """When the production day begins [s after midnight]; times before it carry the date of the day before."""
    tables: AnyMapping[str, TableMapping] = field(default_factory=dict)
    stations: AnyMapping[str, str] = field(default_factory=dict)
    reasons: AnyMapping[str, str] = field(default_factory=dict)
    """The plant's word -> the scenario's; an empty one is a word that is known to say nothing."""
    tare_kg: AnyMapping[str, float] = field(default_factory=dict)
    """Station -> mass of stillage or core that was weighed with the metal [kg]."""

    def table(self, name: str) -> TableMapping:
        """Return the mapping of a table; an empty one where the file says nothing of it."""
        return self.tables.get(name, TableMapping())


def load_mapping(path: Path) -> Mapping:
    """Return the mapping of a file.

    Raises
    ------
    LogError : With line and way out.
    """
    from twin.scenario.reading import read_text, read_tree

    try:
        tree = read_tree(read_text(path), str(path))
    except ScenarioError as fault:
        raise refuse(str(path), fault.faults[0].line, fault.faults[0].message, fault.faults[0].way_out) from None
    return mapping_of(tree.value if tree.value is not None else {}, str(path))


def mapping_of(raw: Any, file: str = "<mapping>") -> Mapping:  # noqa: ANN401 - whatever the file holds
    """Return a mapping from plain values, checked.

    Raises
    ------
    LogError : An unknown key, zone, unit or column.
    """
    own = _dict(raw, _KEYS, file, "the mapping")
    zone = str(own.get("zone", ""))
    if zone:
        check_zone(zone, file)
    decimal, thousands = str(own.get("decimal", ".")), str(own.get("thousands", ""))
    if decimal not in (".", ",") or thousands not in ("", ".", ",", " ", "'", "\u202f", "\u00a0"):
        raise refuse(file, 0, "decimal is '.' or ',', thousands one of . , blank '", "Write decimal: ','")
    if decimal == thousands:
        raise refuse(file, 0, f"'{decimal}' cannot be the decimal sign and the sign of thousands")
    return Mapping(
        zone,
        decimal,
        thousands,
        str(own.get("times", "")),
        _clock(own.get("production_day", "00:00"), file),
        {name: _table(name, one, file) for name, one in _dict(own.get("tables", {}), TABLES, file, "tables").items()},
        _words(own.get("stations", {}), file, "stations"),
        _words(own.get("reasons", {}), file, "reasons"),
        {name: _mass(mass, file) for name, mass in _dict(own.get("tare_kg", {}), None, file, "tare_kg").items()},
    )


def check_zone(zone: str, file: str) -> ZoneInfo:
    """Return a time zone by its name.

    Raises
    ------
    LogError : No such zone.
    """
    try:
        return ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        raise refuse(file, 0, f"there is no time zone '{zone[:60]}'", "Write one such as Europe/Vienna") from None


def _dict(raw: Any, known: Any, file: str, what: str) -> dict[str, Any]:  # noqa: ANN401
    if not isinstance(raw, AnyMapping):
        raise refuse(file, 0, f"{what} must be a mapping of names")
    for key in raw:
        if known is not None and key not in known:
            raise refuse(file, 0, f"{what} has no key '{key}'", did_you_mean(str(key), tuple(known), "keys"))
    return {str(key): value for key, value in raw.items()}


def _words(raw: Any, file: str, what: str) -> dict[str, str]:  # noqa: ANN401
    return {key: "" if value is None else str(value).strip() for key, value in _dict(raw, None, file, what).items()}


def _table(name: str, raw: Any, file: str) -> TableMapping:  # noqa: ANN401
    own = _dict(raw, _TABLE_KEYS, file, f"tables.{name}")
    names = [one.name for one in TABLES[name]]
    columns = _words(_dict(own.get("columns", {}), names, file, f"{name}.columns"), file, "columns")
    units = _words(_dict(own.get("units", {}), names, file, f"{name}.units"), file, "units")
    separator, encoding = str(own.get("separator", "")), str(own.get("encoding", "utf-8")).lower()
    if separator not in ("", ",", ";", "\t", "|"):
        raise refuse(file, 0, f"tables.{name}.separator is '{separator}'", "Write one of , ; | or a tab")
    if encoding not in _ENCODINGS:
        raise refuse(file, 0, f"the encoding '{encoding}' is not read", f"Write one of {', '.join(_ENCODINGS)}")
    factors = {key: _factor(name, key, unit, file) for key, unit in units.items()}
    return TableMapping(str(own.get("file", "")), str(own.get("sheet", "")), separator, encoding, columns, factors)


def _factor(table: str, name: str, unit: str, file: str) -> float:
    own = column(table, name)
    try:
        size, dimension = unit_size(unit)
        if not own.unit:
            raise refuse(file, 0, f"{table}.{name} has no unit")
        ours, wanted = unit_size(own.unit)
    except Refusal as refusal:
        problem = refusal.problems[0]
        raise refuse(file, 0, f"{table}.{name}: {problem.message}", problem.way_out) from None
    if dimension != wanted:
        raise refuse(file, 0, f"{table}.{name}: '{unit}' is no unit for it", f"Write one such as {own.unit}")
    return float(size / ours)


def _clock(value: object, file: str) -> float:
    found = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", str(value))
    if found is None:
        raise refuse(file, 0, f"production_day is '{value}'", "Write a time of day such as '06:00', in quotes")
    return 3600.0 * int(found[1]) + 60.0 * int(found[2])


def _mass(value: object, file: str) -> float:
    try:
        mass = float(value) if isinstance(value, int | float) else parse(value, ("mass",)).value
    except Refusal as refusal:
        raise LogError(*(refuse(file, 0, one.message, one.way_out).faults[0] for one in refusal.problems)) from None
    if not 0.0 <= mass < 1e5:
        raise refuse(file, 0, f"a tare of {mass:g} kg cannot be")
    return mass
