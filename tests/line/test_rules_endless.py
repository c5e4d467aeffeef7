"""Lines that never get on are refused, and the message says which station is at it."""

import pickle

import pytest
from line.by_hand import COILS, SUPPLY, plant

from twin.line import simulate
from twin.line.rules import run
from twin.scenario import ScenarioError, loads

STORES = {"ready": COILS | {"capacity": 2}, "done": COILS}


def told(time: str, clock: str, minutes: int = 60) -> str:
    work = {"kind": "step", "from": "ready", "to": "done", "time": time}
    stations = {"supply": SUPPLY | {"to": "ready"}, "work": work}
    with pytest.raises(ScenarioError) as fault:
        simulate(loads(plant(STORES, stations, minutes)), clock=clock)  # type: ignore[arg-type]
    return str(pickle.loads(pickle.dumps(fault.value)))


@pytest.mark.parametrize("clock", ["pure", "simpy"])
def test_work_that_takes_no_time_and_is_fed_without_end_is_refused(clock: str) -> None:
    assert "stations.work: the line never leaves one instant" in told("0 min", clock)


def test_work_of_next_to_no_time_is_refused_before_it_takes_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run, "MOST_EVENTS", 5000)
    text = told("1e-9 s", "pure")
    assert "stations.work: 5001 events in" in text
    assert "Give every station a time" in text
