"""What a packed week looks like at one time: states, levels, figures, what limits.

`assets/line.js` reads it the same way.
"""

from bisect import bisect_right
from dataclasses import dataclass

from dashboard.charts.states import LOOKS
from dashboard.charts.svg import amount, figure
from dashboard.charts.week import SLOWED, STATES, Week


@dataclass(frozen=True)
class MachineNow:
    """A machine at one time: its state, the word for it, whether it runs slower than it could."""

    state: str
    word: str


@dataclass(frozen=True)
class StoreNow:
    """A store at one time: its level, how much may be taken, and both as two lines of words."""

    level: float
    ready: float
    first: str
    second: str


@dataclass(frozen=True)
class Moment:
    """Everything that changes in the drawing of a line, at one time."""

    machines: dict[str, tuple[MachineNow, ...]]
    stores: dict[str, StoreNow]
    figures: dict[str, str]
    limit: str


def before(times: list[int], time: float) -> int:
    """Return the index of the last entry not later than a time, 0 before the first."""
    return max(0, bisect_right(times, time) - 1)


def value_at(series: Week, time: float, t: str = "t", v: str = "v") -> float:
    """Return the value of a packed series at a time: what holds, or the straight line between two points."""
    times, values = series[t], series[v]
    i = before(times, time)
    if not series["linear"] or i + 1 >= len(times) or time <= times[i]:
        return float(values[i])
    part = (time - times[i]) / (times[i + 1] - times[i])
    return float(values[i] + (values[i + 1] - values[i]) * part)


def _machine(machine: Week, reasons: list[str], time: float) -> MachineNow:
    i = before(machine["t"], time)
    code = machine["s"][i]
    state = STATES[code]
    why = reasons[machine["why"][i]] if "why" in machine else ""
    if code == SLOWED:
        return MachineNow(state, "runs slowed")
    return MachineNow(state, f"waits: {why}" if why else LOOKS[state].word)


def store_words(store: Week, level: float, ready: float) -> tuple[str, str]:
    """Return the two lines under a store: how much lies there, and how much of it may be taken or is free."""
    digits, unit, capacity = store["digits"], store["unit"], store["capacity"]
    if capacity == 0:
        return "handed on", "no room between"
    if capacity is None:
        return amount(level, unit, digits), ""
    first = f"{figure(level, digits)} of {store['holds']}"
    if store["rests"]:
        taken = int(ready + 0.5)
        return first, f"{figure(taken)} ready, {figure(int(level + 0.5) - taken)} cooling"
    if store["heel"]:
        return first, f"heel {store['heel']}"
    free = capacity - level
    return first, f"{figure(free, digits)} free" if free > 10.0**-digits / 2 else "full"


def _store(store: Week, time: float) -> StoreNow:
    level = value_at(store, time)
    ready = float(store["rv"][before(store["rt"], time)]) if "rv" in store else level
    return StoreNow(level, ready, *store_words(store, level, ready))


def _figure(series: Week, time: float) -> str:
    value = value_at(series, time)
    if "words" in series:
        return str(series["words"][int(value)])
    return str(series["form"]).replace("{}", figure(value, series["digits"]))


def moment(week: Week, time: float) -> Moment:
    """Return what the line looks like at a time of the packed week [s from its start]."""
    machines: dict[str, tuple[MachineNow, ...]] = {}
    for machine in week["machines"]:
        now = _machine(machine, week["reasons"], time)
        machines[machine["station"]] = (*machines.get(machine["station"], ()), now)
    limits = week["limits"]
    index = limits["v"][before(limits["t"], time)]
    return Moment(
        machines,
        {store["name"]: _store(store, time) for store in week["stores"]},
        {series["target"]: _figure(series, time) for series in week["figures"]},
        limits["names"][index] if index >= 0 else "",
    )


def time_text(week: Week, time: float) -> str:
    """Return the day and the clock at a time of the week: Wed 08:40."""
    day = week["days"][before([day["t"] for day in week["days"]], time)]
    seconds = day["clock"] + time - day["t"]
    minutes = int(seconds // 60) % 1440
    return f"{day['name']} {minutes // 60:02d}:{minutes % 60:02d}"
