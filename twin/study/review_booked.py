"""What was booked as good in a day, when it was really made, and the curve of it through the day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twin.indicators.intervals import FloatArray
from twin.study.review_day import HOUR_S, Day
from twin.study.review_records import Coil, Made


@dataclass(frozen=True, slots=True)
class Booked:
    """The day's good output as its records tell.

    Attributes
    ----------
    booked_t : Booked in the day.
    edges_t : Of that, made before the day, less what was made in the day and booked after it.
    curve_t : Booked until its begin, each hour and its end.
    products : Good tonnes by product, largest first.
    """

    booked_t: float
    edges_t: float
    curve_t: tuple[float, ...]
    products: tuple[tuple[str, float], ...]


def booked(day: Day) -> Booked:
    """Return what was booked in the day."""
    rows = [one for one in day.records.good if day.begin < one.time <= day.end]
    times, tonnes = np.array([one.time for one in rows]), np.array([one.kg for one in rows]) / 1e3
    by: dict[str, float] = {}
    for one in rows:
        by[one.product] = by.get(one.product, 0.0) + one.kg / 1e3
    curve = [float(tonnes[times <= at].sum()) for at in moments(day)] if rows else [0.0] * len(moments(day))
    ranked = tuple(sorted(by.items(), key=lambda own: -own[1]))
    return Booked(float(tonnes.sum()), edges(day), tuple(curve), ranked)


def moments(day: Day) -> FloatArray:
    """Return the begin of the day, each hour, and its end [s since 1970 UTC]."""
    hours = np.arange(HOUR_S, day.end - day.begin, HOUR_S)
    return day.begin + np.concatenate([[0.0], hours, [day.end - day.begin]])


def edges(day: Day) -> float:
    """Return the tonnes booked in the day that were made before it, less those made in it and booked after it.

    A ring or lot is booked when it is finished; it is made while it runs. Coils are made when they are finished.
    """
    total = 0.0
    for one in day.records.good:
        lot = _lot(day, one)
        if lot is None:
            continue
        if lot.start < day.begin < one.time <= day.end:
            total += one.kg * _share(day, one, lot, day.begin)
        elif lot.start < day.end < one.time:
            total -= one.kg * (_share(day, one, lot, day.end) - _share(day, one, lot, day.begin))
    return total / 1e3


def _lot(day: Day, one: Made) -> Coil | None:
    """Return when what was booked was begun, for stations that give as they run."""
    if one.station not in day.model.flowing or not one.coil:
        return None
    return day.records.visit_of.get((one.station, one.coil))


def _share(day: Day, one: Made, lot: Coil, moment: float) -> float:
    """Return the share of a lot that had been made at a moment, by its running time."""
    if moment <= lot.start:
        return 0.0
    ran = _ran(day, one, lot.start, one.time)
    return min(1.0, _ran(day, one, lot.start, moment) / ran) if ran > 0.0 else 0.0


def _ran(day: Day, one: Made, start: float, end: float) -> float:
    worked = day.records.worked(one.station, start, end)
    return worked - day.records.standing(one.station, one.machine, start, end)
