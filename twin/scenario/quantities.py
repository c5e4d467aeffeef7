"""Quantities as people write them, ``45 m/min`` or ``12 t``, turned into SI numbers, exactly, and back.

Factors are exact fractions, so that 0.7 mm and 700 um are the same number to the last bit. Legal definitions: the yard
and the pound of 1959 (0.9144 m, 0.453 592 37 kg); the year is 365.25 days. ``t`` is 1000 kg. A test compares the table
with an independent library of units.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from twin.scenario.faults import did_you_mean, refuse, shorten

Dimension = tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity where several kinds are allowed: its SI value and which kind it is (time, length, mass ...)."""

    value: float
    dimension: str


@dataclass(frozen=True, slots=True)
class Rate:
    """An output per second and what is counted: mass (kg/s), pieces (1/s) or coils (1/s)."""

    value: float
    dimension: str


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its dimension, the unit in which examples and limits are shown, an example."""

    name: str
    dimension: Dimension
    unit: str
    example: str


def _dimension(**powers: int) -> Dimension:
    return tuple(sorted((base, power) for base, power in powers.items() if power))


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("time", _dimension(time=1), "s", "35 min"),
        Kind("length", _dimension(length=1), "m", "0.7 mm"),
        Kind("mass", _dimension(mass=1), "kg", "12 t"),
        Kind("temperature", _dimension(temperature=1), "K", "510 degC"),
        Kind("speed", _dimension(length=1, time=-1), "m/s", "45 m/min"),
        Kind("mass rate", _dimension(mass=1, time=-1), "kg/s", "6.5 t/h"),
        Kind("piece rate", _dimension(pieces=1, time=-1), "pieces/s", "28 pieces/min"),
        Kind("coil rate", _dimension(coils=1, time=-1), "coils/s", "3 coils/h"),
        Kind("stroke rate", _dimension(strokes=1, time=-1), "strokes/s", "30 strokes/min"),
        Kind("power", _dimension(mass=1, length=2, time=-3), "W", "85 kW"),
        Kind("density", _dimension(mass=1, length=-3), "kg/m3", "7140 kg/m3"),
        Kind("heat", _dimension(length=2, time=-2), "J/kg", "112 kJ/kg"),
        Kind("heat capacity", _dimension(length=2, time=-2, temperature=-1), "J/(kg K)", "390 J/(kg K)"),
        Kind("stress", _dimension(mass=1, length=-1, time=-2), "Pa", "180 MPa"),
        Kind("expansion", _dimension(temperature=-1), "1/K", "22e-6 1/K"),
        Kind("money", _dimension(money=1), "", "3400 kEUR"),
        Kind("price", _dimension(money=1, mass=-1), "", "190 EUR/t"),
        Kind("share", (), "1", "1.2 %"),
        Kind("number", (), "1", "0.85"),
        Kind("coils", _dimension(coils=1), "coils", "46 coils"),
        Kind("pieces", _dimension(pieces=1), "pieces", "25 pieces"),
        Kind("changes", _dimension(changes=1), "changes", "24 changes"),
    )
}
COUNTS = ("coils", "pieces", "changes")
"""Kinds that may be written as a bare number, because a count needs no unit."""
RATES = {"mass rate": "mass", "piece rate": "pieces", "coil rate": "coils"}

_YARD, _POUND, _YEAR = Fraction("0.9144"), Fraction("0.45359237"), Fraction("31557600")
_FEET = _YARD / 3

_SIZES: tuple[tuple[Dimension, tuple[tuple[str, Fraction | int], ...]], ...] = (
    (
        _dimension(time=1),
        (
            ("s sec second seconds", 1),
            ("ms", Fraction(1, 1000)),
            ("min minute minutes", 60),
            ("h hr hour hours", 3600),
            ("d day days", 86400),
            ("wk week weeks", 604800),
            ("month months", _YEAR / 12),
            ("year years", _YEAR),
        ),
    ),
    (
        _dimension(length=1),
        (
            ("m", 1),
            ("km", 1000),
            ("cm", Fraction(1, 100)),
            ("mm", Fraction(1, 1000)),
            ("um \u00b5m \u03bcm", Fraction(1, 10**6)),
            ("mil", _FEET / 12000),
            ("in inch inches", _FEET / 12),
            ("ft foot feet", _FEET),
            ("yd yard yards", _YARD),
            ("mi mile miles", _YARD * 1760),
        ),
    ),
    (
        _dimension(mass=1),
        (
            ("kg", 1),
            ("g", Fraction(1, 1000)),
            ("t tonne tonnes", 1000),
            ("kt", 10**6),
            ("lb lbs pound pounds", _POUND),
            ("short_ton short_tons", _POUND * 2000),
            ("long_ton long_tons", _POUND * 2240),
        ),
    ),
    (_dimension(mass=1, length=2, time=-3), (("W", 1), ("kW", 1000), ("MW", 10**6))),
    (
        _dimension(mass=1, length=2, time=-2),
        (
            ("J", 1),
            ("kJ", 1000),
            ("MJ", 10**6),
            ("GJ", 10**9),
            ("Wh", 3600),
            ("kWh", 3_600_000),
            ("MWh", 3_600_000_000),
        ),
    ),
    (_dimension(mass=1, length=-1, time=-2), (("Pa", 1), ("kPa", 1000), ("MPa", 10**6), ("GPa", 10**9))),
    (_dimension(temperature=1), (("K", 1),)),
    (_dimension(), (("%", Fraction(1, 100)),)),
    (_dimension(pieces=1), (("pieces piece pcs", 1),)),
    (_dimension(coils=1), (("coils coil", 1),)),
    (_dimension(changes=1), (("changes change", 1),)),
    (_dimension(strokes=1), (("strokes stroke", 1),)),
)
UNITS: dict[str, tuple[Fraction, Dimension]] = {
    symbol: (Fraction(size), dimension)
    for dimension, sizes in _SIZES
    for names, size in sizes
    for symbol in names.split()
}
_DEGREES = {
    "degC": (Fraction(1), Fraction("273.15")),
    "degF": (Fraction(5, 9), Fraction("459.67") * 5 / 9),
    "K": (Fraction(1), Fraction(0)),
}
_DEGREE_NAMES = {"degC": "degC", "°C": "degC", "C": "degC", "degF": "degF", "°F": "degF", "F": "degF", "K": "K"}

_QUANTITY = re.compile(
    r"\s*([+-]?(?:[0-9]{1,30}(?:\.[0-9]{0,30})?|\.[0-9]{1,30})(?:[eE][+-]?[0-9]{1,2})?)\s*(.*?)\s*\Z"
)
_UNIT_PART = re.compile(r"([^\W\d]+(?:_[^\W\d]+)*|%)(?:\^?(-?[1-4])|([²³]))?")
_MONEY = re.compile(r"(k|M)?([A-Z]{3})")
_POWERS = {"²": 2, "³": 3}


def _times(left: Dimension, right: Dimension, power: int) -> Dimension:
    powers = dict(left)
    for base, exponent in right:
        powers[base] = powers.get(base, 0) + exponent * power
    return _dimension(**powers)


def _symbol(text: str, currency: str | None) -> tuple[Fraction, Dimension]:
    if text in UNITS:
        return UNITS[text]
    money = _MONEY.fullmatch(text)
    if money and currency and money[2] == currency:
        return Fraction({"k": 1000, "M": 10**6}.get(money[1] or "", 1)), _dimension(money=1)
    if money:
        known = f"the file's currency is {currency}" if currency else "the file declares no currency under 'money'"
        raise refuse(f"'{text}' is not a unit, and {known}", value=text, way_out="Write money in that currency")
    raise refuse(f"the unit '{text}' is not known", value=text, way_out=did_you_mean(text, UNITS, "units"))


@lru_cache(maxsize=1024)
def unit_size(text: str, currency: str | None = None) -> tuple[Fraction, Dimension]:
    """Return the size of a unit in SI and its dimension; ``t/h``, ``kWh/t``, ``kg/m3`` and ``J/(kg K)`` are read.

    Raises :class:`Refusal` when a part is unknown. Temperatures that have an offset are not units in this sense.
    """
    size, dimension = Fraction(1), _dimension()
    if text.count("/") > 2 or len(text) > 60:
        raise refuse(f"'{text[:60]}' is not a unit", value=text, way_out="Write one such as t/h or m/min")
    for place, group in enumerate(text.split("/")):
        parts = group.strip().strip("()").replace("*", " ").replace("·", " ").split()
        if not parts:
            raise refuse(f"'{text}' is not a unit", value=text, way_out="Write one such as t/h or m/min")
        for part in parts:
            if part == "1" and place == 0:
                continue
            found = _UNIT_PART.fullmatch(part)
            if not found:
                raise refuse(f"'{text}' is not a unit", value=text, way_out="Write one such as t/h or m/min")
            power = int(found[2] or _POWERS.get(found[3], 1)) * (-1 if place else 1)
            own_size, own_dimension = _symbol(found[1], currency)
            size, dimension = size * own_size**power, _times(dimension, own_dimension, power)
    return size, dimension


def examples(kinds: Iterable[str]) -> str:
    """Return examples of the kinds for a message: '45 m/min' or '28 pieces/min'."""
    return " or ".join(f"'{KINDS[kind].example}'" for kind in kinds)


def _bare(value: object, number: Fraction, kinds: tuple[str, ...]) -> tuple[Fraction, str]:
    for kind in kinds:
        if kind == "number" or kind in COUNTS or (number == 0 and kind == "share"):
            return number, kind
    what = " or ".join(kinds)
    raise refuse(f"'{value}' has no unit, a {what} needs one", value=value, way_out=f"Write {examples(kinds)}")


def _with_unit(
    value: str, number: Fraction, unit: str, kinds: tuple[str, ...], currency: str | None
) -> tuple[Fraction, str]:
    if "temperature" in kinds and unit in _DEGREE_NAMES:
        factor, offset = _DEGREES[_DEGREE_NAMES[unit]]
        return number * factor + offset, "temperature"
    size, dimension = unit_size(unit, currency)
    for kind in kinds:
        if KINDS[kind].dimension == dimension:
            return number * size, kind
    what = " or ".join(f"a number of {kind}" if kind in COUNTS else f"a {kind}" for kind in kinds)
    raise refuse(f"'{value}' is not {what}", value=value, way_out=f"Write {examples(kinds)}")


def _hint(text: str, kinds: tuple[str, ...]) -> str:
    if re.match(r"\s*-?\d+,\d", text[:40]):
        return f"Write the decimal sign as a point: {examples(kinds)}"
    if re.match(r"\s*\d{1,2}:\d\d", text[:40]):
        return f"That is a time of day; write {examples(kinds)}"
    return f"Write {examples(kinds)}"


def parse(value: object, kinds: tuple[str, ...], currency: str | None = None) -> Amount:
    """Return the SI value of a quantity and which of ``kinds`` it is; raise :class:`Refusal` with the way out."""
    return _parse_text(value, kinds, currency) if isinstance(value, str) else _parse(value, kinds, currency)


@lru_cache(maxsize=4096)
def _parse_text(value: str, kinds: tuple[str, ...], currency: str | None) -> Amount:
    return _parse(value, kinds, currency)


def _parse(value: object, kinds: tuple[str, ...], currency: str | None) -> Amount:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise refuse(f"'{value}' is not a quantity", value=value, way_out=f"Write {examples(kinds)}")
    if isinstance(value, float) and not math.isfinite(value):
        raise refuse(f"'{value}' is not a number that can be used", value=value, way_out=f"Write {examples(kinds)}")
    text = value if isinstance(value, str) else repr(value)
    found = _QUANTITY.match(text) if len(text) <= 120 else None
    unit = found[2] if found else ""
    if not found or (unit[:1] in tuple(",.:;'0123456789") and not unit.startswith("1/")):
        raise refuse(f"'{shorten(text)}' is not a quantity", value=value, way_out=_hint(text, kinds))
    number = Fraction(found[1])
    exact, kind = (
        _with_unit(text.strip(), number, found[2], kinds, currency) if found[2] else _bare(text, number, kinds)
    )
    return Amount(float(exact), kind)


def si(text: str, kind: str) -> float:
    """Return the SI value of a quantity written in the program itself."""
    return parse(text, (kind,)).value
