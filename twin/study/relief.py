"""A line with a little more of one thing: a station's hours, a place in a store, a roll set, a crane.

Nothing of this changes a file: the parts of the scenario are exchanged, and what comes out is a scenario of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from math import ceil
from typing import Any, TypeVar

from pydantic import BaseModel

from twin.scenario import Law, Scenario
from twin.scenario.laws import Mixture
from twin.scenario.models import (
    Activity,
    Caster,
    Cutter,
    Failure,
    Furnace,
    Mill,
    Profiler,
    Slitter,
    Station,
    Step,
    Store,
    Supply,
)
from twin.scenario.quantities import Amount, Rate

KEPT = ("dimension", "cv", "shape")  # parameters that do not grow with the quantity itself
P = TypeVar("P", bound=BaseModel)


def with_parts(scenario: Scenario, **parts: object) -> Scenario:
    """Return the scenario with sections exchanged."""
    other = scenario.model_copy(update=parts)
    other.__dict__.pop("digest", None)  # it was worked out for the old content
    return other


def with_station(scenario: Scenario, station: Station) -> Scenario:
    """Return the scenario with one station exchanged."""
    return with_parts(scenario, stations={**scenario.stations, station.name: station})


def scaled(law: Law, factor: float) -> Law:
    """Return the law of a quantity that is `factor` times as large."""
    if isinstance(law, Mixture):
        return Mixture(tuple((weight, scaled(part, factor)) for weight, part in law.parts), law.dimension)
    changed: dict[str, Any] = {}
    for field in fields(law):
        value = getattr(law, field.name)
        if field.name not in KEPT:
            changed[field.name] = tuple(factor * x for x in value) if isinstance(value, tuple) else factor * value
    other: Law = replace(law, **changed)
    return other


def quicker(part: P, factor: float, keys: Mapping[str, bool]) -> P:
    """Return a part with some of its times divided (True) and rates multiplied (False) by a factor; None stays None."""
    new: dict[str, object] = {}
    for key, is_time in keys.items():
        value = getattr(part, key)
        if value is not None:
            new[key] = _grown(value, 1.0 / factor if is_time else factor)
    return part.model_copy(update=new)


def _grown(value: object, factor: float) -> object:
    """Return a number, law, rate or amount of time that is so many times as large."""
    if isinstance(value, Law):
        return scaled(value, factor)
    if isinstance(value, dict):
        return {key: factor * own for key, own in value.items()}
    if isinstance(value, Amount):
        return replace(value, value=factor * value.value) if value.dimension == "time" else value
    if isinstance(value, Rate):
        return replace(value, value=factor * value.value)
    if isinstance(value, Activity):
        return value.model_copy(update={"time": scaled(value.time, factor)})
    assert isinstance(value, float | int)
    return factor * value


OWN: dict[type[BaseModel], dict[str, bool]] = {
    Supply: {"every": True},
    Furnace: {"melt_rate": False, "power": False},
    Caster: {},
    Mill: {"speed": False, "between_passes": True},
    Slitter: {"setup": True, "speed": False, "thread": True, "stop_start": True, "per_ring": True},
    Cutter: {"rate": False, "speed": False, "strokes": False, "coil_change": True, "width_change": True},
    Profiler: {"speed": False, "tool_change": True, "coil_change": True},
    Step: {"time": True, "rate": False},
}
"""The times (True) and rates (False) of each kind of station that are plainly its own."""


def more_hours(station: Station, factor: float) -> Station:
    """Return a station that gets `factor` times as much done in every hour: the same as if it had so many more hours.

    All that takes its time runs faster alike, stops and repairs too; what a crane or crew shared with others does
    stays as it is.
    """
    new = quicker(station, factor, OWN[type(station)])
    failures = tuple(_failure(own, factor) for own in station.failures)
    changed: dict[str, object] = {"failures": failures}
    if station.handling is not None:
        lifts = {"load": True, "unload": True}
        if station.handling.needs is None:
            lifts |= {"crane_in": True, "crane_out_per_ring": True}
        changed["handling"] = quicker(station.handling, factor, lifts)
    return new.model_copy(update=changed | _parts_of(new, factor))


def _failure(failure: Failure, factor: float) -> Failure:
    """Return a cause of stops that strikes as often per coil as before and is mended sooner."""
    by_running = failure.every.dimension == "time" and failure.counts == "running"
    return quicker(failure, factor, {"repair": True} | ({"every": True} if by_running else {}))


def _parts_of(station: BaseModel, factor: float) -> dict[str, object]:
    """Return the parts of a station that take its time too."""
    times = {"every": True, "takes": True}
    if isinstance(station, Furnace) and station.skimming is not None:
        return {"skimming": quicker(station.skimming, factor, times)}
    if isinstance(station, Slitter) and station.knives is not None:
        return {"knives": quicker(station.knives, factor, times)}
    if isinstance(station, Caster):
        parts: dict[str, object] = {
            "speed": quicker(station.speed, factor, {"nominal": False, "slowest": False}),
            "restart": quicker(station.restart, factor, {"takes": True}),
        }
        if station.service is not None:
            parts["service"] = quicker(station.service, factor, times)
        return parts
    return _mill_parts(station, factor) if isinstance(station, Mill) else {}


def _mill_parts(mill: Mill, factor: float) -> dict[str, object]:
    """Return passes and roll changes of a mill that has more hours; its roll shop has not."""
    parts: dict[str, object] = {}
    if mill.passes is not None:
        parts["passes"] = {
            gauge: tuple(replace(one, speed=factor * one.speed) for one in passes)
            for gauge, passes in mill.passes.items()
        }
    if mill.rolls is not None:
        parts["rolls"] = quicker(mill.rolls, factor, {"change": True, "damaged_change": True})
    return parts


def has_shop(station: Station) -> bool:
    """Return whether a station has a roll shop whose hours and sets may run short."""
    rolls = station.rolls if isinstance(station, Mill) else None
    return rolls is not None and rolls.sets is not None and rolls.shop is not None


def more_shop_hours(mill: Station, factor: float) -> Station:
    """Return a mill whose roll shop gets more done in every hour; cooling and heating need nobody and stay."""
    assert isinstance(mill, Mill) and mill.rolls is not None and mill.rolls.shop is not None
    shop = quicker(mill.rolls.shop, factor, {"grind": True, "extra_after_damage": True, "assemble": True})
    if shop.back_up is not None:
        shop = shop.model_copy(update={"back_up": quicker(shop.back_up, factor, {"grind": True})})
    return mill.model_copy(update={"rolls": mill.rolls.model_copy(update={"shop": shop})})


def one_more_set(mill: Station) -> Station:
    """Return a mill with one roll set more."""
    assert isinstance(mill, Mill) and mill.rolls is not None and mill.rolls.sets is not None
    return mill.model_copy(update={"rolls": mill.rolls.model_copy(update={"sets": mill.rolls.sets + 1})})


def has_end(store: Store) -> bool:
    """Return whether a store may be full: metal or strip handed on at once has no store that could grow."""
    return store.capacity is not None and not (store.capacity == 0.0 and store.holds in ("metal", "strip"))


def more_room(scenario: Scenario, store: str, factor: float) -> Scenario:
    """Return the scenario with so much more room in a store, at least for one coil or piece."""
    own = scenario.stores[store]
    assert own.capacity is not None
    room = factor * own.capacity
    if own.holds in ("coils", "pieces"):
        room = max(own.capacity + 1.0, float(ceil(room - 1e-9)))
    return with_parts(scenario, stores={**scenario.stores, store: own.model_copy(update={"capacity": room})})


def one_more(scenario: Scenario, shared: str) -> Scenario:
    """Return the scenario with one more crane or crew of a name."""
    own = scenario.shared[shared]
    return with_parts(scenario, shared={**scenario.shared, shared: own.model_copy(update={"count": own.count + 1})})
