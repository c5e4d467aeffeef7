"""Shapes and pieces against worked examples and tables."""

from math import radians

import pytest

from twin.materials import material
from twin.process.profiler import (
    Bend,
    bend_allowance,
    bend_factor,
    developed_girth,
    good_pieces,
    half_round_girth,
    piece_time,
    round_pipe_girth,
    square_pipe_girth,
    thermal_movement,
)
from twin.process.sizes import (
    EXPANSION_JOINT_SPACING,
    NARROWEST_STRIP,
    PREFERRED_SHEET_LENGTHS,
    PREFERRED_THICKNESSES,
    THICKNESS_TOLERANCE,
    WIDEST_STRIP,
    gutter_size,
    gutter_sizes,
)


def test_bend_allowance_matches_the_worked_example() -> None:
    """60 degrees, R 4.75 mm, 3.2 mm sheet (R/t below 2, so K 0.33): 6.080 mm, blank 69.08 mm.

    Groover, sheet-metal bending example (20.2 in the 4th edition; from memory).
    """
    bend = Bend(radians(60), 4.75e-3)

    assert bend_allowance(bend.angle, bend.radius, 3.2e-3) == pytest.approx(6.080e-3, rel=1e-3)
    assert developed_girth([38e-3, 25e-3], [bend], 3.2e-3) == pytest.approx(69.08e-3, rel=1e-3)


def test_wide_bends_stretch_the_sheet_less() -> None:
    """From twice the thickness on the unstretched fibre is taken in the middle (same source)."""
    assert bend_factor(1.9e-3, 1e-3) == 0.33
    assert bend_factor(2.0e-3, 1e-3) == 0.50
    assert bend_allowance(1.0, 5e-3, 1e-3, factor=0.4) == pytest.approx(5.4e-3)


@pytest.mark.parametrize("nominal", gutter_sizes())
def test_a_half_round_gutter_fits_the_strip_it_is_named_for(nominal: int) -> None:
    """Shapes after DIN 18461 as quoted: half circle, bead and rear edge leave 12 to 20 mm for the straight parts."""
    size = gutter_size(nominal)
    left = size.girth - half_round_girth(size.diameter, size.bead, size.rear_edge)

    assert 12e-3 < left < 20e-3
    assert half_round_girth(size.diameter, size.bead, size.rear_edge, straight=left) == pytest.approx(size.girth)


def test_gutter_sheet_is_as_thick_as_the_table_prints() -> None:
    """After EN 612 as quoted: up to 250 0.65 mm zinc, up to 333 0.70, above 0.80."""
    zinc = {nominal: gutter_size(nominal).thickness["zinc"] * 1e3 for nominal in gutter_sizes()}

    assert zinc == {200: 0.65, 250: 0.65, 280: 0.70, 333: 0.70, 400: 0.80, 500: 0.80}
    assert gutter_size(333).thickness["aluminium"] == pytest.approx(0.7e-3)
    assert gutter_size(400).thickness["stainless steel"] == pytest.approx(0.5e-3)


def test_gutter_sizes_are_whole_parts_of_a_two_metre_sheet() -> None:
    """333 mm is the six-part gutter, 500 the four-part one; 280 is near seven parts."""
    assert [round(2000 / nominal) for nominal in gutter_sizes()] == [10, 8, 7, 6, 5, 4]
    assert all(abs(2000 / round(2000 / nominal) - nominal) < 6 for nominal in gutter_sizes())


def test_an_unknown_gutter_size_is_refused() -> None:
    """With the sizes there are."""
    with pytest.raises(ValueError, match="no gutter has the nominal size 330: sizes are 200, 250, 280, 333"):
        gutter_size(330)


def test_flat_zinc_comes_in_the_preferred_sizes() -> None:
    """EN 988:1996 section 5, from a scanned text."""
    assert [round(thickness * 1e3, 2) for thickness in PREFERRED_THICKNESSES] == [0.60, 0.65, 0.70, 0.80, 1.00]
    assert (NARROWEST_STRIP, WIDEST_STRIP) == (0.1, 1.0)
    assert PREFERRED_SHEET_LENGTHS == (2.0, 3.0)
    lightest, heaviest = (0.70e-3 - THICKNESS_TOLERANCE) * 7200, (0.70e-3 + THICKNESS_TOLERANCE) * 7200
    assert (lightest, heaviest) == pytest.approx((4.824, 5.256), abs=1e-9)  # kg/m2


def test_a_gutter_moves_33_mm_between_two_joints() -> None:
    """15 m of zinc over 100 K, at 22e-6/K."""
    moved = thermal_movement(EXPANSION_JOINT_SPACING, 100.0, material("zinc-titanium").thermal_expansion)

    assert moved == pytest.approx(33.0e-3, rel=1e-9)


@pytest.mark.parametrize(("diameter", "printed"), [(80, 1.161), (100, 1.451)])
def test_round_pipes_weigh_their_printed_mass(diameter: float, printed: float) -> None:
    """Zinc downpipes of 0.65 mm, published table; outside or middle diameter differ by 0.8 %."""
    mass = round_pipe_girth(diameter / 1e3 - 0.65e-3) * 0.65e-3 * 7140
    outer = round_pipe_girth(diameter / 1e3) * 0.65e-3 * 7140

    assert mass - 0.0005 <= printed <= outer + 0.0005


@pytest.mark.parametrize(("side", "printed", "rounding"), [(80, 1.485, 0.0005), (100, 1.860, 0.005)])
def test_square_pipes_weigh_their_printed_mass(side: float, printed: float, rounding: float) -> None:
    """The same table, no seam; its 100 mm row is 0.2 % heavier than 7.14 g/cm3 makes it."""
    assert square_pipe_girth(side / 1e3) * 0.65e-3 * 7140 == pytest.approx(printed, abs=rounding)


def test_a_seam_takes_strip() -> None:
    """A pipe of 100 mm from 325 mm strip has 11 mm for its seam (invented demo plant)."""
    assert round_pipe_girth(0.100, seam=10.84e-3) == pytest.approx(0.325, abs=1e-5)
    assert square_pipe_girth(0.080, seam=5e-3) == pytest.approx(0.325)


@pytest.mark.parametrize(
    ("speed", "girth", "gauge", "rate"),
    [(40, 333, 0.70, 3.99), (42, 250, 0.70, 3.15), (24, 400, 0.80, 3.29), (15, 325, 0.65, 1.36), (17, 260, 0.65, 1.23)],
)
def test_invented_profilers_make_their_printed_tonnes(speed: float, girth: float, gauge: float, rate: float) -> None:
    """Pieces of 3 m without gap, jam or scrap, t/h."""
    time = piece_time(3.0, speed / 60)
    mass = 3.0 * girth / 1e3 * gauge / 1e3 * 7140

    assert mass / time * 3.6 == pytest.approx(rate, abs=0.005)


def test_a_gap_between_pieces_costs_time() -> None:
    """3 m pieces half a metre apart at 0.7 m/s: five seconds."""
    assert piece_time(3.0, 0.7, gap=0.5) == pytest.approx(5.0)


def test_scrap_takes_its_share_of_the_pieces() -> None:
    """1.8 % of 1000."""
    assert good_pieces(1000, 0.018) == pytest.approx(982)


@pytest.mark.parametrize(("length", "kelvin", "millimetres"), [(15, 100, 33.0), (4, 80, 7.04)])
def test_zinc_moves_with_the_weather(length: float, kelvin: float, millimetres: float) -> None:
    """22e-6/K; exact arithmetic."""
    assert thermal_movement(length, kelvin, 22e-6) * 1e3 == pytest.approx(millimetres, rel=1e-12)
