"""A folder of broken files: each is refused with the message that stands beside it, and nothing is written.

Files that are no text at all are made here, from bytes; their messages stand in the folder too.
"""

from pathlib import Path

import pytest
from scenario_texts import SMALL

from twin.scenario import ScenarioError, load, save

FOLDER = Path(__file__).parent / "broken"
NO_TEXTS = {
    "file_binary": b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x01\x00",
    "file_not_utf8": SMALL.replace("A small line", "Kleine Straße").encode("latin-1"),
    "file_in_utf16": SMALL.encode("utf-16"),
}
NAMES = sorted([*(path.stem for path in FOLDER.glob("*.yaml")), *NO_TEXTS])


@pytest.fixture(params=NAMES)
def path(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return each broken file in turn, in a folder of its own."""
    made = tmp_path / "broken" / f"{request.param}.yaml"
    made.parent.mkdir()
    made.write_bytes(NO_TEXTS.get(request.param) or (FOLDER / made.name).read_bytes())
    return made


def test_there_are_at_least_forty_broken_files_each_with_its_message() -> None:
    assert len(NAMES) >= 40
    assert sorted(path.stem for path in FOLDER.glob("*.txt")) == NAMES


def test_a_broken_file_is_refused_with_its_message_and_nothing_is_written(path: Path) -> None:
    data = path.read_bytes()

    with pytest.raises(ScenarioError) as caught:
        load(path)

    told = "".join(f"{fault}\n".replace(str(path), path.name) for fault in caught.value.faults)
    assert told == (FOLDER / f"{path.stem}.txt").read_text(encoding="utf-8")
    assert path.read_bytes() == data
    assert list(path.parent.iterdir()) == [path]


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


def test_what_is_broken_never_replaces_a_sound_file(path: Path) -> None:
    target = path.with_name("plant.yaml")
    target.write_text(SMALL, encoding="utf-8")
    text = path.read_bytes().decode("utf-8", errors="surrogateescape")

    with pytest.raises(ScenarioError):
        save(target, text)

    assert target.read_text(encoding="utf-8") == SMALL
    assert sorted(path.parent.iterdir()) == sorted([path, target])
