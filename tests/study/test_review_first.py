"""A day at first sight says what the whole answer says later, and names no cause."""

import pytest
from review_days import line, made_log

from twin.study.review import review_day
from twin.study.review_answer import Review
from twin.study.review_day import Day, days_of, prepare_day
from twin.study.review_first import FirstSight, first_sight

LATER = {"verdict", "fan"}


@pytest.fixture(scope="module")
def both() -> tuple[FirstSight, Review]:
    """Return a day at first sight and explained."""
    small = line()
    log = made_log(small, days=9, seed=8)
    day: Day = prepare_day(small, log, days_of(small, log)[3])
    return first_sight(day, runs=12, seed=5), review_day(day, runs=12, seed=5, sure=False)


@pytest.mark.parametrize("name", sorted({*FirstSight.__annotations__} - LATER))
def test_nothing_that_was_said_at_first_sight_changes_later(both: tuple[FirstSight, Review], name: str) -> None:
    first, whole = both
    assert getattr(first, name) == getattr(whole, name)


def test_the_sentence_begins_as_it_will_stand_and_the_day_lies_in_the_same_fan(both: tuple[FirstSight, Review]) -> None:
    first, whole = both
    opening = first.verdict.parts

    assert opening
    assert opening == whole.verdict.parts[: len(opening)]
    assert first.verdict.sure == whole.verdict.sure
    assert (first.fan.quantiles_t, first.fan.actual_t) == (whole.fan.quantiles_t, whole.fan.actual_t)
