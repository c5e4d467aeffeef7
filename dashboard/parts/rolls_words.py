"""How the coming roll changes are said: times of day, windows, prices, and sentences in the units of the page."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from dashboard.parts.amounts import METRIC, Units
from twin.words import MINUS, NO_BREAK, NOT_ASKED, PLUS_MINUS, THIN, number, plain, share

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
NUMBER = rf"\d[\d{THIN}]*(?:\.\d+)?"
AMOUNT = re.compile(
    rf"([+{MINUS}]?{NUMBER})(?:({NO_BREAK}{PLUS_MINUS}{NO_BREAK})({NUMBER}))?{NO_BREAK}(t/week|t/h|km|mm|t)(?![\w/])"
)
LEAST_SHOWN = 0.05
SMALL_KM = 10.0
Plain = Mapping[str, Any]


def moment(results: Plain, seconds: float) -> datetime:
    """Return the local time so many seconds from now, true across a change of the clocks."""
    now = datetime.fromisoformat(results["now"]).astimezone(UTC)
    return (now + timedelta(seconds=seconds)).astimezone(ZoneInfo(results["zone"]))


def clock(at: datetime, *, day: bool = True) -> str:
    """Return a time as people say it: Wed 18:20."""
    return f"{DAYS[at.weekday()]} {at:%H:%M}" if day else f"{at:%H:%M}"


def window(results: Plain, change: Plain) -> str:
    """Return a window in words: Wed 16:10–19:50, over midnight with both days."""
    first, last = moment(results, change["earliest"]), moment(results, change["latest"])
    if change["latest"] - change["earliest"] < 60.0:
        return clock(first)
    return f"{clock(first)}–{clock(last, day=first.date() != last.date())}"


def best(results: Plain, change: Plain) -> str:
    """Return the best time, with its day where the window begins on another one."""
    first, at = moment(results, change["earliest"]), moment(results, change["best"])
    return clock(at, day=first.date() != at.date())


def title(change: Plain) -> str:
    """Return which sets a change is about."""
    if change["off"] is None or change["on"] is None:
        return "Change of rolls" if change["off"] is None else f"Set {change['off']} off"
    return f"Set {change['off']} off, set {change['on']} on"


def tonnes(value: float, units: Units, *, sign: bool = True) -> str:
    """Return a price; what is less than a tenth shows one digit more."""
    mass = value * units.per_tonne
    places = 2 if LEAST_SHOWN / 10.0 <= mass < 2.0 * LEAST_SHOWN else 1
    return f"{plain(mass, places, sign=sign)}{NO_BREAK}{units.mass}"


def half_hour(value: float | None, units: Units) -> str:
    """Return the price of a half hour outside the window; a time that is not allowed has none."""
    return "not allowed" if value is None else tonnes(value, units)


def run(value_km: float, units: Units) -> str:
    """Return a distance: 57 km, 8.4 km, 187 kft."""
    places = 1 if value_km < SMALL_KM else 0
    return number(value_km * units.per_km, unit=units.distance, places=places)


def diameter(value_m: float | None, units: Units) -> str:
    """Return the diameter of a roll: 351.2 mm, 13.827 in."""
    if value_m is None:
        return ""
    places = 3 if units.name == "us" else 1
    return number(1000.0 * value_m * units.per_mm, unit=units.thickness, places=places)


def chance(value: float | None) -> str:
    """Return a chance in whole per cent; below a half of one it is said so."""
    if value is None:
        return NOT_ASKED
    return f"below 1{NO_BREAK}%" if 0.0 < value < 0.005 else share(value)


def at_a_time(results: Plain, change: Plain, price: Plain, units: Units) -> str:
    """Say what a change at one time costs, and how likely the set is damaged before."""
    when = clock(moment(results, price["at"]))
    risk = f"; damage before then: {chance(price['risk'])}" if results["life"]["law"] else ""
    if price["tonnes"] is None:
        return f"{when}: not allowed, the set is past its limit or no other one is ready"
    if len(change["prices"]) == 1:
        return f"{when}: the only time{risk}"
    if abs(price["at"] - change["best"]) < 1.0:
        return f"{when}: the best time{risk}"
    mass = price["tonnes"] * units.per_tonne
    cost = "no dearer than the best time" if mass < LEAST_SHOWN else f"{tonnes(price['tonnes'], units)} lost"
    inside = change["earliest"] <= price["at"] <= change["latest"]
    return f"{when}: {cost}{', in the window' if inside else ''}{risk}"


def turned(text: str, units: Units) -> str:
    """Return a sentence with its amounts in the units of the page."""
    if units.name == METRIC.name:
        return text
    scales = {
        "t": (units.per_tonne, units.mass, 0),
        "km": (units.per_km, units.distance, -1),
        "mm": (units.per_mm, units.thickness, 2),
    }

    def swapped(found: re.Match[str]) -> str:
        mean, between, half, unit = found.groups()
        base, slash, per = unit.partition("/")
        scale, word, more = scales[base]
        said = _scaled(mean, scale, more) + (f"{between}{_scaled(half, scale, more)}" if between else "")
        return f"{said}{NO_BREAK}{word}{slash}{per}"

    return AMOUNT.sub(swapped, text)


def _scaled(text: str, scale: float, more: int) -> str:
    """Return a written number times a scale, with so many decimals more than it has."""
    value = float(text.replace(THIN, "").replace(MINUS, "-"))
    places = max(0, len(text.partition(".")[2]) + more)
    return plain(value * scale, places, sign=text[0] in ("+", MINUS))
