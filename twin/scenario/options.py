"""What-ifs: a value set by its path, and the named options of a file, alone or together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from twin.scenario.building import Known
from twin.scenario.faults import Fault, Path, Refusal, ScenarioError, did_you_mean
from twin.scenario.models import Scenario
from twin.scenario.paths import changed, resolve
from twin.scenario.reading import Tree, read_tree


def apply_set(scenario: Scenario, path: str, value: Any) -> Scenario:  # noqa: ANN401 - whatever a file may hold
    """Return the scenario with one value set; a text is read as in a file: ``2``, ``75 km``, ``{uniform: ...}``.

    Raises
    ------
    ScenarioError : No such place, with the nearest one; or every fault that the new value makes.
    """
    plain = _plain(value, path) if isinstance(value, str) else value
    return apply_settings(scenario, {path: plain})


def apply_settings(scenario: Scenario, values: Mapping[str, Any]) -> Scenario:
    """Return the scenario with values set by their paths, all at once, each as it is read from a file.

    Raises
    ------
    ScenarioError : No such place, with the nearest one; or every fault that the new values make.
    """
    return _applied(scenario, [("", path, value) for path, value in values.items()])


def apply_options(scenario: Scenario, names: Sequence[str]) -> Scenario:
    """Return the scenario with options of its file applied together.

    Raises
    ------
    ScenarioError : No such option, two that set one number differently, or every fault that they make together.
    """
    changes: list[tuple[str, str, Any]] = []
    for name in dict.fromkeys(names):
        option = scenario.options.get(name)
        if option is None:
            hint = did_you_mean(name, scenario.options, "options")
            raise ScenarioError([Fault(scenario.file, 0, "options", name, "", hint, f"there is no option '{name}'")])
        changes += [(f"option '{name}'", path, value) for path, value in option.set.items()]
    return _applied(scenario, changes)


def _plain(text: str, path: str) -> Any:  # noqa: ANN401
    try:
        return read_tree(text, "value").value
    except ScenarioError as error:
        one = error.faults[0]
        message = f"'{text}' cannot be read: {one.message}"
        raise ScenarioError([Fault("", 0, path, text, one.limit, one.way_out, message)]) from None


def _applied(scenario: Scenario, changes: Sequence[tuple[str, str, Any]]) -> Scenario:
    from twin.scenario.files import from_tree

    if not changes:
        return scenario
    raw, faults = changed_by(scenario.raw, changes, scenario.file)
    if faults:
        raise ScenarioError(faults)
    whose = " + ".join(dict.fromkeys(who for who, _, _ in changes))
    try:
        return from_tree(Tree(raw, {}, scenario.file), options_too=False, known=Known(scenario.raw, dict(scenario)))
    except ScenarioError as error:
        raise ScenarioError(named(fault, whose) for fault in error.faults) from None


def named(fault: Fault, whose: str, line: int = 0) -> Fault:
    """Return a fault that tells which option made it."""
    message = f"{whose}: {fault.message}" if whose else fault.message
    return Fault(fault.file, line, fault.place, fault.value, fault.limit, fault.way_out, message)


def changed_by(
    raw: Mapping[str, Any], changes: Sequence[tuple[str, str, Any]], file: str
) -> tuple[dict[str, Any], list[Fault]]:
    """Return a file's values with changes made, and the faults of their paths; two must not disagree."""
    new, faults = dict(raw), list[Fault]()
    made: dict[Path, tuple[str, Any]] = {}
    for who, text, value in changes:
        try:
            path = resolve(new, text)
            other = next(_disagreeing(made, path, value), None)
            if other is not None:
                message = f"{other} and {who} both set {text}, to different values"
                faults.append(Fault(file, 0, text, "", "one value", "Leave one of them out", message))
                continue
            new = changed(new, path, value)
            made[path] = who, value
        except Refusal as refusal:
            for p in refusal.problems:
                faults.append(named(Fault(file, 0, text, p.value, p.limit, p.way_out, p.message), who))
    return new, faults


def _disagreeing(made: Mapping[Path, tuple[str, Any]], path: Path, value: object) -> Iterator[str]:
    """Yield who set the same place, or something around or inside it, to something else."""
    for other, (who, given) in made.items():
        shorter = min(len(other), len(path))
        if other[:shorter] == path[:shorter] and not (other == path and given == value):
            yield who
