"""A stretch of the trace, packed so that a page can play it without asking the server.

`week_data` makes one plain JSON object; `dashboard/charts/moment.py` and `assets/line.js` read it, both the same way.
All times in it are whole seconds from its start.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from dashboard.charts.packing import Steps, Stretch, packed_series
from dashboard.charts.plant import Plant, Store
from dashboard.charts.states import LOOKS, chip_body, css
from dashboard.charts.svg import amount

Week = dict[str, Any]

CODES = {
    "running": "R",
    "setup": "S",
    "changing_rolls": "C",
    "down": "D",
    "waiting": "W",
    "starved": "E",
    "blocked": "B",
    "closed": "-",
}
SLOWED, NO_RECORD = "r", "?"
STATES = {code: state for state, code in CODES.items()} | {SLOWED: "running", NO_RECORD: "no_record"}


def looks() -> Week:
    """Return how each state looks, for the playing script: its class, its word, the inside of its chip.

    `{key}` in a chip stands for the key of the drawing whose patterns it uses.
    """
    return {
        code: {
            "class": css(state),
            "word": "runs slowed" if code == SLOWED else LOOKS[state].word,
            "chip": chip_body("{key}", state),
        }
        for code, state in STATES.items()
    }


@dataclass(frozen=True)
class Day:
    """A local day, or the part of it after the clocks changed: when it starts and what the clock shows then."""

    start_s: float
    label: str
    name: str
    clock_s: float = 0.0


@dataclass(frozen=True)
class MachineTrace:
    """The states of one machine: columns of the table `states` of a trace, in the order of time."""

    station: str
    number: int
    start_s: Sequence[float]
    end_s: Sequence[float]
    state: Sequence[str]
    slowed: Sequence[bool] = ()
    reason: Sequence[str] = ()


@dataclass(frozen=True)
class StoreTrace:
    """The level of one store in the unit it is shown in; `ready` is how much of it may be taken.

    A linear level runs straight from row to row (metal, strip, pieces); any other stays until the next row (coils).
    """

    name: str
    time_s: Sequence[float]
    level: Sequence[float]
    ready: Sequence[float] | None = None
    linear: bool = False


@dataclass(frozen=True)
class Figure:
    """One figure along time, under a station or in a row: a number set into `form`, or words that stay."""

    target: str
    time_s: Sequence[float]
    value: Sequence[float] = ()
    words: Sequence[str] = ()
    form: str = "{}"
    digits: int = 0
    linear: bool = True


@dataclass(frozen=True)
class Limits:
    """Which station limits the whole line from each time on: its name, "<mill> roll shop", or "" for none."""

    time_s: Sequence[float] = ()
    name: Sequence[str] = ()


def _machine(trace: MachineTrace, clock: Stretch, reasons: list[str]) -> Week:
    """Pack one machine: a start and a letter a stretch, where needed the number of what it waits for."""
    steps = Steps()
    reached = clock.start_s
    for i, state in enumerate(trace.state):
        start, end = trace.start_s[i], trace.end_s[i]
        if end <= clock.start_s or start >= clock.end_s or end <= start:
            continue
        if start > reached + 0.5:
            steps.add(clock.packed(reached), (NO_RECORD, 0))
        slowed = bool(len(trace.slowed)) and bool(trace.slowed[i]) and state == "running"
        why = str(trace.reason[i]) if len(trace.reason) and state == "waiting" else ""
        if why not in reasons:
            reasons.append(why)
        steps.add(clock.packed(start), (SLOWED if slowed else CODES.get(state, NO_RECORD), reasons.index(why)))
        reached = max(reached, end)
    if reached < clock.end_s - 0.5:
        steps.add(clock.packed(reached), (NO_RECORD, 0))
    packed: Week = {"station": trace.station, "number": trace.number, "t": steps.time}
    packed["s"] = "".join(code for code, _ in steps.value)
    if any(why for _, why in steps.value):
        packed["why"] = [why for _, why in steps.value]
    return packed


def fewest(value: float) -> int:
    """Return the fewest decimals, up to 2, that show a number as it is."""
    return next((digits for digits in (0, 1) if abs(value - round(value, digits)) < 1e-9), 2)


def digits_for(store: Store) -> int:
    """Return the decimals of a level: more where the store is so small that whole units would say nothing."""
    if store.capacity is None or store.capacity == 0 or store.holds in ("coils", "pieces"):
        return store.digits
    return max(store.digits, 0 if store.capacity >= 10 else 1 if store.capacity >= 1 else 2)


def _store(trace: StoreTrace, store: Store, clock: Stretch) -> Week:
    time, level = packed_series(trace.time_s, trace.level, clock, trace.linear)
    packed: Week = {"name": store.name, "t": time, "v": level, "linear": trace.linear, "unit": store.counted_in}
    digits = digits_for(store)
    packed |= {"capacity": store.capacity, "digits": digits, "rests": store.rests}
    packed["holds"] = "" if store.capacity is None else amount(store.capacity, store.counted_in, fewest(store.capacity))
    packed["heel"] = amount(store.heel, store.counted_in, fewest(store.heel)) if store.heel else ""
    if trace.ready is not None and store.rests:
        packed["rt"], packed["rv"] = packed_series(trace.time_s, trace.ready, clock, False)
    return packed


def _figure(figure: Figure, clock: Stretch) -> Week:
    packed: Week = {"target": figure.target, "form": figure.form, "digits": figure.digits}
    if len(figure.words):
        said = list(dict.fromkeys(figure.words))
        index = [float(said.index(word)) for word in figure.words]
        packed["t"], packed["v"] = packed_series(figure.time_s, index, clock, False)
        return packed | {"words": said, "linear": False}
    packed["t"], packed["v"] = packed_series(figure.time_s, figure.value, clock, figure.linear)
    return packed | {"linear": figure.linear}


def _limits(limits: Limits, clock: Stretch) -> Week:
    names = [name for name in dict.fromkeys(limits.name) if name]
    index = [float(names.index(name)) if name else -1.0 for name in limits.name]
    time, value = packed_series(limits.time_s, index, clock, False) if index else ([0], [-1])
    return {"t": time, "v": value, "names": names}


def _day(day: Day, clock: Stretch) -> Week:
    packed = {"t": clock.packed(day.start_s), "label": day.label, "name": day.name}
    return {**packed, "clock": round(day.clock_s)}


def by_number(machines: Sequence[MachineTrace]) -> list[MachineTrace]:
    """Return machines station by station as they came, those of a station in the order of their numbers."""
    order = list(dict.fromkeys(trace.station for trace in machines))
    return sorted(machines, key=lambda trace: (order.index(trace.station), trace.number))


def week_data(
    plant: Plant,
    *,
    clock: tuple[float, float],
    days: Sequence[Day],
    machines: Sequence[MachineTrace],
    stores: Sequence[StoreTrace] = (),
    figures: Sequence[Figure] = (),
    limits: Limits | None = None,
    key: str = "week",
) -> Week:
    """Return the stretch of a trace between two of its seconds as plain JSON, everything cut to that stretch.

    `clock` is where it starts and ends, in the trace's own seconds, as are all times that are passed.
    """
    if clock[1] <= clock[0]:
        raise ValueError(f"a week must end after it starts, but this one goes from {clock[0]:g} s to {clock[1]:g} s")
    cut = Stretch(*clock)
    reasons = [""]
    packed_machines = [_machine(trace, cut, reasons) for trace in by_number(machines)]
    return {
        "key": key,
        "length": round(clock[1] - clock[0]),
        "days": [_day(day, cut) for day in days],
        "looks": looks(),
        "reasons": reasons,
        "machines": packed_machines,
        "stores": [_store(trace, plant.store(trace.name), cut) for trace in stores if len(trace.time_s)],
        "figures": [_figure(figure, cut) for figure in figures if len(figure.time_s)],
        "limits": _limits(limits or Limits(), cut),
    }


def days_between(start: datetime, length_s: float, *, start_s: float = 0.0) -> list[Day]:
    """Return the local days of a stretch that starts at an aware local time, in elapsed seconds.

    On the day the clocks change, what follows the change is a Day of its own with no label.
    """
    if start.tzinfo is None:
        raise ValueError(f"the start of the days, {start}, has no zone: give it one, for example UTC")
    zone = start.tzinfo
    begin = start.timestamp()
    found = [Day(start_s, f"{start:%a} {start.day} {start:%b}", f"{start:%a}", _clock_of(start))]
    hour = begin - begin % 3600 + 3600
    before = start
    while hour < begin + length_s:
        now = datetime.fromtimestamp(hour, zone)
        elapsed = start_s + hour - begin
        if now.date() != before.date():
            midnight = elapsed - _clock_of(now)
            found.append(Day(midnight, f"{now:%a} {now.day} {now:%b}", f"{now:%a}", 0.0))
        elif now.utcoffset() != before.utcoffset():
            found.append(Day(elapsed, "", f"{now:%a}", _clock_of(now)))
        before = now
        hour += 3600
    return found


def _clock_of(local: datetime) -> float:
    return timedelta(hours=local.hour, minutes=local.minute, seconds=local.second).total_seconds()
