"""What must hold on any line: metal is neither made nor lost, each machine's time is told once, nothing stands still.

Random lines (`lines.py`); one line is one example. All of it takes about a minute on the plain clock.
"""

import numpy as np
from hypothesis import given, note
from hypothesis import strategies as st
from line import lines
from line.judging import STATES, relaxed

from twin.line import simulate
from twin.scenario import apply_set, loads

NO_MORE_PER_COIL = 150
NO_MORE_PER_HOUR = 200


@relaxed(150)
@given(lines.any_line(), st.integers(0, 99))
def test_metal_in_is_good_and_scrap_and_what_still_lies_in_the_line(text: str, run: int) -> None:
    totals = simulate(loads(text), run=run).totals
    charged = float(totals.charged_kg.sum())
    scrap = sum(kg for _, _, kg in totals.scrap)

    assert abs(totals.mass_error_kg) <= 1e-9 * max(charged, float(totals.good_kg.sum()), 1.0)
    assert min(kg for *_, kg in [*totals.scrap, ("", "", 0.0)]) >= 0.0
    assert totals.good_kg.min(initial=0.0) >= 0.0
    if totals.warm_up_s == 0.0:  # it began empty: what came in covers what went out
        assert float(totals.good_kg.sum()) + scrap <= charged * (1.0 + 1e-9)


@relaxed(150)
@given(lines.any_line(), st.integers(0, 99))
def test_the_states_of_every_machine_fill_the_clock(text: str, run: int) -> None:
    totals = simulate(loads(text), run=run).totals

    assert totals.state_s.shape == (len(totals.layout.machines), len(STATES))
    assert totals.state_s.min() >= 0.0
    assert abs(totals.time_error_s) <= 1e-6
    assert np.abs(totals.state_s.sum(axis=1) - totals.duration_s).max() <= 1e-6
    assert np.all(totals.slowed_s <= totals.state_s[:, 0] + 1e-6), "only a running machine can be slowed"


@relaxed(150)
@given(lines.any_line(), st.integers(0, 99))
def test_stores_stay_within_their_bounds(text: str, run: int) -> None:
    plant = loads(text)
    totals = simulate(plant, run=run).totals
    for i, name in enumerate(totals.layout.stores):
        room = plant.stores[name].capacity
        most = totals.store_peak[i]
        note(name)
        assert 0.0 <= totals.store_level_s[i] <= most * totals.duration_s * (1.0 + 1e-9)
        assert min(totals.store_full_s[i], totals.store_empty_s[i]) >= 0.0
        assert max(totals.store_full_s[i], totals.store_empty_s[i]) <= totals.duration_s * (1.0 + 1e-12)
        if room is not None:  # one between pairs of machines stands once for each pair
            takers = [own.machines for own in plant.stations.values() if own.source == name]
            pairs = max(takers, default=1) if plant.stores[name].holds in ("strip", "pieces") else 1
            assert most <= room * pairs


@relaxed(150)
@given(lines.any_line(), st.integers(0, 99))
def test_no_line_breaks_into_a_storm_of_events(text: str, run: int) -> None:
    """Events are bounded by the coils and the hours, whatever is the matter with the line."""
    totals = simulate(loads(text), run=run).totals
    coils = max(float(totals.coils.sum()), float(totals.mother_coils))
    hours = totals.duration_s / 3600.0

    assert totals.events <= NO_MORE_PER_COIL * coils + NO_MORE_PER_HOUR * hours


@relaxed(80)
@given(lines.any_line(), st.integers(0, 99))
def test_no_line_stands_still_for_ever(text: str, run: int) -> None:
    """Repairs last hours, calendars open each week: in the second half of 10 weeks or more something must run."""
    plant = loads(text)
    longer = apply_set(plant, "time.length", "10 weeks")
    trace = simulate(longer, run=run, trace=True).trace
    assert trace is not None
    states = trace.tables["states"]
    late = states["end_s"] > 3.0e6 + plant.time.warm_up
    runs = (states["state"] == "running") & late

    assert np.any(runs), "nothing has run for five weeks"
