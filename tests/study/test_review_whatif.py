"""The curve of a day with one event otherwise beside that of the day itself."""

import numpy as np
import pytest
from review_days import line, log_made_by, on_monday

from twin.line import Scripts
from twin.study.review import whatif
from twin.study.review_answer import Edit
from twin.study.review_booked import booked, moments
from twin.study.review_day import prepare_day
from twin.study.review_events import events_of


def test_a_day_without_a_stop_parts_from_the_day_when_the_stop_begins_and_ends_at_what_it_would_have_given() -> None:
    now = on_monday(line(), run=2)
    log = log_made_by(now, 7, Scripts(stops={("slitter", 1, "strip break"): ((2 * 3600.0, 4 * 3600.0),)}))
    day = prepare_day(now, log, now.time.start.date())
    stop = next(own for own in events_of(day) if own.reason == "strip break")
    found = whatif(day, [Edit(stop.number, remove=True)])
    curve, actual = np.array(found.curve_t), np.array(booked(day).curve_t)
    before = moments(day) <= stop.start_s

    assert found.change_t > 10.0
    assert curve[-1] == pytest.approx(found.made_t)
    assert before.any()
    assert curve[before] == pytest.approx(actual[before], abs=1e-9)
    assert (curve - actual)[~before].max() > 10.0
