"""The cutter against an invented demo plant's printed pieces, and its mass balance."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twin.process.cutter import piece_mass, piece_rate, pieces_per_ring, ring_time

# ring kg, gauge mm, girth mm, length m, density, pieces, kg a piece: two invented demo plants
PRINTED = [
    (1543, 0.70, 333, 3.0, 7140, 309, 4.993),
    (1854, 0.80, 400, 3.0, 7140, 270, 6.854),
    (1159, 0.70, 250, 3.0, 7140, 309, 3.748),
    (1506, 0.65, 325, 3.0, 7140, 333, 4.525),
    (1205, 0.65, 260, 3.0, 7140, 333, 3.620),
    (1998, 0.70, 430, 6.5, 2730, 374, 5.341),
    (2997, 0.70, 645, 6.5, 2730, 374, 8.012),
    (1487, 0.90, 320, 4.0, 2730, 473, 3.145),
]  # fmt: skip


@pytest.mark.parametrize(("ring", "gauge", "girth", "length", "density", "pieces", "each"), PRINTED)
def test_rings_give_their_printed_pieces(
    ring: float, gauge: float, girth: float, length: float, density: float, pieces: int, each: float
) -> None:
    """Rings without end scrap. The table rounds to the nearest piece; only whole ones are counted here."""
    cut = pieces_per_ring(ring, thickness=gauge / 1e3, girth=girth / 1e3, length=length, density=density)

    assert round(ring / cut.piece_mass) == pieces
    assert cut.count in (pieces - 1, pieces)
    assert cut.count == ring // cut.piece_mass
    assert cut.piece_mass == pytest.approx(each, abs=0.0006)


def test_a_square_downpipe_weighs_its_printed_mass() -> None:
    """80 mm square, 0.65 mm, 7.14 g/cm3: 1.485 kg/m in a published table that leaves out the seam."""
    assert piece_mass(thickness=0.65e-3, girth=4 * 0.080, length=1.0, density=7140) == pytest.approx(1.485, abs=0.0005)


@given(st.floats(50, 5000), st.floats(0.1, 1.0), st.floats(0.3, 6), st.floats(0, 2))
def test_pieces_and_ends_weigh_what_the_ring_did(ring: float, girth: float, length: float, ends: float) -> None:
    """Mass in = mass out, and what is left is too short for one more piece."""
    cut = pieces_per_ring(ring, thickness=0.70e-3, girth=girth, length=length, density=7140, end_scrap=ends)

    assert cut.count * cut.piece_mass + cut.scrap_mass == pytest.approx(ring, rel=1e-9)
    per_metre = cut.piece_mass / length
    assert ends - 1e-6 <= cut.scrap_mass / per_metre < ends + length * (1 + 1e-6)


def test_a_ring_weighed_out_for_whole_pieces_loses_none() -> None:
    """Seven times one piece is seven pieces, whatever the last digit says."""
    each = piece_mass(thickness=0.70e-3, girth=0.333, length=0.1, density=7140)

    for pieces in range(1, 400):
        cut = pieces_per_ring(pieces * each, thickness=0.70e-3, girth=0.333, length=0.1, density=7140)
        assert cut.count == pieces


def test_a_ring_too_short_for_a_piece_is_refused() -> None:
    """The message names the strip that is left."""
    with pytest.raises(ValueError, match=r"leaves 0\.2017 m of strip after 1 m of ends"):
        pieces_per_ring(2.0, thickness=0.70e-3, girth=0.333, length=3.0, density=7140, end_scrap=1.0)


def test_the_slower_of_feed_and_blade_sets_the_pace() -> None:
    """60 m/min make 20 blanks of 3 m a minute, and 60 of 1 m, more than 45 strokes allow."""
    assert piece_rate(3.0, speed=1.0, strokes=45 / 60) * 60 == pytest.approx(20)
    assert piece_rate(1.0, speed=1.0, strokes=45 / 60) * 60 == pytest.approx(45)
    assert piece_rate(1.0, strokes=0.5) == 0.5
    with pytest.raises(ValueError, match="a feed speed, strokes of its blade, or both"):
        piece_rate(1.0)


def test_the_invented_blank_cutter_makes_its_printed_tonnes() -> None:
    """28 blanks a minute, 6.5 min ring change, 12 min width change: printed as 5.2 t/h.

    The table does not say how often the width changes, so 5.2 must lie between never and after every eighth coil of
    three rings.
    """
    ring = 309 * 4.993
    never = ring_time(309, 28 / 60, 6.5 * 60)
    often = never + 12 * 60 / 24

    assert ring / often * 3.6 < 5.2 < ring / never * 3.6
