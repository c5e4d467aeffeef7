"""How a value is read: each kind of field has a marker that turns text into SI numbers and says what may be written."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from twin.scenario.faults import Problem, Refusal, refuse
from twin.scenario.law_text import parse_law
from twin.scenario.laws import Constant, Law
from twin.scenario.quantities import COUNTS, KINDS, RATES, Amount, Rate, parse, si
from twin.scenario.weekly import parse_local


class Marker:
    """What a field needs to know to read its value; also says in words and in JSON Schema what may be written."""

    def read(self, value: object, info: ValidationInfo | None) -> object:
        """Return the value in SI, or raise a refusal."""
        raise NotImplementedError

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        raise NotImplementedError

    def words(self) -> str:
        """Return what may be written, in a few words for the reference."""
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return self.schema()


def _currency(info: ValidationInfo | None) -> str | None:
    return info.context.get("currency") if info is not None and isinstance(info.context, dict) else None


_LIMITS: dict[str, tuple[str, str]] = {
    "time": ("0 s", "100 years"),
    "length": ("0 m", "1000000 km"),
    "mass": ("0 kg", "1000000 t"),
    "temperature": ("0 K", "3000 degC"),
    "speed": ("0 m/s", "5000 m/min"),
    "mass rate": ("0 t/h", "10000 t/h"),
    "piece rate": ("0 pieces/min", "10000 pieces/min"),
    "coil rate": ("0 coils/h", "10000 coils/h"),
    "stroke rate": ("0 strokes/min", "10000 strokes/min"),
    "power": ("0 kW", "1000 MW"),
    "density": ("100 kg/m3", "25000 kg/m3"),
    "heat": ("1 kJ/kg", "2000 kJ/kg"),
    "heat capacity": ("50 J/(kg K)", "5000 J/(kg K)"),
    "stress": ("1 MPa", "10 GPa"),
    "expansion": ("0 1/K", "0.001 1/K"),
    "share": ("0 %", "100 %"),
    "number": ("0", "1000000"),
    "coils": ("0 coils", "1000000 coils"),
    "pieces": ("0 pieces", "1000000000 pieces"),
    "changes": ("0 changes", "1000000 changes"),
}


@dataclass(frozen=True)
class Quantity(Marker):
    """A quantity of one kind, within limits; ``above`` keeps the low limit itself out."""

    kind: str
    low: str = ""
    high: str = ""
    above: bool = False

    def read(self, value: object, info: ValidationInfo | None) -> float:
        """Return the SI value."""
        amount = parse(value, (self.kind,), _currency(info))
        self.check(value, amount.value)
        return amount.value

    def limits(self) -> tuple[str, str]:
        """Return the lowest and the highest value as text; empty where there is none."""
        low, high = _LIMITS.get(self.kind, ("", ""))
        return self.low or low, self.high or high

    def check(self, value: object, number: float) -> None:
        """Refuse a number outside the limits."""
        low, high = self.limits()
        bottom = 0.0 if low == "0" else si(low, self.kind) if low else float("-inf")
        if number < bottom or (self.above and number == bottom):
            word = "above" if self.above else "at least"
            message = f"'{value}' is too little: it must be {word} {low}"
            raise refuse(message, value=value, limit=f"{word} {low}", way_out="Check the number and its unit")
        if high and number > si(high, self.kind):
            message = f"'{value}' is too much: at most {high} is taken"
            raise refuse(message, value=value, limit=f"at most {high}", way_out="Check the number and its unit")

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        bare = self.kind == "number" or self.kind in COUNTS
        return {"type": ["string", "number"] if bare else "string", "description": self.words()}

    def words(self) -> str:
        """Return what may be written."""
        return f"{self.kind}, like {KINDS[self.kind].example}"


@dataclass(frozen=True)
class Whole(Marker):
    """A whole number, with or without its noun (``5`` or ``5 sets``); ``unlimited`` gives None where allowed."""

    low: int = 0
    high: int = 1000
    noun: str = ""
    unlimited: bool = False

    def read(self, value: object, info: ValidationInfo | None) -> int | None:
        """Return the number, or None for ``unlimited``."""
        if self.unlimited and value == "unlimited":
            return None
        text = value.removesuffix(self.noun).strip() if isinstance(value, str) and self.noun else value
        try:
            number = parse(text, ("number",)).value
        except Refusal:
            number = math.inf
        if not math.isfinite(number) or number != int(number):
            raise refuse(f"'{value}' is not a whole number", value=value, limit=self.words(), way_out=self._way_out())
        if not self.low <= number <= self.high:
            message = f"'{value}' must be from {self.low} to {self.high}"
            raise refuse(message, value=value, limit=self.words(), way_out=self._way_out())
        return int(number)

    def _way_out(self) -> str:
        return f"Write a {self.words()}"

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        return {"type": ["integer", "string"], "description": self.words()}

    def words(self) -> str:
        """Return what may be written."""
        return f"whole number from {self.low} to {self.high}" + (" or unlimited" if self.unlimited else "")


@dataclass(frozen=True)
class AmountOf(Marker):
    """A quantity of one of several kinds; becomes an :class:`Amount`."""

    kinds: tuple[str, ...]
    above: bool = True

    def read(self, value: object, info: ValidationInfo | None) -> Amount:
        """Return the SI value and its kind."""
        amount = parse(value, self.kinds, _currency(info))
        Quantity(amount.dimension, above=self.above).check(value, amount.value)
        return amount

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        bare = any(kind in COUNTS for kind in self.kinds)
        return {"type": ["string", "number"] if bare else "string", "description": self.words()}

    def words(self) -> str:
        """Return what may be written."""
        return " or ".join(f"{kind}, like {KINDS[kind].example}" for kind in self.kinds)


@dataclass(frozen=True)
class RateOf(AmountOf):
    """An output per time; becomes a :class:`Rate`."""

    def read(self, value: object, info: ValidationInfo | None) -> Rate:  # type: ignore[override]
        """Return the SI value and what is counted."""
        amount = super().read(value, info)
        return Rate(amount.value, RATES[amount.dimension])


@dataclass(frozen=True)
class LawOf(Marker):
    """A law of one of the given kinds, or a plain quantity, which is a constant."""

    kinds: tuple[str, ...]
    above: bool = False

    def read(self, value: object, info: ValidationInfo | None) -> Law:
        """Return the law in SI."""
        law = parse_law(value, self.kinds)
        if isinstance(law, Constant):
            Quantity(law.dimension, above=self.above).check(value, law.value)
        else:
            Quantity(law.dimension, above=self.above).check(f"{value}", law.average)
        return law

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        return {"$ref": "#/$defs/Law"}

    def words(self) -> str:
        """Return what may be written."""
        return "law or " + " or ".join(f"{kind}, like {KINDS[kind].example}" for kind in self.kinds)


@dataclass(frozen=True)
class OneOrMore(Marker):
    """A name or a list of names; becomes a tuple."""

    def read(self, value: object, info: ValidationInfo | None) -> tuple[str, ...]:
        """Return the names."""
        names = [value] if isinstance(value, str) else value
        if not isinstance(names, list | tuple) or not all(isinstance(name, str) for name in names):
            raise refuse(f"'{value}' is not a name or a list of names", value=value, way_out="Write [name, name]")
        if len(set(names)) != len(names):
            raise refuse("a name stands twice in the list", value=value, way_out="Write each name once")
        return tuple(names)

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        return {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}

    def words(self) -> str:
        """Return what may be written."""
        return "name or list of names"


@dataclass(frozen=True)
class NumberBy(Marker):
    """Reads a mapping of names to numbers of one kind."""

    one: Marker
    what: str

    def read(self, value: object, info: ValidationInfo | None) -> dict[str, Any]:
        """Return the numbers by name."""
        if not isinstance(value, Mapping):
            raise refuse(f"'{value}' is not a mapping", value=value, way_out=f"Write {{{self.what}: ...}}")
        found: dict[str, Any] = {}
        problems: list[Problem] = []
        for name, own in value.items():
            try:
                found[str(name)] = self.one.read(own, info)
            except Refusal as refusal:
                problems += [problem.below(str(name)) for problem in refusal.problems]
        if problems:
            raise Refusal(*problems)
        return found

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        return {"type": "object", "additionalProperties": self.one.schema()}

    def words(self) -> str:
        """Return what may be written."""
        return f"mapping of {self.what} to {self.one.words()}"


@dataclass(frozen=True)
class LocalTime(Marker):
    """Reads a local date and time."""

    def read(self, value: object, info: ValidationInfo | None) -> datetime:
        """Return the local time, without zone."""
        return parse_local(value)

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        return {"type": "string", "pattern": r"^\d{4}-\d\d-\d\d([ T]\d\d:\d\d(:\d\d)?)?$"}

    def words(self) -> str:
        """Return what may be written."""
        return "local date or time, like 2026-03-02 06:00"
