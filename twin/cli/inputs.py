"""How a command takes the inputs of a line: at their best estimates, or as uncertain as they are."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from twin.cli.faults import UsersFault

if TYPE_CHECKING:
    from twin.indicators.intervals import FloatArray
    from twin.scenario import Scenario
    from twin.study.inputs import Inputs as Known
    from twin.study.uncertain import Uncertain

HELP = "Take the inputs at their best estimates, or as uncertain as the plant's log leaves them."
LEAST_RUNS = 60
"""Runs with uncertain inputs where none are asked for: 30 plants of two runs."""


class Inputs(StrEnum):
    """How the inputs are taken."""

    BEST = "best"
    UNCERTAIN = "uncertain"


def varied(scenario: Scenario, inputs: Inputs, group: int | None = None) -> tuple[Uncertain | None, Known | None]:
    """Return what draws the inputs of each run, and what they rest on; nothing where they are best estimates.

    So many runs of a `group` share a plant, as many as usual where none is given.
    """
    if inputs is Inputs.BEST:
        return None, None
    from twin.study.inputs import read_inputs
    from twin.study.uncertain import GROUP, vary_of

    known = read_inputs(scenario)
    vary = vary_of(known, group or GROUP)
    if not vary.spreads:
        raise UsersFault(f"{scenario.file}: no number of it is uncertain, so --inputs uncertain has nothing to draw")
    return vary, known


def doubt(values: FloatArray, vary: Uncertain, known: Known, seed: int, unit: str) -> dict[str, Any]:
    """Return what the results say of uncertain inputs; `values` are one a run."""
    from twin.study.split import split

    found = split(values, vary, seed, known)
    return {
        "mode": "uncertain",
        "words": known.words,
        "measured": known.measured,
        "numbers": len(known.numbers),
        "group": vary.group,
        "doubt": None if found is None else found.plain(unit),
    }


def drawn_words(results: Mapping[str, Any]) -> str:
    """Return what stands behind the line that says how sure an answer is; nothing where inputs are the best ones."""
    told = results.get("inputs")
    if not told:
        return ""
    measured = told["measured"] or "none"
    return (
        f" Inputs are drawn as uncertain as they are ({measured} of {told['numbers']} measured), anew for every "
        f"{told['group']} runs: the intervals hold that too."
    )


def doubt_words(told: dict[str, Any]) -> list[str]:
    """Return that in sentences."""
    said, split = [told["words"]], told["doubt"]
    if split is None:
        return [*said, "Too few runs to tell luck from what is not known: make 4 or more."]
    plain = split["runs_only"]
    said += [split["words"], f"Taken as known exactly, it would seem {plain['low']:.4g} to {plain['high']:.4g}."]
    if split["record_next"]:
        said.append("What to record next, by how much it would narrow the answer if it were known exactly:")
        said += [
            f"  {one['path'].removeprefix('stations.')} ({one['how']}): {one['share']:.0%} of what is not known, "
            f"± {one['half']:.3g} would become ± {one['half_without']:.3g}"
            for one in split["record_next"]
        ]
    return said
