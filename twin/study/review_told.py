"""The words of a review: the sentence on top, what to look at, which records look wrong, what the next shift finds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

import numpy as np

from twin.indicators.verdict import Part, Verdict
from twin.logs.doctor import Case, Finding
from twin.study.review_answer import (
    DayEvent,
    Expected,
    FirstSight,
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
from twin.words import MINUS, NO_BREAK, plain, share

MISSING_TOO_MUCH = 0.15
UNEXPLAINED_TOO_MUCH = 0.08
"""Of what was expected: with more than this unexplained, and more than all rungs together, no cause can be named."""
LEAST_SURE = 0.5
SURE_ENOUGH = 0.9
MOST_TIED = 2  # causes too near each other to be told apart are named both, three are not
WORTH_T = 1.0
WORTH_SHARE = 0.01
MOST_TOLD = 3
LONGEST = 8
NUMBERS = ("two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


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


def cannot_tell(
    quality: LogQuality, ladder: Sequence[Rung], unexplained: float, expected: float, sure: float | None
) -> str:
    """Return why the log cannot say which cause was the largest; nothing where it can."""
    if quality.missing >= MISSING_TOO_MUCH:
        return f"about {plain(100.0 * quality.missing)}{NO_BREAK}% of the standstills have no record"
    told = sum(abs(one.t) for one in ladder)
    if abs(unexplained) > UNEXPLAINED_TOO_MUCH * expected and abs(unexplained) > told:
        return f"{plain(abs(unexplained))}{NO_BREAK}t stay unexplained, more than all causes together"
    if sure is not None and sure < LEAST_SURE and ladder and len(largest_of(ladder)) > MOST_TIED:
        return "the largest causes are too near each other for this log"
    return ""


def largest_of(ladder: Sequence[Rung]) -> tuple[Rung, ...]:
    """Return the fewest rungs of which one is the largest cause in nine cases of ten, the likeliest first."""
    ranked = sorted(ladder, key=lambda one: -(one.largest or 0.0))
    chances = np.cumsum([one.largest or 0.0 for one in ranked])
    return tuple(ranked[: 1 + int(np.searchsorted(chances, SURE_ENOUGH))])


def largest_words(ladder: Sequence[Rung]) -> str:
    """Return which cause is the largest, or of which two it is one; nothing where that was not asked."""
    if not ladder or any(one.largest is None for one in ladder):
        return ""
    likely = largest_of(ladder)
    chance = sum(one.largest or 0.0 for one in likely)
    if len(likely) == MOST_TIED:
        first, second = (_named(one) for one in likely)
        return f"The largest cause is one of these two, {first} or {second}: so in {share(chance)}"
    top = max(ladder, key=lambda one: abs(one.t))
    return f"The largest cause is {_named(top)}: so in {share(top.largest or 0.0)}"


# The sentence on top


def verdict(
    day: Day, first: FirstSight, ladder: Sequence[Rung], unexplained: float, why_not: str, morning: Rung
) -> Verdict:
    """Return the sentence gone on with; causes of an ordinary day are not told without saying that it was one."""
    expected, parts = first.expected, [*first.verdict.parts]
    if expected.high_t <= 0.0 and first.actual_t <= 0.0:
        return first.verdict
    parts += _morning(day, expected, morning)
    parts += _causes(first.actual_t - expected.mean_t, ladder, why_not)
    if abs(unexplained) >= max(WORTH_T, WORTH_SHARE * expected.mean_t):
        sign = MINUS if unexplained < 0.0 else "+"
        parts.append(Part(f" {sign}{plain(abs(unexplained))}{NO_BREAK}t stay unexplained.", strong=True))
    return Verdict(tuple(parts), first.verdict.sure)


def opening(actual: float, expected: Expected, place: tuple[float, bool, float]) -> Iterator[Part]:
    """Yield how the sentence begins: whether the day was ordinary, what it gave, how often such a day comes."""
    position, signal, days_in = place
    if expected.high_t <= 0.0 and actual <= 0.0:
        yield Part("Nothing was expected of this day, and nothing was made.")
        return
    side = "on the low side" if position < 0.4 else "on the high side" if position > 0.6 else "about as expected"
    yield Part(f"{'Not an' if signal else 'An'} ordinary day, {side}: ")
    yield Part(f"{plain(actual)}{NO_BREAK}t where {plain(expected.mean_t)} were expected", strong=True)
    yield Part(f"; {one_in(days_in)} is as {'low' if position < 0.5 else 'high'}. ")


def _morning(day: Day, expected: Expected, morning: Rung) -> Iterator[Part]:
    """Yield what the state of the line in the morning gave or took, where it is worth a word and not mere luck."""
    if abs(morning.t) < max(WORTH_T, WORTH_SHARE * expected.mean_t) or morning.sample_low <= 0.0 <= morning.sample_high:
        return
    name = f"{datetime.fromtimestamp(day.begin, day.plant.time.tz):%A}"
    verb = "took" if morning.t < 0.0 else "gave"
    usual = f"A typical {name} gives {plain(expected.mean_t - morning.t)}{NO_BREAK}t"
    yield Part(f"{usual}; the state of the line in the morning {verb} {plain(abs(morning.t))}. ")


def one_in(days: float) -> str:
    """Return `one day in seven`."""
    count = round(days)
    if count <= 2:
        return "every second day"
    return f"one day in {NUMBERS[count - 2] if count - 2 < len(NUMBERS) else plain(count)}"


def _causes(gap: float, ladder: Sequence[Rung], why_not: str) -> Iterator[Part]:
    if why_not:
        yield Part(f"Which cause was the largest cannot be told: {why_not}.")
        return
    ours = sorted((one for one in ladder if one.t * gap > 0.0), key=lambda one: -abs(one.t))[:2]
    ours = [one for one in ours if abs(one.t) >= max(0.5, 0.1 * abs(gap))]
    if abs(gap) < WORTH_T or not ours:
        yield Part("No single cause stands out.")
        return
    names = " and ".join(_named(one) for one in ours)
    names, told = f"{names[0].upper()}{names[1:]}", abs(sum(one.t for one in ours))
    if told <= abs(gap) + 0.5:
        verb = "explains" if len(ours) == 1 else "explain"
        yield Part(f"{names} {verb} {plain(told)} of the {plain(abs(gap))}{NO_BREAK}t.")
        return
    verb, back = (
        ("took", "other causes gave part of it back") if gap < 0.0 else ("gave", "other causes took part of it")
    )
    yield Part(f"{names} {verb} {plain(told)}{NO_BREAK}t, {back}.")


def _named(one: Rung) -> str:
    return f"{one.cause} at the {one.station}" if one.station else one.cause


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
    name = _named(one)
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
