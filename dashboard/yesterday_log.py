"""Where the log of a plant is: in the folder that was named, or, for the demo plant, one that the twin invents.

The invented log is a run of the demo plant as its people would have written it down, with a few events planted on the
last day and a few records spoilt, so that there is something to explain and something to doubt.
"""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from dashboard.ask import Ask, AskError
from dashboard.settings import Settings, plant_files
from twin.study.watchfolder import logs_in, plant_of
from twin.version import VERSION

if TYPE_CHECKING:
    from twin.logs import Log
    from twin.scenario import Scenario

DEMO = "hollin_weir"
ENDINGS = (".csv", ".parquet", ".xlsx", ".yaml")
LENGTH = "25 days"
"""Four weeks of which the last day is a Thursday."""
SEED = 7
HOUR_S, DAY_S = 3600.0, 86_400.0
STOPS = {("slitter", 1, "slitter stop"): ((4.8, 125.0), (15.1, 35.0))}
"""Planted on the last day: hours from its begin, and minutes."""
ABSENT = {("pipe line", 1): (2.0, 3.5)}
"""Nobody was there: hours from the begin of the last day."""


def brought(settings: Settings, ask: Ask) -> dict[str, Any]:
    """Return what the study of a day is told beside plant and runs: where the log is, which day, how the files stand.

    Raises
    ------
    AskError : There is no log of the plant.
    """
    place = place_of(settings, ask.plant)
    if place is None and ask.plant == DEMO:
        return {"log": str(settings.kept / "logs" / DEMO), "day": ask.day, "stamp": "", "invented": True}
    if place is None:
        raise AskError(no_log(settings, ask.plant))
    return {"log": str(place), "day": ask.day, "stamp": stamp(place), "invented": False}


def place_of(settings: Settings, plant: str) -> Path | None:
    """Return the folder or workbook with the log of a plant, the newest of several; None where there is none.

    Which log is whose is found as by the watcher of the folder: by its name, or because there is one plant only.
    """
    if settings.logs is None:
        return None
    files = plant_files(settings.plants)
    found = [own for own in logs_in(settings.logs) if plant_of(own.place, list(files.values())) == files.get(plant)]
    newest = max(found, key=lambda own: max(changed for _, _, changed in own.signature), default=None)
    return newest.place if newest else None


def no_log(settings: Settings, plant: str) -> str:
    """Return what is said of a plant without a log, with the way out."""
    if settings.logs is None:
        return (
            f"nothing has been recorded of {plant}: put its stops and its output into a folder, as docs/logs.md says, "
            f"and start with passline serve {plant}.yaml --logs FOLDER"
        )
    return (
        f"there is no log of {plant} in {settings.logs.name}: put stops.csv and output.csv, as docs/logs.md says, into "
        f"its folder {plant}, or a workbook {plant}.xlsx beside it"
    )


def stamp(place: Path) -> str:
    """Return a short name of how the files of a log stand, which changes when one of them does."""
    files = [place] if place.is_file() else sorted(one for one in place.iterdir() if one.suffix in ENDINGS)
    found = [(one.name, one.stat().st_mtime_ns, one.stat().st_size) for one in files]
    return hashlib.sha256(repr(found).encode()).hexdigest()[:16]


def invent(scenario: Scenario, folder: Path) -> None:
    """Write the invented log of the demo plant, unless it is there already for this plant and this version."""
    from twin.logs.save import save_log

    made, mark = f"{scenario.digest} {VERSION}", folder / "made.txt"
    if mark.is_file() and mark.read_text(encoding="utf-8") == made:
        return
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    save_log(invented(scenario), folder)
    (folder / "mapping.yaml").write_text(f"zone: {scenario.time.zone}\n", encoding="utf-8")
    mark.write_text(made, encoding="utf-8")


def invented(scenario: Scenario) -> Log:
    """Return the log of a run with the planted events, spoilt on the last day."""
    from twin.line import Scripts, simulate
    from twin.logs.write import log_of
    from twin.scenario import apply_set
    from twin.scenario.calendars import timestamp

    own = apply_set(scenario, "time.length", LENGTH)
    end = own.time.warm_up + own.time.length
    states = _states(simulate(own, seed=SEED, trace=True).trace)
    stops = {key: _with(states, key, planted, end - DAY_S) for key, planted in STOPS.items()}
    closed = {
        key: ((end - DAY_S + first * HOUR_S, end - DAY_S + last * HOUR_S),) for key, (first, last) in ABSENT.items()
    }
    trace = simulate(own, seed=SEED, trace=True, scripts=Scripts(stops=stops, closed=closed)).trace
    _states(trace)
    begin = timestamp(own.time, own.time.start)
    return spoilt(log_of(trace, own), begin + end - DAY_S)  # type: ignore[arg-type]  # a trace was asked for


def _states(trace: Any) -> Mapping[str, Any]:  # noqa: ANN401
    if trace is None:
        raise RuntimeError("the run was asked for a trace and gave none")
    found: Mapping[str, Any] = trace.tables["states"]
    return found


def _with(
    states: Mapping[str, Any], key: tuple[str, int, str], planted: tuple[tuple[float, float], ...], day: float
) -> tuple[tuple[float, float], ...]:
    """Return the stops of a cause as they were drawn before the last day, and the planted ones on it."""
    station, machine, reason = key
    own = (states["station"] == station) & (states["machine"] == machine) & (states["reason"] == reason)
    own &= (states["state"] == "down") & (states["start_s"] < day)
    drawn = zip(states["start_s"][own].tolist(), (states["end_s"] - states["start_s"])[own].tolist(), strict=True)
    return (*drawn, *((day + hours * HOUR_S, minutes * 60.0) for hours, minutes in planted))


def spoilt(log: Log, day: float) -> Log:
    """Return a log in which, on the last day, a stop has no end, one is not written down and a ring stands twice."""
    from twin.logs.tables import table_of

    stops, output = log["stops"], log["output"]
    today = (stops["start"] >= day) & (stops["reason"] == "slitter stop")
    kept = np.ones(len(stops.line), dtype=bool)
    kept[np.flatnonzero(today)[-1:]] = False
    end = stops["end"].copy()
    jams = np.flatnonzero((stops["start"] >= day) & (stops["reason"] == "jam"))
    end[jams[len(jams) // 2 : len(jams) // 2 + 1]] = np.nan
    columns = {name: (end if name == "end" else values)[kept] for name, values in stops.columns.items()}
    rows = np.flatnonzero((output["time"] >= day + 6.0 * HOUR_S) & (output["station"] == "slitter"))
    twice = np.sort(np.concatenate([np.arange(len(output.line)), rows[:1]]))
    again = {name: values[twice] for name, values in output.columns.items()}
    return log.put(table_of("stops", columns), table_of("output", again))
