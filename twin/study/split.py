"""How much of an answer's doubt comes from too few runs and how much from too little log, and what to record next."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np

from twin.indicators.intervals import LEVEL, FloatArray, Interval, parts_of, plant_interval, t_quantile
from twin.study.inputs import Inputs
from twin.study.uncertain import Uncertain

TOLD = 0.05
"""A number that makes up less of what is not known of the plant is not worth a sentence."""
MOST_TOLD = 5
LEAST_GROUPS = 10


@dataclass(frozen=True)
class Lead:
    """One number that is worth recording: how much of the doubt is its own, and what would be left without it.

    Attributes
    ----------
    share : Of the variance that comes from not knowing the plant.
    half, half_without : Half-width of the answer's interval now, and if this number were known exactly.
    """

    path: str
    how: str
    share: float
    half: float
    half_without: float


@dataclass(frozen=True)
class Split:
    """The doubt of one answer, in the unit of its values.

    Attributes
    ----------
    answer : Mean with its interval, both errors in it.
    runs_only : The interval that knowing the plant exactly would give: what plain intervals show.
    from_log, from_runs : Standard errors: of not knowing the plant, and of having made so few runs.
    leads : What to record next, the most rewarding first.
    """

    answer: Interval
    runs_only: Interval
    from_log: float
    from_runs: float
    leads: tuple[Lead, ...]

    @property
    def log_share(self) -> float:
        """Return the share of the variance that comes from too little log."""
        total = self.from_log**2 + self.from_runs**2
        return self.from_log**2 / total if total > 0.0 else 0.0

    def words(self, unit: str) -> str:
        """Return it as a sentence."""
        if self.from_log == 0.0:
            return "All of the doubt seen is luck of the runs: more runs would narrow it."
        cure = "records of the plant" if self.log_share > 0.5 else "more runs"
        return (
            f"Of the doubt, {self.log_share:.0%} comes from what is not known of the plant "
            f"(± {1.96 * self.from_log:.3g} {unit}) and the rest from too few runs (± {1.96 * self.from_runs:.3g} "
            f"{unit}): {cure} would narrow it most."
        )

    def plain(self, unit: str) -> dict[str, Any]:
        """Return it as results have it."""
        return {
            "from_log": {"sd": self.from_log, "unit": unit},
            "from_runs": {"sd": self.from_runs, "unit": unit},
            "log_share": self.log_share,
            "runs_only": {"mean": self.runs_only.mean, "low": self.runs_only.low, "high": self.runs_only.high},
            "words": self.words(unit),
            "record_next": [
                {
                    "path": one.path,
                    "how": one.how,
                    "share": one.share,
                    "half": one.half,
                    "half_without": one.half_without,
                }
                for one in self.leads
            ],
        }


def split(values: FloatArray, vary: Uncertain, seed: int, inputs: Inputs) -> Split | None:
    """Return the doubt of an answer; None from fewer than two plants.

    Parameters
    ----------
    values : One a run, the runs in the order in which `vary` gave them plants.
    """
    group = vary.group
    if group < 2 or len(values) < 2 * group:
        return None
    parts = parts_of(values, group)
    within = values[: len(values) // group * group].reshape(-1, group).var(axis=1, ddof=1).mean()
    half = t_quantile(0.5 + LEVEL / 2.0, parts.degrees) * sqrt(float(within) / len(values))
    mean = float(values.mean())
    return Split(
        answer=plant_interval(values, group),
        runs_only=Interval(mean, mean - half, mean + half),
        from_log=sqrt(parts.plant),
        from_runs=sqrt(float(within) / len(values)),
        leads=_leads(values, vary, seed, inputs),
    )


def _leads(values: FloatArray, vary: Uncertain, seed: int, inputs: Inputs) -> tuple[Lead, ...]:
    """Rank numbers by how much of the plants' scatter goes with them: least squares of group means on their pulls.

    Of the square of each slope its error is taken off, so that a number which does nothing is not ranked by chance.
    """
    group = vary.group
    means = values[: len(values) // group * group].reshape(-1, group).mean(axis=1)
    drawn = [vary.pulls(seed, draw) for draw in range(len(means))]
    columns = [(path, place) for path, own in drawn[0].items() for place in range(len(own))]
    parts = parts_of(values, group)
    if len(means) < LEAST_GROUPS or not columns or parts.plant <= 0.0:
        return ()
    effects: dict[str, float] = {}
    table = np.array([[own[path][place] for path, place in columns] for own in drawn])
    for (path, _), effect in zip(columns, _effects(table, means).tolist(), strict=True):
        effects[path] = effects.get(path, 0.0) + effect
    now, found = plant_interval(values, group).half or 0.0, []
    for name, effect in effects.items():
        share = min(effect / parts.plant, 1.0)
        if share >= TOLD:
            left = now * sqrt(((1.0 - share) * parts.plant + parts.runs) / (parts.plant + parts.runs))
            found.append(Lead(name, inputs.numbers[name].source.how, share, now, left))
    return tuple(sorted(found, key=lambda one: -one.share)[:MOST_TOLD])


def _effects(pulls: FloatArray, means: FloatArray) -> FloatArray:
    """Return the variance that goes with each number; one at a time where plants are too few for all at once."""
    off = means - means.mean()
    count, numbers = pulls.shape
    if count >= 2 * numbers + LEAST_GROUPS:
        design = np.column_stack([np.ones(count), pulls])
        slopes = np.linalg.lstsq(design, means, rcond=None)[0]
        rest = float(((means - design @ slopes) ** 2).sum()) / (count - numbers - 1)
        errors = rest * np.diag(np.linalg.inv(design.T @ design))[1:]
        return np.asarray(np.maximum(slopes[1:] ** 2 - errors, 0.0))
    centred = pulls - pulls.mean(axis=0)
    square = np.maximum((centred**2).sum(axis=0), 1e-12)
    slopes = centred.T @ off / square
    rests = ((off[:, None] - centred * slopes) ** 2).sum(axis=0) / (count - 2)
    return np.asarray(np.maximum(slopes**2 - rests / square, 0.0))
