"""The mill against an invented demo plant's printed pass table, and its mass balance."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twin.process.mill import Pass, Schedule, Strip, coils_within, schedule, throughput

# Two invented demo plants. Minutes hold 5 (4) min of loading a coil and 1.3 (6.5) min after every pass, the last one
# too; speeds are 0.85 (0.82) of the printed ones; kilometres are the exit lengths of all passes before the crop.
ZINC = Strip(mass=4900, width=1.034, thickness=8.2e-3, density=7140)
ALUMINIUM = Strip(mass=6400, width=1.340, thickness=6.2e-3, density=2730)
ZINC_SPEEDS = (60, 90, 120, 150, 170, 180)
ZINC_PASSES = {
    0.70: (5.2, 3.3, 2.1, 1.35, 0.95, 0.70),
    0.65: (5.2, 3.3, 2.1, 1.30, 0.90, 0.65),
    0.80: (5.2, 3.3, 2.1, 1.40, 1.05, 0.80),
}
# gauge mm, minutes a coil, t/h, km in the bite, coils and tonnes in 57 km, final metres
PRINTED = [
    (0.70, 35.9, 8.01, 2.78, 20.5, 98, 927),
    (0.65, 36.8, 7.81, 2.91, 19.6, 94, 999),
    (0.80, 34.5, 8.32, 2.58, 22.1, 106, 811),
]


def passes(exits: tuple[float, ...], speeds: tuple[float, ...]) -> list[Pass]:
    """Return passes from millimetres and metres a minute."""
    return [Pass(exit_mm / 1e3, speed / 60) for exit_mm, speed in zip(exits, speeds, strict=True)]


def rolled(gauge: float) -> Schedule:
    """Return the way of an invented zinc coil."""
    return schedule(ZINC, passes(ZINC_PASSES[gauge], ZINC_SPEEDS), speed_factor=0.85, between_passes=78.0, crop=0.022)


@pytest.mark.parametrize(("gauge", "minutes", "rate", "bite", "coils", "tonnes", "metres"), PRINTED)
def test_a_coil_takes_what_the_demo_table_prints(
    gauge: float, minutes: float, rate: float, bite: float, coils: float, tonnes: float, metres: float
) -> None:
    """Every printed digit."""
    way = rolled(gauge)
    time = way.time + 5 * 60

    assert time / 60 == pytest.approx(minutes, abs=0.05)
    assert throughput(way.out_mass, time) * 3.6 == pytest.approx(rate, abs=0.005)
    assert way.bite_length / 1e3 == pytest.approx(bite, abs=0.005)
    assert coils_within(57e3, way.bite_length) == pytest.approx(coils, abs=0.05)
    assert coils_within(57e3, way.bite_length) * way.out_mass / 1e3 == pytest.approx(tonnes, abs=0.5)
    assert way.out_length == pytest.approx(metres, abs=0.5)


def test_reductions_are_those_of_the_demo_table() -> None:
    """37, 37, 36, 36, 30 and 26 %."""
    reductions = [round(100 * step.reduction) for step in rolled(0.70).passes]

    assert reductions == [37, 37, 36, 36, 30, 26]


@pytest.mark.parametrize(
    ("exits", "speeds", "minutes"),
    [((3.5, 1.95, 1.10, 0.70), (180, 280, 380, 430), 49.5)],
)
def test_the_aluminium_mill_counts_the_same_way(
    exits: tuple[float, ...], speeds: tuple[float, ...], minutes: float
) -> None:
    """49.5 min, 7.55 t/h, 5.49 km, 2432 m for 0.70 mm."""
    way = schedule(ALUMINIUM, passes(exits, speeds), speed_factor=0.82, between_passes=390.0, crop=0.027)
    time = way.time + 4 * 60

    assert time / 60 == pytest.approx(minutes, abs=0.05)
    assert throughput(way.out_mass, time) * 3.6 == pytest.approx(7.55, abs=0.005)
    assert way.bite_length / 1e3 == pytest.approx(5.49, abs=0.005)
    assert way.out_length == pytest.approx(2432, abs=0.5)


@given(
    st.floats(500, 12_000),
    st.lists(st.floats(0.5, 0.95), min_size=1, max_size=7),
    st.floats(0, 0.1),
    st.floats(0.5, 1),
)
def test_no_metal_is_lost_between_the_passes(mass: float, steps: list[float], crop: float, factor: float) -> None:
    """Out and crop weigh what went in, and each pass has the coil's mass in its length."""
    strip = Strip(mass, 1.0, 8e-3, 7140)
    thickness, exits = strip.thickness, []
    for step in steps:
        thickness *= step
        exits.append(Pass(thickness, 2.0))
    way = schedule(strip, exits, speed_factor=factor, crop=crop)

    assert way.out_mass + way.crop_mass == pytest.approx(mass, rel=1e-12)
    assert way.out_length * 1.0 * thickness * 7140 == pytest.approx(way.out_mass, rel=1e-9)
    assert way.bite_length == pytest.approx(sum(step.length for step in way.passes))
    assert way.time == pytest.approx(way.bite_length / (2.0 * factor))
    for done in way.passes:
        assert done.length * done.thickness_out * 7140 == pytest.approx(mass, rel=1e-9)


def test_thinner_strip_asks_more_kilometres_of_the_rolls() -> None:
    """The same coil, three gauges."""
    assert rolled(0.65).bite_length > rolled(0.70).bite_length > rolled(0.80).bite_length


def test_a_pass_that_thickens_is_refused() -> None:
    """By its number and thicknesses."""
    with pytest.raises(ValueError, match="pass 2 must thin the strip, but takes 5.2 mm to 5.2 mm"):
        schedule(ZINC, passes((5.2, 5.2), (60, 90)))


def test_a_standing_pass_is_refused() -> None:
    """A speed of nothing would take for ever."""
    with pytest.raises(ValueError, match="speed of pass 1 is 0, but must be above 0"):
        schedule(ZINC, [Pass(5e-3, 0.0)])


def test_a_mill_without_passes_is_refused() -> None:
    """Nothing is rolled."""
    with pytest.raises(ValueError, match="at least one pass"):
        schedule(ZINC, [])
