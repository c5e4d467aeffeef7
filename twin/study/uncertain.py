"""Runs whose inputs are as uncertain as they are: each draws the plant that it simulates from what a log leaves open.

The draws are those of a plant, not of an option: two options are compared on the same plants and the same luck. Runs
share a plant in groups, so that what is luck can be told from what is not known of the plant (`twin.study.split`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from twin.scenario import apply_settings
from twin.study.fitsamples import asked
from twin.study.inputs import Inputs
from twin.study.moves import written
from twin.study.spread import Spread, drawn, pulls

if TYPE_CHECKING:
    from twin.scenario import Scenario

GROUP = 2
"""Runs that share a plant."""


@dataclass(frozen=True)
class Uncertain:
    """Gives each run inputs of its own; can be sent to a worker.

    Attributes
    ----------
    spreads : Path of a number and how far off it may be; what the scenario has there is its best estimate.
    group : Runs that share a plant.
    """

    spreads: tuple[tuple[str, Spread], ...]
    group: int = GROUP

    def __call__(self, scenario: Scenario, seed: int, run: int) -> Scenario:
        """Return the scenario of a run."""
        laws = {one.path: one.law for one in asked(scenario)}
        draw = run // self.group
        new = {
            path: written(drawn(laws[path], spread, seed, draw, path)) for path, spread in self.spreads if path in laws
        }
        return apply_settings(scenario, new)

    def pulls(self, seed: int, draw: int) -> dict[str, tuple[float, ...]]:
        """Return how far each number of a plant was pulled, in standard deviations, one for each of its parameters."""
        return {path: pulls(spread, seed, draw, path) for path, spread in self.spreads}


def vary_of(inputs: Inputs, group: int = GROUP) -> Uncertain:
    """Return what draws the inputs of each run."""
    kept = tuple((path, one.spread) for path, one in inputs.numbers.items() if one.spread.kind != "none")
    return Uncertain(kept, group)


@dataclass(frozen=True)
class DrawnOnce:
    """Gives each run the plant that `vary` draws, drawn once: many days of a line are run on the same plants."""

    vary: Uncertain
    known: dict[tuple[str, int, int], Scenario] = field(default_factory=dict, compare=False)

    def __call__(self, scenario: Scenario, seed: int, run: int) -> Scenario:
        """Return the scenario of a run."""
        draw = run // self.vary.group * self.vary.group
        key = scenario.digest, seed, draw
        if key not in self.known:
            self.known[key] = self.vary(scenario, seed, draw)
        return self.known[key]
