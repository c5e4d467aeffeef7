"""The day as strips: what each machine did by its records, and in a run of the model."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from twin.line import simulate
from twin.logs.reasons import ORDER
from twin.study.review_answer import Spell, Strip
from twin.study.review_day import Day
from twin.study.review_records import Stop

STATES = {
    "down": "down",
    "rolls": "changing_rolls",
    "setup": "setup",
    "waiting": "waiting",
    "starved": "starved",
    "blocked": "blocked",
}
UNRECORDED, RUNNING, CLOSED = "unrecorded", "running", "closed"
SHORT_S = 60.0  # less than this without a record is running


def recorded_strips(day: Day) -> tuple[Strip, ...]:
    """Return what each machine did by its records; working time without any is unrecorded, never running."""
    return tuple(
        Strip(name, number, tuple(joined(_spells(day, name, number))))
        for name, number in day.model.layout.machines
        if name in day.plant.stations and day.plant.stations[name].kind != "supply"
    )


def _spells(day: Day, name: str, number: int) -> Iterator[Spell]:
    stops = [one for one in day.records.stops_of.get((name, number), []) if one.start < day.end and one.end > day.begin]
    coils = [
        (one.start, one.end)
        for one in day.records.coils.get(name, [])
        if one.start < day.end and one.end > day.begin and day.records.machine_of.get((name, one.coil), 1) == number
    ]
    hours = day.records.hours[name]
    edges = {
        day.begin,
        day.end,
        *(at for one in stops for at in (one.start, one.end)),
        *(at for own in coils for at in own),
    }
    edges |= {float(at) for at in (*hours.starts, *hours.ends) if day.begin < at < day.end}
    inside = sorted(at for at in edges if day.begin <= at <= day.end)
    silent = _gaps(day, name)
    for start, end in zip(inside, inside[1:], strict=False):
        middle = 0.5 * (start + end)
        if not bool(hours.is_open(np.array(middle))):
            yield Spell(CLOSED, "", start, end)
            continue
        stop = _gravest(one for one in stops if one.start <= middle < one.end)
        if stop is not None:
            yield Spell(STATES[stop.kind], stop.reason, start, end)
        elif any(own[0] <= middle < own[1] for own in silent) or (
            coils and end - start > SHORT_S and not any(own[0] <= middle < own[1] for own in coils)
        ):
            yield Spell(UNRECORDED, "", start, end)
        else:
            yield Spell(RUNNING, "", start, end)


def _gravest(stops: Iterable[Stop]) -> Stop | None:
    return min(stops, key=lambda one: ORDER.index(one.kind), default=None)


def _gaps(day: Day, name: str) -> list[tuple[float, float]]:
    """Return the spans in which the doctor found no record of a station."""
    return [span for own in day.examined.findings if own.kind == "gap" and own.station == name for span in own.spans]


def joined(spells: Iterable[Spell]) -> Iterator[Spell]:
    """Yield spells with neighbours of one state put together."""
    last: Spell | None = None
    for one in spells:
        if (
            last is not None
            and (one.state, one.reason) == (last.state, last.reason)
            and one.start_s <= last.end_s + 1e-6
        ):
            last = replace(last, end_s=one.end_s)
            continue
        if last is not None:
            yield last
        last = one
    if last is not None:
        yield last


def typical_strips(day: Day, run: int, seed: int) -> tuple[Strip, ...]:
    """Return what each machine does in one run of the model from the day's morning."""
    made = simulate(day.scenario, seed=seed, run=run, trace=True, scripts=day.base)
    assert made.trace is not None
    own = made.trace.tables["states"]
    found: dict[tuple[str, int], list[Spell]] = {}
    columns = (own[name].tolist() for name in ("station", "machine", "state", "reason", "start_s", "end_s"))
    for name, number, state, reason, start, end in zip(*columns, strict=True):
        if end > start and name in day.plant.stations and day.plant.stations[name].kind != "supply":
            found.setdefault((name, number), []).append(Spell(state, reason, day.begin + start, day.begin + end))
    return tuple(Strip(name, number, tuple(joined(spells))) for (name, number), spells in found.items())
