"""The slitter against an invented demo plant's printed table, and its mass balance."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twin.process.slitter import SlitterTimes, cutting_time, cycle_time, fitting_patterns, slit, trim_share

# Invented demo plant: a cropped coil of 4.9 t x 0.978, 1034 mm wide; minutes as printed.
COIL = 4900 * 0.978
WIDTH = 1.034
TIMES = SlitterTimes(
    load=180, thread=240, unload=180, speed=125 / 60, stop_start=48, per_ring=84, crane_in=150
)  # s and m/s
LENGTHS = {0.70: 927.3, 0.65: 998.6, 0.80: 811.4}  # m

# pattern, gauge mm, rings mm, trim %, cycle min, mass of the first ring kg. The table prints 926, 4630 and 2315 kg for
# F, G and H: 4.6 kg a coil less than its own mass balance leaves, so those three are worked out here.
PRINTED = [
    ("A", 0.70, (333, 333, 333), 3.4, 24.9, 1543),
    ("B", 0.80, (400, 400, 200), 3.3, 24.0, 1854),
    ("C", 0.70, (250, 250, 250, 250), 3.3, 26.3, 1159),
    ("D", 0.65, (325, 325, 325), 5.7, 25.5, 1506),
    ("E", 0.65, (260, 260, 260, 200), 5.2, 26.9, 1205),
    ("F", 0.70, (200,) * 5, 3.3, 27.7, 926.9),
    ("G", 0.70, (1000,), 3.3, 22.1, 4634.6),
    ("H", 0.70, (500, 500), 3.3, 23.5, 2317.3),
]  # fmt: skip


@pytest.mark.parametrize(("pattern", "gauge", "rings", "trim", "cycle", "ring"), PRINTED)
def test_patterns_weigh_and_last_what_the_demo_table_prints(
    pattern: str, gauge: float, rings: tuple[int, ...], trim: float, cycle: float, ring: float
) -> None:
    """The cycle holds the crane that brings the coil, but neither setup nor the crane that takes the rings away."""
    widths = [width / 1e3 for width in rings]
    cut = slit(COIL, WIDTH, widths)

    assert cut.trim_share * 100 == pytest.approx(trim, abs=0.05), pattern
    assert cut.ring_masses[0] == pytest.approx(ring, abs=0.6)
    assert cycle_time(LENGTHS[gauge], len(rings), TIMES) / 60 == pytest.approx(cycle, abs=0.051)


@given(st.lists(st.floats(0.05, 0.4), min_size=1, max_size=8), st.floats(100, 10_000), st.floats(0, 0.03))
def test_rings_and_trim_weigh_what_the_coil_did(rings: list[float], mass: float, edge: float) -> None:
    """Mass in = mass out for any pattern that fits."""
    width = sum(rings) + 2 * edge
    cut = slit(mass, width, rings, edge_trim=edge)

    assert sum(cut.ring_masses) + cut.trim_mass == pytest.approx(mass, rel=1e-9)
    assert cut.trim_share == pytest.approx(2 * edge / width, abs=1e-9)


def test_a_pattern_wider_than_the_coil_is_refused() -> None:
    """With the surplus and the ways out."""
    with pytest.raises(ValueError, match="add up to 1050 mm, 16 mm more than the 1034 mm strip: drop a ring"):
        slit(COIL, WIDTH, [0.35, 0.35, 0.35])


def test_edge_trims_count_as_width() -> None:
    """Three rings of 333 mm leave 17.5 mm an edge, so 20 mm do not fit."""
    assert trim_share(WIDTH, [0.333] * 3, edge_trim=0.0175) == pytest.approx(0.035 / 1.034)
    with pytest.raises(ValueError, match="5 mm more than the 1034 mm strip"):
        trim_share(WIDTH, [0.333] * 3, edge_trim=0.020)


def test_widths_that_were_converted_may_fill_the_coil_exactly() -> None:
    """Ten rings of 0.1 m do not add up to 1.0 in floats."""
    assert trim_share(1.0, [0.1] * 10) == pytest.approx(0.0, abs=1e-12)


def test_a_pattern_needs_a_ring() -> None:
    """An empty list is refused."""
    with pytest.raises(ValueError, match="at least one ring"):
        trim_share(WIDTH, [])


def test_fitting_patterns_are_all_that_leave_no_room() -> None:
    """Against a brute-force count of 333, 250 and 200 mm rings on 1034 mm with 8 mm edges."""
    widths = (333, 250, 200)
    room = 1034 - 16
    brute = {
        (a, b, c)
        for a in range(4)
        for b in range(5)
        for c in range(6)
        if room - 200 < 333 * a + 250 * b + 200 * c <= room
    }
    found = fitting_patterns(WIDTH, [width / 1e3 for width in widths], edge_trim=0.008)

    assert {tuple(pattern.count(width / 1e3) for width in widths) for pattern in found} == brute
    assert len(found) == len(brute)
    used = [sum(pattern) for pattern in found]
    assert used == sorted(used, reverse=True)


def test_the_arbor_limits_the_rings() -> None:
    """No more than four rings side by side."""
    assert max(len(pattern) for pattern in fitting_patterns(WIDTH, [0.2, 0.333], most_rings=4)) == 4


def test_running_is_a_third_of_the_cycle() -> None:
    """8 of 25 minutes: so twice the speed saves at most about 15 % (checked against the invented table)."""
    run = cutting_time(927.3, 125 / 60, 48)
    slow = cycle_time(927.3, 3, TIMES)
    fast = cycle_time(927.3, 3, TIMES._replace(speed=2 * TIMES.speed))

    assert run / 60 == pytest.approx(8.2, abs=0.05)
    assert 1 - fast / slow == pytest.approx(0.15, abs=0.005)
