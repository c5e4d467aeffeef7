"""What the order of things tells: coils that begin before they exist, failures that come by the clock."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import numpy as np

from twin.logs.doctor.clocks import time_of_day
from twin.logs.doctor.findings import Case, Finding, counted, lasted, listed, stations
from twin.logs.reasons import class_of
from twin.logs.tables import Array, Table

FEW = 5
BEFORE_S = 120.0
"""A coil that begins so much before it left the station in front is no matter of seconds."""
SHARE = 0.03
WINDOW_S = 600.0
"""Failures that begin within so much of one time of day come by the clock."""
EVEN = 0.15
"""Planned work is about as long each time: half of it lies within this share of its middle length."""
_SURE = 1e-6
DAY_S = 86_400.0


def clock_order(case: Case) -> Case:
    """Find stations whose coils begin before the station in front had finished them: one of two clocks is off.

    How far cannot be told, only how far at least, so nothing is moved.
    """
    coils = case.log["coils"]
    if case.scenario is None or not len(coils):
        return case
    found = []
    for (before, after), pairs in sorted(waits_between(coils, list(case.scenario.stations)).items()):
        waits = np.array([wait for wait, _ in pairs])
        early = waits < -BEFORE_S
        if early.sum() < FEW or early.sum() < SHARE * len(pairs):
            continue
        rows = np.array([at for _, at in pairs])[early]
        least = -float(np.quantile(waits[early], 0.1))
        words = (
            f"{counted(len(rows), 'coil')} of {after} begin before {before} had finished them, by {lasted(least)}: "
            f"the clock of {after} or of {before} is off by at least that"
        )
        way_out = "Compare both clocks, and write the offset down"
        lines, effect = listed(coils, rows), case.tonnes(after, least)
        found.append(
            Finding(
                "clock order", "coils", after, lines, len(rows), "marked", words, way_out, effect, value=-least,
                file=coils.file,
            )
        )  # fmt: skip
    return case.with_log(case.log, *found)


def waits_between(coils: Table, order: list[str]) -> dict[tuple[str, str], list[tuple[float, int]]]:
    """Return for each two stations how long coils waited between them [s], and the row of the later one."""
    place = {name: number for number, name in enumerate(order)}
    start, end = coils["start"], coils["end"]
    steps: dict[str, dict[int, int]] = {}
    for at, (coil, station) in enumerate(zip(coils["coil"].tolist(), coils["station"].tolist(), strict=True)):
        if station in place:
            steps.setdefault(coil, {})[place[station]] = at
    found: dict[tuple[str, str], list[tuple[float, int]]] = {}
    for coil, own in steps.items():
        first = min(own)
        parent = coils["parent"][own[first]]
        whole = own | {number: at for number, at in steps.get(parent, {}).items() if number < first and parent != coil}
        numbers = sorted(whole)
        for earlier, later in zip(numbers, numbers[1:], strict=False):
            wait = float(start[whole[later]] - end[whole[earlier]])
            if wait == wait:
                found.setdefault((order[earlier], order[later]), []).append((wait, whole[later]))
    return found


def regular(case: Case) -> Case:
    """Find failures that come at one time of day and last about as long each time: planned work, booked as failure."""
    from scipy.special import bdtrc

    stops, found = case.log["stops"], []
    zone = ZoneInfo(case.log.zone)
    for station, rows in stations(stops):
        hours = case.hours.get(station)
        if hours is None:
            continue
        days = max(1.0, (case.log.span[1] - case.log.span[0]) / DAY_S)
        worked = max(float(case.worked(station, *(np.array(at) for at in case.log.span))) / days, WINDOW_S)
        for reason in sorted({str(one) for one in stops["reason"][rows]}):
            own = rows[stops["reason"][rows] == reason]
            if class_of(reason) != "down" or len(own) < 2 * FEW:
                continue
            which = _at_one_time(stops, own, zone)
            chance = len(own) * float(bdtrc(len(which) - 1, len(own), min(1.0, WINDOW_S / worked)))
            if chance < _SURE and _even(stops, which):
                found.append(_by_the_clock(case, stops, station, reason, which, zone))
    return case.with_log(case.log, *found)


def _at_one_time(stops: Table, rows: Array, zone: ZoneInfo) -> Array:
    """Return the most rows that begin within one window of the day, one a day."""
    clock = time_of_day(stops["start"][rows], zone)
    order = np.argsort(clock)
    ends = np.searchsorted(clock[order], clock[order] + WINDOW_S, side="right")
    first = int(np.argmax(ends - np.arange(len(order))))
    within = np.sort(rows[order[first : ends[first]]])
    _, days = np.unique(np.floor(stops["start"][within] / DAY_S), return_index=True)
    return np.asarray(within[days])


def _even(stops: Table, rows: Array) -> bool:
    took = (stops["end"] - stops["start"])[rows]
    took = took[np.isfinite(took)]
    if len(took) < FEW:
        return False
    low, middle, high = np.quantile(took, (0.25, 0.5, 0.75))
    return bool(high - low <= EVEN * middle)


def _by_the_clock(case: Case, stops: Table, station: str, reason: str, rows: Array, zone: ZoneInfo) -> Finding:
    at = float(np.median(time_of_day(stops["start"][rows], zone)))
    seconds = float(case.worked(station, stops["start"][rows], stops["end"][rows]).sum())
    clock = f"{int(at // 3600):02}:{int(at % 3600 // 60):02}"
    words = (
        f"{counted(len(rows), 'stop')} of {station} for '{reason}' begin at about {clock} and last as long each time: "
        "planned work, it seems, booked as a failure"
    )
    way_out = "Book planned work under a reason of its own; it counts as a failure so far"
    lines, effect = listed(stops, rows), case.tonnes(station, seconds)
    return Finding(
        "like a plan", "stops", station, lines, len(rows), "marked", words, way_out, effect, value=at, file=stops.file
    )
