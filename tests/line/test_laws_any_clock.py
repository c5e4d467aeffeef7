"""Random lines with options, states of the plant now, and records: every clock gives the same bytes.

A hundred of them here, a thousand at night.
"""

import json
from random import Random

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st
from line import lines
from line.bytes_of import fingerprint
from line.judging import clocks

from twin.line import Scripts, simulate
from twin.line.build import build
from twin.line.model import model_of
from twin.line.scripted import works_coils
from twin.line.snapshot import state_at
from twin.scenario import Scenario, ScenarioError, apply_options, loads
from twin.scenario.calendars import wall_clock

HOUR = 3600.0
A_HUNDRED, A_THOUSAND = (
    settings(
        max_examples=count, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
    )
    for count in (100, 1000)
)
cases = given(lines.any_line(), st.integers(0, 2**32))


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


def agree(text: str, number: int) -> None:
    """Run one random line every way; what makes no sense as a line is left out."""
    chance = Random(number)
    try:
        plant = with_an_option(text, chance)
        if chance.random() < 0.3:
            plant = from_a_state(plant, text, chance)
    except ScenarioError:  # a supply without end, say
        reject()
    scripts = some_records(plant, chance) if chance.random() < 0.6 else Scripts()
    trace = chance.random() < 0.25
    found = {}
    for clock in clocks():
        run = simulate(plant, seed=number, run=number % 7, clock=clock, scripts=scripts, trace=trace)
        found[clock] = fingerprint(run.totals) + (fingerprint(run.trace.tables) if run.trace is not None else "")
    assert len(set(found.values())) == 1, found


@A_HUNDRED
@cases
def test_a_hundred_random_lines_with_options_states_and_records_are_the_same_on_every_clock(
    text: str, number: int
) -> None:
    agree(text, number)


@pytest.mark.nightly
@A_THOUSAND
@cases
def test_a_thousand_random_lines_with_options_states_and_records_are_the_same_on_every_clock(
    text: str, number: int
) -> None:
    agree(text, number)
