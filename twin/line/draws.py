"""The streams of a line: which law each follows, filled in blocks before they run low."""

from __future__ import annotations

from collections.abc import Sequence

from twin.line.model import Scripts
from twin.line.rules import state as st
from twin.line.streams import scale, uniforms
from twin.scenario.laws import Constant, Law

FIRST_BLOCK = 160
LARGEST_BLOCK = 1024


class Draws:
    """The streams of a line: which law each follows, and the numbers handed out so far."""

    def __init__(self, line: st.Line, seed: int, run: int, scripts: Scripts) -> None:
        self.line = line
        self.seed = seed
        self.run = run
        self.scripts = scripts
        self.asked: set[str] = set()
        self.names: list[str] = []
        self.laws: list[Law] = []
        self.drawn: list[int] = []

    def add(self, make: type[st.Stream], name: str, law: Law, recorded: Sequence[float] | None = None) -> st.Stream:
        """Return a stream of the law, behind the numbers that were recorded; a constant needs no numbers."""
        self.asked.add(name)
        recorded = self.scripts.draws.get(name, recorded)
        if isinstance(law, Constant) and recorded is None:
            return make(-1, law.value)
        stream = make(len(self.names), 0.0)
        stream.constant = False
        if recorded is not None:
            stream.values.extend(float(value) for value in recorded)
        self.names.append(name)
        self.laws.append(law)
        self.drawn.append(0)
        self.line.streams.append(stream)
        return stream

    def fill(self, places: Sequence[int], count: int) -> None:
        """Append the next numbers to streams that have handed out equally many."""
        if not places:
            return
        start = self.drawn[places[0]]
        unit = uniforms(self.seed, self.run, [self.names[place] for place in places], start, count)
        for row, place in enumerate(places):
            self.line.streams[place].values.extend(scale(self.laws[place], unit[row]).tolist())
            self.drawn[place] += count

    def fill_all(self) -> None:
        """Give every stream its first block."""
        self.fill(range(len(self.names)), FIRST_BLOCK)

    def refill(self) -> None:
        """Double the numbers of the streams that ran low, and drop what has been used."""
        for place in dict.fromkeys(self.line.low):
            stream = self.line.streams[place]
            del stream.values[: stream.at]
            stream.at = 0
            self.fill([place], max(FIRST_BLOCK, min(self.drawn[place], LARGEST_BLOCK)))
        self.line.low.clear()
