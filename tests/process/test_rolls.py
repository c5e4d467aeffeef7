"""Wear of rolls against Archard's law, and the bookkeeping of campaigns and grinds."""

from math import inf, pi

import pytest

from twin.materials import material
from twin.process.rolling import Stand, schedule_loads
from twin.process.rolls import (
    CampaignLimit,
    Duty,
    WearLaw,
    archard_volume,
    equivalent_length,
    grinds_left,
    used,
    wear_depth,
    wear_weight,
)

LAW = WearLaw(force_per_width=3e6, thickness=0.70e-3)


def test_worn_volume_is_that_of_archard() -> None:
    """k 1e-4, 1000 N, 5000 m, 2 GPa: 250 mm3 (J. F. Archard, J. Appl. Phys. 24 (1953), from memory)."""
    assert archard_volume(1e-4, 1000, 5000, 2e9) * 1e9 == pytest.approx(250, rel=1e-12)


def test_wear_depth_is_the_worn_volume_over_the_face_that_the_strip_touches() -> None:
    """57 km at 3 MN on a metre of width, an invented coefficient."""
    duty = Duty(length=57e3, mass=98e3, force_per_width=3e6, thickness=0.70e-3)
    depth = wear_depth(duty, coefficient=1e-6, slip=0.08, hardness=7e9, roll_diameter=0.36)

    width = 1.0
    volume = archard_volume(1e-6, 3e6 * width, 57e3 * 0.08, 7e9)
    assert depth * pi * 0.36 * width == pytest.approx(volume, rel=1e-12)


def test_a_kilometre_of_thin_hard_strip_costs_more_life_than_one_of_thick() -> None:
    """Loads from the rolling model: the first and the last pass of an invented schedule."""
    exits = [exit_mm / 1e3 for exit_mm in (8.2, 5.2, 3.3, 2.1, 1.35, 0.95, 0.70)]
    loads = schedule_loads(1.034, exits, material("zinc-titanium"), Stand(0.180, 0.15))
    weights = [
        wear_weight(Duty(1e3, 1.0, load.force / 1.034, out), LAW) for load, out in zip(loads, exits[1:], strict=True)
    ]

    assert weights == sorted(weights)
    assert weights[-1] > 3 * weights[0]


def test_reference_strip_counts_once() -> None:
    """Half the gauge counts twice, half the force counts half."""
    assert wear_weight(Duty(1.0, 1.0, 3e6, 0.70e-3), LAW) == 1.0
    assert wear_weight(Duty(1.0, 1.0, 3e6, 0.35e-3), LAW) == pytest.approx(2.0)
    assert wear_weight(Duty(1.0, 1.0, 1.5e6, 0.70e-3), LAW) == pytest.approx(0.5)
    flat = LAW._replace(force_exponent=0.0, gauge_exponent=0.0)
    assert wear_weight(Duty(1.0, 1.0, 9e6, 0.10e-3), flat) == 1.0


def test_equivalent_kilometres_add_up() -> None:
    """10 km of reference strip and 10 km of half the gauge are 30 km."""
    duties = [Duty(10e3, 17e3, 3e6, 0.70e-3), Duty(10e3, 9e3, 3e6, 0.35e-3)]

    assert equivalent_length(duties, LAW) == pytest.approx(30e3)


def test_a_campaign_ends_with_its_first_limit() -> None:
    """40 of 57 km are 70 %, 90 of 98 t are 92 %."""
    limit = CampaignLimit(length=57e3, mass=98e3)

    state = used(40e3, 90e3, 0.0, limit)
    assert state.by == "tonnes"
    assert state.share == pytest.approx(90 / 98)
    assert used(56e3, 50e3, 0.0, limit).by == "kilometres"
    assert used(0.0, 0.0, 12e-6, CampaignLimit(depth=10e-6)).share == pytest.approx(1.2)


def test_a_campaign_without_a_limit_is_refused() -> None:
    """It would never end; nor may a limit be nothing."""
    with pytest.raises(ValueError, match="needs a limit in kilometres, tonnes or wear depth"):
        used(1.0, 1.0, 0.0, CampaignLimit())
    with pytest.raises(ValueError, match="the limit in kilometres is 0"):
        used(1.0, 1.0, 0.0, CampaignLimit(length=0.0, mass=inf))


def test_an_invented_roll_is_ground_178_times() -> None:
    """360 to 335 mm, 0.14 mm off the diameter each time."""
    assert grinds_left(0.360, 0.335, 0.14e-3) == 178
    assert grinds_left(0.360, 0.335, 0.6e-3) == 41
    assert grinds_left(0.334, 0.335, 0.14e-3) == 0
    assert grinds_left(0.336, 0.335, 0.5e-3) == 2
