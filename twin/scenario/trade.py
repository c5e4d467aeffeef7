"""What is made and sold: products, slitting patterns, the plan, orders, options and money."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from twin.scenario.faults import refuse
from twin.scenario.fields import Duration, Named, Names, Part, PieceLength, Share, Thickness, Width
from twin.scenario.markers import AmountOf, LocalTime, NumberBy, Quantity, RateOf, Whole
from twin.scenario.quantities import Amount, Rate


class Product(Named):
    """Something that is sold."""

    thickness: Thickness = Field(description="Thickness of the strip.", examples=["0.70 mm"])
    girth: Width = Field(description="Width of the strip it is made of.", examples=["333 mm"])
    length: PieceLength | None = Field(
        None, description="Length of a piece; needed unless sold as coil.", examples=["3 m"]
    )
    profile: str | None = Field(None, max_length=80, description="Shape, in words.", examples=["half-round gutter"])
    standard: str | None = Field(None, max_length=80, description="The standard it is made to.", examples=["EN 612"])
    sold: Literal["piece", "coil", "sheet"] = Field("piece", description="How it is sold.", examples=["coil"])

    @model_validator(mode="after")
    def _pieces_have_a_length(self) -> Product:
        if self.sold != "coil" and self.length is None:
            raise refuse("length is missing", way_out="Write length: 3 m, or sold: coil", within=("length",))
        return self


class Pattern(Named):
    """The rings that a mother coil is slit into."""

    share: Share | None = Field(None, description="Share of the mother coils.", examples=["23 %"])
    count: Annotated[int, Whole(1, 1_000_000, "coils")] | None = Field(
        None, description="Mother coils in each round of the plan, in place of a share.", examples=["4"]
    )
    thickness: Thickness = Field(description="Thickness the coil is rolled to.", examples=["0.70 mm"])
    width: Width | None = Field(
        None,
        description="Width of the mother coil; left out: as cast or supplied, where all strip has one width.",
        examples=["1034 mm"],
    )
    rings: Annotated[dict[str, int], NumberBy(Whole(1, 200, "rings"), "product")] = Field(
        description="Rings of each product.", examples=["{gutter 333: 3}"]
    )
    trim: Annotated[Amount, AmountOf(("length", "share"), above=False)] | None = Field(
        None,
        description="The least that must be trimmed off, both edges together. Checked only: in a run all that the "
        "rings leave of the width is trim.",
        examples=["20 mm"],
    )
    sold_as_coil: Share = Field(
        0.0, description="Share of the rings of each product that is sold as coil.", examples=["20 %"]
    )
    hold_above: Annotated[dict[str, float], NumberBy(Quantity("coils"), "station")] = Field(
        {},
        description="Not cast or taken up while a station has more mother coils than this before it.",
        examples=["{gutter profiler: 26 coils}"],
    )
    skips: Names = Field((), description="Stations that its coils pass by.", examples=["slitter"])

    @model_validator(mode="after")
    def _makes_something(self) -> Pattern:
        if not self.rings:
            raise refuse("a pattern needs at least one ring", way_out="Write rings: {product: 3}", within=("rings",))
        if self.share is not None and self.count is not None:
            raise refuse("a pattern has a share or a count, not both", way_out="Keep one", within=("count",))
        return self


class PlanStep(Part):
    """Some coils of one pattern in a row."""

    start: Annotated[datetime, LocalTime()] | None = Field(
        None, alias="from", description="When it begins, in a dated plan.", examples=["2026-03-02 06:00"]
    )
    pattern: str = Field(description="The pattern.", examples=["A"])
    coils: Annotated[int, Whole(1, 1_000_000, "coils")] = Field(description="Mother coils in a row.", examples=["6"])


class Plan(Part):
    """The sequence of patterns: a campaign that repeats, or a dated list."""

    repeat: tuple[PlanStep, ...] = Field((), max_length=1000, description="The campaign, again and again.")
    dated: tuple[PlanStep, ...] = Field(
        (), max_length=10_000, description="Steps with a beginning each (a plain list)."
    )

    @model_validator(mode="before")
    @classmethod
    def _expand(cls, value: object) -> object:
        return {"dated": value} if isinstance(value, list | tuple) else value

    @model_validator(mode="after")
    def _one_of_both(self) -> Plan:
        if bool(self.repeat) == bool(self.dated):
            raise refuse(
                "a plan is either a repeated campaign or a dated list", way_out="Write {repeat: [...]} or a list"
            )
        for number, step in enumerate(self.repeat):
            if step.start is not None:
                raise refuse("a repeated step has no date", way_out="Leave from out", within=("repeat", number, "from"))
        starts = [step.start for step in self.dated]
        for number, start in enumerate(starts):
            if start is None:
                raise refuse(
                    "a dated step needs a beginning", way_out="Write from: 2026-03-02", within=("dated", number, "from")
                )
            if number and start <= (starts[number - 1] or start):
                raise refuse(
                    "the steps of a dated plan must follow each other",
                    way_out="Put them in the order of their dates",
                    within=("dated", number, "from"),
                )
        return self


class Order(Part):
    """An order of one product."""

    order: str = Field(description="Its number or name.", examples=["4711"])
    product: str = Field(description="The product.", examples=["gutter 333"])
    quantity: Annotated[Amount, AmountOf(("pieces", "mass"))] = Field(
        description="Pieces or mass.", examples=["600 pieces"]
    )
    due: Annotated[datetime, LocalTime()] = Field(description="When it is due.", examples=["2026-03-20"])


class Option(Named):
    """A named change to the line, with what it costs."""

    about: str = Field("", max_length=2000, description="The change in words.", examples=["A second slitter, used"])
    set: dict[str, Any] = Field(
        description="What it changes: path of a value, and the new value.", examples=["{stations.slitter.machines: 2}"]
    )
    capex: Annotated[float, Quantity("money")] = Field(0.0, description="Money spent once.", examples=["3400 kEUR"])
    yearly: Annotated[float, Quantity("money")] = Field(
        0.0, description="Money spent each year.", examples=["330 kEUR"]
    )
    starts_after: Duration = Field(0.0, description="From the order to the first day of use.", examples=["1.2 years"])
    ramp: Annotated[tuple[Share, ...], Field(max_length=40, min_length=1)] = Field(
        (1.0,),
        description="Share of the gain reached in the first, second ... year of use.",
        examples=["[50 %, 85 %, 100 %]"],
    )

    @model_validator(mode="after")
    def _changes_something(self) -> Option:
        if not self.set:
            raise refuse("an option must change something", way_out="Write set: {path: value}", within=("set",))
        return self


class Money(Part):
    """What the good tonnes are worth, and how money is counted."""

    currency: Annotated[str, Field(pattern="^[A-Z]{3}$")] = Field(
        description="Currency code of the file.", examples=["EUR"]
    )
    weeks_per_year: Annotated[float, Quantity("number", "1", "53")] = Field(
        52.0, description="Weeks worked in a year.", examples=["47"]
    )
    rate: Annotated[float, Quantity("share", "0 %", "100 %")] = Field(
        0.0, description="Yearly interest rate.", examples=["9 %"]
    )
    years: Annotated[float, Quantity("number", "1", "60")] = Field(
        10.0, description="Years looked ahead.", examples=["10"]
    )
    contribution: Annotated[dict[str, float], NumberBy(Quantity("price", low="0"), "product, coil or sheet")] = Field(
        {},
        description="Sales less metal and variable cost, per mass, by product or by how it is sold.",
        examples=["{coil: 190 EUR/t, gutter 333: 560 EUR/t}"],
    )
    demand: Annotated[dict[str, Rate], NumberBy(RateOf(("mass rate", "piece rate")), "product, coil or sheet")] = Field(
        {}, description="The most that can be sold.", examples=["{gutter 333: 200 t/week}"]
    )
