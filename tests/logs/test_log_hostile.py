"""A file made to harm is refused in words, within seconds and little memory, and nothing is written."""

from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path

import pytest
from hostile_logs import FILES, folder, parquet, workbook

from twin.logs import LogError, read_log

MEMORY = 900_000_000
"""What the reader may take for all of the files together, its libraries included [bytes of address space]."""
READ_ALL = f"""
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, ({MEMORY}, {MEMORY}))
from pathlib import Path
from twin.logs import LogError, read_log
for place in sys.argv[1:]:
    try:
        read_log(place)
        sys.stdout.write("taken\\n")
    except LogError as refused:
        sys.stdout.write(str(refused).replace("\\n", " ") + "\\n")
"""


def everything(place: Path) -> dict[str, tuple[int, int]]:
    """Return all files of a folder with their sizes and times."""
    return {str(one): (one.lstat().st_size, one.lstat().st_mtime_ns) for one in place.rglob("*")}


@pytest.mark.skipif(sys.platform == "win32", reason="no limit of memory can be set for a process there")
def test_hostile_files_are_refused_in_words_with_little_memory_and_nothing_written(tmp_path: Path) -> None:
    places = [make(tmp_path / name) for name, (make, _) in FILES.items()]
    before = everything(tmp_path)

    done = subprocess.run(
        [sys.executable, "-c", READ_ALL, *map(str, places)], capture_output=True, text=True, timeout=60, check=False
    )

    assert done.returncode == 0, done.stderr[-2000:]
    for (name, (_, words)), said in zip(FILES.items(), done.stdout.splitlines(), strict=True):
        assert any(word in said for word in words.split("|")), f"{name}: {said[:300]}"
        assert "secret" not in said, "a refusal tells nothing of what stands elsewhere"
    assert everything(tmp_path) == before


@pytest.mark.parametrize("form", ["csv", "xlsx", "parquet"])
def test_whatever_is_changed_in_a_file_it_is_read_or_refused_and_nothing_else(form: str, tmp_path: Path) -> None:
    """A few bytes put wrong at random, 60 times a form; only LogError may come out."""
    place = tmp_path / f"log.{form}"
    target = {
        "csv": lambda: folder(place) / "stops.csv",
        "xlsx": lambda: workbook(place, pack=False),
        "parquet": lambda: parquet(place, ["mill"] * 30) / "stops.parquet",
    }[form]()
    whole, dice, refused = target.read_bytes(), random.Random(form), 0
    for _ in range(60):
        content = bytearray(whole)
        for _ in range(dice.randrange(1, 6)):
            content[dice.randrange(len(content))] = dice.randrange(256)
        target.write_bytes(content[: dice.choice([len(content), dice.randrange(1, len(content))])])
        try:
            read_log(place)
        except LogError:
            refused += 1

    assert refused > 20
