"""What the parts of a file must keep between each other: names that exist, a flow, metal that can be rolled."""

from __future__ import annotations

from twin.scenario.building import Draft
from twin.scenario.checks import fitting, flow, hours, metal, names, present, products, trial
from twin.scenario.faults import Placed


def check(found: Draft, *, options_too: bool = True) -> list[Placed]:
    """Return every problem between the parts of a file; parts that could not be read are passed over.

    What would only follow from another problem is not told: how products run is looked at once the flow is sound.
    ``options_too`` tells whether each option is tried as well, once the file itself is sound.
    """
    problems = [*names.check(found), *fitting.check(found)]
    problems += flow.check(found, sound=not problems)
    sound = not problems and not found.problems
    problems += [*metal.check(found), *products.check(found), *hours.check(found), *present.check(found)]
    if sound and not problems:
        problems += products.runs(found)
    if options_too and not problems and not found.problems:
        problems += trial.check(found)
    return problems
