"""The words of a review below its sentences: what to look at, which records look wrong, what the next shift finds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from twin.logs.doctor import Case, Finding
from twin.study.review_answer import (
    DayEvent,
    HandOver,
    LogQuality,
    LookAt,
    RollsAt,
    Rung,
    StoreNow,
    Suspect,
)
from twin.study.review_booked import Booked
from twin.study.review_day import Day
from twin.study.review_morning import Morning, morning_of
from twin.study.review_pace import Pace, missing_share, noise_of
from twin.study.review_verdict import WORTH_SHARE, WORTH_T, named
from twin.words import NO_BREAK, plain

MOST_TOLD = 3
LONGEST = 8


def quality_of(day: Day, found: Sequence[Pace], stops: int, output: int) -> LogQuality:
    """Return how good the log of the day is."""
    findings = day.examined.findings
    today = [one for one in day.records.stops if one.start < day.end and one.end > day.begin]
    stood = sum(one.end - one.start for one in today)
    mended = sum(one.end - one.start for one in today if one.inferred)
    rounding = max((abs(one.value or 0.0) for one in findings if one.kind == "rounding"), default=0.0)
    clock = max((abs(one.value or 0.0) for one in findings if one.kind == "clock"), default=0.0)
    return LogQuality(
        stops=stops,
        output=output,
        inferred=mended / stood if stood > 0.0 else 0.0,
        missing=missing_share(tuple(found)),
        durations=max(day.settled.share, noise_of(tuple(found))),
        rounding_s=rounding,
        clock_s=clock,
        closure=None,
    )


def sure_words(day: Day, quality: LogQuality) -> str:
    """Return the line below: which day, how many records, how much of them was mended or seems to be missing."""
    begin, end = (datetime.fromtimestamp(at, day.plant.time.tz) for at in (day.begin, day.end))
    said = f"{begin:%a} {begin.day} {begin:%b %H:%M} to {end:%a %H:%M}. "
    said += f"{quality.stops} stops, {quality.output} rows of output"
    if quality.inferred >= 0.005:
        said += f", {plain(100.0 * quality.inferred)}{NO_BREAK}% of the stopped time inferred"
    if quality.missing >= 0.02:
        said += f", about {plain(100.0 * quality.missing)}{NO_BREAK}% of the standstills without a record"
    return said + "."


def record_words(table: str, lines: Sequence[int]) -> str:
    """Return where records stand: `stops, lines 28 and 40`."""
    rows = sorted(set(lines))
    if not rows:
        return ""
    if len(rows) == 1:
        return f"{table}, line {rows[0]}"
    if len(rows) <= 4:
        return f"{table}, lines {', '.join(map(str, rows[:-1]))} and {rows[-1]}"
    return f"{table}, {len(rows)} lines from {rows[0]} to {rows[-1]}"


# Records that look wrong


def suspects(day: Day, found: Sequence[Pace]) -> tuple[Suspect, ...]:
    """Return the records of the day that look wrong, the largest effect first."""
    case = Case(day.examined.log, day.plant)
    made = [own for one in day.examined.findings if (own := _suspect(day, one)) is not None]
    for one in found:
        if one.unrecorded:
            lost = one.unrecorded_s * _pace_of(day, one.station) / 1e3
            words = (
                f"{plain(one.unrecorded_s / 60.0)}{NO_BREAK}min at the {one.station} without a record, in "
                f"{one.unrecorded} standstill{'s' if one.unrecorded > 1 else ''} that its coils tell of"
            )
            made.append(Suspect(case.log["stops"].file, (), words, -lost, "no record", one.station, "Write it down"))
    return tuple(sorted(made, key=lambda own: -abs(own.effect_t or 0.0)))


def _pace_of(day: Day, station: str) -> float:
    """Return what a station makes in a second that it runs, by its coils of the day. [kg/s]"""
    rows = [one for one in day.records.coils.get(station, []) if day.begin <= one.start and one.end <= day.end]
    rows = [one for one in rows if not one.parent or day.plant.stations[station].kind != "slitter"]
    ran = sum(one.end - one.start for one in rows)
    return sum(one.kg for one in rows) / ran if ran > 0.0 else 0.0


def _suspect(day: Day, one: Finding) -> Suspect | None:
    """Return a finding of the doctor as far as it is about this day."""
    lines = one.lines
    if one.table and lines:
        today = _lines_of(day, one.table)
        kept = tuple(line for line in lines if line in today)
        share = len(kept) / len(lines)
    elif one.spans:
        spans = [span for span in one.spans if span[0] < day.end and span[1] > day.begin]
        kept, share = (), sum(b - a for a, b in spans) / sum(b - a for a, b in one.spans)
    else:
        kept, share = (), 1.0
    if share <= 0.0:
        return None
    effect = None if one.effect_t is None else one.effect_t * share
    return Suspect(one.file, kept, one.words, effect, one.kind, one.station, one.way_out)


def _lines_of(day: Day, name: str) -> set[int]:
    """Return the lines of a table that tell of the day: as written or as mended, so that rows taken out count too."""
    found: set[int] = set()
    for log in (day.examined.log, day.examined.written):
        if log is not None:
            table = log[name]
            first = next(own for own in ("start", "time", "on") if own in table.columns)
            found |= set(table.line[(table[first] >= day.begin) & (table[first] < day.end)].tolist())
    return found


# What to look at


def look_at(
    ladder: Sequence[Rung],
    events: Sequence[DayEvent],
    suspect: Sequence[Suspect],
    unexplained: float,
    expected: float,
    tells: bool,
) -> tuple[LookAt, ...]:
    """Return at most three things, each with its evidence: what cost most, what nobody can explain, a wrong record."""
    found: list[LookAt] = []
    least = max(WORTH_T, WORTH_SHARE * expected)
    if tells:
        for one in sorted(ladder, key=lambda own: own.t)[:2]:
            if one.t <= -least and one.sample_high < 0.0:
                longest = max((events[i] for i in one.events), key=lambda own: own.end_s - own.start_s, default=None)
                found.append(LookAt(_costs(one), one.record or _evidence(longest), one.t, one.events))
    if abs(unexplained) >= least:
        words = f"{plain(unexplained, 1, sign=True)}{NO_BREAK}t that no record explains"
        found.append(LookAt(words, "the records below, and what nobody wrote down", unexplained))
    for own in suspect:
        if own.effect_t is not None and abs(own.effect_t) >= least:
            found.append(LookAt(own.what, record_words("records", own.rows) or own.station, own.effect_t))
    return tuple(found[:MOST_TOLD])


def _costs(one: Rung) -> str:
    name = named(one)
    return f"{name[0].upper()}{name[1:]}: {plain(one.t, 1, sign=True)}{NO_BREAK}t"


def _evidence(event: DayEvent | None) -> str:
    return "" if event is None else record_words("stops", event.lines)


# The next shift


def hand_over(day: Day, made: Booked, events: Sequence[DayEvent]) -> HandOver:
    """Return what the next shift finds at the end of the day, as far as the log tells."""
    now = morning_of(day.records, day.end)
    standing = [
        (one.station, one.machine, one.reason, one.start)
        for one in day.records.stops
        if one.start <= day.end < one.end and one.kind in ("down", "rolls", "setup", "waiting")
    ]
    longest = sorted(events, key=lambda own: own.start_s - own.end_s)
    return HandOver(
        stores=tuple(_stores(day, now)),
        rolls=tuple(_rolls(day, now)),
        standing=tuple(standing),
        good=made.products,
        stops=tuple(own.number for own in longest if own.kind in ("stop", "rolls", "setup"))[:LONGEST],
    )


def _stores(day: Day, now: Morning) -> Iterator[StoreNow]:
    guessed = " ".join(now.assumed)
    for name, store in day.plant.stores.items():
        if name in day.model.finished or store.capacity == 0:
            continue
        unit = {"metal": "kg", "strip": "kg"}.get(store.holds, store.holds)
        told = now.told.get("stores", {}).get(name)
        amount = float(len(now.found.coils[name])) if name in now.found.coils else _amount(told)
        yield StoreNow(name, amount, unit, store.capacity, f"What lay in {name} " not in guessed)


def _amount(told: object) -> float:
    if isinstance(told, dict):
        return float(sum(told.values()))
    return float(str(told).split()[0]) if told is not None else 0.0


def _rolls(day: Day, now: Morning) -> Iterator[RollsAt]:
    for name in day.model.layout.mills:
        own = day.plant.stations[name].rolls  # type: ignore[union-attr]
        told = now.told.get("rolls", {}).get(name, {})
        used, _, unit = str(told.get("used", "")).partition(" ")
        limit = own.change_after if own is not None else None
        yield RollsAt(
            station=name,
            km=float(used) / 1e3 if used and unit == "m" else None,
            limit_km=limit.value / 1e3 if limit is not None and limit.dimension == "length" else None,
            ready=told.get("sets", {}).get("ready"),
            sets=None if own is None else own.sets,
        )
