"""How much of what a mended log says was never written down: station by station, in hours, tonnes and shares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twin.logs.doctor.findings import Case, Finding
from twin.logs.doctor.spans import ENDS
from twin.logs.tables import Array, Table

GUESSED = (*ENDS, "overlap")
"""Findings whose rows got another length than was written."""


@dataclass(frozen=True)
class Known:
    """What is known of one station over the whole log, all times in its working hours.

    Attributes
    ----------
    worked_s : Working time of the log. [s]
    stopped_s, guessed_s : In stops, and in stops whose length was inferred. [s]
    unrecorded_s : Working time without any record. [s]
    good_t, doubted_t : What it made, and for how much of it the record was mended or is in doubt. [t]
    stops : How many stops there are.
    """

    station: str
    worked_s: float
    stopped_s: float
    guessed_s: float
    unrecorded_s: float
    good_t: float
    doubted_t: float
    stops: int

    @property
    def inferred(self) -> float:
        """Return which share of the stopped time is inferred."""
        return self.guessed_s / self.stopped_s if self.stopped_s > 0.0 else 0.0

    @property
    def unrecorded(self) -> float:
        """Return which share of the working time has no record."""
        return min(1.0, self.unrecorded_s / self.worked_s) if self.worked_s > 0.0 else 0.0


def known(case: Case) -> tuple[Known, ...]:
    """Return what is known of each station of an examined log."""
    return tuple(_station(case, name) for name in case.log.stations)


def _station(case: Case, name: str) -> Known:
    stops, output = case.log["stops"], case.log["output"]
    own = stops.take(stops["station"] == name)
    lasted = np.nan_to_num(case.worked(name, own["start"], own["end"]))
    made = output["good_kg"][output["station"] == name]
    told = [one for one in case.findings if one.station == name]
    start, end = case.log.span
    return Known(
        name,
        float(case.worked(name, np.array(start), np.array(end))),
        float(lasted.sum()),
        float(lasted[_guessed(own, told)].sum()),
        sum(one.value or 0.0 for one in told if one.kind == "gap"),
        float(np.nansum(made)) / 1000.0,
        sum(abs(one.effect_t or 0.0) for one in told if one.kind not in GUESSED),
        len(own),
    )


def _guessed(stops: Table, told: Sequence[Finding]) -> Array:
    """Return which stops have an inferred length; where a clock was moved that alone does not make them so."""
    lines = [line for one in told if one.kind in GUESSED and one.table == "stops" for line in one.lines]
    return np.asarray(np.isin(stops.line, lines))
