"""Rows that stand twice: exported again, put right later, or in conflict."""

from __future__ import annotations

import numpy as np

from twin.logs.doctor.findings import Case, Finding, counted, listed
from twin.logs.doctor.spans import resolution
from twin.logs.schema import KEYS, TABLES
from twin.logs.tables import Table

BESIDE = 200
"""Where only whole minutes are written, two short stops at most so many rows apart may read alike."""


def repeats(case: Case) -> Case:
    """Drop identical repeats, keep the later of two versions, refuse what contradicts itself."""
    for name in case.log.tables:
        case = _table(case, case.log[name])
    return case


def _table(case: Case, table: Table) -> Case:
    keys = _rows(table, KEYS[table.name])
    seen: dict[tuple[object, ...], int] = {}
    values: dict[int, tuple[object, ...]] = {}
    same, older, conflicts = list[int](), list[tuple[int, int]](), list[int]()
    versions = table["version"] if "version" in table.columns else np.full(len(table), np.nan)
    if len(set(keys)) == len(keys):
        return case
    every = _rows(table, tuple(one.name for one in TABLES[table.name] if one.name != "version"))
    for at, key in enumerate(keys):
        first = seen.setdefault(key, at)
        if first == at:
            values[at] = every[at]
        elif every[at] == every[first]:
            if abs(int(table.line[at] - table.line[first])) > BESIDE or not _rounded(table, at):
                same.append(at)
        elif np.isfinite(versions[at]) and np.isfinite(versions[first]) and versions[at] != versions[first]:
            old, new = (first, at) if versions[at] > versions[first] else (at, first)
            older.append((old, new))
            seen[key] = new
        elif not _rounded(table, at):
            conflicts.append(at)
    drop = np.zeros(len(table), dtype=bool)
    drop[same + [old for old, _ in older]] = True
    found = [*_same(table, same), *_older(table, older), *_conflicts(table, conflicts)]
    return case.with_log(case.log.put(table.take(~drop)), *found)


def _rounded(table: Table, at: int) -> bool:
    """Tell whether two stops of one machine may begin at one written time, as it writes whole minutes only."""
    if table.name != "stops":
        return False
    own = table["start"][table["station"] == table["station"][at]]
    return resolution(own) >= 60.0


def _rows(table: Table, names: tuple[str, ...]) -> list[tuple[object, ...]]:
    columns = []
    for name in names:
        own = table[name]
        columns.append(own.tolist() if own.dtype.kind == "O" else np.where(np.isnan(own), -1.0, own).tolist())
    return list(zip(*columns, strict=True))


def _same(table: Table, rows: list[int]) -> list[Finding]:
    if not rows:
        return []
    words = f"{counted(len(rows), 'row')} of {table.name} twice, word for word: taken once"
    effect = _mass(table, rows)
    lines = listed(table, np.array(rows))
    way_out = "Export each span of time once"
    return [Finding("repeat", table.name, "", lines, len(rows), "mended", words, way_out, effect, file=table.file)]


def _older(table: Table, pairs: list[tuple[int, int]]) -> list[Finding]:
    if not pairs:
        return []
    rows = [old for old, _ in pairs]
    words = f"{counted(len(rows), 'row')} of {table.name} put right later: the later version is taken"
    before, after = _mass(table, rows), _mass(table, [new for _, new in pairs])
    effect = None if before is None or after is None else after - before
    lines = listed(table, np.array(rows))
    return [Finding("version", table.name, "", lines, len(rows), "mended", words, "", effect, file=table.file)]


def _conflicts(table: Table, rows: list[int]) -> list[Finding]:
    if not rows:
        return []
    key = " and ".join(KEYS[table.name])
    words = f"{counted(len(rows), 'row')} of {table.name} with the {key} of another, but other values, and no version"
    way_out = "Delete the wrong one, or add a column 'version' that says which was written last"
    lines = listed(table, np.array(rows))
    return [Finding("conflict", table.name, "", lines, len(rows), "refused", words, way_out, file=table.file)]


def _mass(table: Table, rows: list[int]) -> float | None:
    """Return the good mass of some rows [t]."""
    return float(np.nansum(table["good_kg"][rows])) / 1000.0 if "good_kg" in table.columns else None
