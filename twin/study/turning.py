"""Where another choice becomes the better one when an input of the line is not what it is taken to be.

Money alone turns in `breakeven`; here a time, a length of runs or a life of rolls is scaled, the best choice and its
rival are run again in that world, and where their values cross the advice turns.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, log
from typing import TYPE_CHECKING, Any

from twin.indicators.intervals import FloatArray, mean_interval
from twin.line.model import SHOP
from twin.scenario import Law, Scenario, apply_options
from twin.scenario.models import Mill, Station
from twin.study.advice import Advice, title
from twin.study.compare import Comparison, Row
from twin.study.maker import Maker
from twin.study.relief import scaled, with_station

if TYPE_CHECKING:
    from twin.study.replications import Replications

FACTORS = (0.5, 0.7, 1.4, 2.0)
RUNS = 6
MOST_INPUTS = 6
WHAT = "where the advice turns"
UNITS = {"time": (60.0, "min"), "length": (1000.0, "km"), "coils": (1.0, "coils"), "pieces": (1.0, "pieces")}


@dataclass(frozen=True, slots=True)
class Input:
    """A law of the line that may be other than it is taken: in words, its place, and the law."""

    what: str
    station: str
    path: tuple[str, ...]
    law: Law

    def put(self, line: Scenario, law: Law) -> Scenario:
        """Return a line with another law in its place."""
        return with_station(line, _inside(line.stations[self.station], self.path, law))

    def at(self, line: Scenario) -> Law:
        """Return the law that stands in its place in a line: an option may have changed it."""
        part: Any = line.stations[self.station]
        for key in self.path:
            part = getattr(part, key)
        law: Law = part
        return law


def _inside(part: Any, keys: tuple[str, ...], law: Law) -> Any:  # noqa: ANN401 - parts of any kind
    """Return a part with the law below it exchanged."""
    new = law if len(keys) == 1 else _inside(getattr(part, keys[0]), keys[1:], law)
    return part.model_copy(update={keys[0]: new})


@dataclass(frozen=True, slots=True)
class Turn:
    """Where the advice turns with one input.

    Attributes
    ----------
    what : The input in words.
    now, gate : Its mean as it is taken, and where the rival is worth as much. [unit]
    unit : Of both.
    stops : On which side of the gate the rival is the better one.
    rival : The options that are better there.
    """

    what: str
    now: float
    gate: float
    unit: str
    stops: str
    rival: tuple[str, ...]


def turning(found: Comparison, told: Advice, maker: Maker) -> list[Turn]:
    """Return the inputs with which a rival would beat the best choice, each within half to twice of what it is taken.

    Raises
    ------
    NothingMadeError, KeyboardInterrupt : Stopped before a world had its runs.
    """
    best, rival = found.rows[told.best], found.rows[_rival(found, told)]
    if found.ledger is None or best is rival:
        return []
    inputs = list(_inputs(found, best, rival))[:MOST_INPUTS]
    now = mean_interval(_ahead(found, best, rival, found.made)).mean
    worlds = [(one, factor) for one in inputs for factor in FACTORS]
    made = _made(found, (best, rival), worlds, maker)
    turns = []
    for one in inputs:
        ahead = {factor: _ahead(found, best, rival, made[one.what, factor]) for factor in FACTORS}
        factor = _crossing(now, ahead)
        if factor is not None:
            turns.append(_turn(one, factor, rival))
    return turns


def _rival(found: Comparison, told: Advice) -> int:
    """Return what the best choice is set against: the option asked for with what it joins, else today."""
    about = told.joined if told.joined is not None else told.focus
    return about if about != told.best else 0


def _inputs(found: Comparison, best: Row, rival: Row) -> Iterator[Input]:
    """Yield the inputs of the stations that limit or that the two choices change."""
    named = {name.removesuffix(SHOP) for row in (found.today, best, rival) if row.limits for name in row.limits.named}
    for option in {*best.options, *rival.options}:
        named |= {path.split(".")[1] for path in found.scenario.options[option].set if path.startswith("stations.")}
    for name, station in found.scenario.stations.items():
        if name in named:
            yield from _of_station(name, station)


def _of_station(name: str, station: Station) -> Iterator[Input]:
    """Yield the inputs of one station that a plant seldom knows well, or that its customers change."""
    stay = getattr(station, "coils_per_pattern", None)
    if stay is not None:
        yield Input(f"{name}: coils a pattern", name, ("coils_per_pattern",), stay)
    for key, what in (("setup", "setup"), ("tool_change", "tool change")):
        activity = getattr(station, key, None)
        if activity is not None and activity.time.average > 0.0:
            yield Input(f"{name}: {what}", name, (key, "time"), activity.time)
    if isinstance(station, Mill) and station.rolls is not None:
        if station.rolls.damage is not None:
            yield Input(f"{name}: life of the rolls", name, ("rolls", "damage"), station.rolls.damage)
        if station.rolls.shop is not None:
            yield Input(f"{name}: grinding a set", name, ("rolls", "shop", "grind"), station.rolls.shop.grind)


World = tuple[Input, float]


def _made(
    found: Comparison, rows: tuple[Row, Row], worlds: list[World], maker: Maker
) -> dict[tuple[str, float], dict[frozenset[str], Replications]]:
    """Return runs of today and of the two choices, half-built ones included, in each world."""
    assert found.ledger is not None
    designs: dict[frozenset[str], None] = {frozenset(): None}
    for row in rows:
        if row.options:
            stages = found.ledger.purchase(row.options).stages
            designs |= dict.fromkeys(frozenset(stage.options) for stage in stages)
    lines = []
    for one, factor in worlds:
        for options in designs:
            line = apply_options(found.scenario, sorted(options))
            lines.append(one.put(line, scaled(one.at(line), factor)))
    made = iter(maker.make(WHAT, lines, RUNS) if lines else [])
    return {(one.what, factor): {options: next(made) for options in designs} for one, factor in worlds}


def _ahead(found: Comparison, best: Row, rival: Row, made: dict[frozenset[str], Replications]) -> FloatArray:
    """Return how much more the best choice is worth than the rival, run by run. [currency]"""
    assert found.ledger is not None
    one, other = found.ledger.values(best.options, made), found.ledger.values(rival.options, made)
    runs = min(one.size, other.size)
    ahead: FloatArray = one[:runs] - other[:runs]
    return ahead


def _crossing(now: float, ahead: dict[float, FloatArray]) -> float | None:
    """Return the factor nearest to 1 at which the advice turns, if the rival is better beyond it for sure."""
    found = []
    for side in (sorted(f for f in ahead if f > 1.0), sorted((f for f in ahead if f < 1.0), reverse=True)):
        before, value = 1.0, now
        for factor in side:
            interval = mean_interval(ahead[factor])
            if interval.high is not None and interval.high < 0.0 < value:
                weight = value / (value - interval.mean)
                found.append(exp(log(before) + weight * (log(factor) - log(before))))
                break
            before, value = factor, interval.mean
    return min(found, key=lambda factor: abs(log(factor)), default=None)


def _turn(one: Input, factor: float, rival: Row) -> Turn:
    """Return where the advice turns, in the input's own unit."""
    size, unit = UNITS.get(one.law.dimension, (1.0, ""))
    mean = one.law.average / size
    return Turn(one.what, mean, factor * mean, unit, "below" if factor < 1.0 else "above", rival.options)


def plain_turns(found: list[Turn]) -> list[dict[str, Any]]:
    """Return turns as plain values, in the form of the other thresholds."""
    return [
        {
            "kind": "input",
            "what": one.what,
            "now": one.now,
            "gate": one.gate,
            "unit": one.unit,
            "stops": one.stops,
            "rival": title(one.rival),
        }
        for one in found
    ]
