"""The kinds of fields a scenario is made of: quantities, laws, activities, names, read from text into SI numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Self

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    PrivateAttr,
    ValidationInfo,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from twin.scenario.faults import refuse
from twin.scenario.laws import Constant, Law, is_law, parse_law
from twin.scenario.quantities import COUNTS, KINDS, RATES, Amount, Rate, parse, si

NO_TIME = Constant(0.0, "time")
NO_MASS = Constant(0.0, "mass")
NO_PIECES = Constant(0.0, "pieces")


class Part(BaseModel):
    """A part of a scenario: never changed after it was read, and no key that is not known."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, hide_input_in_errors=True, coerce_numbers_to_str=True
    )


class Named(Part):
    """A part that has a name: the key it stands under."""

    _name: str = PrivateAttr("")

    @property
    def name(self) -> str:
        """Return the key that the part stands under in its file."""
        return self._name

    def called(self, name: str) -> Self:
        """Give the part its name, once, when it is read."""
        self._name = name
        return self


def give_names(parts: dict[str, Any]) -> dict[str, Any]:
    """Tell every part of a mapping the key it stands under."""
    return {key: part.called(key) for key, part in parts.items()}


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
        bottom = si(low, self.kind) if low else float("-inf")
        if number < bottom or (self.above and number == bottom):
            word = "above" if self.above else "at least"
            raise refuse(f"'{value}' is too little: it must be {word} {low}", value=value, limit=f"{word} {low}")
        if high and number > si(high, self.kind):
            raise refuse(f"'{value}' is too much: at most {high} is taken", value=value, limit=f"at most {high}")

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
        number = parse(text, ("number",)).value
        if number != int(number):
            raise refuse(f"'{value}' is not a whole number", value=value, limit=self.words())
        if not self.low <= number <= self.high:
            raise refuse(f"'{value}' must be from {self.low} to {self.high}", value=value, limit=self.words())
        return int(number)

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


Duration = Annotated[float, Quantity("time")]
Length = Annotated[float, Quantity("length")]
Thickness = Annotated[float, Quantity("length", "0.01 mm", "300 mm")]
Width = Annotated[float, Quantity("length", "1 mm", "5 m")]
PieceLength = Annotated[float, Quantity("length", "1 mm", "1 km")]
Mass = Annotated[float, Quantity("mass")]
CoilMass = Annotated[float, Quantity("mass", "1 kg", "100 t")]
Temperature = Annotated[float, Quantity("temperature")]
Speed = Annotated[float, Quantity("speed", above=True)]
Power = Annotated[float, Quantity("power")]
Share = Annotated[float, Quantity("share")]
Factor = Annotated[float, Quantity("number", "0", "1", above=True)]
Coils = Annotated[float, Quantity("coils")]
Pieces = Annotated[float, Quantity("pieces")]
TimeLaw = Annotated[Law, LawOf(("time",))]
MassLaw = Annotated[Law, LawOf(("mass",))]
PiecesLaw = Annotated[Law, LawOf(("pieces",))]
CoilsLaw = Annotated[Law, LawOf(("coils",), above=True)]
Interval = Annotated[Amount, AmountOf(("length", "mass", "time", "coils"))]
Run = Annotated[Amount, AmountOf(("length", "mass"))]
Names = Annotated[tuple[str, ...], OneOrMore()]


def shorthand(key: str) -> Callable[[object], object]:
    """Return the reader of a part that may be written as the value of its main key alone."""

    def expand(value: object) -> object:
        whole = isinstance(value, Mapping) and not is_law(value)
        return value if whole or isinstance(value, BaseModel) else {key: value}

    return expand


class Activity(Part):
    """Something that takes time, may scrap metal and may need a shared crane or crew. A law alone is its ``time``."""

    time: TimeLaw = Field(description="How long it takes.", examples=["48 min"])
    scrap: MassLaw = Field(NO_MASS, description="Metal scrapped each time.", examples=["0.06 t"])
    needs: str | None = Field(None, description="The shared crane or crew that it takes.", examples=["setters"])

    @model_validator(mode="before")
    @classmethod
    def _expand(cls, value: object) -> object:
        return shorthand("time")(value)


NO_ACTIVITY = Activity.model_construct(time=NO_TIME, scrap=NO_MASS, needs=None)


def shared_names(part: BaseModel, place: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Yield the place and name of every shared crane or crew that a part needs."""
    for key, value in part:
        if key == "needs" and isinstance(value, str):
            yield (*place, key), value
        elif isinstance(value, BaseModel):
            yield from shared_names(value, (*place, key))
        elif isinstance(value, tuple):
            for number, item in enumerate(value):
                if isinstance(item, BaseModel):
                    yield from shared_names(item, (*place, key, number))
