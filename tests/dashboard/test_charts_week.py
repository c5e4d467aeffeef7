"""A packed week says what the trace said: states, levels, figures, limits, and the clock on the wall."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from charts_example import PLANT, WEEK_S, machines, stores, week
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard.charts.moment import moment, time_text
from dashboard.charts.pieces import hours_of, merged, pieces, visible
from dashboard.charts.plant import Plant, Station, Store
from dashboard.charts.week import (
    Day,
    Figure,
    Limits,
    MachineTrace,
    StoreTrace,
    Week,
    days_between,
    digits_for,
    week_data,
)

VIENNA = ZoneInfo("Europe/Vienna")
ONE = Plant((Station("mill", "mill", ("yard",), ()),), (Store("yard", "coils", 10), Store("loop", "strip", 5)))
DAY = [Day(0.0, "Mon 16 Nov", "Mon")]


def packed(
    machine: MachineTrace | None = None, store: StoreTrace | None = None, clock: tuple[float, float] = (0.0, 100.0)
) -> Week:
    return week_data(ONE, clock=clock, days=DAY, machines=[machine] if machine else [], stores=[store] if store else [])


def test_the_states_of_a_machine_come_out_as_they_went_in() -> None:
    for i, trace in enumerate(machines()):
        hours = hours_of(pieces(week(), i))
        given_hours: dict[str, float] = {}
        for start, end, state in zip(trace.start_s, trace.end_s, trace.state, strict=True):
            given_hours[state] = given_hours.get(state, 0.0) + (end - start) / 3600.0
        # whole seconds are kept, so each of the stretches may be off by half a second at both ends
        allowed = len(trace.start_s) / 3600.0
        assert hours == pytest.approx({key: value for key, value in given_hours.items() if value > 0}, abs=allowed)


def test_the_states_of_every_machine_fill_the_week() -> None:
    for i in range(len(week()["machines"])):
        found = pieces(week(), i)
        assert found[0].start == 0
        assert found[-1].end == WEEK_S
        assert all(a.end == b.start for a, b in zip(found, found[1:], strict=False))


def test_a_stretch_cut_from_the_middle_keeps_what_was_going_on() -> None:
    trace = MachineTrace("mill", 1, [0.0, 40.0, 60.0], [40.0, 60.0, 200.0], ["running", "down", "running"])
    cut = packed(trace, clock=(50.0, 150.0))

    assert [(p.start, p.end, p.state) for p in pieces(cut, 0)] == [(0, 10, "down"), (10, 100, "running")]


def test_time_without_a_record_is_shown_as_such_and_never_filled() -> None:
    trace = MachineTrace("mill", 1, [10.0, 60.0], [40.0, 90.0], ["running", "running"])
    states = [(p.start, p.end, p.state) for p in pieces(packed(trace), 0)]

    assert states == [
        (0, 10, "no_record"),
        (10, 40, "running"),
        (40, 60, "no_record"),
        (60, 90, "running"),
        (90, 100, "no_record"),
    ]


def test_a_state_nobody_knows_is_a_missing_record() -> None:
    trace = MachineTrace("mill", 1, [0.0], [100.0], ["dreaming"])

    assert pieces(packed(trace), 0)[0].state == "no_record"


def test_waiting_says_for_what_and_slowed_says_so() -> None:
    trace = MachineTrace("mill", 1, [0.0, 50.0], [50.0, 100.0], ["waiting", "running"], [False, True], ["roll set", ""])
    cut = packed(trace)

    assert moment(cut, 10.0).machines["mill"][0].word == "waits: roll set"
    assert moment(cut, 60.0).machines["mill"][0].word == "runs slowed"


def test_machines_of_a_station_stand_in_the_order_of_their_numbers() -> None:
    both = [MachineTrace("mill", number, [0.0], [100.0], ["running"]) for number in (2, 1)]
    cut = week_data(ONE, clock=(0.0, 100.0), days=DAY, machines=both)

    assert [machine["number"] for machine in cut["machines"]] == [1, 2]


def test_a_level_of_coils_stays_until_the_next_row() -> None:
    cut = packed(store=StoreTrace("yard", [0.0, 30.0, 60.0], [3.0, 4.0, 2.0]))

    assert [moment(cut, time).stores["yard"].level for time in (0, 29, 30, 59, 60, 99)] == [3, 3, 4, 4, 2, 2]


def test_a_level_of_strip_runs_straight_between_rows() -> None:
    cut = packed(store=StoreTrace("loop", [0.0, 40.0, 100.0], [0.0, 4.0, 1.0], linear=True))

    assert [moment(cut, time).stores["loop"].level for time in (0, 10, 40, 70, 100)] == [0.0, 1.0, 4.0, 2.5, 1.0]


def test_a_stretch_begins_with_the_level_it_inherits() -> None:
    steps = packed(store=StoreTrace("yard", [0.0, 200.0], [7.0, 8.0]), clock=(50.0, 150.0))
    lines = packed(store=StoreTrace("loop", [0.0, 200.0], [0.0, 4.0], linear=True), clock=(50.0, 150.0))

    assert moment(steps, 0.0).stores["yard"].level == 7.0
    assert moment(lines, 0.0).stores["loop"].level == pytest.approx(1.0)
    assert moment(lines, 100.0).stores["loop"].level == pytest.approx(3.0)


@settings(max_examples=80, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 30), st.integers(0, 50)), min_size=1, max_size=30), st.integers(0, 300))
def test_packing_changes_no_level_at_any_time(steps: list[tuple[int, int]], asked: int) -> None:
    time = [0.0]
    for gap, _ in steps[1:]:
        time.append(time[-1] + gap)
    level = [value / 10.0 for _, value in steps]
    clock = (0.0, time[-1] + 20.0)
    at = min(float(asked), clock[1])
    step = packed(store=StoreTrace("yard", time, level), clock=clock)
    line = packed(store=StoreTrace("loop", time, level, linear=True), clock=clock)

    holds = [value for start, value in zip(time, level, strict=True) if start <= at][-1]
    after = [(start, value) for start, value in zip(time, level, strict=True) if start > at]
    before = max(start for start in time if start <= at)
    straight = holds + (after[0][1] - holds) * (at - before) / (after[0][0] - before) if after else holds
    assert moment(step, at).stores["yard"].level == holds
    # a point is left out where the line without it is less than 0.001 away, neighbour by neighbour
    assert moment(line, at).stores["loop"].level == pytest.approx(straight, abs=0.001 * len(steps))


def test_coils_that_rest_are_told_from_those_that_may_be_taken() -> None:
    now = moment(week(), 3600.0).stores["cooling store"]
    free = moment(week(), 3600.0).stores["cast coils"]

    assert now.second == f"{now.ready:.0f} ready, {now.level - now.ready:.0f} cooling"
    assert free.first == f"{free.level:.0f} of 46\u00a0coils"


def test_a_bath_says_its_heel() -> None:
    now = moment(week(), 0.0).stores["bath"]

    assert (now.first, now.second) == ("18.0 of 26\u00a0t", "heel 13\u00a0t")


def test_a_small_store_shows_decimals() -> None:
    """0.3 t shown in whole tonnes would always read 0 of 0."""
    assert digits_for(Store("looper", "strip", 0.3)) == 2
    assert digits_for(Store("looper", "strip", 40)) == 0


def test_a_figure_runs_with_the_week_and_words_stay_until_the_next() -> None:
    figures = [
        Figure("mill", [0.0, 100.0], [0.0, 50.0], form="{} of 57 km"),
        Figure("yard", [0.0, 60.0], words=["3 × 333 mm", "5 × 200 mm"]),
    ]
    cut = week_data(ONE, clock=(0.0, 100.0), days=DAY, machines=[], figures=figures)

    assert moment(cut, 50.0).figures == {"mill": "25 of 57 km", "yard": "3 × 333 mm"}
    assert moment(cut, 60.0).figures["yard"] == "5 × 200 mm"


def test_what_limits_holds_until_the_next_change_and_may_be_nothing() -> None:
    limits = Limits([0.0, 40.0, 70.0], ["mill", "", "mill roll shop"])
    cut = week_data(ONE, clock=(0.0, 100.0), days=DAY, machines=[], limits=limits)

    assert [moment(cut, time).limit for time in (0.0, 39.0, 40.0, 70.0)] == ["mill", "mill", "", "mill roll shop"]


def test_a_week_that_ends_before_it_starts_is_refused() -> None:
    with pytest.raises(ValueError, match="this one goes from 5 s to 5 s"):
        packed(clock=(5.0, 5.0))


def test_the_clock_follows_the_wall_through_the_night_it_is_set_back() -> None:
    """Directive 2000/84/EC: summer time ends at 01:00 UTC on the last Sunday of October; 25 October 2026 in Vienna."""
    start = datetime(2026, 10, 24, tzinfo=VIENNA)
    days = days_between(start, 3 * 86400.0)
    cut = week_data(ONE, clock=(0.0, 3 * 86400.0), days=days, machines=[])

    # 02:30 comes twice, an hour apart; the day has 25 hours
    assert time_text(cut, 24 * 3600.0 + 2.5 * 3600.0) == "Sun 02:30"
    assert time_text(cut, 24 * 3600.0 + 3.5 * 3600.0) == "Sun 02:30"
    assert time_text(cut, 24 * 3600.0 + 4.5 * 3600.0) == "Sun 03:30"
    assert [day.start_s for day in days if day.label] == [0.0, 86400.0, 86400.0 + 25 * 3600.0]


def test_the_clock_follows_the_wall_through_the_night_it_is_set_forward() -> None:
    """Directive 2000/84/EC: summer time begins at 01:00 UTC on the last Sunday of March; 29 March 2026 in Vienna."""
    start = datetime(2026, 3, 29, tzinfo=VIENNA)
    days = days_between(start, 2 * 86400.0)
    cut = week_data(ONE, clock=(0.0, 2 * 86400.0), days=days, machines=[])

    assert time_text(cut, 1.75 * 3600.0) == "Sun 01:45"
    assert time_text(cut, 2.25 * 3600.0) == "Sun 03:15"
    assert [day.start_s for day in days if day.label] == [0.0, 23 * 3600.0, 47 * 3600.0]


def test_a_week_may_start_at_six_in_the_morning() -> None:
    days = days_between(datetime(2026, 3, 2, 6, 0, tzinfo=VIENNA), 86400.0)
    cut = week_data(ONE, clock=(0.0, 86400.0), days=days, machines=[])

    assert time_text(cut, 0.0) == "Mon 06:00"
    assert [day.start_s for day in days] == [0.0, 18 * 3600.0]


def test_a_start_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="has no zone"):
        days_between(datetime(2026, 3, 2), 86400.0)


def test_the_ready_coils_never_outnumber_those_there() -> None:
    cut = week()
    for time in range(0, int(WEEK_S), 7200):
        now = moment(cut, time).stores["cooling store"]
        assert now.ready <= now.level


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.tuples(st.integers(30, 5000), st.sampled_from("RSCDWEB-")), min_size=1, max_size=60),
    st.floats(60.0, 900.0),
)
def test_what_is_drawn_fills_the_same_time_and_keeps_every_change_and_stop_that_can_be_seen(
    lengths: list[tuple[int, str]], pixel_s: float
) -> None:
    states = {"R": "running", "S": "setup", "C": "changing_rolls", "D": "down", "W": "waiting", "E": "starved"}
    states |= {"B": "blocked", "-": "closed"}
    ends = [float(sum(length for length, _ in lengths[: i + 1])) for i in range(len(lengths))]
    trace = MachineTrace("mill", 1, [0.0, *ends[:-1]], ends, [states[code] for _, code in lengths])
    found = pieces(packed(trace, clock=(0.0, ends[-1])), 0)
    drawn = visible(found, pixel_s)

    assert sum(piece.length for piece in drawn) == pytest.approx(ends[-1])
    assert all(a.end == pytest.approx(b.start) for a, b in zip(drawn, drawn[1:], strict=False))
    kept = [p for p in merged(found) if p.code in "CD" and p.length >= 0.4 * pixel_s]
    assert all(any(d.code == p.code and d.start <= p.start and d.end >= p.end for d in drawn) for p in kept)


def test_many_short_stops_keep_their_share_of_the_time() -> None:
    """Ten minutes of work and six of coil change, over and over, at 11 minutes a pixel."""
    starts = [600.0 * (i // 2 + i % 2) + 360.0 * (i // 2) for i in range(200)]
    ends = [*starts[1:], starts[-1] + 360.0]
    trace = MachineTrace("mill", 1, starts, ends, ["running", "setup"] * 100)
    found = pieces(packed(trace, clock=(0.0, ends[-1])), 0)
    drawn = hours_of(visible(found, 675.0))

    assert len(visible(found, 675.0)) < 40
    assert drawn["setup"] / drawn["running"] == pytest.approx(0.6, abs=0.1)


def test_every_store_of_the_example_is_packed() -> None:
    assert {store["name"] for store in week()["stores"]} == {trace.name for trace in stores()}
    assert {name for name in moment(week(), 0.0).stores} <= {store.name for store in PLANT.stores}
