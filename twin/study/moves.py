"""Cheaper moves than a machine that a scenario allows at what limits it: hours, setups, runs, room, rolls.

A move is an option like those in the file, without a price: what it costs only the plant knows. No move makes a
planned stop at the rolls or the caster shorter: that time is the least safe one, not a target.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields
from typing import Any

from twin.line.model import SHOP
from twin.scenario import Law, Scenario
from twin.scenario.laws import Constant, Empirical, Mixture
from twin.scenario.models import Cutter, Mill, Option, Profiler, Slitter, Station
from twin.scenario.paths import resolve
from twin.study.limits import roll_sets
from twin.study.people import open_h
from twin.study.relief import scaled, with_parts

HALF = 0.5
LONGER = 1.5
ROOMIER = 1.25
FARTHER = 1.3
EARLIER = 0.7
UNITS = {
    "time": ((7200.0, 3600.0, "h"), (60.0, 60.0, "min"), (0.0, 1.0, "s")),
    "length": ((1000.0, 1000.0, "km"), (0.0, 1.0, "m")),
    "mass": ((1000.0, 1000.0, "t"), (0.0, 1.0, "kg")),
    "coils": ((0.0, 1.0, "coils"),),
    "pieces": ((0.0, 1.0, "pieces"),),
    "changes": ((0.0, 1.0, "changes"),),
    "number": ((0.0, 1.0, ""),),
}
"""From which size on a quantity is written in which unit, and how large that is in SI."""
EXACT = 1e-14
PLAIN = ("cv", "shape")


@dataclass(frozen=True, slots=True)
class Move:
    """Something that could be done at what limits a line.

    Attributes
    ----------
    name : In words; unlike that of any option of the file.
    limit : What it relieves.
    set : Paths and values, as in an option.
    priced : Whether it is an option of the file, with its costs.
    """

    name: str
    limit: str
    set: dict[str, Any]
    priced: bool = False


def moves(scenario: Scenario, limits: Iterable[str]) -> list[Move]:
    """Return the moves that a scenario allows at its limits; what an option of the file does is not offered twice."""
    found: list[Move] = []
    for limit in dict.fromkeys(limits):
        own = [Move(name, limit, dict(one.set), True) for name, one in scenario.options.items() if acts_on(one, limit)]
        taken = {path for move in own for path in move.set}
        found += [move for move in own if all(move.name != other.name for other in found)]
        found += [move for move in _at(scenario, limit) if _new(scenario, move, taken)]
    return found


def acts_on(option: Option, limit: str) -> bool:
    """Return whether an option changes something of what limits: a station, its rolls, a roll shop, store or crane."""
    return any(limit in _relieved_by(path.strip()) for path in option.set)


def _relieved_by(path: str) -> tuple[str, ...]:
    """Return which limits a changed value may relieve."""
    section, _, rest = path.partition(".")
    name, _, inside = rest.partition(".")
    if section != "stations":
        return (name,)
    if inside.startswith("rolls.shop"):
        return (name + SHOP, roll_sets(name))
    if inside.startswith("rolls."):
        return (name, name + SHOP, roll_sets(name))
    return (name,)


def _new(scenario: Scenario, move: Move, taken: set[str]) -> bool:
    """Return whether no option of the file sets the same places."""
    places = {resolve(scenario.raw, path) for path in taken}
    return not places & {resolve(scenario.raw, path) for path in move.set}


def _at(scenario: Scenario, limit: str) -> Iterator[Move]:
    """Yield the moves at one limit."""
    if limit in scenario.stations:
        yield from _at_station(scenario, limit, scenario.stations[limit])
    elif limit in scenario.stores:
        yield from _more_room(scenario, limit, limit)
    elif limit in scenario.shared:
        count = scenario.shared[limit].count
        yield Move(f"one more {limit}", limit, {f"shared.{limit}.count": count + 1})
    for name, station in scenario.stations.items():
        if isinstance(station, Mill) and limit in (name + SHOP, roll_sets(name)):
            yield from _at_rolls(scenario, limit, name, station)


def _at_station(scenario: Scenario, name: str, station: Station) -> Iterator[Move]:
    """Yield moves at a station."""
    path = f"stations.{name}"
    yield from _further_hours(scenario, name, f"{path}.calendar", station.calendar, name)
    for key, what in (("setup", "setup"), ("tool_change", "tool change"), ("width_change", "width change")):
        activity = getattr(station, key, None)
        if isinstance(station, Slitter | Cutter | Profiler) and activity is not None and activity.time.average > 0.0:
            halved = written(scaled(activity.time, HALF))
            yield Move(f"{name}: half the {what} done beside the machine", name, {f"{path}.{key}.time": halved})
    if isinstance(station, Slitter) and station.coils_per_pattern is not None:
        longer = written(scaled(station.coils_per_pattern, LONGER))
        yield Move(f"{name}: patterns run half as long again", name, {f"{path}.coils_per_pattern": longer})
    for store in (station.source, station.to):
        if store is not None:
            yield from _more_room(scenario, store, name)


def _further_hours(scenario: Scenario, limit: str, path: str, calendar: str, what: str) -> Iterator[Move]:
    """Yield the shortest longer calendar of the file."""
    now = open_h(scenario, calendar)
    longer = {name: open_h(scenario, name) for name in scenario.calendars}
    further = min((name for name in longer if longer[name] > now + 1.0), key=lambda name: longer[name], default=None)
    if further is not None:
        yield Move(f"{what} on {further}", limit, {path: further})


def _more_room(scenario: Scenario, store: str, limit: str) -> Iterator[Move]:
    """Yield a quarter more room in a store of coils or pieces."""
    own = scenario.stores[store]
    if own.capacity and own.holds in ("coils", "pieces"):
        room = max(own.capacity + 1.0, float(round(ROOMIER * own.capacity)))
        added = f"{store}: {room - own.capacity:.0f} more places"
        yield Move(added, limit, {f"stores.{store}.capacity": f"{room:.0f} {own.holds}"})


def _at_rolls(scenario: Scenario, limit: str, name: str, mill: Mill) -> Iterator[Move]:
    """Yield moves at the rolls of a mill: hours of the shop, a set more, longer campaigns, changes in idle moments."""
    rolls = mill.rolls
    if rolls is None:
        return
    path = f"stations.{name}.rolls"
    if rolls.shop is not None:
        calendar = rolls.shop.calendar or "always"
        yield from _further_hours(scenario, limit, f"{path}.shop.calendar", calendar, name + SHOP)
    if rolls.sets is not None:
        yield Move(f"{name}: one more roll set", limit, {f"{path}.sets": rolls.sets + 1})
    if rolls.change_after is not None:
        limited = rolls.change_after
        far, near = (quantity(share * limited.value, limited.dimension) for share in (FARTHER, EARLIER))
        yield Move(f"{name}: rolls stay in for {far}", limit, {f"{path}.change_after": far})
        rule = {"when idle after": near, "keep ready": 2}
        yield Move(f"{name}: rolls changed in idle moments after {near}", limit, {f"{path}.rule": rule})


def quantity(value: float, dimension: str) -> str:
    """Return a quantity as a file has it: in the largest unit in which it is short and not rounded."""
    for least, size, unit in UNITS[dimension]:
        short = f"{value / size:.6g}"
        if abs(value) >= least and abs(float(short) * size - value) <= EXACT * abs(value):
            return f"{short} {unit}".strip()
    return f"{value:.15g} {UNITS[dimension][-1][2]}".strip()


def written(law: Law) -> Any:  # noqa: ANN401 - whatever a file may hold
    """Return a law as a file has it."""
    if isinstance(law, Constant):
        return quantity(law.value, law.dimension)
    if isinstance(law, Empirical):
        return {"empirical": [quantity(value, law.dimension) for value in law.values]}
    if isinstance(law, Mixture):
        return {"mixture": [{"weight": weight, "of": written(part)} for weight, part in law.parts]}
    inner: dict[str, Any] = {}
    for own in fields(law):
        value = getattr(law, own.name)
        if own.name != "dimension":
            inner[own.name] = value if own.name in PLAIN else quantity(value, law.dimension)
    return {type(law).__name__.lower(): inner}


def with_moves(scenario: Scenario, added: Iterable[Move]) -> Scenario:
    """Return the scenario with moves among its options, so that they can be compared like those."""
    new = {
        move.name: Option.model_construct(
            about="", set=move.set, capex=0.0, yearly=0.0, starts_after=0.0, ramp=(1.0,)
        ).called(move.name)
        for move in added
        if not move.priced
    }
    return with_parts(scenario, options={**scenario.options, **new})
