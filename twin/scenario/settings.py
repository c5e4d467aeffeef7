"""Every number of a scenario that can be turned, with its path, its text, its kind and its limits: for sliders."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from pydantic import BaseModel

from twin.scenario.building import station_model
from twin.scenario.faults import Refusal
from twin.scenario.finishing import SpeedByProduct
from twin.scenario.grammar import Key, keys
from twin.scenario.laws import PARAMETERS, is_law
from twin.scenario.markers import AmountOf, LawOf, Marker, NumberBy, Quantity, RateOf, Whole
from twin.scenario.models import Scenario
from twin.scenario.quantities import parse

SECTIONS = ("time", "calendars", "stores", "stations", "products", "patterns", "plan", "shared", "money")


class Setting(NamedTuple):
    """A number that can be set: its path for ``apply_set``, its text, its kind, its lowest and highest text."""

    path: str
    text: str
    kind: str
    low: str
    high: str


def numbers(scenario: Scenario) -> list[Setting]:
    """Return every number that stands in a scenario, and the number of machines of every station."""
    found: list[Setting] = []
    for key in keys(Scenario):
        if key.key in SECTIONS and key.key in scenario.raw:
            found += _held(key, scenario.raw[key.key], key.key)
    return found


def _part(model: type[BaseModel], raw: Any, path: str) -> Iterator[Setting]:  # noqa: ANN401 - values of a file
    for key in keys(model):
        if key.key in raw:
            yield from _held(key, raw[key.key], f"{path}.{key.key}")
        elif key.key == "machines":
            yield from _number(Whole(1, 50), "1", f"{path}.machines")


def _held(key: Key, raw: Any, path: str) -> Iterator[Setting]:  # noqa: ANN401
    if key.key == "stations":
        for name, own in raw.items():
            model = station_model(own)
            if model is not None:
                yield from _part(model, own, f"{path}.{name}")
    elif key.part is not None:
        yield from _inner(key, raw, path)
    elif key.key == "capacity":
        yield from _capacity(raw, path)
    elif key.marker is not None:
        yield from _marked(key.marker, raw, path)


def _inner(key: Key, raw: Any, path: str) -> Iterator[Setting]:  # noqa: ANN401
    part = key.part
    if part is None:
        return
    if isinstance(raw, list):
        for number, item in enumerate(raw):
            name = item.get("reason", number + 1) if isinstance(item, Mapping) else number + 1
            yield from _part(part, item, f"{path}.{name}") if isinstance(item, Mapping) else ()
    elif key.form.startswith("names") and isinstance(raw, Mapping):
        for name, own in raw.items():
            yield from _one(part, own, f"{path}.{name}")
    else:
        yield from _one(part, raw, path)


def _one(part: type[Any], raw: Any, path: str) -> Iterator[Setting]:  # noqa: ANN401
    if isinstance(raw, Mapping) and not is_law(raw):
        yield from _part(part, raw, path)
    elif part.SHORT:
        short = next(key for key in keys(part) if key.key == part.SHORT)
        yield from _held(short, raw, path)


def _marked(marker: Marker, raw: Any, path: str) -> Iterator[Setting]:  # noqa: ANN401
    if isinstance(marker, LawOf) and is_law(raw):
        yield from _law(marker, raw, path)
    elif isinstance(marker, NumberBy | SpeedByProduct) and isinstance(raw, Mapping):
        one = marker.one if isinstance(marker, NumberBy) else Quantity("speed", above=True)
        for name, own in raw.items():
            yield from _number(one, own, f"{path}.{name}")
    elif not isinstance(raw, Mapping | list):
        yield from _number(Quantity("speed", above=True) if isinstance(marker, SpeedByProduct) else marker, raw, path)


def _law(marker: LawOf, raw: Mapping[str, Any], path: str) -> Iterator[Setting]:
    name = next(iter(raw))
    if name not in PARAMETERS:
        return
    for parameter, own in raw[name].items():
        one = Quantity("number") if parameter in ("cv", "shape") else marker
        yield from _number(one, own, f"{path}.{name}.{parameter}")


def _number(marker: Marker, raw: object, path: str) -> Iterator[Setting]:
    if isinstance(marker, Whole):
        yield Setting(path, f"{raw}", "count", f"{marker.low}", f"{marker.high}")
    elif isinstance(marker, Quantity):
        yield Setting(path, f"{raw}", marker.kind, *marker.limits())
    elif isinstance(marker, AmountOf | RateOf | LawOf):
        try:
            kind = parse(raw, marker.kinds).dimension
        except Refusal:
            return
        yield Setting(path, f"{raw}", kind, *Quantity(kind).limits())


def _capacity(raw: object, path: str) -> Iterator[Setting]:
    try:
        kind = parse(raw, ("mass", "coils", "pieces")).dimension
    except Refusal:
        return
    yield Setting(path, f"{raw}", kind, *Quantity(kind).limits())
