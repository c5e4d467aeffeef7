"""Roll changes, from plain data and without a browser: what is drawn, said, taken away, and put into a calendar."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from typing import Any

import openpyxl
import pytest
from dash.development.base_component import Component
from flask import Flask
from icalendar import Calendar
from tours import SMALL

from dashboard import answers, rolls_work
from dashboard.charts.roll_windows import Lane, Step, price_lanes
from dashboard.charts.timeline import Span
from dashboard.charts.week import Day
from dashboard.drive import Office
from dashboard.jobs import Jobs
from dashboard.pages import rolls
from dashboard.parts import rolls_parts
from dashboard.parts.amounts import METRIC, US
from dashboard.parts.rolls_tables import MAKERS
from dashboard.parts.rolls_view import pieces, rests_on, span_of
from dashboard.parts.rolls_words import at_a_time, clock, moment, tonnes, turned, window
from dashboard.plants import Plants
from dashboard.settings import Settings
from dashboard.tables import to_csv, to_xlsx
from dashboard.worker import Desk
from twin.words import NO_BREAK

KEY, BARE = "4" * 20, "5" * 20
PLAIN_STEP = SMALL.split("    rolls:")[0] + "  slitter:" + SMALL.split("  slitter:")[1]


def study(office: Office, plant: str, key: str) -> list[dict[str, Any]]:
    """Run the study of a plant in this process; return what it told."""
    told: list[dict[str, Any]] = []
    rolls_work.rolls(
        Desk(lambda data: told.append(dict(data)), lambda: False),
        file=str(office.settings.plants / f"{plant}.yaml") if office.settings.plants else "",
        plant=plant,
        options=[],
        runs=3,
        seed=2026,
        kept=str(office.settings.kept),
        key=key,
        mark=f"rolls-{plant}",
    )
    return told


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    folder = tmp_path_factory.mktemp("plants")
    (folder / "small.yaml").write_text(SMALL, encoding="utf-8")
    bare = PLAIN_STEP.split("options:")[0]
    (folder / "bare.yaml").write_text(bare, encoding="utf-8")
    made = Office(Settings(plants=folder, kept=tmp_path_factory.mktemp("kept")), Plants(folder), Jobs())
    assert {"the plan in futures", "the line at each distance"} <= {told["what"] for told in study(made, "small", KEY)}
    study(made, "bare", BARE)
    yield made
    made.jobs.close()


@pytest.fixture(scope="module")
def answer(office: Office) -> dict[str, Any]:
    found = answers.read(office.settings.kept, KEY)
    assert found is not None
    return found


def words(part: object) -> str:
    """Return all words of a part of a page."""
    if isinstance(part, Component):
        return words(getattr(part, "children", None))
    if isinstance(part, list | tuple):
        return " ".join(words(one) for one in part)
    return "" if part is None else str(part)


# The kept answer


def test_the_answer_is_kept_whole_with_a_price_for_every_quarter_of_an_hour(answer: dict[str, Any]) -> None:
    results = answer["results"]

    assert answer["whole"]
    assert results["changes"]
    for change in results["changes"]:
        ats = [price["at"] for price in change["prices"]]
        assert ats == sorted(ats)
        assert max(right - left for left, right in zip(ats, ats[1:], strict=False)) <= 900.0
        best = min(change["prices"], key=lambda price: price["tonnes"])
        assert best["tonnes"] == pytest.approx(0.0, abs=1e-9)


def test_what_is_infinite_is_kept_as_nothing_so_that_json_can_hold_it() -> None:
    assert rolls_work.plain((float("inf"), float("nan"), 1.5, None, "x")) == [None, None, 1.5, None, "x"]


def test_a_plant_without_rolls_gets_a_sentence_and_the_way_out(office: Office) -> None:
    verdict, drawings, _ = rolls.shown_answer(office, {"key": BARE, "kind": "whole"}, METRIC, "")

    assert "No rolls are changed in this plant." in words(verdict)
    assert "No station of this scenario has rolls that are changed: describe them under rolls: of a mill." in words(
        verdict
    )
    assert drawings is None


# What is said


def test_local_time_is_true_across_a_change_of_the_clocks() -> None:
    """In Vienna the clocks went back on 25 October 2026 at 03:00 CEST = 01:00 UTC (directive 2000/84/EC)."""
    results = {"now": "2026-10-25T01:30:00+02:00", "zone": "Europe/Vienna"}

    assert clock(moment(results, 3600.0)) == "Sun 02:30"
    assert clock(moment(results, 7200.0)) == "Sun 02:30"
    assert clock(moment(results, 10800.0)) == "Sun 03:30"


def test_a_window_over_midnight_names_both_days_and_one_moment_stands_alone() -> None:
    results = {"now": "2026-03-04T12:00:00+01:00", "zone": "Europe/Vienna"}

    assert window(results, {"earliest": 3600.0, "latest": 7200.0}) == "Wed 13:00–14:00"
    assert window(results, {"earliest": 36_000.0, "latest": 46_800.0}) == "Wed 22:00–Thu 01:00"
    assert window(results, {"earliest": 3600.0, "latest": 3610.0}) == "Wed 13:00"


def test_sentences_turn_into_the_units_of_the_page_and_other_numbers_stay() -> None:
    """A short ton is 907.18474 kg and a foot 0.3048 m, both exact (international yard and pound agreement of 1959)."""
    said = "Today's 57_km makes 14_±_4_t/week less; 59.0_±_0.4_h/week, 95_%.".replace("_", NO_BREAK)
    other = "Today's 187_kft makes 15_±_4_short tons/week less; 59.0_±_0.4_h/week, 95_%.".replace("_", NO_BREAK)

    assert turned(said, METRIC) == said
    assert turned(said, US) == other


def test_a_price_is_said_with_its_time_and_a_time_that_is_not_allowed_too() -> None:
    results = {"now": "2026-03-04T12:00:00+01:00", "zone": "Europe/Vienna", "life": {"law": "weibull"}}
    prices: list[dict[str, Any]] = [
        {"at": 0.0, "tonnes": 1.26, "risk": 0.021},
        {"at": 3600.0, "tonnes": 0.0, "risk": 0.03},
        {"at": 7200.0, "tonnes": None, "risk": 0.04},
    ]
    change = {"earliest": 1800.0, "best": 3600.0, "latest": 5400.0, "prices": prices}

    said = [at_a_time(results, change, price, METRIC) for price in prices]
    assert said[0] == "Wed 12:00: +1.3\u00a0t lost; damage before then: 2\u00a0%"
    assert said[1] == "Wed 13:00: the best time; damage before then: 3\u00a0%"
    assert said[2].startswith("Wed 14:00: not allowed")
    assert tonnes(1.0, US) == "+1.1\u00a0short tons"


# What is drawn


def test_every_piece_is_drawn_in_both_units_with_its_own_keys(answer: dict[str, Any]) -> None:
    metric, us = (pieces(answer["results"], units) for units in (METRIC, US))
    names = [piece.name for piece in metric]

    assert names == ["places", "windows", "along", "distances", "fails", "each", "rules"]
    assert names == [piece.name for piece in us]
    ids = [part.split('"')[0] for piece in metric for text in piece.drawings for part in text.split(' id="')[1:]]
    assert len(ids) == len(set(ids))
    assert "kft" in us[0].drawings[0]
    assert "short tons" in us[1].drawings[0]


def test_the_cautions_stand_right_below_the_plan(answer: dict[str, Any]) -> None:
    made = rolls_parts.sections(answer, METRIC)
    below = [words(one) for one in made]
    plan = next(i for i, said in enumerate(below) if "The coming windows" in said)

    assert below[plan + 1].startswith("Care.")
    for caution in answer["results"]["cautions"]:
        assert caution in below[plan + 1]


def test_where_the_hour_does_not_matter_the_page_says_so(answer: dict[str, Any]) -> None:
    calm = answer["results"] | {"hour_matters": False}
    note = next(piece.note for piece in pieces(calm, METRIC) if piece.name == "windows")

    assert note.startswith("The hour does not matter: anywhere on the solid floor a change costs less than")


def test_what_the_answer_rests_on_tells_how_the_plan_was_tried(answer: dict[str, Any]) -> None:
    said = rests_on(answer["results"], METRIC)

    assert f"The plan was simulated in {answer['results']['futures']} futures" in said[-1]
    assert len(said) == len(answer["results"]["assumed"]) + 1


def test_a_second_mill_with_rolls_is_not_forgotten() -> None:
    assert rolls_parts.other_mills("mill", []) == []
    assert "passline rolls --station 'finishing mill'" in rolls_parts.other_mills("mill", ["finishing mill"])[0]


def test_half_a_day_before_now_and_all_planned_days_are_drawn(answer: dict[str, Any]) -> None:
    span = span_of(answer["results"])

    assert span.now == 12 * 3600.0
    assert span.length == span.now + answer["results"]["days"] * 86_400.0


def lane(steps: tuple[Step, ...] | None = None) -> Lane:
    """Return a lane with a step every quarter of an hour, the fourth of which is best and the last not allowed."""
    usual = tuple(Step(900.0 * i, price, f"step {i}") for i, price in enumerate((3.0, 2.0, 0.2, 0.0, 0.1, 4.0, None)))
    return Lane("Set 2 off, set 3 on", "Wed", 1800.0, 2700.0, 3600.0, "+1", "+2", steps or usual)


def test_a_lane_carries_what_is_said_at_each_time_and_begins_at_the_best() -> None:
    drawn = price_lanes([lane()], Span(86_400.0, (Day(0.0, "Wed 4 Mar", "Wed"),), 0.0))
    packed = json.loads(drawn.split('data-steps="')[1].split('"')[0].replace("&quot;", '"'))

    assert packed["best"] == 3
    assert [step[2] for step in packed["steps"]] == [f"step {i}" for i in range(7)]
    heights = [step[1] for step in packed["steps"]]
    assert heights[3] > heights[2] > heights[1] > heights[0] > heights[6], "dearer is higher, not allowed is highest"
    assert '<output class="roll-said">step 3</output>' in drawn
    assert drawn.count('type="range"') == 2, "one thumb for wide pages, one for phones"


def test_a_change_with_one_possible_time_cannot_be_moved() -> None:
    alone = lane(steps=(Step(2700.0, 0.0, "only then"),))
    drawn = price_lanes([alone], Span(86_400.0, (Day(0.0, "Wed 4 Mar", "Wed"),), 0.0))

    assert 'type="range"' not in drawn
    assert "only then" in drawn


def test_words_in_a_lane_are_never_markup() -> None:
    drawn = price_lanes(
        [lane(steps=(Step(0.0, 0.0, "<b>now</b>"), Step(900.0, 1.0, '"')))], Span(86_400.0, (Day(0.0, "W", "W"),))
    )

    assert "<b>" not in drawn
    assert "&lt;b&gt;now" in drawn


# What is taken away


@pytest.mark.parametrize("name", sorted(MAKERS))
def test_tables_are_taken_away_with_numbers_as_numbers(answer: dict[str, Any], name: str) -> None:
    table = MAKERS[name](answer, {}, METRIC)
    lines = list(csv.reader(io.StringIO(to_csv(table).decode("utf-8-sig"))))
    book = openpyxl.load_workbook(io.BytesIO(to_xlsx(table)))

    assert tuple(lines[0]) == table.heads
    assert len(lines) == len(table.rows) + 1 > 1
    assert all(len(line) == len(table.heads) for line in lines)
    cells = [cell.value for row in book.worksheets[0].iter_rows(min_row=2) for cell in row]
    assert any(isinstance(cell, int | float) for cell in cells)


def test_the_calendar_holds_the_windows_that_the_page_shows(office: Office, answer: dict[str, Any]) -> None:
    server = Flask("t")
    rolls.serve_calendar(server, office)
    client = server.test_client()
    kept = client.get(f"/calendar/{KEY}.ics")
    events = Calendar.from_ical(kept.get_data()).walk("VEVENT")

    assert kept.headers["Content-Disposition"] == 'attachment; filename="small-roll-changes.ics"'
    assert kept.headers["Content-Type"].startswith("text/calendar")
    results = answer["results"]
    assert len(events) == len(results["changes"])
    for event, change in zip(events, results["changes"], strict=True):
        assert abs((event.decoded("dtstart") - moment(results, change["earliest"])).total_seconds()) < 60.0, (
            "whole minutes"
        )
    for bad in ("x", "3" * 20, BARE):
        assert client.get(f"/calendar/{bad}.ics").status_code == 404


# The page


def test_the_coming_changes_stand_before_it_is_known_how_far_a_set_should_run(answer: dict[str, Any]) -> None:
    first = answer | {"results": answer["results"] | {"sweep": None, "rules": []}}
    verdict = rolls.verdict_block(first, {"kind": "part"}, METRIC)

    assert rolls.SO_FAR in words(verdict)
    assert rolls.CUT_SHORT in words(rolls.verdict_block(first, {"kind": "stopped"}, METRIC))
    assert [piece.name for piece in pieces(first["results"], METRIC)] == ["places", "windows", "along", "fails"]


def test_the_verdict_is_marked_when_it_is_old(answer: dict[str, Any]) -> None:
    old = rolls.verdict_block(answer, {"kind": "old", "changes": ["the people of the roll shop"]}, METRIC)

    assert rolls.QUESTION in words(old)
    assert getattr(old, "className", "") == "answer old"
    assert "the people of the roll shop" in words(old)


def test_the_line_below_the_verdict_says_how_the_inputs_were_taken(answer: dict[str, Any]) -> None:
    told = {"numbers": 9, "measured": 4, "guess": 0.2}

    assert "Inputs at their best estimates." in str(rolls.verdict_block(answer, {"kind": "whole"}, METRIC))
    assert "4 of 9 are measured" in str(rolls.verdict_block({**answer, "doubt": told}, {"kind": "whole"}, METRIC))


def test_many_runs_of_uncertain_inputs_do_not_hold_up_the_coming_days() -> None:
    assert rolls_work.futures_of(20) == 200
    assert rolls_work.futures_of(60, drawn=True) < 2 * rolls_work.futures_of(20)


def test_the_answer_is_drawn_once_and_again_when_units_turn(office: Office, answer: dict[str, Any]) -> None:
    shown = {"key": KEY, "kind": "whole"}
    _, drawings, mark = rolls.shown_answer(office, shown, METRIC, "")
    _, same, _ = rolls.shown_answer(office, shown, METRIC, mark)
    _, other, _ = rolls.shown_answer(office, shown, US, mark)

    assert len(drawings) > 5
    assert not isinstance(same, list)
    assert isinstance(other, list)


def test_without_an_answer_the_question_stands_alone(office: Office) -> None:
    assert rolls.shown_answer(office, None, METRIC, "") == (None, None, "")
    asked, _, _ = rolls.shown_answer(office, {"key": "", "kind": "plain"}, METRIC, "")
    assert words(asked) == rolls.QUESTION
