"""How much of an answer is not known: inputs as uncertain as they are, and what a page is told of it, as plain data."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from dashboard.ask import UNCERTAIN
from twin.indicators.intervals import LEVEL, FloatArray, Interval, t_quantile
from twin.scenario import Scenario
from twin.study.inputs import ASSUMED_SHARE, Inputs, inputs_file, read_inputs
from twin.study.split import Lead, Split, split
from twin.study.uncertain import GROUP, Uncertain, vary_of

NOTHING_KNOWN = "no log was accepted"
LAST = {"every": "how often", "repair": "time to mend", "takes": "time it takes", "time": "time it takes"}
ROLLS = {
    "rolls.change": "roll change: time it takes",
    "rolls.damaged_change": "roll change after damage: time it takes",
    "rolls.damage": "rolls: how far to a damage",
}
Plain = dict[str, Any]


def stamp_of(scenario_file: Path) -> str:
    """Return a name for what is known of a scenario's numbers: another log accepted into it gives another name."""
    try:
        return hashlib.sha256(inputs_file(scenario_file).read_bytes()).hexdigest()[:16]
    except FileNotFoundError:
        return NOTHING_KNOWN


class Doubts:
    """The doubt of a plant's numbers in one study; with best estimates there is none, and nothing is drawn."""

    def __init__(self, scenario: Scenario, inputs: str, group: int = GROUP) -> None:
        """Raise ScenarioError where what a log said cannot be read; `group` runs are to share a plant."""
        self.scenario = scenario
        self.known: Inputs | None = read_inputs(scenario) if inputs == UNCERTAIN else None
        vary = vary_of(self.known, group) if self.known is not None else None
        self.vary: Uncertain | None = vary if vary is not None and vary.spreads else None

    @property
    def group(self) -> int:
        """Return how many runs share a plant; 0 where all have the same numbers."""
        return self.vary.group if self.vary is not None else 0

    def of_run(self, seed: int, run: int) -> Scenario:
        """Return the plant as one run has it."""
        return self.scenario if self.vary is None else self.vary(self.scenario, seed, run)

    def told(self, values: FloatArray, seed: int, of: Sequence[str] = ()) -> Plain | None:
        """Return what the page is told of an answer; None with best estimates.

        Parameters
        ----------
        values : One a run. [t/week]
        of : The options whose change the values are, none for what the line makes.
        """
        if self.known is None:
            return None
        found = split(values, self.vary, seed, self.known) if self.vary is not None else None
        return {
            "of": list(of),
            "runs": len(values),
            "group": self.group,
            "guess": ASSUMED_SHARE,
            **counts(self.known),
            "split": None if found is None else parted(found, len(values) // self.group, self.known),
        }


def counts(known: Inputs) -> Plain:
    """Return how many numbers are measured, from memory and assumed, and of which days the records are."""
    sources = list(known.sources.values())
    own = [one for one in sources if one.how == "measured"]
    return {
        "numbers": len(sources),
        "measured": len(own),
        "from_memory": sum(one.how == "from memory" for one in sources),
        "first": min((one.first for one in own if one.first), default=""),
        "last": max((one.last for one in own if one.last), default=""),
    }


def parted(found: Split, plants: int, known: Inputs) -> Plain:
    """Return the parts of the doubt: half-widths in the unit of the values, shares of the variance."""
    wide = t_quantile(0.5 + LEVEL / 2.0, plants - 1) * found.from_log
    half = found.answer.half
    return {
        "answer": ends(found.answer),
        "runs_only": ends(found.runs_only),
        "endless_runs": wide if half is None else min(wide, half),
        "log_share": found.log_share,
        "record_next": [lead(one, known) for one in found.leads],
    }


def ends(one: Interval) -> Plain:
    """Return mean and ends of an interval."""
    return {"mean": one.mean, "low": one.low, "high": one.high}


def lead(one: Lead, known: Inputs) -> Plain:
    """Return one number that is worth recording, with what it rests on today."""
    source = known.numbers[one.path].source
    return {
        "path": one.path,
        "name": name_of(one.path),
        "how": one.how,
        "n": source.n,
        "share": one.share,
        "half": one.half,
        "half_without": one.half_without,
    }


def name_of(path: str) -> str:
    """Return a number as a plant would say it: `mill, mill stop: how often`."""
    station, _, rest = path.removeprefix("stations.").partition(".")
    reason, _, last = rest.removeprefix("failures.").rpartition(".")
    said = ROLLS.get(rest) or f"{reason}: {LAST.get(last, last)}"
    return f"{station}, {said}".replace("_", " ")


def half_of(one: Mapping[str, Any]) -> float:
    """Return half the width of an interval whose ends are known."""
    return float(one["high"] - one["low"]) / 2.0
