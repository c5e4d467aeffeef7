from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from twin.scenario.calendars import elapsed, moments, open_seconds, public_holidays, turns, wall_clock
from twin.scenario.faults import Refusal
from twin.scenario.models import ALWAYS, Calendar, Time
from twin.scenario.weekly import Moment, parse_moment, parse_span, parse_windows

HOUR, DAY = 3600.0, 86400.0
ZONES = ("Europe/Vienna", "America/New_York", "Australia/Sydney", "UTC", "Asia/Kolkata")


def time(start: str, zone: str = "Europe/Vienna") -> Time:
    return Time.model_validate({"zone": zone, "start": start})


def calendar(**keys: object) -> Calendar:
    return Calendar.model_validate(keys)


def shifts(plan: Calendar, clock: Time, days: float) -> list[tuple[datetime, float]]:
    """Return the local begin and the hours of each opening that lies wholly within the days."""
    is_open, toggles = turns(plan, clock, days * DAY)
    edges = toggles[1:] if is_open else toggles
    return [
        (wall_clock(clock, begin), (end - begin) / HOUR) for begin, end in zip(edges[::2], edges[1::2], strict=False)
    ]


@pytest.mark.parametrize(
    ("zone", "night", "hours"),
    [
        ("Europe/Vienna", "2026-03-28", 7.0),
        ("Europe/Vienna", "2026-10-24", 9.0),
        ("America/New_York", "2026-03-07", 7.0),
        ("America/New_York", "2026-10-31", 9.0),
        ("Australia/Sydney", "2026-04-04", 9.0),
        ("Australia/Sydney", "2026-10-03", 7.0),
        ("UTC", "2026-03-28", 8.0),
    ],
)
def test_the_night_shift_of_the_clock_change_is_seven_or_nine_hours_long(zone: str, night: str, hours: float) -> None:
    """Dates of the change: EU directive 2000/84/EC, US Energy Policy Act 2005, New South Wales law, by tzdata."""
    clock = time((datetime.fromisoformat(night) - timedelta(days=3)).isoformat(" "), zone)
    found = {f"{begin:%Y-%m-%d %H:%M}": length for begin, length in shifts(calendar(open=["22:00-06:00"]), clock, 8)}
    others = {length for begin, length in found.items() if begin != f"{night} 22:00"}

    assert found.pop(f"{night} 22:00") == hours
    assert set(found.values()) == {8.0}
    assert others


@pytest.mark.parametrize("zone", ZONES)
@settings(max_examples=15, deadline=None)
@given(data=st.data())
def test_openings_are_those_that_wall_clocks_show(zone: str, data: st.DataObject) -> None:
    """Independent: each looked-at minute is turned into local time by zoneinfo and compared with the window's words."""
    minute = st.integers(4 * 60, 23 * 60 + 59)  # outside the hours that the clocks skip or repeat
    begin, end = data.draw(minute), data.draw(minute)
    days = data.draw(st.sets(st.integers(0, 6), min_size=1))
    clock = time(data.draw(st.sampled_from(["2026-03-20", "2026-10-20 13:30", "2026-04-01", "2026-10-28 05:00"])), zone)
    if begin == end:
        end = begin - 1
    names = ",".join(("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[day] for day in sorted(days))
    plan = calendar(open=[f"{names} {begin // 60:02}:{begin % 60:02}-{end // 60:02}:{end % 60:02}"])
    is_open, toggles = turns(plan, clock, 14 * DAY)
    first = clock.start.replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)

    for second in data.draw(st.lists(st.integers(0, 14 * 86400 - 1), min_size=20, max_size=20)):
        local = (first + timedelta(seconds=second)).astimezone(ZoneInfo(zone))
        now = local.hour * 60 + local.minute
        today, yesterday = local.weekday() in days, (local.weekday() - 1) % 7 in days
        within_a_day = today and begin <= now < end
        past_midnight = (today and now >= begin) or (yesterday and now < end)
        expected = within_a_day if begin < end else past_midnight
        assert (is_open ^ (sum(toggle <= second for toggle in toggles) % 2 == 1)) == expected


def test_turns_alternate_and_stay_within_the_horizon() -> None:
    plan = calendar(open=["Mon-Fri 06:00-14:00", "Mon-Fri 14:00-22:00"], breaks=["09:30-09:50", "13:50-14:00"])
    is_open, toggles = turns(plan, time("2026-03-02 06:00"), 14 * DAY)

    assert is_open
    assert all(earlier < later for earlier, later in pairwise(toggles))
    assert toggles[0] > 0.0 and toggles[-1] < 14 * DAY
    assert toggles[:3] == [3.5 * HOUR, 3.5 * HOUR + 1200.0, 7 * HOUR + 50 * 60.0]


def test_windows_that_touch_are_one_and_breaks_are_cut_out() -> None:
    """A two-shift week of 80 h less two breaks of 20 and 10 minutes a day."""
    plan = calendar(open=["Mon-Fri 06:00-14:00", "Mon-Fri 14:00-22:00"], breaks=["09:30-09:50", "20:00-20:10"])

    assert open_seconds(plan, time("2026-03-02"), 7 * DAY) == (80.0 - 2.5) * HOUR


def test_a_relay_week_is_one_opening_of_120_hours() -> None:
    found = shifts(calendar(open=["Mon 06:00 - Sat 06:00"]), time("2026-03-02"), 14)

    assert [length for _, length in found] == [120.0, 120.0]
    assert all(f"{begin:%a %H:%M}" == "Mon 06:00" for begin, _ in found)


def test_always_never_closes() -> None:
    assert turns(ALWAYS, time("2026-03-02"), 1e9) == (True, [])
    assert turns(Calendar.model_validate("always"), time("2026-03-02"), 1e9) == (True, [])


def easter(year: int) -> date:
    """Return Easter Sunday by the rule of Gauss as Meeus, Jones and Butcher gave it (from memory)."""
    a, b, c = year % 19, year // 100, year % 100
    d, e = b // 4, b % 4
    g = (8 * b + 13) // 25
    h = (19 * a + b - d - g + 15) % 30
    i, k = c // 4, c % 4
    m = (32 + 2 * e + 2 * i - h - k) % 7
    n = (a + 11 * h + 22 * m) // 451
    month, day = divmod(h + m - 7 * n + 114, 31)
    return date(year, month, day + 1)


def test_public_holidays_are_closed_all_day() -> None:
    """Austria: the fixed days of its law on rest from work, and Easter Monday by Gauss's rule."""
    clock = time("2026-01-01")
    plan = calendar(open=["00:00-24:00"], holidays="AT")
    is_open, toggles = turns(plan, clock, 365 * DAY)
    fixed = [(1, 1), (1, 6), (5, 1), (8, 15), (10, 26), (11, 1), (12, 8), (12, 25), (12, 26)]
    closed = [date(2026, month, day) for month, day in fixed] + [easter(2026) + timedelta(days=1)]

    for day in closed:
        noon = elapsed(clock, datetime(day.year, day.month, day.day, 12))
        assert not is_open ^ (sum(toggle <= noon for toggle in toggles) % 2 == 1), day
    assert open_seconds(plan, clock, 365 * DAY) == (365 - 13) * DAY  # thirteen a year


def test_a_night_shift_into_a_holiday_pauses_from_midnight_to_midnight() -> None:
    found = shifts(calendar(open=["22:00-06:00"], holidays="AT"), time("2026-04-29"), 4)

    assert [(f"{begin:%d %H:%M}", length) for begin, length in found] == [
        ("29 22:00", 8.0),
        ("30 22:00", 2.0),
        ("02 00:00", 6.0),
    ]


def test_closed_days_and_spans_are_closed_to_their_last_day() -> None:
    plan = calendar(
        open=["08:00-16:00"], closed=["2026-03-04", "2026-03-06 - 2026-03-08", "2026-03-10 10:00 - 2026-03-10 11:00"]
    )
    found = {f"{begin:%d %H:%M}": length for begin, length in shifts(plan, time("2026-03-02"), 10)}

    expected = {"02 08:00": 8.0, "03 08:00": 8.0, "05 08:00": 8.0, "09 08:00": 8.0}
    assert found == expected | {"10 08:00": 2.0, "10 11:00": 5.0, "11 08:00": 8.0}


def test_a_local_time_that_comes_twice_means_its_first_coming() -> None:
    """Vienna, 2026-10-25: 02:30 comes at 00:30 and at 01:30 UTC."""
    clock = time("2026-10-25")

    assert elapsed(clock, datetime(2026, 10, 25, 2, 30)) == 2.5 * HOUR
    assert elapsed(clock, datetime(2026, 10, 25, 3, 0)) == 4.0 * HOUR


@given(st.integers(0, 366 * 86400), st.sampled_from(ZONES))
def test_wall_clocks_and_seconds_of_the_run_are_the_same_time(second: int, zone: str) -> None:
    clock = time("2026-01-05", zone)
    local = wall_clock(clock, second)

    assert (local - wall_clock(clock, 0.0).astimezone(UTC)).total_seconds() == second
    if local.fold == 0:
        assert elapsed(clock, local.replace(tzinfo=None)) == second


def test_weekly_moments_keep_their_local_time_across_the_clock_change() -> None:
    clock = time("2026-03-23")
    found = moments([parse_moment("Wed 14:00"), parse_moment("2026-03-27 08:15")], clock, 14 * DAY)

    assert [f"{wall_clock(clock, second):%a %d %H:%M}" for second in found] == [
        "Wed 25 14:00",
        "Fri 27 08:15",
        "Wed 01 14:00",
    ]
    assert found[2] - found[0] == 7 * DAY - HOUR


def test_a_moment_before_the_start_does_not_come() -> None:
    assert moments([Moment(once=datetime(2026, 3, 1))], time("2026-03-02"), DAY) == []


def test_windows_are_read_as_people_write_them() -> None:
    monday = parse_windows("Mon 22:00-06:00")[0]
    around = parse_windows("Sun 22:00 - Mon 06:00")[0]

    assert (monday.start, monday.end) == (1320, 1800)
    assert (around.start, around.end) == (6 * 1440 + 1320, 7 * 1440 + 360)
    assert [window.start // 1440 for window in parse_windows("Fri-Mon 06:00-07:00")] == [0, 4, 5, 6]
    assert parse_windows("Monday, Wednesday 06:00-14:00") == parse_windows("Mon,Wed 06:00-14:00")
    assert len(parse_windows("06:00-14:00")) == len(parse_windows("daily 06:00-14:00")) == 7


@pytest.mark.parametrize(
    "text", ["Mon-Fri", "06:00", "Mon-Tue-Wed 06:00-07:00", "25:00-26:00", "Mon 06:61-07:00", "", "x" * 300]
)
def test_what_is_no_time_of_the_week_is_refused(text: str) -> None:
    with pytest.raises(Refusal) as caught:
        parse_windows(text)

    assert caught.value.problems[0].way_out


@pytest.mark.parametrize(
    "text", ["2026-13-01", "2026-08-16 - 2026-08-03", "tomorrow", "1812-01-01", "2026-03-02T06:00+01:00"]
)
def test_what_is_no_span_of_days_is_refused(text: str) -> None:
    with pytest.raises(Refusal):
        parse_span(text)


def test_regions_have_holidays_of_their_own() -> None:
    """Epiphany is a holiday in Bavaria but not in Hamburg (common knowledge, from memory)."""
    assert date(2026, 1, 6) in public_holidays("DE-BY")
    assert date(2026, 1, 6) not in public_holidays("DE-HH")
    with pytest.raises(Refusal, match="are not known"):
        public_holidays("DE-XX")
