"""What a log tells is told in the plant's units, laws in words, and drawn as it was seen."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
from lifelines import KaplanMeierFitter

from dashboard.charts.drawn import DrawnRow, Scale, drawn_table
from dashboard.charts.fit_curve import FitCurve, fit_curve, steps
from dashboard.charts.log_timeline import LogRow, LogSpan, Piece, log_timeline
from dashboard.charts.svg import at_mark
from dashboard.inputs_fits import MOST_SEEN, law_curve, law_words, thinned, title, unit_for
from twin.scenario.laws import Constant, Empirical, Exponential, Triangular
from twin.study.fitresult import Cause


def test_the_share_not_longer_is_that_of_kaplan_and_meier() -> None:
    """Judged by lifelines, an independent library; the values are invented."""
    seen, cut_short = [4.0, 7.0, 9.0, 12.0, 30.0], [5.0, 8.0, 14.0]
    judge = KaplanMeierFitter().fit(seen + cut_short, [1] * len(seen) + [0] * len(cut_short))

    at, below = steps(seen, cut_short)

    assert at == [0.0, *seen]
    expected = [1.0 - float(judge.survival_function_at_times(value).iloc[0]) for value in at]
    assert below == pytest.approx(expected, abs=1e-12)


def test_without_any_cut_short_it_is_the_plain_share() -> None:
    assert steps([1.0, 2.0, 3.0, 4.0])[1] == pytest.approx([0.0, 0.25, 0.5, 0.75, 1.0])


@pytest.mark.parametrize(
    ("law", "words"),
    [
        (Exponential(26.0 * 3600.0, "time"), "exponential, mean 26 h"),
        (Constant(390.0, "time"), "6.5 min"),
        (Empirical((1.0, 2.0), "time"), "the 2 values as recorded"),
    ],
)
def test_a_law_is_told_in_words(law: Exponential | Constant | Empirical, words: str) -> None:
    assert law_words(law, 2) == words


def test_no_number_of_a_law_is_told_to_more_than_five_figures() -> None:
    said = law_words(Triangular(4424.60606060606, 6004.82251082251, 9481.2987012987, "time"), 3)

    assert max(len(part.replace(".", "")) for part in said.replace(",", " ").split() if part[0].isdigit()) <= 5


@pytest.mark.parametrize(
    ("mean", "unit", "told"),
    [(45.0, "s", "s"), (1500.0, "s", "min"), (86_400.0, "s", "h"), (130_000.0, "m", "km"), (480.0, "pieces", "pieces")],
)
def test_an_amount_is_told_in_a_unit_that_fits_it(mean: float, unit: str, told: str) -> None:
    assert unit_for(mean, unit)[1] == told


def test_many_values_are_thinned_evenly_with_both_ends_kept() -> None:
    drawn = thinned(np.arange(10_000, dtype=np.float64))

    assert len(drawn) == MOST_SEEN
    assert (drawn[0], drawn[-1]) == (0.0, 9999.0)


def test_a_drawing_tells_the_same_as_its_table() -> None:
    """Half of an exponential law's values are shorter than ln 2 of its mean."""
    at, below = law_curve(Exponential(100.0, "time"))
    middle = float(np.interp(0.5, below, at))
    made = fit_curve(FitCurve("Jam <1>", "s", [40.0, 60.0, 90.0], (at, below), None, [20.0]))

    assert middle == pytest.approx(100.0 * np.log(2.0), rel=0.02)
    assert "Jam &lt;1&gt;" in made
    assert "fitted law" in made
    assert "assumed so far" not in made


def test_the_records_along_time_tell_the_same_in_a_table() -> None:
    day = 86_400.0
    rows = [
        LogRow("Mill", 0.0, 9.0 * day, [Piece("gap", day, 2.0 * day), Piece("overlap", 3.0 * day, 3.0 * day + 60.0)])
    ]

    made = log_timeline(rows, LogSpan(10.0 * day, [(0.0, "Mon 2 Mar")]))

    assert "1, 24.0 h" in made
    assert "none" in made
    assert 'width="0.233%"' in made, "a minute of ten days is drawn 2.5 px wide, so that it can be seen"


def test_a_number_is_called_by_what_it_is_in_the_file() -> None:
    """A cutter's records call a width change a tool change; beside its coil change that would be another number."""

    class Said(SimpleNamespace):
        called = Cause.called

    said = Said(station="gutter cutter", reason="tool change", what="setup")
    said.path = "stations.gutter cutter.width_change.time"

    assert title(cast(Cause, said)) == "gutter cutter, width change"
    said.path = "stations.pipe line.tool_change.time"
    assert title(cast(Cause, said)) == "gutter cutter, tool change"


def test_marks_of_a_scale_have_a_true_minus() -> None:
    assert [at_mark(value) for value in (-20.0, -0.5, 0.0, 1500.0)] == ["\u221220", "\u22120.5", "0", "1\u2009500"]
    table = drawn_table([DrawnRow("way", ("1",), -30.0)], heads=["change"], scale=Scale(-40.0, 10.0))
    assert "\u221240" in table
