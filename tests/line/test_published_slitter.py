"""A second slitter pays in a queue and pays nothing behind a slower mill: the tool must say both."""

import numpy as np
import pytest
from line.judging import coils_per_hour, level, measure, stands, stay, steadied
from line.oracles import queues
from line.texts import COILS, exponential, queue, scenario


def test_a_second_machine_all_but_ends_the_wait_before_a_busy_one() -> None:
    """Closed forms: 0.9 coils an hour and one hour each wait 9.0 h before one machine, 0.253918 h before two.

    The first to 2 %, as its load is heavier still than that of the queue that is stated so.
    """
    exact = [queues.exponential_queue(0.9, 1.0, machines=count).wait for count in (1, 2)]
    assert exact == pytest.approx([9.0, 0.253918], abs=5e-7)
    gap = exponential(f"{1.0 / 0.9!r} h")
    for machines, length, within in ((1, "350000 h", 0.02), (2, "150000 h", 0.01)):
        work = {"time": exponential("1 h"), "machines": machines}
        text = queue(work, gap=gap, warm_up="3000 h", length=length)
        waiting, stays, rate = measure(text, level("queue"), stay(), coils_per_hour("work"), count=52)
        busy = [s * r - w for s, r, w in zip(stays, rate, waiting, strict=True)]
        waits = [w / r for w, r in zip(waiting, rate, strict=True)]

        stands(steadied(waits, busy, 0.9), exact[machines - 1], within=within, narrow=0.7 * within)


def test_a_second_slitter_behind_a_slower_mill_gains_nothing() -> None:
    """By hand: the mill takes 5 minutes a coil and the slitter 4, so one coil leaves every 5 minutes either way.

    A coil of 0.9996 t, 1 m x 0.7 mm at 7140 kg/m3, is 200 m long.
    """
    coil = {"mass": "0.9996 t", "width": "1000 mm", "thickness": "0.7 mm", "pattern": "halves"}
    made = []
    for machines in (1, 2):
        stations = {
            "supply": {"kind": "supply", "to": "ready", "coil": coil},
            "mill": {"kind": "mill", "from": "ready", "to": "rolled", "speed": "40 m/min"},
            "slitter": {
                "kind": "slitter",
                "from": "rolled",
                "to": "rings",
                "speed": "50 m/min",
                "machines": machines,
            },
        }
        stores = {"ready": COILS | {"capacity": 1}, "rolled": COILS, "rings": COILS}
        text = scenario(
            "A mill and a slitter",
            stores,
            stations,
            length="1000 h",
            warm_up="10 h",
            products={"ring": {"thickness": "0.7 mm", "girth": "500 mm", "sold": "coil"}},
            patterns={"halves": {"share": "100 %", "thickness": "0.7 mm", "rings": {"ring": 2}}},
        )
        made.append(measure(text, coils_per_hour("slitter"), count=1)[0][0])

    assert made == pytest.approx([12.0, 12.0], rel=1e-4), "at most one coil more or less at the ends of 1000 h"
    assert np.diff(made) == 0.0
