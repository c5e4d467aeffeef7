"""A reviewed day held to what it must be: exact where the log is whole, silent where it cannot tell."""

import re
from dataclasses import replace
from datetime import date, datetime, timedelta

import numpy as np
import pytest
from plain_line import Machine, days_of_work
from review_days import line, log_made_by, made_log, on_monday, planted_day, with_gaps, with_noise

from twin.line import Scripts, simulate
from twin.logs import Log, LogError
from twin.logs.tables import table_of
from twin.scenario import Scenario, load, loads
from twin.scenario.calendars import timestamp
from twin.study.review import morning_rung, review, whatif
from twin.study.review_answer import Edit
from twin.study.review_booked import booked
from twin.study.review_day import Day, days_of, fresh, last_day, prepare_day, run_days
from twin.study.review_events import causes_of, events_of
from twin.study.review_first import expectation, expected_of, place_of
from twin.study.review_ladder import Game, ladder
from twin.study.review_reconcile import edges_between, stops_in
from twin.study.review_scripts import pieces, together
from twin.study.review_such import such_days
from twin.study.review_wear import owed_after
from twin.words import NO_BREAK

KILOGRAM = 1e-3  # t
HOLLIN = "scenarios/hollin_weir.yaml"


def all_on(day: Day) -> Scripts:
    """Return everything that was recorded of a day."""
    events = events_of(day)
    return together([day.base, *pieces(day, events, causes_of(day, events)).values()])


def game(day: Day, seed: int = 2026) -> Game:
    """Return a day's causes to be switched."""
    events = events_of(day)
    told = pieces(day, events, causes_of(day, events))
    return Game(day, tuple(told), tuple(told.values()), seed)


@pytest.fixture(scope="module")
def small() -> Scenario:
    """Return the small line."""
    return line()


@pytest.fixture(scope="module")
def weeks(small: Scenario) -> tuple[Log, tuple[Day, ...]]:
    """Return a clean log of nine days, and its working days but the first."""
    log = made_log(small, days=9, seed=8)
    first = prepare_day(small, log, days_of(small, log)[1])
    made = [
        first,
        *(prepare_day(small, log, day) for day in days_of(small, log)[2:5]),
    ]
    return log, tuple(made)


# The day itself


@pytest.mark.parametrize("run", range(5))
def test_with_everything_switched_on_a_day_whose_morning_is_told_is_that_day_to_the_kilogram(
    small: Scenario, run: int
) -> None:
    now, log = planted_day(small, run)
    day = prepare_day(now, log, now.time.start.date())
    again = run_days(day, all_on(day), range(2), seed=99)[:, -1]
    assert again == pytest.approx([booked(day).booked_t] * 2, abs=KILOGRAM)


def test_the_demo_plant_replays_to_the_kilogram_too() -> None:
    now = on_monday(load(HOLLIN), run=3, begin=datetime(2026, 5, 14, 6))
    log = log_made_by(now, seed=99)
    day = prepare_day(now, log, date(2026, 5, 14))
    assert float(run_days(day, all_on(day), [0], seed=5)[0, -1]) == pytest.approx(booked(day).booked_t, abs=KILOGRAM)


def test_from_the_log_alone_days_replay_within_a_ring(weeks: tuple[Log, tuple[Day, ...]]) -> None:
    """The morning is then worked out from the rows of the days before; three days of four come to the kilogram."""
    off = []
    for day in weeks[1]:
        own = booked(day)
        off.append(float(run_days(day, all_on(day), [0], seed=3)[0, -1]) - (own.booked_t - own.edges_t))
    assert max(abs(one) for one in off) < 1.4
    assert sum(abs(one) < KILOGRAM for one in off) >= 3


def test_with_nothing_switched_the_replay_is_the_expectation(weeks: tuple[Log, tuple[Day, ...]]) -> None:
    day = weeks[1][0]
    expected = expectation(day, runs=5)
    assert game(day).value(0, range(5)).tolist() == list(expected.runs_t)


def test_the_rungs_add_up_on_every_day_and_causes_without_effect_get_nothing(
    weeks: tuple[Log, tuple[Day, ...]],
) -> None:
    for day in weeks[1][:2]:
        whole = game(day)
        found = ladder(whole, 3)
        gap = found.replay - found.base
        assert found.shares.sum(axis=0) == pytest.approx(gap, abs=1e-9)
        assert found.replay == pytest.approx(whole.value(whole.everything, range(3)), abs=1e-12)
        for cause in found.nothing:
            place = whole.players.index(cause)
            inside = whole.everything & ~(1 << place)
            assert whole.value(inside, range(3)) == pytest.approx(found.replay, abs=1e-6)


def test_the_whole_answer_adds_up_to_the_last_gram_and_knows_its_events(
    small: Scenario, weeks: tuple[Log, tuple[Day, ...]]
) -> None:
    answer = review(small, weeks[0], "2026-03-04", runs=4, sure=False)
    rungs = sum(one.t for one in answer.ladder)
    assert answer.expected.mean_t + rungs == pytest.approx(answer.replay_t, abs=1e-9)
    assert answer.replay_t + answer.edges_t + answer.unexplained_t == pytest.approx(answer.actual_t, abs=1e-9)
    assert [one.number for one in answer.events] == list(range(len(answer.events)))
    assert all(answer.begin_s - 1.0 <= one.start_s < answer.end_s for one in answer.events)
    for strip in (*answer.recorded, *answer.typical):
        edges = [(one.start_s, one.end_s) for one in strip.spells]
        assert edges[0][0] == pytest.approx(answer.begin_s)
        assert edges[-1][1] == pytest.approx(answer.end_s)
        assert all(a[1] == pytest.approx(b[0]) for a, b in zip(edges, edges[1:], strict=False))
    assert len(answer.look_at) <= 3
    assert answer.fan.actual_t[-1] == pytest.approx(answer.actual_t)
    assert [len(own) for own in answer.fan.quantiles_t] == [25] * 5


def test_an_ordinary_day_is_called_one_before_any_cause_is_named(
    small: Scenario, weeks: tuple[Log, tuple[Day, ...]]
) -> None:
    answer = review(small, weeks[0], "2026-03-05", runs=20, sure=False)
    assert not answer.signal
    assert answer.verdict.text.startswith("An ordinary day")


def test_a_days_place_is_careful_where_few_runs_were_made() -> None:
    """Beyond all of n runs: one day in n + 1, so 10 runs never call a day out of the ordinary, 20 may."""
    for runs, value, position, signal, days in (
        (np.arange(10.0), -1.0, 0.5 / 11, False, 11.0),
        (np.arange(20.0), 99.0, 1.0 - 0.5 / 21, True, 21.0),
        (np.zeros(8), 0.0, 0.5, False, 1.8),
    ):
        found = place_of(runs, value)
        assert found[0] == pytest.approx(position)
        assert found[1] is signal
        assert found[2] == pytest.approx(days)


# Planted causes


def test_planted_stops_are_found_in_a_log_with_a_tenth_of_noise_and_said_to_be_sure(small: Scenario) -> None:
    """A stop of four hours at the slitter, in the morning of a day without others."""
    now = on_monday(small, run=2)
    stops = {("slitter", 1, "strip break"): ((2 * 3600.0, 4 * 3600.0),), ("former", 1, "jam"): ()}
    log = with_noise(log_made_by(now, 7, Scripts(stops=stops)), 5, 0.10)
    answer = review(now, log, now.time.start.date(), runs=20)
    worst = min(answer.ladder, key=lambda one: one.t)
    assert (worst.cause, worst.station) == ("strip break", "slitter")
    assert worst.t < -15.0
    assert answer.signal
    said = answer.verdict.text.replace(NO_BREAK, " ")
    made, usual = re.findall(r"Not an ordinary day: ([0-9.]+) t where ([0-9.]+) were expected", said)[0]
    assert float(made) < float(usual) - 15.0, "on the low side"
    assert answer.tells
    assert answer.top_sure is not None
    assert answer.top_sure > 0.9
    assert answer.look_at[0].events == worst.events


def test_with_a_quarter_of_the_records_missing_it_says_that_it_cannot_tell(small: Scenario) -> None:
    silent = 0
    for seed in (1, 2):
        now, log = planted_day(small, seed)
        day = now.time.start.date()
        assert review(now, log, day, runs=2, sure=False).tells
        answer = review(now, with_gaps(log, seed, 0.25), day, runs=2, sure=False)
        silent += not answer.tells
        assert answer.tells or "cannot be told" in answer.verdict.text
    assert silent >= 1


# What if


def test_a_stop_taken_away_gives_back_what_it_took_and_nothing_changed_changes_nothing(small: Scenario) -> None:
    now = on_monday(small, run=2)
    stops = {("slitter", 1, "strip break"): ((2 * 3600.0, 4 * 3600.0),)}
    log = log_made_by(now, 7, Scripts(stops=stops))
    day = prepare_day(now, log, now.time.start.date())
    stop = next(one for one in events_of(day) if one.reason == "strip break")
    assert whatif(day, [], runs=2).change_t == 0.0
    without = whatif(day, [Edit(stop.number, remove=True)])
    assert without.change_t > 10.0
    assert without.made_t == pytest.approx(booked(day).booked_t + without.change_t)
    shorter = whatif(day, [Edit(stop.number, lasts_s=3600.0)])
    assert 0.0 < shorter.change_t < without.change_t
    at_night = whatif(day, [Edit(stop.number, later_s=16 * 3600.0)])
    assert at_night.change_t == pytest.approx(without.change_t, abs=6.0)
    with pytest.raises(ValueError, match="there is no event 999"):
        whatif(day, [Edit(999, remove=True)])


# A line that the twin did not write


PLAIN = """
passline: 1
name: Plain line
metal: zinc
time: {zone: UTC, start: 2026-03-02 06:00, warm_up: 1 week, length: 1 week}
stores: {ready: {holds: coils, capacity: 1}, gap: {holds: coils, capacity: 5}, done: {holds: coils}}
stations:
  supply: {kind: supply, to: ready, coil: {mass: 4 t, width: 1 m, thickness: 1 mm}}
  first:
    kind: step
    from: ready
    to: gap
    time: 20 min
    failures: [{reason: break, every: {exponential: {mean: 5 h}}, repair: {exponential: {mean: 25 min}}}]
  second:
    kind: step
    from: gap
    to: done
    time: 24 min
    failures: [{reason: break, every: {exponential: {mean: 3 h}}, repair: {exponential: {mean: 40 min}}}]
"""
COIL_T = 4.0


def plain_log(scenario: Scenario, seed: int) -> Log:
    """Return what that line logs in five days; its second machine takes 24 min a coil."""
    begin = timestamp(scenario.time, scenario.time.start)
    pair = days_of_work(120.0, seed, first_s=1200.0, second_s=1440.0, room=5)
    rows: list[tuple[str, Machine]] = list(zip(("first", "second"), pair, strict=True))
    stops = sorted((start, end, name, reason) for name, own in rows for start, end, reason in own.stops)
    coils = [(name, str(number), *spell) for name, own in rows for number, spell in enumerate(own.coils)]
    names, coil = [row[0] for row in coils], [row[1] for row in coils]
    start, end = (begin + np.array([row[place] for row in coils]) for place in (2, 3))
    kg = np.full(len(coils), 1000.0 * COIL_T)
    tables = (
        table_of(
            "stops",
            {
                "station": np.array([row[2] for row in stops], dtype=object),
                "start": begin + np.array([row[0] for row in stops]),
                "end": begin + np.array([row[1] for row in stops]),
                "reason": np.array([row[3] for row in stops], dtype=object),
            },
        ),
        table_of("output", {"station": np.array(names), "time": end, "coil": np.array(coil), "good_kg": kg}),
        table_of(
            "coils", {"station": np.array(names), "coil": np.array(coil), "start": start, "end": end, "mass_kg": kg}
        ),
    )
    return Log({one.name: one for one in tables}, "UTC")


@pytest.mark.parametrize("seed", [1, 2])
def test_the_log_of_a_line_that_was_written_otherwise_is_explained_within_a_coil(seed: int) -> None:
    scenario = loads(PLAIN)
    log = plain_log(scenario, seed)
    for day in days_of(scenario, log)[1:4]:
        answer = review(scenario, log, day, runs=8, sure=False)
        assert answer.actual_t > 100.0
        assert abs(answer.unexplained_t) <= COIL_T + 1e-6
        assert answer.tells
        assert {one.kind for one in answer.ladder} <= {"stop", "others"}


def test_a_wrong_model_is_noticed_by_how_long_the_coils_took() -> None:
    """The scenario says that the second machine takes 19 min; its log tells of 24."""
    scenario = loads(PLAIN.replace("time: 24 min", "time: 19 min"))
    log = plain_log(scenario, 1)
    answer = review(scenario, log, days_of(scenario, log)[2], runs=8, sure=False)
    slow = next(one for one in answer.events if one.kind == "speed" and one.station == "second")
    assert slow.value == pytest.approx(19 / 24, abs=0.001)
    worst = min(answer.ladder, key=lambda one: one.t)
    assert (worst.kind, worst.station) == ("speed", "second")
    assert abs(answer.unexplained_t) <= COIL_T + 1e-6


def test_work_times_that_are_drawn_for_each_coil_are_no_missing_records_and_replay_as_they_were() -> None:
    """Coils take 24 min on average, a third of them half as long again: none of it is a stop that nobody wrote down."""
    drawn = {f"time: {mean} min": f"time: {{gamma: {{mean: {mean} min, cv: 0.35}}}}" for mean in (20, 24)}
    text = PLAIN
    for plain, random in drawn.items():
        text = text.replace(plain, random)
    scenario = loads(text)
    answer = review(scenario, made_log(scenario, days=3, seed=3), "2026-03-03", runs=6, sure=False)
    assert answer.quality.missing < 0.1
    assert answer.unexplained_t == pytest.approx(0.0, abs=KILOGRAM)
    assert ("speed", "second") in {(one.kind, one.station) for one in answer.ladder}


# What is asked wrongly


def test_a_log_of_another_line_and_a_day_without_a_log_are_refused_in_plain_words(
    small: Scenario, weeks: tuple[Log, tuple[Day, ...]]
) -> None:
    with pytest.raises(LogError, match="tells nothing of 2027-01-01: it tells of 2026-03-02"):
        review(small, weeks[0], "2027-01-01")
    strange = weeks[0].put(weeks[0]["stops"].put(station=np.full(len(weeks[0]["stops"]), "press", dtype=object)))
    strange = strange.put(strange["output"].put(station=np.full(len(strange["output"]), "saw", dtype=object)))
    with pytest.raises(LogError, match="the scenario does not know"):
        review(small, Log({name: strange[name] for name in ("stops", "output")}, "Europe/Vienna"), "2026-03-04")


def test_the_last_full_day_is_found_and_a_night_of_the_changed_clock_is_as_long_as_it_was(small: Scenario) -> None:
    assert last_day(small, made_log(small, days=3, seed=4)) == date(2026, 3, 4)
    week = made_log(small, days=7, seed=4)
    output = week["output"]
    saturday = output["time"] >= timestamp(small.time, datetime(2026, 3, 7, 6))
    assert set(output["station"][saturday]) == {"furnace", "caster"}
    much_cast = output.take(np.concatenate((np.arange(len(output)), np.repeat(np.flatnonzero(saturday), 50))))
    assert last_day(small, week.put(much_cast)) == date(2026, 3, 6)
    spring = replace_start(small, datetime(2026, 3, 27, 6))
    log = made_log(spring, days=4, seed=4)
    day = prepare_day(spring, log, date(2026, 3, 28))
    assert day.end - day.begin == timedelta(hours=23).total_seconds()


def replace_start(scenario: Scenario, begin: datetime) -> Scenario:
    """Return a line that starts at another time."""
    return fresh(scenario, time=scenario.time.model_copy(update={"start": begin}))


@pytest.mark.parametrize("share", [0.2, 0.3, 0.7])
@pytest.mark.parametrize("first", [0.0, 0.05, 0.61])
def test_what_is_owed_to_buyers_of_rings_is_found_from_what_they_got(share: float, first: float) -> None:
    owed, sales = first, []
    for _ in range(40):
        owed += share
        sales.append(owed >= 1.0)
        owed -= sales[-1]
    found = owed_after(sales, share)
    assert found is not None
    assert abs(found - owed) < 0.11


def test_rings_that_are_sold_otherwise_say_nothing_of_what_is_owed() -> None:
    assert owed_after([True, True, True], 0.3) is None
    assert owed_after([False], 0.3) is None


# The morning, the records


def test_what_the_morning_gave_or_took_is_a_rung_before_the_others(
    small: Scenario, weeks: tuple[Log, tuple[Day, ...]]
) -> None:
    answer = review(small, weeks[0], "2026-03-04", runs=8, sure=False)
    assert answer.such.mean_t + answer.morning.t == pytest.approx(answer.expected.mean_t, abs=1e-9)
    assert answer.morning.kind == "start"


def test_such_days_are_those_of_the_line_itself(small: Scenario) -> None:
    """Mean of the Wednesdays of a long run of the line, by the tonnes of its trace, within three standard errors."""
    day = weeks_day(small)
    found = such_days(day, 12, seed=4)
    week, begin = 7 * 86400.0, 2 * 86400.0
    long = fresh(small, time=small.time.model_copy(update={"length": 30 * week}))
    trace = simulate(long, seed=11, trace=True).trace
    assert trace is not None
    made = trace.tables["output"]
    times, good = made["time_s"] - small.time.warm_up - begin, made["good_kg"] * made["finished"] / 1e3
    days = np.array([good[(times > k * week) & (times <= k * week + 86400.0)].sum() for k in range(30)])
    error = np.hypot(days.std(ddof=1) / np.sqrt(len(days)), found.std(ddof=1) / np.sqrt(len(found)))
    assert len(found) == 60
    assert found.mean() == pytest.approx(days.mean(), abs=3.0 * error)


def weeks_day(small: Scenario) -> Day:
    """Return a Wednesday of the small line."""
    log = made_log(small, days=4, seed=8)
    return prepare_day(small, log, date(2026, 3, 4))


def test_a_morning_with_empty_stores_costs_what_the_stores_would_have_given(small: Scenario) -> None:
    """The same log of the same line; only what lay in the store of cold coils in the morning is taken out of it."""
    day = weeks_day(small)
    nothing = replace(day.morning.found, coils={name: () for name in day.morning.found.coils})
    bare = replace(day, morning=replace(day.morning, found=nothing))
    such = expected_of(such_days(day, 4, seed=2))
    full, empty = (morning_rung(such, expectation(one, runs=10)) for one in (day, bare))
    assert empty.t < full.t - 5.0
    assert empty.sample_high < 0.0


def test_a_row_booked_twice_is_among_the_records_that_look_wrong(
    small: Scenario, weeks: tuple[Log, tuple[Day, ...]]
) -> None:
    log = weeks[0]
    own = log["output"]
    begin = timestamp(small.time, datetime(2026, 3, 4, 6))
    place = int(np.flatnonzero((own["time"] > begin + 3600.0) & (own["station"] == "slitter"))[0])
    twice = own.take(np.append(np.arange(len(own)), place))
    twice = replace(twice, line=np.append(own.line, own.line.max() + 1))
    for date_, listed in (("2026-03-04", True), ("2026-03-05", False)):
        answer = review(small, log.put(twice), date_, runs=2, sure=False)
        assert any(one.kind == "repeat" for one in answer.suspect) is listed


# Recorded durations that the coils know better


def test_durations_reconciled_with_the_coils_are_those_of_weighted_least_squares() -> None:
    """Kuehn and Davidson 1961 (from memory): x = y - V A' (A V A')^-1 A y, worked out here with matrices."""
    told, share, doubt, lasts = np.array([600.0, 1800.0, 300.0]), 0.1, 45.0, 2950.0
    spread = np.diag([*(share * told) ** 2, doubt**2])
    balance = np.array([[1.0, 1.0, 1.0, -1.0]])
    seen = np.array([*told, lasts])
    gain = spread @ balance.T @ np.linalg.inv(balance @ spread @ balance.T)
    right = seen - (gain @ (balance @ seen)).ravel()
    off = np.sqrt(np.diag(spread - gain @ balance @ spread))
    found, left = stops_in(lasts, told, share, doubt)
    assert found == pytest.approx(right[:3])
    assert left == pytest.approx(off[:3])


def test_stops_that_fill_a_stretch_keep_its_length_and_trust_exact_starts() -> None:
    edges, off = edges_between(3600.0, np.array([0.0, 1000.0, 3000.0]), np.array([1100.0, 1900.0, 700.0]), 0.1, 1.0)
    assert edges == pytest.approx([0.0, 1000.0, 3000.0, 3600.0], abs=0.1)
    assert max(off) < 1.5
    edges, off = edges_between(3600.0, np.array([0.0, 1000.0]), np.array([1200.0, 2400.0]), 0.1, 1e6)
    assert edges[1] == pytest.approx(1200.0, abs=0.1)
    expected = 1.0 / np.sqrt(1.0 / 120.0**2 + 1.0 / 240.0**2)
    assert off == pytest.approx([expected, expected], rel=1e-3)


@pytest.mark.parametrize("seed", [3, 4])
def test_most_of_a_tenth_of_noise_in_durations_is_taken_out_again(small: Scenario, seed: int) -> None:
    now, log = planted_day(small, seed)
    day = now.time.start.date()
    true, noisy = (prepare_day(now, own, day) for own in (log, with_noise(log, seed, 0.10)))
    assert true.settled.share == 0.0
    assert noisy.settled.share == pytest.approx(0.10, abs=0.04)
    lasts = [{one.line: one.end - one.start for one in own.records.stops} for own in (true, noisy)]
    stops = with_noise(log, seed, 0.10)["stops"]
    written = dict(zip(stops.line.tolist(), (stops["end"] - stops["start"]).tolist(), strict=True))
    off = sum(abs(lasts[1][line] - lasts[0][line]) for line in lasts[1])
    before = sum(abs(written[line] - lasts[0][line]) for line in lasts[1])
    assert off < 0.35 * before


def test_a_missing_record_is_not_taken_for_an_error_of_a_duration(small: Scenario) -> None:
    """Of two stops of one coil the longer is struck out: the other keeps its length."""
    now = on_monday(small, run=2)
    stops = {("slitter", 1, "strip break"): ((2 * 3600.0, 3600.0), (2 * 3600.0 + 60.0, 600.0))}
    log = with_noise(log_made_by(now, 7, Scripts(stops=stops)), 5, 0.10)
    rows = log["stops"]
    breaks = np.flatnonzero((rows["station"] == "slitter") & (rows["reason"] == "strip break"))
    lasts = rows["end"] - rows["start"]
    long = breaks[lasts[breaks] > 1800.0]
    assert len(long) == 1
    gone = log.put(rows.take(np.arange(len(rows)) != long[0]))
    day = prepare_day(now, gone, now.time.start.date())
    for own in day.records.stops_of["slitter", 1]:
        if own.reason == "strip break":
            assert own.line not in day.settled.left_s or own.end - own.start < 1200.0
