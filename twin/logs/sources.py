"""Rows of a CSV or a Parquet file, one after another and never all at once."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from twin.logs.faults import LogError, refuse
from twin.logs.limits import Limits
from twin.logs.mapping import TableMapping

Rows = Iterator[tuple[int, list[Any]]]
"""Line or row number and cells; the first is the head."""
_THRIFT: dict[str, Any] = {"thrift_string_size_limit": 50_000_000, "thrift_container_size_limit": 1_000_000}
"""What the description inside a Parquet file may hold."""


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
    """Yield the rows of a Parquet file; a text that stands in many rows is held once.

    Raises
    ------
    LogError : No Parquet file, more rows and columns than are taken, cells that are no plain values.
    """
    from pyarrow import ArrowException
    from pyarrow.parquet import ParquetFile

    try:
        with ParquetFile(path, **_THRIFT) as file:
            schema = file.schema_arrow
            _few(path, file.metadata, limits)
            _plain(path, schema)
        texts = [one.name for one in schema if not _is_number(one.type)]
        with ParquetFile(path, read_dictionary=texts, **_THRIFT) as file:
            yield 1, list(schema.names)
            number = 1
            for batch in file.iter_batches(batch_size=16_384):
                columns = [_cells(path, own, limits) for own in batch.columns]
                for cells in zip(*columns, strict=True):
                    number += 1
                    yield number, list(cells)
    except LogError:
        raise
    except (ArrowException, OSError, ValueError, ArithmeticError, MemoryError) as fault:
        raise refuse(str(path), 0, "this is no Parquet file that can be read", "Export it again") from fault


def _few(path: Path, about: Any, limits: Limits) -> None:  # noqa: ANN401 - pyarrow has no types
    if about.num_columns > limits.columns:
        raise refuse(str(path), 0, f"the table has {about.num_columns} columns", f"Keep at most {limits.columns}")
    if about.num_rows > limits.rows:
        raise refuse(
            str(path), 0, f"the table has {about.num_rows} rows", f"Cut it into parts of at most {limits.rows}"
        )
    unpacked = sum(about.row_group(group).total_byte_size for group in range(about.num_row_groups))
    if unpacked > limits.file_bytes:
        raise refuse(str(path), 0, f"the file unpacks to {unpacked // 1_000_000} MB", "Cut it into shorter spans")


def _is_number(kind: Any) -> bool:  # noqa: ANN401
    from pyarrow import types

    return bool(
        types.is_integer(kind)
        or types.is_floating(kind)
        or types.is_decimal(kind)
        or types.is_temporal(kind)
        or types.is_boolean(kind)
        or types.is_null(kind)
    )


def _plain(path: Path, schema: Any) -> None:  # noqa: ANN401
    """Refuse columns of lists, records or bytes."""
    from pyarrow import types

    for one in schema:
        kind = one.type.value_type if types.is_dictionary(one.type) else one.type
        if not (_is_number(kind) or types.is_string(kind) or types.is_large_string(kind)):
            way_out = "Export plain texts, numbers and times"
            raise refuse(str(path), 1, f"the column '{one.name[:60]}' holds {str(kind)[:60]}", way_out)


def _cells(path: Path, own: Any, limits: Limits) -> list[Any]:  # noqa: ANN401
    """Return one column of a batch as plain values."""
    from pyarrow import compute, types

    if not types.is_dictionary(own.type):
        return list(own.to_pylist())
    longest = compute.max(compute.binary_length(own.dictionary)).as_py() or 0
    if longest > 4 * limits.cell:
        raise refuse(str(path), 0, f"a cell has {longest} bytes", f"Shorten it to {limits.cell} characters")
    words = own.dictionary.to_pylist()
    return [None if place is None else words[place] for place in own.indices.to_pylist()]
