"""What is said on top of the coming roll changes, what the answer rests on, and where work can hurt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from math import inf

from twin.indicators import Part, Verdict
from twin.indicators.intervals import Interval
from twin.study.rollresult import Asked, Change, Sweep
from twin.study.rollwear import Facts
from twin.study.rollwindow import Setting, clock
from twin.words import NO_BREAK, number, plain

CAUTIONS = (
    "The planned minutes of a change are the least time in which it is safe, never a target to beat.",
    "Isolate and lock every energy before anybody reaches in: drive, hydraulics and accumulators, screw-down, coolant, "
    "compressed air, gravity. Stored energy is let off and proved gone.",
    "Rolls and carriages are heavy and may be hot. Nobody stands in their way or under a load; lifting gear is "
    "certified.",
    "This is a plan, not a permit. Local rules, the machine maker's manual and licensed people decide.",
)


def moment(local: datetime, now: datetime) -> str:
    """Return a moment with its day, and its date where it is a week or more away."""
    far = abs((local.date() - now.date()).days) >= 7
    return f"{clock(local)}, {local.day}{NO_BREAK}{local:%b}" if far else clock(local)


def verdict(
    setting: Setting, changes: Sequence[Change], worth: Interval, sweep: Sweep | None, *, hour_matters: bool, sure: str
) -> Verdict:
    """Return the sentence on top: when to change, and what matters."""
    if not changes:
        parts = [Part("No change of rolls comes due "), Part("in the planned days", strong=True), Part(".")]
        return Verdict((*parts, *_sweep(sweep)), sure)
    first = changes[0]
    late = _waits(setting, first)
    parts = late or (_window(setting, first) if hour_matters else _any_time(setting, first, worth))
    return Verdict((*parts, *_sweep(sweep)), sure)


def _waits(setting: Setting, first: Change) -> list[Part]:
    """Say that no set is ready in time."""
    if first.ready is None or first.latest > first.best or first.best > first.ready + 1.0:
        return []
    ready = clock(setting.now.at(first.ready))
    return [
        Part("There is no window", strong=True),
        Part(f": the next set is ready on {ready}. Roll slower until then, or wait."),
    ]


def _window(setting: Setting, first: Change) -> list[Part]:
    """Say between which times to change."""
    now = setting.now
    start, end, best = (now.at(at) for at in (first.earliest, first.latest, first.best))
    found = [Part("Change ")]
    if first.latest - first.earliest < 60.0:
        found.append(Part(f"on {clock(best)}", strong=True))
    elif start.date() == end.date():
        found.append(Part(f"on {clock(start)[:3]} between {start:%H:%M} and {end:%H:%M}", strong=True))
        found.append(Part(f", best at {best:%H:%M}"))
    else:
        found.append(Part(f"between {clock(start)} and {clock(end)}", strong=True))
        found.append(Part(f", best on {clock(best)}"))
    prices = []
    if first.early > 0.0:
        prices.append(f"each half hour earlier costs {_tonnes(first.early)}")
    if 0.0 < first.late < inf:
        prices.append(f"each half hour later {_tonnes(first.late)}")
    elif first.late == inf:
        prices.append("later the set is beyond its limit")
    return [*found, Part((": " + ", ".join(prices) if prices else "") + ".")]


def _tonnes(value: float) -> str:
    return number(value, unit="t", places=2 if value < 0.1 else 1)


def _any_time(setting: Setting, first: Change, worth: Interval) -> list[Part]:
    """Say that the hour of the change does not matter."""
    until = clock(setting.now.at(first.prices[-1].at))
    loses = f"costs the line less than {number(setting.open_below, unit='t', places=1)}"
    if worth.low is not None and worth.low <= 0.0:
        loses = "costs the line nothing that can be told from chance"
    return [
        Part("The hour of the next change does not matter", strong=True),
        Part(f": any time until {until} {loses}."),
    ]


def _sweep(sweep: Sweep | None) -> list[Part]:
    """Say what the distance does to the line."""
    return [] if sweep is None or not sweep.brief else [Part(" " + sweep.brief)]


def how_sure(now: str, source: str, futures: int, days: float, worth: Interval, runs: int) -> str:
    """Return the line below the sentence."""
    value = number(worth.mean, worth.half, "t")
    swept = f" Distances and rules: {runs} runs each, 95{NO_BREAK}% intervals of paired runs." if runs else ""
    return (
        f"Now: {now}, {source}. {futures} futures of {plain(days)} days; an hour of the mill is worth {value} "
        f"to the line.{swept}"
    )


@dataclass(frozen=True, slots=True)
class Rests:
    """What an answer rests on: a given state, a roll shop, uncertain inputs, ground sets that are spared."""

    given: bool
    shop: bool
    uncertain: bool
    spared: bool


def assumed_of(facts: Facts, asked: Asked, rests: Rests) -> tuple[str, ...]:
    """Return what the answer takes for granted, one sentence each."""
    said = [
        "Damage, changes, grinding and coils are planned at their means; prices are those of the expected coils.",
        f"A usual coil is {plain(facts.coil.km, 1)}{NO_BREAK}km through the bite, as in an ordinary week of this line.",
        "The price of a mill hour is measured by letting the mill stand in the same futures; it is taken to be the "
        "same for every hour of the planned days.",
    ]
    if not rests.given:
        said.append("The file gives no state of the plant now, so one out of a simulated week is used.")
    if facts.unknown:
        said.append(f"Damage is left out of the plan: {facts.unknown}.")
    else:
        said.append("The law of damage is taken from the file as it stands; its own doubt is not in the windows.")
    if rests.shop:
        said.append(
            "The roll shop works first come, first served, and back-up rolls take the grinder when they are due."
        )
    if rests.spared:
        said.append("Ground sets are spared: futures in which damage takes the last one tell what a set is worth.")
    if rests.uncertain:
        said.append(
            "Distances and rules are run with inputs as uncertain as the log leaves them, coming days with the best."
        )
    if asked.earlier:
        said.append("An earlier plan was given: near changes stay as they were, and moving a later one has a price.")
    return tuple(said)
