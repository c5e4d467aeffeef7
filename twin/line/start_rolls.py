"""The rolls of the mills at the start: how far they have run, where the other sets are, what their life still is."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from twin.line.model import strip_per_kg
from twin.line.rules import state as st
from twin.line.streams import scale, uniforms
from twin.scenario import Fault, ScenarioError
from twin.scenario.laws import Law, Mixture
from twin.scenario.models import Mill, RollsNow, SetsNow

if TYPE_CHECKING:
    from twin.line.builder import Builder

HALVINGS = 60


def put_rolls(builder: Builder, now: Mapping[str, RollsNow]) -> None:
    """Put the rolls of each mill where they are."""
    for name, rolls in now.items():
        place = builder.model.layout.mills.index(name)
        shop = builder.line.shops[place]
        for machine in shop.mills:
            run_in(builder, machine, name, rolls)
        if rolls.sets is not None and not shop.unlimited:
            place_sets(builder, shop, rolls.sets, name)
        if rolls.changes_to_back_up is not None and shop.back_up_every > 0:
            shop.changes = max(0, shop.back_up_every - rolls.changes_to_back_up)


def run_in(builder: Builder, machine: st.Machine, name: str, now: RollsNow) -> None:
    """Let the rolls have run so far; the rest of their life is what is left to rolls that came so far."""
    rolls, used = machine.rolls, now.used.value
    metres = strip_per_kg(builder.model, name)
    if now.used.dimension == "mass":
        rolls.kilograms, rolls.km = used, used * metres
    else:
        rolls.km, rolls.kilograms = used, used / metres if metres > 0.0 else 0.0
    rolls.first = used <= 0.0
    station = builder.scenario.stations[name]
    own = station.rolls if isinstance(station, Mill) else None
    if own is not None and own.damage is not None and own.damage.dimension == now.used.dimension:
        stream = f"{name}/{machine.number}/life"
        recorded = builder.scripts.draws.get(stream)
        unit = _first_of(builder.draws.seed, builder.draws.run, stream)
        left = recorded[0] - used if recorded else residual(own.damage, used, unit) - used
        rolls.life.left = max(0.0, left)
    for cause in machine.causes:
        if cause.rolls and cause.service:
            cause.left = max(0.0, rolls.limit - used)


@lru_cache(maxsize=4096)
def _first_of(seed: int, run: int, stream: str) -> float:
    """Return a stream's first uniform number; the same day is begun again and again."""
    return float(uniforms(seed, run, [stream], 0, 2)[0, 0])


def residual(law: Law, used: float, unit: float) -> float:
    """Return the life of rolls that have already run so far, for a uniform number: never less than that.

    It is drawn from the part of the law beyond `used`; of a mixture, from the parts as often as they last so long.
    """
    if isinstance(law, Mixture):
        return _residual_of_parts(law, used, unit)
    gone = _share_below(law, used)
    return max(used, _at(law, gone + (1.0 - gone) * unit))


def _residual_of_parts(law: Mixture, used: float, unit: float) -> float:
    lasting = [weight * (1.0 - _share_below(part, used)) for weight, part in law.parts]
    total = sum(lasting)
    floor = 0.0
    for lasts, (_, part) in zip(lasting, law.parts, strict=True):
        share = lasts / total if total > 0.0 else 1.0 / len(lasting)
        if unit < floor + share:
            return residual(part, used, (unit - floor) / share)
        floor += share
    return used


def _at(law: Law, unit: float) -> float:
    return float(scale(law, np.array([min(unit, 1.0 - 2.0**-53)]))[0])


@lru_cache(maxsize=1024)
def _share_below(law: Law, value: float) -> float:
    """Return the share of lives shorter than a value, by halving: the inverse distribution function rises."""
    low, high = 0.0, 1.0
    if _at(law, 2.0**-53) >= value:
        return 0.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _at(law, middle) < value else (low, middle)
    return low


def place_sets(builder: Builder, shop: st.Shop, now: SetsNow, name: str) -> None:
    """Put the sets that are not on a mill where they are; how long each still stays there is spread evenly."""
    off = [roll_set for roll_set in shop.sets if roll_set.stage != st.ON_MILL]
    counts = (now.ready, now.cooling, now.waiting, now.grinding, now.fitting, now.heating)
    stages = (st.READY, st.COOLING, st.QUEUED, st.GRINDING, st.FITTING, st.HEATING)
    for stage, count in zip(stages, counts, strict=True):
        for place in range(min(count, len(off))):
            put_set(builder, shop, off.pop(0), stage, (place + 0.5) / count, name)
    shop.clock.at = min((roll_set.until for roll_set in shop.sets), default=st.NEVER)


def put_set(builder: Builder, shop: st.Shop, roll_set: st.RollSet, stage: int, part: float, name: str) -> None:
    """Put one set in its place, with this part of the time there still before it."""
    roll_set.stage = stage
    if stage == st.COOLING:
        roll_set.until = part * builder.next_of(shop.cool)
    elif stage == st.HEATING:
        roll_set.until = part * builder.next_of(shop.heating)
    elif stage == st.QUEUED:
        shop.queue.append(roll_set)
    elif stage in (st.GRINDING, st.FITTING):
        person = next((own for own in shop.people if own.phase == st.IDLE), None)
        if person is None:
            message = f"more sets are ground and fitted than the roll shop has people, {len(shop.people)}"
            way_out = "Tell of the others as waiting"
            file = builder.scenario.file or "<scenario>"
            raise ScenarioError([Fault(file, 0, f"start.rolls.{name}.sets", "", "", way_out, message)])
        person.phase = st.TIMED
        person.task = st.GRIND if stage == st.GRINDING else st.FIT
        person.task_left = part * builder.next_of(shop.grind if stage == st.GRINDING else shop.assemble)
        person.lane = shop.sets.index(roll_set)
