"""How much of a log is read at most, and which files are opened at all: asked before anything is read."""

from __future__ import annotations

import os
import stat
from dataclasses import dataclass
from pathlib import Path

from twin.logs.faults import refuse

ENDINGS = (".csv", ".parquet", ".xlsx")


@dataclass(frozen=True)
class Limits:
    """The most that is taken; whoever has more cuts the log into years."""

    file_bytes: int = 500_000_000
    rows: int = 5_000_000
    columns: int = 200
    cell: int = 2_000
    """The longest text of one cell [characters]."""
    line: int = 100_000
    """The longest line of a CSV file [bytes]."""
    unpacked_bytes: int = 200_000_000
    """What a workbook may hold when it is unpacked."""
    ratio: float = 200.0
    """How far a part of a workbook may have been packed together."""
    parts: int = 200
    """The most files inside a workbook."""


LIMITS = Limits()


def plain_name(folder: Path, name: str) -> Path:
    """Return a file of a folder by its plain name; a name that leads anywhere else is refused.

    Raises
    ------
    LogError : A path instead of a name, or a link that leads out of the folder.
    """
    if not name or Path(name).name != name or "\\" in name or "\0" in name or name in (".", ".."):
        raise refuse(str(folder), 0, f"'{name[:80]}' is no plain file name", "Put the file into the folder of the log")
    path = folder / name
    if path.is_symlink() and path.resolve().parent != folder.resolve():
        raise refuse(str(path), 0, "the file is a link that leads out of the folder", "Copy the file into the folder")
    return path


def look_at(path: Path, limits: Limits = LIMITS) -> None:
    """Refuse what is no ordinary file of a known kind, is empty or too large.

    Raises
    ------
    LogError : In plain words; nothing of the file has been read.
    """
    try:
        found = os.stat(path)
    except (OSError, ValueError) as fault:
        raise refuse(str(path), 0, "the file cannot be opened", "Check its name and its rights") from fault
    if not stat.S_ISREG(found.st_mode):
        raise refuse(str(path), 0, "this is no ordinary file", "Give a file, not a device or a pipe")
    if path.suffix.lower() not in ENDINGS:
        raise refuse(str(path), 0, f"files ending in '{path.suffix}' are not read", f"Save it as {', '.join(ENDINGS)}")
    if found.st_size == 0:
        raise refuse(str(path), 0, "the file is empty", "Export it again")
    if found.st_size > limits.file_bytes:
        most = limits.file_bytes // 1_000_000
        raise refuse(str(path), 0, f"the file has more than {most} MB", "Cut it into shorter spans of time")
