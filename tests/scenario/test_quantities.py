from decimal import Decimal
from fractions import Fraction
from functools import cache

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from twin.scenario.faults import Refusal
from twin.scenario.quantities import KINDS, UNITS, parse, unit_size

COUNTED = {"pieces", "piece", "pcs", "coils", "coil", "changes", "change", "strokes", "stroke"}
OTHER_NAMES = {"kt": "kilotonne", "wk": "week", "lbs": "pound", "mil": "thou", "%": "percent", "mi": "mile"}


@cache
def registry() -> pint.UnitRegistry[float]:
    return pint.UnitRegistry(cache_folder=None)


@pytest.mark.parametrize("symbol", sorted(set(UNITS) - COUNTED))
def test_every_unit_has_the_size_that_an_independent_library_gives_it(symbol: str) -> None:
    expected = registry()(f"1 {OTHER_NAMES.get(symbol, symbol)}").to_base_units().magnitude

    size, _ = UNITS[symbol]

    assert float(size) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    "text", ["t/h", "kWh/t", "ft/min", "kg/m3", "short_ton/h", "lb/in^3", "kJ/(kg K)", "in/s", "MJ/t"]
)
def test_composed_units_have_the_size_that_an_independent_library_gives_them(text: str) -> None:
    written = text.replace("(kg K)", "(kg*K)").replace("m3", "m**3").replace("in^3", "in**3")
    expected = registry()(f"1 {written}").to_base_units().magnitude

    assert float(unit_size(text)[0]) == pytest.approx(expected, rel=1e-12)


def test_temperatures_are_read_on_every_scale() -> None:
    """ITS-90 (Metrologia 27, 1990, table 1): zinc freezes at 692.677 K, which is 419.527 degC."""
    celsius = parse("419.527 degC", ("temperature",)).value
    fahrenheit = parse("787.1486 degF", ("temperature",)).value

    assert celsius == pytest.approx(692.677, abs=1e-9)
    assert fahrenheit == pytest.approx(692.677, abs=1e-9)
    assert parse("510 °C", ("temperature",)) == parse("510 C", ("temperature",)) == parse("510 degC", ("temperature",))


def test_the_same_length_in_other_units_is_the_same_number_to_the_last_bit() -> None:
    lengths = {
        parse(text, ("length",)).value for text in ("0.7 mm", "0.70 mm", "700 um", "0.0007 m", "7e-4 m", "0.07 cm")
    }

    assert lengths == {0.0007}


@given(st.decimals(min_value=0, max_value=10**6, places=4), st.sampled_from(["mm", "m", "km", "in", "ft"]))
def test_a_quantity_is_the_nearest_number_to_its_exact_value(number: Decimal, unit: str) -> None:
    exact = Fraction(number) * UNITS[unit][0]

    assert parse(f"{number} {unit}", ("length",)).value == float(exact)


@given(st.floats(min_value=1e-9, max_value=1e9), st.sampled_from(["s", "min", "h", "days", "weeks"]))
def test_a_time_written_in_its_own_unit_comes_back(value: float, unit: str) -> None:
    seconds = parse(f"{value!r} {unit}", ("time",)).value

    assert seconds / float(UNITS[unit][0]) == pytest.approx(value, rel=1e-15)


@given(st.text(max_size=40), st.sampled_from(sorted(KINDS)))
def test_any_text_is_either_a_quantity_or_refused_with_a_way_out(text: str, kind: str) -> None:
    try:
        amount = parse(text, (kind,), "EUR")
    except Refusal as refusal:
        assert all(problem.message for problem in refusal.problems)
    else:
        assert amount.dimension == kind


@pytest.mark.parametrize(
    ("value", "kinds", "words"),
    [
        (57, ("length",), "'57' has no unit, a length needs one"),
        ("57", ("length", "mass"), "'57' has no unit, a length or mass needs one"),
        ("125 t/h", ("speed",), "'125 t/h' is not a speed"),
        ("3 furlong", ("length",), "the unit 'furlong' is not known"),
        (True, ("number",), "'True' is not a quantity"),
        (None, ("time",), "'None' is not a quantity"),
        (float("nan"), ("number",), "'nan' is not a number that can be used"),
        ("0.2", ("share",), "'0.2' has no unit, a share needs one"),
        ("20", ("price",), "'20' has no unit, a price needs one"),
        ("190 USD/t", ("price",), "'USD' is not a unit, and the file's currency is EUR"),
        ("1//2 h", ("time",), "'//2 h' is not a unit"),
        ("3 m/", ("speed",), "'m/' is not a unit"),
        ("3 m/s/s/s", ("speed",), "'m/s/s/s' is not a unit"),
        ("1e400 m", ("length",), "'1e400 m' is not a quantity"),
    ],
)
def test_what_is_not_a_quantity_is_refused_with_the_reason(value: object, kinds: tuple[str, ...], words: str) -> None:
    with pytest.raises(Refusal) as caught:
        parse(value, kinds, "EUR")

    problem = caught.value.problems[0]
    assert problem.message == words
    assert problem.way_out


def test_counts_may_be_written_with_or_without_their_noun() -> None:
    assert parse(46, ("coils",)) == parse("46", ("coils",)) == parse("46 coils", ("coils",))
    assert parse(0, ("share",)).value == 0.0
    assert parse("85 %", ("number",)).value == parse(0.85, ("number",)).value


def test_money_is_read_in_the_currency_of_the_file_with_thousands_and_millions() -> None:
    assert parse("3400 kEUR", ("money",), "EUR").value == 3.4e6
    assert parse("3.4 MEUR", ("money",), "EUR").value == 3.4e6
    assert parse("190 EUR/t", ("price",), "EUR").value == 0.19  # per kg


def test_a_monstrous_exponent_is_refused_before_anything_is_computed() -> None:
    for text in ("1e999999999 km", "1E+999999999999 t", "9" * 5000 + " m"):
        with pytest.raises(Refusal):
            parse(text, ("length", "mass"))
