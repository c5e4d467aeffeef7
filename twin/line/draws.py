"""The streams of a line: which law each follows, filled in blocks before they run low."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence

from twin.line.model import Scripts
from twin.line.rules import state as st
from twin.line.streams import scale, uniforms
from twin.scenario.laws import Constant, Law

SMALLEST_BLOCK = 96
FIRST_BLOCK = 192
LARGEST_BLOCK = 6144
RESERVE = 64  # as in the rules: a stream with fewer numbers left asks for more
KEPT_NUMBERS = 1_000_000  # some 32 MB

Key = tuple[int, int, str, Law]
"""Seed, run, name of the stream, law: all that a number depends on."""


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

    def take(self, keys: Sequence[Key], start: int, end: int) -> list[list[float]]:
        """Return numbers `start` to `end` of each stream; both are even. What is not kept is drawn, all at once."""
        with self._lock:
            streams = [self._stream(key) for key in keys]
            missing: dict[int, list[int]] = {}
            for place, stream in enumerate(streams):
                if len(stream) < end:
                    missing.setdefault(len(stream), []).append(place)
            for have, places in missing.items():
                self._draw([keys[place] for place in places], [streams[place] for place in places], have, end - have)
            taken = [stream[start:end] for stream in streams]
            while self._numbers > self.most and len(self._streams) > len(keys):
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

    def _draw(self, keys: Sequence[Key], streams: Sequence[list[float]], start: int, count: int) -> None:
        """Append the next numbers to streams of one run that have equally many."""
        seed, run = keys[0][:2]
        unit = uniforms(seed, run, [key[2] for key in keys], start, count)
        for key, stream, row in zip(keys, streams, unit, strict=True):
            stream.extend(scale(key[3], row).tolist())
        self._numbers += count * len(keys)


KEPT = Kept()


class Draws:
    """The streams of a line: which law each follows, and the numbers handed out so far.

    `used` says how many numbers each stream used in earlier runs; it is a matter of speed alone.
    """

    def __init__(self, line: st.Line, seed: int, run: int, scripts: Scripts, used: dict[str, int]) -> None:
        self.line = line
        self.seed = seed
        self.run = run
        self.scripts = scripts
        self.used = used
        self.asked: set[str] = set()
        self.names: list[str] = []
        self.keys: list[Key] = []
        self.drawn: list[int] = []

    def add(self, make: type[st.Stream], name: str, law: Law, recorded: Sequence[float] | None = None) -> st.Stream:
        """Return a stream of the law, behind the numbers that were recorded; a constant needs no numbers."""
        self.asked.add(name)
        recorded = self.scripts.draws.get(name, recorded)
        if isinstance(law, Constant) and recorded is None:
            return make(-1, law.value)
        stream = make(len(self.keys), 0.0)
        stream.constant = False
        if recorded is not None:
            stream.values.extend(float(value) for value in recorded)
        self.names.append(name)
        self.keys.append((self.seed, self.run, name, law))
        self.drawn.append(0)
        self.line.streams.append(stream)
        return stream

    def fill(self, places: Sequence[int], count: int) -> None:
        """Append the next numbers to streams that have handed out equally many."""
        if not places:
            return
        start = self.drawn[places[0]]
        rows = KEPT.take([self.keys[place] for place in places], start, start + count)
        for place, row in zip(places, rows, strict=True):
            self.line.streams[place].values.extend(row)
            self.drawn[place] += count

    def fill_all(self) -> None:
        """Give every stream its first block: as many numbers as it used in earlier runs."""
        sizes: dict[int, list[int]] = {}
        for place, name in enumerate(self.names):
            sizes.setdefault(block_for(self.used.get(name)), []).append(place)
        for size, places in sizes.items():
            self.fill(places, size)

    def refill(self) -> None:
        """Double the numbers of the streams that ran low, and drop what has been used."""
        for place in dict.fromkeys(self.line.low):
            stream = self.line.streams[place]
            del stream.values[: stream.at]
            stream.at = 0
            self.fill([place], max(FIRST_BLOCK, min(self.drawn[place], LARGEST_BLOCK)))
        self.line.low.clear()

    def remember(self) -> None:
        """Note how many numbers each stream used, for the next run of the same line."""
        for place, name in enumerate(self.names):
            stream = self.line.streams[place]
            used = self.drawn[place] - len(stream.values) + stream.at
            if used > self.used.get(name, -1):
                self.used[name] = used


def block_for(used: int | None) -> int:
    """Return the size of a first block that is enough for so many numbers, as one of a few sizes."""
    if used is None:
        return FIRST_BLOCK
    size = SMALLEST_BLOCK
    while size < used + RESERVE and size < LARGEST_BLOCK:
        size *= 2
    return size
