"""What a scenario says, value by value, and in plain words what has changed between two of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from twin.scenario import Scenario

SAID = 3
UNSAID = ("about", "options", "passline", "name")
DROPPED = ("stations", "stores", "time", "products", "patterns", "calendars")


def flat(scenario: Scenario) -> dict[str, str]:
    """Return each value of a scenario as it stands in the file, by its path; what no run depends on is left out."""
    found: dict[str, str] = {}
    for key, value in scenario.raw.items():
        if key not in UNSAID:
            _collect(str(key), value, found)
    return found


def _collect(path: str, value: Any, found: dict[str, str]) -> None:  # noqa: ANN401
    if isinstance(value, Mapping):
        for key, own in value.items():
            _collect(f"{path}\0{key}", own, found)
    elif isinstance(value, list | tuple) and any(isinstance(own, Mapping) for own in value):
        for number, own in enumerate(value, start=1):
            _collect(f"{path}\0{number}", own, found)
    else:
        found[path] = ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)


def words(path: str) -> str:
    """Return a path as a plant would say it: `stores.cast coils.capacity` is cast coils, capacity."""
    parts = path.split("\0")
    return ", ".join(part.replace("_", " ") for part in parts[1:] if part) if parts[0] in DROPPED else " ".join(parts)


def changes(before: Mapping[str, str], now: Mapping[str, str]) -> list[str]:
    """Return what differs, at most a few of them and how many more: `cast coils, capacity 46 coils to 60 coils`."""
    found: list[str] = []
    for path in [*now, *(path for path in before if path not in now)]:
        old, new = before.get(path), now.get(path)
        if old == new:
            continue
        if old is None:
            found.append(f"{words(path)} is new: {new}")
        elif new is None:
            found.append(f"{words(path)} is left out, was {old}")
        else:
            found.append(f"{words(path)}: {old} → {new}")
    return short(found)


def short(found: Sequence[str]) -> list[str]:
    """Return the first few, and how many more there are."""
    more = len(found) - SAID
    return [*found[:SAID], f"and {more} more"] if more > 0 else list(found)
