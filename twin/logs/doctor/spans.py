"""Stops that cannot have lasted as written: without an end, over another, in closed hours; and time without records."""

from __future__ import annotations

import numpy as np

from twin.logs.doctor.findings import (
    LISTED,
    Case,
    Finding,
    Spans,
    counted,
    lasted,
    listed,
    machines,
    spans_of,
    stations,
)
from twin.logs.reasons import ORDER, class_of
from twin.logs.tables import Array, Table
from twin.logs.write import STILL

HOUR_S, DAY_S = 3600.0, 86_400.0
TOO_MUCH = 0.2
"""A machine of which more of the stopped time than this is inferred is not used."""
SLACK_S = 1.0
"""Overlaps up to this are the rounding of whole seconds."""
COARSE_S = 1000.0
"""What times in quarters of an hour may be off, with the seconds of another clock."""
BESIDE_S = 60.0
"""A break may be booked so much longer than it was; what works longer is no break."""
SILENT_S = 3.0 * HOUR_S
SILENT_TIMES = 3.0
FEW_SIGNS = 12
"""With fewer records a station's usual silence is not known."""
USUAL = 0.95
"""A silence is a gap from so many times the longest that are usual at that station."""
ENDS = {
    "no end": "no end is written down",
    "end before start": "the end lies before the start",
    "no length": "the end is the start",
    "over 24 h": "over 24 working hours long, although work went on",
}


def resolution(times: Array) -> float:
    """Return the step in which times were written: 1 s, 1 min, or a heap of 5 or more minutes counts as 1 min."""
    known = times[np.isfinite(times)]
    return 60.0 if len(known) > 5 and float(np.mean(np.abs(known % 60.0) < 0.5)) > 0.98 else 1.0


def _whole_minutes(lasted: Array) -> bool:
    """Tell whether lengths were written in whole minutes; a clock that was moved since does not hide it."""
    known = lasted[np.isfinite(lasted)]
    off = np.abs(known - 60.0 * np.round(known / 60.0))
    return len(known) > 5 and float(np.mean(off < 1.0)) > 0.98


def ends(case: Case) -> Case:
    """Close stops whose end is missing or cannot be, at the machine's next sign of life or the end of its shift."""
    stops = case.log["stops"]
    if not len(stops):
        return case
    end, inferred = stops["end"].copy(), np.zeros(len(stops), dtype=bool)
    found = list[Finding]()
    for station, machine, rows in machines(stops):
        wrong = _wrong(case, stops, station, machine, rows)
        for kind, which in wrong.items():
            if len(which):
                end[which] = _closed(case, stops, station, machine, which)
                inferred[which] = True
                found.append(_end_finding(case, stops, kind, station, which, end))
        found += _too_much(case, stops, station, rows, end, inferred)
    return case.with_log(case.log.put(stops.put(inferred, end=end)), *found)


def _wrong(case: Case, stops: Table, station: str, machine: int, rows: Array) -> dict[str, Array]:
    start, end = stops["start"][rows], stops["end"][rows]
    still = stops["note"][rows] == STILL
    missing, before = np.isnan(end), end < start
    to_the_second = resolution(start) < 60.0 and not _whole_minutes(end - start)
    none = (end == start) & to_the_second
    long = case.worked(station, start, np.where(np.isnan(end), start, end)) > DAY_S
    signs = _signs(case, station, machine)
    long &= np.searchsorted(signs, end - COARSE_S) > np.searchsorted(signs, start + COARSE_S)
    kinds = ("no end", missing), ("end before start", before), ("no length", none), ("over 24 h", long & ~before)
    return {kind: rows[which & ~still] for kind, which in kinds}


def _signs(case: Case, station: str, machine: int) -> Array:
    """Return when a machine showed that it was running: starts of stops and ends of coils or lots, rising."""
    stops, output = case.log["stops"], case.log["output"]
    own = stops["start"][(stops["station"] == station) & (stops["machine"] == machine)]
    made = output["time"][(output["station"] == station) & (output["machine"] == machine)]
    return np.asarray(np.sort(np.concatenate([own, made])))


def _closed(case: Case, stops: Table, station: str, machine: int, rows: Array) -> Array:
    """Return where stops are taken to end."""
    signs, start = _signs(case, station, machine), stops["start"][rows]
    place = np.searchsorted(signs, start, side="right")
    after = np.append(signs, case.log.span[1])[place]
    hours = case.hours.get(station)
    if hours is None:
        return np.asarray(np.minimum(after, start + DAY_S))
    shift = np.searchsorted(hours.ends, start, side="right").clip(max=len(hours.ends) - 1)
    return np.asarray(np.maximum(np.minimum(after, hours.ends[shift]), start))


def _end_finding(case: Case, stops: Table, kind: str, station: str, rows: Array, end: Array) -> Finding:
    seconds = float(case.worked(station, stops["start"][rows], end[rows]).sum())
    inferred = f"closed at its next sign of life, {seconds / 3600.0:.1f} h inferred"
    words = f"{counted(len(rows), 'stop')} of {station}: {ENDS[kind]}; {inferred}"
    effect = case.tonnes(station, seconds)
    lines = listed(stops, rows)
    when = spans_of(stops["start"][rows], end[rows])
    return Finding(
        kind, "stops", station, lines, len(rows), "mended", words, "Fill the ends in", effect, when, file=stops.file
    )


def _too_much(case: Case, stops: Table, station: str, rows: Array, end: Array, inferred: Array) -> list[Finding]:
    lasted = case.worked(station, stops["start"][rows], end[rows])
    guessed = float(lasted[inferred[rows]].sum())
    if guessed <= TOO_MUCH * float(lasted.sum()):
        return []
    share = guessed / float(lasted.sum())
    which = rows[inferred[rows]]
    words = (
        f"{100.0 * share:.0f} % of the stopped time of {station} would be inferred, more than {100 * TOO_MUCH:.0f} %"
    )
    way_out = f"Fill in the ends of its stops, or leave {station} out of the log"
    lines = listed(stops, which)
    return [Finding("ends missing", "stops", station, lines, len(which), "refused", words, way_out, None, value=share)]


def planned(case: Case) -> Case:
    """Take out failures that lie wholly in closed hours: a break or a weekend, booked as a breakdown."""
    stops = case.log["stops"]
    drop, found = np.zeros(len(stops), dtype=bool), list[Finding]()
    for station, rows in stations(stops):
        if station not in case.hours:
            continue
        start, end = stops["start"][rows], stops["end"][rows]
        down = np.array([class_of(reason) == "down" for reason in stops["reason"][rows]], dtype=bool)
        own = (
            down
            & (end - start > 60.0)
            & (case.worked(station, start, end) < np.clip(0.02 * (end - start), 1.0, BESIDE_S))
        )
        own &= ~case.hours[station].is_open(start + 1.0)
        which = rows[own]
        if len(which):
            drop[which] = True
            seconds = float((end - start)[own].sum())
            words = (
                f"{counted(len(which), 'failure')} of {station} in hours when it is closed ({seconds / 3600.0:.1f} h): "
                "breaks or weekends, not counted as failures"
            )
            way_out = "Book breaks under a reason of their own, or correct the calendar"
            lines, effect = listed(stops, which), case.tonnes(station, seconds)
            found.append(
                Finding(
                    "planned", "stops", station, lines, len(which), "mended", words, way_out, effect, file=stops.file
                )
            )
    return case.with_log(case.log.put(stops.take(~drop)), *found)


def overlaps(case: Case) -> Case:
    """Let one row hold at a time: failures before changes before setups before waits; the rest is cut."""
    stops = case.log["stops"]
    start, end = stops["start"].copy(), stops["end"].copy()
    touched, found = np.zeros(len(stops), dtype=bool), list[Finding]()
    for station, _, rows in machines(stops):
        slack = max(SLACK_S, resolution(start[rows]))
        which, seconds, over = _cut(stops, rows, start, end, slack)
        if not len(which):
            continue
        touched[which] = True
        many = counted(len(which), "stop")
        words = f"{many} of {station} over the time of another, {lasted(seconds)} in all: the graver holds"
        lines, effect = listed(stops, which), case.tonnes(station, seconds)
        way_out = "End one stop before the next begins"
        found.append(
            Finding(
                "overlap", "stops", station, lines, len(which), "mended", words, way_out, effect, over, file=stops.file
            )
        )
    table = stops.put(touched, start=start, end=end)
    return case.with_log(case.log.put(table.take(~(touched & (end <= start)))), *found)


def _cut(stops: Table, rows: Array, start: Array, end: Array, slack: float) -> tuple[Array, float, Spans]:
    """Cut rows of one machine where they overlap; return those that were cut, the seconds cut away, and when it was.

    Of a row that is wholly covered in its middle the part before is kept.
    """
    order = rows[np.argsort(start[rows], kind="stable")]
    rank = {at: ORDER.index(class_of(stops["reason"][at])) for at in order}
    touched, seconds, over = set[int](), 0.0, list[tuple[float, float]]()
    holder = -1
    for at in order:
        if holder >= 0 and end[holder] - start[at] > 0.0:
            apart = float(min(end[holder], end[at]) - start[at])
            if apart > slack:
                touched.add(int(at if rank[at] > rank[holder] else holder))
                seconds += apart
                over.append((float(start[at]), float(start[at]) + apart))
            if rank[at] > rank[holder]:
                start[at] = min(end[holder], end[at])
            else:
                end[holder] = start[at]
        if holder < 0 or end[at] >= end[holder]:
            holder = int(at)
    return np.array(sorted(touched), dtype=np.int64), seconds, tuple(over[:LISTED])


def gaps(case: Case) -> Case:
    """Find working time in which a station has no record at all: it is 'unrecorded', never 'running'.

    What follows a stop whose end was inferred belongs to that finding and is not told twice. Deliveries come when they
    come: that none came is no gap.
    """
    found = []
    names = {*case.log["stops"]["station"].tolist(), *case.log["output"]["station"].tolist()}
    known = {} if case.scenario is None else case.scenario.stations
    for station in sorted(one for one in names if one not in known or known[one].kind != "supply"):
        spells = _silences(case, station)
        if spells:
            seconds = sum(float(case.worked(station, np.array(a), np.array(b))) for a, b in spells)
            words = (
                f"{station} has no record for {seconds / 3600.0:.1f} working hours, {counted(len(spells), 'spell')}: "
                "unrecorded"
            )
            way_out = "Find the records, or leave these days out"
            effect = case.tonnes(station, seconds)
            found.append(
                Finding("gap", "", station, (), len(spells), "marked", words, way_out, effect, tuple(spells), seconds)
            )
    return case.with_log(case.log, *found)


def usual_silence(case: Case, station: str) -> float | None:
    """Return the silence that 19 of 20 at a station fall short of [working s], or None with few rows."""
    quiet = _quiet(case, station)[2]
    return float(np.quantile(quiet, USUAL)) if len(quiet) >= FEW_SIGNS else None


def _silences(case: Case, station: str) -> list[tuple[float, float]]:
    start, end, quiet = _quiet(case, station)
    if len(quiet) < FEW_SIGNS:
        return []
    usual = float(np.quantile(quiet, USUAL))
    stops = case.log["stops"]
    closed = [line for one in case.findings if one.kind in ENDS and one.station == station for line in one.lines]
    guessed = stops["end"][np.isin(stops.line, closed)]
    long = np.flatnonzero((quiet > max(SILENT_S, SILENT_TIMES * usual)) & ~np.isin(end[:-1], guessed))
    return [(float(end[at]), float(start[at + 1])) for at in long]


def _quiet(case: Case, station: str) -> tuple[Array, Array, Array]:
    """Return the spans of a station's records, and the working time between them."""
    spans = [
        (table["start"][own], table["end"][own])
        for table in (case.log["stops"], case.log["coils"])
        if (own := table["station"] == station).any()
    ]
    output = case.log["output"]
    own = output["station"] == station
    spans.append((output["time"][own], output["time"][own]))
    start = np.concatenate([one for one, _ in spans])
    end = np.concatenate([one for _, one in spans])
    order = np.argsort(start)
    start, end = start[order], np.maximum.accumulate(np.nan_to_num(end[order]))
    return start, end, case.worked(station, end[:-1], start[1:])
