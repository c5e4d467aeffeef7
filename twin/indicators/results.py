"""From the numbers of many runs to the results as they are written down."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from twin.indicators.bottleneck import METHOD
from twin.indicators.columns import Column, shape
from twin.indicators.intervals import FloatArray, column_intervals, indicator
from twin.indicators.measure import HOUR, measure
from twin.version import VERSION

if TYPE_CHECKING:
    from twin.line import Layout, Totals
    from twin.scenario import Scenario

RESULTS_FORMAT = 1


def summarise(totals: Sequence[Totals], scenario: Scenario, seed: int) -> dict[str, Any]:
    """Return the results of runs of one scenario: every indicator as its mean over runs with its 95 % interval.

    Intervals are t intervals over runs, unknown (null) from one run. Lead times of one run depend on one
    another, so their quantiles too are taken run by run, from order statistics, and then over runs.
    """
    if not totals:
        raise ValueError("no run to summarise: make at least one")
    first = totals[0]
    values = np.array([measure(one) for one in totals])
    return assemble(
        first.layout, values, scenario=scenario, seed=seed, length_s=first.duration_s, warm_up_s=first.warm_up_s
    )


def assemble(
    layout: Layout,
    values: FloatArray,
    *,
    scenario: Scenario,
    seed: int,
    length_s: float,
    warm_up_s: float,
    group: int = 0,
) -> dict[str, Any]:
    """Return the results from the measured numbers of runs, [runs, columns].

    `length_s` is the time that counts, after a warm-up of `warm_up_s`. With a `group`, so many runs in a row share a
    plant that was drawn, and intervals hold what is not known of it too.
    """
    plan = shape(layout)
    results: dict[str, Any] = {
        "passline": RESULTS_FORMAT,
        "scenario": scenario.name,
        "digest": scenario.digest,
        "seed": seed,
        "runs": len(values),
        "length_h": length_s / HOUR,
        "warm_up_h": warm_up_s / HOUR,
        "line": {},
        "products": {},
        "stations": {
            name: {"machines": int(count)} for name, count in zip(layout.stations, plan.machines, strict=True)
        },
        "stores": {},
        "rolls": {},
        "shared": {},
        "bottleneck": {},
        "balance": {},
        "bottleneck_method": METHOD,
        "version": VERSION,
    }
    _place_all(results, plan.columns, values, group)
    return results


def _place_all(results: dict[str, Any], columns: Sequence[Column], values: FloatArray, group: int) -> None:
    """Put each column in its place in the results."""
    for number, (column, interval) in enumerate(zip(columns, column_intervals(values, group=group), strict=True)):
        leaf: Any = indicator(interval, column.unit)
        if column.worst:
            leaf = float(np.abs(values[:, number]).max())
        place = results
        for key in column.path[:-1]:
            place = place.setdefault(key, {})
        place[column.path[-1]] = leaf
