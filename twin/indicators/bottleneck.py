"""What limits the line, moment by moment: the active-period method.

A station is *active* while the others leave it to its own pace. At each moment the station whose
uninterrupted active period is the longest is the momentary bottleneck: it has been kept from nothing by
anybody for longer than the others.

What counts here, and why:

- running at its own pace, setup, changing_rolls, down: active. They are the station's own time.
- starved, blocked: not active, others hold it.
- running slowed by a neighbour: not active. A furnace before a full bath runs for ever at the caster's
  pace; it holds nobody.
- waiting for a roll set: not active. The roll shop is a station of its own and holds the mill.
- waiting for a crane, a crew or knives: active. These have no strip of their own, and the wait lengthens
  the station's own cycle; else a minute at the crane would end every period of a slitter.
- closed: bridged where the station was active before and is active again after it. A slitter that works
  on day shift with coils in front is still what limits at night; one that had nothing left is not.
- several machines side by side: the station is active while all of them are, for with one of them held
  the station has room to spare.

Two equal periods go to the station further down the line: what it gets it cannot pass on any faster.

References
----------
C. Roser, M. Nakano, M. Tanaka, Shifting bottleneck detection, Proc. Winter Simulation Conference 2002.
There closed time, slowed running and parallel machines are not treated: those rules are ours.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from twin.indicators.intervals import FloatArray

METHOD = "active period (Roser, Nakano and Tanaka 2002): the station with the longest uninterrupted active period"

HELD, ACTIVE, CLOSED = 0, 1, 2

IntArray = NDArray[np.int64]


class Periods(NamedTuple):
    """Stretches of time in seconds, apart from one another and in order."""

    start: FloatArray
    end: FloatArray


class Timeline(NamedTuple):
    """Who limits when: rows in order of time, [s]; times at which nobody is active are left out."""

    start_s: FloatArray
    end_s: FloatArray
    station: NDArray[Any]


NO_PERIODS = Periods(np.empty(0), np.empty(0))


def active_periods(time: FloatArray, code: IntArray, end: float) -> Periods:
    """Return the active periods of one machine from its changes of state.

    Parameters
    ----------
    time : When each state began, in order. [s]
    code : `HELD`, `ACTIVE` or `CLOSED`.
    end : When the last state ends. [s]
    """
    until = np.append(time[1:], end)
    lasting = until > time
    start, until, code = time[lasting], until[lasting], code[lasting]
    if code.size == 0:
        return NO_PERIODS
    on = bridge_closed(code)
    edge = np.diff(np.concatenate(([False], on, [False])).astype(np.int8))
    return Periods(start[edge[:-1] == 1], until[edge[1:] == -1])


def bridge_closed(code: IntArray) -> NDArray[np.bool_]:
    """Return which states count as active: closed ones where the open states on both sides are.

    At the ends of the record the one side that is known decides.
    """
    opened = code != CLOSED
    if not opened.any():
        return np.zeros(code.size, dtype=bool)
    where = np.flatnonzero(opened)
    place = np.cumsum(opened)
    before = where[np.maximum(place - 1, 0)]
    after = where[np.minimum(np.where(opened, place - 1, place), where.size - 1)]
    both: NDArray[np.bool_] = (code[before] == ACTIVE) & (code[after] == ACTIVE)
    return both


def all_active(machines: Sequence[Periods]) -> Periods:
    """Return when every one of several machines is active."""
    if len(machines) == 1:
        return machines[0]
    time = np.concatenate([edge for one in machines for edge in (one.start, one.end)])
    step = np.concatenate([np.repeat((1, -1), one.start.size) for one in machines])
    order = np.argsort(time, kind="stable")
    edges, first = np.unique(time[order], return_index=True)
    count = np.cumsum(np.add.reduceat(step[order], first)) if edges.size else np.empty(0, dtype=np.int64)
    on = np.diff(np.concatenate(([False], count == len(machines))).astype(np.int8))
    return Periods(edges[on == 1], edges[on == -1])


def momentary_bottleneck(stations: Sequence[Periods]) -> tuple[FloatArray, FloatArray, IntArray]:
    """Return start, end and number of the station that limits, from the active periods of each.

    The stations come in order of flow. Stretches in which nobody is active are left out.
    """
    edges = np.unique(np.concatenate([edge for one in stations for edge in one] or [np.empty(0)]))
    if edges.size < 2:
        return np.empty(0), np.empty(0), np.empty(0, dtype=np.int64)
    best = np.zeros(edges.size - 1)
    who = np.full(edges.size - 1, -1, dtype=np.int64)
    for number, periods in enumerate(stations):
        length = _length_at(periods, edges)
        longer = (length >= best) & (length > 0.0)
        best[longer] = length[longer]
        who[longer] = number
    return _merge(edges, who)


def _length_at(periods: Periods, edges: FloatArray) -> FloatArray:
    """Return the whole length of the period that covers each stretch between edges, 0 where none does. [s]

    Every start and end is one of the edges, so that no time need be looked up.
    """
    count = np.zeros(edges.size, dtype=np.int64)
    begun = np.zeros(edges.size, dtype=np.int64)
    first, last = np.searchsorted(edges, periods.start), np.searchsorted(edges, periods.end)
    count[first] += 1
    begun[first] = 1
    count[last] -= 1
    inside = np.cumsum(count)[:-1] > 0
    lengths = np.append(periods.end - periods.start, 0.0)
    return np.where(inside, lengths[np.cumsum(begun)[:-1] - 1], 0.0)


def _merge(edges: FloatArray, who: IntArray) -> tuple[FloatArray, FloatArray, IntArray]:
    """Join neighbouring stretches of one station and leave out those of nobody."""
    first = np.flatnonzero(np.concatenate(([True], who[1:] != who[:-1])))
    last = np.append(first[1:], who.size)
    kept = who[first] >= 0
    return edges[first[kept]], edges[last[kept]], who[first[kept]]


def state_code(state: str, reason: str, slowed: bool) -> int:
    """Return whether a state is held by others, active or closed."""
    if state == "closed":
        return CLOSED
    held = state in ("starved", "blocked") or slowed or (state == "waiting" and reason == "roll set")
    return HELD if held else ACTIVE


def momentary(states: Mapping[str, NDArray[Any]], order: Sequence[str] | None = None) -> Timeline:
    """Return who limits when, from the table `states` of a trace.

    `order` is the order of flow; left out, stations come as they first stand in the table.
    """
    names = list(dict.fromkeys(states["station"].tolist()))
    names.sort(key=lambda name: order.index(name) if order is not None and name in order else len(names))
    stations = [_station_periods(states, name) for name in names]
    start, end, who = momentary_bottleneck(stations)
    return Timeline(start, end, np.asarray(names, dtype=object)[who])


def _station_periods(states: Mapping[str, NDArray[Any]], name: str) -> Periods:
    """Return when all machines of one station of a trace are active."""
    rows = states["station"] == name
    machine, start, end = states["machine"][rows], states["start_s"][rows], states["end_s"][rows]
    columns = (states[column][rows].tolist() for column in ("state", "reason", "slowed"))
    code = np.array([state_code(*row) for row in zip(*columns, strict=True)], dtype=np.int64)
    periods = []
    for one in np.unique(machine):
        own = np.flatnonzero(machine == one)
        own = own[np.argsort(start[own], kind="stable")]
        periods.append(active_periods(start[own], code[own], float(end[own].max())))
    return all_active(periods)


def limit_shares(timeline: Timeline, duration_s: float) -> dict[str, float]:
    """Return for which share of the time each station limits; those that never do are left out."""
    length = timeline.end_s - timeline.start_s
    names = dict.fromkeys(timeline.station.tolist())
    return {name: float(length[timeline.station == name].sum()) / duration_s for name in names}
