"""A plant's state now out of a file of its own, and the plan of before: what a new plan of roll changes begins from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from twin.scenario import Fault, Scenario, ScenarioError, apply_set
from twin.scenario.reading import Tree, read_text, read_tree
from twin.study.rollnow import RollsError

KEYS = ("now", "stores", "rolls", "machines")


def with_state(scenario: Scenario, file: Path) -> Scenario:
    """Return the scenario that starts from the state in a file: `now`, and what `start:` of a scenario may hold.

    Raises
    ------
    ScenarioError : The file cannot be read or says something that the plant does not know, with its line.
    """
    name = str(file)
    tree = read_tree(read_text(file), name)
    if not isinstance(tree.value, Mapping):
        raise _refused(tree, (), "a state is a mapping", f"Write the keys {', '.join(KEYS)}")
    for key in tree.value:
        if key not in KEYS:
            raise _refused(tree, (key,), f"'{key}' is not part of a state", f"Write {', '.join(KEYS)}")
    told = {key: value for key, value in tree.value.items() if key != "now"}
    try:
        found = apply_set(scenario, "start", told or {"stores": {}})
        return apply_set(found, "time.start", str(tree.value["now"])) if "now" in tree.value else found
    except ScenarioError as error:
        raise told_of_state(error, file) from None


def told_of_state(error: ScenarioError, file: Path) -> ScenarioError:
    """Return the faults of a start with their places in the file that the state came from."""
    tree = read_tree(read_text(file), str(file))
    return ScenarioError([_placed(fault, tree) for fault in error.faults])


def _refused(tree: Tree, path: tuple[str, ...], message: str, way_out: str) -> ScenarioError:
    return ScenarioError([Fault(tree.file, tree.line(path), ".".join(path), "", "", way_out, message)])


def _placed(fault: Fault, tree: Tree) -> Fault:
    """Return a fault with its place in the file of the state."""
    if not fault.place.startswith(("start", "time.start")):
        return fault
    place = fault.place.removeprefix("start.").replace("time.start", "now")
    return replace(fault, file=tree.file, line=tree.line(tuple(place.split("."))), place=place)


def earlier_changes(results: Mapping[str, Any], now: datetime, station: str) -> tuple[float, ...]:
    """Return the best times of the changes in earlier results of `passline rolls` that still lie ahead. [s from now]

    Raises
    ------
    RollsError : They are no such results, or those of another station.
    """
    if results.get("station") != station or not isinstance(results.get("changes"), list):
        raise RollsError(f"this is no earlier plan for '{station}': give the JSON that `passline rolls --json` wrote")
    try:
        times = [datetime.fromisoformat(change["best"]) for change in results["changes"]]
        ahead = [(at - now).total_seconds() for at in times]
    except (KeyError, TypeError, ValueError) as fault:
        raise RollsError("the earlier plan has a change without a best time: write it anew with --json") from fault
    return tuple(at for at in ahead if at >= 0.0)
