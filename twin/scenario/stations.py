"""The stations of a line, as a plant describes them: supply, furnace, caster, mill, slitter, cutter, profiler, step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, model_validator
from pydantic.json_schema import JsonSchemaValue

from twin.scenario.faults import Problem, Refusal, refuse
from twin.scenario.fields import (
    NO_ACTIVITY,
    NO_MASS,
    NO_PIECES,
    NO_TIME,
    Activity,
    AmountOf,
    CoilMass,
    CoilsLaw,
    Duration,
    Factor,
    Interval,
    LawOf,
    Marker,
    MassLaw,
    Named,
    Names,
    Part,
    PiecesLaw,
    Power,
    Quantity,
    RateOf,
    Share,
    Speed,
    Temperature,
    Thickness,
    TimeLaw,
    Whole,
    Width,
    shorthand,
)
from twin.scenario.laws import Law
from twin.scenario.quantities import Amount, Rate, si
from twin.scenario.rolls import Rolls


class Failure(Part):
    """A cause of stops."""

    reason: str = Field(min_length=1, max_length=80, description="What the plant calls it.", examples=["jam"])
    every: Annotated[Law, LawOf(("time", "length", "mass", "pieces"), above=True)] = Field(
        description="How much passes between two stops: time, or km, t or pieces that the machine has processed.",
        examples=["{exponential: {mean: 26 h}}"],
    )
    counts: Literal["running", "clock"] = Field(
        "running", description="Whether a time counts only while the machine runs, or always.", examples=["clock"]
    )
    repair: TimeLaw = Field(description="How long the repair takes.", examples=["55 min"])
    coil: Literal["kept", "scrapped"] = Field(
        "kept", description="What becomes of the coil in the machine.", examples=["scrapped"]
    )
    scrap: MassLaw = Field(NO_MASS, description="Metal scrapped at each stop.", examples=["2.4 t"])
    calendar: str | None = Field(
        None, description="When repair goes on; left out: as the machine.", examples=["always"]
    )
    needs: str | None = Field(None, description="The shared crew or crane that the repair takes.", examples=["fitters"])

    @model_validator(mode="after")
    def _clock_counts_time(self) -> Failure:
        if self.counts == "clock" and self.every.dimension != "time":
            raise refuse(
                f"a stop every so much {self.every.dimension} cannot count by the clock",
                value="clock",
                limit="running",
                way_out="Leave counts out, or give every as a time",
                within=("counts",),
            )
        return self


class Handling(Part):
    """Lifting and moving coils at a station."""

    load: TimeLaw = Field(NO_TIME, description="Loading a coil; the machine stands.", examples=["3 min"])
    unload: TimeLaw = Field(NO_TIME, description="Unloading; the machine stands.", examples=["3 min"])
    crane_in: TimeLaw = Field(NO_TIME, description="A lift that brings a coil.", examples=["2.5 min"])
    crane_out_per_ring: TimeLaw = Field(
        NO_TIME, description="A lift for each ring or coil that leaves.", examples=["2.4 min"]
    )
    needs: str | None = Field(None, description="The shared crane or crew that the lifts take.", examples=["crane"])


class _Station(Named):
    """What every station has."""

    source: str | None = Field(
        None, alias="from", description="The store it draws on; without one it never starves.", examples=["cast coils"]
    )
    to: str | None = Field(None, description="The store it gives to; without one it never blocks.", examples=["rings"])
    machines: Annotated[int, Whole(1, 50, "machines")] = Field(
        1, description="Equal machines side by side.", examples=["2"]
    )
    calendar: str = Field("always", description="When it is manned.", examples=["two shifts"])
    makes: Names | None = Field(
        None, description="The only products it takes; left out: all that come.", examples=["[gutter 333, gutter 250]"]
    )
    failures: tuple[Failure, ...] = Field((), max_length=50, description="Causes of stops.")
    handling: Handling | None = Field(None, description="Lifting and moving coils.")


class SupplyCoil(Part):
    """The coil that a supply delivers."""

    mass: CoilMass = Field(description="Mass of a coil.", examples=["4.9 t"])
    width: Width = Field(description="Width of its strip.", examples=["1000 mm"])
    thickness: Thickness = Field(description="Thickness of its strip.", examples=["0.7 mm"])
    pattern: str | None = Field(None, description="The pattern it is for; left out: as the plan says.", examples=["A"])


class Supply(_Station):
    """Coils bought or delivered from elsewhere."""

    kind: Literal["supply"] = Field(description="The kind of station.", examples=["supply"])
    every: Annotated[Law, LawOf(("time",), above=True)] | None = Field(
        None,
        description="Time between deliveries; left out: always one ready.",
        examples=["{exponential: {mean: 30 min}}"],
    )
    coil: SupplyCoil = Field(description="The coil it delivers.")
    when_full: Literal["wait", "turn away"] = Field(
        "wait", description="What becomes of a delivery when the store is full.", examples=["turn away"]
    )
    limit: Annotated[int, Whole(1, 1_000_000, "coils")] | None = Field(
        None, description="Coils allowed in the line at once.", examples=["10"]
    )


class Skimming(Part):
    """Skimming the bath: no metal is charged while it goes on."""

    every: Annotated[float, Quantity("time", above=True)] = Field(
        description="Time between skimmings.", examples=["8 h"]
    )
    takes: TimeLaw = Field(description="How long it takes.", examples=["25 min"])
    loss: Share = Field(0.0, description="Metal taken off, as a share of what was charged.", examples=["1.2 %"])


class Furnace(_Station):
    """Melts metal into a bath."""

    kind: Literal["furnace"] = Field(description="The kind of station.", examples=["furnace"])
    melt_rate: Annotated[float, Quantity("mass rate", above=True)] | None = Field(
        None, description="Metal melted per time; or give power and efficiency.", examples=["6.5 t/h"]
    )
    power: Annotated[float, Quantity("power", above=True)] | None = Field(
        None, description="Power taken while melting.", examples=["900 kW"]
    )
    efficiency: Annotated[float, Quantity("share", above=True)] | None = Field(
        None, description="Share of the power that reaches the metal.", examples=["78 %"]
    )
    pour: Temperature = Field(description="Temperature of the bath, above the melting point.", examples=["510 degC"])
    charge: Temperature = Field(
        si("20 degC", "temperature"), description="Temperature of what is charged.", examples=["20 degC"]
    )
    holding: Power = Field(0.0, description="Power that keeps the bath hot.", examples=["85 kW"])
    skimming: Skimming | None = Field(None, description="Skimming the bath.")
    melt_loss: Share = Field(
        0.0, description="Metal lost in melting, as a share of what was charged.", examples=["0.5 %"]
    )
    returns: Share = Field(
        0.0, description="The largest share of the charge that may be the plant's own scrap.", examples=["20 %"]
    )

    @model_validator(mode="after")
    def _melts_somehow(self) -> Furnace:
        if (self.melt_rate is None) == (self.power is None and self.efficiency is None):
            raise refuse(
                "a furnace needs either melt_rate, or power and efficiency, not both",
                way_out="Write melt_rate: 6.5 t/h, or power: 900 kW with efficiency: 78 %",
            )
        if self.melt_rate is None and (self.power is None or self.efficiency is None):
            missing = "power" if self.power is None else "efficiency"
            raise refuse(f"{missing} is missing", way_out="Give power and efficiency together", within=(missing,))
        return self


class CastingSpeed(Part):
    """The speed of a caster; a plain speed cannot be slowed."""

    nominal: Speed = Field(description="Speed when nothing hinders.", examples=["1.56 m/min"])
    slowest: Speed = Field(
        description="Slowest speed that still gives good strip; left out: nominal.", examples=["0.85 m/min"]
    )

    @model_validator(mode="before")
    @classmethod
    def _expand(cls, value: object) -> object:
        value = shorthand("nominal")(value)
        if isinstance(value, Mapping) and "slowest" not in value and "nominal" in value:
            return {**value, "slowest": value["nominal"]}
        return value

    @model_validator(mode="after")
    def _slows(self) -> CastingSpeed:
        if self.slowest > self.nominal:
            raise refuse(
                "the slowest speed is above the nominal one",
                limit="at most nominal",
                way_out="Swap them",
                within=("slowest",),
            )
        return self


class CastCoil(Part):
    """The coil that a caster winds."""

    mass: CoilMass = Field(description="Mass of a coil.", examples=["4.9 t"])


class Restart(Part):
    """What a stop of the caster costs before good strip comes again."""

    takes: TimeLaw = Field(NO_TIME, description="How long a restart takes.", examples=["3.5 h"])
    scrap: MassLaw = Field(NO_MASS, description="Start scrap.", examples=["2.4 t"])


class Service(Part):
    """Planned care of the caster."""

    every: Annotated[float, Quantity("time", above=True)] = Field(
        description="Casting time between two services.", examples=["300 h"]
    )
    takes: TimeLaw = Field(description="How long it takes.", examples=["9 h"])
    scrap: MassLaw = Field(NO_MASS, description="Start scrap after it.", examples=["2.4 t"])


class Caster(_Station):
    """Casts strip from the bath. It does not wait: it slows down, holds, then stops."""

    kind: Literal["caster"] = Field(description="The kind of station.", examples=["caster"])
    thickness: Thickness = Field(description="Thickness as cast.", examples=["8.2 mm"])
    width: Width = Field(description="Width as cast.", examples=["1034 mm"])
    speed: CastingSpeed = Field(description="Casting speed.", examples=["1.56 m/min"])
    coil: CastCoil | None = Field(None, description="The coil it winds; left out where it gives strip.")
    patience: Duration = Field(
        0.0, description="How long it holds at a full store before it stops.", examples=["6 min"]
    )
    restart: Restart = Field(Restart(), description="What a stop costs.")
    service: Service | None = Field(None, description="Planned care.")


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


class Mill(_Station):
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
    rolls: Rolls | None = Field(None, description="The work rolls; left out: they never wear.")

    @model_validator(mode="after")
    def _rolls_somehow(self) -> Mill:
        if (self.passes is None) == (self.speed is None):
            raise refuse("a mill needs either passes or speed, not both", way_out="Keep one of passes and speed")
        return self


class Knives(Part):
    """Changing the knives of a slitter."""

    every: Interval = Field(
        description="What passes between two changes: length, mass, time or coils.", examples=["75 km"]
    )
    takes: TimeLaw = Field(description="How long it takes.", examples=["45 min"])
    needs: str | None = Field(None, description="The shared crane or crew that it takes.", examples=["setters"])


class Slitter(_Station):
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


class Cutter(_Station):
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


class Profiler(_Station):
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
        1, description="Pieces that leave together as a bundle.", examples=["25 pieces"]
    )


class Step(_Station):
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


Station = Supply | Furnace | Caster | Mill | Slitter | Cutter | Profiler | Step
KINDS: dict[str, type[Station]] = {
    "supply": Supply,
    "furnace": Furnace,
    "caster": Caster,
    "mill": Mill,
    "slitter": Slitter,
    "cutter": Cutter,
    "profiler": Profiler,
    "step": Step,
}
