"""What a line stands in: its time and calendars, metal, stores, shared cranes and crews."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from pydantic import Field, ValidationInfo, field_validator, model_validator
from pydantic.json_schema import JsonSchemaValue

from twin.scenario.faults import Problem, Refusal, refuse
from twin.scenario.fields import Duration, Mass, Named, Part, Temperature
from twin.scenario.markers import LocalTime, Marker, Quantity, Whole
from twin.scenario.quantities import parse, si
from twin.scenario.weekly import Span, Window, parse_span, parse_windows

MONDAY = datetime(2026, 1, 5)
"""Where time begins when the file names no start: some Monday, 00:00."""


class Time(Part):
    """The clock of a scenario."""

    zone: str = Field("UTC", description="Time zone of all local times, by its IANA name.", examples=["Europe/Vienna"])
    start: Annotated[datetime, LocalTime()] = Field(
        MONDAY,
        description="Local time at which the run begins; left out: a Monday, 00:00.",
        examples=["2026-03-02 06:00"],
    )
    warm_up: Duration = Field(0.0, description="Run before anything is counted.", examples=["6 weeks"])
    length: Annotated[float, Quantity("time", "1 min", "100 years")] = Field(
        si("4 weeks", "time"), description="Run that is counted, after the warm-up.", examples=["20 weeks"]
    )

    @field_validator("zone")
    @classmethod
    def _zone_exists(cls, value: str) -> str:
        try:
            ZoneInfo(value)
        except (ValueError, OSError, KeyError):
            raise refuse(
                f"'{value}' is not a time zone", value=value, way_out="Write an IANA name such as Europe/Vienna or UTC"
            ) from None
        return value

    @property
    def tz(self) -> ZoneInfo:
        """Return the time zone."""
        return ZoneInfo(self.zone)


@dataclass(frozen=True)
class ListOf(Marker):
    """Reads one text or a list of them with the given reader."""

    what: str
    example: str

    def read(self, value: object, info: ValidationInfo | None) -> tuple[Window, ...] | tuple[Span, ...]:
        """Return all openings or closings."""
        texts = [value] if isinstance(value, str) else value
        if not isinstance(texts, list | tuple):
            raise refuse(f"'{value}' is not a list", value=value, way_out=f"Write [{self.example}]")
        windows: list[Window] = []
        spans: list[Span] = []
        problems: list[Problem] = []
        for number, text in enumerate(texts):
            try:
                if self.what == "days":
                    spans.append(parse_span(text))
                else:
                    windows += parse_windows(text)
            except Refusal as refusal:
                problems += [problem.below(number) for problem in refusal.problems]
        if problems:
            raise Refusal(*problems)
        return tuple(spans) if self.what == "days" else tuple(sorted(windows, key=lambda window: window.start))

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        return {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}

    def words(self) -> str:
        """Return what may be written."""
        return f"list of {self.what}, like {self.example}"


class Calendar(Named):
    """When something is open, in local time. ``always`` alone is open day and night."""

    open: Annotated[tuple[Window, ...], ListOf("times of the week", "Mon-Fri 06:00-14:00")] = Field(
        (), description="Openings of the week.", examples=["['Mon-Fri 06:00-22:00']"]
    )
    breaks: Annotated[tuple[Window, ...], ListOf("times of the week", "09:00-09:20")] = Field(
        (), description="Breaks within the openings.", examples=["['09:00-09:20']"]
    )
    holidays: str | None = Field(
        None,
        description="Country whose public holidays are closed from 00:00 to 24:00, with a region after a hyphen.",
        examples=["AT"],
    )
    closed: Annotated[tuple[Span, ...], ListOf("days", "2026-12-24")] = Field(
        (), description="Days or spans of days that are closed.", examples=["[2026-12-24, 2026-08-03 - 2026-08-16]"]
    )
    always: bool = Field(False, alias="~always", description="Open day and night.", exclude=True)

    @model_validator(mode="before")
    @classmethod
    def _expand(cls, value: object) -> object:
        if value == "always":
            return {"~always": True}
        if isinstance(value, str):
            raise refuse(
                f"'{value}' is not a calendar", value=value, way_out="Write always, or {open: [Mon-Fri 06:00-14:00]}"
            )
        return value

    @model_validator(mode="after")
    def _opens(self) -> Calendar:
        if not self.always and not self.open:
            raise refuse(
                "the calendar never opens", way_out="Write open: [Mon-Fri 06:00-14:00], or always", within=("open",)
            )
        return self


ALWAYS = Calendar.model_validate("always").called("always")


class Metal(Part):
    """A plant's own values of a metal."""

    like: str | None = Field(
        None, description="The metal of materials.csv that supplies what is left out.", examples=["zinc"]
    )
    density: Annotated[float, Quantity("density")] | None = Field(None, description="Solid.", examples=["7140 kg/m3"])
    density_liquid: Annotated[float, Quantity("density")] | None = Field(
        None, description="Liquid. Checked only: metal is counted by mass.", examples=["6570 kg/m3"]
    )
    melting_point: Temperature | None = Field(None, description="Solidus and liquidus alike.", examples=["419.5 degC"])
    solidus: Temperature | None = Field(None, description="Where melting begins.", examples=["418 degC"])
    liquidus: Temperature | None = Field(None, description="Where melting ends.", examples=["420 degC"])
    heat_of_fusion: Annotated[float, Quantity("heat")] | None = Field(
        None, description="Latent heat.", examples=["112 kJ/kg"]
    )
    heat_capacity_solid: Annotated[float, Quantity("heat capacity")] | None = Field(
        None, description="Of the solid, taken as constant.", examples=["400 J/(kg K)"]
    )
    heat_capacity_liquid: Annotated[float, Quantity("heat capacity")] | None = Field(
        None, description="Of the liquid.", examples=["480 J/(kg K)"]
    )
    thermal_expansion: Annotated[float, Quantity("expansion")] | None = Field(
        None,
        description="Of the strip, lengthwise. Checked only: in a run heat changes no length.",
        examples=["22e-6 1/K"],
    )
    strength: Annotated[float, Quantity("stress")] | None = Field(
        None,
        description="K of the flow stress K strain^n, for roll forces by hand. A run counts no force.",
        examples=["180 MPa"],
    )
    hardening: Annotated[float, Quantity("number", "0", "1")] | None = Field(
        None,
        description="n of the flow stress K strain^n, for roll forces by hand. A run counts no force.",
        examples=["0.1"],
    )

    def values(self) -> dict[str, float]:
        """Return the values that are given, in SI."""
        return {key: value for key, value in self if key != "like" and value is not None}


class Store(Named):
    """A place where metal, strip, coils or pieces lie between stations."""

    holds: Literal["metal", "strip", "coils", "pieces"] = Field(description="What lies in it.", examples=["coils"])
    capacity: float | None = Field(
        None,
        description="What it can hold: a mass for metal and strip, a number for coils and pieces. Left out: no limit; "
        "0: handed from machine to machine. What machines hold does not count.",
        examples=["46 coils"],
    )
    heel: Mass = Field(0.0, description="Metal that may not be drawn.", examples=["13 t"])
    rest: Duration = Field(0.0, description="How long a coil must lie before it can be taken.", examples=["14 h"])
    keeps: Duration | None = Field(
        None, description="The longest a coil may lie before it is scrap.", examples=["72 h"]
    )

    @field_validator("capacity", mode="before")
    @classmethod
    def _in_its_own_unit(cls, value: object, info: ValidationInfo) -> object:
        kind = {"coils": "coils", "pieces": "pieces"}.get(info.data.get("holds", ""), "mass")
        if value is None or "holds" not in info.data or value == 0:
            return 0.0 if value == 0 else None
        amount = parse(value, (kind,))
        Quantity(kind).check(value, amount.value)
        return amount.value

    @model_validator(mode="after")
    def _keys_fit(self) -> Store:
        if self.heel and self.holds != "metal":
            raise refuse(f"a store of {self.holds} has no heel", way_out="Leave heel out", within=("heel",))
        if self.capacity is not None and self.heel and self.heel >= self.capacity:
            raise refuse(
                f"the heel of {self.heel / 1e3:g} t leaves nothing of the {self.capacity / 1e3:g} t bath to draw",
                limit=f"below {self.capacity / 1e3:g} t",
                way_out="Lower the heel or enlarge the bath",
                within=("heel",),
            )
        for key in ("rest", "keeps"):
            if getattr(self, key) and self.holds != "coils":
                raise refuse(
                    f"{key} is for coils, this store holds {self.holds}", way_out=f"Leave {key} out", within=(key,)
                )
        if self.keeps is not None and self.keeps <= self.rest:
            raise refuse(
                "coils are scrap before they have rested",
                limit="longer than rest",
                way_out="Make keeps longer",
                within=("keeps",),
            )
        return self


class Shared(Named):
    """A crane or crew that several stations share."""

    SHORT = "count"

    count: Annotated[int, Whole(1, 100)] = Field(description="How many there are.", examples=["2"])
    calendar: str = Field("always", description="When they are there.", examples=["two shifts"])
