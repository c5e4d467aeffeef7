"""What the builders of a line leave to its rules: columns of numbers are set by those who read them.

A packed column that is set from outside the compiled copy is never freed again.
"""

from collections.abc import Iterable

from twin.line.rules.state import Coil, Line, Store, Stream
from twin.line.rules.vectors import column_of, push


def hand(stream: Stream, numbers: Iterable[float]) -> None:
    """Give a stream the numbers that it has from now on."""
    stream.values = column_of(numbers)


def add_due(line: Line, at: float) -> None:
    """Put the time of one more clock beside those of the others."""
    line.due_at = push(line.due_at, at)


def start_with(line: Line, store: Store, coil: Coil) -> None:
    """Lay a coil in a store before the run begins."""
    store.count += 1.0
    if store.count > store.peak:
        store.peak = store.count
    store.lanes[coil.lane].coils.append(coil)
