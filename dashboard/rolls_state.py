"""Where a plan of roll changes begins: the state of the plant at the end of the last whole day of its log."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dashboard.ask import Ask
from dashboard.settings import Settings
from dashboard.yesterday_log import place_of, stamp

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.study.review_day import Day

OWN = "plant's own state"
TOLD = "the state that the log tells of"
SIMULATED = "simulated week"
WAY_OUT = (
    "To plan from the plant as it stands, write start: into its file, or serve its log too: "
    "passline serve FILE --logs FOLDER."
)
NOT_TOLD = "What lay in {} is not in the log: as on a typical such morning."
MINUTES = "%Y-%m-%d %H:%M"
COUNTED = (
    "Coils in the stores are counted as the log has them, whatever their gauge and however long they have lain; "
    "machines begin idle."
)


@dataclass(frozen=True, slots=True)
class Told:
    """A plant that begins as its log tells, and what had to be assumed for it, in sentences."""

    scenario: Scenario
    assumed: tuple[str, ...]


def brought(settings: Settings, ask: Ask) -> dict[str, Any]:
    """Return where the log of a plant is and how its files stand; nothing where there is none."""
    place = place_of(settings, ask.plant)
    return {} if place is None else {"log": str(place), "stamp": stamp(place)}


def state_told(scenario: Scenario, file: str, options: Sequence[str], log: str) -> Told | str:
    """Return the plant as its log leaves it, in words why it cannot; a state that the file gives goes before."""
    from dashboard.yesterday_records import records
    from twin.logs import LogError
    from twin.scenario import ScenarioError, apply_set
    from twin.study.review_day import bounds, day_of

    if scenario.start.mode != "typical":
        return Told(scenario, ())
    try:
        own = records(file, options, log, invented=False)
        if not own.days:
            return "The log covers no whole day, so it tells no state to plan from."
        morning = own.days[-1] + timedelta(days=1)
        day = day_of(own.scenario, own.examined, morning, bounds(own.scenario, morning, own.begins))
        start, missing = start_of(day)
        made = apply_set(apply_set(scenario, "start", start), "time.start", f"{day.scenario.time.start:{MINUTES}}")
    except (LogError, ScenarioError) as fault:
        return f"The log tells no state to plan from: {str(fault).replace(f'{Path(log).parent}{os.sep}', '')}"
    return Told(made, (*day.morning.assumed, *(NOT_TOLD.format(name) for name in missing), COUNTED))


def start_of(day: Day) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Return how a day begins in the grammar of `start:`, and the stores of coils of which the log tells nothing.

    Those are filled as on a typical such morning: left out they would be empty.
    """
    from twin.line.routes import takers_of
    from twin.study.review_morning import typical_morning

    told, plant = day.morning.told, day.plant
    coils = {name: len(lying) for name, lying in day.morning.found.coils.items()}
    stores = {**told["stores"], **coils}
    missing = tuple(
        name
        for name, store in plant.stores.items()
        if store.holds == "coils" and store.capacity != 0 and takers_of(plant, name) and name not in stores
    )
    usual = typical_morning(plant, day.scenario.time.start)["stores"] if missing else {}
    stores |= {name: usual[name] for name in missing if name in usual}
    return {"stores": stores} | ({"rolls": told["rolls"]} if "rolls" in told else {}), missing
