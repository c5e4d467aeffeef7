"""Which numbers a run is boiled down to: their places in the results, their units, their order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from twin.indicators.bottleneck import IntArray

if TYPE_CHECKING:
    from twin.line import Layout

STATES = ("running", "setup", "changing_rolls", "down", "waiting", "starved", "blocked", "closed")
QUANTILES = (0.1, 0.5, 0.9)
ISO = ("availability", "effectiveness", "quality_ratio", "oee_index")

STORE_UNITS = {"metal": "t", "strip": "t", "coils": "coils", "pieces": "pieces"}
LEAST = {"metal": 1000.0, "strip": 1000.0, "coils": 1.0, "pieces": 1.0}  # stored units in one shown unit

LINE = {"good": "t/h", "pieces": "1/h", "scrap": "t/h", "yield": "1", "lead_time": "h"}
STATION = {"out": "t/h", "coils": "1/h", "pieces": "1/h", "scrap": "t/h", "stops": "1/h"}
ROLLS = {"changes": "1/week", "damages": "1/week", "campaign": "km", "downtime": "1", "waiting_for_set": "1"}


@dataclass(frozen=True, slots=True)
class Column:
    """One number of a run: where it stands in the results, its unit, and whether the worst run counts, not the mean."""

    path: tuple[str, ...]
    unit: str
    worst: bool = False


@dataclass(frozen=True, slots=True)
class Shape:
    """What follows from the layout of a line alone, so that it is worked out once for all runs."""

    station_of: IntArray  # station number of each machine
    machines: IntArray  # machines of each station
    store_scale: tuple[float, ...]
    columns: tuple[Column, ...]


@lru_cache(maxsize=64)
def shape(layout: Layout) -> Shape:
    """Return numbers of machines, scales and columns for a layout."""
    place = {name: number for number, name in enumerate(layout.stations)}
    station_of = np.array([place[station] for station, _ in layout.machines], dtype=np.int64)
    return Shape(
        station_of=station_of,
        machines=np.bincount(station_of, minlength=len(layout.stations)),
        store_scale=tuple(LEAST[holds] for holds in layout.store_holds),
        columns=tuple(_columns(layout)),
    )


def columns(layout: Layout) -> tuple[Column, ...]:
    """Return the columns of a line in the order in which `measure` gives their numbers."""
    return shape(layout).columns


def _columns(layout: Layout) -> Iterator[Column]:
    """Name every column, block by block; the blocks of `measure` come in the same order."""
    yield from (Column(("line", key), unit) for key, unit in LINE.items())
    yield from (Column(("line", "lead_time", "quantiles", f"{q:g}"), "h") for q in QUANTILES)
    yield Column(("line", "wip"), "t")
    for key, unit in (("good", "t/h"), ("pieces", "1/h")):
        yield from (Column(("products", name, key), unit) for name in layout.products)
    yield from _station_columns(layout)
    yield from _store_columns(layout)
    for key, unit in ROLLS.items():
        yield from (Column(("rolls", name, key), unit) for name in layout.mills)
    yield from (Column(("shared", name, "in_use"), "1") for name in layout.shared)
    yield from (Column(("bottleneck", name, "share"), "1") for name in layout.stations)
    yield Column(("balance", "mass_error_kg"), "kg", worst=True)
    yield Column(("balance", "time_error_s"), "s", worst=True)


def _station_columns(layout: Layout) -> Iterator[Column]:
    """Name the columns of the stations."""
    for key, unit in STATION.items():
        yield from (Column(("stations", name, key), unit) for name in layout.stations)
    yield from (Column(("stations", name, "turned_away"), "1") for name in supplies(layout))
    for state in STATES:
        yield from (Column(("stations", name, "share", state), "1") for name in layout.stations)
    yield from (Column(("stations", name, "slowed"), "1") for name in layout.stations)
    for key in ISO:
        yield from (Column(("stations", name, "iso", key), "1") for name in layout.stations)


def _store_columns(layout: Layout) -> Iterator[Column]:
    """Name the columns of the stores."""
    stores = list(zip(layout.stores, layout.store_holds, strict=True))
    for key in ("level", "peak"):
        yield from (Column(("stores", name, key), STORE_UNITS[holds]) for name, holds in stores)
    for key in ("full", "empty"):
        yield from (Column(("stores", name, key), "1") for name, _ in stores)


def supplies(layout: Layout) -> tuple[str, ...]:
    """Return the stations that bring coils in, and may have to turn one away."""
    return tuple(name for name, kind in zip(layout.stations, layout.kinds, strict=True) if kind == "supply")
