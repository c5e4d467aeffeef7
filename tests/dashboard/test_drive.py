"""How a question stands: started once, found again, stopped and gone on with, kept, and marked when it has aged."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from dashboard.ask import Ask, AskError
from dashboard.drive import Knock, Office, Standing, Study, standing
from dashboard.frame_calls import press_among
from dashboard.jobs import Jobs, View
from dashboard.parts.amounts import METRIC, US
from dashboard.parts.bar import ago, bar, options_words, progress_words, runs_words
from dashboard.plants import Plants
from dashboard.settings import Settings
from twin.words import NO_BREAK

STUDY = Study("line", "job_targets:answer")
QUEUE = """passline: 1
name: Two machines behind one queue
metal: zinc
time: {warm_up: 5 h, length: 200 h}
stores: {queue: {holds: coils}, done: {holds: coils}}
stations:
  supply: {kind: supply, to: queue, every: 30 min, coil: {mass: 1 t, width: 1000 mm, thickness: 0.7 mm}}
  work: {kind: step, from: queue, to: done, machines: 2, time: 20 min}
options: {third machine: {set: {stations.work.machines: 3}}}
"""


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Office]:
    folder = tmp_path / "plants"
    folder.mkdir()
    (folder / "queue.yaml").write_text(QUEUE, encoding="utf-8")
    settings = Settings(plants=folder, kept=tmp_path / "kept")
    made = Office(settings, Plants(folder), Jobs(limit=1, early=("job_targets",)))
    made.jobs.warm()
    yield made
    made.jobs.close()


def until_ended(office: Office, ask: Ask, study: Study = STUDY) -> Standing:
    now = standing(office, study, ask, Knock(owner="one"))
    while now.view.going:
        now = standing(office, study, ask, Knock(owner="one", seen=now.view.steps))
    return now


def until_some(office: Office, ask: Ask, least: int = 2) -> Standing:
    now = standing(office, STUDY, ask, Knock(owner="one"))
    while now.answer is None or now.answer["done"] < least:
        now = standing(office, STUDY, ask, Knock(owner="one", seen=now.view.steps))
    return now


def test_a_question_is_answered_and_the_answer_is_kept(office: Office) -> None:
    now = until_ended(office, Ask(runs=3))
    again = standing(office, STUDY, Ask(runs=3, units="us"))

    assert now.answer is not None
    assert now.answer["whole"] is True
    assert again.answer == now.answer
    assert again.view.steps == now.view.steps


def test_asking_while_it_is_worked_out_starts_nothing_new(office: Office) -> None:
    ask = Ask(runs=1000)
    first = until_some(office, ask)
    other = standing(office, STUDY, ask, Knock(owner="another browser"))

    assert first.view.state == other.view.state == "running"
    assert other.answer is not None
    assert other.answer["done"] >= 2


def pause_of(_settings: Settings, ask: Ask) -> dict[str, float]:
    """Bring what depends on the day asked for, as a log does."""
    if not ask.day:
        raise AskError("queue has no log")
    return {"pause_s": int(ask.day[-2:]) / 1000.0}


def test_what_a_question_brings_along_belongs_to_its_name(office: Office) -> None:
    study = Study("day", "job_targets:answer", brings=pause_of)
    days = [until_ended(office, Ask(plant="queue", day=day, runs=2), study) for day in ("2026-03-02", "2026-03-03")]
    nothing = standing(office, study, Ask(plant="queue"))

    assert days[0].key != days[1].key
    assert (nothing.kind, nothing.words) == ("asked", "queue has no log")


def test_a_stopped_run_keeps_what_it_made_and_goes_on_from_there(office: Office) -> None:
    ask = Ask(runs=40)
    until_some(office, ask, least=3)
    standing(office, STUDY, ask, Knock("stop", "one"))
    stopped = until_ended(office, ask)

    assert stopped.stopped
    assert stopped.answer is not None
    kept = stopped.answer["done"]
    assert 3 <= kept < 40
    assert standing(office, STUDY, ask).stopped, "a stopped run must not start again by itself"

    now = standing(office, STUDY, ask, Knock("go-on", "one"))
    while now.answer is None or now.answer["done"] == kept:
        now = standing(office, STUDY, ask, Knock(owner="one", seen=now.view.steps))
    assert now.answer["done"] >= kept + 1
    assert until_ended(office, ask).answer is not None


def test_another_question_of_the_same_page_takes_the_place_of_the_first(office: Office) -> None:
    until_some(office, Ask(runs=1000))

    now = until_ended(office, Ask(runs=3, options=("third machine",)))

    assert now.answer is not None
    assert now.answer["whole"]


def test_a_run_that_its_page_left_behind_goes_on_when_the_page_comes_back_and_a_stopped_one_does_not(
    office: Office,
) -> None:
    ask, other = Ask(runs=1000), Ask(runs=3, options=("third machine",))
    until_some(office, ask)
    until_ended(office, other)
    left = until_ended(office, ask)
    assert left.stopped, "a clock of a page that still shows it starts nothing"

    back = standing(office, STUDY, ask, Knock("visit", "one"))
    while back.view.state == "waits":
        back = standing(office, STUDY, ask, Knock(owner="one"))
    assert back.view.state == "running"

    standing(office, STUDY, ask, Knock("stop", "one"))
    until_ended(office, ask)
    assert not standing(office, STUDY, ask, Knock("visit", "one")).view.going


def test_an_answer_older_than_its_scenario_is_shown_and_says_what_changed(office: Office) -> None:
    ask = Ask(runs=3)
    until_ended(office, ask)
    assert office.settings.plants is not None
    file = office.settings.plants / "queue.yaml"
    file.write_text(QUEUE.replace("time: 20 min", "time: 25 min"), encoding="utf-8")

    old = standing(office, STUDY, ask)

    assert old.old
    assert old.answer is not None
    assert list(old.changes) == ["work, time: 20 min → 25 min"]
    assert old.view.state == "none", "nothing starts before somebody asks for it"

    standing(office, STUDY, ask, Knock("again", "one"))
    fresh = until_ended(office, ask)
    assert not fresh.old
    assert fresh.answer is not None
    assert fresh.answer["digest"] != old.answer["digest"]


def test_a_file_with_faults_says_them_and_leaves_the_last_answer_standing(office: Office) -> None:
    ask = Ask(runs=3)
    until_ended(office, ask)
    assert office.settings.plants is not None
    file = office.settings.plants / "queue.yaml"
    file.write_text(QUEUE.replace("time: 20 min", "time: 20 kg"), encoding="utf-8")

    now = standing(office, STUDY, ask)

    assert now.kind == "input"
    assert now.answer is not None
    assert now.faults[0]["line"] == 8
    assert "20 kg" in now.faults[0]["value"] or "20 kg" in now.faults[0]["message"]


def test_a_failed_run_is_not_tried_again_by_itself(office: Office) -> None:
    study = Study("line", "job_targets:fail_to_answer")
    failed = until_ended(office, Ask(runs=3), study)
    later = standing(office, study, Ask(runs=3))

    assert failed.view.state == later.view.state == "failed"
    assert later.view.steps == failed.view.steps
    assert later.view.words == "ValueError: width 0 is not allowed"


def test_an_address_that_names_no_plant_or_option_is_explained(office: Office) -> None:
    plant = standing(office, STUDY, Ask(plant="elsewhere"))
    option = standing(office, STUDY, Ask(options=("tenth machine",)))

    assert plant.kind == option.kind == "asked"
    assert plant.words == "plant is 'elsewhere': there are queue"
    assert option.words == "options name 'tenth machine': queue has third machine"


def test_without_a_plant_there_is_nothing_to_answer(tmp_path: Path) -> None:
    office = Office(Settings(kept=tmp_path), Plants(None), Jobs())
    office.jobs.close()

    assert standing(office, STUDY, Ask()).kind == "empty"


def test_a_file_is_read_anew_only_when_it_has_changed(office: Office) -> None:
    first = office.plants.base("queue")
    assert office.plants.base("queue") is first
    assert office.settings.plants is not None
    (office.settings.plants / "queue.yaml").write_text(QUEUE.replace("200 h", "300 h"), encoding="utf-8")

    assert office.plants.base("queue") is not first


def test_the_bar_tells_how_far_the_run_is(office: Office) -> None:
    now = until_some(office, Ask(runs=1000), least=2)
    shown = bar(now, METRIC)

    assert shown.words.replace(NO_BREAK, " ").endswith("of 1000 runs wound, ± 12 t so far")
    assert "13 short tons" in bar(now, US).words.replace(NO_BREAK, " ")
    assert not shown.stop_hidden
    assert shown.again_hidden
    assert not shown.poll_off
    assert "<svg" in shown.coil


def test_a_run_may_tell_in_its_own_words_how_far_it_is() -> None:
    view = View("running", 3, {"done": 40, "wanted": 100, "said": "causes: 812 days run"})

    assert progress_words(Standing(view=view), METRIC) == "causes: 812 days run"


def test_a_run_that_was_stopped_before_there_was_an_answer_says_so() -> None:
    for view in (View("stopped"), View("done")):
        assert bar(Standing(view=view), METRIC).words == "stopped before there was an answer"
    assert bar(Standing("empty"), METRIC).words == ""


def test_a_stopped_answer_may_say_what_it_lacks() -> None:
    answer = {"done": 60, "wanted": 60, "whole": False, "half": None, "made": 0.0}
    for more, said in (
        ({}, "stopped after 60 of 60 runs"),
        ({"so_far": "before the rules"}, "stopped before the rules"),
    ):
        assert bar(Standing(answer={**answer, **more}, view=View("done")), METRIC).words == said


def test_a_press_counts_though_a_tick_of_a_clock_came_with_it() -> None:
    assert press_among(["poll", "stop"]) == "stop"
    assert press_among(["poll", "watch"]) == ""
    assert press_among(["poll", "ask"]) == "visit"
    assert press_among(["ask", "stop"]) == "stop"


def test_the_bar_tells_when_the_answer_was_made(office: Office) -> None:
    now = until_ended(office, Ask(runs=2))
    assert now.answer is not None
    shown = bar(now, METRIC, now=now.answer["made"] + 120.0)

    assert shown.words.replace(NO_BREAK, " ") == "last run 2 min ago, ± 12 t"
    assert shown.stop_hidden
    assert not shown.again_hidden
    assert shown.poll_off


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(3, "just now"), (40, "40 s ago"), (120, "2 min ago"), (7200, "2 h ago"), (200_000, "2 days ago")],
)
def test_ages_are_told_in_one_whole_number(seconds: float, words: str) -> None:
    assert ago(seconds) == words


def test_choices_are_told_in_a_word_or_two() -> None:
    assert options_words(()) == "today"
    assert options_words(("second slitter",)) == "second slitter"
    assert options_words(("a", "b", "c")) == "3 together"
    assert runs_words(Ask(runs=50)) == "50"
    assert runs_words(Ask(runs=50, seed=7)) == "50, seed 7"


def test_a_question_waits_while_somebody_else_runs(office: Office) -> None:
    until_some(office, Ask(runs=1000))
    waiting = standing(office, STUDY, Ask(runs=2), Knock(owner="two"))

    assert waiting.view.state == "waits"
    assert bar(waiting, METRIC).words == "waits: another run has the machine"
    standing(office, STUDY, Ask(runs=1000), Knock("stop"))
    until_ended(office, Ask(runs=1000))
    end = time.monotonic() + 10.0
    now = waiting
    while time.monotonic() < end and not (now.answer and now.answer["whole"]):
        now = standing(office, STUDY, Ask(runs=2), Knock(owner="two", seen=now.view.steps))
    assert now.answer is not None
    assert now.answer["whole"]
