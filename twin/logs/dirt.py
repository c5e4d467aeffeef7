"""A clean log made dirty on purpose, with the truth kept: for tests of the doctor, for showing and for training."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from twin.logs.doctor.findings import Case, stations
from twin.logs.reasons import class_of
from twin.logs.soil import Planted, Soil, insert, pick
from twin.logs.tables import Array, Log

if TYPE_CHECKING:
    from twin.scenario import Scenario

DAY_S = 86_400.0
ENOUGH = 10
_MISSPELT = ("misc", "Sonstiges", "machine standing", "sensor ?", "diverses", "panne", "waiting f. material")


def dirty(log: Log, scenario: Scenario, kinds: Sequence[str], seed: int) -> tuple[Log, tuple[Planted, ...]]:
    """Return a log with faults of these kinds planted in it, and the truth about them.

    Where a kind cannot be planted (no station has enough rows) it is left out. The same seed gives the same dirt.
    """
    soil = Soil(Case(log, scenario), np.random.default_rng(seed))
    for kind in [one for one in PLANTERS if one in kinds]:
        PLANTERS[kind](soil)
    return _written(soil)


def _written(soil: Soil) -> tuple[Log, tuple[Planted, ...]]:
    """Put rows in the order of their times, as they would be written, and name them by their lines there."""
    places: dict[tuple[str, int], int] = {}
    tables = []
    for table in soil.case.log.tables.values():
        new = np.arange(len(table)) + 2
        places |= {(table.name, int(old)): int(line) for old, line in zip(table.line, new, strict=True)}
        tables.append(replace(table, line=new))
    planted = tuple(
        replace(one, groups=tuple(frozenset(places[one.table, line] for line in g) for g in one.groups))
        for one in soil.planted
    )
    return soil.case.log.put(*tables), planted


def _clock(soil: Soil) -> None:
    coils, output = soil.table("coils"), soil.table("output")
    both = {name for name, rows in stations(coils) if len(rows) >= 20} & {
        str(name) for name, rows in stations(output) if len(set(output["coil"][rows].tolist())) >= 20
    }
    name = pick(soil, sorted(both))
    if name is None:
        return
    offset = float(soil.rng.choice([-1.0, 1.0]) * soil.rng.uniform(60.0, 900.0))
    drift = float(soil.rng.choice([0.0, soil.rng.uniform(-20.0, 20.0)])) / DAY_S
    begin = soil.case.log.span[0]
    for table in (coils, soil.table("stops")):
        own = table["station"] == name
        moved = {key: table[key].copy() for key in ("start", "end")}
        for times in moved.values():
            times[own] += offset + drift * (times[own] - begin)
        soil.put(table.put(None, **moved))
    soil.say("clock", coils, name, [], offset)


def _clock_order(soil: Soil) -> None:
    """Set a clock back so far that coils begin before they were there; the output is written by the same clock."""
    from twin.logs.doctor.order import waits_between

    coils, kinds = soil.table("coils"), soil.case.scenario.stations if soil.case.scenario else {}
    usual = {
        after: float(np.quantile([wait for wait, _ in pairs], 0.06))
        for (_, after), pairs in waits_between(coils, list(kinds)).items()
        if len(pairs) >= 40
    }
    moved = {one.station for one in soil.planted if one.kind == "clock"}
    name = pick(soil, [one for one, wait in usual.items() if wait < 7200.0 and one not in moved])
    if name is None:
        return
    offset = -usual[name] - float(soil.rng.uniform(600.0, 1800.0))
    for table, keys in (
        (coils, ("start", "end")),
        (soil.table("stops"), ("start", "end")),
        (soil.table("output"), ("time",)),
    ):
        own = table["station"] == name
        soil.put(table.put(None, **{key: table[key] + np.where(own, offset, 0.0) for key in keys}))
    soil.say("clock order", coils, name, [], offset)


def _regular(soil: Soil) -> None:
    """Book twenty minutes of planned work at one time of each day as a failure."""
    case = soil.case
    names = [one for one in case.hours if case.reasons.get(one)]
    for name in soil.rng.permutation(np.array(sorted(names), dtype=object)).tolist():
        stops = soil.table("stops")
        start, rows = _free_times(soil, str(name)), np.flatnonzero(stops["station"] == name)
        if len(start) < ENOUGH:
            continue
        texts = {"reason": sorted(case.reasons[str(name)])[0], "note": ""}
        changes = {key: np.full(len(start), word, dtype=object) for key, word in texts.items()}
        changes |= {"start": start, "end": start + soil.rng.uniform(1180.0, 1230.0, size=len(start))}
        table = insert(soil, stops, np.repeat(rows[:1], len(start)), changes)
        soil.put(table)
        soil.used |= {("stops", int(table.line[at])) for at in range(len(stops), len(table))}
        soil.say("like a plan", table, str(name), [])
        return


def _free_times(soil: Soil, name: str) -> Array:
    """Return the days on which a station works at an hour of its own and nothing else is booked; the best hour's."""
    stops, hours = soil.table("stops"), soil.case.hours[name]
    rows = np.flatnonzero(stops["station"] == name)
    if not len(rows):
        return rows
    first, last = stops["start"][rows] - 1300.0, stops["end"][rows] + 60.0
    last = np.where(np.isnan(last), first + DAY_S, last)
    begin, end = float(last.min()), float(first.max())  # not where the station has no records anyway
    free = []
    for hour in range(24):
        days = np.arange(np.floor(begin / DAY_S) * DAY_S, end, DAY_S) + 3600.0 * hour
        start = days + soil.rng.uniform(-120.0, 120.0, size=len(days))
        start = start[(start > begin) & (start < end)]
        busy = ((first < start[:, None]) & (last > start[:, None])).any(axis=1)
        free.append(start[hours.is_open(start) & hours.is_open(start + 1260.0) & ~busy])
    return np.asarray(max(free, key=len))


def _reweighed(soil: Soil) -> None:
    coils = soil.table("coils")
    rows = soil.some(coils, range(len(coils)), (0.005, 0.02))
    factor = 1.0 + soil.rng.choice([-1.0, 1.0], size=len(rows)) * soil.rng.uniform(0.001, 0.01, size=len(rows))
    grown = insert(soil, coils, rows, {"mass_kg": coils["mass_kg"][rows] * factor})
    soil.put(grown)
    soil.say("re-weighed", grown, "", [(at, len(coils) + step) for step, at in enumerate(rows)])


def _production_day(soil: Soil) -> None:
    """Write nights until six under the date of the day before."""
    from twin.logs.doctor.clocks import time_of_day

    output = soil.table("output")
    times = output["time"]
    night = time_of_day(times, ZoneInfo(soil.case.log.zone)) < 6.0 * 3600.0
    begin, end = soil.case.log.span
    if len(np.unique(times[night] // DAY_S)) < 0.5 * (end - begin) / DAY_S:
        return
    soil.put(output.put(None, time=np.where(night, times - DAY_S, times)))
    soil.say("production day", output, "", [], 6.0 * 3600.0)


def _unit(soil: Soil) -> None:
    coils = soil.table("coils")
    name = pick(soil, [name for name, rows in stations(coils) if len(rows) >= 15])
    if name is None:
        return
    column, factor = (("mass_kg", 0.001), ("length_m", 3.28084), ("thickness_mm", 1.0 / 25.4))[soil.rng.integers(3)]
    own = coils[column].copy()
    own[coils["station"] == name] *= factor
    soil.put(coils.put(None, **{column: own}))
    soil.say("unit", coils, name, [], factor)


def _tare(soil: Soil) -> None:
    coils = soil.table("coils")
    name = pick(soil, [name for name, rows in stations(coils) if len(rows) >= 15])
    if name is None:
        return
    tare = float(soil.rng.uniform(20.0, 150.0))
    mass = coils["mass_kg"] + np.where(coils["station"] == name, tare, 0.0)
    soil.put(coils.put(None, mass_kg=mass))
    soil.say("tare", coils, name, [], tare)


def _closure(soil: Soil) -> None:
    output = soil.table("output")
    came = {str(name) for name, rows in stations(soil.table("coils")) if len(rows) >= 15}
    kinds = soil.case.scenario.stations if soil.case.scenario else {}
    later = [n for n, own in kinds.items() if n in came and own.kind not in ("supply", "furnace", "caster")]
    name = pick(soil, [one for one in later if (output["station"] == one).sum() >= 20])
    if name is None:
        return
    factor = float(soil.rng.choice([soil.rng.uniform(0.75, 0.92), soil.rng.uniform(1.08, 1.25)]))
    own = output["station"] == name
    good, scrap = output["good_kg"].copy(), output["scrap_kg"].copy()
    good[own] *= factor
    scrap[own] *= factor
    soil.put(output.put(None, good_kg=good, scrap_kg=scrap))
    soil.say("mass closure", output, name, [], factor)


def _genealogy(soil: Soil) -> None:
    coils = soil.table("coils")
    parents = coils["parent"].tolist()
    first: dict[tuple[str, str], int] = {}
    for at in np.argsort(coils["start"], kind="stable"):
        if parents[at]:
            first.setdefault((parents[at], coils["coil"][at]), int(at))
    families: dict[str, list[int]] = {}
    for (parent, _), at in first.items():
        families.setdefault(parent, []).append(at)
    born = {str(c): float(m) for c, m, p in zip(coils["coil"], coils["mass_kg"], parents, strict=True) if not p}
    names = sorted(set(families) & set(born))
    if len(names) < 10:
        return
    chosen = soil.rng.choice(np.array(names, dtype=object), size=max(1, len(names) // 40), replace=False)
    mass, groups = coils["mass_kg"].copy(), []
    length = coils["length_m"].copy()
    for parent in chosen:
        rows = families[parent]
        factor = born[parent] * soil.rng.uniform(1.03, 1.25) / float(mass[rows].sum())
        mass[rows] *= factor
        length[rows] *= factor
        groups.append(rows)
    soil.put(coils.put(None, mass_kg=mass, length_m=length))
    soil.say("genealogy", coils, "", groups)


def _minor(soil: Soil) -> None:
    stops = soil.table("stops")
    down = np.array([class_of(reason) == "down" for reason in stops["reason"]], dtype=bool)
    lasted = stops["end"] - stops["start"]
    for name, _ in stations(stops):
        own = down & (stops["station"] == name)
        for minutes in soil.rng.permutation([1.0, 2.0, 3.0, 5.0]):
            least = 60.0 * float(minutes)
            above = own & (lasted >= least)
            near = int((above & (lasted < 2.0 * least)).sum())
            if near >= 60 and float(lasted[above].min()) < 1.08 * least and (own & (lasted < least)).sum() >= 10:
                soil.put(stops.take(~(own & (lasted < least))))
                soil.say("minor stops", stops, name, [], least)
                return


def _gap(soil: Soil) -> None:
    from twin.logs.doctor.spans import SILENT_S, SILENT_TIMES, usual_silence

    case, (begin, end) = soil.case, soil.case.log.span
    lengths = {}
    for name in sorted(set(case.log["output"]["station"].tolist())):
        usual = usual_silence(case, name)
        if usual is not None and (least := 1.5 * max(SILENT_S, SILENT_TIMES * usual)) < 0.1 * (end - begin):
            lengths[str(name)] = least
    name = pick(soil, sorted(lengths))
    if name is None:
        return
    own = case.log["output"]["time"][case.log["output"]["station"] == name]
    start = float(soil.rng.uniform(max(begin, own.min()) + DAY_S, end - 6.0 * DAY_S))
    stop = start
    while float(case.worked(name, np.array(start), np.array(stop))) < lengths[name] and stop < end - DAY_S:
        stop += 600.0
    for table in (case.log["stops"], case.log["output"], case.log["coils"]):
        first = table["time"] if table.name == "output" else table["start"]
        last = table["time"] if table.name == "output" else table["end"]
        within = (table["station"] == name) & ~((np.nan_to_num(last) < start) | (first > stop))
        soil.put(table.take(~within))
    soil.planted.append(Planted("gap", "", name, (), stop - start, (start, stop)))


def _text(soil: Soil) -> None:
    stops = soil.table("stops")
    rows = soil.some(stops, range(len(stops)), (0.02, 0.15))
    reasons = stops["reason"].copy()
    for at in rows:
        old = str(reasons[at])
        cut = int(soil.rng.integers(1, max(2, len(old) - 1)))
        wrong = old[:cut] + old[cut + 1 :] + ("" if len(old) > 3 else " ?")
        reasons[at] = wrong if soil.rng.random() < 0.5 else str(soil.rng.choice(_MISSPELT))
    soil.put(stops.put(None, reason=reasons))
    soil.say("free text", stops, "", [[at] for at in rows])


def _rounding(soil: Soil) -> None:
    stops = soil.table("stops")
    name = pick(soil, [name for name, rows in stations(stops) if len(rows) >= 40])
    if name is None:
        return
    step = 60.0 * float(soil.rng.choice([5, 10, 15]))
    own = stops["station"] == name
    rounded = {key: stops[key].copy() for key in ("start", "end")}
    for times in rounded.values():
        times[own] = np.round(times[own] / step) * step
    soil.used |= {("stops", int(line)) for line in stops.line[own]}
    soil.put(stops.put(None, **rounded))
    soil.say("rounding", stops, name, [], step)


def _ended(kind: str, wrong: Callable[[Array, Array, np.random.Generator], Array]) -> Callable[[Soil], None]:
    def plant(soil: Soil) -> None:
        stops = soil.table("stops")
        silent = {one.station for one in soil.planted if one.kind == "gap"}
        last = {name: stops["start"][rows].max() for name, rows in stations(stops)}
        fit = [
            at
            for at in range(len(stops))
            if stops["end"][at] - stops["start"][at] > 60.0
            and not stops["note"][at]
            and stops["station"][at] not in silent
            and stops["start"][at] < last[stops["station"][at]] - 5.0 * DAY_S
        ]
        rows = soil.some(stops, fit, (0.002, 0.01))
        end = stops["end"].copy()
        end[rows] = wrong(stops["start"][rows], end[rows], soil.rng)
        soil.put(stops.put(None, end=end))
        soil.say(kind, stops, "", [[at] for at in rows])

    return plant


def _too_long(start: Array, end: Array, rng: np.random.Generator) -> Array:
    return start + rng.uniform(8.0, 11.0, size=len(start)) * DAY_S


def _overlap(soil: Soil) -> None:
    from twin.logs.doctor.findings import machines

    stops, silent = soil.table("stops"), {one.station for one in soil.planted if one.kind == "gap"}
    pairs = []
    for _, _, rows in machines(stops):
        order = rows[np.argsort(stops["start"][rows], kind="stable")]
        for a, b in zip(order, order[1:], strict=False):
            first, second = (float(stops["end"][at] - stops["start"][at]) for at in (a, b))
            long = 300.0 < second < 4.0 * 3600.0 and first > 60.0 and stops["station"][a] not in silent
            if long and stops["end"][a] <= stops["start"][b] and len(soil.free(stops, (a, b))) == 2:
                pairs.append((int(a), int(b)))
    end, groups, taken = stops["end"].copy(), [], set[int]()
    for place in soil.rng.permutation(len(pairs))[: max(1, len(pairs) // 50)]:
        a, b = pairs[place]
        if taken & {a, b}:
            continue
        taken |= {a, b}
        end[a] = stops["start"][b] + soil.rng.uniform(0.3, 0.9) * (stops["end"][b] - stops["start"][b])
        groups.append((a, b))
    soil.used |= {("stops", int(stops.line[at])) for at in taken}
    soil.put(stops.put(None, end=end))
    soil.say("overlap", stops, "", groups)


def _planned(soil: Soil) -> None:
    stops, case = soil.table("stops"), soil.case
    fit = [name for name, hours in case.hours.items() if len(hours.starts) > 10 and case.reasons.get(name)]
    name = pick(soil, fit)
    if name is None:
        return
    hours, span = case.hours[name], case.log.span
    inside = np.flatnonzero((hours.ends[:-1] > span[0]) & (hours.starts[1:] < span[1]))
    chosen = np.sort(soil.rng.choice(inside, size=max(1, len(inside) // 4), replace=False))
    first = np.flatnonzero(stops["station"] == name)
    if not len(first):
        return
    rows = np.repeat(first[:1], len(chosen))
    reason = sorted(case.reasons[name])[0]
    changes = {
        "start": hours.ends[chosen],
        "end": hours.starts[chosen + 1],
        "reason": np.full(len(chosen), reason, dtype=object),
        "note": np.full(len(chosen), "", dtype=object),
    }
    table = insert(soil, stops, rows, changes)
    soil.put(table)
    new = range(len(stops), len(table))
    soil.used |= {("stops", int(table.line[at])) for at in new}
    soil.say("planned", table, name, [[at] for at in new])


def _copies(kind: str) -> Callable[[Soil], None]:
    def plant(soil: Soil) -> None:
        name = "output" if kind != "repeat" else str(soil.rng.choice(["stops", "output"]))
        table = soil.table(name)
        rows = soil.some(table, range(len(table)), (0.01, 0.03))
        changes: dict[str, Array] = {}
        if kind != "repeat":
            changes["good_kg"] = table["good_kg"][rows] * soil.rng.uniform(0.97, 0.99, size=len(rows))
        if kind == "version":
            version = table["version"].copy()
            version[rows] = table["time"][rows] + 3600.0
            table = table.put(None, version=version)
            changes["version"] = table["time"][rows] + DAY_S
        grown = insert(soil, table, rows, changes)
        soil.put(grown)
        soil.say(kind, grown, "", [(at, len(table) + step) for step, at in enumerate(rows)])

    return plant


PLANTERS: dict[str, Callable[[Soil], None]] = {
    "minor stops": _minor,
    "gap": _gap,
    "clock": _clock,
    "clock order": _clock_order,
    "unit": _unit,
    "tare": _tare,
    "mass closure": _closure,
    "genealogy": _genealogy,
    "re-weighed": _reweighed,
    "rounding": _rounding,
    "no end": _ended("no end", lambda start, end, rng: np.full(len(start), np.nan)),
    "end before start": _ended("end before start", lambda start, end, rng: start - rng.uniform(60, 7200, len(start))),
    "no length": _ended("no length", lambda start, end, rng: start),
    "over 24 h": _ended("over 24 h", _too_long),
    "overlap": _overlap,
    "planned": _planned,
    "like a plan": _regular,
    "free text": _text,
    "repeat": _copies("repeat"),
    "version": _copies("version"),
    "conflict": _copies("conflict"),
    "production day": _production_day,
}
"""Each kind of fault that can be planted, in the order in which they are."""
