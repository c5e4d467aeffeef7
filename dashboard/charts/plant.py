"""The line as a drawing needs it: stations, stores, and what leaves them at the right. No times, no rates."""

from collections import Counter
from dataclasses import dataclass

STATION_KINDS = ("supply", "furnace", "caster", "mill", "slitter", "cutter", "profiler", "step")
STORE_HOLDS = ("metal", "strip", "coils", "pieces")
SECTIONS = ("half-round gutter", "box gutter", "pipe", "sheet", "ring", "channel")


def titled(name: str) -> str:
    """Return a name as a heading: its first letter large, the rest as it was written."""
    return name[:1].upper() + name[1:]


@dataclass(frozen=True)
class Station:
    """A station: what it draws on, what it gives to, how thick the strip is that leaves it."""

    name: str
    kind: str
    source: tuple[str, ...] = ()
    to: tuple[str, ...] = ()
    machines: int = 1
    thickness_mm: float | None = None
    title: str = ""
    note: str = ""

    @property
    def shown(self) -> str:
        """The name as it stands in the drawing."""
        return self.title or titled(self.name)


@dataclass(frozen=True)
class Store:
    """A store. Capacity, heel and what is shown are in `unit`; no capacity is no limit, 0 is no room at all."""

    name: str
    holds: str
    capacity: float | None = None
    heel: float = 0.0
    rests: bool = False
    title: str = ""
    unit: str = ""
    shown_places: float | None = None
    digits: int = 0

    @property
    def shown(self) -> str:
        """The name as it stands in the drawing."""
        return self.title or titled(self.name)

    @property
    def counted_in(self) -> str:
        """The unit of its level in words."""
        return self.unit or {"metal": "t", "strip": "t", "coils": "coils", "pieces": "pieces"}[self.holds]

    @property
    def full(self) -> float:
        """How much the drawing of it has room for."""
        if self.capacity is not None:
            return self.capacity
        return self.shown_places if self.shown_places is not None else 24.0


@dataclass(frozen=True)
class Branch:
    """A row at the right: what leaves by the last station of a side branch, or straight from a store."""

    at: str
    title: str = ""
    section: str = ""
    figure: str = ""


@dataclass(frozen=True)
class Plant:
    """Stations and stores in the order of the scenario, with the rows at the right."""

    stations: tuple[Station, ...]
    stores: tuple[Store, ...]
    branches: tuple[Branch, ...] = ()

    def __post_init__(self) -> None:
        refuse_unknown(self)

    def givers(self, store: str) -> tuple[Station, ...]:
        """Return the stations that give to a store."""
        return tuple(station for station in self.stations if store in station.to)

    def drawers(self, store: str) -> tuple[Station, ...]:
        """Return the stations that draw on a store."""
        return tuple(station for station in self.stations if store in station.source)

    def store(self, name: str) -> Store:
        """Return the store of this name."""
        return next(store for store in self.stores if store.name == name)

    def station(self, name: str) -> Station:
        """Return the station of this name."""
        return next(station for station in self.stations if station.name == name)

    def branch(self, at: str) -> Branch | None:
        """Return what the page said about the row that leaves here, if it said anything."""
        return next((branch for branch in self.branches if branch.at == at), None)


def refuse_twice(what: str, names: list[str]) -> None:
    """Refuse two things of one kind with one name: a drawing could not tell which is meant."""
    twice = [name for name, count in Counter(names).items() if count > 1]
    if twice:
        raise ValueError(f"two {what} on the line are called {twice[0]!r}: give one of them another name")


def refuse_unknown(plant: Plant) -> None:
    """Refuse a plant that names what it does not have: it would be drawn with a piece missing."""
    stores = [store.name for store in plant.stores]
    refuse_twice("stations", [station.name for station in plant.stations])
    refuse_twice("stores", stores)
    for station in plant.stations:
        if station.kind not in STATION_KINDS:
            raise ValueError(f"{station.name} is a {station.kind!r}: a station is one of {', '.join(STATION_KINDS)}")
        missing = [store for store in station.source + station.to if store not in stores]
        if missing:
            raise ValueError(f"{station.name} names the store {missing[0]!r}, which the line does not have")
    for held in plant.stores:
        if held.holds not in STORE_HOLDS:
            raise ValueError(f"{held.name} holds {held.holds!r}: a store holds one of {', '.join(STORE_HOLDS)}")
    for branch in plant.branches:
        if branch.at not in stores and branch.at not in [station.name for station in plant.stations]:
            raise ValueError(f"a row is to leave at {branch.at!r}, which the line does not have")


_SECTION_WORDS = (
    ("box gutter", ("box",)),
    ("half-round gutter", ("gutter", "half-round", "half round")),
    ("pipe", ("pipe", "tube")),
    ("sheet", ("sheet", "plate", "blank")),
    ("ring", ("ring", "coil", "strip", "slit")),
)


def section_for(*said: str) -> str:
    """Return the cross-section that the words about a product suggest, an open channel where they suggest none."""
    heard = " ".join(said).lower()
    return next((section for section, hints in _SECTION_WORDS if any(hint in heard for hint in hints)), "channel")
