"""What the parts of a file must keep between each other: names that exist, a flow, metal that can be rolled."""

from __future__ import annotations

from twin.scenario.building import Draft, Placed
from twin.scenario.checks import fitting, flow, hours, metal, names, present, products, trial


def check(found: Draft, *, options_too: bool = True) -> list[Placed]:
    """Return every problem between the parts of a file; parts that could not be read are passed over.

    ``options_too`` tells whether each option is tried as well, once the file itself is sound.
    """
    problems: list[Placed] = []
    for one in (names, fitting, flow, metal, products, hours, present):
        problems += one.check(found)
    if options_too and not problems and not found.problems:
        problems += trial.check(found)
    return problems
