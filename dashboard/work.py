"""The study behind the Line page, done in a process of its own: one week to look at, then run after run.

What is made is written as it is made, so nothing is lost when the run is stopped, and a stopped run goes on from there.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dashboard import answers
from dashboard.ask import BEST
from dashboard.describe import plain_line
from dashboard.doubt import Doubts
from dashboard.inputs import flat
from dashboard.one_week import one_week
from dashboard.worker import Desk
from twin.indicators import assemble, columns
from twin.indicators.intervals import plant_interval
from twin.scenario import Scenario, apply_options, load
from twin.scenario.calendars import wall_clock
from twin.study.assumed import assumed
from twin.study.promises import order_book
from twin.study.replications import Replications
from twin.study.work import Batch, Task, pack, run_batch
from twin.version import VERSION

NEWS_EVERY_S = 0.4
WEEK_H = 168.0
KG_PER_TONNE = 1000.0
LEAST_DAY = 0.1
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
Array = NDArray[Any]


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of a plant, and where the answer is kept."""

    scenario: Scenario
    plant: str
    options: tuple[str, ...]
    runs: int
    seed: int
    folder: Path
    key: str
    doubts: Doubts
    known: str = ""


@dataclass(slots=True)
class Made:
    """The numbers of the runs made so far, and when they were last written down."""

    values: list[Array] = field(default_factory=list)
    days: list[Array] = field(default_factory=list)
    products: list[Array] = field(default_factory=list)
    day_start_s: Array = field(default_factory=lambda: np.zeros(0))
    before: int = 0
    written: float = 0.0

    def add(self, batch: Batch) -> None:
        """Take in one more run."""
        self.values.extend(batch.values)
        self.days.extend(batch.day_good_kg)
        self.products.extend(() if batch.product_day_kg is None else batch.product_day_kg)
        self.day_start_s = batch.day_start_s

    def arrays(self) -> dict[str, Array]:
        """Return all of it as it is kept."""
        made = {"values": np.array(self.values), "days": np.array(self.days), "day_start_s": self.day_start_s}
        return made | ({"products": np.array(self.products)} if self.products else {})


def line(
    desk: Desk,
    *,
    file: str,
    plant: str,
    options: Sequence[str],
    runs: int,
    seed: int,
    kept: str,
    key: str,
    mark: str,
    inputs: str = BEST,
    known: str = "",
) -> Mapping[str, Any]:
    """Work out what the line makes; return how many runs were made."""
    began = time.monotonic()
    scenario = load(file)
    scenario = apply_options(scenario, list(options)) if options else scenario
    doubts = Doubts(scenario, inputs)
    question = Question(scenario, plant, tuple(options), runs, seed, Path(kept), key, doubts, known)
    made = so_far(question)
    packed = pack([scenario])
    for run in range(len(made.values), runs):
        if desk.stopped():
            break
        batch = run_batch(Task(packed, seed, run, 1, vary=doubts.vary))
        made.add(batch)
        if time.monotonic() - made.written > NEWS_EVERY_S or run in (1, runs - 1):
            desk.tell(keep(question, made, batch, time.monotonic() - began) | {"left_s": left(made, runs, began)})
        if answers.read(question.folder, key, "week.json") is None:
            answers.write(question.folder, key, one_week(doubts.of_run(seed, 0), seed), "week.json")
    answers.remember(question.folder, mark, key)
    answers.tidy(question.folder)
    return {"done": len(made.values), "wanted": runs}


def left(made: Made, runs: int, began: float) -> float:
    """Return how long the rest will take at the pace so far [s]."""
    return (time.monotonic() - began) / max(1, len(made.values) - made.before) * (runs - len(made.values))


def so_far(question: Question) -> Made:
    """Return what an earlier, stopped run of the same question made."""
    found = answers.read_arrays(question.folder, question.key)
    if found is None or not len(found["values"]) or len(found["values"]) >= question.runs:
        return Made()
    products = list(found.get("products", ()))
    if question.scenario.orders and len(products) != len(found["values"]):
        return Made()
    return Made(list(found["values"]), list(found["days"]), products, found["day_start_s"], len(found["values"]))


def keep(question: Question, made: Made, batch: Batch, took_s: float) -> dict[str, Any]:
    """Write down the answer so far; return how far it is, for the page's bar."""
    answer = answer_of(question, made, batch, took_s)
    answers.write_arrays(question.folder, question.key, made.arrays())
    answers.write(question.folder, question.key, answer)
    made.written = time.monotonic()
    return {name: answer[name] for name in ("done", "wanted", "half")}


def answer_of(question: Question, made: Made, batch: Batch, took_s: float) -> dict[str, Any]:
    """Return the answer as the page reads it."""
    scenario, values = question.scenario, np.array(made.values)
    results = assemble(
        batch.layout,
        values,
        scenario=scenario,
        seed=question.seed,
        length_s=batch.length_s,
        warm_up_s=batch.warm_up_s,
        group=question.doubts.group,
    )
    shape = plain_line(scenario)
    days = weekdays(scenario, np.array(made.days), made.day_start_s)
    ends = sorted({name for row in shape["leaves"] for name in row["by"]})
    good, group = results["line"]["good"], question.doubts.group
    weekly = WEEK_H * values[:, column_of(batch, "line", "good")]
    known = good["low"] is not None and good["high"] is not None
    return {
        "key": question.key,
        "plant": question.plant,
        "name": scenario.name,
        "digest": scenario.digest,
        "options": list(question.options),
        "seed": question.seed,
        "done": len(values),
        "wanted": question.runs,
        "whole": len(values) >= question.runs,
        "half": (good["high"] - good["low"]) / 2.0 * WEEK_H if known else None,
        "version": VERSION,
        "made": time.time(),
        "took_s": took_s,
        "results": results,
        "line": shape,
        "leaves": {row["at"]: leaving(row["by"], ends, batch, values, group) for row in shape["leaves"]},
        "days": [{"name": name, **band(tonnes)} for name, tonnes in days.items()],
        "working_day": band(worked(days)),
        "assumed": assumed(scenario),
        "inputs": flat(scenario),
        "known": question.known,
        "doubt": question.doubts.told(weekly, question.seed),
        **({"orders": orders(question, made, batch)} if scenario.orders else {}),
    }


def orders(question: Question, made: Made, batch: Batch) -> dict[str, Any] | None:
    """Return what becomes of the order book in the runs made so far."""
    runs = Replications(
        scenario=question.scenario,
        seed=question.seed,
        layout=batch.layout,
        length_s=batch.length_s,
        warm_up_s=batch.warm_up_s,
        values=np.array(made.values),
        day_good_kg=np.array(made.days),
        day_start_s=made.day_start_s,
        wanted=question.runs,
        group=question.doubts.group,
        product_day_kg=np.array(made.products),
    )
    return order_book(runs)


def column_of(batch: Batch, *path: str) -> int:
    """Return which column of the numbers of a run is the indicator at a place in the results."""
    return next(number for number, column in enumerate(columns(batch.layout)) if column.path == path)


def leaving(by: Sequence[str], ends: Sequence[str], batch: Batch, values: Array, group: int = 0) -> dict[str, Any]:
    """Return the good mass that leaves by some stations [t/h]; by none: what is good and came from none of the ends."""
    place = {column.path: number for number, column in enumerate(columns(batch.layout))}

    def out(names: Sequence[str]) -> Array:
        made: Array = np.sum([values[:, place["stations", name, "out"]] for name in names], axis=0)
        return made

    if by:
        return interval(out(by), group)
    rest: Array = values[:, place["line", "good"]] - out(ends)
    return interval(np.maximum(rest, 0.0), group)


def interval(values: Array, group: int = 0) -> dict[str, Any]:
    """Return mean and 95 % interval over runs, of which `group` in a row share a plant [t/h]."""
    found = plant_interval(values, group)
    return {"mean": found.mean, "low": found.low, "high": found.high, "unit": "t/h"}


def weekdays(scenario: Scenario, good_kg: Array, start_s: Array) -> dict[str, Array]:
    """Return the good tonnes of all days of all runs by weekday, Monday first.

    The first and last day of a run, which may be cut short, are left out where there are others.
    """
    whole = range(1, len(start_s) - 1) if len(start_s) > 2 else range(len(start_s))
    names = {i: f"{wall_clock(scenario.time, float(start_s[i])):%a}" for i in whole}
    return {
        name: good_kg[:, [i for i in whole if names[i] == name]].ravel() / KG_PER_TONNE
        for name in WEEKDAYS
        if name in names.values()
    }


def band(tonnes: Array) -> dict[str, float]:
    """Return the mean of days, and the ends between which four days of five lie [t]."""
    low, high = np.quantile(tonnes, (0.1, 0.9)) if tonnes.size else (0.0, 0.0)
    return {"mean": float(tonnes.mean()) if tonnes.size else 0.0, "low": float(low), "high": float(high)}


def worked(days: Mapping[str, Array]) -> Array:
    """Return the tonnes of all days of those weekdays on which the line makes something worth a line."""
    whole = [tonnes for tonnes in days.values() if tonnes.mean() > LEAST_DAY * max(own.mean() for own in days.values())]
    return np.concatenate(whole) if whole else np.zeros(0)
