"""Amounts in either system of units are the same amounts."""

from __future__ import annotations

import pytest

from dashboard.parts.amounts import METRIC, US, distance, thickness, tonnes_a_week, units_of
from twin.words import NO_BREAK


def test_the_us_units_are_the_published_ones() -> None:
    """NIST Handbook 44, appendix C: short ton 907.184 74 kg, foot 0.3048 m, inch 25.4 mm, all exact."""
    assert 1000.0 / US.per_tonne == pytest.approx(907.18474, rel=1e-12)
    assert 1.0 / US.per_m == pytest.approx(0.3048, rel=1e-12)
    assert 1.0 / US.per_mm == pytest.approx(25.4, rel=1e-12)
    assert 1.0 / US.per_km == pytest.approx(0.3048, rel=1e-12)  # a thousand feet are 0.3048 km


def test_a_weekly_mass_is_shown_with_its_interval_in_either_unit() -> None:
    found = {"mean": 619.0 / 168.0, "low": 607.0 / 168.0, "high": 631.0 / 168.0, "unit": "t/h"}

    assert tonnes_a_week(found, METRIC).replace(NO_BREAK, " ") == "619 ± 12 t/week"
    # 619 t are 682.3 short tons, 12 t are 13.2
    assert tonnes_a_week(found, US).replace(NO_BREAK, " ") == "682 ± 13 short tons/week"


def test_lengths_are_rounded_for_their_unit() -> None:
    assert thickness(0.7, METRIC).replace(NO_BREAK, " ") == "0.70 mm"
    assert thickness(0.7, US).replace(NO_BREAK, " ") == "0.028 in"
    assert distance(57.4, METRIC).replace(NO_BREAK, " ") == "57.4 km"
    assert distance(57.4, US).replace(NO_BREAK, " ") == "188 kft"


def test_an_unknown_name_of_units_is_metric() -> None:
    assert units_of("us") is US
    assert units_of("t") is METRIC
