"""The door: a scenario from a file or a text, with all its faults at once."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from twin.scenario.building import Placed, draft
from twin.scenario.faults import Fault, ScenarioError
from twin.scenario.models import Scenario
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


def from_tree(tree: Tree) -> Scenario:
    """Return the scenario of what was read from a file; raise :class:`ScenarioError` with every fault."""
    if not isinstance(tree.value, Mapping):
        raise fault(tree.file, 1, "a scenario is a mapping of keys", way_out="Begin with 'passline: 1'")
    found = draft(tree.value)
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


def place_text(path: tuple[str | int, ...], raw: Any) -> str:  # noqa: ANN401 - whatever the file holds
    """Return a path as people write it: list items by their reason, else by their number from 1."""
    words: list[str] = []
    for step in path:
        inside = raw[step] if _has(raw, step) else None
        reason = inside.get("reason") if isinstance(inside, Mapping) else None
        words.append(
            reason
            if isinstance(step, int) and isinstance(reason, str)
            else str(step + 1 if isinstance(step, int) else step)
        )
        raw = inside
    return ".".join(words)


def _has(raw: object, step: str | int) -> bool:
    if isinstance(raw, Mapping):
        return step in raw
    return isinstance(raw, list) and isinstance(step, int) and 0 <= step < len(raw)
