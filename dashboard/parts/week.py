"""From a kept answer to what the drawings of the week take: the line's shape, the packed week, its figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from dashboard.charts.plant import Branch, Plant, Station, Store, section_for
from dashboard.charts.week import Figure, Limits, MachineTrace, StoreTrace, Week, days_between, week_data
from dashboard.parts.amounts import Units, thickness, tonnes_a_week
from twin.words import NO_BREAK, number

KG_PER_TONNE = 1000.0
ROLL_SHOP = " roll shop"
Answer = Mapping[str, Any]
Kept = Mapping[str, Any]


def rows_of(table: Mapping[str, Sequence[Any]]) -> list[dict[str, Any]]:
    """Return a table of columns as rows."""
    return [dict(zip(table, row, strict=True)) for row in zip(*table.values(), strict=True)]


def shown_unit(holds: str, units: Units) -> tuple[str, float]:
    """Return the unit in which a store's level is shown, and how many of it one SI unit is."""
    if holds in ("metal", "strip"):
        return units.mass, units.per_tonne / KG_PER_TONNE
    return holds, 1.0


def plant_of(answer: Answer, week: Kept, units: Units) -> Plant:
    """Return the line as it is drawn."""
    line = answer["line"]
    peaks = highest(week)
    return Plant(
        stations=tuple(station_of(row, answer, units) for row in line["stations"]),
        stores=tuple(store_of(row, peaks, units) for row in line["stores"]),
        branches=tuple(
            Branch(
                row["at"],
                row["title"],
                section_for(row["section"]),
                tonnes_a_week(answer["leaves"][row["at"]], units),
            )
            for row in line["leaves"]
        ),
    )


def highest(week: Kept) -> dict[str, float]:
    """Return the highest level of each store in the week."""
    levels: dict[str, float] = {}
    for store, level in zip(week["tables"]["levels"]["store"], week["tables"]["levels"]["level"], strict=True):
        levels[store] = max(levels.get(store, 0.0), level or 0.0)
    return levels


def station_of(row: Mapping[str, Any], answer: Answer, units: Units) -> Station:
    """Return one station as it is drawn, with its rate while it runs and the thickness that leaves it."""
    return Station(
        name=row["name"],
        kind=row["kind"],
        source=(row["from"],) if row["from"] else (),
        to=(row["to"],) if row["to"] else (),
        machines=row["machines"],
        thickness_mm=row["thickness_mm"],
        note=station_note(row, answer["results"]["stations"][row["name"]], units),
    )


def station_note(row: Mapping[str, Any], found: Mapping[str, Any], units: Units) -> str:
    """Return what stands under a station when the week has no figure for it: 5.7 t/h, 8.2 mm."""
    running = found["share"]["running"]["mean"]
    out = found["out"]["mean"]
    rate = number(out / running * units.per_tonne, unit=f"{units.mass}/h", places=1) if running and out else ""
    thick = thickness(row["thickness_mm"], units) if row["thickness_mm"] and row["kind"] == "caster" else ""
    return ", ".join(part for part in (rate, thick) if part)


def store_of(row: Mapping[str, Any], peaks: Mapping[str, float], units: Units) -> Store:
    """Return one store as it is drawn."""
    unit, per = shown_unit(row["holds"], units)
    return Store(
        name=row["name"],
        holds=row["holds"],
        capacity=None if row["capacity"] is None else row["capacity"] * per,
        heel=row["heel"] * per,
        rests=row["rests"],
        unit=unit,
        shown_places=max(peaks.get(row["name"], 0.0) * per, 1.0) if row["capacity"] is None else None,
        digits=1 if row["holds"] == "metal" else 0,
    )


def start_of(week: Kept) -> datetime:
    """Return the local time at which the week starts."""
    return datetime.fromisoformat(week["start"]).astimezone(ZoneInfo(week["zone"]))


def packed_week(answer: Answer, week: Kept, units: Units) -> Week:
    """Return the week as the drawings and the player read it."""
    plant = plant_of(answer, week, units)
    states = rows_of(week["tables"]["states"])
    return week_data(
        plant,
        clock=(0.0, week["length_s"]),
        days=days_between(start_of(week), week["length_s"]),
        machines=machine_traces(in_flow(states, [row["name"] for row in answer["line"]["stations"]])),
        stores=store_traces(answer, week, units),
        figures=[*rolled(answer, week, states, units), *slit(answer, week)],
        limits=Limits(week["limits"]["time_s"], week["limits"]["name"]),
    )


def in_flow(states: Sequence[Mapping[str, Any]], order: Sequence[str]) -> list[Mapping[str, Any]]:
    """Return the states in the order of flow; what is no station (a roll shop) follows the one it serves."""
    return sorted(states, key=lambda row: (*place_in_flow(row["station"], order), row["start_s"]))


def place_in_flow(name: str, order: Sequence[str]) -> tuple[int, bool, str]:
    """Return where a name stands in the order of flow; a roll shop comes right after its mill."""
    if name in order:
        return list(order).index(name), False, name
    mill = name.removesuffix(ROLL_SHOP)
    return list(order).index(mill) if mill in order else len(order), True, name


def machine_traces(states: Sequence[Mapping[str, Any]]) -> list[MachineTrace]:
    """Return the states machine by machine, in the order in which the trace names them."""
    found: dict[tuple[str, int], list[Mapping[str, Any]]] = {}
    for row in states:
        found.setdefault((row["station"], int(row["machine"])), []).append(row)
    return [
        MachineTrace(
            station,
            machine,
            *([row[name] for row in rows] for name in ("start_s", "end_s", "state", "slowed", "reason")),
        )
        for (station, machine), rows in found.items()
    ]


def store_traces(answer: Answer, week: Kept, units: Units) -> list[StoreTrace]:
    """Return the level of each store in the unit in which it is shown."""
    rows = rows_of(week["tables"]["levels"])
    found = []
    for store in answer["line"]["stores"]:
        own = [row for row in rows if row["store"] == store["name"]]
        _, per = shown_unit(store["holds"], units)
        found.append(
            StoreTrace(
                store["name"],
                [row["time_s"] for row in own],
                [row["level"] * per for row in own],
                [row["ready"] * per for row in own] if store["rests"] else None,
                linear=store["holds"] != "coils",
            )
        )
    return found


def rolled(answer: Answer, week: Kept, states: Sequence[Mapping[str, Any]], units: Units) -> list[Figure]:
    """Return how far the rolls of each mill have run, along time: 41 of 57 km."""
    found = []
    for mill in answer["line"]["stations"]:
        if not mill["rolls"] or mill["machines"] != 1:
            continue
        runs = [row for row in states if row["station"] == mill["name"] and row["state"] == "running"]
        sets = [row for row in rows_of(week["tables"]["rolls"]) if row["station"] == mill["name"]]
        limit = mill["change_after_km"]
        time, value = rolled_points(runs, stays_of(sets, week["length_s"]), limit)
        of = f"of {number(limit * units.per_km, places=0)}{NO_BREAK}" if limit else ""
        if time:
            shown = [distance * units.per_km for distance in value]
            found.append(Figure(mill["name"], time, shown, form=f"{{}} {of}{units.distance}"))
    return found


@dataclass(frozen=True, slots=True)
class Stay:
    """A roll set on the mill: from when to when [s], and how far it ran, None while it is still there [km]."""

    on: float
    off: float
    km: float | None


def stays_of(sets: Sequence[Mapping[str, Any]], length: float) -> list[Stay]:
    """Return the sets that came off in the week, in order, and the one that is on the mill at its end."""
    ended = [
        Stay(row["on_s"], row["off_s"], row["km"])
        for row in sets
        if row["off_s"] is not None and row["off_s"] <= length
    ]
    ended.sort(key=lambda stay: stay.off)
    return [*ended, Stay(ended[-1].off, length, None)] if ended else []


def rolled_points(
    runs: Sequence[Mapping[str, Any]], stays: Sequence[Stay], limit: float | None
) -> tuple[list[float], list[float]]:
    """Return corners of the distance run by the set on the mill [km] over time [s].

    The distance grows evenly over the running time of a set. A set that went on before the week, or comes off after
    it, grows at the mean pace of those that the week shows whole; without any there is nothing to tell.
    """
    whole = [stay for stay in stays if stay.on >= 0.0 and stay.km and spent(runs, stay.on, stay.off)]
    if not whole:
        return [], []
    pace = sum(stay.km or 0.0 for stay in whole) / sum(spent(runs, stay.on, stay.off) for stay in whole)
    points = [(at, run_until(runs, stay, at, pace, limit)) for stay in stays for at in corners(runs, stay)]
    return [at for at, _ in points], [km for _, km in points]


def corners(runs: Sequence[Mapping[str, Any]], stay: Stay) -> list[float]:
    """Return the starts and ends of running within a stay, in the week [s]."""
    found: list[float] = []
    for run in runs:
        begin, end = max(run["start_s"], stay.on, 0.0), min(run["end_s"], stay.off)
        found += [begin, end] if begin < end else []
    return found


def run_until(runs: Sequence[Mapping[str, Any]], stay: Stay, at: float, pace: float, limit: float | None) -> float:
    """Return how far a set has run at a time [km], at a pace [km/s] where its own is not known."""
    if stay.km is None:
        return min(pace * spent(runs, stay.on, at), limit if limit is not None else float("inf"))
    if stay.on < 0.0:
        return max(0.0, stay.km - pace * spent(runs, at, stay.off))
    return stay.km * spent(runs, stay.on, at) / (spent(runs, stay.on, stay.off) or 1.0)


def spent(runs: Sequence[Mapping[str, Any]], begin: float, end: float) -> float:
    """Return the running time between two times [s]."""
    return float(sum(max(0.0, min(run["end_s"], end) - max(run["start_s"], begin)) for run in runs))


def slit(answer: Answer, week: Kept) -> list[Figure]:
    """Return what each slitter is cutting, along time: 3 × 333 mm."""
    found = []
    for slitter in answer["line"]["stations"]:
        if slitter["kind"] != "slitter" or slitter["machines"] != 1:
            continue
        rows = [
            row
            for row in rows_of(week["tables"]["coils"])
            if row["station"] == slitter["name"] and row["pattern"] in answer["line"]["rings"]
        ]
        if rows:
            words = [answer["line"]["rings"][row["pattern"]] for row in rows]
            found.append(Figure(slitter["name"], [row["start_s"] for row in rows], words=words))
    return found
