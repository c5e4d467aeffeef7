"""Answers kept in files under the name of their question, so that a reload, a restart and another browser find them.

Plain JSON and plain arrays only: nothing that is read back can run code.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np
import orjson

KEY = re.compile(r"[0-9a-f]{20}")
KEPT_ANSWERS = 400


def key_of(study: str, digest: str, options: Sequence[str], runs: int, seed: int, version: str) -> str:
    """Return the name of a question: the same scenario, runs, seed and model give the same name and the same answer."""
    text = repr((study, digest, tuple(options), runs, seed, version))
    return hashlib.sha256(text.encode()).hexdigest()[:20]


def path_of(folder: Path, key: str, ending: str) -> Path:
    """Return the file of an answer; a key that is none is refused, since it may come from an address."""
    if not KEY.fullmatch(key):
        raise ValueError(f"{key!r} names no answer")
    return folder / f"{key}.{ending}"


def put(file: Path, content: bytes) -> None:
    """Write a file so that whoever reads it finds the old one or the new one, never a half."""
    file.parent.mkdir(parents=True, exist_ok=True)
    part = file.with_name(f"{file.name}.{os.getpid()}.part")
    part.write_bytes(content)
    part.replace(file)


def write(folder: Path, key: str, answer: Mapping[str, Any], ending: str = "json") -> None:
    """Keep an answer, or a part of one under another ending."""
    put(path_of(folder, key, ending), orjson.dumps(answer, option=orjson.OPT_SERIALIZE_NUMPY))


def read(folder: Path, key: str, ending: str = "json") -> dict[str, Any] | None:
    """Return a kept answer; None when there is none or the file is damaged (it is then made anew)."""
    try:
        found = orjson.loads(path_of(folder, key, ending).read_bytes())
    except (OSError, orjson.JSONDecodeError):
        return None
    return found if isinstance(found, dict) else None


def write_arrays(folder: Path, key: str, arrays: Mapping[str, np.ndarray[Any, Any]]) -> None:
    """Keep the numbers of the runs made so far, so that a stopped study can go on."""
    file = path_of(folder, key, "npz")
    file.parent.mkdir(parents=True, exist_ok=True)
    part = file.with_name(f"{file.name}.{os.getpid()}.part")
    with part.open("wb") as out:
        np.savez(out, allow_pickle=False, **dict(arrays))
    part.replace(file)


def read_arrays(folder: Path, key: str) -> dict[str, np.ndarray[Any, Any]] | None:
    """Return the numbers of the runs made so far, None when there are none."""
    try:
        with path_of(folder, key, "npz").open("rb") as file, np.load(file, allow_pickle=False) as kept:
            return {name: kept[name] for name in kept.files}
    except (OSError, ValueError, EOFError, BadZipFile):
        return None


def remember(folder: Path, mark: str, key: str) -> None:
    """Note which answer a question of a page had last, whatever the scenario file says by then."""
    put(folder / f"last-{mark}.txt", key.encode())


def last(folder: Path, mark: str) -> str | None:
    """Return the answer that a question of a page had last."""
    try:
        key = (folder / f"last-{mark}.txt").read_text(encoding="utf-8")
    except OSError:
        return None
    return key if KEY.fullmatch(key) else None


def tidy(folder: Path, most: int = KEPT_ANSWERS) -> None:
    """Throw the oldest answers away when there are more than ``most``."""
    files = [file for file in folder.glob("*.*") if KEY.fullmatch(file.name.split(".")[0])]
    newest = {file.name.split(".")[0]: file.stat().st_mtime for file in files}
    kept = sorted(newest, key=lambda key: newest[key], reverse=True)[:most]
    for file in files:
        if file.name.split(".")[0] not in kept:
            file.unlink(missing_ok=True)
