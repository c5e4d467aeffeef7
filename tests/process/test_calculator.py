"""What a coil makes, against the facts that people in the trade tell (common practice, no source)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twin.process.calculator import MotherCoil, calculate, check_claim

MILE, FOOT, INCH = 1609.344, 0.3048, 0.0254
SHORT_TON, LONG_TON, TONNE = 907.18474, 1016.0469088, 1000.0
ZINC_DENSITY = 7140.0


def told_coil(ton: float) -> MotherCoil:
    """Return the coil that is told of: 46 tons, three feet wide, three quarters of a millimetre."""
    return MotherCoil(46 * ton, 3 * FOOT, 0.75e-3, ZINC_DENSITY)


def test_eight_tonnes_give_1203_gutters_of_four_metres() -> None:
    """0.93 m wide, 0.75 mm, three strips: exact arithmetic, the metal being cut up to its last whole gutter."""
    output = calculate(MotherCoil(8000, 0.93, 0.75e-3, ZINC_DENSITY), rings=3, ring_width=0.31, piece_length=4.0)

    assert output.strip == pytest.approx(4819.1, abs=0.05)
    assert output.pieces == 1203
    assert output.pieces_length == 4812.0


def test_46_tons_cannot_give_25_miles_of_gutter() -> None:
    """The told 25 miles against the mass balance: 15.9 miles with short tons."""
    claim = check_claim(25 * MILE, told_coil(SHORT_TON), rings=3)

    assert claim.most / MILE == pytest.approx(15.9, abs=0.05)
    assert not claim.possible
    assert claim.ratio == pytest.approx(25 / 15.886, abs=0.001)
    assert claim.verdict.startswith("not possible: 41.7 t gives at most 25.6 km; 40.2 km would take 65.7 t")


def test_no_ton_of_any_country_makes_the_told_length_true() -> None:
    """17.8 miles with the heaviest one, the long ton."""
    most = {ton: check_claim(25 * MILE, told_coil(ton), rings=3).most / MILE for ton in (SHORT_TON, LONG_TON, TONNE)}

    assert max(most.values()) == pytest.approx(17.8, abs=0.05)
    assert max(most, key=lambda ton: most[ton]) == LONG_TON


def test_even_without_scrap_in_13_foot_gutters_the_coil_stays_below_16_miles() -> None:
    """Whole gutters only: less than the strip, never more."""
    output = calculate(told_coil(SHORT_TON), rings=3, ring_width=FOOT, piece_length=13 * FOOT)

    assert output.pieces_length <= output.strip
    assert output.pieces_length / MILE == pytest.approx(15.9, abs=0.05)
    assert output.pieces == output.pieces_length / (13 * FOOT)


def test_a_modest_claim_is_let_pass() -> None:
    """10 miles take 63 % of the metal."""
    claim = check_claim(10 * MILE, told_coil(SHORT_TON), rings=3)

    assert claim.possible
    assert claim.verdict == "possible: it takes 63% of the metal"


def test_the_told_plate_is_rolled_to_a_tenth_of_its_thickness() -> None:
    """Almost a third of an inch to three quarters of a millimetre: elongation 10 to 11.4."""
    assert 10.0 < 0.95 * INCH / 3 / 0.75e-3 < INCH / 3 / 0.75e-3 < 11.4


@given(st.floats(500, 12_000), st.integers(1, 5), st.floats(0.5, 6), st.floats(0, 0.1))
def test_good_and_scrap_weigh_what_the_coil_did(mass: float, rings: int, piece: float, crop: float) -> None:
    """Mass in = mass out, whatever is made."""
    coil = MotherCoil(mass, 1.034, 0.70e-3, ZINC_DENSITY)

    output = calculate(coil, rings=rings, ring_width=0.2, piece_length=piece, crop=crop)

    assert output.good + output.scrap == pytest.approx(mass, rel=1e-12)
    assert output.scrap >= mass * crop * (1 - 1e-9)
    assert output.good == pytest.approx(output.pieces_length * 0.2 * 0.70e-3 * ZINC_DENSITY, rel=1e-9)
