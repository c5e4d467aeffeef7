import difflib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario_texts import SMALL, changed

from twin.scenario import ScenarioError, load, loads, numbers, save
from twin.scenario.editing import flow_text, with_changes
from twin.scenario.reading import read_tree


def difference(before: str, after: str) -> list[str]:
    """Return the lines that were taken out and put in."""
    lines = difflib.ndiff(before.splitlines(), after.splitlines())
    return [line for line in lines if line.startswith(("- ", "+ "))]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "plant.yaml"
    path.write_text(SMALL, encoding="utf-8")
    return path


def test_a_changed_value_changes_its_line_and_nothing_else(file: Path) -> None:
    saved = save(file, {"stations.caster.width": "1100 mm"})

    text = file.read_text(encoding="utf-8")
    assert difference(SMALL, text) == ["-     width: 1034 mm      # as cast", "+     width: 1100 mm      # as cast"]
    assert saved.digest == load(file).digest


def test_comments_survive_every_save(file: Path) -> None:
    save(
        file,
        {
            "stations.slitter.machines": 2,
            "stations.slitter.setup.needs": "crane",
            "stations.mill.failures.strip break.repair": {
                "triangular": {"low": "5 min", "mode": "9 min", "high": "1 h"}
            },
            "stations.mill.failures.mill stop.scrap": "0.2 t",
            "stations.mill.rolls.heating": "3 h",
            "patterns.A.trim": "20 mm",
            "shared.crane": 2,
            "start": "empty",
        },
    )
    text = file.read_text(encoding="utf-8")

    for comment in ("# invented", "# the bath keeps its heel", "# as cast"):
        assert comment in text
    assert "setup: {time: 48 min, needs: crane}" in text
    assert text.endswith("start: empty\n")
    assert [line.split(":")[0] for line in text.splitlines() if line and not line[0].isspace()][:3] == [
        "passline",
        "name",
        "metal",
    ]


def test_a_copy_may_be_saved_under_another_name(file: Path) -> None:
    other = file.with_name("other.yaml")
    save(other, {"name": "Another line"}, source=file)

    assert load(other).name == "Another line"
    assert file.read_text(encoding="utf-8") == SMALL


def test_a_whole_text_is_saved_as_it_is(file: Path) -> None:
    text = changed(SMALL, "57 km", "60 km")
    save(file, text)

    assert file.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    "changes",
    [
        {"stations.slitter.machines": 400},
        {"stations.sliter.machines": 2},
        {"stations.slitter.machines": 2, "stations.furnace.pour": "300 degC"},
        {"stations": {}},
    ],
)
def test_what_is_at_fault_is_never_written(file: Path, changes: dict[str, object]) -> None:
    with pytest.raises(ScenarioError):
        save(file, changes)

    assert file.read_text(encoding="utf-8") == SMALL
    assert list(file.parent.iterdir()) == [file]


def test_a_write_that_fails_half_way_leaves_the_old_file(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_space(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", no_space)
    with pytest.raises(OSError, match="No space left"):
        save(file, {"stations.slitter.machines": 2})

    assert file.read_text(encoding="utf-8") == SMALL
    assert list(file.parent.iterdir()) == [file]


def test_a_link_stays_a_link_and_rights_are_kept(file: Path) -> None:
    file.chmod(0o640)
    link = file.with_name("link.yaml")
    link.symlink_to(file)
    save(link, {"stations.slitter.machines": 2})

    assert link.is_symlink()
    assert load(file).stations["slitter"].machines == 2
    assert file.stat().st_mode & 0o777 == 0o640


def test_windows_line_ends_are_kept(file: Path) -> None:
    file.write_bytes(SMALL.replace("\n", "\r\n").encode())
    save(file, {"stations.mill.crop": "2.2 %", "stations.slitter.machines": 2})

    data = file.read_bytes()
    assert data.count(b"\n") == data.count(b"\r\n") == SMALL.count("\n") + 1


def test_a_value_that_an_alias_shares_is_not_changed_behind_its_back() -> None:
    text = changed(changed(SMALL, "width: 1034 mm", "width: &wide 1034 mm"), "girth: 500 mm", "girth: *wide")
    text = changed(text, "{ring 500: 2}", "{ring 500: 1}")
    assert loads(text).products["ring 500"].girth == 1.034

    with pytest.raises(ValueError, match="shared through an alias"):
        with_changes(text, {"stations.caster.width": "1100 mm"})


def test_block_lists_and_mappings_may_be_replaced_as_a_whole(file: Path) -> None:
    save(file, {"stations.mill.failures": [{"reason": "no", "every": "9 h", "repair": "1 h"}]})
    text = file.read_text(encoding="utf-8")

    assert '{reason: "no", every: 9 h, repair: 1 h}' in text
    assert "# as cast" in text
    assert [failure.reason for failure in load(file).stations["mill"].failures] == ["no"]


def test_a_new_file_takes_the_orders_that_lie_beside_it(file: Path) -> None:
    (file.parent / "orders.csv").write_text("order,product,quantity,due\n1,gutter 333,600 pieces,2026-03-20\n")
    file.write_text(SMALL + "orders: orders.csv\n", encoding="utf-8")

    saved = save(file.parent / "new.yaml", {"stations.caster.width": "1100 mm"}, source=file)

    assert [order.product for order in saved.orders] == ["gutter 333"]
    assert load(file.parent / "new.yaml").digest == saved.digest


SETTINGS = [setting for setting in numbers(loads(SMALL)) if setting.kind in ("time", "count", "mass")]


@settings(max_examples=10, deadline=None)
@given(st.lists(st.sampled_from(SETTINGS), min_size=1, max_size=2, unique=True))
def test_saved_text_holds_what_was_set_and_keeps_all_comments(chosen: list[object]) -> None:
    changes = {setting.path: f"{setting.text} " for setting in SETTINGS if setting in chosen}
    text = with_changes(SMALL, changes)

    assert loads(text).digest == loads(SMALL).digest
    assert text.count("#") == SMALL.count("#")


@given(
    st.recursive(
        st.booleans() | st.integers(-(10**9), 10**9) | st.text(max_size=12).filter(str.isprintable),
        lambda inner: (
            st.lists(inner, max_size=3) | st.dictionaries(st.text("abc ,:{", min_size=1).filter(str.strip), inner)
        ),
        max_leaves=5,
    )
)
def test_any_plain_value_reads_back_as_it_was_written(value: object) -> None:
    text = f"x: {flow_text(value)}\n"

    assert read_tree(text, "x").value == {"x": value}
