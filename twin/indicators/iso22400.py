"""Indicators of ISO 22400-2 and how our states are mapped to its time elements.

The standard has no base element for a machine that is blocked or starved. Our states are therefore the
truth, and its ratios are derived from them by the mapping below, which `docs/iso22400.md` prints.

References
----------
ISO 22400-2:2014, Key performance indicators for manufacturing operations management, part 2. The
formulas are from memory of the standard.
"""

from __future__ import annotations

from dataclasses import dataclass

ISO_MAPPING = {
    "planned busy time (PBT)": "the clock less closed",
    "actual unit busy time (AUBT)": "running, setup, changing_rolls, down and waiting",
    "actual unit processing time (AUPT)": "running, setup and changing_rolls",
    "actual production time (APT)": "running",
    "actual unit set-up time (AUST)": "setup and changing_rolls",
    "actual unit delay time (ADET)": "down and waiting",
    "starved and blocked": "no element: part of the planned busy time, outside the unit's busy time",
    "planned run time per item (PRI) x produced quantity (PQ)": "running less the time lost to a speed below nominal",
    "produced quantity (PQ)": "what left the station and what it scrapped, by mass",
    "good quantity (GQ)": "what left the station, by mass",
    "scrap quantity (SQ)": "what the station scrapped, by mass",
    "rework quantity (RQ)": "none: returns are remelted and counted as scrap",
}


@dataclass(frozen=True, slots=True)
class Elements:
    """Times and quantities of one unit in one period, by the standard's abbreviations, any one unit of each."""

    planned_busy: float  # PBT
    unit_busy: float  # AUBT
    processing: float  # AUPT
    production: float  # APT
    set_up: float  # AUST
    delay: float  # ADET
    ideal_run: float  # PRI x PQ, in the unit of the times
    produced: float  # PQ
    good: float  # GQ
    scrap: float  # SQ
    rework: float  # RQ


def ratio(part: float, whole: float) -> float:
    """Return part / whole, or not a number where there is no whole: such a ratio is unknown, not zero."""
    return part / whole if whole > 0.0 else float("nan")


def availability(unit: Elements) -> float:
    """Return the share of the planned busy time in which the unit produced, APT / PBT [1]."""
    return ratio(unit.production, unit.planned_busy)


def effectiveness(unit: Elements) -> float:
    """Return how near production came to the planned pace, PRI PQ / APT [1]."""
    return ratio(unit.ideal_run, unit.production)


def quality_ratio(unit: Elements) -> float:
    """Return the good share of what was produced, GQ / PQ [1]."""
    return ratio(unit.good, unit.produced)


def oee_index(unit: Elements) -> float:
    """Return availability x effectiveness x quality ratio [1]."""
    return availability(unit) * effectiveness(unit) * quality_ratio(unit)


def nee_index(unit: Elements) -> float:
    """Return the net equipment effectiveness: as the OEE index, with set-up counted as use, AUPT / PBT [1]."""
    return ratio(unit.processing, unit.planned_busy) * effectiveness(unit) * quality_ratio(unit)


def utilisation_efficiency(unit: Elements) -> float:
    """Return the share of the busy time in which the unit produced, APT / AUBT [1]."""
    return ratio(unit.production, unit.unit_busy)


def allocation_efficiency(unit: Elements) -> float:
    """Return the share of the planned busy time in which the unit was busy, AUBT / PBT [1]."""
    return ratio(unit.unit_busy, unit.planned_busy)


def technical_efficiency(unit: Elements) -> float:
    """Return production against production and delays, APT / (APT + ADET) [1]."""
    return ratio(unit.production, unit.production + unit.delay)


def set_up_ratio(unit: Elements) -> float:
    """Return the share of the processing time spent on set-up, AUST / AUPT [1]."""
    return ratio(unit.set_up, unit.processing)


def scrap_ratio(unit: Elements) -> float:
    """Return scrap against what was produced, SQ / PQ [1]."""
    return ratio(unit.scrap, unit.produced)


def rework_ratio(unit: Elements) -> float:
    """Return rework against what was produced, RQ / PQ [1]."""
    return ratio(unit.rework, unit.produced)
