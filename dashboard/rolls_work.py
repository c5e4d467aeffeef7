"""The study behind Roll changes, in a process of its own: the coming changes, then how far a set should run.

What is found is kept as plain data with the names of `twin.study.rollresult`, beside it the calendar of the changes.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import datetime
from math import isfinite
from pathlib import Path
from typing import Any

import numpy as np

from dashboard import answers
from dashboard.ask import BEST
from dashboard.doubt import Doubts
from dashboard.inputs import flat
from dashboard.rolls_state import Told, state_told
from dashboard.worker import Desk
from twin.indicators.intervals import Interval
from twin.scenario import Scenario, apply_options, load
from twin.study.maker import Maker, Step
from twin.study.replicate import NothingMadeError
from twin.study.rollanswer import answer
from twin.study.rollcalendar import calendar
from twin.study.rollnow import RollsError, mills_of
from twin.study.rollresult import Answer, Asked
from twin.version import VERSION

NEWS_EVERY_S = 0.4
CALENDAR = "ics"
FUTURES_A_RUN, FEWEST_FUTURES, MOST_FUTURES = 10, 20, 1000
DRAWN_FUTURES_A_RUN = 4
"""With uncertain inputs, which ask for many runs of the line and leave the coming days as they are."""
SO_FAR = "before all distances and rules were run"
LEFT_OUT = frozenset({"rule"})
Plain = dict[str, Any]


def plain(value: object) -> object:
    """Return an answer as plain data: what is infinite or unknown is nothing, a time is written as ISO 8601 has it."""
    if isinstance(value, Interval):
        return {name: plain(getattr(value, name)) for name in Interval._fields}
    if is_dataclass(value):
        return {one.name: plain(getattr(value, one.name)) for one in fields(value) if one.name not in LEFT_OUT}
    if isinstance(value, tuple | list):
        return [plain(one) for one in value]
    if isinstance(value, datetime):
        return value.isoformat()
    return None if isinstance(value, float) and not isfinite(value) else value


@dataclass(slots=True)
class Keeper:
    """Writes the answer down, and tells the page how far it is."""

    desk: Desk
    scenario: Scenario
    plant: str
    options: Sequence[str]
    runs: int
    seed: int
    folder: Path
    key: str
    doubts: Doubts
    known: str = ""
    began: float = field(default_factory=time.monotonic)
    told: float = 0.0
    state: Plain = field(default_factory=dict)

    def begun(self, told: Told | str | None) -> Scenario:
        """Return the plant as the plan begins; keep what is to be said of a state that a log tells, or does not."""
        if isinstance(told, Told):
            self.state = {"log": told.scenario is not self.scenario, "said": list(told.assumed)}
            return told.scenario
        self.state = {"log": False, "said": [] if told is None else [told]}
        return self.scenario

    def step(self, step: Step) -> None:
        """Tell how far it is, now and then."""
        if time.monotonic() - self.told > NEWS_EVERY_S:
            self.told = time.monotonic()
            self.desk.tell({"done": step.done, "wanted": step.wanted, "half": None, "what": step.what})

    def first(self, answer: Answer) -> None:
        """Keep the coming changes, before it is known how far a set should run."""
        self.found(answer, whole=False)
        self.desk.tell({"done": 0, "wanted": self.runs, "half": None, "what": "the line at each distance"})

    def found(self, answer: Answer, *, whole: bool) -> None:
        """Keep the answer with the calendar of its changes."""
        today = [point for point in answer.sweep.points if point.today] if answer.sweep is not None else []
        half = today[0].good.half if today and whole else None
        others = [name for name in mills_of(self.scenario) if name != answer.station]
        answers.put(answers.path_of(self.folder, self.key, CALENDAR), calendar(answer))
        self.keep(answer.runs, half, {"results": plain(answer), "others": others}, whole=whole)

    def keep(self, done: int, half: float | None, more: Mapping[str, Any], *, whole: bool) -> None:
        """Write the answer down."""
        kept = {
            "key": self.key,
            "plant": self.plant,
            "name": self.scenario.name,
            "digest": self.scenario.digest,
            "options": list(self.options),
            "seed": self.seed,
            "done": done,
            "wanted": self.runs,
            "whole": whole,
            "so_far": SO_FAR,
            "state": self.state,
            "half": half,
            "version": VERSION,
            "made": time.time(),
            "took_s": time.monotonic() - self.began,
            "inputs": flat(self.scenario),
            "known": self.known,
            "doubt": self.doubts.told(np.zeros(0), self.seed),
        }
        answers.write(self.folder, self.key, {}, "week.json")
        answers.write(self.folder, self.key, kept | dict(more))


def futures_of(runs: int, *, drawn: bool = False) -> int:
    """Return how many futures of the coming days go with so many runs of the line: they are short."""
    return max(FEWEST_FUTURES, min(MOST_FUTURES, (DRAWN_FUTURES_A_RUN if drawn else FUTURES_A_RUN) * runs))


def rolls(
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
    log: str = "",
    stamp: str = "",
) -> Mapping[str, Any]:
    """Plan the coming roll changes of a plant with options; a plant without rolls, or without a plan, is told why.

    The plan begins as the log leaves the plant, where there is one; `stamp`, how its files stand, names the question.
    """
    scenario = apply_options(load(file), list(options))
    doubts = Doubts(scenario, inputs, group=1)
    keeper = Keeper(desk, scenario, plant, options, runs, seed, Path(kept), key, doubts, known)
    now = keeper.begun(state_told(scenario, file, options, log) if log and mills_of(scenario) else None)
    maker = Maker(seed=seed, workers=1, vary=doubts.vary, tell=keeper.step, stop=desk.stopped)
    done = runs
    try:
        futures = futures_of(runs, drawn=doubts.vary is not None)
        found = answer(now, Asked(runs=max(2, runs), futures=futures), maker, so_far=keeper.first)
        keeper.found(found, whole=not found.stopped)
    except RollsError as error:
        keeper.keep(0, None, {"refused": str(error), "rolls": bool(mills_of(scenario))}, whole=True)
        done = 0
    except NothingMadeError:
        return {"done": 0, "wanted": runs}
    answers.remember(keeper.folder, mark, key)
    answers.tidy(keeper.folder)
    return {"done": done, "wanted": runs}
