"""A log accepted into a scenario: a new file with the measured numbers and their sources, their doubt beside it."""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from twin.scenario.editing import with_changes
from twin.scenario.faults import Fault, Refusal, ScenarioError
from twin.scenario.files import load, save
from twin.scenario.laws import Law
from twin.scenario.paths import resolve
from twin.scenario.reading import read_text, read_tree
from twin.study.fitresult import Cause, Fitted, Source
from twin.study.fitsamples import asked
from twin.study.inputs import FORMAT, inputs_file, line_of, read_inputs
from twin.study.moves import written
from twin.study.spread import Spread
from twin.version import VERSION

if TYPE_CHECKING:
    from twin.scenario import Scenario

_EARLIER = re.compile(r"\s*#?\s*;?\s*measured: .*$")
_CALLED = {"every": "between", "repair": "repair", "life": "life"}


def accept(
    fitted: Fitted,
    source: str | Path,
    target: str | Path,
    *,
    causes: Iterable[str] | None = None,
    overwrite: bool = False,
) -> Scenario:
    """Write a scenario with the numbers that a log tells, and return it; comments are kept, the source is not touched.

    Parameters
    ----------
    source : The scenario that was fitted.
    target : The new file; beside it `TARGET.inputs.json` keeps the doubt of each number.
    causes : Paths of the numbers to take; left out: all.
    overwrite : Whether a file that is there may be replaced.

    Raises
    ------
    ScenarioError : The target is there already, or every fault that the new numbers make; nothing is written then.
    """
    target = Path(target)
    there = next((one for one in (target, inputs_file(target)) if one.exists()), None)
    if there is not None and not overwrite:
        raise _fault(there, "there is a file of this name already", "Give another name")
    wanted = None if causes is None else set(causes)
    taken = [one for one in fitted.causes if wanted is None or one.path in wanted]
    unknown = sorted((wanted or set()) - {one.path for one in taken})
    if unknown:
        raise _fault(target, f"the log tells nothing of {unknown[0]}", "Choose among the fitted numbers")
    numbers = _numbers(Path(source), taken)
    text = _text(Path(source), taken)
    new = not target.exists()
    scenario = save(target, text)
    try:
        _keep(target, fitted, numbers)
    except BaseException:
        if new:
            target.unlink(missing_ok=True)
        raise
    return scenario


def _fault(target: Path, message: str, way_out: str) -> ScenarioError:
    return ScenarioError([Fault(str(target), 0, "", "", "", way_out, message)])


def _text(source: Path, taken: list[Cause]) -> str:
    """Return the text of the new scenario; what the log confirms to the letter stays as it is written."""
    text = read_text(source)
    raw = read_tree(text, str(source)).value
    new = {_place(raw, one.path): written(one.law) for one in taken if one.law != one.assumed}
    try:
        text = with_changes(text, new, str(source))
    except Refusal as refusal:
        raise ScenarioError(
            Fault(str(source), 0, one.value, one.value, one.limit, one.way_out, one.message) for one in refusal.problems
        ) from None
    return with_sources(text, taken, str(source))


def _place(raw: dict[str, Any], path: str) -> str:
    """Return where a file has a number: a time that stands for its whole part is written in the part's place."""
    if not path.endswith(".time"):
        return path
    part = path.removesuffix(".time")
    here: Any = raw
    for step in resolve(raw, part):
        here = here.get(step) if isinstance(here, dict) else here[int(step)]
    return path if isinstance(here, dict) and "time" in here else part


def with_sources(text: str, taken: Iterable[Cause], name: str) -> str:
    """Return a scenario's text with a comment on the line of each number that says where it comes from."""
    tree = read_tree(text, name)
    said: dict[int, list[str]] = {}
    for one in taken:
        said.setdefault(line_of(tree, one.path), []).append(
            f"{_called(one)} {one.source.words.removeprefix('measured: ')}"
        )
    lines = text.split("\n")
    for number, words in said.items():
        old = lines[number - 1].removesuffix("\r")
        feed = lines[number - 1][len(old) :]
        bare = _EARLIER.sub("", old)
        joint = ";" if "#" in bare else "    #"
        lines[number - 1] = f"{bare}{joint} measured: {'; '.join(words)}{feed}"
    found = "\n".join(lines)
    return found if read_tree(found, name).value == tree.value else text


def _called(one: Cause) -> str:
    """Return what a number is called in the comment on its line."""
    if one.what in _CALLED:
        return _CALLED[one.what]
    key = one.path.removesuffix(".time").removesuffix(".takes").rsplit(".", 1)[-1]
    return key.replace("_", " ")


def _numbers(source: Path, taken: list[Cause]) -> dict[str, Any]:
    """Return the doubt of each number: of those taken now, and of those measured earlier that still stand."""
    scenario = load(source)
    laws = {one.path: one.law for one in asked(scenario)}
    earlier = {path: one for path, one in read_inputs(scenario).numbers.items() if one.source.how == "measured"}
    found = {path: _number(laws[path], one.spread, one.source) for path, one in earlier.items()}
    return found | {one.path: _number(one.law, one.spread, one.source) for one in taken}


def _number(law: Law, spread: Spread, source: Source) -> dict[str, Any]:
    return {"law": written(law), "spread": spread.plain(), "source": source.plain()}


def _keep(target: Path, fitted: Fitted, numbers: dict[str, Any]) -> None:
    """Write the doubt of the numbers beside the scenario, whole or not at all."""
    plain: dict[str, Any] = {
        "passline_inputs": FORMAT,
        "version": VERSION,
        "about": "How far off the measured numbers of the scenario beside this file may be; written by passline fit.",
        "fitted_on": fitted.digest,
        "logs": dict(fitted.logs),
        "numbers": numbers,
    }
    path = inputs_file(target.resolve())
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".new")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            json.dump(plain, stream, indent=1, ensure_ascii=False)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
