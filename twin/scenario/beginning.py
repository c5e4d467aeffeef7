"""The state of a plant when a run starts: empty, typical, or what is known of it now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator, model_validator
from pydantic.json_schema import JsonSchemaValue

from twin.scenario.faults import did_you_mean, refuse
from twin.scenario.fields import Duration, Part
from twin.scenario.markers import AmountOf, Marker, NumberBy, Whole
from twin.scenario.quantities import Amount


@dataclass(frozen=True, slots=True)
class Stock:
    """What lies in a store at the start: kg of metal or strip, or coils or pieces, and of which where that is told.

    ``by`` holds coils by pattern or product, or pieces by product; its sum is ``amount``.
    """

    amount: float
    dimension: str
    by: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class StockOf(Marker):
    """Reads what lies in a store: an amount, or a mapping of pattern or product to coils or pieces."""

    def read(self, value: object, info: ValidationInfo | None) -> Stock:
        """Return the stock; whether it fits its store is checked with the whole file."""
        if isinstance(value, Mapping):
            counts = NumberBy(AmountOf(("coils", "pieces"), above=False), "pattern or product").read(value, info)
            total = sum(amount.value for amount in counts.values())
            dimension = next((amount.dimension for amount in counts.values()), "coils")
            return Stock(total, dimension, tuple((name, amount.value) for name, amount in counts.items()))
        amount = AmountOf(("mass", "coils", "pieces"), above=False).read(value, info)
        return Stock(amount.value, amount.dimension)

    def schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what may be written."""
        return {"type": ["string", "number", "object"]}

    def words(self) -> str:
        """Return what may be written."""
        return "amount, like 20 t or 12 coils, or a mapping of pattern or product to a number"


class SetsNow(Part):
    """Where the roll sets are that are not on the mill."""

    ready: Annotated[int, Whole(0, 1000, "sets")] = Field(0, description="Ready to go in.", examples=["2"])
    cooling: Annotated[int, Whole(0, 1000, "sets")] = Field(0, description="Cooling.", examples=["1"])
    waiting: Annotated[int, Whole(0, 1000, "sets")] = Field(
        0, description="Cold, waiting for the grinder.", examples=["1"]
    )
    grinding: Annotated[int, Whole(0, 1000, "sets")] = Field(0, description="Being ground.", examples=["0"])
    fitting: Annotated[int, Whole(0, 1000, "sets")] = Field(0, description="Being fitted.", examples=["0"])
    heating: Annotated[int, Whole(0, 1000, "sets")] = Field(0, description="Being heated.", examples=["0"])

    @property
    def total(self) -> int:
        """Return how many sets are told of."""
        return self.ready + self.cooling + self.waiting + self.grinding + self.fitting + self.heating


class RollsNow(Part):
    """The rolls of a mill at the start."""

    used: Annotated[Amount, AmountOf(("length", "mass"), above=False)] = Field(
        Amount(0.0, "length"), description="What the rolls on the mill have rolled.", examples=["31 km"]
    )
    sets: SetsNow | None = Field(None, description="Where the other sets are; left out: all ready.")
    changes_to_back_up: Annotated[int, Whole(0, 1_000_000, "changes")] | None = Field(
        None, description="Changes until a back-up roll is due; left out: a full interval.", examples=["9"]
    )


class MachineNow(Part):
    """What a machine is doing at the start."""

    machine: Annotated[int, Whole(1, 50)] = Field(1, description="Which machine of the station.", examples=["1"])
    state: Literal["running", "setup", "changing rolls", "down", "idle"] = Field(
        "idle", description="What it is doing.", examples=["down"]
    )
    left: Duration = Field(0.0, description="How long that still lasts.", examples=["40 min"])
    reason: str | None = Field(
        None, description="For `down`: the reason, one of its failures.", examples=["cast break"]
    )
    set_for: str | None = Field(None, description="The pattern or product that it is set for.", examples=["A"])
    holds: str | None = Field(None, description="Pattern of the coil, or product of the ring, in it.", examples=["A"])


class Start(Part):
    """The plant's state at the start: ``empty``, ``typical``, or what is known of it now."""

    mode: Literal["empty", "typical", "now"] = Field("now", alias="~mode")
    stores: Annotated[dict[str, Stock], NumberBy(StockOf(), "store")] = Field(
        {},
        description="What lies in each store; one left out is empty.",
        examples=["{bath: 20 t, cooling store: {A: 12}}"],
    )
    rolls: dict[str, RollsNow] = Field({}, description="The rolls of each mill.")
    machines: dict[str, tuple[MachineNow, ...]] = Field(
        {}, description="What the machines of each station are doing; one left out is idle."
    )

    @model_validator(mode="before")
    @classmethod
    def _expand(cls, value: object) -> object:
        if isinstance(value, str):
            if value not in ("empty", "typical"):
                raise refuse(
                    f"'{value}' is not a start",
                    value=value,
                    way_out=did_you_mean(value, ("empty", "typical"), "starts"),
                )
            return {"~mode": value}
        return value

    @field_validator("machines", mode="before")
    @classmethod
    def _one_machine(cls, value: object) -> object:
        if not isinstance(value, Mapping):
            return value
        return {name: [now] if isinstance(now, Mapping) else now for name, now in value.items()}
