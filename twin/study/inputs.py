"""Where the numbers of a scenario come from, and how far off each may be: kept in a file beside the scenario.

`PLANT.inputs.json` stands beside `PLANT.yaml` once a log was accepted into it. A number counts as measured as long as
it still stands in the scenario as it was accepted; everything else is assumed, with a stated guess of how far off.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from twin.scenario.faults import Fault, ScenarioError
from twin.scenario.paths import resolve
from twin.scenario.reading import read_text, read_tree
from twin.study.fitresult import Source
from twin.study.fitsamples import asked
from twin.study.moves import written
from twin.study.spread import Spread, lognormal_deviation, spread_of

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.scenario.reading import Tree

FORMAT = 1
LARGEST = 20_000_000
ASSUMED_SHARE = 0.2
"""How far off an assumed mean may be (one standard deviation, as a share): a guess, and said to be one."""
GUESS = Spread("mean", deviation=lognormal_deviation(ASSUMED_SHARE))
ASSUMED = Source("assumed", words="assumed")
FROM_MEMORY = Source("from memory", words="from memory")
_MEMORY = re.compile(r"#.*\bfrom memory\b")


@dataclass(frozen=True)
class Number:
    """One number of a scenario: where it comes from, and how far off it may be."""

    path: str
    source: Source
    spread: Spread


@dataclass(frozen=True)
class Inputs:
    """The numbers of a scenario that a log can tell of, by their paths."""

    numbers: Mapping[str, Number] = field(default_factory=dict)

    @property
    def sources(self) -> dict[str, Source]:
        """Return where each number comes from."""
        return {path: one.source for path, one in self.numbers.items()}

    @property
    def measured(self) -> int:
        """Return how many of them were measured."""
        return sum(one.source.how == "measured" for one in self.numbers.values())

    @property
    def words(self) -> str:
        """Return what the answer rests on, as a sentence."""
        all_, known = len(self.numbers), self.measured
        guess = f"an assumed mean may be off by {ASSUMED_SHARE:.0%} (one standard deviation, a guess)"
        if not all_:
            return "No number of the line is left to chance."
        if not known:
            return f"None of {all_} uncertain numbers is measured; {guess}."
        rest = f"; {guess}" if known < all_ else ""
        return f"{known} of {all_} uncertain numbers are measured in the plant's log{rest}."


def inputs_file(scenario_file: str | Path) -> Path:
    """Return where the doubt of a scenario's numbers is kept."""
    path = Path(scenario_file)
    return path.with_name(f"{path.stem}.inputs.json")


def read_inputs(scenario: Scenario) -> Inputs:
    """Return where the numbers of a scenario come from, and how far off they may be.

    Raises
    ------
    ScenarioError : The file of the doubt cannot be read.
    """
    kept = _kept(scenario.file)
    memory = _from_memory(scenario.file)
    numbers = {}
    for one in asked(scenario):
        found = kept.get(one.path)
        if found is not None and found["law"] == written(one.law):
            numbers[one.path] = Number(one.path, _source(found["source"]), spread_of(found["spread"]))
        else:
            source = FROM_MEMORY if one.path in memory else ASSUMED
            numbers[one.path] = Number(one.path, source, GUESS)
    return Inputs(numbers)


def _kept(file: str) -> dict[str, Any]:
    """Return the numbers that were accepted from a log, as they are kept."""
    path = inputs_file(file)
    if not file or not Path(file).is_file() or not path.is_file():
        return {}
    try:
        if path.stat().st_size > LARGEST:
            raise ValueError(f"it is larger than {LARGEST // 1_000_000} MB")
        plain = json.loads(path.read_text(encoding="utf-8"))
        if plain["passline_inputs"] != FORMAT:
            raise ValueError(f"it is of format {plain['passline_inputs']}, known is {FORMAT}")
        numbers = dict(plain["numbers"])
        for one in numbers.values():
            spread_of(one["spread"])
            _source(one["source"])
            one["law"]  # noqa: B018 - must be there
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as fault:
        message = f"what a log said of the numbers cannot be read: {fault}"
        way_out = "Accept the log once more with 'passline fit ... --write', or delete the file: all counts as assumed"
        raise ScenarioError([Fault(str(path), 0, "", "", "", way_out, message)]) from None
    return numbers


def _source(plain: Mapping[str, Any]) -> Source:
    how = plain["how"]
    if how not in ("measured", "assumed", "from memory"):
        raise ValueError(f"'{how}' is no source")
    return Source(how, int(plain["n"]), str(plain["first"]), str(plain["last"]), str(plain["words"]))


def _from_memory(file: str) -> set[str]:
    """Return the paths of numbers on whose line a comment says `from memory`."""
    if not file or not Path(file).is_file():
        return set()
    text = read_text(Path(file))
    lines = {number for number, line in enumerate(text.splitlines(), 1) if _MEMORY.search(line)}
    if not lines:
        return set()
    from twin.scenario.files import loads

    tree = read_tree(text, file)
    return {one.path for one in asked(loads(text, file)) if line_of(tree, one.path) in lines}


def line_of(tree: Tree, path: str) -> int:
    """Return the line on which a number stands in its file."""
    from twin.scenario.paths import written as as_written

    return tree.line(as_written(resolve(tree.value, path), tree.value))
