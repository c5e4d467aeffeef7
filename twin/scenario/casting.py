"""Stations that bring metal into the line: supply, furnace and caster."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from twin.scenario.faults import refuse
from twin.scenario.fields import (
    NO_MASS,
    NO_TIME,
    CoilMass,
    Duration,
    MassLaw,
    Part,
    Power,
    Share,
    Speed,
    Temperature,
    Thickness,
    TimeLaw,
    Width,
)
from twin.scenario.laws import Law
from twin.scenario.markers import LawOf, Quantity, Whole
from twin.scenario.quantities import si
from twin.scenario.station import StationPart


class SupplyCoil(Part):
    """The coil that a supply delivers."""

    mass: CoilMass = Field(description="Mass of a coil.", examples=["4.9 t"])
    width: Width = Field(description="Width of its strip.", examples=["1000 mm"])
    thickness: Thickness = Field(description="Thickness of its strip.", examples=["0.7 mm"])
    pattern: str | None = Field(None, description="The pattern it is for; left out: as the plan says.", examples=["A"])


class Supply(StationPart):
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


class Furnace(StationPart):
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
    pour: Temperature = Field(
        description="Temperature of the bath, above the melting point. Checked only where melt_rate is given.",
        examples=["510 degC"],
    )
    charge: Temperature = Field(
        si("20 degC", "temperature"),
        description="Temperature of what is charged. Checked only where melt_rate is given.",
        examples=["20 degC"],
    )
    holding: Power = Field(
        0.0, description="Power that keeps the bath hot. Checked only: a run counts no energy.", examples=["85 kW"]
    )
    skimming: Skimming | None = Field(None, description="Skimming the bath.")
    melt_loss: Share = Field(
        0.0, description="Metal lost in melting, as a share of what was charged.", examples=["0.5 %"]
    )
    returns: Share = Field(
        0.0,
        description="The largest share of the charge that may be the plant's own scrap. Checked only: in a run "
        "scrap that is remelted comes in again as charge.",
        examples=["20 %"],
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

    SHORT = "nominal"

    nominal: Speed = Field(description="Speed when nothing hinders.", examples=["1.56 m/min"])
    slowest: Speed = Field(
        description="Slowest speed that still gives good strip; left out: nominal.", examples=["0.85 m/min"]
    )

    @model_validator(mode="before")
    @classmethod
    def _expand(cls, value: object) -> object:
        value = cls.expanded(value)
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


class Caster(StationPart):
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
