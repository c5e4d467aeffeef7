"""Metal that runs as a stream through stations and loopers, against the closed form and the spectral solution.

Lives count tonnes, so a slowed station fails more rarely: with lives in running hours the numbers would be others.
"""

import numpy as np
import pytest
from line.judging import level, measure, runs_of, stands, tonnes_per_hour
from line.oracles import fluid
from line.texts import exponential, stop, stream

TONNE = 1000.0


def work(life_t: float, repair_h: float, rate: float = 1.0) -> dict[str, object]:
    """Return a station of so many tonnes an hour that stops after so many tonnes on average."""
    stops = [stop(exponential(f"{life_t!r} t"), exponential(f"{repair_h!r} h"))]
    return {"rate": f"{rate!r} t/h", "failures": stops}


@pytest.mark.parametrize(
    ("size", "published"),
    [
        (0, 0.833333),
        (1, 0.836969),
        (5, 0.848586),
        (10, 0.858726),
        (20, 0.871369),
        (50, 0.887574),
        (100, 0.896552),
    ],
)
def test_two_equal_stations_and_a_looper(size: int, published: float) -> None:
    """S. B. Gershwin, Manufacturing Systems Engineering (1994), chapter 3, the model (from memory)."""
    text = stream([work(100, 10)] * 2, [f"{size} t"], warm_up="1000 h", length="50000 h")

    stands(measure(text, tonnes_per_hour("work 1"))[0], published)


def test_the_looper_of_two_equal_stations_is_half_full() -> None:
    """By symmetry; stated to 3 %, so half-widths to 2.1 %."""
    text = stream([work(100, 10)] * 2, ["20 t"], warm_up="1000 h", length="300000 h")

    stands(measure(text, level("looper 0", TONNE))[0], 10.0, within=0.03, narrow=0.021)


def test_two_different_stations_and_a_looper() -> None:
    """Spectral solution, written apart: output 0.801423, level 10.1257, empty 0.15317 and full 0.47463 of the time."""
    text = stream([work(100, 1 / 0.09), work(50, 10)], ["15 t"], warm_up="1000 h", length="850000 h")
    made, filled, empty, full = [], [], [], []
    for totals in runs_of(text):
        store = totals.layout.stores.index("looper 0")
        made.append(tonnes_per_hour("work 1")(totals))
        filled.append(level("looper 0", TONNE)(totals))
        empty.append(float(totals.store_empty_s[store]) / totals.duration_s)
        full.append(float(totals.store_full_s[store]) / totals.duration_s)

    stands(made, 0.801423)
    stands(filled, 10.1257, within=0.03, narrow=0.021)
    stands(empty, 0.15317, within=0.03, narrow=0.021)
    stands(full, 0.47463, within=0.03, narrow=0.021)


def test_two_different_stations_make_the_same_the_other_way_round() -> None:
    """The mirror image of the line above."""
    text = stream([work(50, 10), work(100, 1 / 0.09)], ["15 t"], warm_up="1000 h", length="60000 h")

    stands(measure(text, tonnes_per_hour("work 1"))[0], 0.801423)


def test_a_faster_second_station_fails_in_proportion_to_its_speed() -> None:
    """Spectral solution: output 0.881862, mean level 1.318 (to 3 %)."""
    text = stream([work(100, 10), work(120, 10, rate=1.2)], ["10 t"], warm_up="1000 h", length="220000 h")
    made, filled = measure(text, tonnes_per_hour("work 1"), level("looper 0", TONNE))

    stands(made, 0.881862)
    stands(filled, 1.31839, within=0.03, narrow=0.021)


@pytest.mark.parametrize(("counts", "published"), [("running", 0.8), ("clock", 0.787092)])
def test_three_stations_without_a_looper_say_which_clock_their_failures_use(counts: str, published: float) -> None:
    """J. A. Buzacott 1967; Gershwin (1994), section 3 (from memory).

    By running time 1 / (1 + sum of repair over life); by the clock the product of the shares of time up.
    """
    lives = ((100, 10), (200, 20), (50, 2.5))
    works = [
        {"rate": "1 t/h", "failures": [stop(exponential(f"{up} h"), exponential(f"{down} h"), counts=counts)]}
        for up, down in lives
    ]
    text = stream(works, ["0 t", "0 t"], warm_up="1000 h", length="60000 h")

    stands(measure(text, tonnes_per_hour("work 2"))[0], published)
    assert np.prod([up / (up + down) for up, down in lives]) == pytest.approx(0.787092, abs=5e-7)
    assert 1.0 / (1.0 + sum(down / up for up, down in lives)) == pytest.approx(0.8)


def test_the_solver_and_the_simulation_agree_where_nothing_was_printed() -> None:
    """A slow second station that fails often: one case of the solver that no table holds."""
    exact = fluid.pair(fluid.Station(1.3, 0.02, 0.2), fluid.Station(0.9, 0.03, 0.25), 4.0)
    text = stream([work(65, 5, rate=1.3), work(30, 4, rate=0.9)], ["4 t"], warm_up="500 h", length="60000 h")
    made, filled = measure(text, tonnes_per_hour("work 1"), level("looper 0", TONNE))

    stands(made, exact.output)
    stands(filled, exact.level, within=0.03, narrow=0.021)
