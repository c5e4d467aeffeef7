"""Logs of a line that was written without the twin: the right model is believed, a wrong one is noticed."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from other_line import BETWEEN_FAILURES_H, CV, LEVELLER, MINUTES, PACKER, PLACES, REPAIR_MIN, run_line, write_log

from twin.line import simulate
from twin.logs import read_log
from twin.scenario import Scenario, loads
from twin.store import Store
from twin.study.review import review
from twin.study.scorebook import Scorebook
from twin.study.scoresummary import Summary, summary
from twin.study.watchdays import How, take_in

BEGIN = datetime(2026, 3, 2, 6, tzinfo=UTC)


def station(name: str) -> str:
    """Return a station of the other line in the grammar of the twin."""
    return (
        f"time: {{gamma: {{mean: {MINUTES[name]} min, cv: {CV}}}}}, failures: [{{reason: stop, "
        f"every: {{exponential: {{mean: {BETWEEN_FAILURES_H[name]} h}}}}, "
        f"repair: {{exponential: {{mean: {REPAIR_MIN[name]} min}}}}}}]"
    )


MODEL = f"""
passline: 1
name: Leveller and packer
metal: zinc
time: {{zone: UTC, start: 2026-03-02 06:00, warm_up: 100 h, length: 2000 h}}
stores:
  ready:  {{holds: coils, capacity: 1}}
  places: {{holds: coils, capacity: {PLACES}}}
  packed: {{holds: coils}}
stations:
  supply:   {{kind: supply, to: ready, coil: {{mass: 4 t, width: 1000 mm, thickness: 0.7 mm}}}}
  leveller: {{kind: step, from: ready, to: places, {station(LEVELLER)}}}
  packer:   {{kind: step, from: places, to: packed, {station(PACKER)}}}
"""


@pytest.fixture(scope="module")
def model() -> Scenario:
    """Return the twin of the other line."""
    return loads(MODEL)


def test_both_lines_make_as_much(model: Scenario) -> None:
    """Two programs that share nothing: their coils a day agree within their errors."""
    theirs = [sum(2880.0 < own.left[1] <= 40 * 1440.0 for own in run_line(40, seed)[0]) / 38 for seed in range(12)]
    ours = [
        float(run.totals.good_kg.sum()) / 4000.0 / (run.totals.duration_s / 86400.0)
        for run in (simulate(model, run=run) for run in range(12))
    ]
    error = np.hypot(np.std(theirs, ddof=1), np.std(ours, ddof=1)) / np.sqrt(12)

    assert np.mean(ours) == pytest.approx(np.mean(theirs), abs=3.0 * error)
    assert error < 0.02 * np.mean(ours)


def told(model: Scenario, tmp_path: Path, *, slower: float, days: int = 16) -> Summary:
    """Return what the book says of a log of the other line, of which the first two days are lost."""
    write_log(tmp_path / "log", BEGIN, days, seed=7, slower=slower, keep_from=2)
    when = BEGIN + timedelta(days=days, minutes=30)
    store = Store(f"sqlite:///{tmp_path / 'book.db'}")
    book = Scorebook(store, model.name, now=lambda: when)
    take_in(model, tmp_path / "log", book, How(runs=39, look_back=days), now=lambda: when)
    found = summary(book, in_time=False)
    store.close()
    return found


def test_the_right_model_is_believed(model: Scenario, tmp_path: Path) -> None:
    own = told(model, tmp_path, slower=1.0)

    assert len(own.days) == 14
    assert own.coverage[2].share >= 11 / 14  # of 14 days of a right forecast fewer are inside in one case of 100
    assert own.watch.alarms == ()
    assert 0.3 < np.mean([day.position for day in own.days]) < 0.7


def test_a_packer_that_is_a_quarter_slower_than_the_model_is_noticed(model: Scenario, tmp_path: Path) -> None:
    own = told(model, tmp_path, slower=1.25)

    assert own.watch.state == "alarm"
    assert own.watch.alarms[0].index < 12
    assert own.watch.side == "low"
    assert own.bias is not None and own.bias.high is not None and own.bias.high < 0.0


def test_a_review_lays_the_wrong_model_at_the_packer_s_pace(model: Scenario, tmp_path: Path) -> None:
    """No record says that the packer is slow, so it must not be put down to stops, nor hidden in what they leave."""
    losses = {}
    for slower in (1.0, 1.25):
        folder = tmp_path / str(slower)
        write_log(folder, BEGIN, 10, seed=7, slower=slower, keep_from=2)
        found = review(model, read_log(folder, zone="UTC"), "2026-03-10", runs=10, sure=False)
        losses[slower] = sum(rung.t for rung in found.ladder if (rung.kind, rung.station) == ("speed", PACKER))
        told_t = found.expected.mean_t + sum(rung.t for rung in found.ladder) + found.unexplained_t + found.edges_t
        assert told_t == pytest.approx(found.actual_t, abs=1e-9)

    assert losses[1.25] < -20.0  # a quarter of 190 t a day is 38 t, less what the leveller would have held back
    assert abs(losses[1.0]) < 20.0
