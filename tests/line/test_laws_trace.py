"""The trace adds up to the totals: both tell the same run."""

from collections import defaultdict

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from line import lines
from line.judging import STATES, relaxed

from twin.line import Totals, simulate
from twin.line.trace import Trace
from twin.scenario import loads


def told_twice(text: str, run: int) -> tuple[Totals, Trace]:
    made = simulate(loads(text), run=run, trace=True)
    assert made.trace is not None
    return made.totals, made.trace


def sums(keys: np.ndarray, values: np.ndarray) -> dict[str, float]:
    """Return the sum of the values by key."""
    found: dict[str, float] = defaultdict(float)
    for key, value in zip(keys.tolist(), values.tolist(), strict=True):
        found[key] += value
    return found


@relaxed(60)
@given(lines.any_line(), st.integers(0, 99))
def test_the_states_of_a_machine_follow_each_other_and_fill_the_clock(text: str, run: int) -> None:
    totals, trace = told_twice(text, run)
    states = trace.tables["states"]
    begin, end = totals.warm_up_s, totals.warm_up_s + totals.duration_s
    for row, (station, number) in enumerate(totals.layout.machines):
        mine = (states["station"] == station) & (states["machine"] == number)
        starts, ends = states["start_s"][mine], states["end_s"][mine]
        assert starts[0] == begin
        assert ends[-1] == end
        assert np.array_equal(starts[1:], ends[:-1])
        for column, state in enumerate(STATES):
            told = (ends - starts)[states["state"][mine] == state].sum()
            assert told == pytest.approx(totals.state_s[row, column], rel=1e-9, abs=1e-6)


@relaxed(60)
@given(lines.any_line(), st.integers(0, 99))
def test_scrap_and_good_output_add_up(text: str, run: int) -> None:
    totals, trace = told_twice(text, run)
    scrap, output = trace.tables["scrap"], trace.tables["output"]
    by_station = sums(scrap["station"], scrap["kg"])
    sold = output["finished"].astype(bool)
    good = sums(output["product"][sold], output["good_kg"][sold])
    for station in totals.layout.stations:
        counted = sum(kg for name, _, kg in totals.scrap if name == station)
        assert by_station[station] == pytest.approx(counted, rel=1e-9, abs=1e-6)
    assert sum(good.values()) == pytest.approx(float(totals.good_kg.sum()), rel=1e-9, abs=1e-6)
    for product, kg in zip(totals.layout.products, totals.good_kg.tolist(), strict=False):
        assert good[product] == pytest.approx(kg, rel=1e-9, abs=1e-6)


@relaxed(60)
@given(lines.any_line(), st.integers(0, 99))
def test_coils_and_roll_changes_add_up(text: str, run: int) -> None:
    totals, trace = told_twice(text, run)
    rolls = trace.tables["rolls"]
    for i, mill in enumerate(totals.layout.mills):
        mine = rolls["station"] == mill
        assert mine.sum() == totals.rolls_changes[i]
        assert rolls["km"][mine].sum() == pytest.approx(totals.rolls_km_sum[i], rel=1e-9, abs=1e-6)
        assert (rolls["why"][mine] == "damage").sum() <= totals.rolls_damages[i] + 1


@relaxed(60)
@given(lines.any_line(), st.integers(0, 99))
def test_the_levels_add_up_to_their_time_integral(text: str, run: int) -> None:
    """Between two rows a store of coils keeps its level and another one's runs straight.

    A store between pairs of machines is told of once for each pair, by number. What has reached a finished store has
    left the line.
    """
    totals, trace = told_twice(text, run)
    levels = trace.tables["levels"]
    end = totals.warm_up_s + totals.duration_s
    drawn = {station.source for station in loads(text).stations.values()}
    for i, store in enumerate(totals.layout.stores):
        if store not in drawn:
            continue
        names = [name for name in np.unique(levels["store"]) if name == store or name[:-1] == store + " "]
        integral = 0.0
        for name in names:
            mine = levels["store"] == name
            time, level = levels["time_s"][mine], levels["level"][mine]
            assert np.all(np.diff(time) >= 0.0)
            if totals.layout.store_holds[i] == "coils":
                integral += float(level @ np.diff(np.append(time, end)))
            else:
                integral += float(np.sum((level[1:] + level[:-1]) / 2.0 * np.diff(time)))
        assert integral == pytest.approx(totals.store_level_s[i], rel=1e-9, abs=1e-3)


@relaxed(40)
@given(st.one_of(lines.plants(), lines.coil_lines()), st.integers(0, 99))
def test_a_coil_is_worked_at_one_place_at_a_time(text: str, run: int) -> None:
    _, trace = told_twice(text, run)
    coils = trace.tables["coils"]
    assert np.all(coils["end_s"] >= coils["start_s"])
    order = np.lexsort((coils["start_s"], coils["coil"]))
    number, start, end = (coils[name][order] for name in ("coil", "start_s", "end_s"))
    same = number[1:] == number[:-1]

    assert np.all(start[1:][same] >= end[:-1][same] - 1e-6)
