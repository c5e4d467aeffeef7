"""Single queues, simulated, against the closed forms of queueing theory (the exact values: `oracles/queues.py`).

Rule for all: 20 runs or more, the exact value inside their 99 % interval, and the mean within 1 % of it (2 % where the
load is heavy or the times are wild); the half-width of the interval is at most seven tenths of that.
"""

import numpy as np
import pytest
from line.judging import HOUR, coils_per_hour, level, measure, runs_of, share, stands, stay, steadied
from line.oracles import queues
from line.texts import exponential, queue, stop

MINUTE = 60.0


def test_an_exponential_queue_under_heavy_load() -> None:
    """R. Bronson, Operations Research (1982), example 23.3: L = 4, W = 1/6 h, p0 = 0.2, Lq = 3.2; stated to 2 %.

    A stay in it is exponential (Gross and Harris, chapter 2, from memory): exp(-1) = 0.36788 stay longer than W.
    """
    text = queue({"time": exponential("2 min")}, gap=exponential("2.5 min"), warm_up="100 h", length="8000 h")
    waiting, busy, stays, longer = [], [], [], []
    for totals in runs_of(text, count=40):
        waiting.append(level("queue")(totals))
        busy.append(share("work", "running")(totals))
        stays.append(stay()(totals))
        longer.append(float(np.mean(totals.lead_time_s > HOUR / 6.0)))
    present = [w + b for w, b in zip(waiting, busy, strict=True)]

    stands([1.0 - b for b in busy], 0.2)
    for values, published in ((waiting, 3.2), (present, 4.0), (stays, 1.0 / 6.0), (longer, np.exp(-1.0))):
        stands(steadied(values, busy, 0.8), published, within=0.02, narrow=0.014)


@pytest.mark.parametrize(("machines", "published"), [(1, (4 / 3, 2.0, 1.0)), (2, (1 / 12, 0.75, 0.375))])
def test_one_or_two_machines_behind_one_queue(machines: int, published: tuple[float, float, float]) -> None:
    """F. S. Hillier and G. J. Lieberman, chapter 17, county hospital (from memory): Lq, L and W in hours."""
    work = {"time": exponential("20 min"), "machines": machines}
    text = queue(work, gap=exponential("30 min"), warm_up="200 h", length="90000 h")
    waiting, stays, rate = measure(text, level("queue"), stay(), coils_per_hour("work"), count=40)
    present = [w * r for w, r in zip(stays, rate, strict=True)]
    busy = [p - w for p, w in zip(present, waiting, strict=True)]

    stands(steadied(waiting, busy, 2 / 3), published[0])
    stands(steadied(present, busy, 2 / 3), published[1])
    stands(steadied(stays, busy, 2 / 3), published[2])


def test_constant_times_behind_one_queue() -> None:
    """Pollaczek and Khinchine; Gross and Harris, chapter 5 (from memory): Wq 2, Lq 1.6, W 3, p0 0.2."""
    text = queue({"time": "1 h"}, gap=exponential("75 min"), warm_up="500 h", length="200000 h")
    waiting, stays, busy = measure(text, level("queue"), stay(), share("work", "running"), count=40)

    stands(steadied(waiting, busy, 0.8), 1.6)
    stands(steadied(stays, busy, 0.8), 3.0)
    stands([1.0 - b for b in busy], 0.2)


def test_wild_times_behind_one_queue() -> None:
    """Same source: squared variation 2 from two exponentials of equal weight in the mean; Wq 3.5, L 3.15."""
    short = (1.0 + 3.0**-0.5) / 2.0
    parts = [{"weight": weight, "of": exponential(f"{60.0 / (2.0 * weight)!r} min")} for weight in (short, 1.0 - short)]
    text = queue({"time": {"mixture": parts}}, gap=exponential(f"{60 / 0.7!r} min"), warm_up="500 h", length="130000 h")
    waiting, stays, busy = measure(text, level("queue"), stay(), share("work", "running"), count=40)

    stands(steadied(waiting, busy, 0.7), 0.7 * 3.5, within=0.02, narrow=0.014)
    stands(steadied(stays, busy, 0.7), 4.5, within=0.02, narrow=0.014)


def test_a_machine_that_stops_behind_one_queue() -> None:
    """Hopp and Spearman, chapter 8 (from memory): Wq 52.4444, W 63.5556 min; work resumes where it stopped."""
    work = {"time": "10 min", "failures": [stop(exponential("90 min"), exponential("10 min"))]}
    text = queue(work, gap=exponential("12.5 min"), warm_up="200 h", length="20000 h")
    stays, running, down = measure(text, stay(MINUTE), share("work", "running"), share("work", "down"), count=40)

    stands(steadied(stays, down, 0.8 / 9.0), 63.5556, within=0.02, narrow=0.014)
    stands(running, 0.8)
    stands(down, 0.8 / 9.0)


def test_long_rare_stops_behind_one_queue() -> None:
    """The hare of Factory Physics, chapter 8 (from memory): Wq 507.5 min, stated to 3 %; A 0.75, load 0.875."""
    time = {"gamma": {"mean": "15 min", "cv": 0.05**0.5}}
    work = {"time": time, "failures": [stop(exponential("744 min"), exponential("248 min"))]}
    text = queue(work, gap=exponential(f"{20.0 / 0.875!r} min"), warm_up="2000 h", length="110000 h")
    stays, down = measure(text, stay(MINUTE), share("work", "down"), count=40)

    stands(steadied([s - 20.0 for s in stays], down, 0.25 * 0.875), 507.5, within=0.03, narrow=0.021)


@pytest.mark.parametrize(("load", "places"), [(0.8, 5), (1.0, 4)])
def test_a_queue_that_turns_coils_away(load: float, places: int) -> None:
    """Gross and Harris, chapter 2 (from memory): K places in all, one of them at the machine, K - 1 in the store."""
    exact = queues.exponential_queue(load, 1.0, places=places)
    gap = exponential(f"{60.0 / load!r} min")
    text = queue({"time": exponential("60 min")}, gap=gap, places=places - 1, warm_up="100 h", length="60000 h")
    lost, came, made, waiting, stays = [], [], [], [], []
    for totals in runs_of(text, count=72):
        hours = totals.duration_s / HOUR
        lost.append(float(totals.turned_away.sum()) / hours)
        came.append(lost[-1] + coils_per_hour("supply")(totals))
        made.append(coils_per_hour("work")(totals))
        waiting.append(level("queue")(totals))
        stays.append(stay()(totals))

    stands(steadied(lost, came, load), exact.turned_away * load)
    stands(made, exact.throughput)
    stands(waiting, exact.waiting)
    stands(stays, exact.stay)
