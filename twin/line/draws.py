"""The streams of a line: which law each follows, filled in blocks before they run low."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Container, Sequence
from dataclasses import dataclass, replace

import numpy as np

from twin.line.model import Scripts
from twin.line.rules import state as st
from twin.line.streams import Span, drawn, scale
from twin.scenario.laws import Constant, Law

SMALLEST_BLOCK = 96
FIRST_BLOCK = 192
LARGEST_BLOCK = 6144
RESERVE = 64  # as in the rules: a stream with fewer numbers left asks for more
KEPT_NUMBERS = 1_000_000  # some 32 MB
AHEAD = 4  # runs whose numbers are drawn at once; the arrays of more of them leave the processor's cache


@dataclass(frozen=True, slots=True)
class Wanted:
    """Numbers `start` to `end` of a stream, both even: seed, run, name and law are all that they depend on."""

    seed: int
    run: int
    name: str
    law: Law
    start: int
    end: int

    @property
    def key(self) -> Key:
        """Return what tells the stream from all others."""
        return self.seed, self.run, self.name, self.law


Key = tuple[int, int, str, Law]


class Kept:
    """The numbers of streams from their first one on, kept for the next line of the same days.

    Lines of one study differ in little, so most of their streams are the same. What has not been asked for longest is
    forgotten once there are too many.
    """

    def __init__(self, most: int = KEPT_NUMBERS) -> None:
        self.most = most
        self._numbers = 0
        self._streams: OrderedDict[Key, list[float]] = OrderedDict()
        self._lock = threading.Lock()

    def take(self, wanted: Sequence[Wanted], soon: Callable[[], Sequence[Wanted]] = tuple) -> list[list[float]]:
        """Return numbers of streams. If any must be drawn, so are those that are wanted `soon`, all at once."""
        with self._lock:
            streams = [self._stream(own.key) for own in wanted]
            missing = self._missing(wanted)
            if missing:
                self._draw(missing + self._missing(soon()))
            taken = [stream[own.start : own.end] for own, stream in zip(wanted, streams, strict=True)]
            while self._numbers > self.most and len(self._streams) > len(wanted):
                self._numbers -= len(self._streams.popitem(last=False)[1])
        return taken

    def forget(self) -> None:
        """Forget all."""
        with self._lock:
            self._streams.clear()
            self._numbers = 0

    def _stream(self, key: Key) -> list[float]:
        """Return what is kept of a stream, which is now the last to be forgotten."""
        stream = self._streams.setdefault(key, [])
        self._streams.move_to_end(key)
        return stream

    def _missing(self, wanted: Sequence[Wanted]) -> list[Wanted]:
        """Return what is not kept of what is wanted."""
        have = [len(self._streams.get(own.key, ())) for own in wanted]
        return [replace(own, start=known) for own, known in zip(wanted, have, strict=True) if known < own.end]

    def _draw(self, missing: Sequence[Wanted]) -> None:
        """Append the numbers that are missing to their streams; those of one law are scaled together."""
        unit = drawn([Span(own.seed, own.run, own.name, own.start, own.end) for own in missing])
        by_law: dict[Law, list[int]] = {}
        for place, own in enumerate(missing):
            by_law.setdefault(own.law, []).append(place)
        for law, places in by_law.items():
            numbers = scale(law, np.concatenate([unit[place] for place in places])).tolist()
            done = 0
            for own in (missing[place] for place in places):
                count = own.end - own.start
                self._stream(own.key).extend(numbers[done : done + count])
                done += count
            self._numbers += done


KEPT = Kept()


class Draws:
    """The streams of a line: which law each follows, and the numbers of the run that the line makes.

    `later` are the streams of which records may be put in when the line is ready. `used` says how many numbers each
    stream used in earlier runs; it is a matter of speed alone.
    """

    def __init__(self, line: st.Line, scripts: Scripts, later: Container[str], used: dict[str, int]) -> None:
        self.line = line
        self.scripts = scripts
        self.later = later
        self.used = used
        self.seed = 0
        self.run = 0
        self.asked: set[str] = set()
        self.names: list[str] = []
        self.laws: list[Law] = []
        self.recorded: list[list[float]] = []

    def add(self, make: type[st.Stream], name: str, law: Law, recorded: Sequence[float] | None = None) -> st.Stream:
        """Return a stream of the law, behind the numbers that were recorded; a constant needs no numbers."""
        self.asked.add(name)
        recorded = self.scripts.draws.get(name, recorded)
        always = law.value if isinstance(law, Constant) and recorded is None else None
        if always is not None and name not in self.later:
            return make(-1, always)
        stream = make(len(self.names), always or 0.0)
        stream.constant = always is not None
        self.names.append(name)
        self.laws.append(law)
        self.recorded.append([float(value) for value in recorded or ()])
        self.line.streams.append(stream)
        return stream

    def begin(self, seed: int, run: int, then: Sequence[int] = ()) -> None:
        """Give every stream its first numbers in a run: as many as it used in earlier ones.

        The runs that come `then` will want theirs soon.
        """
        self.seed, self.run = seed, run
        ends = [block_for(self.used.get(name)) for name in self.names]
        soon = tuple(then[: AHEAD - 1])
        rows = KEPT.take(self._first(run, ends), lambda: [own for later in soon for own in self._first(later, ends)])
        for stream, recorded, row, end in zip(self.line.streams, self.recorded, rows, ends, strict=True):
            stream.values = recorded + row if recorded else row
            stream.at = 0
            stream.drawn = end

    def put_in(self, name: str, recorded: Sequence[float]) -> None:
        """Put recorded numbers before those of a stream that has not been drawn from yet."""
        stream = self.line.streams[self.names.index(name)]
        stream.values = [*recorded, *stream.values]
        stream.constant = False

    def _first(self, run: int, ends: Sequence[int]) -> list[Wanted]:
        return [
            Wanted(self.seed, run, name, law, 0, end)
            for name, law, end in zip(self.names, self.laws, ends, strict=True)
        ]

    def refill(self) -> None:
        """Double the numbers of the streams that ran low, and drop what has been used."""
        places = list(dict.fromkeys(self.line.low))
        low = [self.line.streams[place] for place in places]
        ends = [stream.drawn + max(FIRST_BLOCK, min(stream.drawn, LARGEST_BLOCK)) for stream in low]
        wanted = [
            Wanted(self.seed, self.run, self.names[place], self.laws[place], stream.drawn, end)
            for place, stream, end in zip(places, low, ends, strict=True)
        ]
        for stream, row, end in zip(low, KEPT.take(wanted), ends, strict=True):
            stream.values = stream.values[stream.at :] + row
            stream.at = 0
            stream.drawn = end
        self.line.low.clear()

    def remember(self) -> None:
        """Note how many numbers each stream used, for the next run of the same line."""
        for name, stream in zip(self.names, self.line.streams, strict=True):
            used = stream.drawn - len(stream.values) + stream.at
            if used > self.used.get(name, -1):
                self.used[name] = used


def block_for(used: int | None) -> int:
    """Return the size of a first block that is enough for so many numbers: even, each size a quarter above the last."""
    if used is None:
        return FIRST_BLOCK
    size = SMALLEST_BLOCK
    while size < used + RESERVE and size < LARGEST_BLOCK:
        size = 2 * (5 * size // 8)
    return min(size, LARGEST_BLOCK)
