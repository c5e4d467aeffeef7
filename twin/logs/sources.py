"""Rows of a CSV file, a workbook or a Parquet file, one after another and never all at once."""

from __future__ import annotations

import csv
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from twin.logs.faults import LogError, refuse
from twin.logs.limits import Limits
from twin.logs.mapping import TableMapping

Rows = Iterator[tuple[int, list[Any]]]
"""Line or row number and cells; the first is the head."""
_LOOKED_AT = 4096


def csv_rows(path: Path, own: TableMapping, limits: Limits) -> Rows:
    """Yield the rows of a CSV file.

    Raises
    ------
    LogError : A sign that is no text, a line without end, quotes that do not close.
    """
    with path.open("rb") as stream:
        lines = _lines(stream, path, own, limits)
        first = next(lines, "")
        separator = own.separator or max(",;\t|", key=first.count)
        reader = csv.reader(_again(first, lines), delimiter=separator, strict=True)
        try:
            for cells in reader:
                if cells:
                    yield reader.line_num, cells
        except csv.Error as fault:
            way_out = "Close the quotes, or declare the separator in the mapping file"
            raise refuse(str(path), reader.line_num, f"the line cannot be read: {fault}", way_out) from None


def _again(first: str, lines: Iterator[str]) -> Iterator[str]:
    if first:
        yield first
        yield from lines


def _lines(stream: IO[bytes], path: Path, own: TableMapping, limits: Limits) -> Iterator[str]:
    wide = own.encoding == "utf-16"
    if wide:
        yield from _wide_lines(path, limits)
        return
    encoding, number = ("utf-8-sig" if own.encoding == "utf-8" else own.encoding), 0
    while line := stream.readline(limits.line + 1):
        number += 1
        if len(line) > limits.line:
            raise refuse(str(path), number, f"the line has more than {limits.line} characters", "Check the file")
        if b"\0" in line:
            way_out = "Export it as CSV in UTF-8, or declare encoding: utf-16 in the mapping file"
            raise refuse(str(path), number, "this is not plain text", way_out)
        try:
            yield line.decode(encoding if number == 1 else own.encoding)
        except UnicodeDecodeError as fault:
            sign = line[fault.start : fault.start + 1].hex()
            way_out = "Declare the encoding in the mapping file, for instance encoding: cp1252"
            raise refuse(str(path), number, f"the sign {sign} is not {own.encoding}", way_out) from None


def _wide_lines(path: Path, limits: Limits) -> Iterator[str]:
    number = 0
    with path.open(encoding="utf-16", newline="") as text:
        while True:
            number += 1
            try:
                line = text.readline(limits.line + 1)
            except UnicodeError:
                raise refuse(str(path), number, "a sign is not utf-16", "Declare the encoding") from None
            if not line:
                return
            if len(line) > limits.line:
                raise refuse(str(path), number, f"the line has more than {limits.line} characters", "Check the file")
            yield line


def parquet_rows(path: Path, limits: Limits) -> Rows:
    """Yield the rows of a Parquet file.

    Raises
    ------
    LogError : No Parquet file, or more rows and columns than are taken.
    """
    from pyarrow import ArrowException
    from pyarrow.parquet import ParquetFile

    try:
        with ParquetFile(path) as file:
            about = file.metadata
            _few(path, about.num_columns, about.num_rows, limits)
            unpacked = sum(about.row_group(group).total_byte_size for group in range(about.num_row_groups))
            if unpacked > limits.file_bytes:
                raise refuse(
                    str(path), 0, f"the file unpacks to {unpacked // 1_000_000} MB", "Cut it into shorter spans"
                )
            yield 1, list(file.schema_arrow.names)
            number = 1
            for batch in file.iter_batches(batch_size=16_384):
                for cells in zip(*(column.to_pylist() for column in batch.columns), strict=True):
                    number += 1
                    yield number, list(cells)
    except LogError:
        raise
    except (ArrowException, OSError, ValueError) as fault:
        raise refuse(str(path), 0, "this is no Parquet file that can be read", "Export it again") from fault


def _few(path: Path, columns: int, rows: int, limits: Limits) -> None:
    if columns > limits.columns:
        raise refuse(str(path), 0, f"the table has {columns} columns", f"Keep at most {limits.columns}")
    if rows > limits.rows:
        raise refuse(str(path), 0, f"the table has {rows} rows", f"Cut it into parts of at most {limits.rows}")


def check_workbook(path: Path, limits: Limits) -> None:
    """Refuse a workbook that unpacks to too much or brings instructions along, before it is unpacked.

    Raises
    ------
    LogError : In plain words.
    """
    try:
        with zipfile.ZipFile(path) as book:
            parts = book.infolist()
            if len(parts) > limits.parts:
                raise refuse(str(path), 0, f"the workbook has {len(parts)} parts", "Save it with its tables alone")
            if sum(part.file_size for part in parts) > limits.unpacked_bytes:
                most = limits.unpacked_bytes // 1_000_000
                raise refuse(str(path), 0, f"the workbook unpacks to more than {most} MB", "Save the sheets as CSV")
            for part in parts:
                _check_part(book, part, path, limits)
    except LogError:
        raise
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError, EOFError, ValueError) as fault:
        raise refuse(str(path), 0, "this is no workbook that can be read", "Save it as .xlsx again") from fault


def _check_part(book: zipfile.ZipFile, part: zipfile.ZipInfo, path: Path, limits: Limits) -> None:
    if part.filename.startswith(("/", "\\")) or ".." in part.filename.split("/"):
        raise refuse(str(path), 0, "the workbook names a file outside of itself", "Save it as .xlsx again")
    if part.file_size > 1_000_000 and part.file_size > limits.ratio * max(1, part.compress_size):
        raise refuse(
            str(path), 0, f"'{part.filename[:60]}' is packed too tightly to be a table", "Save the sheets as CSV"
        )
    if part.filename.endswith((".xml", ".rels")):
        with book.open(part) as stream:
            head = stream.read(_LOOKED_AT).replace(b"\0", b"").upper()
        if b"<!DOCTYPE" in head or b"<!ENTITY" in head:
            raise refuse(str(path), 0, "the workbook brings instructions along", "Save it as .xlsx again")


def sheet_rows(path: Path, sheet: str, limits: Limits) -> Rows:
    """Yield the rows of a sheet; formulas are refused, not worked out.

    Raises
    ------
    LogError : No such sheet, a formula, or a workbook that cannot be read.
    """
    from openpyxl import load_workbook

    check_workbook(path, limits)
    try:
        book = load_workbook(path, read_only=True, data_only=False, keep_links=False)
    except Exception as fault:  # the library raises whatever its parts raise on a broken file
        raise refuse(str(path), 0, "this is no workbook that can be read", "Save it as .xlsx again") from fault
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
    except (KeyError, ValueError, TypeError, SyntaxError, zipfile.BadZipFile, OSError) as fault:
        raise refuse(str(path), 0, f"the sheet '{sheet}' cannot be read", "Save it as .xlsx again") from fault
    finally:
        book.close()


def sheet_names(path: Path, limits: Limits) -> list[str]:
    """Return the names of a workbook's sheets."""
    from openpyxl import load_workbook

    check_workbook(path, limits)
    try:
        book = load_workbook(path, read_only=True, keep_links=False)
    except Exception as fault:
        raise refuse(str(path), 0, "this is no workbook that can be read", "Save it as .xlsx again") from fault
    try:
        return list(book.sheetnames)
    finally:
        book.close()
