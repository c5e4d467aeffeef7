"""The coil against exact arithmetic and against itself, wrap by wrap."""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twin.process.coil import (
    mass_mismatch,
    mass_per_length,
    outer_diameter,
    rolled_length,
    strip_length,
    strip_mass,
    wind,
)


def wind_by_hand(length: float, thickness: float, inner: float) -> tuple[int, float]:
    """Return wraps and outer diameter by laying one wrap after the other."""
    wraps, wound = 0, 0.0
    while wound < length - 1e-9:
        wraps += 1
        wound += pi * (inner + (2 * wraps - 1) * thickness)
    return wraps, inner + 2 * wraps * thickness


def test_the_diameter_follows_from_the_area_of_the_side_face() -> None:
    """508 mm inside, 2000 m of 0.75 mm: 1472.4 mm, exactly; 643 wraps and 1472.5 mm laid one by one."""
    assert outer_diameter(2000, 0.75e-3, 0.508) == pytest.approx(1.4724, abs=0.00005)
    winding = wind(2000, 0.75e-3, 0.508)
    assert winding.wraps == 643
    assert winding.outer_diameter == pytest.approx(1.4725, abs=0.00005)


@given(st.floats(1, 4000), st.floats(0.3e-3, 10e-3), st.floats(0.3, 0.7))
def test_closed_form_winding_lays_as_many_wraps_as_winding_by_hand(length: float, thick: float, inner: float) -> None:
    """The sum over wraps is solved, not counted."""
    wraps, outer = wind_by_hand(length, thick, inner)
    winding = wind(length, thick, inner)

    assert abs(winding.wraps - wraps) <= (1 if abs(_end_of_wrap(wraps, thick, inner) - length) < 1e-6 else 0)
    assert winding.outer_diameter == pytest.approx(outer, abs=2 * thick + 1e-9)
    assert winding.outer_diameter >= outer_diameter(length, thick, inner) - 1e-9


def _end_of_wrap(wraps: int, thick: float, inner: float) -> float:
    return pi * (inner * wraps + thick * wraps**2)


def test_a_full_last_wrap_is_not_begun_again() -> None:
    """A length of exactly ten wraps."""
    assert wind(_end_of_wrap(10, 0.001, 0.5), 0.001, 0.5).wraps == 10


def test_air_between_the_wraps_makes_the_coil_larger() -> None:
    """The metal's share of the side face is the fill."""
    loose = outer_diameter(927.3, 0.70e-3, 0.508, fill=0.97)

    assert (loose**2 - 0.508**2) * pi / 4 * 0.97 == pytest.approx(927.3 * 0.70e-3)


@pytest.mark.parametrize(
    ("length", "millimetres", "metres"),
    [(80.9, 8.2, 1.06), (927, 0.70, 1.05), (999, 0.65, 1.05), (811, 0.80, 1.05), (2432, 0.70, 1.57), (282, 6.2, 1.59)],
)
def test_invented_coils_have_their_printed_diameters(length: float, millimetres: float, metres: float) -> None:
    """Two invented demo plants, 508 mm inside and a fill of 0.97 to 1; printed to 1 cm."""
    loose = outer_diameter(length, millimetres / 1e3, 0.508, fill=0.97)
    tight = outer_diameter(length, millimetres / 1e3, 0.508)

    assert tight - 0.005 <= metres <= loose + 0.005


def test_the_mass_of_a_metre_of_strip() -> None:
    """1000 mm x 0.70 mm at 7200 kg/m3 weighs 5.040 kg/m; 333 mm 1.6783 kg/m, exactly."""
    assert mass_per_length(1.0, 0.70e-3, 7200) == pytest.approx(5.040, abs=1e-9)
    assert mass_per_length(0.333, 0.70e-3, 7200) == pytest.approx(1.6783, abs=0.00005)


def test_a_square_metre_of_sheet_weighs_within_its_thickness_tolerance() -> None:
    """EN 988 (as quoted): 0.70 +- 0.03 mm at 7200 kg/m3 is 4.824 to 5.256 kg/m2."""
    assert strip_mass(1.0, 1.0, 0.67e-3, 7200) == pytest.approx(4.824, abs=1e-9)
    assert strip_mass(1.0, 1.0, 0.73e-3, 7200) == pytest.approx(5.256, abs=1e-9)


def test_eight_tonnes_are_1606_metres_of_strip() -> None:
    """0.93 m wide, 0.75 mm, 7140 kg/m3: 1606.4 m; three strips 4819.1 m; exact arithmetic."""
    length = strip_length(8000, 0.93, 0.75e-3, 7140)

    assert length == pytest.approx(1606.4, abs=0.05)
    assert 3 * length == pytest.approx(4819.1, abs=0.05)


def test_rolling_lengthens_strip_by_what_it_thins_it() -> None:
    """8 mm at 4 m/min to 0.75 mm leaves at 42.667 m/min: elongation 10.667, exactly."""
    assert rolled_length(4.0, 0.008, 0.75e-3) == pytest.approx(42.667, abs=0.0005)
    assert rolled_length(1.0, 0.008, 0.75e-3) == pytest.approx(10.667, abs=0.0005)


@given(st.floats(10, 20_000), st.floats(0.1, 2), st.floats(1e-4, 0.03), st.floats(2000, 9000))
def test_length_and_mass_are_inverse(mass: float, width: float, thickness: float, density: float) -> None:
    """Mass in, mass out."""
    length = strip_length(mass, width, thickness, density)

    assert strip_mass(length, width, thickness, density) == pytest.approx(mass, rel=1e-12)
    assert mass_mismatch(mass, length, width=width, thickness=thickness, density=density) == pytest.approx(0, abs=1e-9)


def test_a_record_of_the_wrong_ton_stands_out() -> None:
    """A short ton (907.18 kg) taken for a tonne is 10 % off, far beyond the usual 3 %."""
    length = strip_length(5 * 907.18474, 1.0, 0.70e-3, 7140)

    assert mass_mismatch(5000, length, width=1.0, thickness=0.70e-3, density=7140) == pytest.approx(0.1023, abs=0.0001)


@pytest.mark.parametrize("fill", [0.0, 0.4, 1.02, 97.0])
def test_a_fill_that_cannot_be_is_refused(fill: float) -> None:
    """97 for 97 % is the usual slip."""
    with pytest.raises(ValueError, match="fill is .* but must be from 0.5 to 1"):
        outer_diameter(100, 0.001, 0.5, fill)
