"""The line: what stations do, the clocks that drive them, what a run counts and traces."""

from twin.line.model import Layout, Scripts
from twin.line.simulate import Run, simulate
from twin.line.totals import Totals

__all__ = ["Layout", "Run", "Scripts", "Totals", "simulate"]
