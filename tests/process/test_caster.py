"""The caster against exact arithmetic."""

import pytest

from twin.process.caster import coil_time, mass_flow, solidification_ratio, speed_for

PER_HOUR = 3.6  # kg/s to t/h


def test_mass_flow_is_section_times_speed_times_density() -> None:
    """8 mm x 1.0 m at 5 m/min and 7140 kg/m3: 17.136 t/h, exactly."""
    assert mass_flow(0.008, 1.0, 5 / 60, 7140) * PER_HOUR == pytest.approx(17.136, rel=1e-12)


def test_the_speed_for_a_rate_is_its_inverse() -> None:
    """12 t/h of the same strip needs 3.5014 m/min."""
    speed = speed_for(12 / PER_HOUR, thickness=0.008, width=1.0, density=7140)

    assert speed * 60 == pytest.approx(3.5014, abs=0.00005)
    assert mass_flow(0.008, 1.0, speed, 7140) * PER_HOUR == pytest.approx(12.0, rel=1e-12)


def test_an_invented_caster_casts_its_coil_in_52_minutes() -> None:
    """8.2 mm x 1034 mm at 1.56 m/min is printed as 5.67 t/h; a coil of 4.9 t (invented demo plant)."""
    rate = mass_flow(0.0082, 1.034, 1.56 / 60, 7140)

    assert rate * PER_HOUR == pytest.approx(5.67, abs=0.005)
    assert coil_time(4900, rate) / 60 == pytest.approx(4.9 / 5.67 * 60, abs=0.05)


def test_a_strip_of_four_fifths_thickness_solidifies_1_5625_times_faster() -> None:
    """Chvorinov's rule, time with (volume / area) squared: 8 mm against 10 mm (Groover, chapter 10, from memory)."""
    assert solidification_ratio(0.010, 0.008) == pytest.approx(1.5625, rel=1e-12)
    assert solidification_ratio(0.008, 0.010) == pytest.approx(1 / 1.5625, rel=1e-12)
    assert solidification_ratio(0.010, 0.008, exponent=1.0) == pytest.approx(1.25, rel=1e-12)


def test_a_strip_without_width_is_refused() -> None:
    """By the name of the quantity."""
    with pytest.raises(ValueError, match="width is 0, but must be above 0"):
        mass_flow(0.008, 0.0, 5 / 60, 7140)
