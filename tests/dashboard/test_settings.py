"""Which plants can be chosen, and where answers are kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from dashboard.settings import kept_folder, plant_files


def test_the_plants_of_a_folder_are_its_scenario_files_by_name(tmp_path: Path) -> None:
    for name in ("b.yaml", "a.yml", "notes.txt", "c.yaml.part"):
        (tmp_path / name).touch()
    (tmp_path / "d.yaml").mkdir()

    assert list(plant_files(tmp_path)) == ["a", "b"]
    assert plant_files(tmp_path / "b.yaml") == {"b": tmp_path / "b.yaml"}
    assert plant_files(None) == {}


def test_answers_are_kept_where_the_user_keeps_such_things(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """XDG Base Directory Specification 0.8: $XDG_CACHE_HOME, and $HOME/.cache where it is not set."""
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.delenv("PASSLINE_KEPT", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert kept_folder() == tmp_path / "cache" / "passline" / "answers"

    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert kept_folder() == tmp_path / ".cache" / "passline" / "answers"

    monkeypatch.setenv("PASSLINE_KEPT", str(tmp_path / "here"))
    assert kept_folder() == tmp_path / "here"
