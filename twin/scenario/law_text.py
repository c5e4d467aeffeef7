"""Laws as people write them, ``{weibull: {shape: 2.4, scale: 110 km}}``, with every fault at its own place."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import fields

from twin.scenario.faults import Problem, Refusal, did_you_mean, refuse
from twin.scenario.laws import NAMES, PARAMETERS, Constant, Empirical, Law, Mixture, is_law
from twin.scenario.quantities import examples, parse

_PURE = {"cv": (0.0, 10.0), "shape": (0.1, 50.0)}
_LARGEST = 10_000


def parse_law(value: object, kinds: tuple[str, ...]) -> Law:
    """Return the law that a plain quantity (a constant) or a one-key mapping describes, in SI.

    Raises :class:`Refusal` with every problem of the law; negative values are refused.
    """
    if not isinstance(value, Mapping):
        amount = parse(value, kinds)
        if amount.value < 0.0:
            raise refuse(f"'{value}' is negative", value=value, limit="0 or more", way_out="Write 0 or more")
        return Constant(amount.value, amount.dimension)
    if len(value) != 1:
        raise refuse(
            "a law is a mapping with one key, its name",
            value=", ".join(map(str, value)),
            way_out=f"Write {{exponential: {{mean: {examples(kinds[:1])[1:-1]}}}}} or a plain quantity",
        )
    name, inner = next(iter(value.items()))
    if name == "empirical":
        return _empirical(inner, kinds)
    if name == "mixture":
        return _mixture(inner, kinds)
    if name not in PARAMETERS:
        raise refuse(f"'{name}' is not a known law", value=name, way_out=did_you_mean(str(name), NAMES, "laws"))
    return _plain(str(name), inner, kinds)


def _plain(name: str, inner: object, kinds: tuple[str, ...]) -> Law:
    wanted = tuple(field.name for field in fields(PARAMETERS[name]) if field.name != "dimension")
    if not isinstance(inner, Mapping) or set(inner) != set(wanted):
        given = ", ".join(map(str, inner)) if isinstance(inner, Mapping) else inner
        raise refuse(
            f"{name} needs {' and '.join(wanted)}, but has '{given}'",
            value=given,
            way_out=f"Write {{{name}: {{{', '.join(f'{key}: ...' for key in wanted)}}}}}",
            within=(name,),
        )
    found: dict[str, float] = {}
    problems: list[Problem] = []
    dimension = ""
    for key in wanted:
        try:
            found[key], kind = _parameter(key, inner[key], (dimension,) if dimension else kinds)
            dimension = dimension or kind
        except Refusal as refusal:
            problems += [problem.below(name, key) for problem in refusal.problems]
    problems += [problem.below(name) for problem in _order(found)] if not problems else []
    if problems:
        raise Refusal(*problems)
    return PARAMETERS[name](**found, dimension=dimension)


def _parameter(key: str, value: object, kinds: tuple[str, ...]) -> tuple[float, str]:
    if key in _PURE:
        low, high = _PURE[key]
        number = parse(value, ("number",)).value
        if not low <= number <= high or (key == "cv" and number == 0.0):
            limit = f"from {low:g} to {high:g}" if low else f"above 0, up to {high:g}"
            message = f"{key} is '{value}', it must be {limit}"
            raise refuse(message, value=value, limit=limit, way_out=f"Write a number {limit}")
        return number, ""
    amount = parse(value, kinds)
    if amount.value < 0.0 or (amount.value == 0.0 and key in ("mean", "scale")):
        raise refuse(
            f"{key} is '{value}', it must be above 0", value=value, limit="above 0", way_out="Write more than 0"
        )
    return amount.value, amount.dimension


def _order(found: dict[str, float]) -> list[Problem]:
    if "low" not in found:
        return []
    low, high = found["low"], found["high"]
    mode = found.get("mode", low)
    if low <= mode <= high and low < high:
        return []
    words = "low, mode and high" if "mode" in found else "low and high"
    return [Problem(f"{words} must rise", way_out="Put them in rising order; for one value write the plain quantity")]


def _empirical(inner: object, kinds: tuple[str, ...]) -> Law:
    if not isinstance(inner, Sequence) or isinstance(inner, str) or not 0 < len(inner) <= _LARGEST:
        raise refuse(
            "empirical needs a list of observed values",
            value=inner,
            limit=f"1 to {_LARGEST} values",
            way_out=f"Write {{empirical: [{examples(kinds[:1])[1:-1]}, ...]}}",
            within=("empirical",),
        )
    laws = []
    problems: list[Problem] = []
    for place, value in enumerate(inner):
        try:
            laws.append(parse_law(value if not isinstance(value, Mapping) else str(dict(value)), kinds))
            kinds = (laws[0].dimension,)
        except Refusal as refusal:
            problems += [problem.below("empirical", place) for problem in refusal.problems]
    if problems:
        raise Refusal(*problems)
    return Empirical(tuple(law.average for law in laws), laws[0].dimension)


def _mixture(inner: object, kinds: tuple[str, ...]) -> Law:
    shape = "Write {mixture: [{weight: 0.8, of: 5 min}, {weight: 0.2, of: {exponential: {mean: 2 h}}}]}"
    if not isinstance(inner, Sequence) or isinstance(inner, str) or not 2 <= len(inner) <= 20:
        raise refuse("mixture needs a list of 2 to 20 parts", value=inner, way_out=shape, within=("mixture",))
    parts: list[tuple[float, Law]] = []
    problems: list[Problem] = []
    for place, part in enumerate(inner):
        try:
            parts.append(_part(part, kinds, shape))
            kinds = (parts[0][1].dimension,)
        except Refusal as refusal:
            problems += [problem.below("mixture", place) for problem in refusal.problems]
    if problems:
        raise Refusal(*problems)
    total = math.fsum(weight for weight, _ in parts)
    return Mixture(tuple((weight / total, law) for weight, law in parts), parts[0][1].dimension)


def _part(part: object, kinds: tuple[str, ...], shape: str) -> tuple[float, Law]:
    if not isinstance(part, Mapping) or set(part) != {"weight", "of"}:
        raise refuse("a part of a mixture has a weight and a law", value=part, way_out=shape)
    weight = parse(part["weight"], ("number",)).value
    if not 0.0 < weight <= 1e6:
        message = f"the weight is '{part['weight']}', it must be above 0"
        raise refuse(message, value=part["weight"], limit="above 0", way_out="Write more than 0", within=("weight",))
    if is_law(part["of"]) and "mixture" in part["of"]:
        raise refuse("a mixture inside a mixture", way_out="Write all parts in one list", within=("of",))
    try:
        return weight, parse_law(part["of"], kinds)
    except Refusal as refusal:
        raise Refusal(*(problem.below("of") for problem in refusal.problems)) from None
