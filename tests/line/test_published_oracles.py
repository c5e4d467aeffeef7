"""The answers that judge the simulation are themselves held against printed numbers, before any simulation runs.

All of it together takes about four seconds.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
from line.oracles import fluid, queues, recursion, renewal, tandem, tandem_by_ciw


def test_the_exponential_queue_is_that_of_the_worked_example() -> None:
    """R. Bronson, Operations Research (1982), example 23.3: 24 arrivals and 30 services an hour."""
    queue = queues.exponential_queue(24.0, 30.0)

    assert queue.present == pytest.approx(4.0, rel=1e-6)
    assert queue.stay == pytest.approx(1.0 / 6.0, rel=1e-6)
    assert queue.idle == pytest.approx(0.2, rel=1e-6)
    assert queue.waiting == pytest.approx(3.2, rel=1e-6)
    assert queue.wait == pytest.approx(0.4 / 3.0, rel=1e-6)


def test_one_doctor_and_two_doctors_match_the_county_hospital() -> None:
    """F. S. Hillier and G. J. Lieberman, Introduction to Operations Research, chapter 17 (from memory)."""
    one, two = queues.exponential_queue(2.0, 3.0), queues.exponential_queue(2.0, 3.0, machines=2)

    assert (one.idle, one.waiting, one.present) == pytest.approx((1.0 / 3.0, 4.0 / 3.0, 2.0), rel=1e-6)
    assert (one.wait, one.stay) == pytest.approx((2.0 / 3.0, 1.0), rel=1e-6)
    assert (two.idle, two.waiting, two.present) == pytest.approx((0.5, 1.0 / 12.0, 0.75), rel=1e-6)
    assert (two.wait, two.stay, two.must_wait) == pytest.approx((1.0 / 24.0, 0.375, 1.0 / 6.0), rel=1e-6)


def test_queues_with_few_places_match_the_text() -> None:
    """D. Gross and C. M. Harris, Fundamentals of Queueing Theory, chapter 2 (from memory)."""
    five, four = queues.exponential_queue(0.8, 1.0, places=5), queues.exponential_queue(1.0, 1.0, places=4)

    assert five.turned_away == pytest.approx(0.088819, abs=5e-7)
    assert (five.present, five.throughput, five.stay) == pytest.approx((1.868332, 0.728944, 2.563065), abs=5e-7)
    assert (four.turned_away, four.present, four.throughput, four.stay) == pytest.approx((0.2, 2.0, 0.8, 2.5))


def test_one_machine_with_any_service_time_matches_pollaczek_and_khinchine() -> None:
    """Gross and Harris, chapter 5 (from memory): constant times, and times of squared variation 2."""
    constant, wild = queues.general_queue(0.8, 1.0, 0.0), queues.general_queue(0.7, 1.0, 2.0)

    assert (constant.wait, constant.stay, constant.waiting, constant.present) == pytest.approx((2.0, 3.0, 1.6, 2.4))
    assert (wild.wait, wild.present) == pytest.approx((3.5, 3.15))


def test_stops_and_changes_draw_process_times_out_as_in_factory_physics() -> None:
    """W. J. Hopp and M. L. Spearman, Factory Physics, chapter 8 (from memory)."""
    te, ce2 = queues.with_stops(10.0, 0.0, 90.0, 10.0, 1.0)
    assert (te, ce2) == pytest.approx((11.1111, 0.18), rel=1e-5)
    assert queues.general_queue(0.08, te, ce2).wait == pytest.approx(52.4444, abs=5e-5)

    hare, hare_scv = queues.with_stops(15.0, 0.05, 744.0, 248.0, 1.0)
    assert (hare, hare_scv) == pytest.approx((20.0, 6.25), rel=1e-9)
    assert queues.general_queue(0.875 / hare, hare, hare_scv).wait == pytest.approx(507.5, rel=1e-9)

    mean, variance = queues.with_changes(1.0, 0.25, 10.0, 2.0, 0.25)
    assert (mean, variance, variance / mean**2) == pytest.approx((1.2, 0.4475, 0.310764), rel=1e-5)


def test_the_wait_before_several_machines_matches_the_approximation() -> None:
    """Sakasegawa 1977, as in Factory Physics, chapter 8 (from memory)."""
    assert queues.many_machines_wait(2, 0.9, 10.0, 0.8, 0.5) == pytest.approx(27.897, abs=5e-4)


def test_the_machine_repair_shares_match_the_police_cars() -> None:
    """W. L. Winston, Operations Research, 4th edition, section 20.9 (from memory): 5 cars, 2 repairers."""
    shares = queues.machine_repair(5, 2, 30.0, 3.0)
    down = float(shares @ np.arange(6))

    assert shares[:4] == pytest.approx([0.6186, 0.3093, 0.0619, 0.0093], abs=5e-5)
    assert 5.0 - down == pytest.approx(4.535, abs=5e-4)
    assert down / ((5.0 - down) / 30.0) == pytest.approx(3.0746, abs=5e-5)


def test_closed_loops_match_mean_value_analysis() -> None:
    """Hopp and Spearman, chapter 7, Penny Fab One; Reiser and Lavenberg 1980 (both from memory)."""
    for jobs, published in ((1, 0.125), (4, 0.285714), (10, 0.384615), (20, 0.434783)):
        assert queues.closed_loop([2.0] * 4, jobs)[0] == pytest.approx(published, abs=5e-7)
    throughput, numbers = queues.closed_loop([2.0, 5.0, 3.0], 6)
    assert throughput == pytest.approx(0.193348, abs=5e-7)
    assert numbers == pytest.approx([0.6098, 4.1613, 1.2289], abs=5e-5)


@pytest.mark.parametrize(
    ("rates", "places", "published"),
    [
        ((1, 1), (0,), 2 / 3),
        ((1, 1), (1,), 3 / 4),
        ((1, 1), (2,), 4 / 5),
        ((1, 1), (10,), 12 / 13),
        ((1, 1, 1), (0, 0), 22 / 39),
        ((1, 1, 1), (1, 1), 8529 / 12721),
        ((1, 1, 1, 1), (0, 0, 0), 0.514775),
        ((1, 2), (1,), 14 / 15),
        ((2, 1, 1.5), (1, 2), 0.889976),
        ((1.5, 1, 2), (2, 1), 0.889976),
    ],
)
def test_the_chain_of_a_tandem_gives_the_tabled_output(
    rates: tuple[float, ...], places: tuple[int, ...], published: float
) -> None:
    """F. S. Hillier and R. W. Boling, Operations Research 15 (1967), tables (from memory)."""
    assert tandem.exponential_tandem(rates, places).output == pytest.approx(published, rel=1e-6)


def test_three_stations_without_places_are_blocked_and_starved_as_published() -> None:
    """Same source; 22/39 also G. C. Hunt, Operations Research 4 (1956)."""
    solved = tandem.exponential_tandem((1, 1, 1), (0, 0))

    assert solved.blocked == pytest.approx([0.4359, 0.2308, 0.0], abs=5e-5)
    assert solved.starved == pytest.approx([0.0, 0.2051, 0.4359], abs=5e-5)


def test_the_recursion_and_the_chain_agree_on_a_tandem() -> None:
    """Two methods that share nothing: sums and maxima of drawn times, and the steady state of the chain."""
    outputs = []
    for seed in range(20):
        times = np.random.default_rng(seed).exponential(1.0, (8000, 3))
        left = recursion.departures(times, [0, 1])[:, -1]
        outputs.append(7500.0 / (left[-1] - left[499]))
    half = 2.861 * np.std(outputs, ddof=1) / np.sqrt(20)

    exact = tandem.exponential_tandem((1, 1, 1), (0, 1)).output

    assert abs(np.mean(outputs) - exact) < half < 0.007 * exact


def test_the_recursion_gives_the_makespans_of_the_flow_shop() -> None:
    """S. M. Johnson, Naval Research Logistics Quarterly 1 (1954); numbers of Heizer and Render (from memory)."""
    times = np.array([[5.0, 2.0], [3.0, 6.0], [8.0, 4.0], [10.0, 7.0], [7.0, 12.0]])
    roomy = recursion.sequences(times, [recursion.UNLIMITED])
    tight = recursion.sequences(times, [0])

    assert roomy[(1, 4, 3, 2, 0)] == min(roomy.values()) == 35.0
    assert roomy[(0, 1, 2, 3, 4)] == 45.0
    assert max(roomy.values()) == 48.0
    assert min(tight.values()) == 37.0


@pytest.mark.parametrize("places", [[0, 0], [5, 5], [recursion.UNLIMITED] * 2])
def test_ten_jobs_through_three_fixed_stations_take_57_minutes(places: list[int]) -> None:
    """By hand: 12 minutes for the first, then one every 5 minutes."""
    assert recursion.makespan(np.tile([3.0, 5.0, 4.0], (10, 1)), places) == 57.0


def test_the_best_age_of_rolls_is_that_of_the_renewal_argument() -> None:
    """R. E. Barlow and F. Proschan (1965), chapter 4, policy; numbers calculated apart from this code."""
    best = renewal.best_age(3.0, 120.0, 1.0, 6.0)
    at_best = renewal.campaigns(3.0, 120.0, best, 1.0, 6.0)

    assert best == pytest.approx(55.93, abs=0.005)
    assert (at_best.down, at_best.damaged) == pytest.approx((0.026438, 0.0963), abs=5e-5)
    assert at_best.changes * 1000.0 == pytest.approx(17.845, abs=5e-4)
    assert renewal.campaigns(3.0, 120.0, np.inf, 1.0, 6.0).down == pytest.approx(0.053023, abs=5e-7)


def test_the_expected_renewals_match_the_text() -> None:
    """D. R. Cox, Renewal Theory (1962) (from memory): Weibull, uniform and Erlang lives."""
    for until, published in ((0.5, 0.230794), (1.0, 0.753691), (2.0, 1.894039), (3.0, 3.021745)):
        assert renewal.renewals(renewal.weibull(2.0, 1.0), until) == pytest.approx(published, abs=1e-6)
    assert renewal.renewals(lambda t: np.minimum(t, 1.0), 1.0) == pytest.approx(math.e - 1.0, abs=1e-6)
    erlang = renewal.renewals(lambda t: 1.0 - (1.0 + 2.0 * t) * np.exp(-2.0 * t), 4.0)
    assert erlang == pytest.approx(3.75, abs=1e-5)


@pytest.mark.parametrize(
    ("size", "published"),
    [(1, 0.836969), (5, 0.848586), (10, 0.858726), (20, 0.871369), (50, 0.887574), (100, 0.896552)],
)
def test_the_solver_of_two_stations_and_a_looper_gives_the_closed_form(size: float, published: float) -> None:
    """S. B. Gershwin, Manufacturing Systems Engineering (1994), chapter 3, the model (from memory)."""
    station = fluid.Station(speed=1.0, fail=0.01, repair=0.1)
    solved = fluid.pair(station, station, size)

    assert fluid.equal_pair(0.1, 0.01, 1.0, size) == pytest.approx(published, abs=5e-7)
    assert solved.output == pytest.approx(fluid.equal_pair(0.1, 0.01, 1.0, size), rel=1e-9)
    assert solved.level == pytest.approx(size / 2.0, rel=1e-9)


def test_two_different_stations_and_a_looper_match_the_spectral_solution() -> None:
    """Numbers of a spectral solver written apart from this code; the reversed line makes the same."""
    first = fluid.Station(speed=1.0, fail=0.01, repair=0.09)
    second = fluid.Station(speed=1.0, fail=0.02, repair=0.1)
    solved, back = fluid.pair(first, second, 15.0), fluid.pair(second, first, 15.0)

    assert solved.output == pytest.approx(0.801423, abs=5e-7)
    assert solved.level == pytest.approx(10.1257, abs=5e-5)
    assert (solved.empty, solved.full) == pytest.approx((0.15317, 0.47463), abs=5e-6)
    assert back.output == pytest.approx(solved.output, rel=1e-9)


def test_a_faster_second_station_matches_the_spectral_solution() -> None:
    """Same; the slowed second station fails in proportion to its speed."""
    solved = fluid.pair(fluid.Station(1.0, 0.01, 0.1), fluid.Station(1.2, 0.01, 0.1), 10.0)

    assert solved.output == pytest.approx(0.881862, abs=5e-7)
    assert solved.level == pytest.approx(1.318, abs=5e-4)


def test_the_simulator_of_the_looper_agrees_with_the_solver() -> None:
    """The own event simulator against the exact answer, different speeds; 20 runs of 40 000 h."""
    made = []
    for seed in range(20):
        draw = np.random.default_rng(seed)
        lives = [draw.exponential(100.0, 800), draw.exponential(120.0, 800)]
        repairs = [draw.exponential(10.0, 800) for _ in range(2)]
        made.append(fluid.simulate_line([1.0, 1.2], [10.0], lives, repairs, 40_000.0).made / 40_000.0)
    half = 2.861 * np.std(made, ddof=1) / np.sqrt(20)

    exact = fluid.pair(fluid.Station(1.0, 0.01, 0.1), fluid.Station(1.2, 0.01, 0.1), 10.0).output

    assert abs(np.mean(made) - exact) < half < 0.007 * exact


def test_adding_room_to_a_fluid_line_never_lowers_what_it_makes() -> None:
    """The own simulator keeps the law that the real one will be held to."""
    draw = np.random.default_rng(7)
    lives = [draw.exponential(50.0, 400) for _ in range(3)]
    repairs = [draw.exponential(5.0, 400) for _ in range(3)]

    made = [fluid.simulate_line([1.0, 1.1, 0.9], [a, a], lives, repairs, 5_000.0).made for a in (0.0, 2.0, 8.0, 30.0)]

    assert all(less <= more + 1e-9 for less, more in pairwise(made))


def test_ciw_and_the_recursion_agree_on_a_tandem_with_arrivals() -> None:
    """ciw (github.com/CiwPython/Ciw, its documentation on blocking) and the recursion, apart by chance only."""
    by_ciw = [tandem_by_ciw.mean_stay(2.5, (1, 1, 1), (0, 1), until=4000, warm_up=300, seed=s) for s in range(20)]
    by_recursion = []
    for seed in range(20):
        draw = np.random.default_rng(seed)
        arrivals = np.cumsum(draw.exponential(2.5, 1600))
        left = recursion.departures(draw.exponential(1.0, (1600, 3)), [0, 1], arrivals=arrivals)[:, -1]
        by_recursion.append(np.mean((left - arrivals)[arrivals > 300.0]))
    spread = np.sqrt((np.var(by_ciw, ddof=1) + np.var(by_recursion, ddof=1)) / 20)

    assert abs(np.mean(by_ciw) - np.mean(by_recursion)) < 2.72 * spread
