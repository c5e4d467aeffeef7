"""The words and figures of a day, as the page, its tables and the sheet of the shift have them. No Dash here."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from dashboard.charts.plant import titled
from dashboard.doubt_words import sure as sure_of_inputs
from dashboard.parts.amounts import Units
from twin.indicators import Part
from twin.words import NO_BREAK, NOT_ASKED, number, places_for, plain

Plain = Mapping[str, Any]
KINDS = {"stop": "stop", "rolls": "roll change", "setup": "setup", "staffing": "nobody there"}
HARDLY = 1.1
TONNES = re.compile(rf"([+\u2212]?)(\d[\d\u202f]*(?:\.\d+)?)({NO_BREAK}t\b)")
OF = re.compile(r"(explains? )(\d[\d\u202f]*)( of the )")
MORNING = re.compile(r"(in the morning (?:gave|took) )(\d[\d\u202f]*)(\.)")
WHERE = re.compile(r"(where )(\d[\d\u202f]*)( were)")


def clock(moment: float, zone: str) -> str:
    """Return the local time of day at a moment [s since 1970 UTC]."""
    return f"{datetime.fromtimestamp(moment, ZoneInfo(zone)):%H:%M}"


def long_day(day: str) -> str:
    """Return a date as it is said: Thu 7 May 2026."""
    when = date.fromisoformat(day)
    return f"{when:%a} {when.day} {when:%b %Y}"


def short_day(day: str) -> str:
    """Return a date as it stands under a bar: Thu 7."""
    when = date.fromisoformat(day)
    return f"{when:%a} {when.day}"


def question(answer: Plain) -> str:
    """Return what the page answers: what happened yesterday, or on an earlier day."""
    last = answer["days"] and answer["day"] == answer["days"][-1]
    return "What happened yesterday?" if last else f"What happened on {long_day(answer['day'])}?"


def in_units(text: str, units: Units) -> str:
    """Return a sentence with its tonnes in the page's unit, rounded as they were."""
    if units.per_tonne == 1.0:
        return text

    def scaled(digits: str) -> str:
        places = len(digits.partition(".")[2])
        return plain(float(digits.replace("\u202f", "")) * units.per_tonne, places)

    text = TONNES.sub(lambda found: f"{found[1]}{scaled(found[2])}{NO_BREAK}{units.mass}", text)
    for pattern in (WHERE, OF, MORNING):
        text = pattern.sub(lambda found: f"{found[1]}{scaled(found[2])}{found[3]}", text)
    return text


def verdict_parts(answer: Plain, units: Units) -> list[Part]:
    """Return the sentence on top in the page's unit."""
    return [
        Part(in_units(part["text"], units), strong=part["strong"], soft=part["soft"])
        for part in answer["review"]["verdict"]["parts"]
    ]


def sure_line(answer: Plain, units: Units) -> str:
    """Return the line below the sentence: which day, which records, how many runs, how the inputs were taken."""
    inputs = sure_of_inputs(answer.get("doubt")) or " Inputs at their best estimates."
    said = in_units(answer["review"]["verdict"]["sure"], units)
    return f"{said} {answer['review']['runs']} runs of the day from its morning.{inputs}"


def luck_words(answer: Plain, units: Units) -> str:
    """Return how wide the band would be by the luck of the day alone; nothing where it is that."""
    luck = answer.get("luck")
    if luck is None:
        return ""
    low, high = (plain(luck[end] * units.per_tonne) for end in ("low_t", "high_t"))
    band = answer["review"]["expected"]
    wider = band["high_t"] - band["low_t"] > HARDLY * (luck["high_t"] - luck["low_t"])
    so = "" if wider else ": what is not known of the line hardly widens it"
    return f" By the luck of such a day alone it would be {low} to {high}{NO_BREAK}{units.mass}{so}."


def tonnes(value: float | None, units: Units, *, sign: bool = False) -> str:
    """Return tonnes of a day with one decimal in the page's unit."""
    return NOT_ASKED if value is None else f"{plain(value * units.per_tonne, 1, sign=sign)}{NO_BREAK}{units.mass}"


def changed(one: Plain, units: Units) -> str:
    """Return what a day would have given more or less, with its interval where anything was drawn."""
    half = (one["high_t"] - one["low_t"]) / 2.0 * units.per_tonne
    mean = one["change_t"] * units.per_tonne
    places = places_for(half) if half > 0.05 else 1
    return number(mean, half if half > 0.05 else None, units.mass, sign=True, places=min(1, places))


def minutes(seconds: float) -> str:
    """Return how long something lasted."""
    whole = round(seconds / 60.0)
    if whole < 60:
        return f"{whole}{NO_BREAK}min"
    return f"{whole // 60}{NO_BREAK}h{NO_BREAK}{whole % 60:02d}" if whole % 60 else f"{whole // 60}{NO_BREAK}h"


def reason_words(event: Plain) -> str:
    """Return what an event was: its reason, for a setup also that it was one."""
    reason = event["reason"]
    if event["kind"] == "setup" and reason in ("pattern", "knives"):
        return "setup for a pattern" if reason == "pattern" else "change of knives"
    return str(reason or KINDS.get(event["kind"], event["kind"]))


def event_words(event: Plain, zone: str) -> str:
    """Return an event as it is named in lists: 11:48 to 14:13, slitter: slitter stop."""
    span = clock(event["start_s"], zone)
    if event["end_s"] > event["start_s"]:
        span += f" to {clock(event['end_s'], zone)}"
    what = reason_words(event)
    where = f"{event['station']} {event['machine']}" if event["machine"] > 1 else event["station"]
    return f"{span}, {where}: {what}" if where else f"{span}: {what}"


def named_event(event: Plain, zone: str) -> str:
    """Return an event with its number, so that the name is its own."""
    return f"{event['number'] + 1}: {event_words(event, zone)}"


def cause_words(rung: Plain, events: Sequence[Plain], zone: str) -> str:
    """Return a cause with when it struck, or how often."""
    name = titled(rung["cause"])
    own = [events[number] for number in rung["events"]]
    if len(own) == 1 and own[0]["end_s"] > own[0]["start_s"]:
        return f"{name}, {clock(own[0]['start_s'], zone)} to {clock(own[0]['end_s'], zone)}"
    return f"{name}, {len(own)} times" if len(own) > 1 else name


def where_words(rung: Plain) -> str:
    """Return where a cause struck and how long it lasted together."""
    lasted = minutes(rung["minutes"] * 60.0) if rung["minutes"] >= 1.0 else ""
    return ", ".join(part for part in (rung["station"], lasted) if part)


def sure_words(sure: float | None, *, tells: bool) -> str:
    """Return how sure the place of a cause among the others is."""
    if not tells:
        return "cannot be told"
    if sure is None:
        return NOT_ASKED
    percent = round(100.0 * sure)
    return f"over 99{NO_BREAK}%" if percent > 99 else f"{percent}{NO_BREAK}%"


def record_words(suspect: Plain) -> str:
    """Return where a doubtful record stands."""
    rows, name = suspect["rows"], suspect["file"].rsplit(".", 1)[0]
    if not rows:
        return str(suspect["station"] or name)
    if len(rows) == 1:
        return f"{name}, line {rows[0]}"
    return f"{name}, {len(rows)} lines from {rows[0]}"


def if_words(one: Plain, events: Sequence[Plain], zone: str) -> str:
    """Return what had not happened, as a condition."""
    own = [events[number] for number in one["events"]]
    if len(own) > 1:
        return f"none of the {len(own)} above that cost something had happened"
    return f"{event_words(own[0], zone)} had not happened"


def amount_words(amount: float, unit: str, units: Units) -> str:
    """Return what lies in a store."""
    if unit == "kg":
        return f"{plain(amount / 1000.0 * units.per_tonne, 1)}{NO_BREAK}{units.mass}"
    return f"{plain(amount)}{NO_BREAK}{unit}"


def store_words(store: Plain, units: Units) -> str:
    """Return what lies in a store, of how much room, and whether it was counted."""
    held = amount_words(store["amount"], store["unit"], units)
    if store["capacity"] is None:
        return held
    return f"{held.split(NO_BREAK)[0]} of {amount_words(store['capacity'], store['unit'], units)}"


def rolls_words(rolls: Plain, units: Units) -> str:
    """Return how far the rolls of a mill are."""
    if rolls["km"] is None:
        return "not in the log"
    unit = units.distance
    limit = "" if rolls["limit_km"] is None else f" of {plain(rolls['limit_km'] * units.per_km)}"
    sets = "" if rolls["ready"] is None else f", {rolls['ready']} of {rolls['sets']} sets ready"
    return f"{plain(rolls['km'] * units.per_km)}{limit}{NO_BREAK}{unit}{sets}"
