"""A comparison that was stopped goes on where it stood, with the same runs as if it had never been."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tours import SMALL

from dashboard import answers, options_work
from dashboard.options_shelf import Shelf, ShelfMaker
from dashboard.worker import Desk
from twin.scenario import apply_set, loads
from twin.study.maker import Maker, Step

KEY, OTHER = "5" * 20, "6" * 20


def test_runs_on_the_shelf_are_not_made_again_and_are_the_same_to_the_byte(tmp_path: Path) -> None:
    today = apply_set(loads(SMALL), "time.length", "2 days")
    lines = [today, apply_set(today, "stations.mill.rolls.sets", "4")]
    told: list[Step] = []
    ShelfMaker(workers=1, shelf=Shelf(tmp_path, KEY)).make("both", lines, 2)
    again = ShelfMaker(workers=1, shelf=Shelf(tmp_path, KEY), tell=told.append).make("both", lines, 4)
    plain = Maker(workers=1).make("both", lines, 4)

    assert [one.digest for one in again] == [one.digest for one in plain]
    assert [one.layout for one in again] == [one.layout for one in plain]
    assert {one.done for one in told} <= {2 * 2, 3 * 2, 4 * 2}, "the first two of each line were on the shelf"


def test_fewer_runs_than_lie_there_are_cut_off(tmp_path: Path) -> None:
    line = apply_set(loads(SMALL), "time.length", "2 days")
    maker = ShelfMaker(workers=1, shelf=Shelf(tmp_path, KEY))
    most = maker.make("one", [line], 3)[0]
    fewer = maker.make("one", [line], 2)[0]

    assert fewer.runs == 2
    assert np.array_equal(fewer.values, most.values[:2], equal_nan=True)


def test_lines_of_which_one_is_missing_are_all_made_anew(tmp_path: Path) -> None:
    today = apply_set(loads(SMALL), "time.length", "2 days")
    other = apply_set(today, "stations.mill.rolls.sets", "4")
    maker = ShelfMaker(workers=1, shelf=Shelf(tmp_path, KEY))
    maker.make("one", [today], 2)
    both = maker.make("both", [today, other], 2)

    assert [one.runs for one in both] == [2, 2]
    assert both[0].good.mean != pytest.approx(0.0)


def test_a_stopped_comparison_that_goes_on_says_what_one_says_that_was_never_stopped(tmp_path: Path) -> None:
    (tmp_path / "small.yaml").write_text(SMALL.replace("length: 2 weeks", "length: 2 days"), encoding="utf-8")
    order: dict[str, Any] = {
        "file": str(tmp_path / "small.yaml"),
        "plant": "small",
        "options": ["slow slitter"],
        "sums": [],
        "sets": [],
    }
    order |= {"runs": 6, "seed": 2026, "kept": str(tmp_path / "kept"), "mark": "options-mark"}
    asked = iter(range(10_000))
    options_work.options(Desk(lambda _: None, lambda: next(asked) >= 4), **order, key=KEY)
    first = answers.read(tmp_path / "kept", KEY)
    options_work.options(Desk(lambda _: None, lambda: False), **order, key=KEY)
    options_work.options(Desk(lambda _: None, lambda: False), **order, key=OTHER)
    found, plain = (answers.read(tmp_path / "kept", key) for key in (KEY, OTHER))

    assert first is not None
    assert first["whole"] is False
    assert found is not None
    assert plain is not None
    assert found["results"]["rows"] == plain["results"]["rows"]
    assert Shelf(tmp_path / "kept", KEY).arrays
