"""The week that is played comes from a SimPy run; the studies beside it from compiled ones. They are the same run."""

from pathlib import Path

import numpy as np
import pytest
from line.bytes_of import fingerprint

from dashboard.one_week import one_week, window
from twin.line import simulate
from twin.scenario import apply_set, load
from twin.study.replicate import replicate

FILES = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
SEED = 2026


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_week_that_is_played_is_the_first_run_of_the_study_to_the_byte(file: Path) -> None:
    plant = load(file)
    start, end = window(plant)
    shown = apply_set(plant, "time.length", f"{end - plant.time.warm_up:.0f} s")
    played = simulate(shown, seed=SEED, run=0, clock="simpy", trace=True)
    studied = simulate(plant, seed=SEED, run=0).totals
    study = replicate(plant, seed=SEED, runs=2, workers=1)

    assert played.totals.digest == simulate(shown, seed=SEED, run=0).totals.digest
    whole = int(np.searchsorted(studied.day_start_s, end, side="right")) - 1  # days that both runs saw to their end
    assert whole >= 7
    assert fingerprint(played.totals.day_good_kg[:whole]) == fingerprint(studied.day_good_kg[:whole])
    assert fingerprint(study.day_good_kg[0, :whole]) == fingerprint(studied.day_good_kg[:whole].sum(axis=1))

    told = one_week(plant, SEED)["tables"]["output"]
    inside = [kg for kg, at in zip(told["good_kg"], told["time_s"], strict=True) if 0.0 < at <= end - start]
    days = slice(*np.searchsorted(studied.day_start_s, [start, end]).tolist())
    assert sum(inside) == pytest.approx(float(studied.day_good_kg[days].sum()), rel=2e-3)  # rows that cross an end
