"""The numbers of a scenario with where each is from; a draft of changes, checked whole; the draft as a new file."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dashboard.answers import put
from twin.scenario import Fault, Scenario, ScenarioError, numbers
from twin.scenario.editing import with_changes
from twin.scenario.faults import Refusal
from twin.scenario.files import loads, save
from twin.scenario.paths import changed, resolve
from twin.scenario.reading import read_text, read_tree
from twin.study.fitresult import Source
from twin.study.inputs import inputs_file, read_inputs

SECTIONS = {
    "time": "Time",
    "calendars": "Calendars",
    "stores": "Stores",
    "products": "Products",
    "patterns": "Patterns",
    "plan": "Plan",
    "shared": "Cranes and crews",
    "money": "Money",
}
MEASURED, MEMORY, ASSUMED = "measured", "from memory", "assumed"
SOURCES = (MEASURED, MEMORY, ASSUMED)
_SAID = re.compile(r"\b(measured|from memory|assumed)\b:?\s*(.*)", re.IGNORECASE)
_OLD = re.compile(r"\bmeasured: .*$")
_FILE = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,59}")


@dataclass(frozen=True, slots=True)
class Number:
    """One number: its path, the group it is shown in, its name there, its text, where it is from, and since when."""

    path: str
    group: str
    kind: str
    label: str
    text: str
    source: str
    note: str = ""
    line: int = 0


@dataclass(frozen=True, slots=True)
class Change:
    """One number of a draft: what stands in the file, and what shall stand there."""

    path: str
    today: str
    wanted: str


@dataclass(frozen=True, slots=True)
class Draft:
    """Changes that are not saved yet, and every fault that they would make."""

    changes: tuple[Change, ...]
    faults: tuple[Fault, ...] = ()


def known(scenario: Scenario) -> list[Number]:
    """Return every number of a scenario in the order of its file; where it is from stands behind it as a comment.

    A number that a log was accepted for counts as measured as long as it stands as it was accepted. Of the others the
    comment at the end of their line tells, `# measured: by tape, 2026-03-02` or `# from memory`; without either they
    count as assumed.
    """
    file = Path(scenario.file)
    text = read_text(file)
    tree = read_tree(text, str(file))
    said = [_comment(line) for line in text.splitlines()]
    told = {path.removesuffix(".time"): own for path, own in read_inputs(scenario).sources.items()}
    found = []
    for one in numbers(scenario):
        path = resolve(scenario.raw, one.path)
        line = tree.line(path)
        source, note = _told(one.path, told) or (said[line - 1] if 0 < line <= len(said) else (ASSUMED, ""))
        group, kind = _group(path, scenario)
        found.append(Number(one.path, group, kind, _label(path, scenario.raw), one.text, source, note, line))
    return found


def _told(path: str, told: Mapping[str, Source]) -> tuple[str, str] | None:
    """Return what is kept of a number, or of the law that it is a part of."""
    steps = path.split(".")
    for length in range(len(steps), 0, -1):
        found = told.get(".".join(steps[:length]))
        if found is not None:
            return found.how, found.words.removeprefix(found.how).lstrip(": ")
    return None


def _comment(line: str) -> tuple[str, str]:
    """Return what the comment at the end of a line says of its numbers."""
    _, mark, comment = line.rpartition(" #")
    told = _SAID.search(comment) if mark else None
    return (told[1].lower(), told[2].strip().rstrip(".")) if told else (ASSUMED, "")


def _group(path: Sequence[str | int], scenario: Scenario) -> tuple[str, str]:
    section = str(path[0])
    if section == "stations" and len(path) > 1:
        return str(path[1]), scenario.stations[str(path[1])].kind
    return SECTIONS.get(section, section), ""


def _label(path: Sequence[str | int], raw: Any) -> str:  # noqa: ANN401 - whatever the file holds
    """Return the name of a number within its group: `failures, mill stop, every, exponential mean`."""
    steps: list[str] = []
    for step in path:
        raw = _inside(raw, step)
        reason = raw.get("reason") if isinstance(raw, Mapping) else None
        steps.append(str(reason or step + 1) if isinstance(step, int) else step.replace("_", " "))
    rest = steps[2:] if steps[0] == "stations" and len(steps) > 2 else steps[1:]
    return ", ".join(rest) or steps[0]


def _inside(raw: Any, step: str | int) -> Any:  # noqa: ANN401
    if isinstance(raw, Mapping):
        return raw.get(step)
    return raw[step] if isinstance(raw, list) and isinstance(step, int) and step < len(raw) else None


def split_set(text: str) -> tuple[str, str]:
    """Return path and value of a change as the address writes it: `stores.cast coils.capacity=60 coils`."""
    path, _, value = text.partition("=")
    return path.strip(), value.strip()


def draft(scenario: Scenario, sets: Sequence[str]) -> Draft:
    """Return the changes of an address with every fault of the file that they would make, all at once."""
    texts = {one.path: one.text for one in numbers(scenario)}
    wanted = dict(split_set(one) for one in sets)
    changes = tuple(Change(path, texts.get(path, "not in the file"), value) for path, value in wanted.items())
    if not wanted:
        return Draft(())
    file = Path(scenario.file)
    good, faults = dict[str, Any](), list[Fault]()
    for path, value in wanted.items():
        try:
            changed(scenario.raw, resolve(scenario.raw, path), value)
            good[path] = value
        except Refusal as refusal:
            faults += [Fault(file.name, 0, path, value, p.limit, p.way_out, p.message) for p in refusal.problems]
    try:
        text = with_changes(read_text(file), good, str(file)) if good else ""
        if text:
            loads(text, str(file))
    except ScenarioError as error:
        faults += error.faults
    except Refusal as refusal:
        faults += [Fault(file.name, 0, p.value, p.value, p.limit, p.way_out, p.message) for p in refusal.problems]
    return Draft(changes, tuple(faults))


class SaveError(ValueError):
    """A draft cannot be saved like this; the message says why and what to do."""


def new_file(folder: Path, name: str) -> Path:
    """Return the file of a new scenario.

    Raises
    ------
    SaveError : The name cannot be taken, or is taken.
    """
    plain = name.strip().removesuffix(".yaml").removesuffix(".yml").strip()
    if not _FILE.fullmatch(plain):
        raise SaveError("A name has letters, figures, blanks, - and _, at most 60, and begins with a letter or figure.")
    target = folder / f"{plain}.yaml"
    if target.exists() or target.with_suffix(".yml").exists():
        raise SaveError(f"{target.name} is there already. Choose another name: it is not overwritten.")
    return target


def save_as(folder: Path, name: str, scenario: Scenario, sets: Sequence[str]) -> Path:
    """Write a draft as a new file beside the old one, its comments kept; a file that is there is never overwritten.

    Raises
    ------
    SaveError : The name cannot be taken.
    ScenarioError : The draft has faults; nothing was written.
    """
    target = new_file(folder, name)
    wanted: Mapping[str, Any] = dict(split_set(one) for one in sets)
    text = by_hand(with_changes(read_text(Path(scenario.file)), wanted, scenario.file), wanted)
    loads(text, str(target))
    try:
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o644))
    except FileExistsError:
        raise SaveError(f"{target.name} is there already. Choose another name: it is not overwritten.") from None
    except OSError as error:
        raise SaveError(f"{target.name} cannot be written ({error.strerror}).") from error
    try:
        save(target, text)
        doubt = inputs_file(scenario.file)
        if doubt.is_file():
            put(inputs_file(target), doubt.read_bytes())
    except BaseException:
        target.unlink(missing_ok=True)
        raise
    return target


def by_hand(text: str, paths: Iterable[str]) -> str:
    """Return a scenario's text in which no comment calls a number measured that was set by hand since."""
    tree, lines = read_tree(text, "<text>"), text.split("\n")
    for path in paths:
        line = tree.line(resolve(tree.value, path)) - 1
        head, mark, comment = lines[line].rpartition(" #")
        if mark and MEASURED in comment:
            end = "\r" if comment.endswith("\r") else ""
            lines[line] = f"{head}{mark} {_OLD.sub('set by hand since', comment.strip())}{end}"
    return "\n".join(lines)
