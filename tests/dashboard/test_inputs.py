"""What has changed between two states of a scenario file is said in the plant's own words."""

from __future__ import annotations

from dashboard.inputs import changes, words

BEFORE = {"stores\0cast coils\0capacity": "46 coils", "time\0length": "20 weeks", "stations\0mill\0crop": "2.2 %"}


def test_a_changed_value_is_named_with_both_values() -> None:
    now = BEFORE | {"stores\0cast coils\0capacity": "60 coils"}

    assert changes(BEFORE, now) == ["cast coils, capacity: 46 coils → 60 coils"]


def test_what_is_new_and_what_is_gone_is_told_apart() -> None:
    now = {"time\0length": "20 weeks", "stations\0mill\0crop": "2.2 %", "stations\0mill\0speed_factor": "0.8"}

    assert changes(BEFORE, now) == [
        "mill, speed factor is new: 0.8",
        "cast coils, capacity is left out, was 46 coils",
    ]


def test_only_the_first_few_changes_are_told() -> None:
    now = {f"stations\0mill\0part {number}": "1" for number in range(7)}

    told = changes({}, now)

    assert len(told) == 4
    assert told[-1] == "and 4 more"


def test_nothing_changed_is_nothing_told() -> None:
    assert changes(BEFORE, dict(BEFORE)) == []


def test_a_path_reads_as_words() -> None:
    assert words("stations\0mill\0rolls\0change_after") == "mill, rolls, change after"
    assert words("metal") == "metal"
