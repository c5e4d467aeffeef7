"""Lines that are put together once and set back for every run."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from twin.line.build import build, builder_of, make_ready
from twin.line.build_flow import take_apart
from twin.line.draws import Draws
from twin.line.engine import rules_of
from twin.line.model import NO_SCRIPTS, Model, Scripts
from twin.line.rules.state import Line


class Ready:
    """A line of a model that makes one run after the other; whatever one has changed, the next begins as if built anew.

    Between runs it holds no numbers, no coils, and nothing that was written down.
    """

    def __init__(self, model: Model, scripts: Scripts = NO_SCRIPTS, *, pure: bool) -> None:
        self._builder = builder_of(model, scripts, pure=pure)
        self._rules = rules_of("moment", pure=pure)
        self._built = self._rules.keep(self.line)

    @property
    def line(self) -> Line:
        """Return the line."""
        return self._builder.line

    @property
    def draws(self) -> Draws:
        """Return its streams."""
        return self._builder.draws

    def begin(self, seed: int, run: int, then: Sequence[int] = ()) -> None:
        """Set the line back and give it the numbers of a run; those of the runs that come `then` are drawn along."""
        self.clear()
        make_ready(self._builder, seed, run, then)

    def clear(self) -> None:
        """Set the line back to as it was built."""
        self._rules.set_back(self._built)


@contextmanager
def line_once(model: Model, seed: int, run: int, scripts: Scripts, *, pure: bool) -> Iterator[tuple[Line, Draws]]:
    """Lend a line that is ready to begin a run, and its streams; it serves this run alone."""
    line, draws = build(model, seed, run, scripts, pure=pure)
    yield line, draws
    take_apart(line)


@contextmanager
def line_for(
    model: Model, seed: int, run: int, *, pure: bool, then: Sequence[int] = ()
) -> Iterator[tuple[Line, Draws]]:
    """Lend a line that is ready to begin a run, and its streams; handed back, it serves the model's next run.

    Each borrower has a line of its own, so threads may simulate beside each other. A line whose run breaks off is not
    used again.
    """
    idle = model.idle.setdefault(pure, [])
    try:
        ready = idle.pop()
    except IndexError:
        ready = Ready(model, pure=pure)
    ready.begin(seed, run, then)
    yield ready.line, ready.draws
    ready.clear()
    idle.append(ready)
