"""Single queues, simulated, against the closed forms of queueing theory (the exact values: `oracles/queues.py`).

Rule for all: 20 runs or more, the exact value inside their 99 % interval, which is at most 0.7 % wide to each side,
and the mean within 1 % of it (2 % where the load is heavy or the times are wild).
"""

import numpy as np
import pytest
from line.judging import HOUR, coils_per_hour, level, measure, runs_of, share, stands, stay
from line.oracles import queues
from line.texts import exponential, queue, stop

MINUTE = 60.0


def test_an_exponential_queue_under_heavy_load() -> None:
    """R. Bronson, Operations Research (1982), example 23.3: L = 4, W = 1/6 h, p0 = 0.2, Lq = 3.2, Wq = 0.1333 h.

    About 20 million coils.
    """
    text = queue({"time": exponential("2 min")}, gap=exponential("2.5 min"), warm_up="100 h", length="40000 h")
    waiting, busy, stays, idle = measure(
        text, level("queue"), share("work", "running"), stay(), share("work", "starved")
    )

    stands(waiting, 3.2, within=0.02)
    stands([a + b for a, b in zip(waiting, busy, strict=True)], 4.0, within=0.02)
    stands(stays, 1.0 / 6.0, within=0.02)
    stands(idle, 0.2)


def test_the_stay_in_an_exponential_queue_is_exponential() -> None:
    """Same queue with a mean stay of 5 services: P(stay > 5) = exp(-1) = 0.36788."""
    text = queue({"time": exponential("60 min")}, gap=exponential("75 min"), warm_up="2000 h", length="200000 h")
    longer = [float(np.mean(totals.lead_time_s > 5.0 * HOUR)) for totals in runs_of(text)]

    stands(longer, np.exp(-1.0), within=0.02)


@pytest.mark.parametrize(("machines", "published"), [(1, (4 / 3, 2.0, 1.0)), (2, (1 / 12, 0.75, 0.375))])
def test_one_or_two_machines_behind_one_queue(machines: int, published: tuple[float, float, float]) -> None:
    """F. S. Hillier and G. J. Lieberman, chapter 17, county hospital (from memory): Lq, L and W in hours."""
    work = {"time": exponential("20 min"), "machines": machines}
    text = queue(work, gap=exponential("30 min"), warm_up="200 h", length="150000 h")
    waiting, stays, rate = measure(text, level("queue"), stay(), coils_per_hour("work"))

    stands(waiting, published[0])
    stands([w * r for w, r in zip(stays, rate, strict=True)], published[1])
    stands(stays, published[2])


def test_constant_times_behind_one_queue() -> None:
    """Pollaczek and Khinchine; Gross and Harris, chapter 5 (from memory): Wq 2, Lq 1.6, W 3, p0 0.2."""
    text = queue({"time": "1 h"}, gap=exponential("75 min"), warm_up="500 h", length="300000 h")
    waiting, stays, idle = measure(text, level("queue"), stay(), share("work", "starved"))

    stands(waiting, 1.6)
    stands(stays, 3.0)
    stands(idle, 0.2)


def test_wild_times_behind_one_queue() -> None:
    """Same source: squared variation 2 from two exponentials of equal weight in the mean; Wq 3.5, L 3.15."""
    short = (1.0 + 3.0**-0.5) / 2.0
    parts = [{"weight": weight, "of": exponential(f"{60.0 / (2.0 * weight)!r} min")} for weight in (short, 1.0 - short)]
    text = queue({"time": {"mixture": parts}}, gap=exponential(f"{60 / 0.7!r} min"), warm_up="500 h", length="400000 h")
    waiting, stays = measure(text, level("queue"), stay())

    stands(waiting, 0.7 * 3.5, within=0.02)
    stands(stays, 4.5, within=0.02)


def test_a_machine_that_stops_behind_one_queue() -> None:
    """Hopp and Spearman, chapter 8 (from memory): Wq 52.4444, W 63.5556 min; work resumes where it stopped."""
    work = {"time": "10 min", "failures": [stop(exponential("90 min"), exponential("10 min"))]}
    text = queue(work, gap=exponential("12.5 min"), warm_up="200 h", length="100000 h")
    stays, running, down = measure(text, stay(MINUTE), share("work", "running"), share("work", "down"))

    stands(stays, 63.5556, within=0.02)
    stands(running, 0.8)
    stands(down, 0.8 / 9.0)


def test_long_rare_stops_behind_one_queue() -> None:
    """The hare of Factory Physics, chapter 8 (from memory): Wq 507.5 min; stated to 3 %, so half-widths to 2.1 %."""
    time = {"gamma": {"mean": "15 min", "cv": 0.05**0.5}}
    work = {"time": time, "failures": [stop(exponential("744 min"), exponential("248 min"))]}
    text = queue(work, gap=exponential(f"{20.0 / 0.875!r} min"), warm_up="2000 h", length="300000 h")
    stays = measure(text, stay(MINUTE))[0]

    stands([s - 20.0 for s in stays], 507.5, within=0.03, narrow=0.021)


@pytest.mark.parametrize(("load", "places"), [(0.8, 5), (1.0, 4)])
def test_a_queue_that_turns_coils_away(load: float, places: int) -> None:
    """Gross and Harris, chapter 2 (from memory): K places in all, one of them at the machine, K - 1 in the store."""
    exact = queues.exponential_queue(load, 1.0, places=places)
    gap = exponential(f"{60.0 / load!r} min")
    text = queue({"time": exponential("60 min")}, gap=gap, places=places - 1, warm_up="100 h", length="100000 h")
    lost, made = [], []
    waiting, stays = [], []
    for totals in runs_of(text):
        hours = totals.duration_s / HOUR
        lost.append(float(totals.turned_away.sum()) / hours / load)
        made.append(coils_per_hour("work")(totals))
        waiting.append(level("queue")(totals))
        stays.append(stay()(totals))

    stands(lost, exact.turned_away)
    stands(made, exact.throughput)
    stands(waiting, exact.waiting)
    stands(stays, exact.stay)
