"""The grammar told by the models themselves: every key of every part, for the schema, the reference and the sliders."""

from __future__ import annotations

import types
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from twin.scenario.fields import Part
from twin.scenario.markers import Marker
from twin.scenario.models import Scenario
from twin.scenario.stations import KINDS


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a part.

    ``form`` says how what it holds is wrapped: "" one value, "list" a list of parts, "names" a mapping of named parts.
    """

    key: str
    field: str
    description: str
    examples: tuple[str, ...]
    required: bool
    default: Any
    marker: Marker | None
    part: type[Part] | None
    form: str
    choices: tuple[str, ...]


def keys(model: type[BaseModel]) -> list[Key]:
    """Return the keys of a part in the order of the model, inner ones left out."""
    found = []
    for name, info in model.model_fields.items():
        key = info.alias or name
        if not key.startswith("~"):
            found.append(_key(key, name, info))
    return found


def _key(key: str, name: str, info: FieldInfo) -> Key:
    markers = [mark for mark in info.metadata if isinstance(mark, Marker)] or list(_markers(info.annotation))
    part, form = _part(info.annotation)
    return Key(
        key=key,
        field=name,
        description=info.description or "",
        examples=tuple(str(example) for example in info.examples or ()),
        required=info.is_required(),
        default=None if info.is_required() else info.default,
        marker=markers[0] if markers and part is None else None,
        part=part,
        form=form,
        choices=tuple(str(choice) for choice in _choices(info.annotation)),
    )


def _markers(annotation: Any) -> Iterator[Marker]:  # noqa: ANN401 - a type
    for arg in get_args(annotation):
        if isinstance(arg, Marker):
            yield arg
        else:
            yield from _markers(arg)


def _choices(annotation: Any) -> Iterator[object]:  # noqa: ANN401
    if get_origin(annotation) is Literal:
        yield from get_args(annotation)
    elif get_origin(annotation) in (Union, types.UnionType, Annotated):
        for arg in get_args(annotation):
            yield from _choices(arg)


def _part(annotation: Any, form: str = "") -> tuple[type[Part] | None, str]:  # noqa: ANN401
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return annotation, form
    origin, args = get_origin(annotation), get_args(annotation)
    if origin is tuple:
        return _part(args[0], "list")
    if origin is dict:
        inner, inner_form = _part(args[1], "names")
        return inner, "names of lists" if inner_form == "list" else inner_form
    if origin in (Union, types.UnionType, Annotated):
        for arg in args:
            part, inner_form = _part(arg, form)
            if part is not None:
                return part, inner_form
    return None, ""


def parts() -> list[type[Part]]:
    """Return every part of the grammar once, in the order in which a reader meets them."""
    found: list[type[Part]] = [Scenario]
    for model in found:
        inner: list[type[Part]] = []
        for key in keys(model):
            inner += list(KINDS.values()) if key.key == "stations" else [key.part] if key.part is not None else []
        found += [part for part in dict.fromkeys(inner) if part not in found]
    return found
