"""Writes docs/scenario.md: every key with what may be written, its default, its meaning and an example.

Run ``python -m twin.scenario.reference`` after a change of the models; a test fails while the page is not current.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from twin.scenario.fields import Part
from twin.scenario.grammar import Key, keys, parts
from twin.scenario.markers import AmountOf, LawOf, Quantity
from twin.scenario.models import Scenario
from twin.scenario.quantities import KINDS as QUANTITY_KINDS
from twin.scenario.quantities import UNITS, Dimension
from twin.scenario.reference_text import CALENDARS, FAULTS, INTRODUCTION, LAWS, PATHS, START, UNITS_INTRODUCTION
from twin.scenario.station import StationPart

PAGE = Path(__file__).parents[2] / "docs" / "scenario.md"
_LEGEND = """A key in **bold** must be there. *(part)* leads to a table of its own; *(names)* is a mapping of your own
names to such parts, *(list)* a list of them.
"""
_MORE_NAMES = {UNITS["kWh"][1]: "energy", UNITS["strokes"][1]: "strokes"}
_SHARED = tuple(key.key for key in keys(StationPart))


def page() -> str:
    """Return the whole page."""
    sections = [INTRODUCTION, UNITS_INTRODUCTION + _units(), LAWS, CALENDARS, "\n".join(_keys()), START, PATHS, FAULTS]
    return "\n\n".join(section.strip() for section in sections) + "\n"


def _units() -> str:
    """Return the table of units, by kind of quantity."""
    rows = ["| what | units |", "|---|---|"]
    names = {kind.dimension: name for name, kind in reversed(QUANTITY_KINDS.items())} | _MORE_NAMES
    by_dimension: dict[Dimension, list[str]] = {}
    for symbol, (_, dimension) in UNITS.items():
        by_dimension.setdefault(dimension, []).append(f"`{symbol}`")
    for dimension, symbols in by_dimension.items():
        degrees = ["`degC`", "`degF`"] if "`K`" in symbols else []
        rows.append(f"| {names[dimension]} | {' '.join(symbols + degrees)} |")
    return "\n".join(rows)


def _keys() -> Iterator[str]:
    yield "## All keys\n"
    yield _LEGEND
    yield from _table("Scenario", Scenario, ())
    yield from _table("Every station", StationPart, ())
    for part in parts():
        if part is not Scenario:
            yield from _table(_title(part), part, _SHARED if issubclass(part, StationPart) else ())


def _title(part: type[Part]) -> str:
    return f"Station: {part.__name__.lower()}" if issubclass(part, StationPart) else _words(part.__name__)


def _words(name: str) -> str:
    """Return the name of a part as words: RollShop becomes Roll shop."""
    spaced = "".join(f" {sign.lower()}" if sign.isupper() else sign for sign in name).strip()
    return spaced[0].upper() + spaced[1:]


def _table(title: str, part: type[Part], left_out: tuple[str, ...]) -> Iterator[str]:
    yield f"### {title}\n"
    yield f"{(part.__doc__ or '').splitlines()[0]}\n"
    if part.SHORT:
        yield f"May be written in short as the value of `{part.SHORT}` alone.\n"
    yield "| key | what | left out | meaning | example |"
    yield "|---|---|---|---|---|"
    for key in keys(part):
        if key.key not in left_out:
            yield _row(key)
    yield ""


def _row(key: Key) -> str:
    name = f"**{key.key}**" if key.required else key.key
    example = f"`{key.key}: {key.examples[0]}`" if key.examples else ""
    return f"| {name} | {_what(key)} | {_default(key)} | {key.description} | {example} |"


def _what(key: Key) -> str:
    if key.key == "stations":
        return "*(names)* station"
    if key.part is not None:
        link = f"[{_words(key.part.__name__).lower()}](#{_words(key.part.__name__).lower().replace(' ', '-')})"
        form = {"": "part", "list": "list", "names": "names", "names of lists": "names"}[key.form]
        return f"*({form})* {link}"
    if isinstance(key.marker, Quantity):
        return ", ".join(word for word in (key.marker.kind, " to ".join(filter(None, key.marker.limits()))) if word)
    if isinstance(key.marker, LawOf | AmountOf):
        kinds = " or ".join(key.marker.kinds)
        return f"law or {kinds}" if isinstance(key.marker, LawOf) else kinds
    if key.marker is not None:
        return key.marker.words()
    if key.choices:
        return " or ".join(f"`{choice}`" for choice in key.choices)
    return {"capacity": "mass or number", "set": "mapping of path to value"}.get(key.key, "text")


def _default(key: Key) -> str:
    """Return what holds when the key is left out."""
    default = key.default
    if key.required or default is None or default in ("", (), {}) or isinstance(default, Part):
        return "-"
    if key.examples and isinstance(default, float | int):
        return _number(key, float(default))
    if isinstance(default, str):
        return f"`{default}`"
    value = getattr(default, "value", None)
    return "0" if value == 0.0 else _special(key)


def _number(key: Key, default: float) -> str:
    special = {"charge": "20 degC", "length": "4 weeks"}
    return f"`{special[key.key]}`" if key.key in special and default else f"{default:g}"


def _special(key: Key) -> str:
    return {"start": "a Monday, 00:00", "rule": "`at limit`", "ramp": "`[100 %]`"}.get(key.key, "-")


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
