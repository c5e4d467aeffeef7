"""The door: a scenario from a file or a text, with all its faults at once."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from twin.scenario.building import Placed, draft
from twin.scenario.checks import check
from twin.scenario.faults import Fault, ScenarioError
from twin.scenario.models import Scenario
from twin.scenario.paths import place_text
from twin.scenario.reading import Tree, fault, read_text, read_tree


def load(path: str | Path) -> Scenario:
    """Return the scenario of a file.

    Raises
    ------
    ScenarioError : Every fault of the file, each with line, place, value, limit and way out.
    """
    return loads(read_text(Path(path)), str(path))


def loads(text: str, name: str = "<text>") -> Scenario:
    """Return the scenario of a text; ``name`` stands for the file in messages.

    Raises
    ------
    ScenarioError : Every fault of the text.
    """
    return from_tree(read_tree(text, name))


def from_tree(tree: Tree, *, options_too: bool = True) -> Scenario:
    """Return the scenario of what was read from a file; raise :class:`ScenarioError` with every fault.

    ``options_too`` tells whether each option is tried as well.
    """
    if not isinstance(tree.value, Mapping):
        raise fault(tree.file, 1, "a scenario is a mapping of keys", way_out="Begin with 'passline: 1'")
    found = draft(tree.value)
    found.problems += check(found, options_too=options_too)
    if found.problems:
        raise ScenarioError(faults_of(tree, found.problems))
    return found.scenario.read_from(dict(tree.value), tree.file)


def faults_of(tree: Tree, problems: list[Placed]) -> list[Fault]:
    """Return problems as faults with their lines, in the order of the file."""
    faults = [
        Fault(tree.file, tree.line(path), place_text(path, tree.value), p.value, p.limit, p.way_out, p.message)
        for path, p in problems
    ]
    return sorted(dict.fromkeys(faults), key=lambda one: one.line)
