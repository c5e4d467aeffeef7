"""What is wrong with a part, in plain words: the findings of the models without their codes."""

from __future__ import annotations

import types
from collections.abc import Iterator
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from twin.scenario.faults import Path, Placed, Problem, Refusal, did_you_mean, nearest, shorten


def problems_of(error: ValidationError, model: Any, key: str) -> Iterator[Placed]:  # noqa: ANN401
    """Yield what is wrong with a part, in our own words, each thing once."""
    seen = set()
    items = error.errors(include_url=False)
    meant = {(*item["loc"][:-1], _meant(item["loc"], model)) for item in items if item["type"] == "extra_forbidden"}
    for item in items:
        path: Path = tuple(item["loc"])
        if item["type"] == "missing" and path in meant:
            continue  # told with the misspelt key
        cause = item.get("ctx", {}).get("error")
        if isinstance(cause, Refusal):
            placed = [((*path, *problem.within), problem) for problem in cause.problems]
        else:
            placed = [(path, _translated(item, model, key))]
        for place, problem in placed:
            if (problem.message, problem.value) not in seen:
                yield place, problem
            seen.add((problem.message, problem.value))


def _meant(path: Path, model: Any) -> str:  # noqa: ANN401
    inner = model_at(model, path[:-1])
    return nearest(str(path[-1]), keys_of(inner)) if inner is not None else ""


def _translated(item: Any, model: Any, key: str) -> Problem:  # noqa: ANN401 - one of pydantic's errors
    path, value, kind, ctx = item["loc"], item["input"], item["type"], item.get("ctx", {})
    name = next((step for step in reversed(path) if isinstance(step, str)), key)
    if kind == "missing":
        return missing(name, model_at(model, path[:-1]))
    if kind == "extra_forbidden":
        return unknown_key(name, model_at(model, path[:-1]))
    if kind == "literal_error":
        expected = ctx["expected"].replace("'", "").replace(" or ", ", ")
        message = f"{name} is '{shorten(value)}', it must be {'one of ' if ', ' in expected else ''}{expected}"
        way_out = (
            did_you_mean(shorten(value), expected.split(", "), "words") if ", " in expected else f"Write {expected}"
        )
        return Problem(message, shorten(value), expected, way_out)
    shapes = {
        "model_type": "a mapping",
        "dict_type": "a mapping",
        "tuple_type": "a list",
        "list_type": "a list",
        "string_type": "text",
    }
    if kind in shapes:
        return Problem(
            f"{name} must be {shapes[kind]}", shorten(value), shapes[kind], _example(name, model_at(model, path[:-1]))
        )
    if kind in ("too_long", "string_too_long"):
        limit = ctx["max_length"]
        return Problem(f"{name} is too long", shorten(value), f"at most {limit}", f"Keep it to {limit}")
    if kind in ("too_short", "string_too_short"):
        return Problem(
            f"{name} must not be empty", "", f"at least {ctx['min_length']}", _example(name, model_at(model, path[:-1]))
        )
    return Problem(
        f"{name} is '{shorten(value)}', which cannot be taken",
        shorten(value),
        item["msg"],
        _example(name, model_at(model, path[:-1])),
    )


def missing(key: str, model: type[BaseModel] | None) -> Problem:
    """Return the problem of a key that must be there, with an example of it."""
    return Problem(f"{key} is missing", way_out=_example(key, model, "Add"))


def _example(key: str, model: type[BaseModel] | None, verb: str = "Write") -> str:
    for name, field_info in (model.model_fields if model else {}).items():
        if key in (name, field_info.alias):
            return f"{verb} {key}: {field_info.examples[0]}" if field_info.examples else f"{verb} {key}"
    return ""


def keys_of(model: type[BaseModel]) -> tuple[str, ...]:
    """Return the keys that a part may have, as written in a file."""
    keys = (field_info.alias or name for name, field_info in model.model_fields.items())
    return tuple(key for key in keys if not key.startswith("~"))


def unknown_key(key: str, model: type[BaseModel] | None) -> Problem:
    """Return the problem of a key that is not known, with the nearest one."""
    known = keys_of(model) if model else ()
    return Problem(
        f"the key '{shorten(key)}' is not known here", shorten(key), ", ".join(known), did_you_mean(key, known, "keys")
    )


def model_at(model: Any, path: Path) -> type[BaseModel] | None:  # noqa: ANN401
    """Return the model that lies at a path below another one, or None where there is none."""
    here = _inner_model(model)
    for step in path:
        if isinstance(step, int) or here is None:
            continue
        found = next((info for name, info in here.model_fields.items() if step in (name, info.alias)), None)
        here = _inner_model(found.annotation) if found is not None else here
    return here


def _inner_model(annotation: Any) -> type[BaseModel] | None:  # noqa: ANN401
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if get_origin(annotation) in (Union, types.UnionType, Annotated, tuple, dict, list):
        return next((found for arg in get_args(annotation) if (found := _inner_model(arg)) is not None), None)
    return None
