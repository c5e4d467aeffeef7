"""The scenario: everything that a file says about a line, in SI units. Field names are the keys of the file."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import datetime
from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, PrivateAttr

from twin.scenario.beginning import MachineNow, RollsNow, SetsNow, Start, Stock
from twin.scenario.casting import (
    CastCoil,
    Caster,
    CastingSpeed,
    Furnace,
    Restart,
    Service,
    Skimming,
    Supply,
    SupplyCoil,
)
from twin.scenario.fields import Activity, Part
from twin.scenario.finishing import Cutter, Knives, Profiler, Slitter, Step
from twin.scenario.plant import ALWAYS, Calendar, Metal, Shared, Store, Time
from twin.scenario.rolling import Mill, MillPass
from twin.scenario.rolls import AtLimit, AtTimes, BackUp, FirstCoil, RollRule, Rolls, RollShop, WhenIdle
from twin.scenario.station import Failure, Handling
from twin.scenario.stations import Station
from twin.scenario.trade import Money, Option, Order, Pattern, Plan, PlanStep, Product
from twin.scenario.weekly import Moment, Span, Window

__all__ = [
    "ALWAYS",
    "Activity",
    "AtLimit",
    "AtTimes",
    "BackUp",
    "Calendar",
    "CastCoil",
    "Caster",
    "CastingSpeed",
    "Cutter",
    "Failure",
    "FirstCoil",
    "Furnace",
    "Handling",
    "Knives",
    "MachineNow",
    "Metal",
    "Mill",
    "MillPass",
    "Moment",
    "Money",
    "Option",
    "Order",
    "Pattern",
    "Plan",
    "PlanStep",
    "Product",
    "Profiler",
    "Restart",
    "RollRule",
    "RollShop",
    "Rolls",
    "RollsNow",
    "Scenario",
    "Service",
    "SetsNow",
    "Shared",
    "Skimming",
    "Slitter",
    "Span",
    "Start",
    "Station",
    "Step",
    "Stock",
    "Store",
    "Supply",
    "SupplyCoil",
    "Time",
    "WhenIdle",
    "Window",
    "canonical",
]


class Scenario(Part):
    """A line to be simulated, as its file describes it."""

    passline: Literal[1] = Field(description="Version of the grammar.", examples=["1"])
    name: str = Field(
        min_length=1, max_length=120, description="Name of the plant or the study.", examples=["Hollin Weir"]
    )
    about: str = Field("", max_length=10_000, description="What the file is about.", examples=["A fictional plant"])
    metal: str | Metal = Field(
        description="The metal: a row of materials.csv, or own values.", examples=["zinc-titanium"]
    )
    time: Time = Field(Time(), description="The clock.")
    calendars: dict[str, Calendar] = Field({}, description="Calendars by name; `always` needs no entry.")
    stores: dict[str, Store] = Field(description="Stores by name.")
    stations: dict[str, Annotated[Station, Field(discriminator="kind")]] = Field(description="Stations by name.")
    products: dict[str, Product] = Field({}, description="Products by name.")
    patterns: dict[str, Pattern] = Field({}, description="Slitting patterns by name.")
    plan: Plan | None = Field(None, description="The sequence of patterns; left out: by their shares.")
    orders: tuple[Order, ...] = Field(
        (), description="Orders, or the name of a CSV file beside this one.", examples=["orders.csv"]
    )
    shared: dict[str, Shared] = Field({}, description="Shared cranes and crews by name.")
    options: dict[str, Option] = Field({}, description="Named changes to weigh up.")
    money: Money | None = Field(None, description="What good tonnes are worth.")
    start: Start = Field(Start.model_validate("typical"), description="The state at the start.")

    _raw: dict[str, Any] = PrivateAttr(default_factory=dict)
    _file: str = PrivateAttr("<text>")

    @property
    def raw(self) -> dict[str, Any]:
        """Return what stands in the file, as plain mappings, lists and texts; not to be changed."""
        return self._raw

    @property
    def file(self) -> str:
        """Return the file the scenario was read from."""
        return self._file

    def read_from(self, raw: dict[str, Any], file: str) -> Scenario:
        """Tell the scenario, once, where it came from."""
        self._raw, self._file = raw, file
        return self

    def calendar(self, name: str | None) -> Calendar:
        """Return the calendar of that name; ``always`` and None are open day and night."""
        return self.calendars.get(name, ALWAYS) if name is not None else ALWAYS

    @cached_property
    def digest(self) -> str:
        """Return the SHA-256 of the content: two files that mean the same have the same digest."""
        text = json.dumps(canonical(self), ensure_ascii=False, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class ByDigest:
    """Carries a scenario through a cache, which knows it by its digest alone."""

    digest: str
    scenario: Scenario = field(compare=False, hash=False)

    @classmethod
    def of(cls, scenario: Scenario) -> ByDigest:
        """Return the carrier of a scenario."""
        return cls(scenario.digest, scenario)


PLAIN = frozenset((float, int, str, bool, type(None)))
"""Types whose values stand for themselves in JSON, which most are."""


def canonical(value: object) -> object:
    """Return any part of a scenario as plain JSON values: SI numbers, every key named, the order kept."""
    if type(value) in PLAIN:
        return value
    if isinstance(value, BaseModel):
        return {key: canonical(own) for key, own in value}
    if is_dataclass(value) and not isinstance(value, type):
        own = {field.name: canonical(getattr(value, field.name)) for field in fields(value)}
        return {"is": type(value).__name__, **own}
    if isinstance(value, Mapping):
        return [[canonical(key), canonical(own)] for key, own in value.items()]
    if isinstance(value, list | tuple):
        return [canonical(own) for own in value]
    if isinstance(value, datetime):
        return value.isoformat()
    return value
