"""The numbers of a scenario that can be moved on the page: their positions, and the answer at one of them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from dashboard.charts.curve import Point, distance_curve
from dashboard.parts.amounts import Units
from twin.scenario import Scenario, ScenarioError, Setting, apply_set, numbers
from twin.scenario.models import ByDigest
from twin.words import indicator

POSITIONS = 9
MOST_COUNT = 5
MOST_NAMED = 6
MOST_KEPT = 32
LEFT_OUT = ("time.", "money.", "calendars.", "products.")
QUANTITY = re.compile(r"\s*([0-9.]+(?:e[+-]?\d+)?)\s*(.*)", re.IGNORECASE)
Plain = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Dial:
    """One number that can be moved: its path, the text in the file, the positions tried, and which is today's."""

    path: str
    text: str
    unit: str
    values: tuple[float, ...]
    today: int

    @property
    def texts(self) -> tuple[str, ...]:
        """Return the positions as a file has them."""
        return tuple(f"{value:g} {self.unit}".strip() for value in self.values)


_LAST: dict[tuple[str, str], Dial] = {}


def movable(scenario: Scenario) -> list[str]:
    """Return the paths of all numbers that can be moved."""
    return [one.path for one in numbers(scenario) if not one.path.startswith(LEFT_OUT) and _split(one) is not None]


def named(scenario: Scenario, text: str) -> list[str]:
    """Return the numbers that a text names: the one of that path, else all whose paths hold each of its words."""
    paths, asked = movable(scenario), text.strip().lower().split()
    exact = [path for path in paths if path == text.strip()]
    return exact or [path for path in paths if asked and all(word in path.lower() for word in asked)]


def which(text: str, found: Sequence[str]) -> str:
    """Return what to write instead of a text that names no number or several."""
    if not found:
        return f"No number that can be moved is called {text.strip()}."
    shown = ", ".join(found[:MOST_NAMED])
    more = f" and {len(found) - MOST_NAMED} more" if len(found) > MOST_NAMED else ""
    return f"{len(found)} numbers are called so: {shown}{more}."


def _split(one: Setting) -> tuple[float, str] | None:
    """Return a number and its unit; nothing where there is none to move, or half of it would say nothing."""
    split = QUANTITY.fullmatch(one.text)
    if split is None or one.kind == "temperature" or float(split[1]) <= 0.0:
        return None
    return float(split[1]), split[2]


def dial(scenario: Scenario, path: str) -> Dial | None:
    """Return the positions of a number: small counts one by one, all else from half to twice; None if it cannot move.

    Positions that the scenario does not allow are left out. The page asks again and again while a curve grows, so the
    last ones are kept.
    """
    return _dial(ByDigest.of(scenario), path)


@lru_cache(maxsize=MOST_KEPT)
def _dial(plant: ByDigest, path: str) -> Dial | None:
    scenario = plant.scenario
    found = next((one for one in numbers(scenario) if one.path == path), None)
    split = _split(found) if found is not None else None
    if found is None or split is None:
        return None
    unit = split[1]
    values = [one for one in _positions(split[0], found.kind) if _allowed(scenario, path, f"{one:g} {unit}".strip())]
    nearest = min(range(len(values)), key=lambda i: abs(values[i] - split[0]), default=None)
    return None if nearest is None or len(values) < 2 else Dial(path, found.text, unit, tuple(values), nearest)


def _positions(value: float, kind: str) -> list[float]:
    """Return the positions around a value, which is one of them."""
    whole = kind in ("count", "coils", "pieces", "changes")
    if whole and value <= 2 * MOST_COUNT:
        return [float(n) for n in range(1, max(MOST_COUNT, int(value) + 2) + 1)]
    half = POSITIONS // 2
    spread = [value * 2.0 ** ((i - half) / half) for i in range(POSITIONS)]
    rounded = [float(round(one)) if whole else float(f"{one:.3g}") for one in spread]
    rounded[half] = value
    return rounded


def _allowed(scenario: Scenario, path: str, text: str) -> bool:
    """Return whether the scenario allows a value."""
    try:
        apply_set(scenario, path, text)
    except ScenarioError:
        return False
    return True


def curve_drawing(found: Plain, own: Dial, units: Units) -> str:
    """Return the curve as far as it is known; nothing before two positions are."""
    per = units.per_tonne
    points = [
        Point(float(f"{x:.4g}"), *(per * found[end][i] for end in ("mean", "low", "high")))
        for i, x in enumerate(own.values)
        if found["low"][i] is not None
    ]
    if len(points) < 2:
        return ""
    today = float(f"{own.values[own.today]:.4g}")
    return distance_curve(
        points,
        today=today,
        units=(own.unit or "", f"{units.mass}/week"),
        name=f"Good {units.mass}/week with {own.path}",
    )


def answer_at(found: Plain | None, own: Dial, place: int, units: Units) -> str:
    """Return what the line makes at one position, and the change against today, in a sentence."""
    text = own.texts[place]
    if found is None or found["mean"][place] is None:
        return f"{text}: being run."
    good = _interval(found, ("mean", "low", "high"), place)
    change = _interval(found, ("change", "change_low", "change_high"), place)
    mass = f"{units.mass}/week"
    per = units.per_tonne
    return f"{text}: {indicator(good, mass, scale=per)}, {indicator(change, mass, scale=per, sign=True)} against today."


def _interval(found: Plain, columns: tuple[str, str, str], place: int) -> dict[str, Any]:
    mean, low, high = (found[column][place] for column in columns)
    return {"mean": mean, "low": low, "high": high, "unit": "t/week"}
