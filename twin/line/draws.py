"""The streams of a line: which law each follows, filled in blocks before they run low."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Container, Iterable, Sequence
from typing import NamedTuple

import numpy as np

from twin.line.model import Scripts
from twin.line.normal import Floats
from twin.line.rules import state as st
from twin.line.streams import Source, Wanted, drawn, scale, source
from twin.scenario.laws import Constant, Law

SMALLEST_BLOCK = 32
FIRST_BLOCK = 96
LARGEST_BLOCK = 6144
RESERVE = 16  # as in the rules: a stream with fewer numbers left asks for more
KEPT_NUMBERS = 500_000  # 4 MB, and with all that is around short runs seven times as much
AHEAD = 4  # runs whose numbers are drawn at once; the arrays of more of them leave the processor's cache


Hand = Callable[[st.Stream, Iterable[float]], None]


class Span(NamedTuple):
    """Numbers `start` to `end` of a source, both even."""

    source: Source
    start: int
    end: int


class Kept:
    """The numbers of sources in each run, from their first one on, kept for the next line of the same days.

    Lines of one study differ in little, so most of their streams are the same. The runs that have not been asked for
    longest are forgotten once there are too many numbers; `numbers` are kept at the moment.
    """

    def __init__(self, most: int = KEPT_NUMBERS) -> None:
        self.most = most
        self.numbers = 0
        self._runs: OrderedDict[tuple[int, int], dict[Source, Floats]] = OrderedDict()
        self._lock = threading.Lock()

    def take(self, seed: int, run: int, spans: Sequence[Span], then: Sequence[int] = ()) -> list[Floats]:
        """Return numbers of a run. If any must be drawn, so are those of the runs that come `then`, all at once."""
        with self._lock:
            missing = self._missing(seed, run, spans)
            if missing:
                self._draw(seed, missing + [own for later in then for own in self._missing(seed, later, spans)])
            self._runs.move_to_end((seed, run))
            kept = self._runs[seed, run]
            taken = [kept[own.source][own.start : own.end] for own in spans]
            while self.numbers > self.most and len(self._runs) > 1:
                self.numbers -= sum(len(numbers) for numbers in self._runs.popitem(last=False)[1].values())
        return taken

    def forget(self) -> None:
        """Forget all."""
        with self._lock:
            self._runs.clear()
            self.numbers = 0

    def _missing(self, seed: int, run: int, spans: Sequence[Span]) -> list[Wanted]:
        """Return what is not kept of what is wanted of a run, of each source once."""
        kept = self._runs.setdefault((seed, run), {})
        ends: dict[Source, int] = {}
        for own in spans:
            ends[own.source] = max(own.end, ends.get(own.source, 0))
        have = {source: len(kept.get(source, ())) for source in ends}
        return [Wanted(run, source, have[source], end) for source, end in ends.items() if have[source] < end]

    def _draw(self, seed: int, missing: Sequence[Wanted]) -> None:
        """Append the numbers that are missing to those that are kept; those of one law are scaled together."""
        by_law: dict[int, list[Wanted]] = {}
        for own in missing:
            by_law.setdefault(id(own.source.law), []).append(own)
        unit = drawn(seed, [own for alike in by_law.values() for own in alike])
        self.numbers += len(unit)
        for alike in by_law.values():
            count = sum(own.end - own.start for own in alike)
            numbers = scale(alike[0].source.law, unit[:count])
            unit = unit[count:]
            done = 0
            for own in alike:
                begun, done = done, done + own.end - own.start
                kept = self._runs[seed, own.run]
                more = numbers[begun:done]
                kept[own.source] = np.concatenate((kept[own.source], more)) if own.start else more


KEPT = Kept()


class Draws:
    """The streams of a line: which law each follows, and the numbers of the run that the line makes.

    `later` are the streams of which records may be put in when the line is ready. `used` says how many numbers each
    stream used in earlier runs; it is a matter of speed alone.
    """

    def __init__(
        self, line: st.Line, scripts: Scripts, later: Container[str], used: dict[str, int], hand: Hand
    ) -> None:
        self.line = line
        self.scripts = scripts
        self.later = later
        self.used = used
        self.hand = hand
        self.seed = 0
        self.run = 0
        self.asked: set[str] = set()
        self.sources: list[Source] = []
        self.recorded: list[Floats] = []

    def add(self, make: type[st.Stream], name: str, law: Law, recorded: Sequence[float] | None = None) -> st.Stream:
        """Return a stream of the law, behind the numbers that were recorded; a constant needs no numbers."""
        self.asked.add(name)
        recorded = self.scripts.draws.get(name, recorded)
        always = law.value if isinstance(law, Constant) and recorded is None else None
        if always is not None and name not in self.later:
            return make(-1, always)
        stream = make(len(self.sources), always or 0.0)
        stream.constant = always is not None
        self.sources.append(source(name, law))
        self.recorded.append(np.array(recorded or (), dtype=np.float64))
        self.line.streams.append(stream)
        return stream

    def begin(self, seed: int, run: int, then: Sequence[int] = ()) -> None:
        """Give every stream its first numbers in a run: as many as it used in earlier ones.

        The runs that come `then` will want theirs soon.
        """
        self.seed, self.run = seed, run
        ends = [block_for(self.used.get(own.name)) for own in self.sources]
        spans = [Span(own, 0, end) for own, end in zip(self.sources, ends, strict=True)]
        rows = KEPT.take(seed, run, spans, then[: AHEAD - 1])
        for stream, recorded, row, end in zip(self.line.streams, self.recorded, rows, ends, strict=True):
            self.hand(stream, np.concatenate((recorded, row)) if recorded.size else row)
            stream.at = 0
            stream.drawn = end

    def put_in(self, name: str, recorded: Sequence[float]) -> None:
        """Put recorded numbers before those of a stream that has not been drawn from yet."""
        place = next(place for place, own in enumerate(self.sources) if own.name == name)
        stream = self.line.streams[place]
        self.hand(stream, np.concatenate((recorded, stream.values)))
        stream.constant = False

    def refill(self) -> None:
        """Double the numbers of the streams that ran low, and drop what has been used."""
        places = list(dict.fromkeys(self.line.low))
        low = [self.line.streams[place] for place in places]
        ends = [stream.drawn + max(FIRST_BLOCK, min(stream.drawn, LARGEST_BLOCK)) for stream in low]
        spans = [
            Span(self.sources[place], stream.drawn, end) for place, stream, end in zip(places, low, ends, strict=True)
        ]
        for stream, row, end in zip(low, KEPT.take(self.seed, self.run, spans), ends, strict=True):
            self.hand(stream, np.concatenate((np.array(stream.values)[stream.at :], row)))
            stream.at = 0
            stream.drawn = end
        self.line.low.clear()

    def remember(self) -> None:
        """Note how many numbers each stream used, for the next run of the same line."""
        for own, stream in zip(self.sources, self.line.streams, strict=True):
            used = stream.drawn - len(stream.values) + stream.at
            if used > self.used.get(own.name, -1):
                self.used[own.name] = used


def block_for(used: int | None) -> int:
    """Return the size of a first block that is enough for so many numbers: even, each size a quarter above the last."""
    if used is None:
        return FIRST_BLOCK
    size = SMALLEST_BLOCK
    while size < used + RESERVE and size < LARGEST_BLOCK:
        size = 2 * (5 * size // 8)
    return min(size, LARGEST_BLOCK)
