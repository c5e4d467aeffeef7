"""Lines so simple that laws hold for them path by path: stations in a row, written down so that one thing can change.

Every station is one machine that is always open; it may stop after so much work, so many tonnes or so many coils; it
scraps nothing and shares nothing.
"""

from dataclasses import dataclass, replace
from typing import Any

from hypothesis import strategies as st
from line.lines import LAWS, law, means
from line.texts import COIL, COILS, scenario

Drawn = tuple[str, float]
"""Kind and mean of a law."""
ENDLESS = 10**9


@dataclass(frozen=True)
class Stop:
    """A cause: what it counts (running time in h, t or pieces), how much of it, and the repair in minutes."""

    counts: str
    every: Drawn
    repair: Drawn

    def text(self) -> dict[str, Any]:
        """Return it as it is written."""
        unit = {"running": "h", "t": "t", "pieces": "pieces"}[self.counts]
        return {"reason": "stop", "every": law(*self.every, unit), "repair": law(*self.repair, "min")}

    def shorter(self, by: float) -> "Stop":
        """Return it with repairs that take this share of the time."""
        return replace(self, repair=(self.repair[0], self.repair[1] * by))


@dataclass(frozen=True)
class Row:
    """Steps with times in minutes, room between them (`ENDLESS` for no bound), rest in hours before each of them."""

    times: tuple[Drawn, ...]
    stops: tuple[Stop | None, ...]
    places: tuple[int, ...]
    rests: tuple[float, ...]
    gap: Drawn | None

    def text(self, hours: float = 400.0) -> str:
        """Return the scenario."""
        first: dict[str, Any] = {"capacity": 1} if self.gap is None else {}
        stores: dict[str, Any] = {"done": COILS}
        for i, rest in enumerate(self.rests):
            bound = first if i == 0 else {} if self.places[i - 1] == ENDLESS else {"capacity": self.places[i - 1]}
            stores[f"gap {i}"] = COILS | bound | ({"rest": f"{rest!r} h"} if rest else {})
        supply: dict[str, Any] = {"kind": "supply", "to": "gap 0", "coil": COIL}
        if self.gap is not None:
            supply["every"] = law(*self.gap, "min")
        stations: dict[str, Any] = {"supply": supply}
        for i, (time, stop) in enumerate(zip(self.times, self.stops, strict=True)):
            ends = {"from": f"gap {i}", "to": f"gap {i + 1}" if i + 1 < len(self.times) else "done"}
            failing = {"failures": [stop.text()]} if stop else {}
            stations[f"work {i}"] = {"kind": "step", **ends, "time": law(*time, "min"), **failing}
        return scenario("A row", stores, stations, length=f"{hours!r} h")

    def roomier(self, by: int) -> "Row":
        """Return it with so many more places in every gap."""
        return replace(self, places=tuple(min(ENDLESS, room + by) for room in self.places))

    def quicker_repairs(self, by: float) -> "Row":
        """Return it with repairs that take this share of the time."""
        return replace(self, stops=tuple(stop and stop.shorter(by) for stop in self.stops))

    def quicker_work(self, by: float) -> "Row":
        """Return it with work that takes this share of the time."""
        return replace(self, times=tuple((kind, mean * by) for kind, mean in self.times))

    def slowed_down(self, by: float) -> "Row":
        """Return it with every time so many times as long, as if the clock ran slower."""
        longer = tuple(
            stop and replace(stop.shorter(by), every=_times(stop.every, by if stop.counts == "running" else 1.0))
            for stop in self.stops
        )
        rests = tuple(rest * by for rest in self.rests)
        return replace(self.quicker_work(by), stops=longer, rests=rests, gap=self.gap and _times(self.gap, by))

    def mirrored(self) -> "Row":
        """Return it the other way round."""
        return replace(self, times=self.times[::-1], stops=self.stops[::-1], places=self.places[::-1])


def _times(drawn: Drawn, by: float) -> Drawn:
    return drawn[0], drawn[1] * by


@dataclass(frozen=True)
class Stream:
    """Stations that metal runs through: tonnes an hour, stops by tonnes, loopers in tonnes between them."""

    rates: tuple[float, ...]
    stops: tuple[Stop, ...]
    sizes: tuple[float, ...]

    def text(self, hours: float = 400.0) -> str:
        """Return the scenario."""
        stores: dict[str, Any] = {"done": {"holds": "strip"}}
        stations: dict[str, Any] = {}
        for i, size in enumerate(self.sizes):
            stores[f"looper {i}"] = {"holds": "strip", "capacity": f"{size!r} t"}
        for i, (rate, stop) in enumerate(zip(self.rates, self.stops, strict=True)):
            ends = {"from": f"looper {i - 1}"} if i else {}
            ends["to"] = f"looper {i}" if i < len(self.sizes) else "done"
            stations[f"work {i}"] = {"kind": "step", **ends, "rate": f"{rate!r} t/h", "failures": [stop.text()]}
        return scenario("A stream", stores, stations, length=f"{hours!r} h")

    def roomier(self, by: float) -> "Stream":
        """Return it with so many more tonnes in every looper."""
        return replace(self, sizes=tuple(size + by for size in self.sizes))

    def quicker_repairs(self, by: float) -> "Stream":
        """Return it with repairs that take this share of the time."""
        return replace(self, stops=tuple(stop.shorter(by) for stop in self.stops))

    def faster(self, station: int, by: float) -> "Stream":
        """Return it with one station so many times as fast."""
        return replace(self, rates=tuple(r * by if i == station else r for i, r in enumerate(self.rates)))


def drawn(low: float, high: float) -> st.SearchStrategy[Drawn]:
    """Make a law with a mean between two numbers."""
    return st.tuples(st.sampled_from(LAWS), means(low, high))


def stops(*counts: str) -> st.SearchStrategy[Stop]:
    """Make a cause that counts in one of these ways."""

    def of(way: str) -> st.SearchStrategy[Stop]:
        low, high = {"running": (2.0, 20.0), "t": (5.0, 60.0), "pieces": (5.0, 60.0)}[way]
        return st.builds(Stop, st.just(way), drawn(low, high), drawn(5.0, 200.0))

    return st.sampled_from(counts).flatmap(of)


@st.composite
def rows(draw: st.DrawFn, *counts: str, least: int = 1) -> Row:
    """Make a row of up to five steps whose stops count in these ways."""
    count = draw(st.integers(least, 5))
    rests = tuple(draw(st.sampled_from([0.0, 0.0, 2.5])) for _ in range(count))
    places = tuple(
        draw(st.sampled_from([1, 4, ENDLESS] if rests[i + 1] else [0, 0, 1, 2, 5, ENDLESS])) for i in range(count - 1)
    )
    return Row(
        times=tuple(draw(drawn(5.0, 60.0)) for _ in range(count)),
        stops=tuple(draw(st.one_of(st.none(), stops(*counts))) for _ in range(count)),
        places=places,
        rests=rests,
        gap=draw(st.one_of(st.none(), drawn(10.0, 60.0))),
    )


@st.composite
def streams(draw: st.DrawFn) -> Stream:
    """Make a stream of two to five stations whose stops count tonnes.

    No two stations stop after the very same tonnes, as laws whose numbers repeat would have it: which came first would
    be a matter of rounding.
    """
    count = draw(st.integers(2, 5))
    smooth = stops("t").filter(lambda stop: stop.every[0] not in ("constant", "empirical", "mixture"))
    return Stream(
        rates=tuple(draw(means(0.5, 3.0)) for _ in range(count)),
        stops=tuple(draw(smooth) for _ in range(count)),
        sizes=tuple(draw(st.sampled_from([0.0, 0.5, 2.0, 10.0, 40.0])) for _ in range(count - 1)),
    )
