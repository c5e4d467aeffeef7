"""What limits a simulated line, where the answer is known beforehand."""

from pathlib import Path

import numpy as np
import pytest
from study_texts import TANDEM

from twin.indicators import limit_shares, momentary
from twin.indicators.bottleneck import active_periods, state_code
from twin.indicators.measure import machine_periods
from twin.line import simulate
from twin.scenario import apply_set, load, loads
from twin.study.replicate import replicate


@pytest.mark.parametrize("slow", ["first", "second", "third"])
def test_the_slowest_station_of_a_line_without_chance_limits_all_the_time(slow: str) -> None:
    """Constant times of 3 h and 1 h: once the line is full nobody ever keeps the slow one from its work."""
    line = loads(TANDEM)
    for name in ("first", "second", "third"):
        line = apply_set(line, f"stations.{name}.time", "3 h" if name == slow else "1 h")
    shares = replicate(line, runs=1).summary()["bottleneck"]

    assert shares[slow]["share"]["mean"] == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("slow", ["first", "second", "third"])
def test_the_slowest_station_limits_most_with_random_times_too(slow: str) -> None:
    line = apply_set(loads(TANDEM), f"stations.{slow}.time", "{exponential: {mean: 3 h}}")
    shares = replicate(line, runs=4).summary()["bottleneck"]

    assert max(shares, key=lambda name: shares[name]["share"]["mean"]) == slow
    assert shares[slow]["share"]["mean"] > 0.5


def test_deliveries_limit_a_line_that_could_do_more() -> None:
    """A coil every 4 h before stations that need 1 h: the supply is what holds the line."""
    line = apply_set(loads(TANDEM), "stations.supply.every", "4 h")
    shares = replicate(line, runs=4).summary()["bottleneck"]

    assert shares["supply"]["share"]["mean"] > 0.9


def test_deliveries_that_are_turned_away_do_not_hold_the_line() -> None:
    """Twice as many coils come as the first station can work: the station is what holds the line, not the supply."""
    line = loads(TANDEM)
    for path, value in (("every", "{exponential: {mean: 30 min}}"), ("when_full", "turn away")):
        line = apply_set(line, f"stations.supply.{path}", value)
    line = apply_set(line, "stores.ready.capacity", "3")
    shares = replicate(line, runs=4).summary()["bottleneck"]

    assert shares["supply"]["share"]["mean"] < 0.1


def test_the_log_of_states_and_the_trace_name_the_same_limits() -> None:
    """Without a warm-up both see the same periods."""
    line = apply_set(loads(TANDEM), "time.warm_up", "0 h")
    run = simulate(line, trace=True, activity=True)
    assert run.trace is not None
    timeline = momentary(run.trace.tables["states"], run.totals.layout.stations)

    shares = replicate(line, runs=1).summary()["bottleneck"]
    logged = {name: row["share"]["mean"] for name, row in shares.items() if row["share"]["mean"] > 0.0}
    assert limit_shares(timeline, run.totals.duration_s) == pytest.approx(logged)
    assert bool((np.diff(timeline.start_s) > 0.0).all())


def test_the_log_of_states_has_the_same_active_periods_as_the_trace(root: Path) -> None:
    """On the demo plant, where metal slows machines and a mill waits for roll sets: machine by machine."""
    line = apply_set(load(root / "scenarios" / "hollin_weir.yaml"), "time.length", "3 weeks")
    run = simulate(apply_set(line, "time.warm_up", "0 h"), trace=True, activity=True)
    assert run.trace is not None
    table = run.trace.tables["states"]
    logged = machine_periods(run.totals)

    for name, number in run.totals.layout.machines:
        rows = (table["station"] == name) & (table["machine"] == number)
        one = {column: values[rows] for column, values in table.items()}
        code = [state_code(*row) for row in zip(one["state"], one["reason"], one["slowed"], strict=True)]
        order = np.argsort(one["start_s"], kind="stable")
        traced = active_periods(one["start_s"][order], np.array(code)[order], run.totals.duration_s)
        found = logged[run.totals.layout.machines.index((name, number))]
        assert (name, traced.start.tolist()) == (name, pytest.approx(found.start.tolist()))
        assert (name, traced.end.tolist()) == (name, pytest.approx(found.end.tolist()))
