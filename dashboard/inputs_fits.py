"""What a log tells of the numbers of a line, as plain data for the page: each law beside what was assumed so far."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from twin.line.streams import scale
from twin.logs.doctor import Examined
from twin.scenario import Scenario
from twin.scenario.editing import flow_text
from twin.scenario.laws import Constant, Empirical, Law
from twin.study.fit import fit
from twin.study.fitlaws import EVENLY, curve
from twin.study.fitresult import Beside, Cause
from twin.study.moves import written

Plain = dict[str, Any]
Floats = NDArray[np.float64]
POINTS = 60
MOST_SEEN = 240
"""The most values of one number that are drawn; of more, every so many."""
SIZES = {
    "s": ((86_400.0 * 3.0, 86_400.0, "d"), (5400.0, 3600.0, "h"), (150.0, 60.0, "min"), (0.0, 1.0, "s")),
    "m": ((2000.0, 1000.0, "km"), (0.0, 1.0, "m")),
    "kg": ((2000.0, 1000.0, "t"), (0.0, 1.0, "kg")),
    "pieces": ((0.0, 1.0, "pieces"),),
}
"""From how much on an amount is told in which unit."""
SAID = {
    "every": "between two",
    "repair": "to mend one",
    "life": "how long rolls last",
}
_LONG = re.compile(r"\b\d+\.\d+")
REASONS = {"pattern": "pattern setup", "damage": ""}


def unit_for(mean: float, unit: str) -> tuple[float, str]:
    """Return the unit in which values of a size are told, and how much of SI it is."""
    size, name = next((size, name) for least, size, name in SIZES.get(unit, SIZES["pieces"]) if mean >= least)
    return size, name


def law_words(law: Law, count: int) -> str:
    """Return a law as the file would have it, a list of recorded values told by their number."""
    if isinstance(law, Empirical):
        return f"the {count} values as recorded"
    made = written(law)
    if not isinstance(made, Mapping):
        return short(str(made))
    name, parameters = next(iter(made.items()))
    if not isinstance(parameters, Mapping):
        return short(flow_text(made))
    return short(", ".join([str(name), *(f"{key} {value}" for key, value in parameters.items())]))


def short(text: str) -> str:
    """Return a text whose numbers have at most five figures."""
    return _LONG.sub(lambda found: f"{float(found[0]):.5g}", text)


def fits_of(
    scenario: Scenario, examined: Examined, stop: Callable[[], bool], tell: Callable[[int, int], None]
) -> Plain:
    """Return what an examined log tells of a line."""
    found = fit(scenario, examined, stop=stop, progress=tell)
    return {
        "causes": [cause_plain(one) for one in found.causes],
        "beside": [beside_plain(one) for one in found.beside],
        "notes": list(found.notes),
        "days": found.days,
    }


def title(one: Cause) -> str:
    """Return what a number is called: mill, mill stop, between two."""
    parts = (one.station, REASONS.get(one.reason, one.called.replace("_", " ")), SAID.get(one.what, ""))
    return ", ".join(part for part in parts if part)


def cause_plain(one: Cause) -> Plain:
    """Return one number with its law, its doubt and its data."""
    size, unit = unit_for(one.mean.mean, one.unit)
    ratio = one.assumed.average or None
    whole = one.mean
    return {
        **one.plain(),
        "title": title(one),
        "shown_unit": unit,
        "size": size,
        "assumed_words": law_words(one.assumed, one.n),
        "law_words": law_words(one.law, one.n),
        "ratio": None if ratio is None else [whole.mean / ratio, _end(whole.low, ratio), _end(whole.high, ratio)],
        "seen": thinned(np.sort(one.sample.values)),
        "cut_short": thinned(np.sort(one.sample.cut_short)),
        "curve": [part.tolist() for part in curve(one, POINTS)] if not isinstance(one.law, Constant) else None,
        "assumed_curve": law_curve(one.assumed),
    }


def _end(value: float, ratio: float) -> float | None:
    return float(value / ratio) if np.isfinite(value) else None


def thinned(values: Floats) -> list[float]:
    """Return so many values that they can be drawn, evenly taken."""
    if len(values) <= MOST_SEEN:
        return [float(value) for value in values]
    places = np.linspace(0, len(values) - 1, MOST_SEEN).round().astype(np.int64)
    return [float(value) for value in values[places]]


def law_curve(law: Law) -> list[list[float]]:
    """Return values of a law and the share that lies below each; a constant is a step."""
    if isinstance(law, Constant):
        return [[law.average, law.average], [0.0, 1.0]]
    drawn = np.sort(scale(law, EVENLY))
    at = np.linspace(0.0, float(drawn[int(0.99 * len(drawn))]), POINTS)
    below = np.searchsorted(drawn, at, side="right") / len(drawn)
    return [at.tolist(), below.tolist()]


def beside_plain(one: Beside) -> Plain:
    """Return a measured figure beside the twin's."""
    named = {name: getattr(one, name) for name in ("station", "what", "measured", "twin", "low", "high", "unit")}
    return named | {"differs": one.differs}


def told(causes: Sequence[Plain]) -> tuple[int, int]:
    """Return how many numbers a log tells of, and how many lie outside what was assumed."""
    return len(causes), sum(1 for one in causes if one["differs"])
