"""Clocks told by the order of things, planned work booked as failures, coils weighed again, what is inferred."""

from __future__ import annotations

import numpy as np
import pytest
from logs_study import clean_log

from twin.logs import Log, Mapping
from twin.logs.dirt import dirty
from twin.logs.doctor import Case, examine
from twin.logs.doctor.inferred import known
from twin.scenario import Scenario


@pytest.fixture(scope="module")
def plant() -> tuple[Log, Scenario]:
    """Return twenty days of log of an invented plant."""
    return clean_log(20)


@pytest.mark.parametrize("kind", ["clock order", "like a plan", "production day"])
def test_what_is_planted_at_a_station_is_found_there_alone(kind: str, plant: tuple[Log, Scenario]) -> None:
    log, scenario = plant
    soiled, planted = dirty(log, scenario, [kind], seed=4)

    found = examine(soiled, scenario).findings

    assert len(planted) == 1
    assert {one.station for one in found if one.kind == kind} == {planted[0].station}


def test_a_clock_that_only_the_order_of_coils_betrays_is_told_but_not_moved(plant: tuple[Log, Scenario]) -> None:
    log, scenario = plant
    soiled, planted = dirty(log, scenario, ["clock order"], seed=4)
    examined = examine(soiled, scenario)
    found = next(one for one in examined.findings if one.kind == "clock order")

    assert found.done == "marked"
    assert found.value is not None
    assert planted[0].value <= found.value < 0.0, "at least so far off is not more than it is off"
    assert np.array_equal(examined.log["coils"]["start"], soiled["coils"]["start"])


def test_of_two_weighings_the_later_is_taken_and_the_coil_counts_once(plant: tuple[Log, Scenario]) -> None:
    log, scenario = plant
    soiled, planted = dirty(log, scenario, ["re-weighed"], seed=2)
    first, second = (int(line) - 2 for line in sorted(planted[0].groups[0]))
    coils = soiled["coils"]
    mended = examine(soiled, scenario).log["coils"]
    own = (mended["coil"] == coils["coil"][first]) & (mended["station"] == coils["station"][first])

    assert len(mended) == len(log["coils"])
    assert mended["mass_kg"][own].tolist() == [coils["mass_kg"][second]]


def test_two_masses_that_lie_far_apart_are_no_second_weighing(plant: tuple[Log, Scenario]) -> None:
    log, scenario = plant
    coils = log["coils"]
    twice = coils.take(np.append(np.arange(len(coils)), 0))
    mass = twice["mass_kg"].copy()
    mass[-1] *= 1.2

    kinds = {one.kind: one.done for one in examine(log.put(twice.put(None, mass_kg=mass)), scenario).findings}

    assert "re-weighed" not in kinds
    assert kinds["conflict"] == "refused"


def test_a_declared_tare_is_taken_off_and_an_undeclared_one_hides_no_metal(plant: tuple[Log, Scenario]) -> None:
    log, scenario = plant
    soiled, planted = dirty(log, scenario, ["tare"], seed=3)
    station, tare = planted[0].station, planted[0].value
    plain = examine(soiled, scenario)
    mended = examine(soiled, scenario, Mapping(tare_kg={station: tare}))
    wrong = examine(soiled, scenario, Mapping(tare_kg={station: tare / 2.0}))
    clean = log["coils"]

    assert [one.kind for one in plain.findings] == ["tare"], "the closing of masses knows of it"
    assert np.allclose(mended.log["coils"]["mass_kg"], clean["mass_kg"])
    assert [one.done for one in mended.findings] == ["mended"]
    assert "as declared" in wrong.findings[0].words


def test_what_was_never_written_down_is_told_station_by_station(plant: tuple[Log, Scenario]) -> None:
    log, scenario = plant
    soiled, _ = dirty(log, scenario, ["gap", "no end"], seed=6)
    examined = examine(soiled, scenario)
    clean = {one.station: one for one in known(Case(log, scenario))}
    found = {one.station: one for one in known(Case(examined.log, scenario, findings=examined.findings))}
    closed = {one.station for one in examined.findings if one.kind == "no end"}
    silent = {one.station for one in examined.findings if one.kind == "gap"}

    assert closed
    assert silent
    assert all(0.0 < found[name].inferred <= 1.0 for name in closed)
    assert all(0.0 < found[name].unrecorded <= 1.0 for name in silent)
    assert all(one.inferred == one.unrecorded == 0.0 for one in clean.values())
    assert sum(one.good_t for one in found.values()) < sum(one.good_t for one in clean.values())
