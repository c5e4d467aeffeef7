"""The mill and its pass schedules."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, model_validator
from pydantic.json_schema import JsonSchemaValue

from twin.scenario.faults import Problem, Refusal, refuse
from twin.scenario.fields import NO_TIME, CoilMass, Factor, Part, Share, Speed, TimeLaw
from twin.scenario.markers import Marker, Quantity
from twin.scenario.rolls import Rolls
from twin.scenario.station import StationPart


@dataclass(frozen=True, slots=True)
class MillPass:
    """One pass: thickness of the strip behind it [m] and the greatest speed of the strip behind it [m/s]."""

    thickness: float
    speed: float


@dataclass(frozen=True)
class PassSchedules(Marker):
    """Reads the passes of each gauge, ``0.70 mm: [5.2 mm @ 60 m/min, ...]``; the gauge becomes metres."""

    def read(self, value: object, info: ValidationInfo | None) -> dict[float, tuple[MillPass, ...]]:
        """Return the passes by gauge in metres, in the order of the file."""
        if not isinstance(value, Mapping) or not value:
            raise refuse("passes are listed by gauge", value=value, way_out="Write {0.70 mm: [5.2 mm @ 60 m/min, ...]}")
        schedules: dict[float, tuple[MillPass, ...]] = {}
        problems: list[Problem] = []
        for gauge, passes in value.items():
            try:
                thickness = self._thickness(gauge)
                if thickness in schedules:
                    raise refuse(f"the gauge {gauge} stands twice", value=gauge, way_out="Keep one of them")
                schedules[thickness] = self._schedule(thickness, passes)
            except Refusal as refusal:
                problems += [problem.below(str(gauge)) for problem in refusal.problems]
        if problems:
            raise Refusal(*problems)
        return schedules

    def _thickness(self, value: object) -> float:
        return Quantity("length", "0.01 mm", "300 mm").read(value, None)

    def _schedule(self, gauge: float, passes: object) -> tuple[MillPass, ...]:
        if not isinstance(passes, list | tuple) or not 0 < len(passes) <= 40:
            raise refuse(
                "a gauge needs a list of 1 to 40 passes", value=passes, way_out="Write [5.2 mm @ 60 m/min, ...]"
            )
        read: list[MillPass] = []
        for number, item in enumerate(passes):
            try:
                read.append(self._pass(item))
            except Refusal as refusal:
                raise Refusal(*(problem.below(number) for problem in refusal.problems)) from None
            if number and read[number].thickness >= read[number - 1].thickness:
                raise refuse(
                    f"pass {number + 1} does not thin the strip: {read[number - 1].thickness * 1e3:g} mm to "
                    f"{read[number].thickness * 1e3:g} mm",
                    value=item,
                    limit=f"below {read[number - 1].thickness * 1e3:g} mm",
                    way_out="Every pass must give a thinner strip than the one before",
                    within=(number,),
                )
        if read[-1].thickness != gauge:
            raise refuse(
                f"the last pass gives {read[-1].thickness * 1e3:g} mm, but the gauge is {gauge * 1e3:g} mm",
                value=passes[-1],
                limit=f"{gauge * 1e3:g} mm",
                way_out="The last pass must give the gauge",
                within=(len(read) - 1,),
            )
        return tuple(read)

    def _pass(self, item: object) -> MillPass:
        ends: tuple[object, object]
        if isinstance(item, Mapping) and set(item) == {"thickness", "speed"}:
            ends = item["thickness"], item["speed"]
        elif isinstance(item, str) and item.count("@") == 1:
            thickness, speed = item.split("@")
            ends = thickness, speed
        else:
            raise refuse(f"'{item}' is not a pass", value=item, way_out="Write 5.2 mm @ 60 m/min")
        return MillPass(self._thickness(ends[0]), Quantity("speed", above=True).read(ends[1], None))

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        one = {
            "anyOf": [
                {"type": "string", "pattern": "^[^@]+@[^@]+$"},
                {
                    "type": "object",
                    "properties": {"thickness": {"type": "string"}, "speed": {"type": "string"}},
                    "required": ["thickness", "speed"],
                    "additionalProperties": False,
                },
            ]
        }
        return {
            "type": "object",
            "minProperties": 1,
            "additionalProperties": {"type": "array", "minItems": 1, "maxItems": 40, "items": one},
        }

    def words(self) -> str:
        """Return what may be written."""
        return "mapping of gauge to a list of passes, each `exit thickness @ speed`"


class WoundCoil(Part):
    """The coil that a mill in line with the caster winds."""

    mass: CoilMass = Field(description="Strip taken in for a coil, crop included.", examples=["4.9 t"])


class Mill(StationPart):
    """Rolls strip thinner in passes."""

    kind: Literal["mill"] = Field(description="The kind of station.", examples=["mill"])
    passes: Annotated[dict[float, tuple[MillPass, ...]], PassSchedules()] | None = Field(
        None,
        description="The passes of each gauge, exit thickness and greatest speed; or give `speed`.",
        examples=["{0.70 mm: [5.2 mm @ 60 m/min, 0.70 mm @ 180 m/min]}"],
    )
    speed: Speed | None = Field(
        None, description="One speed, for a mill whose passes do not matter.", examples=["1000 m/min"]
    )
    between_passes: TimeLaw = Field(NO_TIME, description="Time lost at each pass.", examples=["1.3 min"])
    speed_factor: Factor = Field(
        1.0, description="Share of the greatest speeds that is reached on average.", examples=["0.85"]
    )
    crop: Share = Field(0.0, description="Ends cut off, as a share of the coil.", examples=["2.2 %"])
    coil: WoundCoil | None = Field(
        None, description="The coil it winds, where it draws on strip; left out where it draws on coils."
    )
    rolls: Rolls | None = Field(None, description="The work rolls; left out: they never wear.")

    @model_validator(mode="after")
    def _rolls_somehow(self) -> Mill:
        if (self.passes is None) == (self.speed is None):
            raise refuse("a mill needs either passes or speed, not both", way_out="Keep one of passes and speed")
        return self
