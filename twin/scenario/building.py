"""Plain values become the parts of a scenario, each read by itself, so that all faults are told at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path as FilePath
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError

from twin.scenario.faults import Placed, Problem, Refusal, did_you_mean, shorten
from twin.scenario.fields import Named
from twin.scenario.models import Scenario
from twin.scenario.orders import read_orders
from twin.scenario.plant import Metal
from twin.scenario.stations import KINDS
from twin.scenario.telling import missing, problems_of, unknown_key

MOST = 200
"""The most stations, stores, products ... that a file may have."""


@dataclass
class Draft:
    """What could be read of a file: its good parts, its raw values, and the problems found so far."""

    raw: Mapping[str, Any]
    folder: FilePath | None = None
    parts: dict[str, Any] = field(default_factory=dict)
    problems: list[Placed] = field(default_factory=list)

    @property
    def scenario(self) -> Scenario:
        """Return a scenario of the good parts alone; whole only when there are no problems."""
        return Scenario.model_construct(None, **self.parts)

    def names(self, section: str) -> tuple[str, ...]:
        """Return the names of a section, those of parts that could not be read among them."""
        own = self.raw.get(section)
        return tuple(own) if isinstance(own, Mapping) else ()

    def whole(self, *sections: str) -> bool:
        """Tell whether all parts of sections could be read."""
        return all(isinstance(self.raw.get(key, {}), Mapping) and not self.broken(key) for key in sections)

    def broken(self, section: str) -> set[str]:
        """Return the names of a section whose parts could not be read."""
        return set(self.names(section)) - set(self.parts.get(section, {}))


@dataclass(frozen=True, slots=True)
class Known:
    """Values that have been read before, and their parts: what is still the same object need not be read again."""

    raw: Mapping[str, Any]
    parts: Mapping[str, Any]

    def part(self, key: str, raw: Mapping[str, Any]) -> Any | None:  # noqa: ANN401
        """Return the part of a top key if its value is still the same, else None."""
        same = key in self.parts and self.raw.get(key) is raw[key] and currency(self.raw) == currency(raw)
        return self.parts[key] if same else None

    def named(self, key: str, name: str, raw: Mapping[str, Any]) -> Named | None:
        """Return a named part if its value is still the same, else None."""
        old, parts = self.raw.get(key), self.parts.get(key)
        if not isinstance(old, Mapping) or not isinstance(parts, Mapping) or currency(self.raw) != currency(raw):
            return None
        return parts.get(name) if name in old and old[name] is raw[key][name] else None


def draft(raw: Mapping[str, Any], folder: FilePath | None = None, known: Known | None = None) -> Draft:
    """Read every part of a file by itself.

    Parameters
    ----------
    raw : The values of the file.
    folder : Where the file lies, for the orders beside it.
    known : What has been read before, of values of which these are a change.
    """
    found = Draft(raw, folder)
    for key in raw:
        if key not in Scenario.model_fields:
            found.problems.append(((key,), unknown_key(key, Scenario)))
    for key, field_info in Scenario.model_fields.items():
        part = known.part(key, raw) if known is not None and key in raw else None
        if part is not None:
            found.parts[key] = part
        elif key in raw:
            _read(found, key, field_info.annotation, known)
        elif field_info.is_required():
            found.problems.append(((key,), missing(key, Scenario)))
    return found


def _read(found: Draft, key: str, annotation: Any, known: Known | None) -> None:  # noqa: ANN401 - a type
    raw, item = found.raw[key], item_type(annotation)
    if item is not None:
        _read_names(found, key, item, known)
    elif key == "orders" and isinstance(raw, str):
        _read_orders(found, raw, annotation)
    else:
        model = Metal if key == "metal" and isinstance(raw, Mapping) else _plain(key, annotation)
        read = _validated(model, raw, {"currency": currency(found.raw)}, key)
        if isinstance(read, list):
            found.problems += [((key, *path), problem) for path, problem in read]
        else:
            found.parts[key] = read[0]


def _read_names(found: Draft, key: str, item: type[Named], known: Known | None) -> None:
    raw = found.raw[key]
    found.parts[key] = {}
    if not isinstance(raw, Mapping):
        way_out = f"Write {key}: {{name: ...}}"
        problem = Problem(f"{key} must be a mapping of names", shorten(raw or ""), way_out=way_out)
        found.problems.append(((key,), problem))
    elif len(raw) > MOST:
        problem = Problem(
            f"{key} has {len(raw)} entries, more than {MOST}", f"{len(raw)}", f"at most {MOST}", "Leave some out"
        )
        found.problems.append(((key,), problem))
    else:
        for name, own in raw.items():
            part = known.named(key, name, found.raw) if known is not None else None
            if part is not None:
                found.parts[key][name] = part
            else:
                _read_named(found, key, name, station_model(own) if key == "stations" else item)


def _read_named(found: Draft, key: str, name: str, model: type[BaseModel] | None) -> None:
    own = found.raw[key][name]
    read = _validated(model, own, {"currency": currency(found.raw)}, name) if model else _no_kind(own)
    if isinstance(read, list):
        found.problems += [((key, name, *path), problem) for path, problem in read]
    else:
        found.parts[key][name] = read[0].called(name)


def _read_orders(found: Draft, name: str, annotation: Any) -> None:  # noqa: ANN401
    try:
        rows = read_orders(found.folder, name)
    except Refusal as refusal:
        found.problems += [(("orders",), problem) for problem in refusal.problems]
        return
    read = _validated(annotation, rows, {}, "order")
    if not isinstance(read, list):
        found.parts["orders"] = read[0]
        return
    for path, p in read[:20]:
        row = f"{name} row {int(path[0]) + 2}: " if path else ""
        found.problems.append((("orders",), Problem(row + p.message, p.value, p.limit, p.way_out)))


def currency(raw: Mapping[str, Any]) -> str | None:
    """Return the currency that a file declares, if it does."""
    money = raw.get("money")
    own = money.get("currency") if isinstance(money, Mapping) else None
    return own if isinstance(own, str) else None


def _plain(key: str, annotation: Any) -> Any:  # noqa: ANN401
    metadata = Scenario.model_fields[key].metadata
    if key == "metal":
        return str
    return Annotated[(annotation, *metadata)] if metadata else annotation


def item_type(annotation: Any) -> type[Named] | None:  # noqa: ANN401
    """Return what a mapping of named parts is made of; None for anything else."""
    if get_origin(annotation) is not dict:
        return None
    inner = get_args(annotation)[1]
    if get_origin(inner) is Annotated:
        return Named
    return inner if isinstance(inner, type) and issubclass(inner, Named) else None


def station_model(raw: object) -> type[BaseModel] | None:
    """Return the model of a station's kind, or None when there is no such kind."""
    kind = raw.get("kind") if isinstance(raw, Mapping) else None
    return KINDS.get(kind) if isinstance(kind, str) else None


def _no_kind(raw: object) -> list[Placed]:
    if not isinstance(raw, Mapping):
        return [
            (
                (),
                Problem(
                    "a station is a mapping",
                    shorten(raw),
                    way_out="Write {kind: step, from: ..., to: ..., time: 5 min}",
                ),
            )
        ]
    if "kind" not in raw:
        return [(("kind",), Problem("kind is missing", way_out=f"Add kind: one of {', '.join(KINDS)}"))]
    kind = shorten(raw["kind"])
    return [
        (
            ("kind",),
            Problem(f"'{kind}' is not a kind of station", kind, ", ".join(KINDS), did_you_mean(kind, KINDS, "kinds")),
        )
    ]


@cache
def _adapter(model: Any) -> TypeAdapter[Any]:  # noqa: ANN401
    return TypeAdapter(model)


def _validated(model: Any, raw: object, context: dict[str, Any], key: str) -> tuple[Any] | list[Placed]:  # noqa: ANN401
    try:
        return (_adapter(model).validate_python(raw, context=context),)
    except ValidationError as error:
        return list(problems_of(error, model, key))
