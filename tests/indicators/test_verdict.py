"""The sentence on top."""

from typing import Any

import pytest

from twin.indicators import verdict
from twin.indicators.verdict import length_in_words


def results(
    shares: dict[str, float | None], half: float | None = 0.0714, runs: int = 20, off: float | None = None
) -> dict[str, Any]:
    """Return results of a line that makes 619 t/week, held as `shares` say, give or take `off`."""
    mean = 619.0 / 168.0
    low, high = (None, None) if half is None else (mean - half, mean + half)
    return {
        "line": {"good": {"mean": mean, "low": low, "high": high, "unit": "t/h"}},
        "stations": {name: {} for name in shares if not name.endswith("roll shop")},
        "bottleneck": {name: {"share": around(part, off)} for name, part in shares.items()},
        "runs": runs,
        "length_h": 3360.0,
        "warm_up_h": 1008.0,
    }


def around(mean: float | None, off: float | None) -> dict[str, float | None]:
    """Return a share and its interval, which is unknown from one run."""
    ends = (None, None) if mean is None or off is None else (mean - off, mean + off)
    return {"mean": mean, "low": ends[0], "high": ends[1]}


def text(shares: dict[str, float | None]) -> str:
    """Return the sentence with plain spaces."""
    return verdict(results(shares)).text.replace("\u00a0", " ")


def test_two_limits_are_named_together() -> None:
    assert text({"mill": 0.12, "slitter": 0.55, "mill roll shop": 0.31}) == (
        "The line makes 619 ± 12 t/week. The slitter holds it for 55 % of the time and the roll shop for 31 %: "
        "free one, and the other takes over."
    )


def test_a_share_of_the_time_is_told_with_how_sure_it_is() -> None:
    shares: dict[str, float | None] = {"slitter": 0.69, "mill roll shop": 0.31}
    said = verdict(results(shares, off=0.201))
    assert "holds it for 69 ± 20 % of the time and the roll shop for 31 ± 20 %:" in said.text.replace("\u00a0", " ")
    assert [part.text.replace("\u00a0", " ") for part in said.parts if part.soft] == [" ± 12", " ± 20", " ± 20"]
    assert "for 69 % of the time" in verdict(results(shares, off=0.004)).text.replace("\u00a0", " ")


def test_one_limit_is_named_alone() -> None:
    assert (
        text({"mill": 0.93, "slitter": 0.05})
        == "The line makes 619 ± 12 t/week. The mill holds it for 93 % of the time."
    )


def test_where_nobody_limits_for_long_it_is_said() -> None:
    assert text({"mill": 0.01}).endswith("Nothing in it holds it back for long.")


def test_without_a_record_of_activity_no_limit_is_claimed() -> None:
    assert text({"mill": None}) == "The line makes 619 ± 12 t/week."


def test_of_two_roll_shops_each_has_its_name() -> None:
    assert "the hot mill roll shop for 40 %" in text(
        {"hot mill roll shop": 0.4, "cold mill roll shop": 0.5, "saw": 0.1}
    )


def test_one_run_claims_no_interval() -> None:
    said = verdict(results({"mill": 0.93}, None, 1))

    assert "±" not in said.text
    assert said.sure.startswith("One simulated run of")
    assert "no interval" in said.sure


def test_how_sure_names_runs_length_and_warm_up() -> None:
    sure = verdict(results({"mill": 0.93})).sure.replace("\u00a0", " ")

    assert sure == "20 simulated runs of 20 weeks each after 6 weeks of warm-up, 95 % interval."


def test_what_the_sentence_is_about_is_strong_and_its_half_width_soft() -> None:
    parts = verdict(results({"slitter": 0.55, "mill": 0.4})).parts

    assert [part.text for part in parts if part.strong] == ["619", "The slitter", "the mill"]
    assert [part.text.replace("\u00a0", " ") for part in parts if part.soft] == [" ± 12"]


@pytest.mark.parametrize(
    ("hours", "words"),
    [(168.0, "1 week"), (336.0, "2 weeks"), (24.0, "1 day"), (50.0, "50.0 h"), (50000.0, "50'000 h")],
)
def test_lengths_are_whole_weeks_or_days_where_they_are_so(hours: float, words: str) -> None:
    assert length_in_words(hours).replace("\u00a0", " ").replace("\u202f", "'") == words
