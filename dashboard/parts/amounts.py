"""Amounts as the page shows them: metric or US units, rounded alike, with their interval.

The twin keeps SI; here tonnes are 1000 kg and short tons 2000 lb (907.18474 kg, exact by the pound of 1959).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from twin.words import indicator, number, places_for

SHORT_TON_KG = 907.18474
FOOT_M = 0.3048
Kind = Literal["mass", "length", "thickness", "distance", "speed"]


@dataclass(frozen=True, slots=True)
class Units:
    """The units of one page: a name for each kind, and how many of it one metric unit is."""

    name: str
    mass: str
    per_tonne: float
    distance: str
    per_km: float
    thickness: str
    per_mm: float
    length: str
    per_m: float


METRIC = Units("t", "t", 1.0, "km", 1.0, "mm", 1.0, "m", 1.0)
US = Units("us", "short tons", 1000.0 / SHORT_TON_KG, "kft", 1.0 / FOOT_M, "in", 1.0 / 25.4, "ft", 1.0 / FOOT_M)
HOURS_A_WEEK = 168.0


def units_of(name: str) -> Units:
    """Return the units that an address names."""
    return US if name == "us" else METRIC


def tonnes_a_week(found: Mapping[str, Any], units: Units, *, sign: bool = False) -> str:
    """Return an indicator in t/h as mass a week with its interval."""
    return indicator(found, f"{units.mass}/week", scale=HOURS_A_WEEK * units.per_tonne, sign=sign)


def half_width(half_t: float, units: Units) -> str:
    """Return the half-width of an interval of a weekly mass."""
    half = half_t * units.per_tonne
    return number(half, unit=units.mass, places=places_for(half))


def thickness(value_mm: float, units: Units) -> str:
    """Return a thickness of strip: 0.70 mm, 8.2 mm, 0.028 in."""
    places = 3 if units.name == "us" else 2 if value_mm < 1.0 else 1
    return number(value_mm * units.per_mm, unit=units.thickness, places=places)


def distance(value_km: float, units: Units) -> str:
    """Return a distance rolled: 57.4 km, 188 kft."""
    return number(value_km * units.per_km, unit=units.distance, places=1 if units.name == "t" else 0)
