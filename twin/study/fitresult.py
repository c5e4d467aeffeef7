"""What a plant's log says of the numbers of its line: laws with their doubt, what they rest on, what looks odd."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from twin.logs.doctor import Finding
from twin.scenario.laws import Law
from twin.study.spread import Spread

FloatArray = NDArray[np.float64]
What = Literal["every", "repair", "setup", "change", "life"]
"""Between two failures, to mend one, to set up or change tools, to change rolls, how long rolls last."""


SAME = 1e-3
"""What is off by less than this share is the same number."""


class Estimate(NamedTuple):
    """A number with the two ends of its 95 % interval."""

    mean: float
    low: float
    high: float

    def plain(self) -> dict[str, float | None]:
        """Return it as results have it; an end that the log does not bound is null."""
        low, high = (float(end) if np.isfinite(end) else None for end in (self.low, self.high))
        return {"mean": float(self.mean), "low": low, "high": high}


@dataclass(frozen=True)
class Sample:
    """What the log tells of one number.

    Attributes
    ----------
    values : What was seen to its end, in the order of time. [SI]
    cut_short : What had not ended: still going, or ended by something else. [SI]
    at : When each of `values` ended. [s since 1970 UTC]
    exposure : All that passed, the time or length before the first event too. [SI]
    inferred : How many of the values rest on rows that the doctor mended.
    step : To what the log's times were rounded; 0 where they were not. [s]
    """

    values: FloatArray
    cut_short: FloatArray
    at: FloatArray
    exposure: float
    inferred: int = 0
    step: float = 0.0

    @property
    def inferred_share(self) -> float:
        """Return the share of the values that rest on mended rows."""
        return min(1.0, self.inferred / len(self.values)) if len(self.values) else 0.0


@dataclass(frozen=True)
class Source:
    """Where a number comes from: `measured` in a log, `assumed`, or `from memory`."""

    how: Literal["measured", "assumed", "from memory"]
    n: int = 0
    first: str = ""
    last: str = ""
    words: str = ""

    def plain(self) -> dict[str, Any]:
        """Return it as a file keeps it."""
        return {"how": self.how, "n": self.n, "first": self.first, "last": self.last, "words": self.words}


@dataclass(frozen=True)
class Cause:
    """One number of the scenario, as the log has it.

    Attributes
    ----------
    path : Its place in the scenario, as `--set` takes it.
    n : Events that the log tells of. `exposure` : What passed between them, in `unit`s of SI (s, m, kg, pieces).
    assumed : What the scenario says so far. `law` : What the log says; the same where it says too little.
    parameters : Of the law, in SI, each with its 95 % interval.
    aic : Akaike's criterion of each law that was tried; the lowest tells the values best.
    fits : Chance that values of the law lie as far off it as these do; None where it was not tested.
    mean : Of the law. method : How it was found, in words. spread : What its doubt is drawn from.
    """

    station: str
    reason: str
    what: What
    path: str
    unit: str
    sample: Sample
    assumed: Law
    law: Law
    name: str
    parameters: Mapping[str, Estimate]
    aic: Mapping[str, float]
    fits: float | None
    mean: Estimate
    method: str
    spread: Spread
    source: Source

    @property
    def called(self) -> str:
        """Return what a reader calls it: the log has one word for the tools of a profiler and the width of a cutter."""
        return "width change" if self.path.endswith(".width_change.time") else self.reason

    @property
    def n(self) -> int:
        """Return the number of events."""
        return len(self.sample.values)

    @property
    def exposure(self) -> float:
        """Return what passed."""
        return self.sample.exposure

    @property
    def differs(self) -> bool:
        """Return whether what was assumed lies outside the interval of what was measured."""
        own, slack = self.assumed.average, SAME * abs(self.mean.mean)
        return not self.mean.low - slack <= own <= self.mean.high + slack

    def plain(self) -> dict[str, Any]:
        """Return it as results have it."""
        return {
            "station": self.station,
            "reason": self.reason,
            "what": self.what,
            "path": self.path,
            "unit": self.unit,
            "n": self.n,
            "exposure": self.exposure,
            "law": self.name,
            "parameters": {name: one.plain() for name, one in self.parameters.items()},
            "mean": self.mean.plain(),
            "assumed": self.assumed.average,
            "differs": self.differs,
            "aic": {name: float(value) for name, value in self.aic.items()},
            "fits": self.fits,
            "inferred": self.sample.inferred_share,
            "method": self.method,
            "source": self.source.plain(),
        }


@dataclass(frozen=True)
class Beside:
    """A measured figure beside what the twin makes of the scenario, where no single number of the file tells it."""

    station: str
    what: str
    measured: float
    twin: float
    low: float
    high: float
    unit: str

    @property
    def differs(self) -> bool:
        """Return whether the plant lies outside what the twin makes in as many days."""
        return not self.low <= self.measured <= self.high


@dataclass(frozen=True)
class Fitted:
    """What a log says of a line.

    Attributes
    ----------
    digest, zone : Of the scenario. span : First and last time of the log. [s since 1970 UTC]
    causes : Numbers of the scenario, station by station.
    beside : Rates and yields of the plant beside the twin's.
    notes : What looks odd, in sentences: trends, weekdays, shifts, things that do not depend on chance alone.
    findings : The doctor's.
    """

    digest: str
    zone: str
    span: tuple[float, float]
    causes: tuple[Cause, ...]
    beside: tuple[Beside, ...] = ()
    notes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    logs: Mapping[str, str] = field(default_factory=dict)

    @property
    def days(self) -> float:
        """Return how many days the log spans."""
        return (self.span[1] - self.span[0]) / 86_400.0

    def plain(self) -> dict[str, Any]:
        """Return it as `passline fit --json` writes it."""
        return {
            "passline": 1,
            "digest": self.digest,
            "days": self.days,
            "causes": [one.plain() for one in self.causes],
            "beside": [
                {
                    "station": one.station,
                    "what": one.what,
                    "measured": one.measured,
                    "twin": {"mean": one.twin, "low": one.low, "high": one.high},
                    "unit": one.unit,
                    "differs": one.differs,
                }
                for one in self.beside
            ],
            "notes": list(self.notes),
            "findings": [_finding(one) for one in self.findings],
        }


def _finding(one: Finding) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "station": one.station,
        "count": one.count,
        "done": one.done,
        "effect": one.effect_t,
        "words": one.words,
        "way_out": one.way_out,
        "file": one.file,
        "lines": list(one.lines),
    }
