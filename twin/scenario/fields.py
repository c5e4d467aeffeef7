"""The kinds of fields a scenario is made of, and what all of its parts have in common."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Self

from pydantic import BaseModel, ConfigDict, Field, PrivateAttr, model_validator

from twin.scenario.laws import Constant, Law, is_law
from twin.scenario.markers import AmountOf, LawOf, OneOrMore, Quantity
from twin.scenario.quantities import Amount

NO_TIME = Constant(0.0, "time")
NO_MASS = Constant(0.0, "mass")
NO_PIECES = Constant(0.0, "pieces")


class Part(BaseModel):
    """A part of a scenario: never changed after it was read, and no key that is not known.

    A part with a ``SHORT`` key may be written as the value of that key alone: ``setup: 48 min``, ``crane: 1``.
    """

    SHORT: ClassVar[str] = ""

    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, hide_input_in_errors=True, coerce_numbers_to_str=True
    )

    @model_validator(mode="before")
    @classmethod
    def _from_short(cls, value: object) -> object:
        return cls.expanded(value)

    @classmethod
    def expanded(cls, value: object) -> object:
        """Return the full form of a part that was written in short."""
        if not cls.SHORT or isinstance(value, BaseModel) or (isinstance(value, Mapping) and not is_law(value)):
            return value
        return {cls.SHORT: value}


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


class Activity(Part):
    """Something that takes time, may scrap metal and may need a shared crane or crew. A law alone is its ``time``."""

    SHORT = "time"

    time: TimeLaw = Field(description="How long it takes.", examples=["48 min"])
    scrap: MassLaw = Field(NO_MASS, description="Metal scrapped each time.", examples=["0.06 t"])
    needs: str | None = Field(None, description="The shared crane or crew that it takes.", examples=["setters"])


NO_ACTIVITY = Activity.model_construct(time=NO_TIME, scrap=NO_MASS, needs=None)
