"""Paths to the values of a scenario as people write them: ``stations.mill.failures.mill stop.every``.

Names may hold blanks and points. Items of a list are named by their reason, else by their number from 1.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from twin.scenario.building import item_type, station_model
from twin.scenario.faults import Path, Refusal, did_you_mean, refuse
from twin.scenario.fields import Part
from twin.scenario.models import Scenario
from twin.scenario.telling import keys_of, model_at

FIXED = ("passline", "options")
"""Keys that no option and no ``--set`` may change."""


def place_text(path: Path, raw: Any) -> str:  # noqa: ANN401 - whatever the file holds
    """Return a path as people write it."""
    words: list[str] = []
    for step in path:
        inside = _inside(raw, step)
        words.append(_item_name(inside, step) if isinstance(step, int) else str(step))
        raw = inside
    return ".".join(words)


def _item_name(item: object, number: int) -> str:
    reason = item.get("reason") if isinstance(item, Mapping) else None
    return reason if isinstance(reason, str) and reason else str(number + 1)


def _inside(raw: object, step: str | int) -> Any:  # noqa: ANN401
    if isinstance(raw, Mapping):
        return raw.get(step)
    return raw[step] if isinstance(raw, list) and isinstance(step, int) and 0 <= step < len(raw) else None


def written(path: Path, raw: Any) -> Path:  # noqa: ANN401
    """Return a path without the steps that short forms leave out, such as the 1 of a list of one."""
    here: Path = ()
    for step in path:
        if (isinstance(step, int) and not isinstance(raw, list)) or (
            isinstance(raw, list) and not isinstance(step, int)
        ):
            continue
        here, raw = (*here, step), _inside(raw, step)
    return here


def resolve(raw: Mapping[str, Any], text: str) -> Path:
    """Return the path that a text names in a file's values; its end may be keys that are not written there yet.

    Raises
    ------
    Refusal : No such place, with the nearest one as the way out.
    """
    words = text.strip()
    path: Path = ()
    here: Any = raw
    while words:
        step, words = _next_step(here, words, path)
        if isinstance(step, str) and not _is_written(here, step):
            _must_be_known(raw, path, step, text)
        path = (*path, step)
        here = _inside(here, step)
    if not path or path[0] in FIXED:
        raise refuse(f"'{text}' cannot be set", value=text, way_out="Name a value such as stations.slitter.machines")
    return path


def _is_written(here: object, step: str | int) -> bool:
    return isinstance(here, Mapping) and step in here


def _next_step(here: object, words: str, path: Path) -> tuple[str | int, str]:
    """Return the longest step that is there, else the words up to the next point, and what is left of the words."""
    names: dict[str, str | int] = {}
    if isinstance(here, Mapping):
        names = {str(key): key for key in here}
    elif isinstance(here, list):
        names = {str(number + 1): number for number in range(len(here))}
        names |= {_item_name(item, number): number for number, item in reversed(list(enumerate(here)))}
    for name in sorted(names, key=len, reverse=True):
        if words == name or words.startswith(f"{name}."):
            return names[name], words[len(name) + 1 :]
    first, _, rest = words.partition(".")
    if isinstance(here, list):
        raise refuse(f"there is no '{first}' here", value=first, way_out=did_you_mean(first, names, "items"))
    return first, rest


def _must_be_known(raw: Mapping[str, Any], path: Path, step: str, text: str) -> None:
    known = known_keys(raw, path)
    if known is not None and step not in known:
        place = place_text(path, raw)
        where = f"in {place}" if place else "in a scenario"
        raise refuse(f"there is no '{step}' {where}", value=text, way_out=_nearest_path(place, step, known))


def _nearest_path(place: str, step: str, known: tuple[str, ...]) -> str:
    hint = did_you_mean(step, known, "keys")
    return hint.replace("'", f"'{place}.", 1) if place and hint.startswith("Did you mean") else hint


def known_keys(raw: Mapping[str, Any], path: Path) -> tuple[str, ...] | None:
    """Return the keys that may stand at a path: names of the file or keys of a part; None where any may."""
    if not path:
        return keys_of(Scenario)
    section = str(path[0])
    field = Scenario.model_fields.get(section)
    item = item_type(field.annotation) if field is not None else None
    if item is not None and len(path) == 1:
        own = raw.get(section)
        return tuple(own) if isinstance(own, Mapping) else ()
    model = part_at(raw, path)
    return keys_of(model) if model is not None else None


def part_at(raw: Mapping[str, Any], path: Path) -> type[BaseModel] | None:
    """Return the model of the part that lies at a path, or None where no part of the grammar lies there."""
    field = Scenario.model_fields.get(str(path[0]))
    if field is None:
        return None
    if path[0] == "stations" and len(path) > 1:
        model: Any = station_model(_inside(raw.get("stations"), path[1]))
        return exact_part(model, path[2:])
    if item_type(field.annotation) is not None:
        return exact_part(item_type(field.annotation), path[2:])
    return exact_part(field.annotation, path[1:])


def exact_part(model: Any, path: Path) -> type[BaseModel] | None:  # noqa: ANN401
    """Return the part at a path below a model, None where a law, a mapping of names or a plain value lies."""
    here = model_at(model, ())
    for step in path:
        if isinstance(step, int):
            continue
        info = next(
            (info for name, info in (here.model_fields if here else {}).items() if step in (name, info.alias)), None
        )
        here = model_at(info.annotation, ()) if info is not None else None
    return here


def changed(raw: Mapping[str, Any], path: Path, value: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return a file's values with one of them set; what does not lie on the way to it is shared, not copied.

    Parts written in short are written out where needed.
    """
    new: dict[str, Any] = dict(raw)
    here: Any = new
    for depth, step in enumerate(path[:-1]):
        inside = _inside(here, step)
        if not isinstance(inside, dict | list):
            inside = _opened(part_at(raw, path[: depth + 1]), inside, path, depth)
        elif not _is_written(inside, path[depth + 1]):
            inside = _expanded(part_at(raw, path[: depth + 1]), inside)
        here[step] = copy.copy(inside)
        here = here[step]
    here[path[-1]] = copy.deepcopy(value)
    return new


def _expanded(model: type[BaseModel] | None, inside: Any) -> Any:  # noqa: ANN401
    if model is not None and issubclass(model, Part) and model.SHORT:
        return model.expanded(inside)
    return inside


def _opened(model: type[BaseModel] | None, inside: object, path: Path, depth: int) -> dict[str, Any]:
    if inside is None:
        return {}
    full = _expanded(model, inside)
    if isinstance(full, dict):
        return full
    place = ".".join(str(step) for step in path[: depth + 1])
    raise refuse(
        f"{place} is one value, '{inside}': it has no '{path[depth + 1]}'",
        value=str(inside),
        way_out=f"Set {place} as a whole",
    )


__all__ = ["FIXED", "Refusal", "changed", "known_keys", "part_at", "place_text", "resolve"]
