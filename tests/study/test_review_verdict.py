"""The two sentences on top of a review: what somebody reads in five seconds before a shift."""

import pytest
from review_days import line, planted_day

from twin.study.review import review
from twin.study.review_answer import Review
from twin.study.review_day import days_of

LONGEST = 160
"""Signs: four lines of 40 on the screen of a telephone; about what is read in five seconds (from memory)."""


@pytest.fixture(scope="module")
def answers() -> list[Review]:
    """Return days with planted stops."""
    made = [planted_day(line(), seed) for seed in (3, 4, 5)]
    return [review(plant, log, days_of(plant, log)[0], runs=20) for plant, log in made]


def test_the_sentences_are_two_and_short(answers: list[Review]) -> None:
    for one in answers:
        said = one.verdict.text
        assert len(said) <= LONGEST
        assert said.rstrip().count(". ") == 1
        first, second = said.rstrip().split(". ")
        assert first.startswith(("An ordinary day: ", "Not an ordinary day: "))
        assert second.startswith(("Largest ", "The largest cause cannot be told", "No single cause"))


def test_a_cause_that_is_named_comes_with_its_tonnes_and_how_sure_it_is(answers: list[Review]) -> None:
    named = [one for one in answers if "Largest cause" in one.verdict.text]
    assert named
    for one in named:
        top = max(one.ladder, key=lambda own: abs(own.t))
        assert top.cause in one.verdict.text
        assert "; sure in " in one.verdict.text


def test_what_the_sentences_leave_out_stands_in_the_line_below(answers: list[Review]) -> None:
    for one in answers:
        assert "is as low" in one.verdict.sure or "is as high" in one.verdict.sure
        assert "rows of output" in one.verdict.sure
        assert ("stay unexplained" in one.verdict.sure) == (
            abs(one.unexplained_t) >= max(1.0, 0.01 * one.expected.mean_t)
        )
