"""The doctor of a log: each fault found, counted, mended or refused, with its effect in tonnes; nothing silently."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from twin.logs.doctor import clocks, habits, masses, order, repeats, spans, weighing
from twin.logs.doctor.findings import Case, Finding
from twin.logs.faults import LogError, LogFault
from twin.logs.mapping import Mapping
from twin.logs.tables import Log

if TYPE_CHECKING:
    from twin.scenario import Scenario

__all__ = ["Case", "Examined", "Finding", "examine"]

# What puts rows right comes before what looks at them: a repeat is no overlap, a wrong date no missing end.
STEPS = (
    weighing.reweighed,
    repeats.repeats,
    clocks.production_day,
    clocks.two_nights,
    clocks.differing,
    order.clock_order,
    masses.units,
    spans.planned,
    order.regular,
    spans.ends,
    spans.overlaps,
    spans.gaps,
    habits.rounding,
    habits.minor_stops,
    habits.free_text,
    masses.genealogy,
    masses.closure,
)


@dataclass(frozen=True)
class Examined:
    """A mended log and everything that was found in it; and the log as it was written, where that was kept."""

    log: Log
    findings: tuple[Finding, ...]
    written: Log | None = None

    @property
    def refused(self) -> tuple[Finding, ...]:
        """Return what makes the log unfit for use."""
        return tuple(one for one in self.findings if one.done == "refused")

    def trusted(self) -> Examined:
        """Return itself, if the log may be used.

        Raises
        ------
        LogError : Each reason why not, with file, line and way out.
        """
        if self.refused:
            raise LogError(*(_fault(one, self.log) for one in self.refused))
        return self


def examine(log: Log, scenario: Scenario | None = None, mapping: Mapping | None = None) -> Examined:
    """Return a log with its faults mended, and all findings, the largest effect first.

    Parameters
    ----------
    log : As it was read.
    scenario : The line; without it calendars, reasons and the metal's density are not known and not asked about.
    mapping : What the plant declared; its tares are taken off.
    """
    case = Case(log, scenario, mapping or Mapping())
    for step in STEPS:
        case = step(case)
    ranked = sorted(case.findings, key=lambda one: (one.done != "refused", -abs(one.effect_t or 0.0)))
    return Examined(case.log, tuple(ranked), log)


def _fault(one: Finding, log: Log) -> LogFault:
    file = one.file or log.place
    return LogFault(file, one.lines[0] if one.lines else 0, one.words, one.way_out)
