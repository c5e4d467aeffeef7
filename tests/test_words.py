"""How numbers are written on the terminal and on the pages."""

import pytest

from twin.words import MINUS, NOT_ASKED, THIN, chance, indicator, number, places_for, plain, share, uneven


def readable(text: str) -> str:
    """Make the special spaces visible as plain ones."""
    return text.replace("\u00a0", " ").replace(THIN, "'")


@pytest.mark.parametrize(
    ("mean", "half", "published"),
    [
        # the three worked examples of the rule: Particle Data Group, Review of Particle Physics,
        # introduction, section 5.3 (from memory)
        (0.827, 0.119, "0.83 ± 0.12"),
        (0.827, 0.367, "0.8 ± 0.4"),
        (0.827, 0.970, "0.8 ± 1.0"),
    ],
)
def test_rounding_follows_the_published_examples(mean: float, half: float, published: str) -> None:
    assert readable(number(mean, half)) == published


def test_a_mean_is_rounded_to_its_half_width() -> None:
    assert readable(number(618.7, 12.31, "t/week")) == "619 ± 12 t/week"
    assert readable(number(618.7, 6.6, "t/week")) == "619 ± 7 t/week"
    assert readable(number(618.7, 62.0, "t/week")) == "620 ± 60 t/week"


def test_no_line_break_can_come_between_a_number_and_its_unit() -> None:
    assert " " not in number(1234.0, 56.0, "t/week")


def test_thousands_have_thin_spaces_and_less_than_zero_a_true_minus() -> None:
    assert plain(-1234567.0) == f"{MINUS}1{THIN}234{THIN}567"


def test_a_change_shows_its_sign_even_when_it_is_nothing() -> None:
    assert readable(number(0.2, 20.0, "t/week", sign=True)) == "+0 ± 20 t/week"
    assert readable(number(-13.4, 5.0, sign=True)) == f"{MINUS}13 ± 5"


def test_what_rounds_to_nothing_has_no_minus() -> None:
    assert plain(-0.2) == "0"


def test_one_run_has_no_half_width_and_three_digits() -> None:
    assert readable(number(618.74, None, "t/week")) == "619 t/week"
    assert readable(number(0.12345)) == "0.123"
    assert readable(number(45678.9)) == "45'679"


def test_an_unknown_number_is_a_dash_and_never_a_zero() -> None:
    assert number(None, 3.0, "t") == NOT_ASKED
    assert number(float("nan"), 3.0, "t") == NOT_ASKED
    assert share(None) == NOT_ASKED


def test_an_uneven_interval_names_both_ends() -> None:
    assert readable(uneven(110.2, 96.4, 126.9, "km")) == "110 (96 to 127) km"


def test_shares_are_whole_per_cent_and_chances_are_counts() -> None:
    assert readable(share(0.551, 0.068)) == "55 ± 7 %"
    assert readable(chance(18, 20)) == "18 of 20"


def test_a_half_width_of_nothing_is_said() -> None:
    """A line without chance has no scatter: that is a result, not a missing interval."""
    assert readable(number(12.0, 0.0, "t/h")) == "12.0 ± 0.0 t/h"
    assert readable(number(160.0, 6e-14, "t")) == "160 ± 0 t"  # what adding up in floating point leaves
    assert places_for(0.0) == 0


def test_an_indicator_is_scaled_to_the_unit_asked_for() -> None:
    good = {"mean": 3.683, "low": 3.611, "high": 3.755, "unit": "t/h"}
    assert readable(indicator(good, "t/week", scale=168.0)) == "619 ± 12 t/week"
    assert readable(indicator({"mean": 0.5, "low": None, "high": None, "unit": "1"})) == "0.500"
