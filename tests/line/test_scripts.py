"""What really happened, in the place of what would be drawn: each kind of record replays in a line worked by hand."""

from typing import Any

import pytest
from line.by_hand import COILS, READY, SUPPLY, count, ends, one, plant, ran, rows, scrapped, spells

from twin.line import Scripts, simulate
from twin.scenario import loads

STEP: dict[str, Any] = {"kind": "step", "time": "10 min"}
BREAKING = STEP | {"failures": [{"reason": "break", "every": "25 min", "repair": "5 min"}]}
MIN = 60.0


def stopped(*stops: tuple[float, float], reason: str = "break") -> Scripts:
    """Return recorded stops of the only machine, in minutes."""
    return Scripts(stops={("work", 1, reason): tuple((start * MIN, last * MIN) for start, last in stops)})


def test_recorded_stops_strike_when_they_did_and_last_as_long_as_they_did() -> None:
    run = ran(one(BREAKING, 60), stopped((12, 3), (40, 8)))
    assert [spell for spell in spells(run, "work") if spell[0] == "down"] == [
        ("down", "break", 12, 15),
        ("down", "break", 40, 48),
    ]
    assert ends(run, "work") == [10, 23, 33, 51]
    assert count(run, "stops", "work") == 2


def test_a_cause_with_no_recorded_stops_is_silent() -> None:
    assert ends(ran(one(BREAKING, 45), stopped()), "work") == [10, 20, 30, 40]


def test_stops_of_a_reason_that_the_scenario_does_not_know_are_told_as_recorded() -> None:
    run = ran(one(STEP, 40), stopped((12, 3), reason="power cut"))
    assert spells(run, "work")[1] == ("down", "as recorded", 12, 15)


def test_recorded_stops_that_overlap_follow_each_other_and_keep_their_lengths() -> None:
    run = ran(one(BREAKING, 60), stopped((10.5, 20), (15, 1), (20, 2), (25, 4), (50, 1)))
    assert [spell for spell in spells(run, "work") if spell[0] == "down"] == [
        ("down", "break", 10.5, 37.5),
        ("down", "break", 50, 51),
    ]


def test_a_recorded_stop_may_come_while_the_machine_stands_anyway() -> None:
    stations = {"supply": SUPPLY | {"every": "30 min"}, "work": BREAKING | {"from": "ready", "to": "done"}}
    run = ran(plant({"ready": COILS, "done": COILS}, stations, 60), stopped((5, 10)))
    assert spells(run, "work")[:3] == [("starved", "", 0, 5), ("down", "break", 5, 15), ("starved", "", 15, 30)]


def test_a_recorded_service_takes_the_place_of_the_planned_one() -> None:
    furnace = {
        "kind": "furnace",
        "to": "bath",
        "melt_rate": "1 t/h",
        "pour": "510 degC",
        "skimming": {"every": "20 min", "takes": "5 min"},
    }
    caster = {"kind": "caster", "from": "bath", "to": "done", "thickness": "1 mm", "width": "1 m", "speed": "1 m/min"}
    text = plant({"bath": {"holds": "metal"}, "done": {"holds": "strip"}}, {"furnace": furnace, "caster": caster}, 90)
    run = ran(text, Scripts(stops={("furnace", 1, "skimming"): ((30 * MIN, 9 * MIN),)}))
    assert [spell for spell in spells(run, "furnace") if spell[0] == "setup"] == [("setup", "skimming", 30, 39)]


def test_recorded_numbers_are_used_one_after_the_other_and_drawn_ones_follow() -> None:
    text = one({"kind": "step", "time": {"uniform": {"low": "10 min", "high": "20 min"}}}, 120)
    drawn = ends(ran(text), "work")
    run = ran(text, Scripts(draws={"work/1/time": (2 * MIN, 3 * MIN)}))
    assert ends(run, "work")[:2] == [2, 5]
    lasts = [b - a for a, b in zip([5.0, *ends(run, "work")[2:]], ends(run, "work")[2:], strict=False)]
    first = [b - a for a, b in zip([0.0, *drawn], drawn, strict=False)]
    # What is drawn is what would have been drawn in the first place.
    assert lasts == pytest.approx(first[: len(lasts)], abs=1e-5)


def test_numbers_can_be_recorded_for_what_is_constant_too() -> None:
    mill = {
        "kind": "mill",
        "speed": "10 m/min",
        "rolls": {"sets": "unlimited", "change_after": "0.1 km", "change": "5 min"},
    }
    run = ran(one(mill, 60), Scripts(draws={"work/1/change": (2 * MIN, 7 * MIN)}))
    assert rows(run, "rolls", "took_s") == [(2,), (7,), (5,), (5,)]


def test_a_recorded_time_of_a_station_whose_time_is_constant_replays() -> None:
    """A slitter's setup, given as a plain time, takes as long as it did."""
    patterns = {
        name: {"count": 1, "thickness": "1 mm", "rings": {ring: count}}
        for name, ring, count in (("X", "a", 4), ("Y", "b", 2))
    }
    products = {
        "a": {"thickness": "1 mm", "girth": "250 mm", "sold": "coil"},
        "b": {"thickness": "1 mm", "girth": "500 mm", "sold": "coil"},
    }
    slitter = {"kind": "slitter", "speed": "10 m/min", "setup": "5 min"}
    run = ran(
        one(slitter, 60, products=products, patterns=patterns), Scripts(draws={"work/1/setup": (1 * MIN, 9 * MIN)})
    )
    assert [(start, end) for state, _, start, end in spells(run, "work") if state == "setup"][:2] == [
        (10, 11),
        (21, 30),
    ]


def test_the_recorded_sequence_of_patterns_replays_and_then_the_shares_go_on() -> None:
    products = {"a": {"thickness": "1 mm", "girth": "250 mm", "sold": "coil"}}
    patterns = {name: {"share": "50 %", "thickness": "1 mm", "rings": {"a": 4}} for name in ("X", "Y")}
    text = one({"kind": "slitter", "speed": "10 m/min"}, 71, products=products, patterns=patterns)
    run = ran(text, Scripts(sequence=("Y", "Y", "Y", "X")))
    told = [name for (name,) in rows(run, "coils", "pattern", station="work", product="")]
    assert told == ["Y", "Y", "Y", "X", "X", "X", "X"]


def test_a_recorded_speed_holds_until_the_next_one() -> None:
    """Half speed from 12 to 20: the second coil has 8 min left at 12, 4 of which pass until 20."""
    speeds = Scripts(speeds={("work", 1): ((12 * MIN, 0.5), (20 * MIN, 1.0))})
    run = ran(one(STEP, 40), speeds)
    assert ends(run, "work") == [10, 24, 34]
    assert rows(run, "states", "start_s", "end_s", slowed=True, station="work") == [(12, 20)]
    assert count(run, "slowed_s", "work") == 8 * MIN * 0.5


def test_recorded_losses_come_off_coil_by_coil_and_may_end_before_the_run_does() -> None:
    run = ran(one(STEP, 45), Scripts(losses={("work", 1): (0.1, 0.25)}))
    assert rows(run, "coils", "mass_kg", station="work") == [(900,), (750,), (1000,), (1000,)]
    assert scrapped(run) == {("work", "as recorded"): 350}


def test_losses_are_taken_off_rings_and_wound_coils_too() -> None:
    furnace = {"kind": "furnace", "to": "bath", "melt_rate": "60 t/h", "pour": "510 degC"}
    caster = {"kind": "caster", "from": "bath", "thickness": "1 mm", "width": "1000 mm", "speed": "10 m/min"}
    cutter = {"kind": "cutter", "from": "coils", "to": "sheets", "rate": "10 pieces/min"}
    text = plant(
        {"bath": {"holds": "metal"}, "coils": COILS, "sheets": {"holds": "pieces"}},
        {"furnace": furnace, "caster": caster | {"to": "coils", "coil": {"mass": "1 t"}}, "cutter": cutter},
        35,
        products={"sheet": {"thickness": "1 mm", "girth": "1000 mm", "length": "1 m", "sold": "sheet"}},
        patterns={"W": {"share": "100 %", "thickness": "1 mm", "rings": {"sheet": 1}}},
    )
    run = ran(text, Scripts(losses={("caster", 1): (0.1,), ("cutter", 1): (0.2,)}))
    assert rows(run, "coils", "mass_kg", station="caster") == [(900,), (1000,), (1000,)]
    assert scrapped(run) == {("caster", "as recorded"): 100, ("cutter", "as recorded"): 180}


def test_recorded_absences_close_a_machine_besides_its_calendar() -> None:
    """The calendar is open until 60 and from 90 on; nobody was there from 15 to 25 and from 50 to 100."""
    calendars = {"shift": {"open": ["Mon 00:00-01:00", "Mon 01:30-12:00"]}}
    absent = Scripts(closed={("work", 1): ((15 * MIN, 25 * MIN), (50 * MIN, 100 * MIN))})
    run = ran(one(STEP | {"calendar": "shift"}, 120, calendars=calendars), absent)
    assert spells(run, "work") == [
        ("running", "", 0, 15),
        ("closed", "", 15, 25),
        ("running", "", 25, 50),
        ("closed", "", 50, 100),
        ("running", "", 100, 120),
    ]


def test_a_late_start_is_an_absence_from_the_beginning() -> None:
    run = ran(one(STEP, 45), Scripts(closed={("work", 1): ((0, 25 * MIN),)}))
    assert spells(run, "work") == [("closed", "", 0, 25), ("running", "", 25, 45)]


def test_a_script_of_one_machine_leaves_every_other_draw_as_it_was() -> None:
    time = {"exponential": {"mean": "10 min"}}
    stations = {
        "supply": SUPPLY | {"every": time},
        "first": {"kind": "step", "from": "ready", "to": "gap", "time": time},
        "second": {"kind": "step", "from": "gap", "to": "done", "time": time},
    }
    text = plant({"ready": COILS, "gap": COILS, "done": COILS}, stations, 600)
    free, scripted = ran(text), ran(text, Scripts(closed={("first", 1): ((0, 300 * MIN),)}))

    def lasts(run: Any) -> list[float]:  # noqa: ANN401
        told = rows(run, "coils", "start_s", "end_s", station="second")
        return [round(end - start, 4) for start, end in told]

    assert lasts(scripted)[:5] == lasts(free)[:5]
    assert ends(scripted, "first") != ends(free, "first")


@pytest.mark.parametrize(
    ("scripts", "words"),
    [
        (Scripts(stops={("wrok", 1, "break"): ()}), "did you mean 'work'"),
        (Scripts(stops={("work", 2, "break"): ()}), "it has 1"),
        (Scripts(stops={("work", 1, "break"): ((60.0, 1.0), (30.0, 1.0))}), "do not follow each other"),
        (Scripts(speeds={("work", 7): ()}), "it has 1"),
        (Scripts(speeds={("work", 1): ((60.0, 0.0),)}), "record it as a stop"),
        (Scripts(closed={("work", 1): ((60.0, 30.0),)}), "do not follow each other"),
        (Scripts(losses={("supply", 1): (0.1,)}), "works no coils"),
        (Scripts(draws={"work/1/repiar break": (1.0,)}), "did you mean 'work/1/repair break'"),
        (Scripts(sequence=("X",)), "names the pattern 'X'"),
    ],
)
def test_a_script_that_does_not_fit_the_line_is_refused_in_plain_words(scripts: Scripts, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        simulate(loads(one(BREAKING, 10)), clock="pure", scripts=scripts)


def test_a_replay_of_what_a_run_drew_is_that_run_again() -> None:
    """The stops that a run had, recorded and replayed, give the same coils at the same times."""
    failure = {
        "reason": "break",
        "every": {"exponential": {"mean": "40 min"}},
        "repair": {"exponential": {"mean": "9 min"}},
    }
    text = one(STEP | {"failures": [failure]}, 2000)
    first = ran(text)
    starts = [at * MIN for (at,) in rows(first, "events", "time_s")]
    downs = [(start * MIN, (end - start) * MIN) for state, _, start, end in spells(first, "work") if state == "down"]
    assert len(starts) == len(downs) > 20
    again = ran(text, Scripts(stops={("work", 1, "break"): tuple(downs)}))
    assert ends(again, "work") == pytest.approx(ends(first, "work"), abs=1e-3)


def test_stores_and_hands_over_as_ever_under_a_script() -> None:
    stations = {
        "supply": SUPPLY,
        "first": STEP | {"from": "ready", "to": "gap"},
        "second": STEP | {"from": "gap", "to": "done"},
    }
    text = plant({"ready": READY, "gap": COILS | {"capacity": 0}, "done": COILS}, stations, 60)
    run = ran(text, Scripts(closed={("second", 1): ((15 * MIN, 35 * MIN),)}))
    assert spells(run, "first")[1] == ("blocked", "", 20, 40)
