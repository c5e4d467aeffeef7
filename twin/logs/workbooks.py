"""Workbooks: looked through as a stream before anything is unpacked into memory, then read row by row."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any
from xml.parsers.expat import ExpatError, ParserCreate

from twin.logs.faults import LogError, refuse
from twin.logs.limits import Limits

Rows = Iterator[tuple[int, list[Any]]]
_CHUNK = 65_536
SHEET_ROWS = 1_048_576
"""Rows that a sheet can have (ECMA-376, part 1: the last row is 1048576)."""
SHEET_COLUMNS = 16_384
"""Columns that a sheet can have (the last one is XFD)."""
CELL_SIGNS = 32_767
"""Signs that a cell can hold; the same limit as in the programs that write workbooks (common practice)."""
DEEPEST = 60
ELSEWHERE = 400_000
"""The most elements of a part that is neither a sheet nor the list of texts."""
_AGAIN = "Save it as .xlsx again"
_AS_CSV = "Save the sheets as CSV"
_BROKEN = (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError, EOFError, ValueError, KeyError)


def check_workbook(path: Path | str, limits: Limits, content: IO[bytes] | None = None) -> None:
    """Refuse a workbook that unpacks to too much or brings instructions along; memory stays small whatever it holds.

    Parameters
    ----------
    path : The file, or what to call it where its `content` is given.
    limits : The most that is taken.
    content : What is in it; left out: read from the file.

    Raises
    ------
    LogError : In plain words.
    """
    try:
        with zipfile.ZipFile(content or path) as book:
            parts = book.infolist()
            if len(parts) > limits.parts:
                raise refuse(str(path), 0, f"the workbook has {len(parts)} parts", "Save it with its tables alone")
            if sum(part.file_size for part in parts) > limits.unpacked_bytes:
                most = limits.unpacked_bytes // 1_000_000
                raise refuse(str(path), 0, f"the workbook unpacks to more than {most} MB", _AS_CSV)
            for part in parts:
                _check_part(book, part, path, limits)
    except LogError:
        raise
    except (*_BROKEN, ExpatError) as fault:
        raise refuse(str(path), 0, "this is no workbook that can be read", _AGAIN) from fault


def _check_part(book: zipfile.ZipFile, part: zipfile.ZipInfo, path: Path | str, limits: Limits) -> None:
    if part.filename.startswith(("/", "\\")) or ".." in part.filename.replace("\\", "/").split("/"):
        raise refuse(str(path), 0, "the workbook names a file outside of itself", _AGAIN)
    if part.file_size > 1_000_000 and part.file_size > limits.ratio * max(1, part.compress_size):
        raise refuse(str(path), 0, f"'{part.filename[:60]}' is packed too tightly to be a table", _AS_CSV)
    if part.filename.endswith((".xml", ".rels")):
        with book.open(part) as stream:
            look = _Look(path, part.filename, limits)
            while chunk := stream.read(_CHUNK):
                look.parser.Parse(chunk, False)
            look.parser.Parse(b"", True)


class _Look:
    """Counts what stands in one part of a workbook while it streams through, and stops at the first that is too much.

    A part whose size is declared too small ends there and does not parse; the reader unpacks no more than that.
    """

    def __init__(self, path: Path | str, name: str, limits: Limits) -> None:
        self._path, self._name, self._limits = path, name, limits
        self._sheet = "worksheets/" in name.lower()
        self._most = limits.rows if self._sheet or "sharedstrings" in name.lower() else ELSEWHERE
        self._depth = self._seen = self._rows = self._cells = self._signs = 0
        self.parser = ParserCreate(namespace_separator=" ")
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._text
        self.parser.StartDoctypeDeclHandler = self._instructions

    def _refuse(self, message: str, way_out: str = _AS_CSV) -> LogError:
        return refuse(f"{self._path}, part {self._name[:60]}", self._rows, message, way_out)

    def _instructions(self, *_: object) -> None:
        raise refuse(str(self._path), 0, "the workbook brings instructions along", _AGAIN)

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        if self._depth > DEEPEST:
            raise self._refuse("its parts are put into one another too deeply", _AGAIN)
        kind = name.rpartition(" ")[2]
        if self._sheet and kind == "c":
            self._cells += 1
            self._signs = 0
            if self._cells > SHEET_COLUMNS:
                raise self._refuse(f"a row has more than {SHEET_COLUMNS} columns")
        elif self._sheet and kind == "row":
            self._row(attributes)
        elif not self._sheet:
            self._count(kind)

    def _row(self, attributes: dict[str, str]) -> None:
        self._rows, self._cells = self._rows + 1, 0
        told = attributes.get("r", "0")
        place = int(told) if told.isdecimal() and len(told) < 12 else SHEET_ROWS + 1
        if max(self._rows, place) > SHEET_ROWS:
            raise self._refuse(f"the sheet has more than {SHEET_ROWS} rows")

    def _count(self, kind: str) -> None:
        self._seen += kind != "t"
        if kind == "si":
            self._signs = 0
        if self._seen > self._most:
            raise self._refuse(f"it holds more than {self._most} entries")

    def _end(self, _name: str) -> None:
        self._depth -= 1

    def _text(self, text: str) -> None:
        self._signs += len(text)
        if self._signs > CELL_SIGNS and (self._sheet or self._most != ELSEWHERE):
            raise self._refuse(f"a cell holds more than {CELL_SIGNS} signs")


def _opened(path: Path) -> Any:  # noqa: ANN401 - the library's own type has no stubs
    from openpyxl import load_workbook

    try:
        return load_workbook(path, read_only=True, data_only=False, keep_links=False)
    except Exception as fault:  # the library raises whatever its parts raise on a broken file
        raise refuse(str(path), 0, "this is no workbook that can be read", _AGAIN) from fault


def sheet_rows(path: Path, sheet: str) -> Rows:
    """Yield the rows of a sheet of a workbook that was looked through; formulas are refused, not worked out.

    Raises
    ------
    LogError : No such sheet, a formula, or a workbook that cannot be read.
    """
    book = _opened(path)
    try:
        if sheet not in book.sheetnames:
            raise refuse(str(path), 0, f"there is no sheet '{sheet}'", f"It has: {', '.join(book.sheetnames)[:200]}")
        own = book[sheet]
        own.reset_dimensions()
        for number, cells in enumerate(own.iter_rows(), start=1):
            for cell in cells:
                if cell.data_type == "f":
                    message = f"the cell in column {cell.column} is a formula"
                    raise refuse(f"{path}, sheet {sheet}", number, message, "Save the values, not the formulas")
            values = [cell.value for cell in cells]
            if any(value is not None for value in values):
                yield number, values
    except LogError:
        raise
    except (*_BROKEN, TypeError, SyntaxError, ArithmeticError, AttributeError) as fault:
        raise refuse(str(path), 0, f"the sheet '{sheet}' cannot be read", _AGAIN) from fault
    finally:
        book.close()


def sheet_names(path: Path) -> list[str]:
    """Return the names of a workbook's sheets; it was looked through before."""
    book = _opened(path)
    try:
        return list(book.sheetnames)
    finally:
        book.close()
