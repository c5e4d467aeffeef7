"""What the benchmark measures with, tried on small things; no test asserts a time."""

import json
from pathlib import Path

import pytest

from twin.scenario import apply_set, load
from twin.study import bench_clocks, bench_review, bench_rivals, bench_studies
from twin.study.bench import DEMO, Bench, Goal, Row, bench, report

QUICK = Bench(DEMO, repeats=1, quick=True)


@pytest.mark.parametrize(
    ("value", "goal", "met"),
    [
        (0.2, Goal(0.25), True),
        (0.3, Goal(0.25), False),
        (900.0, Goal(1000.0, best="high"), False),
        (1000.0, Goal(1000.0, best="high"), True),
        (None, Goal(1.0), None),
        (0.2, Goal(), None),
    ],
)
def test_a_goal_is_met_from_the_side_that_is_better(value: float | None, goal: Goal, met: bool | None) -> None:
    assert Row("something", value, "s", goal).met is met


def test_rows_are_written_with_the_machine_they_were_measured_on() -> None:
    told = json.loads(json.dumps(report([Row("events", 12.2, "1", Goal(20.0))])))

    assert told["rows"][0] | {"what": "events", "value": 12.2, "met": True} == told["rows"][0]
    assert {"system", "processor", "cores", "python"} == set(told["machine"])


def test_every_repeat_has_runs_of_its_own() -> None:
    seeds: list[int] = []
    taken = bench_studies.wall_times(seeds.append, 3)

    assert seeds == [0, 1, 2, 3]
    assert len(taken) == 3


def test_the_slider_moves_a_number_that_the_plant_lets_move() -> None:
    plant = bench_studies.month(QUICK)
    path, values = bench_studies.slider(plant, 3)

    assert len({apply_set(plant, path, value).digest for value in values}) == 3
    assert plant.time.warm_up == 0.0


def test_the_plant_loses_no_metal_and_no_time_in_two_years() -> None:
    mass, time = bench_clocks.balances(QUICK)

    assert mass.met
    assert time.met


def test_the_day_whose_causes_are_timed_has_a_stop_at_each_station_in_its_morning() -> None:
    plant = bench_clocks.lasting(load(DEMO), bench_review.DAYS * bench_review.DAY_S)
    day = bench_review.reviewed(plant, bench_review.morning_stops(plant))
    own = bench_review.game(day)
    planted = [cause for cause in own.players if cause.reason == "as recorded"]

    assert len(own.players) == bench_review.CAUSES
    assert len(planted) > bench_review.CAUSES // 2
    assert own.value(own.everything, [0])[0] < own.value(0, [0])[0]


def test_the_tandem_of_the_rivals_is_the_same_line_here() -> None:
    """Six exponential stations of an hour, ten places between: the throughput of both lies near 0.86 an hour."""
    from twin.line import simulate
    from twin.scenario import loads
    from twin.study.rivals.tandem import run_by_simpy

    ours = simulate(loads(bench_rivals.tandem_text(4000))).totals.coils[-1] / 4000.0
    theirs = 3000 / run_by_simpy(6, 10, 3000)

    assert ours == pytest.approx(theirs, rel=0.06)


def test_a_scenario_that_is_not_there_is_said() -> None:
    with pytest.raises(FileNotFoundError, match=r"nowhere\.yaml is not there"):
        next(iter(bench(scenario=Path("nowhere.yaml"))))
