"""The same lines written in other ways, run beside ours in the same minute."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from itertools import count
from statistics import median
from time import process_time

from twin.line import simulate
from twin.scenario import load, loads
from twin.study.bench import Bench, Goal, Row
from twin.study.bench_clocks import YEAR_S, cpu_times, lasting, spread
from twin.study.rivals.finishing import figures, run_by_coil, run_by_piece, run_by_process
from twin.study.rivals.plant import Plant
from twin.study.rivals.tandem import run_by_ciw, run_by_simpy

STATIONS, PLACES, COILS = 6, 10, 20_000


def against_pieces_and_coils(setting: Bench) -> Iterator[Row]:
    """Run the demo plant as pieces and as coils in SimPy, ours in between, and compare the time of a year."""
    plant = lasting(load(setting.scenario), YEAR_S)
    days = 14.0 if setting.quick else 56.0
    by_process, by_piece, by_coil = [], [], []
    made: Mapping[str, int] = {}
    for _ in range(3 if setting.quick else 5):
        by_process.append(_year_s(run_by_process, 14.0)[0])
        taken, made = _year_s(run_by_piece, days)
        by_piece.append(taken)
        by_coil.append(_year_s(run_by_coil, days)[0])
    runs = count()
    ours = median(cpu_times(lambda: simulate(plant, run=next(runs)), setting.repeats))
    counted = f"the rival made {made['pieces'] * 365.0 / days / 1e6:.2f} million pieces a year"
    goal = Goal(1000.0, 5000.0, "high")
    yield _ratio("SimPy model with a process for each piece", by_process, ours, goal, "")
    yield _ratio("SimPy model of every piece with a process for each machine", by_piece, ours, goal, counted)
    yield _ratio("SimPy model of every coil with a process for each station", by_coil, ours, Goal(best="high"), "")


def _year_s(rival: Callable[[float], Plant], days: float) -> tuple[float, Mapping[str, int]]:
    """Return the processor time that a rival takes for a year, from so many days, and what it counted."""
    begun = process_time()
    counted = figures(rival(days))
    return (process_time() - begun) * 365.0 / days, counted


def _ratio(what: str, taken: list[float], ours: float, goal: Goal, counted: str) -> Row:
    low, high = spread(taken)
    note = f"{median(taken):.2f} s a year against {ours * 1000.0:.1f} ms" + (f"; {counted}" if counted else "")
    return Row(f"times as fast as a {what}", median(taken) / ours, "1", goal, (low / ours, high / ours), note)


def against_tandems(setting: Bench) -> Iterator[Row]:
    """Run a tandem of six exponential stations in SimPy, in ciw and here: coils a second."""
    ours = loads(tandem_text(COILS))
    made = simulate(ours).totals.coils[-1]
    rates = {
        "here": float(made) / median(cpu_times(lambda: simulate(ours), setting.repeats)),
        "SimPy": COILS / median(cpu_times(lambda: run_by_simpy(STATIONS, PLACES, COILS), 3)),
    }
    try:
        begun = process_time()
        left = run_by_ciw(STATIONS, PLACES, COILS / 0.7)
        rates["ciw"] = left / (process_time() - begun)
    except ImportError:
        yield Row("times as fast as ciw on a tandem", None, "1", note="ciw is not installed")
    for name in rates.keys() - {"here"}:
        note = f"{rates['here']:.0f} coils/s against {rates[name]:.0f}"
        yield Row(
            f"times as fast as {name} on a tandem", rates["here"] / rates[name], "1", Goal(best="high"), note=note
        )


def tandem_text(hours: float) -> str:
    """Return the tandem as a scenario: six stations of an hour on average, ten places between them."""
    stores: dict[str, object] = {"ready": {"holds": "coils", "capacity": 1}, "done": {"holds": "coils"}}
    coil = {"mass": "1 t", "width": "1000 mm", "thickness": "0.7 mm"}
    stations: dict[str, object] = {"supply": {"kind": "supply", "to": "ready", "coil": coil}}
    for i in range(STATIONS):
        take, give = ("ready" if i == 0 else f"gap {i}"), ("done" if i == STATIONS - 1 else f"gap {i + 1}")
        if give != "done":
            stores[give] = {"holds": "coils", "capacity": PLACES}
        time = {"exponential": {"mean": "1 h"}}
        stations[f"station {i + 1}"] = {"kind": "step", "from": take, "to": give, "time": time}
    time_and_start = {"time": {"length": f"{hours} h"}, "start": "empty"}
    head = {"passline": 1, "name": "A tandem of six", "metal": "zinc"}
    return json.dumps(head | time_and_start | {"stores": stores, "stations": stations})
