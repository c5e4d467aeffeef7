"""How far a study of several steps is, told on the standard error in its own words."""

from __future__ import annotations

import sys
from time import monotonic

from twin.cli.telling import CLEAR, FILE_S, TERMINAL_S


class Ticker:
    """Tells a line now and then, written over the last one on a terminal."""

    def __init__(self) -> None:
        self._terminal = sys.stderr.isatty()
        self._every = TERMINAL_S if self._terminal else FILE_S
        self._last = monotonic() - (self._every if self._terminal else 0.0)
        self._shown = False

    def tell(self, line: str) -> None:
        """Show a line, if it is time."""
        if monotonic() - self._last < self._every:
            return
        self._last = monotonic()
        sys.stderr.write(f"{CLEAR}{line} (Ctrl-C stops and keeps them)" if self._terminal else f"{line}\n")
        sys.stderr.flush()
        self._shown = True

    def done(self) -> None:
        """Clear the line."""
        if self._terminal and self._shown:
            sys.stderr.write(CLEAR)
            sys.stderr.flush()
