"""A day at first sight says how its sentence begins, which the whole answer goes on with; it names no cause."""

from review_days import line, made_log

from twin.study.review import explained
from twin.study.review_day import days_of, prepare_day
from twin.study.review_first import ReviewStep, sight_of


def test_the_sentence_begins_as_it_will_stand_and_the_day_lies_in_the_same_fan() -> None:
    small = line()
    log = made_log(small, days=9, seed=8)
    sight = sight_of(prepare_day(small, log, days_of(small, log)[3]), runs=12, seed=5)
    first, whole = sight.first, explained(sight, sure=False)
    opening = first.verdict.parts

    assert opening
    assert opening == whole.verdict.parts[: len(opening)]
    assert whole.verdict.sure.startswith(first.verdict.sure)
    assert (first.fan.quantiles_t, first.fan.actual_t) == (whole.fan.quantiles_t, whole.fan.actual_t)
    assert not first.fan.replay_t
    assert len(whole.fan.replay_t) == len(whole.fan.actual_t)


def test_each_stage_is_told_of_in_its_turn_and_never_goes_back() -> None:
    small = line()
    log = made_log(small, days=9, seed=8)
    told: list[ReviewStep] = []
    sight = sight_of(prepare_day(small, log, days_of(small, log)[3]), runs=12, seed=5, progress=told.append)
    explained(sight, progress=told.append)
    stages = [step.stage for step in told]

    assert list(dict.fromkeys(stages)) == ["expected", "causes", *["sure"] * ("sure" in stages)]
    expected = [step.done for step in told if step.stage == "expected"]
    assert expected == [10, 12]
