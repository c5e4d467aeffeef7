"""Small scenarios as text, put together from their stations: queues, tandems, loops and streams."""

import json
from collections.abc import Mapping, Sequence

Value = str | float | Mapping[str, object]
Station = Mapping[str, object]

COIL = {"mass": "1 t", "width": "1000 mm", "thickness": "0.7 mm"}
COILS = {"holds": "coils"}


def exponential(mean: str) -> Value:
    return {"exponential": {"mean": mean}}


def stop(every: Value, repair: Value, **more: object) -> Station:
    """Return a cause of failure."""
    return {"reason": "stop", "every": every, "repair": repair, **more}


def scenario(
    name: str,
    stores: Mapping[str, object],
    stations: Mapping[str, object],
    *,
    length: str,
    warm_up: str = "0 h",
    **top: object,
) -> str:
    """Return the text of a scenario. It is written as JSON, which is YAML too."""
    time = {"warm_up": warm_up, "length": length}
    content = {"passline": 1, "name": name, "metal": "zinc", "time": time, "stores": stores, "stations": stations}
    start = "empty" if warm_up == "0 h" else "typical"
    return json.dumps(content | {"start": start} | top, indent=1)


def queue(work: Station, *, gap: Value, places: int | None = None, length: str, warm_up: str = "0 h") -> str:
    """Return one queue before one station; `places` coils may wait, more are turned away."""
    room = COILS if places is None else COILS | {"capacity": places}
    supply: dict[str, object] = {"kind": "supply", "to": "queue", "every": gap, "coil": COIL}
    if places is not None:
        supply["when_full"] = "turn away"
    stations = {"supply": supply, "work": {"kind": "step", "from": "queue", "to": "done", **work}}
    return scenario("One queue", {"queue": room, "done": COILS}, stations, length=length, warm_up=warm_up)


def in_a_row(
    works: Sequence[Station],
    places: Sequence[int | None],
    *,
    gap: Value | None = None,
    limit: int | None = None,
    length: str,
    warm_up: str = "0 h",
) -> str:
    """Return stations in a row with so many places between them (None for no bound).

    A coil is always ready before the first; with a `gap` they come at these intervals and wait without a bound, and
    with a `limit` as many are in the line as it allows.
    """
    first = COILS if gap is not None or limit is not None else COILS | {"capacity": 1}
    stores: dict[str, object] = {"gap 0": first, "done": COILS}
    for i, room in enumerate(places, start=1):
        stores[f"gap {i}"] = COILS if room is None else COILS | {"capacity": room}
    supply: dict[str, object] = {"kind": "supply", "to": "gap 0", "coil": COIL}
    supply |= {} if gap is None else {"every": gap}
    supply |= {} if limit is None else {"limit": limit}
    stations: dict[str, object] = {"supply": supply}
    for i, work in enumerate(works):
        ends = {"from": f"gap {i}", "to": f"gap {i + 1}" if i + 1 < len(works) else "done"}
        stations[f"work {i}"] = {"kind": "step", **ends, **work}
    return scenario("Stations in a row", stores, stations, length=length, warm_up=warm_up)


def stream(works: Sequence[Station], sizes: Sequence[str], *, length: str, warm_up: str = "0 h") -> str:
    """Return stations that the metal runs through as a stream, with loopers of these sizes between them."""
    stores: dict[str, object] = {"done": {"holds": "strip"}}
    for i, size in enumerate(sizes):
        stores[f"looper {i}"] = {"holds": "strip", "capacity": size}
    stations: dict[str, object] = {}
    for i, work in enumerate(works):
        ends: dict[str, object] = {} if i == 0 else {"from": f"looper {i - 1}"}
        ends["to"] = f"looper {i}" if i < len(sizes) else "done"
        stations[f"work {i}"] = {"kind": "step", **ends, **work}
    return scenario("A stream", stores, stations, length=length, warm_up=warm_up)
