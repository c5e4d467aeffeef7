"""The doctor finds what is wrong with a log, and nothing where nothing is; every demo here is invented."""

import numpy as np
import pytest
from logs_study import clean_log, drawn_kinds

from twin.logs import Log, LogError
from twin.logs.dirt import PLANTERS, dirty
from twin.logs.doctor import examine
from twin.logs.scoring import Score, score
from twin.logs.tables import TWICE
from twin.scenario import Scenario


@pytest.fixture(scope="module")
def plant() -> tuple[Log, Scenario]:
    """Return twenty days of log of a demo plant."""
    return clean_log(20)


def test_a_clean_log_has_no_findings(plant: tuple[Log, Scenario]) -> None:
    log, scenario = plant

    assert [one.words for one in examine(log, scenario).findings] == []


def test_planted_faults_are_found_and_little_else(plant: tuple[Log, Scenario]) -> None:
    """At least 19 of 20 over all kinds; the table by kind comes from logs_study over 200 logs."""
    log, scenario = plant
    total = Score()
    for number in range(20):
        kinds = drawn_kinds(np.random.default_rng((7, number)))
        soiled, planted = dirty(log, scenario, kinds, seed=number)
        for one in score(planted, examine(soiled, scenario).findings, PLANTERS).values():
            total = total + one

    assert total.planted > 500
    assert total.recall >= 0.95
    assert total.precision >= 0.95


@pytest.mark.parametrize("kind", ["clock", "tare"])
def test_an_offset_is_estimated_as_it_was_planted(kind: str, plant: tuple[Log, Scenario]) -> None:
    log, scenario = plant
    soiled, planted = dirty(log, scenario, [kind], seed=3)

    found = [one for one in examine(soiled, scenario).findings if one.kind == kind]

    assert [one.station for one in found] == [one.station for one in planted]
    assert found[0].value == pytest.approx(planted[0].value, abs=30.0 if kind == "clock" else 1.0)


@pytest.mark.parametrize("kind", ["unit", "mass closure", "conflict"])
def test_what_cannot_be_trusted_is_refused(kind: str, plant: tuple[Log, Scenario]) -> None:
    log, scenario = plant
    soiled, _ = dirty(log, scenario, [kind], seed=5)

    with pytest.raises(LogError):
        examine(soiled, scenario).trusted()


@pytest.mark.parametrize("kind", ["repeat", "planned"])
def test_mending_gives_the_clean_log_back(kind: str, plant: tuple[Log, Scenario]) -> None:
    log, scenario = plant
    soiled, _ = dirty(log, scenario, [kind], seed=2)

    mended = examine(soiled, scenario).log

    for name in ("stops", "output"):
        assert len(mended[name]) == len(log[name])
        assert np.nansum(mended[name]["station"] != log[name]["station"]) == 0


def test_the_same_seed_gives_the_same_dirt(plant: tuple[Log, Scenario]) -> None:
    log, scenario = plant

    assert dirty(log, scenario, list(PLANTERS), 1)[1] == dirty(log, scenario, list(PLANTERS), 1)[1]


def test_the_hour_that_comes_twice_is_told_apart_by_the_order_of_rows(plant: tuple[Log, Scenario]) -> None:
    log, _ = plant
    stops = log["stops"].take(np.arange(4))
    begin = 1_792_888_200.0  # 02:30 in Vienna on 25 October 2026, the first time
    times = begin + np.array([0.0, 1200.0, 300.0, 900.0])
    marks = {"start": np.full(4, TWICE, dtype=np.uint8), "end": np.zeros(4, dtype=np.uint8)}
    night = type(stops)("stops", "stops.csv", {**stops.columns, "start": times, "end": times + 60.0}, stops.line, marks)

    mended = examine(log.put(night)).log["stops"]["start"]

    assert (mended - begin).tolist() == [0.0, 1200.0, 3900.0, 4500.0]
