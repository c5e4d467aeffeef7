"""The grammar as JSON Schema (draft 2020-12), so that an editor completes keys and marks what is not known."""

from __future__ import annotations

from typing import Any

from twin.scenario.fields import Part
from twin.scenario.grammar import Key, keys, parts
from twin.scenario.laws import NAMES, PARAMETERS
from twin.scenario.models import Scenario
from twin.scenario.stations import KINDS

Schema = dict[str, Any]

_QUANTITY: Schema = {"type": ["string", "number"], "description": "quantity with its unit, like 35 min"}


def json_schema() -> Schema:
    """Return the JSON Schema of a scenario file."""
    definitions: Schema = {"Law": _law()}
    for part in parts():
        if part is not Scenario:
            definitions[part.__name__] = _part(part)
    definitions["Station"] = _stations()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "passline scenario, version 1",
        **_object(Scenario),
        "$defs": definitions,
    }


def _object(part: type[Part]) -> Schema:
    own = keys(part)
    return {
        "type": "object",
        "description": (part.__doc__ or "").splitlines()[0],
        "properties": {key.key: _key(key) for key in own},
        "required": [key.key for key in own if key.required],
        "additionalProperties": False,
    }


def _part(part: type[Part]) -> Schema:
    """Return the schema of a part, and of the short form that it may have."""
    full = _object(part)
    if part.SHORT:
        short = next(_key(key) for key in keys(part) if key.key == part.SHORT)
        return {"anyOf": [full, {key: value for key, value in short.items() if key != "examples"}]}
    other: dict[str, list[Schema]] = {
        "Calendar": [{"const": "always"}],
        "Start": [{"enum": ["empty", "typical"]}],
        "Plan": [{"type": "array", "items": {"$ref": "#/$defs/PlanStep"}}],
    }
    return {"anyOf": [full, *other[part.__name__]]} if part.__name__ in other else full


def _key(key: Key) -> Schema:
    schema = _value(key)
    words = {"description": key.description} if key.description else {}
    return {**schema, **words}


def _value(key: Key) -> Schema:
    special: dict[str, Schema] = {
        "passline": {"const": 1},
        "metal": {"anyOf": [{"type": "string"}, {"$ref": "#/$defs/Metal"}]},
        "orders": {"anyOf": [{"type": "string"}, {"type": "array", "items": {"$ref": "#/$defs/Order"}}]},
        "stations": {"type": "object", "additionalProperties": {"$ref": "#/$defs/Station"}},
        "set": {"type": "object", "minProperties": 1},
        "capacity": _QUANTITY,
        "ramp": {"type": "array", "items": _QUANTITY, "minItems": 1},
    }
    if key.key in special:
        return special[key.key]
    if key.part is not None:
        return _inner(key)
    if key.marker is not None:
        return key.marker.schema()
    if key.choices:
        return {"enum": list(key.choices)}
    return {"type": ["string", "number"]}


def _inner(key: Key) -> Schema:
    ref: Schema = {"$ref": f"#/$defs/{key.part.__name__ if key.part is not None else ''}"}
    listed: Schema = {"type": "array", "items": ref}
    if key.form == "list":
        return listed
    if key.form == "names":
        return {"type": "object", "additionalProperties": ref}
    if key.form == "names of lists":
        return {"type": "object", "additionalProperties": {"anyOf": [ref, listed]}}
    return ref


def _stations() -> Schema:
    """Return the schema of a station: its kind decides which keys it has."""
    choices = [
        {
            "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
            "then": {"$ref": f"#/$defs/{model.__name__}"},
        }
        for kind, model in KINDS.items()
    ]
    return {"type": "object", "properties": {"kind": {"enum": list(KINDS)}}, "required": ["kind"], "allOf": choices}


def _law() -> Schema:
    """Return the schema of a law: a plain quantity, or a mapping with the law's name as its one key."""
    named: Schema = {}
    for name, law in PARAMETERS.items():
        wanted = [field for field in law.__dataclass_fields__ if field != "dimension"]
        named[name] = {
            "type": "object",
            "properties": {field: {"type": ["string", "number"]} for field in wanted},
            "required": wanted,
            "additionalProperties": False,
        }
    named["empirical"] = {"type": "array", "items": {"type": ["string", "number"]}, "minItems": 1}
    part = {
        "type": "object",
        "properties": {"weight": {"type": ["string", "number"]}, "of": {"$ref": "#/$defs/Law"}},
        "required": ["weight", "of"],
        "additionalProperties": False,
    }
    named["mixture"] = {"type": "array", "items": part, "minItems": 2}
    mapping = {
        "type": "object",
        "properties": {name: named[name] for name in NAMES},
        "minProperties": 1,
        "maxProperties": 1,
        "additionalProperties": False,
    }
    return {"description": "a quantity, or a law such as {exponential: {mean: 26 h}}", "anyOf": [_QUANTITY, mapping]}
