"""Lines that hold a fixed number of coils, against mean value analysis and the machine repair model."""

import numpy as np
import pytest
from line.judging import coils_per_hour, level, measure, share, stands
from line.oracles import queues
from line.texts import exponential, in_a_row


@pytest.mark.parametrize(("coils", "published"), [(1, 0.125), (4, 0.285714), (10, 0.384615), (20, 0.434783)])
def test_a_balanced_loop_of_four_gives_the_practical_worst_case(coils: int, published: float) -> None:
    """W. J. Hopp and M. L. Spearman, Factory Physics, chapter 7, Penny Fab One (from memory): w / (w + 3) x 0.5."""
    text = in_a_row([{"time": exponential("2 h")}] * 4, [None] * 3, limit=coils, warm_up="1000 h", length="30000 h")

    stands(measure(text, coils_per_hour("work 3"))[0], published)


@pytest.mark.parametrize(("coils", "published"), [(1, 0.1), (2, 0.144928), (3, 0.168293), (6, 0.193348)])
def test_an_unbalanced_loop_gives_the_throughput_of_mean_value_analysis(coils: int, published: float) -> None:
    """M. Reiser and S. S. Lavenberg, Journal of the ACM 27 (1980) (from memory): times 2, 5 and 3 h."""
    works = [{"time": exponential(f"{hours} h")} for hours in (2, 5, 3)]
    text = in_a_row(works, [None] * 2, limit=coils, warm_up="500 h", length="60000 h")

    stands(measure(text, coils_per_hour("work 2"))[0], published)


def test_an_unbalanced_loop_keeps_its_coils_where_mean_value_analysis_says() -> None:
    """Same source, 6 coils: mean numbers 0.6098, 4.1613 and 1.2289, waiting and at work."""
    works = [{"time": exponential(f"{hours} h")} for hours in (2, 5, 3)]
    text = in_a_row(works, [None] * 2, limit=6, warm_up="500 h", length="320000 h")
    waiting = measure(text, *(level(f"gap {i}") for i in range(3)))
    busy = measure(text, *(share(f"work {i}", "running") for i in range(3)))
    numbers = [np.add(w, b).tolist() for w, b in zip(waiting, busy, strict=True)]

    for number, published in zip(numbers, (0.6098, 4.1613, 1.2289), strict=True):
        stands(number, published)
    assert np.sum(numbers, axis=0) == pytest.approx(np.full(20, 6.0), rel=1e-9), "the line always holds its six"


def test_cars_and_repairers_as_a_loop_of_two_steps() -> None:
    """W. L. Winston, Operations Research, 4th edition, section 20.9 (from memory).

    Five cars (coils) are good for 30 days on average (five machines, one each), then one of two repairers takes
    3 days: 0.4648 cars down, repairers idle 0.7732 of their time, 3.0746 days down for a car.
    """
    good = {"time": exponential("30 day"), "machines": 5}
    repair = {"time": exponential("3 day"), "machines": 2}
    text = in_a_row([good, repair], [None], limit=5, warm_up="10000 h", length="600000 h")
    waiting, rate = measure(text, level("gap 1"), coils_per_hour("work 1"), count=40)
    busy = [r * 72.0 for r in rate]
    down = [w + b for w, b in zip(waiting, busy, strict=True)]

    exact = float(queues.machine_repair(5, 2, 30.0, 3.0) @ np.arange(6))
    stands(down, exact)
    stands([1.0 - b / 2.0 for b in busy], 0.7732)
    stands([d / (r * 24.0) for d, r in zip(down, rate, strict=True)], 3.0746)
