import re
from pathlib import Path

import pytest
from pydantic import BaseModel
from scenario_texts import QUEUE, SMALL, changed

from twin.scenario import loads
from twin.scenario.grammar import Key, keys, parts
from twin.scenario.laws import NAMES
from twin.scenario.markers import Marker
from twin.scenario.models import Scenario
from twin.scenario.orders import COLUMNS
from twin.scenario.quantities import UNITS
from twin.scenario.reading import read_tree
from twin.scenario.reference import page

EVERY_KEY = [(part, key) for part in parts() for key in keys(part)]


def test_the_page_is_current(root: Path) -> None:
    """Run python -m twin.scenario.reference to write it anew."""
    assert (root / "docs" / "scenario.md").read_text(encoding="utf-8") == page()


@pytest.mark.parametrize(
    ("part", "key"), EVERY_KEY, ids=lambda value: getattr(value, "key", getattr(value, "__name__", ""))
)
def test_every_key_has_a_meaning_and_an_example_and_stands_on_the_page(part: type[BaseModel], key: Key) -> None:
    assert key.description.endswith(".")
    assert key.examples or key.part is not None
    assert f"| {key.key} |" in page() or f"| **{key.key}** |" in page()


@pytest.mark.parametrize(
    ("key", "marker"),
    [(key, key.marker) for _, key in EVERY_KEY if key.marker is not None],
    ids=lambda value: getattr(value, "key", ""),
)
def test_every_example_is_read(key: Key, marker: Marker) -> None:
    class Info:
        context = {"currency": "EUR"}

    for example in key.examples:
        raw = read_tree(f"x: {example}\n", "example").value["x"]
        if key.key == "ramp":
            assert [marker.read(item, Info()) for item in raw] == [0.5, 0.85, 1.0]  # type: ignore[arg-type]
        else:
            marker.read(raw, Info())  # type: ignore[arg-type]


def test_every_part_law_and_unit_stands_on_the_page() -> None:
    text = page()

    for part in parts():
        assert part is Scenario or (part.__doc__ or "x").splitlines()[0] in text, part.__name__
    for name in NAMES:
        assert f"`{{{name}: " in text
    for unit in UNITS:
        assert f"`{unit}`" in text


def test_the_yaml_of_the_page_runs() -> None:
    blocks = re.findall(r"```yaml\n(.*?)```", page(), re.DOTALL)
    whole = [block for block in blocks if block.startswith("passline")]
    calendars = next(block for block in blocks if block.startswith("calendars"))
    start = next(block for block in blocks if block.startswith("start"))

    assert loads(whole[0]).name
    assert set(loads(QUEUE + calendars).calendars) == {"continuous", "relay", "two shifts", "nights"}
    assert read_tree(start, "start").value["start"]["rolls"]["mill"]["sets"] == {"ready": 2, "cooling": 1, "waiting": 1}
    assert ",".join(COLUMNS) in page()


def test_the_start_of_the_page_fits_a_plant() -> None:
    start = re.findall(r"```yaml\n(start.*?)```", page(), re.DOTALL)[0]
    for old, new in (
        ("cooling store", "rolled coils"),
        ("W: 3", "H: 3"),
        ("holds: D", "holds: H"),
        ("slitter stop", "knife"),
    ):
        start = start.replace(old, new)
    failures = "failures: [{reason: knife, every: 9 h, repair: 1 h}]"
    text = changed(SMALL, "setup: 48 min,", f"setup: 48 min, machines: 2, {failures},")

    assert loads(text + start).start.machines["slitter"][1].reason == "knife"
