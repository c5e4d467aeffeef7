"""Everything that happened in a run, as typed tables: one array a column, names as text, times in seconds."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from twin.line.model import Model, paired
from twin.line.reasons import SET_PLACES, STATES, WHY_OFF
from twin.line.rules import state as st
from twin.line.rules.vectors import Floats
from twin.line.tables import metal_of, strips_at

Column = NDArray[Any]
Table = dict[str, Column]
TOOK = -1.0
FLOWED = -2.0
COUNTED = -3.0
EVENTS = ("stop", "service", "damage")


class Tables(Mapping[str, Table]):
    """The tables of a trace, each made from the run's rows when it is first asked for."""

    def __init__(self, line: st.Line, model: Model) -> None:
        self._line = line
        self._model = model
        self._made: dict[str, Table] = {}

    def __getitem__(self, name: str) -> Table:
        """Return one table: column -> array."""
        if name not in self._made:
            self._made[name] = MAKERS[name](self._line, self._model)
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        """Go through the names of the tables."""
        return iter(MAKERS)

    def __len__(self) -> int:
        """Return how many tables there are."""
        return len(MAKERS)


@dataclass(frozen=True)
class Trace:
    """The trace of one run.

    Attributes
    ----------
    tables : states, coils, levels, output, scrap, rolls, sets and events: name -> column -> array.
    """

    tables: Mapping[str, Table]


def trace_of(line: st.Line, model: Model) -> Trace:
    """Turn the rows that a run left behind into tables."""
    return Trace(Tables(line, model))


def table(names: Sequence[str], rows: Sequence[tuple[Any, ...]]) -> Table:
    """Turn rows into columns."""
    if not rows:
        return {name: np.array([]) for name in names}
    return {name: np.array(column) for name, column in zip(names, zip(*rows, strict=True), strict=True)}


def packed(names: Sequence[str], rows: Floats) -> Table:
    """Turn rows that were written one number behind the other into columns."""
    columns = np.array(rows, dtype=float).reshape(-1, len(names))
    return {name: columns[:, place].copy() for place, name in enumerate(names)}


def words(names: Sequence[str], codes: Column) -> Column:
    """Turn codes into their words; -1 is nothing."""
    lexicon = np.array([*names, ""])
    return lexicon[codes.astype(np.int64)] if len(codes) else np.array([], dtype=lexicon.dtype)


def who(model: Model, codes: Column) -> Table:
    """Return station and number of machines by their places."""
    names = [name for name, _ in model.layout.machines]
    numbers = np.array([number for _, number in model.layout.machines], dtype=np.int64)
    places = codes.astype(np.int64)
    return {"station": words(names, codes), "machine": numbers[places] if len(places) else np.array([], dtype=np.int64)}


def states(line: st.Line, model: Model) -> Table:
    """Return what each machine did from when to when."""
    raw = packed(("who", "state", "reason", "slowed", "start_s", "end_s"), line.state_rows)
    return who(model, raw["who"]) | {
        "state": words(STATES, raw["state"]),
        "reason": words(model.reasons, raw["reason"]),
        "slowed": raw["slowed"].astype(bool),
        "start_s": raw["start_s"],
        "end_s": raw["end_s"],
    }


def coils(line: st.Line, model: Model) -> Table:
    """Return each coil and ring at each station that it went through."""
    keys = ("coil", "parent", "heat", "pattern", "product", "who", "start_s", "end_s", "mass_kg")
    raw = packed(keys, line.coil_rows)
    keys_of = np.stack([raw["who"], raw["pattern"], raw["product"]]).astype(np.int64).reshape(3, -1)
    kinds, kind_of = np.unique(keys_of, axis=1, return_inverse=True)
    size = np.array([size_behind(model, *kind) for kind in kinds.T.tolist()]).reshape(-1, 2)[kind_of.ravel()]
    width, thickness = size[:, 0], size[:, 1]
    per_metre = width * thickness * metal_of(model.scenario).density
    per_metre[per_metre <= 0.0] = np.inf
    named = who(model, raw["who"])
    return {
        "coil": raw["coil"].astype(np.int64),
        "parent": raw["parent"].astype(np.int64),
        "heat": raw["heat"].astype(np.int64),
        "pattern": words(model.routes.patterns, raw["pattern"]),
        "product": words(model.routes.products, raw["product"]),
        **named,
        "start_s": raw["start_s"],
        "end_s": raw["end_s"],
        "mass_kg": raw["mass_kg"],
        "length_m": raw["mass_kg"] / per_metre,
        "thickness_mm": thickness * 1e3,
        "width_mm": width * 1e3,
    }


def size_behind(model: Model, machine: int, pattern: int, product: int) -> tuple[float, float]:
    """Return width and thickness of the strip behind a machine, by what the coil is for. [m]"""
    name = model.layout.machines[machine][0]
    strips = strips_at(model.scenario, model.scenario.stations[name], model.routes)
    lane = 1 + pattern if product < 0 else 1 + len(model.routes.patterns) + product
    return strips.width[lane], strips.behind[lane]


def levels(line: st.Line, model: Model) -> Table:
    """Return the level of each store at each change, and how many coils may be taken."""
    names = [
        name if paired(model.scenario, name) == 1 else f"{name} {place + 1}"
        for name in model.scenario.stores
        for place in range(paired(model.scenario, name))
    ]
    raw = packed(("store", "time_s", "level", "mark"), line.level_rows)
    columns: dict[str, list[Column]] = {"store": [], "time_s": [], "level": [], "ready": []}
    for place, name in enumerate(names):
        own = raw["store"] == place
        time, level, mark = raw["time_s"][own], raw["level"][own], raw["mark"][own]
        if len(time) == 0:
            continue
        if line.stores[place].holds == st.COILS and not line.stores[place].finished:
            time, level, ready = ripening(time, level, mark, model.end)
        else:
            kept = np.append(np.diff(time) != 0.0, True)
            time, level = time[kept], level[kept]
            ready = level
        for key, column in (("time_s", time), ("level", level), ("ready", ready)):
            columns[key].append(column)
        columns["store"].append(np.full(len(time), name))
    return {key: np.concatenate(parts) if parts else np.array([]) for key, parts in columns.items()}


def ripening(time: Column, level: Column, mark: Column, end: float) -> tuple[Column, Column, Column]:
    """Return times, levels and coils that may be taken: one more when a coil has lain long enough, one less taken."""
    begin = int(np.flatnonzero(mark == COUNTED)[-1]) if np.any(mark == COUNTED) else 0
    time, level, mark = time[begin:], level[begin:], mark[begin:]
    later = mark[mark > time]
    at_start = level[0] - np.count_nonzero((time == time[0]) & (mark > time))
    extra = later[later <= end]
    whole = np.concatenate([time, extra])
    change = np.concatenate([np.where(mark == TOOK, -1.0, 0.0), np.ones(len(extra))])
    at_once = np.concatenate([(mark >= 0.0) & (mark <= time) & (time > time[0]), np.zeros(len(extra), dtype=bool)])
    change = change + at_once
    order = np.argsort(whole, kind="stable")
    whole, change = whole[order], change[order]
    ready = at_start + np.cumsum(change)
    carried = level[np.searchsorted(time, whole, side="right") - 1]
    kept = np.append(np.diff(whole) != 0.0, True)
    return whole[kept], carried[kept], np.maximum(ready[kept], 0.0)


def output(line: st.Line, model: Model) -> Table:
    """Return what machines made."""
    keys = ("who", "start_s", "time_s", "product", "coil", "pieces", "good_kg", "finished")
    raw = packed(keys, line.output_rows)
    return who(model, raw["who"]) | {
        "start_s": raw["start_s"],
        "time_s": raw["time_s"],
        "product": words(
            model.layout.products, np.where(raw["product"] < 0, len(model.routes.products), raw["product"])
        ),
        "coil": raw["coil"].astype(np.int64),
        "pieces": raw["pieces"],
        "good_kg": raw["good_kg"],
        "finished": raw["finished"].astype(bool),
    }


def scrap(line: st.Line, model: Model) -> Table:
    """Return what was scrapped, where and why."""
    raw = packed(("who", "time_s", "reason", "kg"), line.scrap_rows)
    return who(model, raw["who"]) | {
        "time_s": raw["time_s"],
        "reason": words(model.reasons, raw["reason"]),
        "kg": raw["kg"],
    }


def rolls(line: st.Line, model: Model) -> Table:
    """Return the card of each roll set that came off."""
    keys = ("who", "set", "on_s", "off_s", "m", "why", "diameter_m", "took_s", "waited_s")
    raw = table(keys, line.roll_rows)
    return who(model, raw["who"]) | {
        "set": raw["set"],
        "on_s": raw["on_s"],
        "off_s": raw["off_s"],
        "km": raw["m"] / 1e3,
        "why": words(WHY_OFF, raw["why"]),
        "diameter_mm": raw["diameter_m"] * 1e3,
        "took_s": raw["took_s"],
        "waited_s": raw["waited_s"],
    }


def sets(line: st.Line, model: Model) -> Table:
    """Return where each roll set was from when to when."""
    raw = table(("shop", "set", "place", "start_s", "end_s"), line.set_rows)
    return {
        "station": words(model.layout.mills, raw["shop"]),
        "set": raw["set"],
        "state": words(SET_PLACES, raw["place"]),
        "start_s": raw["start_s"],
        "end_s": raw["end_s"],
    }


def events(line: st.Line, model: Model) -> Table:
    """Return stops, services and damages as they began."""
    raw = table(("who", "time_s", "what", "reason", "value"), line.event_rows)
    return who(model, raw["who"]) | {
        "time_s": raw["time_s"],
        "what": words(EVENTS, raw["what"]),
        "detail": words(model.reasons, raw["reason"]),
        "value": raw["value"],
    }


MAKERS: dict[str, Callable[[st.Line, Model], Table]] = {
    "states": states,
    "coils": coils,
    "levels": levels,
    "output": output,
    "scrap": scrap,
    "rolls": rolls,
    "sets": sets,
    "events": events,
}
