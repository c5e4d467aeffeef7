"""The door: a scenario from a file or a text, with all its faults at once."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from twin.scenario.building import Known, draft
from twin.scenario.checks import check
from twin.scenario.editing import with_changes
from twin.scenario.faults import Fault, Placed, Refusal, ScenarioError
from twin.scenario.models import Scenario
from twin.scenario.paths import place_text, written
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


def from_tree(
    tree: Tree, *, options_too: bool = True, known: Known | None = None, folder: Path | None = None
) -> Scenario:
    """Return the scenario of what was read from a file; raise :class:`ScenarioError` with every fault.

    ``options_too`` tells whether each option is tried as well; ``known`` is what was read before; ``folder`` is where
    a file of orders lies, left out: beside the file, if there is one.
    """
    if not isinstance(tree.value, Mapping):
        raise fault(tree.file, 1, "a scenario is a mapping of keys", way_out="Begin with 'passline: 1'")
    if folder is None and Path(tree.file).is_file():
        folder = Path(tree.file).parent
    found = draft(tree.value, folder, known)
    found.problems += check(found, options_too=options_too)
    if found.problems:
        raise ScenarioError(faults_of(tree, found.problems))
    return found.scenario.read_from(dict(tree.value), tree.file)


def faults_of(tree: Tree, problems: list[Placed]) -> list[Fault]:
    """Return problems as faults with their lines, in the order of the file."""
    faults = []
    for path, p in problems:
        here = written(path, tree.value)
        place, line = place_text(here, tree.value), tree.line(here)
        faults.append(Fault(tree.file, line, place, p.value, p.limit, p.way_out, p.message))
    return sorted(dict.fromkeys(faults), key=lambda one: one.line)


def save(path: str | Path, content: str | Mapping[str, Any], *, source: str | Path | None = None) -> Scenario:
    """Save a scenario and return it; what is at fault is never written, and a file is written whole or not at all.

    Parameters
    ----------
    path : The file to write.
    content : A whole text, or values by their paths, which are set in the text of ``source`` with its comments kept.
    source : The file whose text is changed; left out: ``path`` itself.

    Raises
    ------
    ScenarioError : Every fault of the text, or the place that cannot be set.
    """
    target = Path(path)
    text = content if isinstance(content, str) else _edited(Path(source or target), content)
    scenario = from_tree(read_tree(text, str(target)), folder=target.parent)
    _write(target, text)
    return scenario


def _edited(source: Path, changes: Mapping[str, Any]) -> str:
    try:
        return with_changes(read_text(source), changes, str(source))
    except Refusal as refusal:
        faults = [Fault(str(source), 0, p.value, p.value, p.limit, p.way_out, p.message) for p in refusal.problems]
        raise ScenarioError(faults) from None


def _write(target: Path, text: str) -> None:
    """Write a text beside its file and put it in the file's place in one step."""
    target = target.resolve()
    handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".new")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(text.encode())
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, target.stat().st_mode if target.exists() else 0o644)
        os.replace(temporary, target)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
