"""The same seed gives the same bytes: again, on every clock, with and without a trace; another seed gives others."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from line import lines
from line.bytes_of import fingerprint
from line.judging import clocks, relaxed
from line.texts import exponential, in_a_row

from twin.line import simulate
from twin.scenario import loads


@relaxed(60)
@given(lines.any_line(), st.integers(0, 2**32), st.integers(0, 10_000))
def test_the_same_seed_and_run_give_the_same_bytes(text: str, seed: int, run: int) -> None:
    first = simulate(loads(text), seed=seed, run=run).totals
    again = simulate(loads(text), seed=seed, run=run).totals

    assert fingerprint(first) == fingerprint(again)


@relaxed(80)
@given(lines.any_line(), st.integers(0, 99))
def test_every_clock_gives_the_same_bytes(text: str, run: int) -> None:
    plant = loads(text)
    found = {clock: fingerprint(simulate(plant, run=run, clock=clock).totals) for clock in clocks()}

    assert len(set(found.values())) == 1, found


@relaxed(40)
@given(lines.any_line(), st.integers(0, 99))
def test_a_trace_and_a_log_of_activity_change_no_bytes(text: str, run: int) -> None:
    plant = loads(text)
    plain = simulate(plant, run=run).totals
    traced = simulate(plant, run=run, trace=True).totals

    assert fingerprint(plain) == fingerprint(traced)


@relaxed(20)
@given(lines.any_line(), st.integers(0, 99))
def test_every_clock_gives_the_same_trace(text: str, run: int) -> None:
    plant = loads(text)
    found = {}
    for clock in clocks():
        trace = simulate(plant, run=run, clock=clock, trace=True).trace
        assert trace is not None
        found[clock] = fingerprint(trace.tables)

    assert len(set(found.values())) == 1, found


def test_another_seed_or_run_gives_another_run() -> None:
    plant = loads(in_a_row([{"time": exponential("1 h")}] * 2, (2,), length="500 h"))
    found = {fingerprint(simulate(plant, seed=s, run=r).totals) for s in (1, 2) for r in (0, 1, 2)}

    assert len(found) == 6


@pytest.mark.parametrize("stations", [1, 2])
def test_a_station_behind_a_boundless_store_leaves_those_before_it_as_they_were(stations: int) -> None:
    """Common random numbers: each cause has its own stream, so the first station does what it did."""
    work = {
        "time": exponential("20 min"),
        "failures": [{"reason": "jam", "every": exponential("9 h"), "repair": "1 h"}],
    }
    alone = simulate(loads(in_a_row([work], (), length="900 h"))).totals
    more = simulate(loads(in_a_row([work] * (1 + stations), (None,) * stations, length="900 h"))).totals

    assert fingerprint(alone.state_s[:2]) == fingerprint(more.state_s[:2])
    assert fingerprint(alone.coils[:2]) == fingerprint(more.coils[:2])
