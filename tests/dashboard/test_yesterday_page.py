"""Yesterday, from a small invented log and without a browser: it adds up, says what it must, and can be taken away."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from tours import SMALL

from dashboard import answers, yesterday_event, yesterday_log, yesterday_stay, yesterday_work
from dashboard.ask import Ask, AskError
from dashboard.pages import yesterday
from dashboard.parts import messages
from dashboard.parts.amounts import METRIC, US, Units
from dashboard.settings import Settings
from dashboard.tables import to_csv, to_xlsx
from dashboard.worker import Desk
from dashboard.yesterday_again import ENDED, Again
from dashboard.yesterday_parts import day_links, sections
from dashboard.yesterday_records import MOST_DAYS, Shelf
from dashboard.yesterday_report import INVENTED, sheet_of
from dashboard.yesterday_tables import MAKERS
from dashboard.yesterday_view import among, climb, curve, if_so, ladder_note, marks, pieces, rungs
from dashboard.yesterday_words import in_units, minutes, named_event, question, sure_line, sure_words, verdict_parts
from twin.line import simulate
from twin.logs import read_log
from twin.logs.doctor import examine
from twin.logs.save import save_log
from twin.logs.write import log_of
from twin.scenario import apply_set, load, loads
from twin.words import NO_BREAK

KEY, OTHER, FIRST, DRAWN = "3" * 20, "4" * 20, "7" * 20, "8" * 20
Answer = dict[str, Any]


@dataclass(frozen=True)
class Made:
    """A plant, its log, and the answer to its last day."""

    settings: Settings
    answer: Answer
    told: list[dict[str, Any]]
    order: dict[str, Any]


def small_log(folder: Path) -> None:
    """Write twelve days of the small plant as a log."""
    scenario = apply_set(loads(SMALL), "time.length", "12 days")
    trace = simulate(scenario, seed=3, trace=True).trace
    assert trace is not None
    folder.mkdir(parents=True)
    save_log(log_of(trace, scenario), folder)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Made]:
    folder, logs = tmp_path_factory.mktemp("plants"), tmp_path_factory.mktemp("logs")
    (folder / "small.yaml").write_text(SMALL, encoding="utf-8")
    small_log(logs / "small")
    settings = Settings(plants=folder, logs=logs, kept=tmp_path_factory.mktemp("kept"))
    told: list[dict[str, Any]] = []
    order = {
        "file": str(folder / "small.yaml"),
        "plant": "small",
        "options": [],
        "runs": 2,
        "seed": 2026,
        "kept": str(settings.kept),
        "key": KEY,
        "mark": "yesterday-mark",
        **yesterday_log.brought(settings, Ask(plant="small")),
    }
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(yesterday_work, "LOOK_BACK_DAYS", 4)
        patch.setattr(yesterday_work, "LOOK_BACK_RUNS", 19)
        patch.setenv("PASSLINE_STORE", f"sqlite:///{(settings.kept / 'own.sqlite').as_posix()}")
        yesterday_work.yesterday(Desk(lambda news: told.append(dict(news)), lambda: False), **order)
        answer = answers.read(settings.kept, KEY)
        assert answer is not None
        yield Made(settings, answer, told, order)


def with_review(answer: Answer, **parts: object) -> Answer:
    return {**answer, "review": {**answer["review"], **parts}}


def test_the_last_day_of_the_log_is_explained_and_the_days_before_are_forecast(made: Made) -> None:
    answer = made.answer
    assert answer["whole"] is True
    assert answer["day"] == answer["days"][-1] == "2026-03-20"
    assert answer["review"]["runs"] == 2 * yesterday_work.DAYS_A_RUN
    assert [one["day"] for one in answer["past"]] == answer["days"][-4:]
    assert all(0 <= one["done"] <= one["wanted"] for one in made.told)


def test_how_far_it_is_never_goes_back_and_is_told_in_words(made: Made) -> None:
    done = [one["done"] for one in made.told]

    assert made.told[0]["said"] == "reading the log"
    assert done == sorted(done)
    assert all(one["said"] for one in made.told)


@pytest.mark.parametrize("units", [METRIC, US])
def test_the_causes_that_are_taken_away_add_up_to_the_day(made: Made, units: Units) -> None:
    table = MAKERS["causes"](made.answer, {}, units)
    rows = {str(row[0]): float(row[3] or 0.0) for row in table.rows}
    actual = rows.pop("actual")

    assert sum(rows.values()) == pytest.approx(actual, abs=1e-9)


def test_the_rungs_that_are_drawn_lead_from_expected_to_the_replay(made: Made) -> None:
    found = made.answer["review"]
    reached = found["expected"]["mean_t"] + sum(one.tonnes for one in rungs(made.answer, METRIC))

    assert reached == pytest.approx(found["replay_t"], abs=1e-9)


def test_causes_of_an_ordinary_day_are_not_told_without_saying_that_it_was_one(made: Made) -> None:
    ordinary = with_review(made.answer, signal=False)["review"]
    signal = with_review(made.answer, signal=True)["review"]

    assert ladder_note(ordinary).startswith("The day was ordinary")
    assert "ordinary" not in ladder_note(signal)


def test_where_the_log_cannot_tell_the_page_says_why_and_ranks_nothing(made: Made) -> None:
    found = with_review(made.answer, tells=False, why_not="a quarter of the standstills have no record")

    assert "cannot be told: a quarter of the standstills have no record" in ladder_note(found["review"])
    assert {one.sure for one in rungs(found, METRIC) if one.record} <= {"cannot be told"}


@pytest.mark.parametrize("units", [METRIC, US])
def test_every_part_of_the_page_is_drawn_in_both_units(made: Made, units: Units) -> None:
    names = [piece.name for piece in pieces(made.answer, units)]
    assert {"among", "curve", "ladder", "strips", "suspects", "ifs", "days", "handover"} <= set(names)
    assert all(drawn for piece in pieces(made.answer, units) for drawn in piece.drawings)
    above, behind = sections(made.answer, units)
    assert above
    assert behind


def test_the_curve_ends_at_what_was_booked(made: Made) -> None:
    found = made.answer["review"]

    assert found["fan"]["actual_t"][-1] == pytest.approx(found["actual_t"])
    assert f"actual {round(found['actual_t'])}" in curve(made.answer, METRIC).drawings[0]


@pytest.mark.parametrize("name", MAKERS)
def test_every_table_opens_in_a_spreadsheet_with_as_many_cells_as_heads(made: Made, name: str) -> None:
    table = MAKERS[name](made.answer, {}, METRIC)
    rows = list(csv.reader(io.StringIO(to_csv(table).decode("utf-8-sig"))))
    sheet = openpyxl.load_workbook(io.BytesIO(to_xlsx(table))).active

    assert {len(row) for row in rows} == {len(table.heads)}
    assert sheet is not None
    assert sheet.max_row == len(rows)


def test_the_sheet_needs_no_other_file_and_has_room_to_sign(made: Made) -> None:
    text = sheet_of(made.answer)

    assert "http" not in text.replace("http://www.w3.org/2000/svg", "")
    assert "Handed over" in text
    assert "Unexplained" in text
    assert INVENTED not in text
    assert INVENTED in sheet_of({**made.answer, "invented": True})


def test_each_day_has_its_address_and_leads_to_its_neighbours(made: Made) -> None:
    first = day_links({**made.answer, "day": made.answer["days"][0]}, Ask(plant="small")).children
    last = day_links(made.answer, Ask(plant="small")).children
    before, after = last[0], first[2]

    assert f"day={made.answer['days'][-2]}" in before.href
    assert f"day={made.answer['days'][1]}" in after.href
    assert question(made.answer) == "What happened yesterday?"
    assert "Mon 9 Mar 2026" in question({**made.answer, "day": "2026-03-09"})


def test_hours_stay_true_in_the_night_in_which_the_clock_is_put_forward() -> None:
    """Europe/Vienna, 29 March 2026: 02:00 becomes 03:00 (common practice, no source), so the day has 23 hours."""
    day = {"begin_s": 1774674000.0, "end_s": 1774674000.0 + 23 * 3600.0, "zone": "Europe/Vienna"}
    said = [words for _, words in marks(day)]

    assert (said[0], said[-1]) == ("06:00", "05:00")
    assert len(said) == 12


# One event otherwise


def order(made: Made, key: str = OTHER, **more: object) -> dict[str, Any]:
    """Return what the process at hand is told."""
    named = {name: made.order[name] for name in ("file", "options", "log", "invented", "seed", "kept", "stamp")}
    return named | {"digest": made.answer["digest"], "day": made.answer["day"], "edits": [], "key": key, **more}


def test_a_day_without_an_event_is_the_same_asked_for_or_listed(made: Made) -> None:
    listed = next(one for one in made.answer["ifs"] if len(one["events"]) == 1)
    edit = {"event": listed["events"][0], "remove": True}
    again = Again()
    again.send(order(made, edits=[edit]))
    words = again.became(OTHER, wait_s=60.0)
    again.close()
    found = answers.read(made.settings.kept, OTHER)

    assert words == ""
    assert found is not None
    assert found["change_t"] == pytest.approx(listed["change_t"], abs=1e-9)
    assert found["events"][0]["number"] == listed["events"][0]
    assert found["curve_t"][-1] == pytest.approx(listed["made_t"])
    drawn, key = if_so(made.answer, found, METRIC)
    assert "if so" in drawn
    assert "if that had been so" in key


def test_a_day_at_hand_is_read_once(made: Made, monkeypatch: pytest.MonkeyPatch) -> None:
    shelf = Shelf()
    first = shelf.day(order(made))
    monkeypatch.setattr("dashboard.yesterday_records.records", lambda *_: pytest.fail("the log was read again"))

    assert shelf.day(order(made)) is first
    for day in made.answer["days"][-MOST_DAYS - 1 :]:
        shelf.day(order(made, day=day))
    assert len(next(iter(shelf.logs.values()))[1]) == MOST_DAYS


def test_a_log_that_has_changed_is_read_anew(made: Made) -> None:
    shelf = Shelf()
    assert shelf.day(order(made)) is not shelf.day(order(made, stamp="another"))


def test_what_the_process_at_hand_cannot_do_is_said_in_words(made: Made) -> None:
    words, trace = yesterday_stay.done(Shelf(), order(made, edits=[{"event": 999, "remove": True}]))
    assert "there is no event 999" in words
    assert trace == ""
    assert "the log tells nothing of" in yesterday_stay.done(Shelf(), order(made, day="2031-01-01"))[0]


def test_a_process_that_dies_is_said_and_the_next_press_starts_another(made: Made) -> None:
    again = Again()
    again.send(order(made, key="5" * 20))
    process = again._process
    assert process is not None
    process.kill()
    assert again.became("5" * 20, wait_s=30.0) == ENDED
    again.send(order(made, key="5" * 20))
    assert again.became("5" * 20, wait_s=60.0) == ""
    again.close()


def test_a_process_at_hand_that_nobody_asks_ends(made: Made) -> None:
    again = Again(idle_s=0.0)
    again.send(order(made, key="6" * 20))
    process = again._process
    assert process is not None
    process.join(60.0)

    assert process.exitcode == 0


def test_what_is_written_beside_an_event_becomes_an_edit() -> None:
    event = {"number": 3, "start_s": 0.0, "end_s": 1800.0}

    assert yesterday_event.edit_of(event, "0", "0") == {"event": 3, "remove": True}
    assert yesterday_event.edit_of(event, "-90", "30") == {"event": 3, "later_s": -5400.0}
    assert yesterday_event.edit_of(event, "", "45") == {"event": 3, "later_s": 0.0, "lasts_s": 2700.0}


@pytest.mark.parametrize(("later", "lasts"), [("soon", ""), ("0", "-1"), ("1e9", ""), ("nan", "")])
def test_minutes_that_cannot_be_are_refused_with_the_range(later: str, lasts: str) -> None:
    with pytest.raises(ValueError, match="write minutes from"):
        yesterday_event.edit_of({"number": 0, "start_s": 0.0, "end_s": 60.0}, later, lasts)


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        ({"remove": True}, "had not happened"),
        ({"later_s": 1200.0}, "had come 20 min later"),
        ({"later_s": -5400.0, "lasts_s": 3600.0}, "had come 1 h 30 earlier and lasted 1 h"),
        ({"later_s": 0.0}, "had been as it was"),
    ],
)
def test_how_an_event_is_otherwise_is_said(edit: dict[str, Any], said: str) -> None:
    assert yesterday_event.how_words(edit).replace(NO_BREAK, " ") == said


@pytest.mark.parametrize(
    ("kind", "edit", "is_so"),
    [
        ("rolls", {"remove": True}, True),
        ("setup", {"lasts_s": 600.0}, True),
        ("stop", {"lasts_s": 5400.0}, False),
        ("stop", {"later_s": 600.0}, False),
        ("speed", {"remove": True}, False),
    ],
)
def test_shorter_work_is_never_told_as_a_target(kind: str, edit: dict[str, Any], is_so: bool) -> None:
    event = {"number": 0, "kind": kind, "station": "mill", "machine": 1, "start_s": 0.0, "end_s": 3600.0, "reason": ""}
    found = {"events": [event], "edits": [edit], "made_t": 100.0, "change_t": 1.0, "low_t": 1.0, "high_t": 1.0}
    said = yesterday_event.said_of(found, "Europe/Vienna", METRIC)

    assert (yesterday_event.NO_TARGET in said) is is_so


def test_what_is_wrong_with_what_is_written_is_said_beside_it(made: Made) -> None:
    first = named_event(made.answer["review"]["events"][0], made.answer["review"]["zone"])

    assert yesterday_event.asked_of(made.answer, "nothing", "0", "0")["said"] == yesterday_event.CHOOSE
    assert "write minutes from" in yesterday_event.asked_of(made.answer, first, "soon", "")["said"]
    assert yesterday_event.asked_of(made.answer, first, "0", "0")["edit"] == {"event": 0, "remove": True}


# Stopping and going on


def test_a_stopped_day_goes_on_without_being_explained_again(made: Made) -> None:
    told: list[dict[str, Any]] = []
    answers.write(made.settings.kept, KEY, {**made.answer, "whole": False, "past": []})
    yesterday_work.yesterday(Desk(lambda news: told.append(dict(news)), lambda: False), **made.order)
    again = answers.read(made.settings.kept, KEY)

    assert again is not None
    assert again["whole"] is True
    assert again["past"] == made.answer["past"]
    assert not any("causes" in news["said"] for news in told)


# At first sight


@pytest.fixture(scope="module")
def seen(made: Made) -> Answer:
    """Return the day as it is on the page before its causes are found."""
    said: list[str] = []
    yesterday_work.yesterday(
        Desk(lambda news: said.append(news["said"]), lambda: "such days, whatever their morning" in said),
        **{**made.order, "key": FIRST, "mark": "first"},
    )
    answer = answers.read(made.settings.kept, FIRST)
    assert answer is not None
    return answer


def test_a_day_is_on_the_page_before_its_causes_are_found(made: Made, seen: Answer) -> None:
    names = {piece.name for piece in pieces(seen, METRIC)}

    assert (seen["explained"], seen["whole"]) == (False, False)
    assert {"among", "curve", "strips", "suspects", "handover"} <= names
    assert not names & {"ladder", "ifs", "look"}
    assert seen["review"]["expected"] == made.answer["review"]["expected"]
    assert all(MAKERS[name](seen, {}, METRIC).rows for name in ("causes", "events", "day-curve", "hand-over"))
    assert "From expected to actual" not in sheet_of(seen)


@pytest.mark.parametrize(("kind", "said"), [("part", "is being worked out"), ("stopped", "was not worked out")])
def test_that_the_causes_are_to_come_is_said_in_the_light_of_the_answer(seen: Answer, kind: str, said: str) -> None:
    assert said in str(yesterday.verdict_block(seen, {"kind": kind, "changes": []}, METRIC))


def test_a_day_that_was_stopped_before_its_causes_is_explained_when_it_goes_on(made: Made, seen: Answer) -> None:
    yesterday_work.yesterday(Desk(lambda _: None, lambda: False), **{**made.order, "key": FIRST, "mark": "first"})
    again = answers.read(made.settings.kept, FIRST)

    assert again is not None
    assert again["whole"] is True
    assert again["review"]["ladder"] == made.answer["review"]["ladder"]


# Uncertain inputs


@pytest.fixture(scope="module")
def uncertain(made: Made) -> Answer:
    """Return the day from inputs as uncertain as they are."""
    more = {"key": DRAWN, "mark": "drawn", "inputs": "uncertain", "known": "no log was accepted", "runs": 10}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(yesterday_work, "LOOK_BACK_DAYS", 2)
        patch.setattr(yesterday_work, "LOOK_BACK_RUNS", 19)
        yesterday_work.yesterday(Desk(lambda _: None, lambda: False), **{**made.order, **more})
    answer = answers.read(made.settings.kept, DRAWN)
    assert answer is not None
    return answer


def test_the_answer_says_how_its_inputs_were_taken(made: Made, uncertain: Answer) -> None:
    assert sure_line(made.answer, METRIC).endswith("Inputs at their best estimates.")
    assert "Inputs are as uncertain as they are: none is measured" in sure_line(uncertain, METRIC)
    assert "Inputs are as uncertain as they are" in sheet_of(uncertain)


def test_beside_the_band_of_uncertain_inputs_stands_that_of_luck_alone(made: Made, uncertain: Answer) -> None:
    assert "By the luck of such a day alone" in among(uncertain, METRIC).note
    assert "luck" not in among(made.answer, METRIC).note


def test_with_uncertain_inputs_the_rungs_still_lead_to_the_day(uncertain: Answer) -> None:
    assert climb(uncertain, METRIC).drawings
    assert uncertain["review"]["expected"]["mean_t"] > 0.0


# Where the log comes from


def test_a_plant_without_a_log_is_told_the_way_out(tmp_path: Path) -> None:
    with pytest.raises(AskError, match=r"passline serve small\.yaml --logs FOLDER"):
        yesterday_log.brought(Settings(kept=tmp_path), Ask(plant="small"))
    with pytest.raises(AskError, match="there is no log of small in"):
        yesterday_log.brought(Settings(logs=tmp_path, kept=tmp_path), Ask(plant="small"))


def test_a_log_that_has_changed_is_another_question(made: Made) -> None:
    before = yesterday_log.brought(made.settings, Ask(plant="small"))
    file = made.settings.logs / "small" / "stock.csv" if made.settings.logs else Path()
    os.utime(file, ns=(1, 1))

    assert yesterday_log.brought(made.settings, Ask(plant="small"))["stamp"] != before["stamp"]


def test_the_demo_plant_has_a_log_that_says_that_it_is_invented(tmp_path: Path) -> None:
    assert yesterday_log.brought(Settings(kept=tmp_path), Ask(plant=yesterday_log.DEMO))["invented"] is True


def test_the_invented_log_can_be_used_and_holds_what_was_planted(root: Path, tmp_path: Path) -> None:
    scenario = load(root / "scenarios" / f"{yesterday_log.DEMO}.yaml")
    yesterday_log.invent(scenario, tmp_path / "log")
    written = (tmp_path / "log" / "made.txt").stat().st_mtime_ns
    yesterday_log.invent(scenario, tmp_path / "log")
    log = read_log(tmp_path / "log")
    examined = examine(log, scenario)
    last = log.span[1] - yesterday_log.DAY_S
    stops = log["stops"]
    planted = (stops["station"] == "slitter") & (stops["reason"] == "slitter stop") & (stops["start"] > last)

    assert (tmp_path / "log" / "made.txt").stat().st_mtime_ns == written, "it is made once"
    assert examined.trusted()
    assert {"repeat", "no end"} <= {one.kind for one in examined.findings}
    assert int(planted.sum()) == 1, "of two planted stops one was not written down"


# Words


def test_sentences_tell_short_tons_by_the_pound_of_1959() -> None:
    """One short ton is 2000 lb of exactly 0.45359237 kg (international pound, 1959): 100 t are 110.23 short tons."""
    text = f"100{NO_BREAK}t where 200 were expected, \u221210.0{NO_BREAK}t unexplained"

    of = f"Slitter stop explains 10 of the 50{NO_BREAK}t."

    assert in_units(of, US) == f"Slitter stop explains 11 of the 55{NO_BREAK}short tons."
    assert in_units(text, METRIC) == text
    assert in_units(text, US) == (
        f"110{NO_BREAK}short tons where 220 were expected, \u221211.0{NO_BREAK}short tons unexplained"
    )


def test_the_sentence_on_top_keeps_its_marks_in_other_units(made: Made) -> None:
    assert [part.strong for part in verdict_parts(made.answer, US)] == [
        part["strong"] for part in made.answer["review"]["verdict"]["parts"]
    ]


def test_certainty_is_never_told_as_whole() -> None:
    assert sure_words(1.0, tells=True) == f"over 99{NO_BREAK}%"
    assert sure_words(0.5, tells=True) == f"50{NO_BREAK}%"
    assert sure_words(0.9, tells=False) == "cannot be told"


@pytest.mark.parametrize(("seconds", "said"), [(59.0, "1 min"), (3600.0, "1 h"), (7500.0, "2 h 05"), (0.0, "0 min")])
def test_how_long_something_lasted_is_told_in_hours_and_minutes(seconds: float, said: str) -> None:
    assert minutes(seconds).replace(NO_BREAK, " ") == said


@pytest.mark.parametrize(
    ("file", "said"),
    [("/a/stops.csv", "The log has a fault."), ("/a/mapping.yaml", "The log"), ("/a/plant.yaml", "The scenario file")],
)
def test_a_fault_is_laid_on_the_file_that_has_it(file: str, said: str) -> None:
    shown = messages.input_faults([{"file": file, "line": 3, "message": "there is no end", "way_out": "Fill it in"}])

    assert said in str(shown)
