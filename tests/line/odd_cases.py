"""Random lines made odder: with options taken, begun in the middle of their work, with records of what happened."""

import json
from random import Random

from hypothesis import reject

from twin.line import Scripts
from twin.line.build import build
from twin.line.model import model_of
from twin.line.scripted import works_coils
from twin.line.snapshot import state_at
from twin.scenario import Scenario, ScenarioError, apply_options, loads
from twin.scenario.calendars import wall_clock

HOUR = 3600.0


def with_an_option(text: str, chance: Random) -> Scenario:
    """Return a line that takes an option: other room in a store, or one machine more or fewer at a step."""
    content = json.loads(text)
    rooms = [f"stores.{name}.capacity" for name, own in content["stores"].items() if own["holds"] == "coils"]
    steps = [f"stations.{name}.machines" for name, own in content["stations"].items() if own["kind"] == "step"]
    places = [place for place in rooms[:-1] + steps if "kind" not in place]
    if not places:
        return loads(text)
    content["options"] = {"other": {"set": {chance.choice(places): chance.randint(1, 3)}}}
    plant = loads(json.dumps(content))
    try:
        return apply_options(plant, ["other"])
    except ScenarioError:  # machines that are paired cannot be one more
        return plant


def from_a_state(plant: Scenario, text: str, chance: Random) -> Scenario:
    """Return the line begun with the state in which it is at some hour."""
    hour = chance.randint(0, 50)
    told = state_at(plant, hour * HOUR, clock="pure", run=chance.randint(0, 9))
    begin = wall_clock(plant.time, hour * HOUR).strftime("%Y-%m-%d %H:%M")
    time = {"start": begin, "length": f"{chance.randint(20, 90)} h"}
    return loads(json.dumps(json.loads(text) | {"start": told, "time": time}))


def some_records(plant: Scenario, chance: Random) -> Scripts:
    """Return records of all kinds of some machines of the line."""
    model = model_of(plant)
    machines = [(name, number) for name, number in model.layout.machines if name in plant.stations]

    def some() -> list[tuple[str, int]]:
        return [machine for machine in machines if chance.random() < 0.3]

    def times(most: int) -> list[float]:
        return sorted(chance.uniform(0.0, model.end) for _ in range(chance.randint(0, most)))

    def spells() -> tuple[tuple[float, float], ...]:
        edges = times(6)
        return tuple(zip(edges[0::2], edges[1::2], strict=False))

    drawn = build(model, 1, 0, pure=True)[1].asked
    timed = sorted(name for name in drawn if name.rpartition("/")[2].startswith(("repair ", "time", "setup", "load")))
    return Scripts(
        stops={
            (*machine, chance.choice([*(own.reason for own in plant.stations[machine[0]].failures), "other"])): tuple(
                (start, chance.uniform(60.0, 4 * HOUR)) for start in times(5)
            )
            for machine in some()
        },
        draws={name: tuple(chance.uniform(60.0, HOUR) for _ in range(3)) for name in timed if chance.random() < 0.3},
        sequence=tuple(chance.choice(list(plant.patterns)) for _ in range(chance.randint(0, 6)) if plant.patterns),
        speeds={machine: tuple((at, chance.uniform(0.5, 1.2)) for at in times(4)) for machine in some()},
        losses={
            machine: tuple(chance.uniform(0.0, 0.05) for _ in range(5))
            for machine in some()
            if works_coils(model, machine[0])
        },
        closed={machine: spells() for machine in some()},
    )


def odd_case(text: str, chance: Random) -> tuple[Scenario, Scripts]:
    """Return a line with an option, perhaps from a state of its own, and records of it, perhaps none.

    A line that makes no sense, as a supply without end, is rejected as an example.
    """
    try:
        plant = with_an_option(text, chance)
        if chance.random() < 0.3:
            plant = from_a_state(plant, text, chance)
        return plant, some_records(plant, chance) if chance.random() < 0.6 else Scripts()
    except ScenarioError:
        reject()
