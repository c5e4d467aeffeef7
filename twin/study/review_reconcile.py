"""Recorded durations reconciled with the times of the coils, which are known better.

What a coil took is its work and its stops together, and the stops between two coils fill the time between them. So
recorded durations, starts and the standard time of the work are each moved as little as their usual errors say until
they agree: data reconciliation by weighted least squares. What disagrees by more than such errors is no error of a
duration, but a missing record, and is left as it is.

References
----------
D. R. Kuehn, H. Davidson, "Computer control. II. Mathematics of control", Chemical Engineering Progress 57 (1961) 44-47;
S. Narasimhan, C. Jordache, Data Reconciliation and Gross Error Detection (2000), chapters 3 and 7 (both from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.study.review_pace import Case, drawn_times, standard_s
from twin.study.review_records import AT_ONCE_S, Coil, Records, Stop
from twin.words import NO_BREAK, plain

if TYPE_CHECKING:
    from twin.logs.doctor import Examined
    from twin.logs.hours import Hours

DAY_S = 86_400.0
DAYS = 3.0  # looked back from the morning
LEAST_SHARE = 0.015  # durations that are off by less are as good as the coils
LEAST_STOPS = 6
LEAST_COILS = 3
LONG_S = 300.0  # of shorter stops the share by which they are off says little
LEAST_OFF_S = 1.0
GROSS = 3.5  # standard deviations beyond which something is missing
GROSS_S = 60.0
FILLED = 0.9  # of the time between coils: where less is told of, waits are not written down
FIXED, DRAWN = 0.02, 0.3  # by what share work differs from its standard, where too few coils tell
TO_SD = 1.4826  # a normal law's standard deviation, in medians of its absolute values


@dataclass(frozen=True, slots=True)
class Reconciled:
    """What came of it.

    Attributes
    ----------
    records : The rows, with the durations that agree with the coils.
    share : By what share recorded durations are off (one standard deviation), 0 where they agree or cannot be told.
    left_s : Line of a corrected stop -> how far off it may still be (one standard deviation). [s]
    """

    records: Records
    share: float = 0.0
    left_s: Mapping[int, float] = field(default_factory=dict)

    def said(self, begin: float, end: float) -> tuple[str, ...]:
        """Return, in sentences, what was corrected of a day."""
        today = [own for own in self.records.stops if begin <= own.start < end]
        count = sum(own.line in self.left_s for own in today)
        if not count:
            return ()
        share = f"{plain(100.0 * self.share)}{NO_BREAK}%"
        what = f"{count} of {len(today)} stops of the day were corrected to agree with what the coils took."
        return (f"Recorded durations are usually off by {share}: {what}",)


@dataclass(frozen=True, slots=True)
class Stretch:
    """One coil in a machine, or the time between two.

    Attributes
    ----------
    start, end : When. [s since 1970 UTC]
    lasts : Its working time. [s]
    run : The work in it, 0 between coils. [s]
    doubt : How far off that may be. [s]
    stops : What is recorded of it, by their starts.
    is_gap : Whether it lies between two coils.
    """

    station: str
    start: float
    end: float
    lasts: float
    run: float
    doubt: float
    stops: tuple[Stop, ...]
    is_gap: bool


def reconciled(case: Case, examined: Examined, begin: float, end: float) -> Reconciled:
    """Return the records of a day and of those before it, with durations that agree with the coils.

    Parameters
    ----------
    case : The line, and the rows of its log after the doctor.
    examined : What the doctor found: where stops lay over each other and were cut, the coils know better.
    begin, end : Of the day. [s since 1970 UTC]
    """
    own = case.records
    found = [one for one in _stretches(case, own, begin - DAYS * DAY_S, end) if one.stops]
    share = share_off(own, found)
    if share < LEAST_SHARE:
        return Reconciled(own)
    loose = uncut(own, examined)
    found = [one for one in _stretches(case, loose, begin - DAYS * DAY_S, end) if one.stops]
    late = _starts_off(found)
    spans: dict[int, tuple[float, float]] = {}
    left: dict[int, float] = {}
    for one in found:
        for stop, start, lasts, off in _agreed(own, one, share, late):
            spans[stop.line] = start, _after(own.hours[stop.station], start, lasts)
            left[stop.line] = off
    return Reconciled(_with(own, spans), share, left)


def share_off(records: Records, found: Sequence[Stretch]) -> float:
    """Return by what share recorded durations are off: the spread of what the coils say over what was recorded."""
    off = [
        told / really - 1.0
        for one in found
        for told, really in _compared(records, one)
        if min(told, really) > LONG_S and abs(told - really) < 0.5 * really
    ]
    return TO_SD * float(np.median(np.abs(off))) if len(off) >= LEAST_STOPS else 0.0


def _compared(records: Records, one: Stretch) -> Iterator[tuple[float, float]]:
    """Yield recorded durations beside those that the coils tell."""
    told = _told(records, one)
    if one.is_gap:
        edges = [*(own.start for own in one.stops[1:]), one.end]
        for own, lasts, edge in zip(one.stops, told, edges, strict=True):
            yield lasts, records.worked(one.station, own.start, edge)
    elif len(told) == 1:
        yield told[0], one.lasts - one.run


def _told(records: Records, one: Stretch) -> list[float]:
    return [records.worked(own.station, own.start, own.end) for own in one.stops]


def _starts_off(found: Sequence[Stretch]) -> float:
    """Return how far off recorded starts are, by those that should begin where a coil ends. [s]"""
    off = [abs(one.stops[0].start - one.start) for one in found if one.is_gap]
    return max(LEAST_OFF_S, TO_SD * float(np.median(off))) if len(off) >= LEAST_STOPS else LEAST_OFF_S


# Stretches


def _stretches(case: Case, records: Records, first: float, last: float) -> Iterator[Stretch]:
    """Yield what each machine did in some time, as far as its coils tell."""
    for name in records.coils:
        station = case.plant.stations.get(name)
        if station is None or station.kind in ("supply", "furnace", "caster"):
            continue
        rows = [one for one in records.coils[name] if one.end > first and one.start < last]
        rows = [one for one in rows if not one.parent] if station.kind == "slitter" else rows
        if station.machines > 1 and not records.machine_of:
            continue
        for number in range(1, station.machines + 1):
            own = [one for one in rows if records.machine_of.get((name, one.coil), 1) == number]
            yield from _of_machine(case, records.stops_of.get((name, number), []), name, own)


def _of_machine(case: Case, stops: Sequence[Stop], name: str, coils: Sequence[Coil]) -> Iterator[Stretch]:
    starts = np.array([one.start for one in stops])

    def within(start: float, end: float) -> tuple[Stop, ...]:
        first, last = np.searchsorted(starts, [start - AT_ONCE_S, end - AT_ONCE_S])
        return tuple(stops[first:last])

    gaps = [(a.end, b.start) for a, b in zip(coils, coils[1:], strict=False) if b.start > a.end]
    between = [(*gap, within(*gap)) for gap in gaps]
    worked = case.records.worked
    filled = sum(worked(name, own.start, min(own.end, end)) for _, end, rows in between for own in rows)
    if filled > FILLED * sum(worked(name, start, end) for start, end in gaps):
        for start, end, rows in between:
            yield Stretch(name, start, end, worked(name, start, end), 0.0, 0.0, rows, True)
    inside = [(one, within(one.start, one.end)) for one in coils]
    pace, doubt = _pace(case, name, [one for one, rows in inside if not rows])
    for one, rows in inside:
        if rows and (standard := standard_s(case, name, one)) > 0.0:
            lasts = worked(name, one.start, one.end)
            yield Stretch(name, one.start, one.end, lasts, pace * standard, doubt * standard, rows, False)


def _pace(case: Case, name: str, coils: Sequence[Coil]) -> tuple[float, float]:
    """Return how long coils without a stop took in shares of the standard, and how that scatters."""
    took = [
        case.records.worked(name, one.start, one.end) / standard
        for one in coils
        if (standard := standard_s(case, name, one)) > 0.0
    ]
    if len(took) < LEAST_COILS:
        return 1.0, DRAWN if drawn_times(case, name) else FIXED
    pace = float(np.median(took))
    return pace, max(0.001, TO_SD * float(np.median(np.abs(np.array(took) - pace))))


# What agrees


def _agreed(records: Records, one: Stretch, share: float, late: float) -> Iterator[tuple[Stop, float, float, float]]:
    """Yield the stops of a stretch with a start, a duration that agrees with it, and how far off that may be. [s]"""
    told = np.array(_told(records, one))
    over = one.lasts - one.run - told.sum()
    usual = sqrt(float((share * told) @ (share * told)) + one.doubt**2)
    if over > GROSS * usual + GROSS_S or one.lasts <= one.run or (not one.is_gap and -over > GROSS * usual + GROSS_S):
        return
    if one.is_gap:
        starts = [records.worked(one.station, one.start, max(one.start, own.start)) for own in one.stops]
        edges, off = edges_between(one.lasts, np.array(starts), told, share, late)
        moments = [
            own.start if abs(at - start) <= LEAST_OFF_S else _after(records.hours[one.station], one.start, float(at))
            for own, start, at in zip(one.stops, starts, edges[:-1], strict=True)
        ]
        lasts = np.diff(edges)
    else:
        lasts, off = stops_in(one.lasts - one.run, told, share, one.doubt)
        moments = [own.start for own in one.stops]
    for own, start, span, left in zip(one.stops, moments, lasts.tolist(), off.tolist(), strict=True):
        if span > LEAST_OFF_S:
            yield own, start, span, left


def stops_in(lasts: float, told: FloatArray, share: float, doubt: float) -> tuple[FloatArray, FloatArray]:
    """Return durations that agree with their sum, and their standard deviations. [s]

    Parameters
    ----------
    lasts : What they should last together; known to within `doubt`. [s]
    told : What was recorded; each known to within its `share`. [s]
    """
    weight = (share * told) ** 2
    whole = weight.sum() + doubt**2
    moved = told + weight / whole * (lasts - told.sum())
    return np.maximum(moved, 0.0), np.sqrt(np.maximum(weight - weight**2 / whole, 0.0))


def edges_between(
    lasts: float, starts: FloatArray, told: FloatArray, share: float, late: float
) -> tuple[FloatArray, FloatArray]:
    """Return where stops that fill a stretch begin and end, from its begin, and how far off their durations are. [s]

    Parameters
    ----------
    lasts : The stretch. [s]
    starts : Recorded starts, each known to within `late`. [s]
    told : Recorded durations, each known to within its `share`. [s]
    """
    count = len(told)
    rows, wanted = np.zeros((2 * count - 1, count - 1)), np.zeros(2 * count - 1)
    for i in range(count):  # the duration of each, between its edges, of which the outer two are known
        weight = 1.0 / max(LEAST_OFF_S, share * float(told[i]))
        wanted[i] = weight * (told[i] - (lasts if i == count - 1 else 0.0))
        if i > 0:
            rows[i, i - 1] = -weight
        if i < count - 1:
            rows[i, i] = weight
    for i in range(count - 1):
        rows[count + i, i] = 1.0 / late
        wanted[count + i] = starts[i + 1] / late
    inner = np.linalg.lstsq(rows, wanted, rcond=None)[0] if count > 1 else np.zeros(0)
    spread = np.linalg.inv(rows.T @ rows) if count > 1 else np.zeros((0, 0))
    step = np.zeros((count, count - 1))
    for i in range(count - 1):
        step[i, i], step[i + 1, i] = 1.0, -1.0
    off = np.sqrt(np.einsum("ij,jk,ik->i", step, spread, step))
    return np.maximum.accumulate(np.clip(np.concatenate([[0.0], inner, [lasts]]), 0.0, lasts)), off


def _after(hours: Hours, start: float, lasts: float) -> float:
    """Return when so much working time has passed since a moment."""
    done = np.concatenate([[0.0], np.cumsum(hours.ends - hours.starts)])
    wanted = float(hours.worked(np.array(start))) + lasts
    if lasts <= 0.0:
        return start
    place = min(int(np.searchsorted(done, wanted, side="left")), len(hours.starts)) - 1
    return float(hours.starts[place] + wanted - done[place])


def uncut(records: Records, examined: Examined) -> Records:
    """Return records in which stops that the doctor cut, as they lay over each other, are as they were written.

    Not those of a station whose other times were put right, as by another clock.
    """
    if examined.written is None:
        return records
    lines = {line for own in examined.findings if own.kind == "overlap" for line in own.lines}
    stops, written = records.log["stops"], examined.written["stops"]
    as_written = dict(zip(written.line.tolist(), zip(written["start"], written["end"], strict=True), strict=True))
    rows = list(zip(stops.line.tolist(), stops["station"], stops["start"], strict=True))
    moved = {name for line, name, start in rows if line not in lines and as_written.get(line, (start,))[0] != start}
    spans = {line: as_written[line] for line, name, _ in rows if line in lines and name not in moved}
    return _with(records, {line: span for line, span in spans.items() if span[1] > span[0]})


def _with(records: Records, spans: Mapping[int, tuple[float, float]]) -> Records:
    """Return records with other times of some stops, by their lines."""
    stops = records.log["stops"]
    start, end = stops["start"].copy(), stops["end"].copy()
    for row, line in enumerate(stops.line.tolist()):
        if line in spans:
            start[row], end[row] = spans[line]
    return replace(records, log=records.log.put(stops.put(start=start, end=end)))
