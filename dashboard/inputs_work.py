"""The study behind Inputs, in a process of its own: every number with its source, the log examined, what it tells.

A log is read with a bound on memory, so a file made to harm ends this process and nothing else.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from dashboard import answers
from dashboard.describe import plain_line
from dashboard.inputs import flat
from dashboard.inputs_files import INVENTED, KEPT, LOGS, forget, kept_log
from dashboard.inputs_fits import fits_of
from dashboard.inputs_numbers import known
from dashboard.worker import Desk
from dashboard.yesterday_log import invent
from twin.logs import Log, LogError, load_mapping, mapping_of, read_log
from twin.logs import Mapping as Words
from twin.logs.doctor import Case, Examined, Finding, examine
from twin.logs.doctor.inferred import known as how_known
from twin.logs.limits import plain_name
from twin.logs.mapping import NAME as MAPPING
from twin.scenario import Scenario, apply_options, load
from twin.study.fit import FitStopped, fit
from twin.study.fitwrite import accept
from twin.version import VERSION

MEMORY = 4_000_000_000
"""The address space of the process that reads a log. [bytes]"""
LINES = 12
"""The most lines of a finding that the page names."""
FULL_LINES = 1000
DRAWN = 400
"""The most spans of one kind that are drawn at a station."""
Plain = dict[str, Any]


def inputs(
    desk: Desk,
    *,
    file: str,
    plant: str,
    options: Sequence[str],
    runs: int,
    seed: int,
    kept: str,
    key: str,
    mark: str,
    log: str = "",
    place: str = "",
    stamp: str = "",
) -> Mapping[str, Any]:
    """Write down what is known of a line's numbers, and of the log that was brought in; return that it is done."""
    began, folder = time.monotonic(), Path(kept)
    scenario = load(file)
    answer: Plain = {
        "key": key,
        "plant": plant,
        "name": scenario.name,
        "digest": (apply_options(scenario, list(options)) if options else scenario).digest,
        "options": list(options),
        "seed": seed,
        "done": 1,
        "wanted": 1,
        "whole": True,
        "half": None,
        "version": VERSION,
        "inputs": flat(scenario),
        "numbers": [asdict(one) for one in known(scenario)],
        "line": plain_line(scenario),
        "log": None,
        "fits": None,
    }
    answers.write(folder, key, {}, "week.json")
    if log:
        bound_memory()
        desk.tell({"done": 0, "wanted": 1, "half": None, "of": "logs read"})
        if log == INVENTED:
            invent(scenario, Path(place))
        examined, answer["log"] = told_of(folder, log, Path(place), scenario)
        if examined is not None and not examined.refused:
            answers.write(folder, key, answer | {"made": time.time(), "whole": False, "done": 0})
            answer["fits"] = fitted(desk, scenario, examined)
            answer |= {"whole": answer["fits"] is not None}
    answers.write(folder, key, answer | {"made": time.time(), "took_s": time.monotonic() - began})
    answers.remember(folder, mark, key)
    answers.tidy(folder)
    return {"done": 1, "wanted": 1}


def bound_memory() -> None:
    """Bound this process's memory, where the system can."""
    if sys.platform != "win32":
        import resource

        _, hard = resource.getrlimit(resource.RLIMIT_AS)
        most = MEMORY if hard == resource.RLIM_INFINITY else min(MEMORY, hard)
        resource.setrlimit(resource.RLIMIT_AS, (most, hard))


def opened(kept: Path, name: str, place: Path, zone: str) -> tuple[Log, Words]:
    """Return a log and the plant's words for it.

    Raises
    ------
    LogError : In words, with file and line.
    """
    own = kept_log(kept, name) if KEPT.fullmatch(name) and place.is_relative_to(kept / LOGS) else None
    folder = place if place.is_dir() else place.parent
    if own is not None:
        words = mapping_of(own.raw_mapping or {}, MAPPING)
    else:
        words = load_mapping(plain_name(folder, MAPPING)) if (folder / MAPPING).is_file() else Words()
    return read_log(place, zone=zone, mapping=words), words


def told_of(kept: Path, name: str, place: Path, scenario: Scenario) -> tuple[Examined | None, Plain]:
    """Return a log, examined, and what it tells as plain data; one that cannot be read is told with every reason.

    One that was brought in and cannot be read is not kept.
    """
    try:
        log, words = opened(kept, name, place, scenario.time.zone)
        examined = examine(log, scenario, words)
    except (LogError, MemoryError) as error:
        if KEPT.fullmatch(name) and place.is_relative_to(kept / LOGS):
            forget(kept, name)
        return None, {"name": name, "read": False, "faults": faults_of(error)}
    return examined, {"name": name, "read": True, "faults": [], **plain(examined, log, words, scenario)}


def fitted(desk: Desk, scenario: Scenario, examined: Examined) -> Plain | None:
    """Return what an examined log tells of the line's numbers; nothing where somebody stopped it."""

    def tell(done: int, wanted: int) -> None:
        desk.tell({"done": done, "wanted": wanted, "half": None, "of": "numbers fitted"})

    try:
        return fits_of(scenario, examined, desk.stopped, tell)
    except FitStopped:
        return None


def accepted(
    desk: Desk, *, file: str, target: str, log: str, place: str, kept: str, paths: Sequence[str]
) -> Mapping[str, Any]:
    """Write a new scenario with the numbers that a log tells, each with its source behind it; return its name.

    Raises
    ------
    ScenarioError, LogError : What stands against it; nothing is written then.
    """
    bound_memory()
    scenario = load(file)
    if log == INVENTED:
        invent(scenario, Path(place))
    record, words = opened(Path(kept), log, Path(place), scenario.time.zone)
    found = fit(scenario, examine(record, scenario, words), stop=desk.stopped, twin=False)
    accept(found, file, target, causes=paths)
    return {"name": Path(target).name, "plant": Path(target).stem, "count": len(paths)}


def faults_of(error: LogError | MemoryError) -> list[Plain]:
    """Return each reason of a refusal; what would not fit into the memory is one."""
    if isinstance(error, MemoryError):
        words = "the log unpacks to more than the memory that is set aside for it"
        return [{"file": "the log", "line": 0, "message": words, "way_out": "Cut it into shorter spans of time"}]
    return [asdict(one) | {"file": Path(one.file).name} for one in error.faults]


def plain(examined: Examined, log: Log, words: Words, scenario: Scenario) -> Plain:
    """Return an examined log as the page needs it."""
    begin, end = log.span
    case = Case(examined.log, scenario, words, examined.findings)
    told = {
        one.station: asdict(one) | {"inferred": one.inferred, "unrecorded": one.unrecorded} for one in how_known(case)
    }
    stations, when = [told[name] for name in in_flow(scenario, told)], recorded(examined.log)
    return {
        "zone": log.zone,
        "span": [begin, end],
        "trusted": not examined.refused,
        "tables": {name: {"rows": len(own), "file": Path(own.file).name} for name, own in log.tables.items()},
        "findings": [finding(one) for one in examined.findings],
        "stations": stations,
        "marks": marks(examined),
        "recorded": {name: when[name] for name in in_flow(scenario, when)},
    }


def finding(one: Finding) -> Plain:
    """Return a finding as plain data."""
    told = {name: getattr(one, name) for name in ("kind", "table", "station", "count", "done", "words", "way_out")}
    return told | {"effect_t": one.effect_t, "file": Path(one.file).name, "lines": list(one.lines[:FULL_LINES])}


def marks(examined: Examined) -> list[Plain]:
    """Return what can be drawn along time: gaps, overlaps, ends that were inferred."""
    kinds = {"gap": "gap", "overlap": "overlap"}
    found = []
    for one in examined.findings:
        for start, end in one.spans[:DRAWN]:
            kind = kinds.get(one.kind, "inferred")
            found.append({"station": one.station, "kind": kind, "what": one.kind, "start_s": start, "end_s": end})
    return found


def recorded(log: Log) -> dict[str, list[float]]:
    """Return when the records of each station begin and end [s since 1970 UTC]."""
    found: dict[str, list[float]] = {}
    for name, first, last in (("stops", "start", "end"), ("output", "time", "time"), ("coils", "start", "end")):
        table = log[name]
        for station in set(table["station"].tolist()) - {""}:
            own = table["station"] == station
            times = np.concatenate([table[first][own], table[last][own]])
            times = times[np.isfinite(times)]
            if len(times):
                before = found.get(station, [np.inf, -np.inf])
                found[station] = [min(before[0], float(times.min())), max(before[1], float(times.max()))]
    return found


def in_flow(scenario: Scenario, names: Iterable[str]) -> list[str]:
    """Return names of stations in the order of the line; those that it does not know come last."""
    order = {name: place for place, name in enumerate(scenario.stations)}
    return sorted(names, key=lambda name: (order.get(name, len(order)), name))
