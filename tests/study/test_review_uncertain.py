"""A day whose inputs are as uncertain as they are: its hours and its morning stay, its plants are drawn."""

import numpy as np
import pytest
from review_days import line, made_log

from twin.scenario import Scenario, apply_settings
from twin.study.inputs import read_inputs
from twin.study.review import explained
from twin.study.review_day import Day, days_of, prepare_day
from twin.study.review_events import causes_of, events_of
from twin.study.review_first import expectation, sight_of
from twin.study.review_ladder import Game, ladder
from twin.study.review_scripts import pieces
from twin.study.review_such import such_days
from twin.study.uncertain import vary_of


@pytest.fixture(scope="module")
def day() -> Day:
    """Return the fourth day of a log of nine days of the small line."""
    small = line()
    log = made_log(small, days=9, seed=8)
    return prepare_day(small, log, days_of(small, log)[3])


def test_a_plant_that_is_written_anew_as_it_stands_makes_the_same_day(day: Day) -> None:
    """The file is read anew for each plant that is drawn, and it knows nothing of the day's hours and morning."""
    width = day.plant.stations["slitter"].machines

    def unmoved(plant: Scenario, seed: int, run: int) -> Scenario:
        return apply_settings(plant, {"stations.slitter.machines": width})

    drawn = expectation(day, runs=8, vary=unmoved)
    known = expectation(day, runs=8)

    assert known.mean_t > 0.0
    assert drawn.runs_t == known.runs_t
    assert such_days(day, 2, seed=1, vary=unmoved).tolist() == such_days(day, 2, seed=1).tolist()


def test_a_plant_is_drawn_once_a_run_however_many_causes_are_switched(day: Day) -> None:
    drawn: list[int] = []
    events = events_of(day)
    told = pieces(day, events, causes_of(day, events))

    def counted(plant: Scenario, seed: int, run: int) -> Scenario:
        drawn.append(run)
        return plant

    found = ladder(Game(day, tuple(told), tuple(told.values()), 1, counted), 6)

    assert found.players
    assert sorted(drawn) == list(range(6))


def test_uncertain_inputs_scatter_a_day_more_and_the_rungs_still_add_up(day: Day) -> None:
    vary = vary_of(read_inputs(day.plant), group=1)
    found = explained(sight_of(day, runs=40, vary=vary), sure=False)
    known = expectation(day, runs=40)
    rungs = sum(one.t for one in found.ladder)

    assert found.such.mean_t > 0.0
    assert np.std(found.expected.runs_t) > np.std(known.runs_t)
    assert found.expected.mean_t + rungs + found.edges_t + found.unexplained_t == pytest.approx(found.actual_t)
