"""Times that are not what they seem: the production day, the two nights when clocks change, clocks that differ."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from twin.logs.doctor.findings import Case, Finding, listed, stations
from twin.logs.schema import TABLES
from twin.logs.tables import NEVER, TWICE, Array, Table

HOUR_S, DAY_S = 3600.0, 86_400.0
MAIN = {"stops": "start", "output": "time", "rolls": "off", "coils": "end", "stock": "time"}
"""The time by which each table is written down."""
DIFFERS_S = 30.0
"""Two clocks that differ by less are taken as the same."""
FEW = 10


def production_day(case: Case) -> Case:
    """Find nights that carry the date of the day before, though no production day was declared."""
    for name, table in case.log.tables.items():
        own = table[MAIN[name]]
        back = np.diff(own)
        jumps = np.flatnonzero((back < -DAY_S / 2.0) & (back > -1.1 * DAY_S))
        nights = max(1, round((np.nanmax(own) - np.nanmin(own)) / DAY_S)) if len(own) > 1 else 1
        if len(jumps) >= 3 and len(jumps) >= 0.3 * nights:
            case = _a_day_later(case, table, jumps)
    return case


def _a_day_later(case: Case, table: Table, jumps: Array) -> Case:
    zone = ZoneInfo(case.log.zone)
    starts_s = _begins(table, jumps, zone)
    changed, moved = {}, np.zeros(len(table), dtype=bool)
    for one in TABLES[table.name]:
        if one.kind == "time" and one.name != "version":
            own = table[one.name].copy()
            night = np.isfinite(own) & (time_of_day(own, zone) < starts_s)
            own[night] += DAY_S
            changed[one.name], moved = own, moved | night
    hour = f"{int(starts_s // HOUR_S):02}:{int(starts_s % HOUR_S // 60):02}"
    words = f"{int(moved.sum())} rows of {table.name} carry the date of the day before until {hour}: moved a day on"
    way_out = f"Write production_day: '{hour}' in mapping.yaml"
    lines = listed(table, np.flatnonzero(moved))
    found = Finding(
        "production day", table.name, "", lines, len(lines), "mended", words, way_out, value=starts_s, file=table.file
    )
    return case.with_log(case.log.put(table.put(moved, **changed)), found)


def _begins(table: Table, jumps: Array, zone: ZoneInfo) -> float:
    """Return when the production day begins: the round hour after the latest time that carries the wrong date."""
    times = table[MAIN[table.name]]
    clock, ahead = time_of_day(times, zone), np.diff(times) > DAY_S / 2.0
    latest = 0.0
    for at in jumps + 1:
        while at < len(times):
            latest = max(latest, float(clock[at])) if clock[at] < DAY_S / 2.0 else latest
            if at >= len(ahead) or ahead[at] or clock[at + 1] >= DAY_S / 2.0:
                break
            at += 1
    return float(np.ceil((latest + 1.0) / HOUR_S) * HOUR_S)


def time_of_day(times: Array, zone: ZoneInfo) -> Array:
    """Return the local time of day of each time [s after midnight]."""
    found = np.full(len(times), np.nan)
    for at in np.flatnonzero(np.isfinite(times)):
        local = datetime.fromtimestamp(float(times[at]), zone)
        found[at] = HOUR_S * local.hour + 60.0 * local.minute + local.second
    return found


def two_nights(case: Case) -> Case:
    """Tell the two comings of an hour apart by the order of the rows, and mark both nights."""
    for name, table in case.log.tables.items():
        twice = {key: own == TWICE for key, own in table.marks.items() if (own == TWICE).any()}
        never = [key for key, own in table.marks.items() if (own == NEVER).any()]
        if twice or never:
            case = _night(case, case.log[name], twice, never)
    return case


def _night(case: Case, table: Table, twice: dict[str, Array], never: list[str]) -> Case:
    touched = np.zeros(len(table), dtype=bool)
    for own in (*twice.values(), *(table.marks[key] == NEVER for key in never)):
        touched |= own
    main = MAIN[table.name]
    columns = {name: table[name].copy() for name in {*twice, main}}
    if main in twice:
        _second_coming(columns[main], twice[main])
    for name in twice:
        if name != main:
            own = columns[name]
            own[twice[name] & (own < columns[main])] += HOUR_S
    sides = []
    if twice:
        sides.append("an hour that came twice: told apart by the order of the rows")
    if never:
        sides.append("an hour that the clocks left out: taken as before the change")
    words = f"{int(touched.sum())} rows of {table.name} lie in {' and in '.join(sides)}"
    lines = listed(table, np.flatnonzero(touched))
    way_out = "Write times with their offset, or keep the clocks of the log on one time all year"
    found = Finding("two nights", table.name, "", lines, len(lines), "mended", words, way_out, file=table.file)
    return case.with_log(case.log.put(table.put(touched, **columns)), found)


def _second_coming(times: Array, twice: Array) -> None:
    """Move rows by an hour from where the times of one night first fall."""
    latest = -np.inf
    for at in range(len(times)):
        if not np.isfinite(times[at]):
            continue
        if twice[at] and times[at] < latest - 0.5 and latest - times[at] <= HOUR_S + 0.5:
            times[at] += HOUR_S
        latest = max(latest, times[at]) if twice[at] else times[at]


def differing(case: Case) -> Case:
    """Estimate how far each station's clock is off, from coils that stand in both the output and the coil table.

    The output is written by one clock for the whole plant; stops and coils are written at the machine. Where both
    name the end of one coil, the median of the difference is the offset, and its slope the drift.
    """
    output, coils = case.log["output"], case.log["coils"]
    if not len(output) or not len(coils):
        return case
    told = dict(zip(zip(output["station"].tolist(), output["coil"].tolist(), strict=True), output["time"], strict=True))
    found = []
    stops, moved = case.log["stops"], {}
    start, end, begin = coils["start"].copy(), coils["end"].copy(), case.log.span[0]
    stop_start, stop_end = stops["start"].copy(), stops["end"].copy()
    coil_rows, stop_rows = np.zeros(len(coils), dtype=bool), np.zeros(len(stops), dtype=bool)
    for name, rows in stations(coils):
        pairs = [(at, told[name, coil]) for at in rows if (name, (coil := coils["coil"][at])) in told]
        line = _offset(np.array([end[at] for at, _ in pairs]), np.array([time for _, time in pairs]), begin)
        if line is None:
            continue
        own = stops["station"] == name
        coil_rows[rows], stop_rows[own] = True, True
        for times, which in ((start, rows), (end, rows), (stop_start, own), (stop_end, own)):
            times[which] -= line[0] + line[1] * (times[which] - begin)
        moved[name] = line
        found.append(_told(case, coils, name, rows, line))
    if not found:
        return case
    log = case.log.put(coils.put(coil_rows, start=start, end=end), stops.put(stop_rows, start=stop_start, end=stop_end))
    return case.with_log(log, *found)


def _offset(ends: Array, times: Array, begin: float) -> tuple[float, float] | None:
    """Return offset [s] and drift [s/s] of a clock against another, or None where they agree or nothing can be told."""
    if len(ends) < FEW:
        return None
    apart = ends - times
    middle = float(np.median(apart))
    scatter = float(np.median(np.abs(apart - middle)))
    day = (ends - begin) / DAY_S
    slope = _slope(day, apart)
    rest = apart - slope * day
    level = float(np.median(rest))
    still = float(np.median(np.abs(rest - level)))
    if still > 0.7 * scatter:
        slope, level, still = 0.0, middle, scatter
    if abs(middle) < DIFFERS_S and abs(slope) * float(np.ptp(day)) < DIFFERS_S:
        return None
    if still > max(DIFFERS_S, 0.2 * abs(middle)):
        return None
    return level, slope / DAY_S


def _slope(day: Array, apart: Array) -> float:
    """Return the median slope between the rows of the first and the last third [s a day] (after H. Theil)."""
    third = max(1, len(day) // 3)
    order = np.argsort(day)
    first, last = order[:third], order[-third:]
    length = float(np.median(day[last]) - np.median(day[first]))
    return float(np.median(apart[last]) - np.median(apart[first])) / length if length > 0.0 else 0.0


def _told(case: Case, coils: Table, name: str, rows: Array, line: tuple[float, float]) -> Finding:
    days = (case.log.span[1] - case.log.span[0]) / DAY_S
    ahead = "ahead of" if line[0] + line[1] * days * DAY_S / 2.0 > 0.0 else "behind"
    minutes = abs(line[0] + line[1] * days * DAY_S / 2.0) / 60.0
    drift = f", drifting by {line[1] * DAY_S:+.0f} s a day" if line[1] else ""
    words = f"the clock of {name} is {minutes:.1f} min {ahead} that of the output{drift}: its times are moved"
    effect = case.tonnes(name, 60.0 * minutes)
    way_out = "Set the clocks of all machines by one time server"
    lines = listed(coils, rows)
    return Finding(
        "clock", "coils", name, lines, len(rows), "mended", words, way_out, effect, value=line[0], file=coils.file
    )
