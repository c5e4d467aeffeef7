"""The door for a plant's log: a folder of files or a workbook becomes tables, or is refused in words."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping as AnyMapping
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from twin.logs.cells import Numbers, Texts, Times
from twin.logs.faults import LogError, LogFault, refuse
from twin.logs.limits import ENDINGS, LIMITS, Limits, look_at, plain_name
from twin.logs.mapping import NAME, Mapping, TableMapping, load_mapping
from twin.logs.schema import NEEDED_TABLES, TABLES, Column
from twin.logs.sources import Rows, csv_rows, parquet_rows
from twin.logs.tables import Log, Table
from twin.logs.workbooks import check_workbook, sheet_names, sheet_rows

Gathered = dict[str, Texts | Numbers | Times]


def read_log(place: str | Path, *, zone: str = "", mapping: Mapping | None = None, limits: Limits = LIMITS) -> Log:
    """Return the log of a folder or a workbook.

    Parameters
    ----------
    place : A folder with stops.csv (or .parquet), output.csv ..., or one workbook with these sheets.
    zone : Zone of times without an offset, where the mapping names none.
    mapping : The plant's words; left out: `mapping.yaml` in the folder or beside the workbook, if there is one.

    Raises
    ------
    LogError : With file, line, what is wrong and the way out; nothing is read half.
    """
    path = Path(place)
    folder = path if path.is_dir() else path.parent
    if mapping is None:
        mapping = load_mapping(plain_name(folder, NAME)) if (folder / NAME).is_file() else Mapping()
    if not mapping.zone and zone:
        mapping = Mapping(**{**vars(mapping), "zone": zone})
    found = _in_folder(path, mapping, limits) if path.is_dir() else _in_workbook(path, mapping, limits)
    missing = [name for name in NEEDED_TABLES if name not in found]
    if missing:
        way_out = f"Name the file or sheet '{missing[0]}', or say in mapping.yaml what it is called"
        raise refuse(str(place), 0, f"the log has no table '{missing[0]}'", way_out)
    tables, faults = {}, list[LogFault]()
    for name, (file, rows) in found.items():
        try:
            tables[name] = _table(name, file, rows, mapping, limits)
        except LogError as fault:
            faults += fault.faults
    if faults:
        raise LogError(*faults)
    files = sorted({file.split("#")[0] for file, _ in found.values()})
    return Log(tables, mapping.zone or "UTC", str(place), {file: _digest(Path(file)) for file in files})


def _in_folder(folder: Path, mapping: Mapping, limits: Limits) -> dict[str, tuple[str, Rows]]:
    found = {}
    for name in TABLES:
        own = mapping.table(name)
        if own.file:
            path = plain_name(folder, own.file)
            if not path.exists():
                raise refuse(str(path), 0, "there is no such file", "Check its name in mapping.yaml")
        else:
            there = [plain_name(folder, name + ending) for ending in ENDINGS if (folder / (name + ending)).exists()]
            if not there:
                continue
            if len(there) > 1:
                raise refuse(str(folder), 0, f"{there[0].name} and {there[1].name} are both there", "Keep one of them")
            path = there[0]
        found[name] = (_source(path, own), _rows(path, name, own, limits))
    return found


def _source(path: Path, own: TableMapping) -> str:
    return f"{path}#{own.sheet}" if path.suffix.lower() == ".xlsx" and own.sheet else str(path)


def _rows(path: Path, name: str, own: TableMapping, limits: Limits) -> Rows:
    look_at(path, limits)
    ending = path.suffix.lower()
    if ending == ".csv":
        return csv_rows(path, own, limits)
    if ending == ".parquet":
        return parquet_rows(path, limits)
    check_workbook(path, limits)
    return sheet_rows(path, own.sheet or name)


def _in_workbook(path: Path, mapping: Mapping, limits: Limits) -> dict[str, tuple[str, Rows]]:
    look_at(path, limits)
    if path.suffix.lower() != ".xlsx":
        raise refuse(str(path), 0, "a log is a folder of tables or one workbook", "Give the folder of this file")
    check_workbook(path, limits)
    sheets = sheet_names(path)
    wanted = {name: mapping.table(name).sheet or name for name in TABLES}
    return {name: (f"{path}#{sheet}", sheet_rows(path, sheet)) for name, sheet in wanted.items() if sheet in sheets}


def _table(name: str, file: str, rows: Rows, mapping: Mapping, limits: Limits) -> Table:
    """Return one table; rows stream through, only columns of the schema are kept."""
    _, head = next(rows, (0, []))
    places, gathered = _columns(name, file, head, mapping, limits)
    lines = []
    for line, cells in rows:
        if len(cells) > limits.columns:
            raise refuse(file, line, f"the row has {len(cells)} cells", f"Keep at most {limits.columns}")
        if len(cells) < len(head):
            cells = [*cells, *[None] * (len(head) - len(cells))]
        elif len(cells) > len(head) and any(cell not in (None, "") for cell in cells[len(head) :]):
            message = f"the row has {len(cells)} cells, the head has {len(head)}"
            raise refuse(file, line, message, "Put cells that hold the separator in quotes")
        for at, column in places:
            column.take(cells[at], line)
        lines.append(line)
        if len(lines) > limits.rows:
            raise refuse(file, line, f"the table has more than {limits.rows} rows", "Cut it into shorter spans")
    return _finished(name, file, gathered, lines)


def _columns(
    name: str, file: str, head: Sequence[Any], mapping: Mapping, limits: Limits
) -> tuple[list[tuple[int, Texts | Numbers | Times]], Gathered]:
    if len(head) > limits.columns:
        raise refuse(file, 1, f"the table has {len(head)} columns", f"Keep at most {limits.columns}")
    titles = [str(cell or "").strip() for cell in head]
    places, gathered = list[tuple[int, Texts | Numbers | Times]](), Gathered()
    for one in TABLES[name]:
        title = mapping.table(name).columns.get(one.name, one.name)
        if titles.count(title) > 1:
            raise refuse(file, 1, f"two columns are called '{title}'", "Rename one of them")
        if title in titles:
            gathered[one.name] = _gatherer(name, one, file, mapping, limits)
            places.append((titles.index(title), gathered[one.name]))
        elif one.needed or title != one.name:
            seen = ", ".join(titles)[:200]
            raise refuse(file, 1, f"there is no column '{title}'", f"It has: {seen}; say in mapping.yaml which it is")
    return places, gathered


def _gatherer(name: str, one: Column, file: str, mapping: Mapping, limits: Limits) -> Texts | Numbers | Times:
    if one.kind == "number":
        return Numbers(one, file, mapping, mapping.table(name).factors.get(one.name, 1.0))
    if one.kind == "time":
        return Times(one, file, mapping)
    words: AnyMapping[str, str] = {"station": mapping.stations, "reason": mapping.reasons}.get(one.name, {})
    return Texts(one, file, lambda text: words.get(text, text) if words else text, limits.cell)


def _finished(name: str, file: str, gathered: Gathered, lines: list[int]) -> Table:
    columns, marks, length = {}, {}, len(lines)
    for one in TABLES[name]:
        own = gathered.get(one.name)
        if own is None:
            plain = 1.0 if one.name == "machine" else np.nan
            columns[one.name] = np.full(length, "", dtype=object) if one.kind == "text" else np.full(length, plain)
        elif isinstance(own, Texts):
            columns[one.name] = np.array(own.values, dtype=object)
        else:
            columns[one.name] = np.frombuffer(own.values, dtype=np.float64).copy() if length else np.zeros(0)
        if isinstance(own, Times):
            marks[one.name] = np.frombuffer(bytes(own.marks), dtype=np.uint8)
    return Table(name, file, columns, np.array(lines, dtype=np.int64), marks)


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
