"""Stations that slit, cut and form, and any other step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, model_validator
from pydantic.json_schema import JsonSchemaValue

from twin.scenario.faults import Problem, Refusal, refuse
from twin.scenario.fields import (
    NO_ACTIVITY,
    NO_PIECES,
    NO_TIME,
    Activity,
    CoilsLaw,
    Interval,
    Part,
    PiecesLaw,
    Share,
    Speed,
    TimeLaw,
)
from twin.scenario.markers import AmountOf, Marker, Quantity, RateOf, Whole
from twin.scenario.quantities import Amount, Rate
from twin.scenario.station import StationPart


class Knives(Part):
    """Changing the knives of a slitter."""

    every: Interval = Field(
        description="What passes between two changes: length, mass, time or coils.", examples=["75 km"]
    )
    takes: TimeLaw = Field(description="How long it takes.", examples=["45 min"])
    needs: str | None = Field(None, description="The shared crane or crew that it takes.", examples=["setters"])


class Slitter(StationPart):
    """Slits a mother coil into rings."""

    kind: Literal["slitter"] = Field(description="The kind of station.", examples=["slitter"])
    setup: Activity = Field(NO_ACTIVITY, description="Setting up when the pattern changes.", examples=["48 min"])
    speed: Speed = Field(description="Speed of the strip.", examples=["125 m/min"])
    thread: TimeLaw = Field(NO_TIME, description="Threading a coil.", examples=["4 min"])
    stop_start: TimeLaw = Field(NO_TIME, description="Lost in starting and stopping, per coil.", examples=["0.8 min"])
    per_ring: TimeLaw = Field(
        NO_TIME, description="Strapping and labelling, per ring; the machine stands.", examples=["1.4 min"]
    )
    knives: Knives | None = Field(None, description="Changing knives.")
    coils_per_pattern: CoilsLaw | None = Field(
        None,
        description="Coils slit before the pattern may change; left out: as long as coils of the pattern are ready.",
        examples=["{uniform: {low: 4, high: 8}}"],
    )


class Cutter(StationPart):
    """Cuts strip to length."""

    kind: Literal["cutter"] = Field(description="The kind of station.", examples=["cutter"])
    rate: Annotated[Rate, RateOf(("piece rate", "mass rate"))] | None = Field(
        None, description="Pieces or mass per time; or give speed, strokes or both.", examples=["28 pieces/min"]
    )
    speed: Speed | None = Field(None, description="Speed of the strip.", examples=["60 m/min"])
    strokes: Annotated[float, Quantity("stroke rate", above=True)] | None = Field(
        None, description="Cuts per time.", examples=["30 strokes/min"]
    )
    coil_change: Activity = Field(NO_ACTIVITY, description="Changing the ring or coil.", examples=["6.5 min"])
    width_change: Activity = Field(NO_ACTIVITY, description="Changing to another product.", examples=["12 min"])
    end_scrap: Annotated[Amount, AmountOf(("length", "mass"), above=False)] | None = Field(
        None, description="Ends lost per ring or coil.", examples=["0.5 m"]
    )

    @model_validator(mode="after")
    def _cuts_somehow(self) -> Cutter:
        if (self.rate is None) == (self.speed is None and self.strokes is None):
            raise refuse(
                "a cutter needs either rate, or speed or strokes, not both",
                way_out="Write rate: 28 pieces/min, or speed: 60 m/min, or strokes: 30 strokes/min",
            )
        return self


@dataclass(frozen=True)
class SpeedByProduct(Marker):
    """Reads one speed, or a speed for each product."""

    def read(self, value: object, info: ValidationInfo | None) -> float | dict[str, float]:
        """Return the speed, or the speeds by product."""
        speed = Quantity("speed", above=True)
        if not isinstance(value, Mapping):
            return speed.read(value, info)
        if not value:
            raise refuse("no product is named", way_out="Write one speed, or {product: speed}")
        speeds: dict[str, float] = {}
        problems: list[Problem] = []
        for product, own in value.items():
            try:
                speeds[str(product)] = speed.read(own, info)
            except Refusal as refusal:
                problems += [problem.below(str(product)) for problem in refusal.problems]
        if problems:
            raise Refusal(*problems)
        return speeds

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        return {
            "anyOf": [
                {"type": "string"},
                {"type": "object", "minProperties": 1, "additionalProperties": {"type": "string"}},
            ]
        }

    def words(self) -> str:
        """Return what may be written."""
        return "speed, like 40 m/min, or a mapping of product to speed"


class Profiler(StationPart):
    """Forms gutters, pipes or sheets from blanks or strip."""

    kind: Literal["profiler"] = Field(description="The kind of station.", examples=["profiler"])
    speed: Annotated[float | dict[str, float], SpeedByProduct()] = Field(
        description="Speed of the strip, one or by product.", examples=["{gutter 333: 40 m/min, gutter 250: 42 m/min}"]
    )
    gap: Annotated[float, Quantity("length", "0 m", "100 m")] = Field(
        0.0, description="Distance between pieces on the line.", examples=["0.2 m"]
    )
    tool_change: Activity = Field(NO_ACTIVITY, description="Changing tools for another product.", examples=["90 min"])
    coil_change: Activity = Field(
        NO_ACTIVITY, description="Changing the ring, where it is fed by rings.", examples=["8 min"]
    )
    first_off: PiecesLaw = Field(NO_PIECES, description="Pieces scrapped after a tool change.", examples=["5 pieces"])
    scrap: Share = Field(0.0, description="Share of the pieces that is scrap.", examples=["1.8 %"])
    bundle: Annotated[int, Whole(1, 100_000, "pieces")] = Field(
        1,
        description="Pieces that leave together as a bundle. Checked only: in a run pieces leave one by one.",
        examples=["25 pieces"],
    )


class Step(StationPart):
    """Any other step."""

    kind: Literal["step"] = Field(description="The kind of station.", examples=["step"])
    time: TimeLaw | None = Field(
        None, description="Time per coil; or give rate.", examples=["{exponential: {mean: 20 min}}"]
    )
    rate: Annotated[Rate, RateOf(("mass rate", "piece rate", "coil rate"))] | None = Field(
        None, description="Output per time.", examples=["1 t/h"]
    )

    @model_validator(mode="after")
    def _works_somehow(self) -> Step:
        if (self.time is None) == (self.rate is None):
            raise refuse("a step needs either time or rate, not both", way_out="Keep one of time and rate")
        return self
