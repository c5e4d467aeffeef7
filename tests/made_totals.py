"""Totals of a small made-up line, to be checked by hand: supply, two mills with a roll shop, a profiler."""

from types import SimpleNamespace
from typing import Any, NamedTuple

import numpy as np

HOUR = 3600.0


class MadeLayout(NamedTuple):
    """The names of a made-up line."""

    stations: tuple[str, ...] = ("supply", "mill", "profiler")
    machines: tuple[tuple[str, int], ...] = (("supply", 1), ("mill", 1), ("mill", 2), ("profiler", 1))
    kinds: tuple[str, ...] = ("supply", "mill", "profiler")
    products: tuple[str, ...] = ("gutter", "pipe")
    stores: tuple[str, ...] = ("yard", "done")
    store_holds: tuple[str, ...] = ("coils", "metal")
    mills: tuple[str, ...] = ("mill",)


class MadeRolls(NamedTuple):
    """What the roll sets of the one mill station did."""

    changes: Any = np.array([4.0])
    damages: Any = np.array([1.0])
    km_sum: Any = np.array([200.0])
    change_s: Any = np.array([2.1 * HOUR])
    wait_set_s: Any = np.array([4.2 * HOUR])


# hours in running, setup, changing_rolls, down, waiting, starved, blocked, closed, of a week of 168 h
STATE_H = [
    [168.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [84.0, 0.0, 2.1, 21.0, 4.2, 0.0, 16.7, 40.0],
    [42.0, 0.0, 0.0, 0.0, 0.0, 42.0, 0.0, 84.0],
    [60.0, 12.0, 0.0, 8.0, 0.0, 8.0, 0.0, 80.0],
]


def made_totals(good_t: float = 84.0, **changes: Any) -> Any:
    """Return the totals of one week of 168 h, with `good_t` tonnes of gutters and half as many of pipes."""
    numbers: dict[str, Any] = {
        "layout": MadeLayout(),
        "duration_s": 168.0 * HOUR,
        "warm_up_s": 24.0 * HOUR,
        "state_s": np.array(STATE_H) * HOUR,
        "slowed_s": np.array([0.0, 8.4, 0.0, 6.0]) * HOUR,
        "out_kg": np.array([180e3, 100e3, 70e3, 160e3]),
        "coils": np.array([30.0, 20.0, 14.0, 0.0]),
        "pieces": np.array([0.0, 0.0, 0.0, 33600.0]),
        "stops": np.array([0.0, 7.0, 0.0, 14.0]),
        "turned_away": np.array([10.0, 0.0, 0.0, 0.0]),
        "scrap": (("mill", "crop", 6e3), ("mill", "start", 4e3), ("profiler", "scrap", 8e3)),
        "good_kg": np.array([good_t * 1e3, good_t * 0.5e3]),
        "pieces_good": np.array([16800.0, 8400.0]),
        "store_level_s": np.array([5.0, 2000.0]) * 168.0 * HOUR,
        "store_peak": np.array([9.0, 4000.0]),
        "store_full_s": np.array([16.8, 0.0]) * HOUR,
        "store_empty_s": np.array([42.0, 84.0]) * HOUR,
        "rolls": MadeRolls(),
        "lead_time_s": np.arange(101.0) * HOUR,
        "wip_kg_s": 30e3 * 168.0 * HOUR,
        "active": made_activity(),
        "mass_error_kg": 1e-6,
        "time_error_s": 0.0,
    }
    return SimpleNamespace(**numbers | changes)


def made_activity() -> tuple[Any, Any, Any]:
    """Return changes of activity: the profiler is held in the first 42 h, one mill for the rest of the week.

    Machines 0 to 3 are the supply (held), two mills and the profiler, 4 is the roll shop (never opens).
    """
    start = 24.0
    rows = [
        (start, 0, 0),
        (start, 1, 1),
        (start, 2, 1),
        (start, 3, 0),
        (start, 4, 2),
        (start + 42.0, 2, 0),
        (start + 42.0, 3, 1),
    ]
    time, machine, code = zip(*rows, strict=True)
    return np.array(time) * HOUR, np.array(machine), np.array(code)


MADE_SCENARIO = SimpleNamespace(name="A made line", digest="ab" * 32)
