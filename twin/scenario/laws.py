"""Random durations, distances and counts: the laws a scenario may name, with their parameters in SI."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

from twin.scenario.faults import Problem, Refusal, did_you_mean, refuse
from twin.scenario.quantities import examples, parse


@dataclass(frozen=True, slots=True)
class Constant:
    """Always the same value."""

    value: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return self.value


@dataclass(frozen=True, slots=True)
class Exponential:
    """Without memory: what has passed says nothing about what comes."""

    mean: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return self.mean


@dataclass(frozen=True, slots=True)
class Uniform:
    """Anything from ``low`` to ``high``, all alike."""

    low: float
    high: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return (self.low + self.high) / 2.0


@dataclass(frozen=True, slots=True)
class Triangular:
    """Least, most likely and greatest value."""

    low: float
    mode: float
    high: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return (self.low + self.mode + self.high) / 3.0


@dataclass(frozen=True, slots=True)
class Normal:
    """Normal with mean and standard deviation before the negative part is cut off."""

    mean: float
    sd: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law after the cut at 0, in SI (N. L. Johnson, S. Kotz, Distributions, from memory)."""
        if self.sd == 0.0:
            return self.mean
        cut = -self.mean / self.sd
        density = math.exp(-0.5 * cut * cut) / math.sqrt(2.0 * math.pi)
        return self.mean + self.sd * density / (0.5 * math.erfc(cut / math.sqrt(2.0)))


@dataclass(frozen=True, slots=True)
class Lognormal:
    """Lognormal with mean and coefficient of variation of the value itself, not of its logarithm."""

    mean: float
    cv: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return self.mean


@dataclass(frozen=True, slots=True)
class Gamma:
    """Gamma with mean and coefficient of variation."""

    mean: float
    cv: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return self.mean


@dataclass(frozen=True, slots=True)
class Weibull:
    """Weibull: with a shape above 1 the hazard grows with age, as for what wears out."""

    shape: float
    scale: float
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return self.scale * math.gamma(1.0 + 1.0 / self.shape)


@dataclass(frozen=True, slots=True)
class Empirical:
    """One of the observed values, all alike."""

    values: tuple[float, ...]
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return math.fsum(self.values) / len(self.values)


@dataclass(frozen=True, slots=True)
class Mixture:
    """One of several laws, drawn by weight; the weights add up to 1."""

    parts: tuple[tuple[float, Law], ...]
    dimension: str = "time"

    @property
    def average(self) -> float:
        """Return the mean of the law, in SI."""
        return math.fsum(weight * law.average for weight, law in self.parts)


Law = Constant | Exponential | Uniform | Triangular | Normal | Lognormal | Gamma | Weibull | Empirical | Mixture

PARAMETERS: dict[str, type[Exponential | Uniform | Triangular | Normal | Lognormal | Gamma | Weibull]] = {
    law.__name__.lower(): law for law in (Exponential, Uniform, Triangular, Normal, Lognormal, Gamma, Weibull)
}
NAMES = (*PARAMETERS, "empirical", "mixture")
_PURE = {"cv": (0.0, 10.0), "shape": (0.1, 50.0)}
_LARGEST = 10_000


def is_law(value: object) -> bool:
    """Tell whether a raw value is written as a law: a mapping of one known law's name."""
    return isinstance(value, Mapping) and len(value) == 1 and next(iter(value)) in NAMES


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
