"""One simulated week with its trace, cut out to be looked at: plain lists, times in seconds from its start."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from twin.indicators import momentary
from twin.line import simulate
from twin.scenario import Scenario, apply_set
from twin.scenario.calendars import elapsed, wall_clock

DAY_S = 86_400.0
WEEK_S = 7 * DAY_S
Table = Mapping[str, NDArray[Any]]
SPANS = {
    "states": ("start_s", "end_s"),
    "coils": ("start_s", "end_s"),
    "output": ("start_s", "time_s"),
    "rolls": ("on_s", "off_s"),
}


def window(scenario: Scenario) -> tuple[float, float]:
    """Return the stretch to be shown, in elapsed seconds: the first whole week from a Monday on, else what there is."""
    time = scenario.time
    begin, end = time.warm_up, time.warm_up + time.length
    if time.length < WEEK_S:
        return begin, end
    local = wall_clock(time, begin)
    monday = datetime(local.year, local.month, local.day) - timedelta(days=local.weekday())
    if elapsed(time, monday) < begin - 1.0:
        monday += timedelta(days=7)
    after = elapsed(time, monday + timedelta(days=7))
    return (elapsed(time, monday), after) if after <= end + 1.0 else (begin, begin + WEEK_S)


def one_week(scenario: Scenario, seed: int) -> dict[str, Any]:
    """Return the shown week of the first run.

    Only as much is simulated as is shown: what a run does never depends on how long it goes on.
    """
    start, end = window(scenario)
    shown = apply_set(scenario, "time.length", f"{end - scenario.time.warm_up:.0f} s")
    trace = simulate(shown, seed=seed, run=0, clock="simpy", trace=True).trace
    if trace is None:
        raise RuntimeError("the run was asked for a trace and gave none")
    tables = {name: cut(table, *SPANS[name], start, end) for name, table in needed(scenario, trace.tables).items()}
    tables["levels"] = cut_levels(trace.tables["levels"], start, end)
    limits = momentary(trace.tables["states"], list(scenario.stations))
    return {
        "start": wall_clock(scenario.time, start).isoformat(),
        "zone": scenario.time.zone,
        "start_s": start,
        "length_s": end - start,
        "tables": tables,
        "limits": limit_steps(limits.start_s, limits.end_s, limits.station, start, end),
    }


def needed(scenario: Scenario, tables: Mapping[str, Table]) -> dict[str, Table]:
    """Return the tables that the page shows: of coils those at the slitters, of output what is finished."""
    slitters = [name for name, station in scenario.stations.items() if station.kind == "slitter"]
    keep = {
        "coils": np.isin(tables["coils"]["station"], slitters),
        "output": np.asarray(tables["output"]["finished"], dtype=bool),
    }
    found = {name: tables[name] for name in SPANS}
    for name, rows in keep.items():
        found[name] = {column: np.asarray(values)[rows] for column, values in tables[name].items()}
    return found


def plain(column: NDArray[Any]) -> list[Any]:
    """Return a column as plain values, text as text, a number that is none as None."""
    if column.dtype.kind in "OUS":
        return [str(value) for value in column.tolist()]
    if column.dtype.kind == "f":
        return [round(value, 4) if np.isfinite(value) else None for value in column.tolist()]
    return list(column.tolist())


def cut(table: Table, first: str, last: str, start: float, end: float) -> dict[str, list[Any]]:
    """Return the rows that touch the week, times counted from its start; what has not ended yet stays in."""
    begins = np.asarray(table[first], dtype=float)
    ends = np.asarray(table[last], dtype=float)
    inside = (begins < end) & ~(ends <= start)
    found = {}
    for name, column in table.items():
        values = np.asarray(column)[inside]
        found[name] = plain(
            values.astype(float) - start if name.endswith("_s") and name not in ("took_s", "waited_s") else values
        )
    return found


def cut_levels(table: Table, start: float, end: float) -> dict[str, list[Any]]:
    """Return the levels of the week; each store keeps its last row before the week, so that its level is known."""
    time, store = np.asarray(table["time_s"], dtype=float), np.asarray(table["store"])
    keep = (time >= start) & (time <= end)
    for name in np.unique(store):
        before = np.flatnonzero((store == name) & (time < start))
        after = np.flatnonzero((store == name) & (time > end))
        keep[before[-1:]] = True
        keep[after[:1]] = True
    found = {name: plain(np.asarray(column)[keep]) for name, column in table.items() if name != "time_s"}
    return found | {"time_s": plain(time[keep] - start)}


def limit_steps(
    begins: NDArray[Any], ends: NDArray[Any], names: NDArray[Any], start: float, end: float
) -> dict[str, list[Any]]:
    """Return who limits from each time on, "" where nobody does."""
    time: list[float] = [0.0]
    name: list[str] = [""]
    for begin, until, station in zip(begins.tolist(), ends.tolist(), names.tolist(), strict=True):
        if until <= start or begin >= end:
            continue
        for at, who in ((max(begin, start) - start, str(station)), (min(until, end) - start, "")):
            if at == time[-1]:
                time.pop()
                name.pop()
            time.append(round(at, 3))
            name.append(who)
    return {"time_s": time, "name": name}
