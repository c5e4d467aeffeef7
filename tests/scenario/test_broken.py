"""A folder of broken files: each is refused with the message that stands beside it, and nothing is written."""

from pathlib import Path

import pytest
from scenario_texts import SMALL

from twin.scenario import ScenarioError, load, save

FOLDER = Path(__file__).parent / "broken"
FILES = sorted(FOLDER.glob("*.yaml"))


def test_there_are_at_least_forty_broken_files() -> None:
    assert len(FILES) >= 40


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_broken_file_is_refused_with_its_message(path: Path) -> None:
    before = {entry.name: entry.stat().st_mtime_ns for entry in FOLDER.iterdir()}

    with pytest.raises(ScenarioError) as caught:
        load(path)

    told = "".join(f"{fault}\n".replace(str(path), path.name) for fault in caught.value.faults)
    assert told == path.with_suffix(".txt").read_text(encoding="utf-8")
    assert {entry.name: entry.stat().st_mtime_ns for entry in FOLDER.iterdir()} == before


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_fault_has_a_file_a_line_a_message_and_a_way_out(path: Path) -> None:
    with pytest.raises(ScenarioError) as caught:
        load(path)

    lines = max(path.read_bytes().count(b"\n"), 1)
    for fault in caught.value.faults:
        assert fault.file == str(path)
        assert 1 <= fault.line <= lines
        assert fault.message
        assert fault.way_out
        assert "\n" not in str(fault)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_what_is_broken_never_replaces_a_sound_file(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "plant.yaml"
    target.write_text(SMALL, encoding="utf-8")
    text = path.read_bytes().decode("utf-8", errors="surrogateescape")

    with pytest.raises(ScenarioError):
        save(target, text)

    assert target.read_text(encoding="utf-8") == SMALL
    assert list(tmp_path.iterdir()) == [target]
