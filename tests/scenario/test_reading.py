import json
import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario_texts import QUEUE, SMALL, changed

from twin.scenario import Scenario, ScenarioError, load, loads
from twin.scenario.reading import LARGEST, read_tree


def faults(text: str) -> list[str]:
    with pytest.raises(ScenarioError) as caught:
        loads(text)
    return [f"{fault.line}: {fault.place}: {fault.message}" for fault in caught.value.faults]


def test_words_and_times_of_day_stay_text() -> None:
    """YAML 1.2.2, section 10.3 (core schema): only true and false are truths, only decimal digits make numbers."""
    tree = read_tree("a: no\nb: on\nc: 06:00\nd: 190:20:30\ne: 1_000\nf: 0x10\ng: 2026-03-02\nh: 'true'\ni: =\n", "x")

    assert tree.value == {
        "a": "no",
        "b": "on",
        "c": "06:00",
        "d": "190:20:30",
        "e": "1_000",
        "f": "0x10",
        "g": "2026-03-02",
        "h": "true",
        "i": "=",
    }


def test_plain_numbers_truths_and_nothing_are_read() -> None:
    tree = read_tree("a: 12\nb: -1.5e3\nc: true\nd: ~\ne:\nf: .5\n", "x")

    assert tree.value == {"a": 12, "b": -1500.0, "c": True, "d": None, "e": None, "f": 0.5}


def test_the_directive_of_an_older_yaml_changes_nothing() -> None:
    assert read_tree("%YAML 1.1\n---\na: no\nb: 14:30\n", "x").value == {"a": "no", "b": "14:30"}


def test_every_value_knows_its_line() -> None:
    tree = read_tree("a: 1\nb:\n  - x\n  - {c: 2,\n     d: 3}\n", "x")

    assert tree.line(("a",)) == 1
    assert tree.line(("b", 0)) == 3
    assert tree.line(("b", 1, "d")) == 5
    assert tree.line(("b", 1, "not", "there")) == 4


def test_the_blank_after_a_colon_may_be_missing_before_a_bracket() -> None:
    spaced, tight = "stores:\n  coil and sheet: {holds: coils}\n", "stores:\n  coil and sheet:{holds: coils}\n"

    assert read_tree(tight, "x").value == read_tree(spaced, "x").value
    assert read_tree('a: "b:{c"\nd: e f:{g\n# h:{i\n', "x").value == {"a": "b:{c", "d": "e f:{g"}


def test_an_alias_repeats_a_value() -> None:
    text = changed(changed(QUEUE, "queue: {", "queue: &store {"), "done: {holds: coils}", "done: *store")

    assert loads(text).stores["done"].holds == "coils"


def test_a_file_that_is_too_large_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "large.yaml"
    path.write_text("# " + "x" * LARGEST)

    with pytest.raises(ScenarioError, match="larger than a scenario can be"):
        load(path)


@pytest.mark.parametrize("sign", ["\\x07", "\\e[31m", "\\0", "\\x9b", "\\u202e", "\\n", "\\t"])
def test_a_name_that_would_steer_the_screen_is_refused(sign: str) -> None:
    name = "name: Two machines behind one queue"

    assert ["steers the screen" in fault for fault in faults(changed(QUEUE, name, f'name: "Two{sign}"'))] == [True]
    assert ["steers the screen" in fault for fault in faults(QUEUE + f'options: {{"a{sign}": {{set: {{}}}}}}\n')] == [
        True
    ]


def test_a_text_about_the_plant_may_have_several_lines() -> None:
    assert loads(QUEUE + "about: |\n  One line,\n  \tand another.\n").about == "One line,\n\tand another.\n"


def test_a_text_that_is_too_large_is_refused() -> None:
    assert faults("# " + "x" * LARGEST) == ["0: : the text is larger than a scenario can be"]


def test_too_many_values_are_refused() -> None:
    assert "more values than a scenario can have" in faults("a: [" + "1," * 20_001 + "]")[0]


@pytest.mark.parametrize(
    ("name", "words"), [("not_there.yaml", "no such file"), (".", "not a file"), ("a\0b", "cannot be read")]
)
def test_what_is_no_file_is_told_plainly(tmp_path: Path, name: str, words: str) -> None:
    with pytest.raises(ScenarioError, match=words):
        load(f"{tmp_path}/{name}")


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")

    with pytest.raises(ScenarioError, match="not a file"):
        load(tmp_path / "pipe")


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "windows.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + QUEUE.replace("\n", "\r\n").encode())

    assert load(path).digest == loads(QUEUE).digest


def test_all_faults_of_a_file_are_told_in_its_order() -> None:
    text = SMALL
    for old, new in (
        ("6.5 t/h", "6.5 tonn/h"),
        ("rest: 14 h", "rest: 14"),
        ("[gutter 333]", "[gutter 332]"),
        ("zone:", "zoen:"),
    ):
        text = changed(text, old, new)

    lines = [int(fault.split(":")[0]) for fault in faults(text)]
    assert len(lines) == 4
    assert lines == sorted(lines)


SLICES = st.tuples(st.integers(0, len(SMALL)), st.integers(0, 40), st.text(max_size=8))


@settings(max_examples=60, deadline=None)
@given(st.lists(SLICES, min_size=1, max_size=3))
def test_a_damaged_file_is_read_or_refused_but_never_breaks_the_program(damages: list[tuple[int, int, str]]) -> None:
    text = SMALL
    for place, length, instead in damages:
        text = text[:place] + instead + text[place + length :]
    try:
        assert isinstance(loads(text), Scenario)
    except ScenarioError as error:
        assert all(fault.message for fault in error.faults)


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=6),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)
LINES = st.sampled_from([number for number, line in enumerate(SMALL.splitlines()) if ": " in line and "#" not in line])


@settings(max_examples=80, deadline=None)
@given(LINES, VALUES)
def test_any_value_in_any_place_is_read_or_refused(number: int, value: object) -> None:
    lines = SMALL.splitlines()
    lines[number] = lines[number].split(": ", 1)[0] + ": " + json.dumps(value)
    try:
        loads("\n".join(lines))
    except ScenarioError as error:
        assert all(fault.message for fault in error.faults)
