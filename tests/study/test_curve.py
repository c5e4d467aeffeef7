"""A curve that is drawn at once and refined."""

import numpy as np
import pytest
from study_texts import TANDEM

from twin.scenario import ScenarioError, apply_set, loads
from twin.study.curve import curve, spread_out
from twin.study.replicate import replicate
from twin.study.statistics import paired_interval


def test_both_ends_and_the_middle_come_first() -> None:
    assert spread_out(9)[:3] == [0, 8, 4]
    for count in (1, 2, 3, 7, 25):
        assert sorted(spread_out(count)) == list(range(count))


def test_the_finished_curve_is_what_each_value_gives_alone() -> None:
    line = loads(TANDEM)
    final = list(curve(line, "stores.second gap.capacity", [0, 1, 4], runs=6))[-1]

    alone = [replicate(apply_set(line, "stores.second gap.capacity", str(n)), runs=6) for n in (0, 1, 4)]
    weekly = [168.0 * one.column("line", "good") for one in alone]
    change = paired_interval(weekly[2], weekly[0])
    assert final.complete
    assert final.runs.tolist() == [6, 6, 6]
    assert final.mean.tolist() == pytest.approx([one.good.mean for one in alone])
    assert final.low.tolist() == pytest.approx([one.good.low for one in alone])
    assert (final.change[2], final.change_low[2]) == pytest.approx((change.mean, change.low))


def test_today_on_the_curve_changes_nothing() -> None:
    final = list(curve(loads(TANDEM), "stores.second gap.capacity", [0], runs=5))[-1]

    assert (final.change[0], final.change_low[0], final.change_high[0]) == (0.0, 0.0, 0.0)


def test_the_first_curve_is_coarse_and_later_ones_only_add_runs() -> None:
    seen = list(curve(loads(TANDEM), "stores.second gap.capacity", [0, 1, 2, 3], runs=10))

    assert int(np.isnan(seen[1].mean).sum()) == 3
    assert not np.isnan(seen[4].mean).any()
    assert all(bool((after.runs >= before.runs).all()) for before, after in zip(seen, seen[1:], strict=False))


def test_the_value_that_is_asked_first_is_known_first_and_changes_no_number() -> None:
    line, places = loads(TANDEM), [0, 1, 2, 3]
    seen = list(curve(line, "stores.second gap.capacity", places, runs=10, first=2))

    assert np.flatnonzero(~np.isnan(seen[1].mean)).tolist() == [2]
    in_order = list(curve(line, "stores.second gap.capacity", places, runs=10))[-1]
    assert seen[-1].mean.tolist() == in_order.mean.tolist()


def test_a_value_that_is_not_allowed_is_refused_before_any_run() -> None:
    with pytest.raises(ScenarioError):
        next(curve(loads(TANDEM), "stores.second gap.capacity", [1, -3]))
