"""The roll bite against worked examples."""

from itertools import pairwise
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twin.materials import material, own_material
from twin.process.rolling import (
    Gap,
    Stand,
    bite_limit,
    check_bite,
    contact_length,
    draft,
    fewest_passes,
    hitchcock,
    largest_draft,
    mean_flow_stress,
    pass_load,
    roll_force,
    schedule_loads,
    true_strain,
)

SHORT_TON_FORCE = 907.18474 * 9.80665  # N


def test_contact_length_matches_the_worked_example() -> None:
    """Copper strip goes from 25 mm to 20 mm between rolls of 300 mm radius."""
    published = 0.0387  # m; Kalpakjian and Schmid, example 13.1, printed to three figures

    length = contact_length(roll_radius=0.300, thickness_in=0.025, thickness_out=0.020)

    assert length == pytest.approx(published, abs=0.00005)


def test_flat_rolling_matches_the_worked_example() -> None:
    """300 mm wide, 25 to 22 mm, R 250 mm, 50 rev/min, K 275 MPa, n 0.15, mu 0.12.

    Groover, Fundamentals of Modern Manufacturing, rolling example (19.1 in the 4th edition; from memory): 27.4 mm,
    0.128, 175.7 MPa, 1 444 786 N, 19 786 Nm, 207 201 W. It rounds at every step, so 0.3 %.
    """
    gap, stand = Gap(0.300, 0.025, 0.022), Stand(roll_radius=0.250, friction=0.12)
    metal = own_material({"strength": 275e6, "hardening": 0.15}, like="zinc")
    strain = true_strain(0.025, 0.022)
    load = pass_load(gap, metal, stand, speed=0.250 * 2 * 3.141592653589793 * 50 / 60, flatten=False, hill=False)

    assert load.contact_length == pytest.approx(0.0274, rel=0.003)
    assert strain == pytest.approx(0.128, rel=0.003)
    assert mean_flow_stress(275e6, 0.15, strain) == pytest.approx(175.7e6, rel=0.003)
    assert load.force == pytest.approx(1_444_786, rel=0.003)
    assert load.torque == pytest.approx(19_786, rel=0.003)
    assert load.power == pytest.approx(207_201, rel=0.003)


@pytest.mark.parametrize(
    ("what", "value", "exact"),
    [
        ("force", 1.4431e6, 1e-4),
        ("torque", 19.76e3, 1e-3),
        ("power", 206.9e3, 1e-3),
        ("contact_length", 27.39e-3, 1e-3),
    ],
)
def test_flat_rolling_without_the_rounded_steps(what: str, value: float, exact: float) -> None:
    """The same example worked without rounding, independently."""
    metal = own_material({"strength": 275e6, "hardening": 0.15}, like="zinc")
    load = pass_load(
        Gap(0.300, 0.025, 0.022), metal, Stand(0.250, 0.12), speed=0.250 * 5.235987755982989, flatten=False, hill=False
    )

    assert getattr(load, what) == pytest.approx(value, rel=exact)


def test_the_largest_draft_is_that_of_the_angle_of_friction() -> None:
    """mu 0.12, R 250 mm: 3.60 mm by mu2 R, 3.562 mm by the exact geometry."""
    assert largest_draft(0.12, 0.250) == pytest.approx(3.60e-3, rel=1e-12)
    assert bite_limit(0.12, 0.250) == pytest.approx(3.562e-3, abs=0.0005e-3)


def test_four_passes_take_45_mm_to_20_mm() -> None:
    """mu 0.15, R 300 mm: a draft of at most 6.75 mm, so four passes of 6.25 mm (a Groover problem)."""
    assert largest_draft(0.15, 0.300) == pytest.approx(6.75e-3, rel=1e-12)
    assert fewest_passes(0.045, 0.020, friction=0.15, roll_radius=0.300) == 4


def test_a_draft_that_does_not_bite_is_refused() -> None:
    """3.5 mm are drawn in, 3.7 mm are not, with mu 0.12 and R 250 mm."""
    stand = Stand(0.250, 0.12)
    check_bite(Gap(0.3, 0.025, 0.0215), stand)

    with pytest.raises(ValueError, match=r"the draft is 3\.7 mm, at most 3\.56 mm bite"):
        check_bite(Gap(0.3, 0.025, 0.0213), stand)
    with pytest.raises(ValueError, match="cannot draw in"):
        pass_load(Gap(0.3, 0.025, 0.0213), material("zinc"), stand)


def test_flattened_rolls_settle_where_the_closed_form_says() -> None:
    """E 210 GPa, nu 0.3: 2.2069e-5 mm2/N; 1000 mm wide, 1.00 to 0.75 mm, R 250 mm at a constant 200 MPa.

    R' 287.42 mm and 1.6953 MN against 1.5811 MN rigid (Hitchcock 1935, in Roberts, Cold Rolling of Steel, from
    memory). At constant pressure R' is the root of a quadratic in its square root.
    """
    stand, gap, pressure = Stand(0.250, 0.12), Gap(1.0, 1.00e-3, 0.75e-3), 200e6
    taken = draft(gap.thickness_in, gap.thickness_out)
    slope = 0.250 * hitchcock(stand) * pressure / sqrt(taken)
    root = ((slope + sqrt(slope**2 + 4 * 0.250)) / 2) ** 2
    force = roll_force(gap, pressure, stand)

    assert hitchcock(stand) * 1e6 == pytest.approx(2.2069e-5, rel=1e-4)
    assert root == pytest.approx(0.28742, rel=1e-4)
    assert force == pytest.approx(pressure * sqrt(root * taken), rel=1e-9)
    assert force == pytest.approx(1.6953e6, rel=1e-3)
    assert roll_force(gap, pressure, stand, flatten=False) == pytest.approx(1.5811e6, rel=1e-3)


def test_the_orders_of_magnitude_are_those_of_the_trade() -> None:
    """Common practice, no source: several MN. Rigid rolls without friction: 8 to 4 mm 5.9 MN, 1.00 to 0.75 mm 1.25."""
    thick = mean_flow_stress(180e6, 0.1, true_strain(8e-3, 4e-3))
    thin = mean_flow_stress(180e6, 0.1, true_strain(1.00e-3, 0.75e-3))

    assert roll_force(Gap(1.0, 8e-3, 4e-3), thick, Stand(0.350, 0.1), flatten=False) == pytest.approx(5.9e6, rel=0.01)
    assert roll_force(Gap(1.0, 1e-3, 0.75e-3), thin, Stand(0.300, 0.1), flatten=False) == pytest.approx(
        1.25e6, rel=0.01
    )


def test_a_told_force_of_770_tons_is_what_such_a_plate_takes() -> None:
    """Common practice, no source: plate of a third of an inch, three feet wide, under 770 (short) tons: 6.85 MN."""
    told = 770 * SHORT_TON_FORCE
    load = pass_load(Gap(0.9144, 8.3e-3, 4.2e-3), material("zinc"), Stand(0.350, 0.12))

    assert told == pytest.approx(6.85e6, abs=0.01e6)
    assert told / 2 < load.force < told * 2


def test_strain_of_earlier_passes_makes_the_strip_harder() -> None:
    """One mean over two passes is the mean of the two, weighted by strain."""
    first = mean_flow_stress(180e6, 0.1, 0.4)
    second = mean_flow_stress(180e6, 0.1, 0.6, strain_before=0.4)

    assert second > first
    assert 0.4 * first + 0.6 * second == pytest.approx(mean_flow_stress(180e6, 0.1, 1.0), rel=1e-12)


@given(st.floats(2e-3, 8e-3), st.floats(0.02, 0.3), st.floats(0.1, 0.4))
def test_force_rises_with_reduction_and_flattening(thick: float, reduction: float, radius: float) -> None:
    """And torque is half the contact length times the force, on each roll."""
    metal, stand = material("zinc-titanium"), Stand(radius, 0.35)
    light = pass_load(Gap(1.0, thick, thick * (1 - reduction)), metal, stand)
    heavy = pass_load(Gap(1.0, thick, thick * (1 - 1.1 * reduction)), metal, stand)
    rigid = pass_load(Gap(1.0, thick, thick * (1 - reduction)), metal, stand, flatten=False)

    assert heavy.force > light.force > rigid.force
    assert light.radius > radius == rigid.radius
    assert light.torque == pytest.approx(light.force * light.contact_length / 2)
    assert light.power == 0.0


def test_a_pass_beyond_the_mill_is_refused() -> None:
    """By force or by power, with the way out."""
    gap, zinc = Gap(1.0, 8e-3, 4.5e-3), material("zinc")
    with pytest.raises(ValueError, match=r"takes \d\.\d+ MN, but the mill bears 5 MN: take less off"):
        pass_load(gap, zinc, Stand(0.35, 0.12, force_limit=5e6))
    with pytest.raises(ValueError, match=r"takes \d+ kW, but the drive gives 100 kW: roll slower"):
        pass_load(gap, zinc, Stand(0.35, 0.12, power_limit=100e3), speed=2.0)


def test_foil_between_large_soft_rolls_cannot_be_rolled() -> None:
    """The roll flattens without end: every mill has a thinnest strip."""
    with pytest.raises(ValueError, match="flatten without end"):
        roll_force(Gap(1.0, 0.05e-3, 0.048e-3), 500e6, Stand(0.300, 0.2), hill=True)


def test_a_schedule_of_an_invented_mill_stays_between_two_and_six_meganewtons() -> None:
    """Demo plant, 360 mm rolls; memory of the trade says 4 to 10 MN at a metre of width for larger rolls."""
    exits = [exit_mm / 1e3 for exit_mm in (8.2, 5.2, 3.3, 2.1, 1.35, 0.95, 0.70)]
    loads = schedule_loads(1.034, exits, material("zinc-titanium"), Stand(0.180, 0.15))

    assert len(loads) == 6
    assert all(2e6 < load.force < 6e6 for load in loads)
    assert all(hard.pressure > soft.pressure for soft, hard in pairwise(loads))
