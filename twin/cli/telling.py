"""How far a study is, told on the standard error while it runs."""

from __future__ import annotations

import sys
from time import monotonic
from typing import TYPE_CHECKING

from twin.words import number

if TYPE_CHECKING:
    from twin.study.replicate import Progress

TERMINAL_S = 0.1  # between two looks on a terminal, which are written over one another
FILE_S = 10.0  # the same where each look is a line of its own
CLEAR = "\r\x1b[K"


class Teller:
    """Tells how far a study is, not so often that it gets in the way."""

    def __init__(self) -> None:
        self._terminal = sys.stderr.isatty()
        self._last = monotonic() - (TERMINAL_S if self._terminal else 0.0)
        self._shown = False

    def tell(self, progress: Progress) -> None:
        """Show the answer so far, if it is time."""
        if monotonic() - self._last < (TERMINAL_S if self._terminal else FILE_S):
            return
        self._last = monotonic()
        line = said(progress)
        sys.stderr.write(f"{CLEAR}{line}" if self._terminal else f"{line}\n")
        sys.stderr.flush()
        self._shown = True

    def done(self) -> None:
        """Clear the line."""
        if self._terminal and self._shown:
            sys.stderr.write(CLEAR)
            sys.stderr.flush()


def said(progress: Progress) -> str:
    """Return one line: how many runs are made, and about how much the line makes."""
    about = number(progress.good.mean, progress.good.half, "t/week")
    return f"{progress.done} of {progress.wanted} runs, about {about} so far (Ctrl-C stops and keeps them)"
