"""What the command writes: whole files or none, whatever happens meanwhile."""

from __future__ import annotations

import csv
import io
import os
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from twin.cli.faults import UsersFault

if TYPE_CHECKING:
    from numpy.typing import NDArray

DANGEROUS = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet takes a cell that begins so for a formula


def write_json(results: Mapping[str, Any], out: str) -> None:
    """Write results as JSON to a file, or to the standard output for `-`."""
    import orjson

    text = orjson.dumps(results, option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE)
    if out == "-":
        sys.stdout.buffer.write(text)
        sys.stdout.flush()
        return
    with told_if_unwritable(out):
        write_whole(Path(out), lambda file: file.write(text))


@contextmanager
def told_if_unwritable(out: str | Path) -> Iterator[None]:
    """Tell in plain words that a place cannot be written to."""
    try:
        yield
    except OSError as error:
        raise UsersFault(f"{out}: cannot be written: {error.strerror or error}. Give another place") from error


def refuse_unwritable(*outs: str | Path | None, folder: Path | None = None) -> None:
    """Refuse places that cannot be written to before any work is done for them.

    Parameters
    ----------
    outs : Files to be; None or `-` for none.
    folder : A folder to be, made with all above it if it is missing.

    Raises
    ------
    UsersFault : The first place that cannot be written to, and why.
    """
    for out in outs:
        if out is not None and str(out) != "-":
            with told_if_unwritable(out):
                if Path(out).is_dir():
                    raise IsADirectoryError("it is a folder")
                _try(Path(out).parent)
    if folder is not None:
        with told_if_unwritable(folder):
            _try(next(place for place in (folder, *folder.resolve().parents) if place.exists()))


def _try(folder: Path) -> None:
    """Write nothing into a folder, to see if that can be done."""
    with tempfile.TemporaryFile(dir=folder):
        pass


def write_whole(path: Path, write: Callable[[IO[bytes]], object]) -> None:
    """Write a file beside its place and move it there when it is whole."""
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            write(file)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, 0o666 & ~_mask())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _mask() -> int:
    """Return which rights new files of this process lack."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def write_tables(tables: Mapping[str, Mapping[str, NDArray[Any]]], folder: str) -> None:
    """Write each table as a CSV file of its name into a folder, which is made if it is missing."""
    place = Path(folder)
    with told_if_unwritable(folder):
        place.mkdir(parents=True, exist_ok=True)
        for name, columns in tables.items():
            write_whole(place / f"{name}.csv", partial(_write_csv, columns))


def _write_csv(columns: Mapping[str, NDArray[Any]], file: IO[bytes]) -> None:
    """Write the columns of one table under their names, which end in their units."""
    text = io.TextIOWrapper(file, encoding="utf-8", newline="", write_through=True)
    writer = csv.writer(text)
    writer.writerow(columns)
    writer.writerows(zip(*(_cells(column) for column in columns.values()), strict=True))
    text.flush()
    text.detach()


def _cells(column: NDArray[Any]) -> list[Any]:
    """Return the cells of a column; text that a spreadsheet would run as a formula gets an apostrophe in front."""
    cells: list[Any] = column.tolist()
    if column.dtype.kind not in "OSU":
        return cells
    return ["'" + cell if isinstance(cell, str) and cell.startswith(DANGEROUS) else cell for cell in cells]
