"""The numbers of the Line page, from a real run of a small plant: they agree with the results and with each other."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import pytest
from tours import SMALL

from dashboard import answers, work
from dashboard.describe import plain_line
from dashboard.one_week import limit_steps, window
from dashboard.parts.amounts import METRIC, US
from dashboard.parts.line_drawings import care_of
from dashboard.parts.line_numbers import (
    changes_note,
    changes_of,
    day_spans,
    days_of,
    good_between,
    hours_of,
    limit_shares,
    minutes,
    share_words,
    so_far_parts,
    verdict_parts,
    waits_part,
)
from dashboard.parts.line_tables import MAKERS
from dashboard.parts.week import packed_week, place_in_flow, rolled_points, rows_of, stays_of
from dashboard.worker import Desk
from twin.scenario import load, loads
from twin.words import NO_BREAK, places_for

KEY = "0" * 20
Answer = dict[str, Any]


def worked(folder: Path, runs: int, stop_after: int | None = None, text: str = SMALL) -> list[dict[str, Any]]:
    """Work out a plant, stopping when so many runs are told of; return what was told."""
    file = folder / "small.yaml"
    file.write_text(text, encoding="utf-8")
    told: list[dict[str, Any]] = []

    def stopped() -> bool:
        return stop_after is not None and bool(told) and told[-1]["done"] >= stop_after

    desk = Desk(lambda data: told.append(dict(data)), stopped)
    work.line(
        desk,
        file=str(file),
        plant="small",
        options=[],
        runs=runs,
        seed=2026,
        kept=str(folder / "kept"),
        key=KEY,
        mark="line-x",
    )
    return told


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> tuple[Answer, Answer]:
    """Return answer and week of six runs."""
    folder = tmp_path_factory.mktemp("worked")
    worked(folder, 6)
    answer = answers.read(folder / "kept", KEY)
    week = answers.read(folder / "kept", KEY, "week.json")
    assert answer is not None
    assert week is not None
    return answer, week


def test_the_work_tells_how_far_it_is_and_keeps_a_whole_answer(tmp_path: Path) -> None:
    told = worked(tmp_path, 3)
    answer = answers.read(tmp_path / "kept", KEY)

    assert told[0]["done"] == 1
    assert told[-1]["done"] == told[-1]["wanted"] == 3
    assert answer is not None
    assert answer["whole"] is True
    assert answers.last(tmp_path / "kept", "line-x") == KEY


def test_a_stopped_and_a_straight_run_give_the_same_answer(tmp_path: Path) -> None:
    """A run is a pure function of seed and number, so it does not matter when it was made."""
    (tmp_path / "straight").mkdir()
    (tmp_path / "broken").mkdir()
    worked(tmp_path / "straight", 5)
    worked(tmp_path / "broken", 5, stop_after=1)
    part = answers.read(tmp_path / "broken" / "kept", KEY)
    worked(tmp_path / "broken", 5)

    straight = answers.read(tmp_path / "straight" / "kept", KEY)
    broken = answers.read(tmp_path / "broken" / "kept", KEY)

    assert part is not None
    assert straight is not None
    assert broken is not None
    assert part["done"] < 5
    assert part["whole"] is False
    assert broken["results"] == straight["results"]
    assert broken["days"] == straight["days"]


def test_the_hours_of_each_station_fill_the_week(found: tuple[Answer, Answer]) -> None:
    for row in hours_of(found[0]):
        assert sum(row.hours.values()) == pytest.approx(168.0, abs=1e-6), row.station


def test_stations_stand_in_the_order_of_flow_with_the_roll_shop_after_its_mill() -> None:
    order = ["furnace", "mill", "slitter"]
    names = ["slitter", "mill roll shop", "furnace", "mill", "stranger"]

    assert sorted(names, key=lambda name: place_in_flow(name, order)) == [
        "furnace",
        "mill",
        "mill roll shop",
        "slitter",
        "stranger",
    ]


def test_what_leaves_the_line_adds_up_to_what_it_makes(found: tuple[Answer, Answer]) -> None:
    answer, _ = found

    leaving = sum(answer["leaves"][row["at"]]["mean"] for row in answer["line"]["leaves"] if row["at"] == "slitter")

    assert leaving == pytest.approx(answer["results"]["line"]["good"]["mean"], rel=1e-6)


def test_the_days_of_the_week_add_up_to_what_was_finished_in_it(found: tuple[Answer, Answer]) -> None:
    _, week = found
    days = days_of(*found)

    assert [row.name for row in days] == ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
    whole = good_between(week, 0.0, week["length_s"]) / 1000.0
    assert sum(row.good for row in days) == pytest.approx(whole, rel=1e-9)
    assert whole > 0.0


def test_the_expected_day_is_the_weekly_mean_shared_out(found: tuple[Answer, Answer]) -> None:
    """Seven expected days make an expected week, but for the days at either end of a run, which are left out."""
    answer, _ = found
    week = sum(row["mean"] for row in answer["days"])

    assert week == pytest.approx(168.0 * answer["results"]["line"]["good"]["mean"], rel=0.25)
    for row in answer["days"]:
        assert row["low"] <= row["high"]


def test_the_shown_week_is_a_whole_one_from_monday_to_monday(found: tuple[Answer, Answer]) -> None:
    _, week = found
    spans = day_spans(week)

    assert [name for name, _, _ in spans] == ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
    assert spans[0][1] == 0.0
    assert spans[-1][2] == week["length_s"] == 7 * 86_400.0
    assert week["start"].startswith("2026-03-16T00:00:00")


def test_the_week_in_which_the_clocks_change_is_an_hour_short() -> None:
    """Directive 2000/84/EC: summer time begins at 01:00 UTC on the last Sunday of March, 29 March in 2026."""
    scenario = loads(SMALL.replace("warm_up: 1 week", "warm_up: 2 weeks"))

    start, end = window(scenario)

    assert end - start == 7 * 86_400.0 - 3600.0


def test_a_short_run_is_shown_whole() -> None:
    scenario = loads(SMALL.replace("length: 2 weeks", "length: 3 days"))

    start, end = window(scenario)

    assert (start, end - start) == (7 * 86_400.0, 3 * 86_400.0)


def test_a_week_as_long_as_the_run_is_shown_though_it_starts_on_no_monday_midnight() -> None:
    scenario = loads(SMALL.replace("length: 2 weeks", "length: 1 week"))

    start, end = window(scenario)

    assert (start, end - start) == (7 * 86_400.0, 7 * 86_400.0)


def test_each_machine_of_the_packed_week_has_a_state_all_the_time(found: tuple[Answer, Answer]) -> None:
    packed = packed_week(*found, METRIC)

    names = [machine["station"] for machine in packed["machines"]]
    assert [name for name in names if name != "supply"] == ["mill", "mill roll shop", "slitter"]
    for machine in packed["machines"]:
        assert "?" not in machine["s"], machine["station"]


def test_rolls_never_seem_to_run_farther_than_they_did(found: tuple[Answer, Answer]) -> None:
    packed = packed_week(*found, METRIC)
    rolled = next(figure for figure in packed["figures"] if figure["target"] == "mill")

    farthest = max(row["km"] for row in rows_of(found[1]["tables"]["rolls"]) if row["km"])
    assert 0.0 < max(rolled["v"]) <= max(farthest, 40.0) + 0.001
    assert min(rolled["v"]) >= 0.0
    assert rolled["form"].replace(NO_BREAK, " ") == "{} of 40 km"


def test_the_distance_of_a_set_grows_with_its_running_time() -> None:
    runs = [{"start_s": -80.0, "end_s": 100.0}, {"start_s": 150.0, "end_s": 250.0}, {"start_s": 300.0, "end_s": 900.0}]
    sets: list[dict[str, Any]] = [
        {"on_s": -500.0, "off_s": 50.0, "km": 25.0},  # went on before the week: counted back from its end
        {"on_s": 50.0, "off_s": 200.0, "km": 30.0},  # 100 running seconds: 0.3 km/s
        {"on_s": 200.0, "off_s": None, "km": None},
    ]

    time, value = rolled_points(runs, stays_of(sets, 400.0), 40.0)

    assert list(zip(time, (round(km, 9) for km in value), strict=True)) == [
        (0.0, 10.0),
        (50.0, 25.0),
        (50.0, 0.0),
        (100.0, 15.0),
        (150.0, 15.0),
        (200.0, 30.0),
        (200.0, 0.0),
        (250.0, 15.0),
        (300.0, 15.0),
        (400.0, 40.0),  # 45 km by its running time, but it would have come off at 40
    ]


def test_without_a_set_seen_whole_nothing_is_told_of_its_distance() -> None:
    runs = [{"start_s": 0.0, "end_s": 100.0}]

    assert rolled_points(runs, stays_of([{"on_s": -5.0, "off_s": 50.0, "km": 20.0}], 100.0), 40.0) == ([], [])
    assert rolled_points(runs, stays_of([], 100.0), 40.0) == ([], [])


def test_roll_changes_are_told_in_order_with_both_sets(found: tuple[Answer, Answer]) -> None:
    changes = changes_of(found[1])

    assert changes
    for row in changes:
        assert row.sets.startswith("set ")
        assert row.why in ("planned", "damage", "idle moment")
        assert row.run_km > 0.0
        assert row.took_s > 0.0


def test_limits_are_shares_with_their_ends(found: tuple[Answer, Answer]) -> None:
    shares = limit_shares(found[0])

    assert math.fsum(bar[0] for _, bar in shares.values()) <= 1.0 + 1e-9
    for words, (mean, low, high) in shares.values():
        assert 0.0 <= low <= mean <= high <= 1.0
        assert words.endswith("%")


def test_who_limits_is_told_without_gap_or_overlap() -> None:
    import numpy as np

    begins, ends = np.array([-50.0, 20.0, 40.0]), np.array([10.0, 40.0, 300.0])

    steps = limit_steps(begins, ends, np.array(["a", "b", "c"]), 0.0, 100.0)

    assert steps == {"time_s": [0.0, 10.0, 20.0, 40.0, 100.0], "name": ["a", "", "b", "c", ""]}


def test_the_verdict_speaks_the_units_of_the_page(found: tuple[Answer, Answer]) -> None:
    answer, _ = found
    metric = "".join(part.text for part in verdict_parts(answer, METRIC)).replace(NO_BREAK, " ")
    american = "".join(part.text for part in verdict_parts(answer, US)).replace(NO_BREAK, " ")

    assert metric.startswith("The line makes ")
    assert " t/week." in metric
    assert " short tons/week." in american
    good = answer["results"]["line"]["good"]["mean"] * 168.0
    shown = float(american.split("makes ")[1].split(" ")[0].replace("\u202f", ""))
    # 1 t is 1.10231 short tons (NIST Handbook 44, appendix C); the sentence is rounded by its half-width
    places = places_for(answer["half"] * 1.10231)
    assert shown == pytest.approx(good * 1.10231, abs=0.51 * 10.0**-places)
    assert so_far_parts(answer, METRIC)[0].text == "About "


def test_every_table_has_a_head_for_each_cell(found: tuple[Answer, Answer]) -> None:
    for name, make in MAKERS.items():
        for units in (METRIC, US):
            table = make(*found, units)
            assert table.rows, name
            assert {len(row) for row in table.rows} == {len(table.heads)}, name
            assert len(set(table.heads)) == len(table.heads), name


def test_lengths_of_time_read_as_a_plant_says_them() -> None:
    assert minutes(31 * 60.0).replace(NO_BREAK, " ") == "31 min"
    assert minutes(101 * 60.0).replace(NO_BREAK, " ") == "1 h 41"
    assert minutes(60 * 60.0 - 20.0).replace(NO_BREAK, " ") == "1 h 00"
    assert minutes(0.0).replace(NO_BREAK, " ") == "0 min"


def test_what_leaves_the_line_is_found_from_the_scenario() -> None:
    line = plain_line(loads(SMALL))

    assert [(row["at"], row["by"]) for row in line["leaves"]] == [("slitter", ["slitter"]), ("done", ["slitter"])]
    assert line["rings"] == {"A": "3 × 333 mm", "B": "2 × 500 mm"}
    mill = next(row for row in line["stations"] if row["name"] == "mill")
    assert mill["thickness_mm"] == pytest.approx(0.7)
    assert mill["change_after_km"] == pytest.approx(40.0)


def test_all_that_leaves_the_demo_plant_adds_up(root: Path, tmp_path: Path) -> None:
    """Rings sold behind the slitter and what the last stations make are together what the line makes, run by run."""
    text = (root / "scenarios" / "hollin_weir.yaml").read_text(encoding="utf-8")
    short = re.sub(r"warm_up: \d+ weeks, length: \d+ weeks", "warm_up: 1 week, length: 2 weeks", text)
    assert short != text

    worked(tmp_path, 2, text=short)
    answer = answers.read(tmp_path / "kept", KEY)

    assert answer is not None
    ends = {name for row in answer["line"]["leaves"] for name in row["by"]}
    leaving = sum(answer["leaves"][name]["mean"] for name in ends)
    sold = next(answer["leaves"][row["at"]]["mean"] for row in answer["line"]["leaves"] if not row["by"])
    assert sold > 0.0
    assert leaving + sold == pytest.approx(answer["results"]["line"]["good"]["mean"], rel=1e-6)


def test_what_is_sold_between_stations_is_what_no_station_takes_away(root: Path) -> None:
    """The demo plant sells rings behind its slitter; no station stands behind that row."""
    rows = plain_line(load(root / "scenarios" / "hollin_weir.yaml"))["leaves"]

    assert rows[0]["title"] == "Sold as coil"
    assert rows[0]["by"] == []


def test_a_share_that_may_be_none_or_all_has_its_ends_and_no_half_width() -> None:
    assert share_words(0.35, 0.0, 1.0, 0.82) == "35\u00a0(0\u00a0to\u00a0100)\u00a0%"
    assert share_words(0.55, 0.48, 0.62, 0.07) == "55\u00a0±\u00a07\u00a0%"
    assert share_words(1.0, 1.0, 1.0, 0.0) == "100\u00a0%"


def test_what_a_limit_waits_for_is_told_where_it_waits_much() -> None:
    """Ten hours open, two of them waiting: most of that for the setter."""
    states = [("slitter", "waiting", "crane", 0.0, 60.0), ("slitter", "waiting", "setter", 60.0, 7200.0)]
    names = ("station", "state", "reason", "start_s", "end_s")
    week = {"tables": {"states": dict(zip(names, map(list, zip(*states, strict=True)), strict=True))}}
    held = {"share": {"mean": 1.0, "low": 1.0, "high": 1.0}}

    def answer(waiting: float) -> dict[str, Any]:
        share = {"waiting": {"mean": waiting}, "closed": {"mean": 0.9}}
        return {"results": {"bottleneck": {"slitter": held}, "stations": {"slitter": {"share": share}}}}

    assert waits_part(answer(0.02), week)[0].text == " It waits for the setter for 20\u00a0% of its hours."
    assert waits_part(answer(0.002), week) == ()
    assert waits_part(answer(0.02), None) == ()


def test_hours_of_roll_changes_are_those_of_all_mills(tmp_path: Path) -> None:
    """A change takes half an hour and none waits for anything, so changes and hours of a week are two to one."""
    quick = SMALL.replace("cool: 6 h, grind: 3 h", "cool: 1 min, grind: 1 min").replace("people: 1", "people: 9")
    quick = re.sub(r" *damage: .*\n", "", quick)
    quick = quick.replace("day shift, people", "always, people").replace("every: 55 min", "every: 20 min")
    two = quick.replace("    kind: mill\n", "    kind: mill\n    machines: 2\n").replace("sets: 3", "sets: 9")
    worked(tmp_path, 2, text=two)
    answer = answers.read(tmp_path / "kept", KEY)
    assert answer is not None
    rolls = answer["results"]["rolls"]["mill"]
    said = changes_note(answer).replace(NO_BREAK, " ")
    count, hours = map(float, re.findall(r"^([0-9.]+) .*? take ([0-9.]+) ", said)[0])

    assert "of the 2 machines of the mill together; a set is always ready." in said
    assert hours == pytest.approx(0.5 * count, rel=0.1), "rounded as they are told"
    assert 2 * 168.0 * rolls["downtime"]["mean"] == pytest.approx(0.5 * rolls["changes"]["mean"], rel=0.02)


def test_one_mill_is_told_without_a_number_of_machines(found: tuple[Answer, Answer]) -> None:
    assert " h of the mill; " in changes_note(found[0]).replace(NO_BREAK, " ")


def test_the_caution_is_of_what_there_is_in_the_plant(found: tuple[Answer, Answer]) -> None:
    answer = found[0]
    casts = {**answer, "line": {**answer["line"], "stations": [{"name": "pot", "kind": "furnace"}]}}
    bought = {**answer, "results": {**answer["results"], "rolls": {}}}

    assert "Molten" not in care_of(answer) and "roll change" in care_of(answer)
    assert "Molten" in care_of(casts)
    assert "roll change" not in care_of(bought)
    assert all("local rules" in care_of(one) for one in (answer, casts, bought))
