"""A clean log made dirty on purpose, with the truth kept: for tests of the doctor, for showing and for training."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from twin.logs.doctor.findings import Case, Finding, stations
from twin.logs.reasons import class_of
from twin.logs.tables import Array, Log, Table

if TYPE_CHECKING:
    from twin.scenario import Scenario

DAY_S = 86_400.0
BY_STATION = ("clock", "rounding", "minor stops", "unit", "tare", "mass closure", "gap")
"""Faults that are found at a station, not at single rows."""
_MISSPELT = ("misc", "Sonstiges", "machine standing", "sensor ?", "diverses", "panne", "waiting f. material")


@dataclass(frozen=True)
class Planted:
    """One kind of fault at one place, and where.

    Attributes
    ----------
    groups : Sets of lines of the written file; a fault of rows is found when any line of its group is.
    value : Offset [s], factor or mass [kg], where there is one.
    """

    kind: str
    table: str
    station: str
    groups: tuple[frozenset[int], ...] = ()
    value: float = 0.0
    span: tuple[float, float] = (0.0, 0.0)


@dataclass
class _Soil:
    """A log while faults are put into it; the lines of its tables name rows until all is done."""

    case: Case
    rng: np.random.Generator
    planted: list[Planted] = field(default_factory=list)
    used: set[tuple[str, int]] = field(default_factory=set)

    def table(self, name: str) -> Table:
        return self.case.log[name]

    def put(self, table: Table) -> None:
        self.case = replace(self.case, log=self.case.log.put(table))

    def free(self, table: Table, rows: Iterable[int]) -> Array:
        """Return the rows that no other fault has touched yet."""
        return np.array([at for at in rows if (table.name, int(table.line[at])) not in self.used], dtype=np.int64)

    def some(self, table: Table, rows: Iterable[int], share: tuple[float, float]) -> Array:
        """Draw a share of some rows that are still clean, at least one, and remember them."""
        rows = self.free(table, rows)
        count = max(1, int(len(rows) * self.rng.uniform(*share)))
        drawn = np.sort(self.rng.choice(rows, size=min(count, len(rows)), replace=False))
        self.used |= {(table.name, int(table.line[at])) for at in drawn}
        return np.asarray(drawn)

    def say(self, kind: str, table: Table, station: str, groups: Iterable[Iterable[int]], value: float = 0.0) -> None:
        told = tuple(frozenset(int(table.line[at]) for at in group) for group in groups)
        self.planted.append(Planted(kind, table.name, station, told, value))


def dirty(log: Log, scenario: Scenario, kinds: Sequence[str], seed: int) -> tuple[Log, tuple[Planted, ...]]:
    """Return a log with faults of these kinds planted in it, and the truth about them.

    Where a kind cannot be planted (no station has enough rows) it is left out. The same seed gives the same dirt.
    """
    soil = _Soil(Case(log, scenario), np.random.default_rng(seed))
    for kind in [one for one in PLANTERS if one in kinds]:
        PLANTERS[kind](soil)
    return _written(soil)


def _written(soil: _Soil) -> tuple[Log, tuple[Planted, ...]]:
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


def _pick(soil: _Soil, names: Sequence[str]) -> str | None:
    return str(soil.rng.choice(np.array(sorted(names), dtype=object))) if names else None


def _insert(soil: _Soil, table: Table, rows: Array, changes: dict[str, Array] | None = None) -> Table:
    """Append copies of rows with new names; return the table with them."""
    copy = table.take(rows).put(None, **(changes or {}))
    lines = table.line.max() + 1 + np.arange(len(rows))
    columns = {name: np.concatenate([table[name], copy[name]]) for name in table.columns}
    return replace(
        table,
        columns=columns,
        line=np.concatenate([table.line, lines]),
        marks={},
        inferred=np.zeros(len(table) + len(rows), dtype=bool),
    )


def _clock(soil: _Soil) -> None:
    coils, output = soil.table("coils"), soil.table("output")
    both = {name for name, rows in stations(coils) if len(rows) >= 20} & {
        str(name) for name, rows in stations(output) if len(set(output["coil"][rows].tolist())) >= 20
    }
    name = _pick(soil, sorted(both))
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


def _unit(soil: _Soil) -> None:
    coils = soil.table("coils")
    name = _pick(soil, [name for name, rows in stations(coils) if len(rows) >= 15])
    if name is None:
        return
    column, factor = (("mass_kg", 0.001), ("length_m", 3.28084), ("thickness_mm", 1.0 / 25.4))[soil.rng.integers(3)]
    own = coils[column].copy()
    own[coils["station"] == name] *= factor
    soil.put(coils.put(None, **{column: own}))
    soil.say("unit", coils, name, [], factor)


def _tare(soil: _Soil) -> None:
    coils = soil.table("coils")
    name = _pick(soil, [name for name, rows in stations(coils) if len(rows) >= 15])
    if name is None:
        return
    tare = float(soil.rng.uniform(20.0, 150.0))
    mass = coils["mass_kg"] + np.where(coils["station"] == name, tare, 0.0)
    soil.put(coils.put(None, mass_kg=mass))
    soil.say("tare", coils, name, [], tare)


def _closure(soil: _Soil) -> None:
    output = soil.table("output")
    came = {str(name) for name, rows in stations(soil.table("coils")) if len(rows) >= 15}
    kinds = soil.case.scenario.stations if soil.case.scenario else {}
    later = [n for n, own in kinds.items() if n in came and own.kind not in ("supply", "furnace", "caster")]
    name = _pick(soil, [one for one in later if (output["station"] == one).sum() >= 20])
    if name is None:
        return
    factor = float(soil.rng.choice([soil.rng.uniform(0.75, 0.92), soil.rng.uniform(1.08, 1.25)]))
    own = output["station"] == name
    good, scrap = output["good_kg"].copy(), output["scrap_kg"].copy()
    good[own] *= factor
    scrap[own] *= factor
    soil.put(output.put(None, good_kg=good, scrap_kg=scrap))
    soil.say("mass closure", output, name, [], factor)


def _genealogy(soil: _Soil) -> None:
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


def _minor(soil: _Soil) -> None:
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


def _gap(soil: _Soil) -> None:
    from twin.logs.doctor.spans import SILENT_S, SILENT_TIMES, usual_silence

    case, (begin, end) = soil.case, soil.case.log.span
    lengths = {}
    for name in sorted(set(case.log["output"]["station"].tolist())):
        usual = usual_silence(case, name)
        if usual is not None and (least := 1.5 * max(SILENT_S, SILENT_TIMES * usual)) < 0.1 * (end - begin):
            lengths[str(name)] = least
    name = _pick(soil, sorted(lengths))
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


def _text(soil: _Soil) -> None:
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


def _rounding(soil: _Soil) -> None:
    stops = soil.table("stops")
    name = _pick(soil, [name for name, rows in stations(stops) if len(rows) >= 40])
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


def _ended(kind: str, wrong: Callable[[Array, Array, np.random.Generator], Array]) -> Callable[[_Soil], None]:
    def plant(soil: _Soil) -> None:
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


def _overlap(soil: _Soil) -> None:
    from twin.logs.doctor.findings import machines

    stops = soil.table("stops")
    pairs = []
    for _, _, rows in machines(stops):
        order = rows[np.argsort(stops["start"][rows], kind="stable")]
        for a, b in zip(order, order[1:], strict=False):
            first, second = (float(stops["end"][at] - stops["start"][at]) for at in (a, b))
            long = 300.0 < second < 4.0 * 3600.0 and first > 60.0
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


def _planned(soil: _Soil) -> None:
    stops, case = soil.table("stops"), soil.case
    fit = [name for name, hours in case.hours.items() if len(hours.starts) > 10 and case.reasons.get(name)]
    name = _pick(soil, fit)
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
    table = _insert(soil, stops, rows, changes)
    soil.put(table)
    new = range(len(stops), len(table))
    soil.used |= {("stops", int(table.line[at])) for at in new}
    soil.say("planned", table, name, [[at] for at in new])


def _copies(kind: str) -> Callable[[_Soil], None]:
    def plant(soil: _Soil) -> None:
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
        grown = _insert(soil, table, rows, changes)
        soil.put(grown)
        soil.say(kind, grown, "", [(at, len(table) + step) for step, at in enumerate(rows)])

    return plant


PLANTERS: dict[str, Callable[[_Soil], None]] = {
    "minor stops": _minor,
    "gap": _gap,
    "clock": _clock,
    "unit": _unit,
    "tare": _tare,
    "mass closure": _closure,
    "genealogy": _genealogy,
    "rounding": _rounding,
    "no end": _ended("no end", lambda start, end, rng: np.full(len(start), np.nan)),
    "end before start": _ended("end before start", lambda start, end, rng: start - rng.uniform(60, 7200, len(start))),
    "no length": _ended("no length", lambda start, end, rng: start),
    "over 24 h": _ended("over 24 h", _too_long),
    "overlap": _overlap,
    "planned": _planned,
    "free text": _text,
    "repeat": _copies("repeat"),
    "version": _copies("version"),
    "conflict": _copies("conflict"),
}
"""Each kind of fault that can be planted, in the order in which they are."""


@dataclass(frozen=True)
class Score:
    """Of one kind of fault: how many were planted, how many of those found, how many findings had no fault."""

    planted: int = 0
    found: int = 0
    wrong: int = 0

    def __add__(self, other: Score) -> Score:
        return Score(self.planted + other.planted, self.found + other.found, self.wrong + other.wrong)

    @property
    def recall(self) -> float:
        """Return which share of the faults was found."""
        return self.found / self.planted if self.planted else 1.0

    @property
    def precision(self) -> float:
        """Return which share of what was found is a fault."""
        return self.found / (self.found + self.wrong) if self.found + self.wrong else 1.0


def score(planted: Sequence[Planted], findings: Sequence[Finding]) -> dict[str, Score]:
    """Return how well each kind of fault was found."""
    kinds = {one.kind for one in planted} | {one.kind for one in findings if one.kind in PLANTERS}
    return {kind: _score(kind, planted, findings) for kind in sorted(kinds)}


def _score(kind: str, planted: Sequence[Planted], findings: Sequence[Finding]) -> Score:
    truth = [one for one in planted if one.kind == kind]
    told = [one for one in findings if one.kind == kind]
    if kind in BY_STATION:
        places = {one.station for one in truth}
        seen = {one.station for one in told}
        return Score(len(places), len(places & seen), len(seen - places))
    groups = [(one.table, group) for one in truth for group in one.groups]
    lines = {(one.table, line) for one in told for line in one.lines}
    right = {(table, line) for table, group in groups for line in group}
    found = sum(1 for table, group in groups if any((table, line) in lines for line in group))
    return Score(len(groups), found, len(lines - right))
