"""What every station of a line has: where it draws and gives, when it is manned, why it stops, how it lifts coils."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from twin.scenario.faults import refuse
from twin.scenario.fields import NO_MASS, NO_TIME, MassLaw, Named, Names, Part, TimeLaw
from twin.scenario.laws import Law
from twin.scenario.markers import LawOf, Whole


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


class StationPart(Named):
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
