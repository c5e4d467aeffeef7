"""Totals of a small made-up line, to be checked by hand: supply, two mills with a roll shop, a profiler."""

from dataclasses import replace
from typing import Any

import numpy as np
from study_texts import TANDEM

from twin.line import Layout, Totals
from twin.scenario import loads

HOUR = 3600.0

LAYOUT = Layout(
    stations=("supply", "mill", "profiler", "mill roll shop"),
    kinds=("supply", "mill", "profiler", "roll shop"),
    machines=(("supply", 1), ("mill", 1), ("mill", 2), ("profiler", 1), ("mill roll shop", 1)),
    products=("gutter", "pipe", "coil"),
    stores=("yard", "done"),
    store_holds=("coils", "metal"),
    mills=("mill",),
    shared=("crane",),
)

# hours in running, setup, changing_rolls, down, waiting, starved, blocked, closed, of a week of 168 h
STATE_H = [
    [168.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [84.0, 0.0, 2.1, 21.0, 4.2, 0.0, 16.7, 40.0],
    [42.0, 0.0, 0.0, 0.0, 0.0, 42.0, 0.0, 84.0],
    [60.0, 12.0, 0.0, 8.0, 0.0, 8.0, 0.0, 80.0],
    [30.0, 0.0, 0.0, 0.0, 0.0, 10.0, 0.0, 128.0],
]


MADE_SCENARIO = loads(TANDEM)  # results take nothing but its name and digest


def made_activity() -> tuple[Any, Any, Any]:
    """Return changes of state: for 42 h both mills run, then one waits for a roll set and the profiler sets up.

    The supply runs, but slowed by the yard; the roll shop stays closed. States are 0 running, 1 setup, 4 waiting,
    5 starved, 7 closed; + 8 means slowed, + 16 that a roll set is awaited.
    """
    start = 24.0
    rows = [
        (start, 0, 0 + 8),
        (start, 1, 0),
        (start, 2, 0),
        (start, 3, 5),
        (start, 4, 7),
        (start + 42.0, 2, 4 + 16),
        (start + 42.0, 3, 1),
    ]
    time, machine, code = zip(*rows, strict=True)
    return np.array(time) * HOUR, np.array(machine), np.array(code)


MADE = Totals(
    layout=LAYOUT,
    duration_s=168.0 * HOUR,
    warm_up_s=24.0 * HOUR,
    state_s=np.array(STATE_H) * HOUR,
    slowed_s=np.array([0.0, 8.4, 0.0, 6.0, 0.0]) * HOUR,
    out_kg=np.array([180e3, 100e3, 70e3, 160e3, 0.0]),
    coils=np.array([30.0, 20.0, 14.0, 0.0, 0.0]),
    pieces=np.array([0.0, 0.0, 0.0, 33600.0, 0.0]),
    stops=np.array([0.0, 7.0, 0.0, 14.0, 0.0]),
    turned_away=np.array([10.0, 0.0, 0.0, 0.0, 0.0]),
    charged_kg=np.array([180e3, 0.0, 0.0, 0.0, 0.0]),
    scrap=(("mill", "crop", 6e3), ("mill", "start", 4e3), ("profiler", "scrap", 8e3)),
    good_kg=np.array([84e3, 42e3, 0.0]),
    pieces_good=np.array([16800.0, 8400.0, 0.0]),
    store_level_s=np.array([5.0, 2000.0]) * 168.0 * HOUR,
    store_peak=np.array([9.0, 4000.0]),
    store_full_s=np.array([16.8, 0.0]) * HOUR,
    store_empty_s=np.array([42.0, 84.0]) * HOUR,
    rolls_changes=np.array([4.0]),
    rolls_damages=np.array([1.0]),
    rolls_km_sum=np.array([200.0]),
    rolls_change_s=np.array([2.1]) * HOUR,
    rolls_wait_set_s=np.array([4.2]) * HOUR,
    lead_time_s=np.arange(101.0) * HOUR,
    wip_kg_s=30e3 * 168.0 * HOUR,
    day_good_kg=np.array([[84e3, 42e3, 0.0]]),
    day_start_s=np.array([24.0 * HOUR]),
    active=made_activity(),
    shared_busy_s=np.array([42.0]) * HOUR,
    mass_error_kg=1e-6,
    time_error_s=0.0,
    events=1000,
    mother_coils=101,
)


def made_totals(good_t: float = 84.0, mass_error_kg: float = 1e-6) -> Totals:
    """Return the totals of one week of 168 h, with `good_t` tonnes of gutters and half as many of pipes."""
    return replace(MADE, good_kg=np.array([good_t * 1e3, good_t * 0.5e3, 0.0]), mass_error_kg=mass_error_kg)


def quiet_totals() -> Totals:
    """Return a week in which no coil was finished and no log of states was kept."""
    none = np.empty(0, dtype=np.int64)
    return replace(MADE, lead_time_s=np.empty(0), active=(np.empty(0), none, none))
