"""People and place that a line needs: crews, cranes, coils that wait, so that a gain that nobody can staff is seen."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from twin.line.model import SHOP, shop_people
from twin.scenario.calendars import turns
from twin.scenario.models import Mill

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.scenario.models import Calendar, Time

WEEK_S = 168.0 * 3600.0
CREW_H = 40.0
"""Hours that a crew works in a week, its breaks included: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Crews:
    """Crews that a line needs: how many by station, roll shop and shared crew, each manning one machine."""

    by_place: dict[str, float]

    @property
    def total(self) -> float:
        """Return the crews of the whole line."""
        return sum(self.by_place.values())


def crews(scenario: Scenario, crew_h: float = CREW_H) -> Crews:
    """Return how many crews man the line: open hours of all machines, roll-shop places and shared crews, by `crew_h`.

    A machine with a calendar of two shifts of 40 h a week takes two crews, one that never closes 4.2. How many people
    a crew is, is the plant's own affair. Breaks count as manned.
    """
    found: dict[str, float] = {}
    for name, station in scenario.stations.items():
        found[name] = station.machines * _manned_h(scenario, station.calendar) / crew_h
        if isinstance(station, Mill) and station.rolls is not None and station.rolls.shop is not None:
            calendar = station.rolls.shop.calendar or "always"
            found[name + SHOP] = shop_people(scenario, name) * _manned_h(scenario, calendar) / crew_h
    for name, shared in scenario.shared.items():
        found[name] = shared.count * _manned_h(scenario, shared.calendar) / crew_h
    return Crews(found)


def _manned_h(scenario: Scenario, name: str) -> float:
    """Return the hours of an ordinary week in which a calendar is open, breaks included."""
    return _week_h(scenario.calendar(name).model_copy(update={"breaks": ()}), scenario.time)


def open_h(scenario: Scenario, name: str) -> float:
    """Return the hours of an ordinary week in which a calendar is open. [h]"""
    return _week_h(scenario.calendar(name), scenario.time)


@lru_cache(maxsize=256)
def _week_h(calendar: Calendar, time: Time) -> float:
    """Return the open hours of a week without holidays, in which no clock is changed."""
    ordinary = calendar.model_copy(update={"holidays": None, "closed": ()})
    is_open, changes = turns(ordinary, time.model_copy(update={"zone": "UTC"}), WEEK_S)
    at, total = 0.0, 0.0
    for change in (*(one for one in changes if one < WEEK_S), WEEK_S):
        total += change - at if is_open else 0.0
        at, is_open = change, not is_open
    return total / 3600.0
