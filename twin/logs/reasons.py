"""What the reasons of stops mean: which are failures of the scenario, which are work, which are waits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from twin.scenario import Scenario

Class = Literal["down", "rolls", "setup", "waiting", "starved", "blocked"]
ORDER: tuple[Class, ...] = ("down", "rolls", "setup", "waiting", "starved", "blocked")
"""Where two rows tell of the same time, the one that stands first here holds."""

NO_MATERIAL, NO_ROOM, WAITING = "no material", "no room", "waiting"
ROLL_CHANGE, ROLL_DAMAGE = "roll change", "roll damage"
SETUPS = ("pattern", "coil change", "tool change", "width change", "skimming", "service", "restart", "knives")
FIXED: Mapping[str, Class] = {
    NO_MATERIAL: "starved",
    NO_ROOM: "blocked",
    WAITING: "waiting",
    ROLL_CHANGE: "rolls",
    ROLL_DAMAGE: "rolls",
    **dict.fromkeys(SETUPS, "setup"),
}


def class_of(reason: str) -> Class:
    """Return what a reason means; what is none of the fixed words is a failure."""
    if reason.startswith("waiting for "):
        return "waiting"
    return FIXED.get(reason, "down")


def known_reasons(scenario: Scenario) -> dict[str, set[str]]:
    """Return the reasons of failures that the scenario gives each station."""
    return {name: {one.reason for one in own.failures} for name, own in scenario.stations.items()}
