"""The studies behind Before you buy, each in a process of its own: the comparison, and the curve of one number.

What is found is written as it is found, so a first answer stands on the page after a few runs of each line.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite
from pathlib import Path
from typing import Any

from dashboard import answers
from dashboard.ask import BEST
from dashboard.doubt import Doubts
from dashboard.inputs import flat
from dashboard.options_shelf import Shelf, ShelfMaker
from dashboard.worker import Desk
from twin.indicators.intervals import FloatArray
from twin.scenario import Scenario, apply_set, load
from twin.scenario.paths import resolve
from twin.study.advice import advice
from twin.study.compare import Asked, Comparison, compare, read_options
from twin.study.compared import compared
from twin.study.curve import Curve, curve
from twin.study.ladder import ladder, plain_ladder
from twin.study.maker import Maker, Step, weekly
from twin.study.moves import Move, with_moves
from twin.study.propose import proposed
from twin.study.replicate import NothingMadeError
from twin.study.stairs import plain_stairs, stairs
from twin.study.turning import plain_turns, turning
from twin.version import VERSION

NEWS_EVERY_S = 0.4
CURVE_RUNS = 20
PARTS = 4
"""The ways to change the line, cheaper moves, what takes over then, where the advice turns."""
Plain = dict[str, Any]


@dataclass(slots=True)
class Keeper:
    """Writes the answer down as it grows, and tells the page how far it is."""

    desk: Desk
    scenario: Scenario
    plant: str
    runs: int
    seed: int
    folder: Path
    key: str
    doubts: Doubts
    known: str = ""
    began: float = field(default_factory=time.monotonic)
    told: float = 0.0
    part: int = 1
    last: Step = Step("", 0, 1)
    results: Plain | None = None
    half: float | None = None
    doubt: Plain | None = None

    def step(self, step: Step) -> None:
        """Tell how far it is, now and then."""
        self.last = step
        if time.monotonic() - self.told > NEWS_EVERY_S:
            self.tell()

    def tell(self) -> None:
        """Tell how far it is: which part of how many, what it is at in there, and how many runs of that."""
        self.told, step = time.monotonic(), self.last
        far = {"done": step.done, "wanted": step.wanted, "what": f"part {self.part} of {PARTS}, {step.what}"}
        self.desk.tell({"half": self.half} | (far if step.what else {}))

    def found(self, comparison: Comparison) -> None:
        """Keep the answer so far."""
        self.results = compared(comparison)
        self.doubt = self.doubts.told(*about(comparison))
        self.half = comparison.today.made.good.half
        self.keep(whole=False)

    def keep(self, *, whole: bool) -> None:
        """Write the answer down."""
        if self.results is None:
            return
        answer = {
            "key": self.key,
            "plant": self.plant,
            "name": self.scenario.name,
            "digest": self.scenario.digest,
            "options": [],
            "seed": self.seed,
            "done": self.results["rows"][0]["runs"],
            "wanted": self.runs,
            "whole": whole,
            "half": self.half,
            "version": VERSION,
            "made": time.time(),
            "took_s": time.monotonic() - self.began,
            "results": self.results,
            "inputs": flat(self.scenario),
            "known": self.known,
            "doubt": self.doubt,
        }
        answers.write(self.folder, self.key, {}, "week.json")
        answers.write(self.folder, self.key, answer)
        self.tell()


def options(
    desk: Desk,
    *,
    file: str,
    plant: str,
    options: Sequence[str],
    sums: Sequence[str],
    sets: Sequence[str],
    runs: int,
    seed: int,
    kept: str,
    key: str,
    mark: str,
    inputs: str = BEST,
    known: str = "",
) -> Mapping[str, Any]:
    """Put options beside today; without any, those of the file and the pairs that help; return how many runs."""
    scenario = with_sets(load(file), sets)
    doubts = Doubts(scenario, inputs)
    keeper = Keeper(desk, scenario, plant, runs, seed, Path(kept), key, doubts, known)
    shelf = Shelf(keeper.folder, key)
    maker = ShelfMaker(seed=seed, workers=1, vary=doubts.vary, tell=keeper.step, stop=desk.stopped, shelf=shelf)
    texts = [*options, *sums, *sets]
    asked = Asked(read_options(scenario, texts), runs=runs, most=2 * runs)
    try:
        study = compare if texts else proposed
        found = study(scenario, asked, maker, so_far=keeper.found)
    except NothingMadeError:
        return {"done": 0, "wanted": runs}
    keeper.found(found)
    if not found.stopped:
        whole = more_of(found, maker, keeper)
        keeper.keep(whole=whole)
    answers.remember(keeper.folder, mark, key)
    answers.tidy(keeper.folder)
    return {"done": found.today.made.runs, "wanted": runs}


def about(found: Comparison) -> tuple[FloatArray, int, tuple[str, ...]]:
    """Return what the sentence of a comparison is about, run by run, with its seed and the options that it is of.

    It is the change of the option asked for first, or what today's line makes where there is nothing else. [t/week]
    """
    today = weekly(found.today.made)
    if len(found.rows) < 2:
        return today, found.seed, ()
    focus = found.rows[1]
    own = weekly(focus.made)
    runs = min(len(own), len(today))
    return own[:runs] - today[:runs], found.seed, focus.options


def more_of(found: Comparison, maker: Maker, keeper: Keeper) -> bool:
    """Find the cheaper moves, what takes over, where the advice turns; return whether nobody stopped it."""
    now, told, results = found.today.limits, advice(found), keeper.results
    if now is None or told is None or results is None:
        return True
    try:
        keeper.part = 2
        moves = ladder(found.today.made, now, maker, known=found.made)
        results["ladder"] = None if moves is None else plain_ladder(moves)
        keeper.part = 3
        keeper.keep(whole=False)
        results["stairs"] = plain_stairs(stairs(found.today.made, maker, now=now))
        keeper.part = 4
        keeper.keep(whole=False)
        results["turns"] = plain_turns(turning(found, told, maker))
    except NothingMadeError:
        return False
    return not (maker.stop is not None and maker.stop())


def with_sets(scenario: Scenario, sets: Sequence[str]) -> Scenario:
    """Return the scenario with single values among its options, each under the name `path=value`.

    Raises
    ------
    ScenarioError : No such place, or a value that the scenario does not allow there.
    """
    added = []
    for text in sets:
        path, _, value = text.partition("=")
        raw: Any = apply_set(scenario, path.strip(), value.strip()).raw
        for step in resolve(raw, path.strip()):
            raw = raw[step]
        added.append(Move(text, "", {path.strip(): raw}))
    return with_moves(scenario, added)


def response(
    desk: Desk, *, file: str, path: str, values: Sequence[str], first: int, seed: int, kept: str, key: str
) -> Mapping[str, Any]:
    """Find how the line answers as one number is moved; the position `first` stands after a few runs, then a curve."""
    scenario, folder = load(file), Path(kept)
    told, stop = 0.0, desk.stopped
    for found in curve(scenario, path, values, runs=CURVE_RUNS, seed=seed, workers=1, stop=stop, first=first):
        if found.complete or (isfinite(found.mean[first]) and time.monotonic() - told > NEWS_EVERY_S):
            told = time.monotonic()
            answers.write(folder, key, {"path": path, **plain_curve(found)})
            desk.tell({"done": int(found.runs.min()), "wanted": CURVE_RUNS})
    return {"done": CURVE_RUNS, "wanted": CURVE_RUNS}


def plain_curve(found: Curve) -> Plain:
    """Return a curve as plain values; what is not known yet is null."""
    names = ("mean", "low", "high", "change", "change_low", "change_high")
    columns = {name: [x if isfinite(x) else None for x in getattr(found, name).tolist()] for name in names}
    return {"values": list(found.values), "runs": found.runs.tolist(), "whole": found.complete, **columns}
