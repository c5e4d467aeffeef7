"""The active-period method on cases that can be followed by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from twin.indicators.bottleneck import (
    ACTIVE,
    CLOSED,
    HELD,
    Periods,
    Timeline,
    active_periods,
    all_active,
    limit_shares,
    momentary,
    momentary_bottleneck,
    state_code,
)


def periods(*ends: tuple[float, float]) -> Periods:
    """Write active periods as pairs of start and end."""
    return Periods(np.array([a for a, _ in ends], dtype=float), np.array([b for _, b in ends], dtype=float))


def rows(*lines: tuple[str, int, str, str, bool, float, float]) -> dict[str, np.ndarray]:
    """Write a table of states row by row."""
    names = ("station", "machine", "state", "reason", "slowed", "start_s", "end_s")
    return {name: np.array([line[i] for line in lines]) for i, name in enumerate(names)}


def spans(timeline: Timeline) -> list[tuple[float, float, str]]:
    """Read a timeline as rows."""
    return list(zip(timeline.start_s.tolist(), timeline.end_s.tolist(), timeline.station.tolist(), strict=True))


def test_three_stations_by_hand() -> None:
    """First is active 0-4 and 6-10, second 0-7, third 3-10, each followed on paper.

    0-3: the second's 7 beats the first's 4. 3-7: second and third both have 7, the one further down the
    line takes it. 7-10: the third's 7 beats the first's 4.
    """
    start, end, who = momentary_bottleneck([periods((0, 4), (6, 10)), periods((0, 7)), periods((3, 10))])

    assert list(zip(start, end, who, strict=True)) == [(0.0, 3.0, 1), (3.0, 10.0, 2)]


def test_the_bottleneck_shifts_where_the_longer_period_begins() -> None:
    """The first is active 0-100, the second 60-250: the longer one takes over at 60, not at 100."""
    start, end, who = momentary_bottleneck([periods((0, 100)), periods((60, 250))])

    assert list(zip(start, end, who, strict=True)) == [(0.0, 60.0, 0), (60.0, 250.0, 1)]


def test_nobody_limits_while_nobody_is_active() -> None:
    start, end, who = momentary_bottleneck([periods((0, 2), (5, 6))])

    assert list(zip(start, end, who, strict=True)) == [(0.0, 2.0, 0), (5.0, 6.0, 0)]


def test_a_closed_night_between_work_and_work_is_bridged() -> None:
    """A slitter with coils in front, open 6-14 and 30-38 h: one period of 32 h."""
    found = active_periods(np.array([6.0, 14.0, 30.0]), np.array([ACTIVE, CLOSED, ACTIVE]), 38.0)

    assert found.start.tolist() == [6.0]
    assert found.end.tolist() == [38.0]


def test_a_closed_night_after_the_last_coil_is_not() -> None:
    found = active_periods(np.array([6.0, 13.0, 14.0, 30.0]), np.array([ACTIVE, HELD, CLOSED, ACTIVE]), 38.0)

    assert found.start.tolist() == [6.0, 30.0]
    assert found.end.tolist() == [13.0, 38.0]


def test_a_closed_night_before_an_empty_store_is_not() -> None:
    found = active_periods(np.array([6.0, 14.0, 30.0, 31.0]), np.array([ACTIVE, CLOSED, HELD, ACTIVE]), 38.0)

    assert found.start.tolist() == [6.0, 31.0]
    assert found.end.tolist() == [14.0, 38.0]


def test_at_the_ends_of_the_record_the_known_side_decides() -> None:
    found = active_periods(np.array([0.0, 6.0, 14.0]), np.array([CLOSED, ACTIVE, CLOSED]), 24.0)

    assert (found.start.tolist(), found.end.tolist()) == ([0.0], [24.0])


def test_a_machine_that_never_opens_limits_nothing() -> None:
    assert active_periods(np.array([0.0]), np.array([CLOSED]), 24.0).start.size == 0


def test_a_state_of_no_length_ends_no_period() -> None:
    """Between two coils a machine is idle for an instant that has no length."""
    found = active_periods(np.array([0.0, 5.0, 5.0]), np.array([ACTIVE, HELD, ACTIVE]), 9.0)

    assert (found.start.tolist(), found.end.tolist()) == ([0.0], [9.0])


def test_of_two_machines_side_by_side_both_must_be_active() -> None:
    both = all_active([periods((0, 10), (12, 20)), periods((4, 15))])

    assert (both.start.tolist(), both.end.tolist()) == ([4.0, 12.0], [10.0, 15.0])


def test_machines_that_touch_without_overlap_are_never_active_together() -> None:
    both = all_active([periods((0, 5)), periods((5, 9))])

    assert both.start.size == both.end.size == 0


@pytest.mark.parametrize(
    ("state", "reason", "slowed", "code"),
    [
        ("running", "", False, ACTIVE),
        ("running", "", True, HELD),
        ("setup", "", False, ACTIVE),
        ("changing_rolls", "", False, ACTIVE),
        ("down", "jam", False, ACTIVE),
        ("waiting", "crane", False, ACTIVE),
        ("waiting", "roll set", False, HELD),
        ("starved", "", False, HELD),
        ("blocked", "", False, HELD),
        ("closed", "", False, CLOSED),
    ],
)
def test_what_counts_as_active_is_what_is_the_stations_own(state: str, reason: str, slowed: bool, code: int) -> None:
    assert state_code(state, reason, slowed) == code


def test_a_mill_without_a_roll_set_hands_the_limit_to_the_roll_shop() -> None:
    """Mill 0-6 running, then waiting for a set until 20, then running; the shop grinds 2-20."""
    states = rows(
        ("mill", 1, "running", "", False, 0.0, 6.0),
        ("mill roll shop", 1, "starved", "", False, 0.0, 2.0),
        ("mill roll shop", 1, "running", "", False, 2.0, 20.0),
        ("mill", 1, "waiting", "roll set", False, 6.0, 20.0),
        ("mill", 1, "running", "", False, 20.0, 22.0),
        ("mill roll shop", 1, "starved", "", False, 20.0, 22.0),
    )
    found = momentary(states)

    assert spans(found) == [(0.0, 2.0, "mill"), (2.0, 20.0, "mill roll shop"), (20.0, 22.0, "mill")]
    assert limit_shares(found, 22.0) == {"mill": 4.0 / 22.0, "mill roll shop": 18.0 / 22.0}


@given(st.lists(st.lists(st.integers(0, 60), min_size=0, max_size=12, unique=True).map(sorted), min_size=1, max_size=5))
def test_whoever_limits_is_active_and_nobody_active_has_a_longer_period(stations: list[list[int]]) -> None:
    """The definition, checked moment by moment against a plain search."""
    made = [periods(*zip(ends[::2], ends[1::2], strict=False)) for ends in stations]
    start, end, who = momentary_bottleneck(made)
    covered = 0.0
    for a, b, winner in zip(start, end, who, strict=True):
        middle = a + (b - a) / 2.0
        lengths = [max((q - p for p, q in zip(*one, strict=True) if p <= middle < q), default=0.0) for one in made]
        assert lengths[winner] == max(lengths) > 0.0
        covered += b - a
    moments = sorted({edge for ends in stations for edge in ends})
    expected = sum(
        b - a
        for a, b in zip(moments, moments[1:], strict=False)
        if any(p <= a and b <= q for one in made for p, q in zip(*one, strict=True))
    )
    assert covered == pytest.approx(expected, abs=1e-9)
