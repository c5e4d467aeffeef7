"""The simulation against a recursion of sums and maxima, and against another simulator, fed the very same draws.

Nothing is shared with the rules but the draws: if both give the same instants, blocking, starving, resting and stopping
are what they should be on this path.
"""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from line.draws import drawn_law
from line.judging import relaxed
from line.oracles import fluid, recursion
from line.rows import ENDLESS, Row, Stop, Stream, rows, streams

from twin.line import simulate
from twin.scenario import loads

HOUR = 3600.0
MINUTE = 60.0
RUNS = st.integers(0, 9999)
LUMPY = ("constant", "empirical", "mixture")
"""Laws whose numbers repeat."""


def stopped_times(times: np.ndarray, stop: Stop | None, station: str, run: int) -> np.ndarray:
    """Return the times of the jobs with their stops in them."""
    if stop is None:
        return times
    count = len(times)
    if stop.counts == "running":
        used, lives = times, drawn_law(f"{station}/1/every stop", stop.every, HOUR, run, count * 40)
    else:  # a coil is one tonne and one piece, and its stop falls at that share of its time
        unit = 1000.0 if stop.counts == "t" else 1.0
        lives = drawn_law(f"{station}/1/every stop", stop.every, unit, run, count * 40) / unit
        used = np.ones(count)
    repairs = drawn_law(f"{station}/1/repair stop", stop.repair, MINUTE, run, count * 40)
    lost = recursion.drawn_out(used, lives, repairs) - used
    return np.asarray(times + lost, dtype=np.float64)


def expected(row: Row, run: int, jobs: int) -> np.ndarray:
    """Return when each job leaves each station."""
    columns = []
    for i, (time, stop) in enumerate(zip(row.times, row.stops, strict=True)):
        station = f"work {i}"
        columns.append(stopped_times(drawn_law(f"{station}/1/time", time, MINUTE, run, jobs), stop, station, run))
    arrivals = None
    if row.gap is not None:
        arrivals = np.cumsum(drawn_law("supply/1/every", row.gap, MINUTE, run, jobs))
    rests = [rest * HOUR for rest in row.rests]
    return recursion.departures(np.column_stack(columns), row.places, arrivals=arrivals, rests=rests)


@relaxed(150)
@given(rows("running", "t", "pieces").filter(lambda row: row.gap is not None or row.rests[0] == 0.0), RUNS)
def test_a_row_of_stations_gives_the_instants_of_the_recursion(row: Row, run: int) -> None:
    """With a coil always ready and no rest before the first station, or coils that come by intervals.

    Stops that can fall on the very end of a coil are left out: before or behind it would be a matter of rounding.
    """
    assume(not any(stop is not None and stop.every[0] in LUMPY for stop in row.stops))
    trace = simulate(loads(row.text(150.0)), run=run, trace=True).trace
    assert trace is not None
    output = trace.tables["output"]
    ours = output["time_s"][output["finished"].astype(bool)]
    jobs = len(ours) + 1
    theirs = expected(row, run, jobs)[:, -1]

    assert ours == pytest.approx(theirs[: len(ours)], rel=1e-12)
    assert theirs[len(ours)] > 150.0 * HOUR, "the next coil is still in the line"


@relaxed(40)
@given(rows("t", least=2).filter(lambda row: not any(row.stops) and row.gap is None and not any(row.rests)))
def test_a_row_without_chance_has_the_makespan_that_is_worked_out(row: Row) -> None:
    """Every time its mean: the recursion needs no draws at all."""
    fixed = Row(tuple(("constant", mean) for _, mean in row.times), row.stops, row.places, row.rests, None)
    trace = simulate(loads(fixed.text(200.0)), trace=True).trace
    assert trace is not None
    output = trace.tables["output"]
    ours = output["time_s"][output["finished"].astype(bool)]
    times = np.tile([mean * MINUTE for _, mean in row.times], (len(ours), 1))

    assert ours == pytest.approx(recursion.departures(times, row.places)[:, -1], rel=1e-12)


@relaxed(60)
@given(streams(), RUNS)
def test_a_stream_passes_what_another_simulator_passes(stream: Stream, run: int) -> None:
    """The simulator of `oracles/fluid.py` finds each next event anew and knows nothing of segments or clocks."""
    totals = simulate(loads(stream.text(300.0)), run=run).totals
    lives, repairs = [], []
    for i, stop in enumerate(stream.stops):
        lives.append(drawn_law(f"work {i}/1/every stop", stop.every, 1000.0, run, 4000) / 1000.0)
        repairs.append(drawn_law(f"work {i}/1/repair stop", stop.repair, MINUTE, run, 4000) / HOUR)
    assume(apart(lives))
    flow = fluid.simulate_line(stream.rates, stream.sizes, lives, repairs, 300.0)

    assert totals.out_kg[-1] / 1000.0 == pytest.approx(flow.made, rel=1e-9)
    for i, level_time in enumerate(flow.level_time):
        store = totals.layout.stores.index(f"looper {i}")
        assert totals.store_level_s[store] / 1000.0 / HOUR == pytest.approx(level_time, rel=1e-7, abs=1e-6)


def apart(lives: list[np.ndarray]) -> bool:
    """Tell whether no two stations stop after the same tonnes: which comes first would be a matter of rounding."""
    passed = [np.unique(np.round(np.cumsum(life[:400]), 9)) for life in lives]
    everything = np.concatenate(passed)
    return len(np.unique(everything)) == len(everything)


def test_places_without_a_bound_mean_the_same_in_both() -> None:
    assert ENDLESS == recursion.UNLIMITED
