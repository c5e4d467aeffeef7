"""Small plants with constant times, so that a run can be worked out by hand: how to write them and what they show.

The metal weighs 10 t/m3, so strip of 1 m x 1 mm weighs 10 kg/m and a coil of 1 t is 100 m long; times are told in
minutes. Time begins on Monday, 5 January 2026, at 00:00. All numbers are invented.
"""

import json
from collections.abc import Mapping
from typing import Any

import numpy as np

from twin.line import Run, Scripts, simulate
from twin.scenario import loads

Parts = dict[str, Any]
Spell = tuple[str, str, float, float]
"""State, reason, from minute, to minute."""

METAL = {"like": "zinc", "density": "10000 kg/m3"}
COIL = {"mass": "1 t", "width": "1000 mm", "thickness": "1 mm"}
COILS = {"holds": "coils"}
PIECES = {"holds": "pieces"}
STRIP = {"holds": "strip"}
READY = {"holds": "coils", "capacity": 1}
SUPPLY = {"kind": "supply", "to": "ready", "coil": COIL}


def plant(stores: Mapping[str, Any], stations: Mapping[str, Any], minutes: float, **top: Any) -> str:  # noqa: ANN401
    """Return the text of a scenario that begins empty, unless it says otherwise."""
    content: Parts = {"passline": 1, "name": "By hand", "metal": METAL, "time": {"length": f"{minutes!r} min"}}
    content |= {"start": "empty", "stores": stores, "stations": stations}
    return json.dumps(content | top, indent=1)


def one(station: Mapping[str, Any], minutes: float, *, before: Mapping[str, Any] = READY, **top: Any) -> str:  # noqa: ANN401
    """Return one station before which a coil of 1 t is always ready."""
    stores = {"ready": before, "done": COILS}
    return plant(stores, {"supply": SUPPLY, "work": {"from": "ready", "to": "done", **station}}, minutes, **top)


def ran(text: str, scripts: Scripts | None = None, seed: int = 2026) -> Run:
    """Run a scenario by the plain rules and keep its trace; what must hold for every run is checked."""
    run = simulate(loads(text), seed=seed, clock="pure", trace=True, scripts=scripts)
    moved = float(run.totals.good_kg.sum() + run.totals.charged_kg.sum()) + 1000.0
    assert abs(run.totals.mass_error_kg) <= 1e-9 * moved, "metal was lost or made"
    assert run.totals.time_error_s <= 1e-6, "the states do not fill the clock"
    return run


def table(run: Run, name: str) -> dict[str, np.ndarray]:
    """Return a table of the trace."""
    assert run.trace is not None
    return run.trace.tables[name]


def rows(run: Run, name: str, *columns: str, **only: object) -> list[tuple[Any, ...]]:
    """Return these columns of the rows where others hold these values; times are told in minutes."""
    own = table(run, name)
    kept = [i for i in range(len(next(iter(own.values())))) if all(own[key][i] == value for key, value in only.items())]
    told = [[_told(column, own[column][i]) for column in columns] for i in kept]
    return [tuple(row) for row in told]


def _told(column: str, value: Any) -> Any:  # noqa: ANN401
    if column.endswith("_s"):
        return round(float(value) / 60.0, 6)
    return (
        round(float(value), 6) if isinstance(value, np.floating) else value.item() if hasattr(value, "item") else value
    )


def spells(run: Run, station: str, machine: int = 1) -> list[Spell]:
    """Return what a machine did, in minutes; what goes on in the same state for the same reason is one spell."""
    told: list[Spell] = []
    for state, reason, start, end in rows(
        run, "states", "state", "reason", "start_s", "end_s", station=station, machine=machine
    ):
        if told and told[-1][:2] == (state, reason) and told[-1][3] == start:
            told[-1] = (state, reason, told[-1][2], end)
        else:
            told.append((state, reason, start, end))
    return told


def ends(run: Run, station: str, machine: int = 1) -> list[float]:
    """Return the minutes at which a machine ended its coils."""
    return [end for (end,) in rows(run, "coils", "end_s", station=station, machine=machine)]


def minutes(run: Run, station: str, state: str, machine: int = 1) -> float:
    """Return how long a machine was in a state, in minutes."""
    return sum(end - start for told, _, start, end in spells(run, station, machine) if told == state)


def count(run: Run, what: str, station: str, machine: int = 1) -> float:
    """Return a count of a machine."""
    place = run.totals.layout.machines.index((station, machine))
    return float(getattr(run.totals, what)[place])


def good(run: Run, product: str) -> tuple[float, float]:
    """Return kilograms and pieces of a product that were finished."""
    place = run.totals.layout.products.index(product)
    return float(run.totals.good_kg[place]), float(run.totals.pieces_good[place])


def scrapped(run: Run) -> dict[tuple[str, str], float]:
    """Return the scrap by station and reason, in kilograms."""
    return {(station, reason): round(kg, 6) for station, reason, kg in run.totals.scrap}
