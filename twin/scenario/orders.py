"""The order book: a CSV file beside the scenario with the columns order, product, quantity and due."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from pathlib import Path, PurePosixPath, PureWindowsPath

from twin.scenario.faults import Problem, Refusal, refuse, shorten

COLUMNS = ("order", "product", "quantity", "due")
LARGEST = 5_000_000
"""The largest file of orders that is read [bytes]."""
MOST = 50_000
"""The most orders."""


def read_orders(folder: Path | None, name: str) -> list[dict[str, str]]:
    """Return the rows of a CSV file of orders, as texts.

    Raises
    ------
    Refusal : The file lies outside the scenario's folder, cannot be read, or has other columns.
    """
    text = _text(_inside(folder, name), name)
    reader = csv.reader(io.StringIO(text), strict=True)
    try:
        head = tuple(word.strip() for word in next(reader, []))
        if head != COLUMNS:
            message = f"{name}: the columns are '{', '.join(head)}'"
            way_out = f"Let the first line be {','.join(COLUMNS)}"
            raise refuse(message, value=",".join(head), limit=", ".join(COLUMNS), way_out=way_out)
        return _rows(reader, name)
    except csv.Error as error:
        raise refuse(f"{name} line {reader.line_num}: {error}", way_out="Save it again as CSV with commas") from None


def _rows(reader: Iterable[list[str]], name: str) -> list[dict[str, str]]:
    rows: list[dict[str, str]] = []
    problems: list[Problem] = []
    for number, row in enumerate(reader, start=2):
        if len(rows) > MOST:
            raise refuse(f"{name} has too many rows", limit=f"at most {MOST}", way_out="Leave out old orders")
        if len(row) == len(COLUMNS):
            rows.append({key: word.strip() for key, word in zip(COLUMNS, row, strict=True)})
        elif any(word.strip() for word in row):
            message = f"{name} row {number}: {len(row)} values, not {len(COLUMNS)}"
            problems.append(Problem(message, shorten(",".join(row)), way_out=f"Give {', '.join(COLUMNS)}"))
    if problems:
        raise Refusal(*problems[:20])
    return rows


def _inside(folder: Path | None, name: str) -> Path:
    if folder is None:
        raise refuse("orders in a file need a scenario in a file", value=name, way_out="Write the orders as a list")
    windows = PureWindowsPath(name)
    strange = windows.drive or windows.root or PurePosixPath(name).is_absolute() or "\0" in name
    path = folder if strange else (folder / name).resolve()
    if strange or ".." in windows.parts or not path.is_relative_to(folder.resolve()):
        message = f"'{name}' does not lie beside the scenario"
        raise refuse(message, value=name, limit="inside the scenario's folder", way_out="Put the file beside it")
    return path


def _text(path: Path, name: str) -> str:
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST + 1)
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        raise refuse(f"'{name}': {reason}", value=name, way_out="Name a CSV file beside the scenario") from None
    if len(data) > LARGEST:
        raise refuse(f"'{name}' is too large", value=name, limit=f"{LARGEST} bytes", way_out="Leave out old orders")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise refuse(f"'{name}' is not UTF-8", value=name, way_out="Save it as UTF-8") from None
