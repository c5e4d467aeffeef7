"""Kept answers are found again, damaged ones are not believed, and names from outside cannot leave the folder."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from dashboard import answers

KEY = "0123456789abcdef0123"


def test_an_answer_is_read_back_as_it_was_written(tmp_path: Path) -> None:
    answers.write(tmp_path, KEY, {"done": 3, "half": None, "name": "Hollin Weir"})

    assert answers.read(tmp_path, KEY) == {"done": 3, "half": None, "name": "Hollin Weir"}
    assert answers.read(tmp_path, KEY.replace("0", "1")) is None


def test_a_damaged_answer_is_none(tmp_path: Path) -> None:
    (tmp_path / f"{KEY}.json").write_text('{"done": 3', encoding="utf-8")
    (tmp_path / f"{KEY}.npz").write_bytes(b"PK\x03\x04 half a file")

    assert answers.read(tmp_path, KEY) is None
    assert answers.read_arrays(tmp_path, KEY) is None


def test_the_numbers_of_runs_come_back_exactly(tmp_path: Path) -> None:
    values = np.random.default_rng(1).normal(size=(3, 5))

    answers.write_arrays(tmp_path, KEY, {"values": values})

    found = answers.read_arrays(tmp_path, KEY)
    assert found is not None
    assert np.array_equal(found["values"], values)


def test_arrays_that_hold_objects_are_not_opened(tmp_path: Path) -> None:
    """A pickled object in a file can run code when it is read; numpy refuses it unless told otherwise."""
    np.savez(tmp_path / f"{KEY}.npz", values=np.array([{"a": 1}], dtype=object))

    assert answers.read_arrays(tmp_path, KEY) is None


@pytest.mark.parametrize("key", ["../../etc/passwd", "", "0123", KEY + "0", KEY.upper(), "0123456789abcdef012\n"])
def test_a_name_from_outside_cannot_leave_the_folder(tmp_path: Path, key: str) -> None:
    with pytest.raises(ValueError, match="names no answer"):
        answers.read(tmp_path, key)


def test_the_same_question_has_the_same_name() -> None:
    one = answers.key_of("line", "d" * 64, ("a", "b"), 20, 2026, "0.1.0")

    assert answers.KEY.fullmatch(one)
    assert one == answers.key_of("line", "d" * 64, ["a", "b"], 20, 2026, "0.1.0")
    others = [
        answers.key_of("options", "d" * 64, ("a", "b"), 20, 2026, "0.1.0"),
        answers.key_of("line", "e" * 64, ("a", "b"), 20, 2026, "0.1.0"),
        answers.key_of("line", "d" * 64, ("a",), 20, 2026, "0.1.0"),
        answers.key_of("line", "d" * 64, ("a", "b"), 50, 2026, "0.1.0"),
        answers.key_of("line", "d" * 64, ("a", "b"), 20, 2027, "0.1.0"),
        answers.key_of("line", "d" * 64, ("a", "b"), 20, 2026, "0.2.0"),
    ]
    assert len({one, *others}) == 7


def test_the_last_answer_of_a_question_is_remembered(tmp_path: Path) -> None:
    assert answers.last(tmp_path, "line-abc") is None

    answers.remember(tmp_path, "line-abc", KEY)

    assert answers.last(tmp_path, "line-abc") == KEY


def test_the_oldest_answers_are_thrown_away(tmp_path: Path) -> None:
    keys = [f"{number:020x}" for number in range(6)]
    for age, key in enumerate(reversed(keys)):
        answers.write(tmp_path, key, {"done": 1})
        answers.write(tmp_path, key, {"start": ""}, "week.json")
        for file in tmp_path.glob(f"{key}*"):
            os.utime(file, (1e9 - age, 1e9 - age))

    answers.tidy(tmp_path, most=4)

    assert {file.name.split(".")[0] for file in tmp_path.iterdir()} == set(keys[2:])
