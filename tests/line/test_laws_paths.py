"""Laws that hold on every single path, with the same random days, not only on average.

They are theorems for rows of single stations whose causes count work, tonnes or coils. They are not for lines that
share a crane, close at night, or scrap coils, so those are left out: there more room may, on a bad day, cost a coil.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from line.judging import coils_per_hour, relaxed
from line.rows import Row, Stream, rows, streams
from scipy.stats import t as student

from twin.line import Totals, simulate
from twin.scenario import loads


def run_of(line: Row | Stream, run: int, hours: float = 400.0) -> Totals:
    return simulate(loads(line.text(hours)), run=run).totals


def coils(line: Row, run: int) -> float:
    """Return the coils that the last station has finished."""
    return float(run_of(line, run).coils[-1])


def tonnes(line: Stream, run: int) -> float:
    """Return the tonnes that the last station has passed."""
    return float(run_of(line, run).out_kg[-1]) / 1000.0


RUNS = st.integers(0, 9999)


@relaxed(100)
@given(rows("running", "t", "pieces", least=2), RUNS, st.integers(1, 3))
def test_more_room_never_lowers_the_output_of_a_row(row: Row, run: int, more: int) -> None:
    """E. J. Muth, Management Science 25 (1979), for one machine a station (from memory)."""
    assert coils(row.roomier(more), run) >= coils(row, run)


@relaxed(100)
@given(rows("running", "t", "pieces"), RUNS, st.floats(0.1, 0.95))
def test_shorter_repairs_never_lower_the_output_of_a_row(row: Row, run: int, by: float) -> None:
    assert coils(row.quicker_repairs(by), run) >= coils(row, run)


@relaxed(100)
@given(rows("t", "pieces"), RUNS, st.floats(0.3, 0.98))
def test_quicker_work_never_lowers_the_output_of_a_row_whose_stops_count_what_passed(
    row: Row, run: int, by: float
) -> None:
    """With stops by running hours this is no law: quicker work moves the stops to other coils."""
    assert coils(row.quicker_work(by), run) >= coils(row, run)


@relaxed(60)
@given(streams(), RUNS, st.sampled_from([0.25, 1.0, 7.5]))
def test_more_room_never_lowers_the_output_of_a_stream(stream: Stream, run: int, more: float) -> None:
    assert tonnes(stream.roomier(more), run) >= tonnes(stream, run) - 1e-6


@relaxed(60)
@given(streams(), RUNS, st.floats(0.1, 0.95))
def test_shorter_repairs_never_lower_the_output_of_a_stream(stream: Stream, run: int, by: float) -> None:
    assert tonnes(stream.quicker_repairs(by), run) >= tonnes(stream, run) - 1e-6


@relaxed(60)
@given(streams(), RUNS, st.integers(0, 4), st.floats(1.01, 2.0))
def test_a_faster_station_never_lowers_the_output_of_a_stream_whose_stops_count_tonnes(
    stream: Stream, run: int, station: int, by: float
) -> None:
    faster = stream.faster(station % len(stream.rates), by)

    assert tonnes(faster, run) >= tonnes(stream, run) - 1e-6


@relaxed(60)
@given(rows("running", "t", "pieces"), RUNS)
def test_a_clock_that_runs_half_as_fast_shows_the_same_run(row: Row, run: int) -> None:
    """The same coils are made and every state lasts twice as long.

    Twice every time is exact in binary, but not always twice the decimal number that the file says: the last digit of
    a time as read may differ, so the states may by some of these.
    """
    short, long = run_of(row, run), run_of(row.slowed_down(2.0), run, hours=800.0)

    assert np.array_equal(short.coils, long.coils)
    assert np.array_equal(short.stops, long.stops)
    assert 2.0 * short.state_s == pytest.approx(long.state_s, rel=1e-12, abs=1e-6)


@relaxed(4)
@given(rows("running", "t", least=2).filter(lambda row: row.gap is None and not any(row.rests)))
def test_a_row_and_its_mirror_image_make_the_same_on_average(row: Row) -> None:
    """E. J. Muth (1979), G. Yamazaki and H. Sakasegawa (1975) (from memory): 20 runs each, apart by chance only."""
    made = []
    for line in (row, row.mirrored()):
        text, last = line.text(1000.0), f"work {len(line.times) - 1}"
        made.append([coils_per_hour(last)(simulate(loads(text), run=run).totals) for run in range(20)])
    spread = np.sqrt((np.var(made[0], ddof=1) + np.var(made[1], ddof=1)) / 20)

    assert abs(np.mean(made[0]) - np.mean(made[1])) <= student.ppf(0.9995, 38) * spread + 1e-3


@relaxed(40)
@given(rows("running", "t", "pieces").filter(lambda row: not any(row.rests)), RUNS)
def test_a_line_that_empties_keeps_littles_law_to_the_last_digit(row: Row, run: int) -> None:
    """J. D. C. Little, Operations Research 9 (1961): metal in the line, summed over time, is the sum of the stays.

    Coils are let in on Monday only; by Saturday the line is empty again.
    """
    plant = row.text(140.0)
    day = {"calendars": {"Monday": {"open": ["Mon 00:00-08:00"]}}}
    text = plant.replace('"kind": "supply"', '"kind": "supply", "calendar": "Monday"')
    text = text.replace('"passline": 1', f'"passline": 1, "calendars": {day["calendars"]!r}'.replace("'", '"'))
    totals = simulate(loads(text), run=run).totals
    stays = float(np.sum(totals.lead_time_s))

    assert totals.charged_kg.sum() == pytest.approx(totals.good_kg.sum())
    assert len(totals.lead_time_s) == totals.coils[-1]
    assert totals.wip_kg_s == pytest.approx(stays * 1000.0, rel=1e-9)
