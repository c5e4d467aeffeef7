"""The numbers of the Line page, from a kept answer: verdict, days, roll changes, hours. No drawing, no Dash."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from dashboard.parts.amounts import HOURS_A_WEEK, Units, distance
from dashboard.parts.week import place_in_flow, rows_of, start_of
from twin.indicators import Part, verdict
from twin.words import NO_BREAK, half_width, indicator, share

Answer = Mapping[str, Any]
Kept = Mapping[str, Any]
STATES = ("running", "setup", "changing_rolls", "down", "waiting", "starved", "blocked", "closed")
LIMITS_MUCH, WAITS_MUCH = 0.5, 0.1
REASONS = {"limit": "planned", "planned": "planned", "idle": "idle moment", "damage": "damage"}


def in_units(results: Mapping[str, Any], units: Units) -> dict[str, Any]:
    """Return results whose weekly mass is in the units of the page."""
    good = {
        key: value if key == "unit" or value is None else value * units.per_tonne
        for key, value in results["line"]["good"].items()
    }
    return {**results, "line": {**results["line"], "good": good}}


def verdict_parts(answer: Answer, units: Units) -> tuple[Part, ...]:
    """Return the sentence on top of the page."""
    said = verdict(in_units(answer["results"], units)).parts
    return tuple(Part(part.text.replace("t/week", f"{units.mass}/week"), part.strong, part.soft) for part in said)


def waits_part(answer: Answer, week: Kept | None) -> tuple[Part, ...]:
    """Return for what the station that limits most waits, where that is much of its open time; else nothing.

    A crane or a crew has no strip of its own: the station that waits for it holds the line on its behalf.
    """
    results = answer["results"]
    shares = {name: row["share"]["mean"] or 0.0 for name, row in results["bottleneck"].items()}
    first = max(shares, key=lambda name: shares[name], default="")
    if week is None or shares.get(first, 0.0) < LIMITS_MUCH or first not in results["stations"]:
        return ()
    found = results["stations"][first]["share"]
    waits = (found["waiting"]["mean"] or 0.0) / max(1.0 - (found["closed"]["mean"] or 0.0), 1e-9)
    reasons: dict[str, float] = {}
    for row in rows_of(week["tables"]["states"]):
        if row["station"] == first and row["state"] == "waiting" and row["reason"]:
            reasons[row["reason"]] = reasons.get(row["reason"], 0.0) + row["end_s"] - row["start_s"]
    if waits < WAITS_MUCH or not reasons:
        return ()
    for_what = max(reasons, key=lambda reason: reasons[reason])
    return (Part(f" It waits for the {for_what} for {share(waits)} of its hours."),)


def so_far_parts(answer: Answer, units: Units) -> tuple[Part, ...]:
    """Return the sentence while runs are still being made: About 605 ± 31 t/week so far."""
    text = indicator(answer["results"]["line"]["good"], f"{units.mass}/week", scale=HOURS_A_WEEK * units.per_tonne)
    return (Part("About "), Part(text, strong=True), Part(" so far."))


def stopped_parts(answer: Answer, units: Units) -> tuple[Part, ...]:
    """Return the sentence of a stopped run."""
    text = indicator(answer["results"]["line"]["good"], f"{units.mass}/week", scale=HOURS_A_WEEK * units.per_tonne)
    count = f"{answer['done']}{NO_BREAK}of{NO_BREAK}{answer['wanted']}{NO_BREAK}runs"
    return (Part(f"Stopped after {count}: "), Part(text, strong=True), Part("."))


def sure(answer: Answer, week: Kept | None) -> str:
    """Return the line that says how sure the verdict is."""
    said = verdict(answer["results"]).sure
    shown = (
        f" The week shown is that of {start_of(week):%a} {start_of(week).day} {start_of(week):%b}, first run."
        if week
        else ""
    )
    return said + shown


@dataclass(frozen=True, slots=True)
class DayRow:
    """One day of the shown week beside what such a day is expected to give [t]."""

    name: str
    good: float
    mean: float | None
    low: float | None
    high: float | None


def days_of(answer: Answer, week: Kept) -> list[DayRow]:
    """Return the good tonnes of each day of the shown week, with the band of four such weekdays in five."""
    expected = {row["name"]: row for row in answer["days"]}
    found = []
    for name, begin, end in day_spans(week):
        usual = expected.get(name, {})
        good = good_between(week, begin, end) / 1000.0
        found.append(DayRow(name, good, usual.get("mean"), usual.get("low"), usual.get("high")))
    return found


def day_spans(week: Kept) -> list[tuple[str, float, float]]:
    """Return the local days of the shown week, each with its elapsed start and end [s]."""
    begin = start_of(week)
    zone = ZoneInfo(week["zone"])
    spans = []
    at = 0.0
    while at < week["length_s"] - 1.0:
        local = datetime.fromtimestamp(begin.timestamp() + at, zone)
        tomorrow = local.date() + timedelta(days=1)
        midnight = datetime(tomorrow.year, tomorrow.month, tomorrow.day, tzinfo=zone).timestamp()
        end = min(midnight - begin.timestamp(), week["length_s"])
        spans.append((f"{local:%a}", at, end))
        at = end
    return spans


def good_between(week: Kept, begin: float, end: float) -> float:
    """Return the good mass finished between two times [kg]; a stretch of output is spread evenly over its time."""
    total = 0.0
    for row in rows_of(week["tables"]["output"]):
        if not row["finished"] or not row["good_kg"]:
            continue
        first, last = row["start_s"], row["time_s"]
        if last <= first:
            total += row["good_kg"] if begin <= last < end else 0.0
        else:
            total += row["good_kg"] * max(0.0, min(last, end) - max(first, begin)) / (last - first)
    return total


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One roll change of the shown week."""

    when: str
    mill: str
    sets: str
    run_km: float
    why: str
    took_s: float
    waited_s: float


def changes_of(week: Kept) -> list[ChangeRow]:
    """Return the roll changes of the shown week, in order."""
    rows = sorted(
        (row for row in rows_of(week["tables"]["rolls"]) if row["off_s"] is not None), key=lambda row: row["off_s"]
    )
    begin, zone = start_of(week).timestamp(), ZoneInfo(week["zone"])
    found = []
    for row in rows:
        if not 0.0 <= row["off_s"] < week["length_s"]:
            continue
        after = next(
            (
                other
                for other in rows_of(week["tables"]["rolls"])
                if other["station"] == row["station"]
                and other["machine"] == row["machine"]
                and other["on_s"] is not None
                and other["on_s"] >= row["off_s"]
            ),
            None,
        )
        sets = f"set {row['set']} → {after['set']}" if after else f"set {row['set']}"
        when = datetime.fromtimestamp(begin + row["off_s"], zone)
        found.append(
            ChangeRow(
                f"{when:%a %H:%M}",
                row["station"],
                sets,
                row["km"],
                REASONS.get(row["why"], row["why"]),
                row["took_s"] or 0.0,
                row["waited_s"] or 0.0,
            )
        )
    return found


def minutes(seconds: float) -> str:
    """Return a length of time as a plant says it: 31 min, 1 h 41."""
    whole = round(seconds / 60.0)
    return f"{whole // 60}{NO_BREAK}h{NO_BREAK}{whole % 60:02d}" if whole >= 60 else f"{whole}{NO_BREAK}min"


def change_cells(row: ChangeRow, units: Units) -> tuple[str, str, str, str, str, str]:
    """Return a roll change in the words of its table."""
    waited = f"waited {minutes(row.waited_s)}" if row.waited_s >= 30.0 else "no wait"
    return row.when, row.sets, distance(row.run_km, units), row.why, minutes(row.took_s), waited


def changes_note(answer: Answer) -> str:
    """Return what roll changes cost in a mean week: 9.3 ± 0.7 changes a week take 5.5 ± 0.6 h of the mill.

    Of several machines changes and hours are those of all of them: the shares are of their hours taken together.
    """
    said = []
    for mill, found in answer["results"]["rolls"].items():
        machines = answer["results"]["stations"][mill]["machines"]
        hours = machines * HOURS_A_WEEK
        count = indicator(found["changes"], "changes a week")
        took = indicator(found["downtime"], "h", scale=hours)
        waits = indicator(found["waiting_for_set"], "h", scale=hours)
        waiting = (
            f"waiting for a ready set takes {waits}" if found["waiting_for_set"]["mean"] else "a set is always ready"
        )
        whose = f"the {mill}" if machines == 1 else f"the {machines} machines of the {mill} together"
        said.append(f"{count} take {took} of {whose}; {waiting}.")
    return " ".join(said)


@dataclass(frozen=True, slots=True)
class Hours:
    """The hours of a mean week that a station spends in each state, per machine."""

    station: str
    machines: int
    hours: Mapping[str, float]


def hours_of(answer: Answer) -> list[Hours]:
    """Return the hours of each station in a mean week, in order of flow."""
    order = [row["name"] for row in answer["line"]["stations"]]
    stations = answer["results"]["stations"]
    return [
        Hours(
            name, found["machines"], {state: (found["share"][state]["mean"] or 0.0) * HOURS_A_WEEK for state in STATES}
        )
        for name, found in sorted(stations.items(), key=lambda item: place_in_flow(item[0], order))
    ]


def limit_shares(answer: Answer) -> dict[str, tuple[str, tuple[float, float, float]]]:
    """Return for how much of the time each station limits the line: in words, and mean, low and high."""
    shares = {}
    for name, row in answer["results"]["bottleneck"].items():
        found = row["share"]
        mean = found["mean"] or 0.0
        low, high = (mean if found[end] is None else min(1.0, max(0.0, found[end])) for end in ("low", "high"))
        shares[name] = (share_words(mean, low, high, half_width(found)), (mean, low, high))
    return shares


def share_words(mean: float, low: float, high: float, half: float | None) -> str:
    """Return a share with its interval: 55 ± 7 %, or 35 (0 to 100) % where so much more or less than it cannot be."""
    if half is None or not round(100.0 * half):
        return share(mean)
    if mean - half < 0.0 or mean + half > 1.0:
        ends = (f"{100.0 * end:.0f}" for end in (mean, low, high))
        return "{} ({} to {}) %".format(*ends).replace(" ", NO_BREAK)
    return share(mean, half)
