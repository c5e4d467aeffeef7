"""A scenario made ready to run: everything that does not depend on the draws, worked out once."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

from twin.line.found import NOTHING_FOUND, Found
from twin.line.reasons import FIXED_REASONS
from twin.line.routes import Routes, givers_of, routes, takers_of
from twin.line.tables import Tables, add_handling, tables
from twin.scenario.calendars import elapsed, turns, wall_clock
from twin.scenario.models import ByDigest, Mill, Scenario, Station
from twin.scenario.plant import Calendar, Time

if TYPE_CHECKING:
    from twin.line.ready import Ready

SHOP = " roll shop"
NOBODY = "coil"


@dataclass(frozen=True)
class Layout:
    """Names by place: what the numbers of a run belong to.

    Attributes
    ----------
    stations, kinds : Each station and its kind; the roll shops of the mills stand last.
    machines : (station, number from 1) of each machine.
    products : Products, and last what has no product: coils or metal as such.
    stores, store_holds : Stores and what they hold.
    mills : Stations with rolls.
    shared : Cranes and crews.
    """

    stations: tuple[str, ...]
    kinds: tuple[str, ...]
    machines: tuple[tuple[str, int], ...]
    products: tuple[str, ...]
    stores: tuple[str, ...]
    store_holds: tuple[str, ...]
    mills: tuple[str, ...]
    shared: tuple[str, ...]


@dataclass(frozen=True)
class Scripts:
    """What really happened, in place of what would be drawn; everything left out is drawn as ever.

    Attributes
    ----------
    stops : (station, machine, reason) -> (start [s], duration [s]) of each stop; an empty list: that cause is silent.
    draws : Name of a stream -> its numbers, one after the other; when they are used up, drawn ones follow. The
        streams of a machine are named "station/machine/what": every <reason>, repair <reason>, scrap <reason>, time,
        setup, load, unload, stay, knives, coil change, tool change, first-off, restart, change, damaged change, life,
        every, loss.
    sequence : Patterns of the mother coils in their order; when they are used up, by their shares.
    speeds : (station, machine) -> (from when [s], share of the nominal speed).
    losses : (station, machine) -> share of each coil's mass that was lost there, coil by coil.
    closed : (station, machine) -> (from [s], to [s]) when nobody was there although the calendar says so.
    changes : (mill, machine) -> (when it stood for it [s], how long [s], whether after damage) of each change of rolls;
        sets are then always ready, for what was waited for them is part of how long it took.
    found : What is known of the beginning beyond what the scenario's start tells.
    """

    stops: Mapping[tuple[str, int, str], tuple[tuple[float, float], ...]] = field(default_factory=dict)
    draws: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    sequence: tuple[str, ...] = ()
    speeds: Mapping[tuple[str, int], tuple[tuple[float, float], ...]] = field(default_factory=dict)
    losses: Mapping[tuple[str, int], tuple[float, ...]] = field(default_factory=dict)
    closed: Mapping[tuple[str, int], tuple[tuple[float, float], ...]] = field(default_factory=dict)
    changes: Mapping[tuple[str, int], tuple[tuple[float, float, bool], ...]] = field(default_factory=dict)
    found: Found = NOTHING_FOUND


NO_SCRIPTS = Scripts()


@dataclass(frozen=True)
class Model:
    """A scenario made ready to run."""

    scenario: Scenario
    layout: Layout
    routes: Routes
    tables: Mapping[str, Tables]
    flowing: frozenset[str]
    finished: frozenset[str]
    turns: Mapping[str, tuple[bool, list[float]]]
    reasons: tuple[str, ...]
    warm_up: float
    end: float
    days: tuple[float, ...]
    used: dict[str, int] = field(default_factory=dict, compare=False)
    """How many numbers each stream used in earlier runs: only how many are drawn at once hangs on it."""
    idle: "dict[bool, list[Ready]]" = field(default_factory=dict, compare=False)
    """Lines of earlier runs that stand idle, the plain and the compiled ones: they save building one, nothing more."""


def model_of(scenario: Scenario) -> Model:
    """Return the model of a scenario, made once for each content."""
    return _model(ByDigest.of(scenario))


@lru_cache(maxsize=64)
def _model(held: ByDigest) -> Model:
    return prepare(held.scenario)


def prepare(scenario: Scenario) -> Model:
    """Work out all that does not depend on the draws."""
    ways = routes(scenario)
    warm_up = scenario.time.warm_up if scenario.start.mode == "typical" else 0.0
    end = warm_up + scenario.time.length
    numbers = {}
    for name, station in scenario.stations.items():
        numbers[name] = tables(scenario, station, ways)
        if not _is_flow(scenario, station, ways):
            add_handling(numbers[name], station)
    return Model(
        scenario=scenario,
        layout=layout_of(scenario),
        routes=ways,
        tables=numbers,
        flowing=frozenset(name for name, own in scenario.stations.items() if _is_flow(scenario, own, ways)),
        finished=frozenset(name for name in scenario.stores if not takers_of(scenario, name)),
        turns={"always": (True, [])}
        | {name: _turns(own, scenario.time, end + 86400.0) for name, own in scenario.calendars.items()},
        reasons=reasons_of(scenario),
        warm_up=warm_up,
        end=end,
        days=midnights(scenario.time, warm_up, end),
    )


@lru_cache(maxsize=256)
def _turns(calendar: Calendar, time: Time, horizon_s: float) -> tuple[bool, list[float]]:
    """Return when a calendar closes and opens; lines of one study share most of theirs, and none changes them."""
    return turns(calendar, time, horizon_s)


def strip_per_kg(model: Model, mill: str) -> float:
    """Return the strip through the bite for the mass that enters a mill, over its usual coils. [m/kg]"""
    metres = model.tables[mill].m_per_kg
    shares = [own.share or own.count or 1.0 for own in model.scenario.patterns.values()]
    if not shares:
        return metres[0]
    return sum(share * own for share, own in zip(shares, metres[1:], strict=False)) / sum(shares)


def layout_of(scenario: Scenario) -> Layout:
    """Return the names of a line's parts by place."""
    stations = list(scenario.stations)
    kinds: list[str] = [own.kind for own in scenario.stations.values()]
    machines = [(name, k + 1) for name, own in scenario.stations.items() for k in range(own.machines)]
    mills = [name for name, own in scenario.stations.items() if isinstance(own, Mill) and own.rolls is not None]
    for name in mills:
        people = shop_people(scenario, name)
        if people:
            stations.append(name + SHOP)
            kinds.append("roll shop")
            machines += [(name + SHOP, k + 1) for k in range(people)]
    return Layout(
        tuple(stations),
        tuple(kinds),
        tuple(machines),
        (*scenario.products, unnamed_product(scenario)),
        tuple(scenario.stores),
        tuple(own.holds for own in scenario.stores.values()),
        tuple(mills),
        tuple(scenario.shared),
    )


def shop_people(scenario: Scenario, mill: str) -> int:
    """Return how many people a mill's roll shop has; none where sets are unlimited or there is no shop."""
    station = scenario.stations[mill]
    if not isinstance(station, Mill) or station.rolls is None or station.rolls.sets is None:
        return 0
    return station.rolls.shop.people if station.rolls.shop is not None else 0


def unnamed_product(scenario: Scenario) -> str:
    """Return a word for good output that is no product: coils, or what the last store holds."""
    holds = [own.holds for name, own in scenario.stores.items() if not takers_of(scenario, name)]
    word = NOBODY if "coils" in holds or not holds else {"pieces": "piece"}.get(holds[0], holds[0])
    while word in scenario.products:
        word += " as such"
    return word


def _is_flow(scenario: Scenario, station: Station, ways: Routes) -> bool:
    """Tell whether material runs through a station at a rate, rather than coil by coil in times of their own."""
    takes = scenario.stores[station.source].holds if station.source else ""
    gives = scenario.stores[station.to].holds if station.to else ""
    if station.kind in ("furnace", "caster") or takes in ("metal", "strip", "pieces"):
        return True
    if station.kind in ("cutter", "profiler"):
        return gives in ("pieces", "strip", "") or not ways.drawn[station.to or ""]
    if station.kind == "step":
        return gives in ("metal", "strip", "pieces") or (not takes and not gives)
    return False


def reasons_of(scenario: Scenario) -> tuple[str, ...]:
    """Return the words of all reasons: the fixed ones, cranes and crews, then the plant's own."""
    own = [failure.reason for station in scenario.stations.values() for failure in station.failures]
    return (*FIXED_REASONS, *scenario.shared, *dict.fromkeys(own))


@lru_cache(maxsize=64)
def midnights(time: Time, begin: float, end: float) -> tuple[float, ...]:
    """Return the local midnights between two times of the run."""
    day = wall_clock(time, begin).date()
    found: list[float] = []
    while True:
        day += timedelta(days=1)
        at = elapsed(time, datetime.combine(day, datetime.min.time()))
        if at >= end:
            break
        if at > begin:
            found.append(at)
    return tuple(found)


def paired(scenario: Scenario, store: str) -> int:
    """Return into how many stores of its own a store of strip or pieces is split: one for each pair of machines."""
    own = scenario.stores[store]
    if own.holds not in ("strip", "pieces") or not takers_of(scenario, store):
        return 1
    givers = givers_of(scenario, store)
    return scenario.stations[givers[0]].machines if givers else 1
