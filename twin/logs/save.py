"""Tables become files: CSV, Parquet or one workbook, in the plant's own way of writing if one is given."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import isnan
from pathlib import Path
from typing import Any, Literal
from zoneinfo import ZoneInfo

from twin.logs.schema import TABLES, Column
from twin.logs.tables import Log, Table

Form = Literal["csv", "parquet", "xlsx"]
RISKY = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes a cell of text that begins so for a formula."""


@dataclass(frozen=True)
class Writing:
    """How a plant writes: times with an offset unless `local`, in this form, decimals with this sign."""

    local: bool = False
    times: str = ""
    decimal: str = "."
    production_day_s: float = 0.0
    """Times before this one carry the date of the day before [s after midnight]; only with `local`."""


def save_log(log: Log, place: Path, *, form: Form = "csv", writing: Writing | None = None) -> list[Path]:
    """Write a log into a folder (made if it is missing), or as one workbook; return what was written."""
    how = writing or Writing()
    if form == "xlsx":
        place.parent.mkdir(parents=True, exist_ok=True)
        _workbook(log, place, how)
        return [place]
    place.mkdir(parents=True, exist_ok=True)
    written = []
    for table in log.tables.values():
        path = place / f"{table.name}.{form}"
        (_csv if form == "csv" else _parquet)(table, log.zone, path, how)
        written.append(path)
    return written


def rows_of(table: Table, zone: str, how: Writing) -> tuple[list[str], list[list[Any]]]:
    """Return the head and the cells of a table as text and numbers; columns without anything are left out."""
    used = [one for one in TABLES[table.name] if one.needed or table.has(one.name)]
    columns = [_cells(table, one, zone, how) for one in used]
    return [one.name for one in used], [list(row) for row in zip(*columns, strict=True)]


def _cells(table: Table, one: Column, zone: str, how: Writing) -> Sequence[Any]:
    values = table[one.name].tolist()
    if one.kind == "time":
        tz = ZoneInfo(zone)
        return [_time(value, tz, how) for value in values]
    if one.kind == "number":
        numbers = [_number(value) for value in values]
        if how.decimal == ".":
            return numbers
        return ["" if number is None else str(number).replace(".", how.decimal) for number in numbers]
    return ["'" + text if text.startswith(RISKY) else text for text in values]


def _number(value: float) -> float | int | None:
    if isnan(value):
        return None
    rounded = round(value, 4)
    return int(rounded) if rounded == int(rounded) else rounded


def _time(value: float, zone: ZoneInfo, how: Writing) -> str:
    if isnan(value):
        return ""
    moment = datetime.fromtimestamp(round(value), UTC).astimezone(zone)
    if not how.local:
        return moment.isoformat()
    naive = moment.replace(tzinfo=None)
    if how.production_day_s and naive - datetime.combine(naive, datetime.min.time()) < timedelta(
        seconds=how.production_day_s
    ):
        naive -= timedelta(days=1)
    return naive.strftime(how.times) if how.times else naive.isoformat(sep=" ")


def _csv(table: Table, zone: str, path: Path, how: Writing) -> None:
    head, rows = rows_of(table, zone, how)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter=";" if how.decimal == "," else ",")
        writer.writerow(head)
        writer.writerows(rows)


def _parquet(table: Table, zone: str, path: Path, how: Writing) -> None:
    import pyarrow
    from pyarrow.parquet import write_table

    head, rows = rows_of(table, zone, how)
    write_table(pyarrow.table({name: [row[at] for row in rows] for at, name in enumerate(head)}), path)


def _workbook(log: Log, path: Path, how: Writing) -> None:
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    for table in log.tables.values():
        sheet = book.create_sheet(table.name)
        head, rows = rows_of(table, log.zone, how)
        for row in [head, *rows]:
            sheet.append(row)
    book.save(path)
