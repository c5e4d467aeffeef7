"""Rates and yields of the plant beside those of the twin: what no single number of a scenario tells.

The twin's are taken from logs that it writes of its own weeks, by the same code, so that both are measured alike.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import numpy as np

from twin.line import simulate
from twin.logs.doctor import Examined
from twin.logs.write import log_of
from twin.scenario import Scenario
from twin.scenario.files import from_tree
from twin.scenario.reading import Tree
from twin.study.fitresult import Beside
from twin.study.fitsamples import Records

RUNS = 4
DAY_S = 86_400.0
LEAST_DAYS, MOST_DAYS = 7, 60
HELD = 0.03
"""A rate that is off by less is as good as the same, whatever the scatter of the twin's own weeks."""
T95 = {2: 12.706, 3: 4.303, 4: 3.182, 5: 2.776}


def beside(records: Records) -> tuple[Beside, ...]:
    """Return each station's rate while it runs, and its yield, beside the twin's in as many days."""
    plant = figures(records)
    made = [figures(_of_the_twin(records, run)) for run in range(RUNS)]
    found = []
    for key, measured in plant.items():
        own = np.array([one[key] for one in made if key in one])
        if len(own) < 2:
            continue
        mean = float(own.mean())
        half = max(T95[len(own)] * float(own.std(ddof=1)), HELD * mean if key[1] != "yield" else 0.005)
        station, what, unit = key
        found.append(Beside(station, what, measured, mean, mean - half, mean + half, unit))
    return tuple(found)


def figures(records: Records) -> dict[tuple[str, str, str], float]:
    """Return tonnes in an hour that a station ran, and good mass in all mass, of each station with records."""
    own, found = records.examined.log["output"], {}
    for name in records.scenario.stations:
        rows = own["station"] == name
        if not rows.any():
            continue
        good, scrap = float(np.nansum(own["good_kg"][rows])), float(np.nansum(own["scrap_kg"][rows]))
        ran = sum(
            float((hours.ends - hours.starts).sum())
            for hours in (records.running(name, machine) for machine in records.machines(name))
        )
        if ran > 0.0 and good > 0.0:
            found[name, "rate while running", "t/h"] = (good + scrap) / 1000.0 / (ran / 3600.0)
            found[name, "yield", "1"] = good / (good + scrap)
    return found


def _of_the_twin(records: Records, run: int) -> Records:
    """Return the log that the twin would have written of about as many days."""
    days = min(max((records.span[1] - records.span[0]) / DAY_S, LEAST_DAYS), MOST_DAYS)
    scenario = _for(records.scenario, ceil(days))
    trace = simulate(scenario, run=run, trace=True).trace
    if trace is None:
        raise RuntimeError("a run that was asked for a trace gave none")
    return replace(records, scenario=scenario, examined=Examined(log_of(trace, scenario), ()))


def _for(scenario: Scenario, days: int) -> Scenario:
    raw = {**scenario.raw, "time": {**scenario.raw.get("time", {}), "length": f"{days} days"}}
    return from_tree(Tree(raw, {}, scenario.file), options_too=False)
