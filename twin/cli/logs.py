"""A plant's log as a command is given it: a folder or a workbook, with the mapping that stands beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from twin.cli.faults import UsersFault

if TYPE_CHECKING:
    from twin.logs import Log, Mapping
    from twin.scenario import Scenario


def log_at(place: Path, scenario: Scenario) -> tuple[Log, Mapping | None]:
    """Read the log at a place."""
    from twin.logs import load_mapping, read_log
    from twin.logs.mapping import NAME

    if not place.exists():
        raise UsersFault(f"{place}: there is no such log. Give a folder with stops.csv and output.csv, or a workbook")
    beside = (place if place.is_dir() else place.parent) / NAME
    mapping = load_mapping(beside) if beside.is_file() else None
    return read_log(place, zone=scenario.time.zone, mapping=mapping), mapping
