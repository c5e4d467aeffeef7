"""A run written out as a plant's log: what the people and machines of that plant would have written down."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from twin.logs.tables import Array, Log, Table, table_of
from twin.scenario.calendars import timestamp

if TYPE_CHECKING:
    from twin.line.trace import Trace
    from twin.scenario import Scenario

WORDS = {"starved": "no material", "blocked": "no room", "closed": "closed"}
STILL = "still going"
"""The note of a stop that had not ended when the log was taken."""
DAY_S = 86_400.0
SHORTEST_S = 1.0
"""Nobody writes such a short stop down; in whole seconds it would end when it starts. [s]"""


def log_of(trace: Trace, scenario: Scenario) -> Log:
    """Return the log that a plant would have kept of a run.

    Every stop of every machine is in it, also those for want of material or room; running time is not, as in most
    plants. A stop that goes on over a closed night is one row. What went on before the log began is left out, what
    goes on when it ends is noted so.
    """
    begin = timestamp(scenario.time, scenario.time.start)
    tables = trace.tables
    made = [
        _stops(tables["states"], begin),
        _output(tables, scenario, begin),
        _rolls(tables["rolls"], begin),
        _coils(tables["coils"], begin),
        _stock(tables["levels"], scenario, begin),
    ]
    return Log({one.name: one for one in made}, scenario.time.zone, scenario.name)


def _stops(states: Mapping[str, Array], begin: float) -> Table:
    first, last = float(states["start_s"].min()), float(states["end_s"].max())
    shops = np.char.endswith(states["station"].astype(str), " roll shop")
    keep = (states["state"] != "closed") & ~shops
    own = {name: values[keep] for name, values in states.items()}
    order = np.lexsort((own["start_s"], own["machine"], own["station"]))
    own = {name: values[order] for name, values in own.items()}
    same = np.ones(len(order), dtype=bool)
    for name in ("station", "machine", "state", "reason"):
        same[1:] &= own[name][1:] == own[name][:-1]
    heads = np.flatnonzero(~same | (np.arange(len(order)) == 0))
    tails = np.append(heads[1:], len(order)) - 1
    start, end = own["start_s"][heads], own["end_s"][tails]
    stop = (own["state"][heads] != "running") & (start > first) & (end - start > SHORTEST_S)
    heads, start, end = heads[stop], start[stop], end[stop]
    reasons = [_reason(str(s), str(r)) for s, r in zip(own["state"][heads], own["reason"][heads], strict=True)]
    columns = {
        "station": own["station"][heads],
        "machine": own["machine"][heads],
        "start": begin + start,
        "end": begin + end,
        "reason": np.array(reasons, dtype=object),
        "note": np.where(end >= last, STILL, ""),
    }
    return _in_order(table_of("stops", columns), "start")


def _reason(state: str, reason: str) -> str:
    if state == "changing_rolls":
        return "roll damage" if reason == "damage" else "roll change"
    if state == "waiting":
        return f"waiting for {reason}" if reason else "waiting"
    return WORDS.get(state, reason or state)


def _output(tables: Mapping[str, Mapping[str, Array]], scenario: Scenario, begin: float) -> Table:
    """Return one row for each coil, ring or lot that a station finished, with the scrap booked since the last.

    What casters, mills and slitters give stands coil by coil in the table of coils, sold or not; so it does for
    stations that the table of output does not name.
    """
    kinds = {name: own.kind for name, own in scenario.stations.items()}
    by_coil = {name for name, kind in kinds.items() if kind in ("caster", "mill", "slitter")}
    by_coil |= set(kinds) - set(tables["output"]["station"].tolist())
    keep = np.array([name not in by_coil for name in tables["output"]["station"].tolist()], dtype=bool)
    coils = tables["coils"]
    given = [
        name in by_coil and (kinds[name] != "slitter" or parent >= 0)
        for name, parent in zip(coils["station"].tolist(), coils["parent"].tolist(), strict=True)
    ]
    whole, own = np.array(given, dtype=bool), {key: values[keep] for key, values in tables["output"].items()}
    names = {
        "station": np.concatenate([own["station"], coils["station"][whole]]),
        "machine": np.concatenate([own["machine"], coils["machine"][whole]]),
        "time": np.concatenate([own["time_s"], coils["end_s"][whole]]),
        "coil": np.concatenate([own["coil"], coils["coil"][whole]]),
        "product": np.concatenate([own["product"], _as_sold(coils, tables["output"])[whole]]),
        "pieces": np.concatenate(
            [np.where(own["coil"] >= 0, own["pieces"], np.nan), np.full(int(whole.sum()), np.nan)]
        ),
        "good_kg": np.concatenate([own["good_kg"], coils["mass_kg"][whole]]),
    }
    merged = _merged(names)
    merged["scrap_kg"] = _scrap(merged, tables["scrap"])
    merged["coil"] = np.array(["" if coil < 0 else str(coil) for coil in merged["coil"].tolist()], dtype=object)
    merged["time"] = merged["time"] + begin
    return _in_order(table_of("output", merged), "time")


def _as_sold(coils: Mapping[str, Array], output: Mapping[str, Array]) -> Array:
    """Return the product of each coil; a ring that leaves as it is goes by the name under which it is sold."""
    sold = {
        (station, coil): product
        for station, coil, product, finished in zip(
            *(output[name].tolist() for name in ("station", "coil", "product", "finished")), strict=True
        )
        if finished and coil >= 0
    }
    own = zip(*(coils[name].tolist() for name in ("station", "coil", "product")), strict=True)
    return np.array([sold.get((station, coil), product) for station, coil, product in own], dtype=object)


def _merged(own: dict[str, Array]) -> dict[str, Array]:
    """Put together what was made of one coil in several spells, unless something else came between."""
    order = np.lexsort((own["time"], own["machine"], own["station"]))
    own = {name: values[order] for name, values in own.items()}
    same = np.ones(len(order), dtype=bool)
    for name in ("station", "machine", "coil", "product"):
        same[1:] &= own[name][1:] == own[name][:-1]
    same &= own["coil"] >= 0
    heads = np.flatnonzero(~same | (np.arange(len(order)) == 0))
    tails = np.append(heads[1:], len(order)) - 1
    merged = {name: own[name][tails] for name in ("station", "machine", "time", "coil", "product")}
    for name in ("pieces", "good_kg"):
        merged[name] = np.add.reduceat(own[name], heads) if len(heads) else own[name]
    return merged


def _scrap(output: Mapping[str, Array], scrap: Mapping[str, Array]) -> Array:
    """Return for each row the scrap that was booked at its machine since the row before."""
    found = np.zeros(len(output["time"]))
    machines = sorted(set(zip(output["station"].tolist(), output["machine"].tolist(), strict=True)))
    for station, machine in machines:
        rows = np.flatnonzero((output["station"] == station) & (output["machine"] == machine))
        own = (scrap["station"] == station) & (scrap["machine"] == machine)
        place = np.searchsorted(output["time"][rows], scrap["time_s"][own], side="left").clip(max=len(rows) - 1)
        found[rows] = np.bincount(place, weights=scrap["kg"][own], minlength=len(rows))
    return found


def _rolls(own: Mapping[str, Array], begin: float) -> Table:
    columns = {
        "station": own["station"],
        "set": np.array([str(number) for number in own["set"].tolist()], dtype=object),
        "on": begin + own["on_s"],
        "off": begin + own["off_s"],
        "km": own["km"],
        "why": own["why"],
        "diameter_mm": own["diameter_mm"],
    }
    return _in_order(table_of("rolls", columns), "off")


def _coils(own: Mapping[str, Array], begin: float) -> Table:
    columns = {
        "coil": np.array([str(number) for number in own["coil"].tolist()], dtype=object),
        "parent": np.array(["" if number < 0 else str(number) for number in own["parent"].tolist()], dtype=object),
        "station": own["station"],
        "start": begin + own["start_s"],
        "end": begin + own["end_s"],
        **{name: own[name] for name in ("mass_kg", "length_m", "thickness_mm", "width_mm")},
    }
    return _in_order(table_of("coils", columns), "end")


def _stock(levels: Mapping[str, Array], scenario: Scenario, begin: float) -> Table:
    """Return what lay in each store at the beginning of each day of the log."""
    names = sorted(set(levels["store"].tolist()))
    if not names:
        return table_of("stock", {})
    times = np.arange(levels["time_s"].min(), levels["time_s"].max(), DAY_S)
    amounts = []
    for name in names:
        own = levels["store"] == name
        place = np.searchsorted(levels["time_s"][own], times, side="right") - 1
        amounts.append(levels["level"][own][place.clip(min=0)])
    columns = {
        "time": begin + np.tile(times, len(names)),
        "store": np.repeat(np.array(names, dtype=object), len(times)),
        "amount": np.concatenate(amounts),
    }
    return _in_order(table_of("stock", columns), "time")


def _in_order(table: Table, name: str) -> Table:
    sorted_ = table.take(np.argsort(table[name], kind="stable"))
    return table_of(table.name, sorted_.columns)
