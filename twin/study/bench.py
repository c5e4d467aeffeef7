"""How fast the twin is on this machine: what the project promises, measured, with counts that never vary.

A time alone says little on a machine that others use too, so the rows that matter are ratios between things measured
in the same run, and counts that do not depend on any machine. Nothing here is a test, and no test asserts a time.
"""

from __future__ import annotations

import json
import os
import platform
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from twin.version import VERSION

DEMO = Path(__file__).parents[2] / "scenarios" / "hollin_weir.yaml"


@dataclass(frozen=True, slots=True)
class Goal:
    """What a figure should reach, and what would be better still; None where no number was set."""

    reach: float | None = None
    beyond: float | None = None
    best: Literal["low", "high"] = "low"


@dataclass(frozen=True, slots=True)
class Row:
    """One measured figure.

    Attributes
    ----------
    value : The median of the measurements; None where it could not be measured here, and `note` says why.
    spread : The smallest and the largest measurement.
    """

    what: str
    value: float | None
    unit: str
    goal: Goal = Goal()
    spread: tuple[float, float] | None = None
    note: str = ""

    @property
    def met(self) -> bool | None:
        """Return whether the goal is reached; None where there is none or nothing was measured."""
        if self.value is None or self.goal.reach is None:
            return None
        return self.value <= self.goal.reach if self.goal.best == "low" else self.value >= self.goal.reach


Measurement = Callable[["Bench"], Iterator[Row]]


@dataclass(frozen=True, slots=True)
class Bench:
    """What all measurements need to know: the scenario, and how often to measure."""

    scenario: Path
    repeats: int
    quick: bool


def bench(
    json_path: Path | str | None = None, quick: bool = False, scenario: Path | str | None = None
) -> Iterator[Row]:
    """Measure one figure after the other and yield each as soon as it is known.

    Parameters
    ----------
    json_path : Where to write all rows in the end.
    quick : Measure less often and leave out what takes minutes: for a look, not for the record.
    scenario : The plant to run; the demo plant when left out.

    Raises
    ------
    FileNotFoundError : There is no such scenario; the demo plant lies in the source tree, not in the installed package.
    """
    plant = Path(scenario) if scenario is not None else DEMO
    if not plant.is_file():
        raise FileNotFoundError(f"{plant} is not there: run this in the source tree, or name a scenario file")
    setting = Bench(plant, repeats=3 if quick else 7, quick=quick)
    rows: list[Row] = []
    for measure in _measurements():
        for row in measure(setting):
            rows.append(row)
            yield row
    if json_path is not None:
        Path(json_path).write_text(json.dumps(report(rows), indent=1) + "\n", encoding="utf-8")


def report(rows: list[Row]) -> dict[str, object]:
    """Return the rows as JSON, with the machine they were measured on."""
    machine = {
        "system": f"{platform.system()} {platform.machine()}",
        "processor": _processor(),
        "cores": os.cpu_count(),
        "python": platform.python_version(),
    }
    return {
        "passline": 1,
        "version": VERSION,
        "machine": machine,
        "rows": [asdict(row) | {"met": row.met} for row in rows],
    }


def _processor() -> str:
    """Return what the processor calls itself, where the system tells."""
    listing = Path("/proc/cpuinfo")
    if listing.is_file():
        for line in listing.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or "unknown"


def _measurements() -> tuple[Measurement, ...]:
    """Return what is measured, in the order of the page of benchmarks."""
    from twin.study import bench_clocks, bench_programs, bench_review, bench_rivals, bench_studies

    return (
        bench_clocks.one_year,
        bench_clocks.balances,
        bench_rivals.against_pieces_and_coils,
        bench_rivals.against_tandems,
        bench_studies.what_if,
        bench_studies.same_bytes,
        bench_studies.planning,
        bench_review.twelve_causes,
        bench_programs.commands,
        bench_programs.memory,
    )
