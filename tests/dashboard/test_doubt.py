"""Inputs as uncertain as they are, on the pages: the address, the name of an answer, its parts, what to record next."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest
from dash.development.base_component import Component
from tours import SMALL, Tour, served

from dashboard import answers, doubt_words, work
from dashboard.ask import LEAST_UNCERTAIN_RUNS, Ask, AskError, address, read, taken
from dashboard.charts.doubt import Ends, ToRecord, honest_interval, known_rings, parts_bar, record_next
from dashboard.doubt import Doubts, half_of, name_of, stamp_of
from dashboard.doubt_view import doubt_section, record_table
from dashboard.drive import NEW_LOG, Office, mark_of, standing
from dashboard.frame_calls import run_choices
from dashboard.inputs import flat
from dashboard.jobs import Jobs, View
from dashboard.pages import line
from dashboard.parts.amounts import METRIC, US
from dashboard.plants import Plants
from dashboard.settings import Settings
from dashboard.worker import Desk
from twin.scenario import load
from twin.study.inputs import inputs_file
from twin.study.moves import written
from twin.study.spread import Spread
from twin.words import NO_BREAK

KEY = "2" * 20
STOP_EVERY = "stations.mill.failures.mill stop.every"
SHORT = SMALL.replace("warm_up: 1 week, length: 2 weeks", "warm_up: 1 day, length: 4 days")


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the small plant, the time between its mill stops taken from a log of twelve of them."""
    file = tmp_path_factory.mktemp("known") / "small.yaml"
    file.write_text(SHORT, encoding="utf-8")
    law = written(load(file).stations["mill"].failures[0].every)
    source = {"how": "measured", "n": 12, "first": "2026-01-05", "last": "2026-03-01", "words": "measured"}
    one = {"law": law, "source": source, "spread": Spread("rate", shape=12.5, exposure=12.5 * 72_000.0).plain()}
    kept = {"passline_inputs": 1, "numbers": {STOP_EVERY: one}}
    inputs_file(file).write_text(json.dumps(kept), encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def answer(plant: Path) -> dict[str, Any]:
    """Return an answer of the Line page with inputs as uncertain as they are."""
    kept = plant.parent / "kept"
    told: dict[str, Any] = {
        "file": str(plant),
        "plant": "small",
        "options": [],
        "runs": 40,
        "seed": 1,
        "kept": str(kept),
        "key": KEY,
    }
    work.line(Desk(lambda _: None, lambda: False), **told, mark="line-x", inputs="uncertain", known=stamp_of(plant))
    found = answers.read(kept, KEY)
    assert found is not None
    return found


def text(part: object) -> str:
    """Return all words of a piece of a page."""
    if isinstance(part, Component):
        return text(getattr(part, "children", None))
    if isinstance(part, list | tuple):
        return "".join(text(each) for each in part)
    return "" if part is None else str(part)


def test_best_estimates_are_not_written_into_the_address() -> None:
    assert "inputs" not in address(Ask(plant="small"))
    assert read(address(Ask(plant="small", inputs="uncertain"))).inputs == "uncertain"
    assert Ask(inputs="uncertain").mark != Ask().mark
    with pytest.raises(AskError, match="inputs are 'perhaps': write best or uncertain"):
        read("?inputs=perhaps")


def test_uncertain_inputs_take_two_runs_for_each_plant_and_enough_of_them() -> None:
    assert taken(Ask(runs=20, inputs="uncertain"), doubts=True).runs == LEAST_UNCERTAIN_RUNS
    assert taken(Ask(runs=75, inputs="uncertain"), doubts=True).runs == 76
    assert taken(Ask(runs=20, inputs="uncertain"), doubts=False) == Ask(runs=20)
    assert taken(Ask(runs=20), doubts=True) == Ask(runs=20)


def test_uncertain_inputs_offer_no_number_of_runs_that_is_too_small() -> None:
    here = Ask(plant="small", inputs="uncertain")
    shown = run_choices(here, taken(here, doubts=True))
    runs = [part.to_plotly_json()["props"]["children"] for part in shown]  # type: ignore[no-untyped-call]

    assert runs == ["60 runs", "100 runs", "200 runs"]


def test_another_log_gives_what_is_known_another_name(tmp_path: Path) -> None:
    file = tmp_path / "small.yaml"
    none = stamp_of(file)
    inputs_file(file).write_text("{}", encoding="utf-8")
    first = stamp_of(file)
    inputs_file(file).write_text("{ }", encoding="utf-8")

    assert len({none, first, stamp_of(file)}) == 3


class Idle:
    """Jobs that have all ended; it remembers the last one that was looked at."""

    key = ""

    def look(self, key: str, **_more: object) -> View:
        self.key = key
        return View("done")


def test_a_new_log_makes_an_answer_an_old_one_but_not_that_of_best_estimates(plant: Path, tmp_path: Path) -> None:
    file, jobs = tmp_path / "small.yaml", Idle()
    file.write_text(SHORT, encoding="utf-8")
    office = Office(Settings(plants=tmp_path, kept=tmp_path / "kept"), Plants(tmp_path), cast(Jobs, jobs))
    made = {}
    for inputs, known in (("best", ""), ("uncertain", stamp_of(file))):
        ask = Ask(plant="small", inputs=inputs)
        assert standing(office, line.STUDY, ask).answer is None
        made[inputs] = jobs.key
        told = {"whole": True, "done": 60, "inputs": flat(office.plants.base("small")), "known": known}
        answers.write(office.settings.kept, jobs.key, told)
        answers.remember(office.settings.kept, mark_of(line.STUDY, taken(ask, doubts=True), {}), jobs.key)

    inputs_file(file).write_text(inputs_file(plant).read_text(encoding="utf-8"), encoding="utf-8")
    best, old = (standing(office, line.STUDY, Ask(plant="small", inputs=inputs)) for inputs in made)

    assert made["best"] != made["uncertain"]
    assert (best.old, best.key) == (False, made["best"])
    assert (old.old, old.key, list(old.changes)) == (True, made["uncertain"], [NEW_LOG])


def test_with_best_estimates_nothing_is_drawn(plant: Path) -> None:
    doubts = Doubts(load(plant), "best")

    assert (doubts.vary, doubts.group, doubts.told(np.arange(8.0), 1)) == (None, 0, None)
    assert doubts.of_run(1, 3) is doubts.scenario


def test_the_interval_of_the_page_holds_both_errors(answer: dict[str, Any]) -> None:
    """The interval over runs that share plants two by two is that of the split, and wider than that of the runs."""
    parts = answer["doubt"]["split"]

    assert (answer["doubt"]["measured"], answer["doubt"]["group"]) == (1, 2)
    assert half_of(parts["answer"]) == pytest.approx(answer["half"])
    assert half_of(parts["answer"]) > half_of(parts["runs_only"])
    assert 0.0 < parts["log_share"] <= 1.0
    assert parts["record_next"]
    assert all(one["half_without"] < one["half"] for one in parts["record_next"])


def test_the_part_says_what_is_measured_and_what_is_a_guess(answer: dict[str, Any]) -> None:
    said = text(doubt_section(answer, METRIC))
    numbers = answer["doubt"]["numbers"]

    assert f"1 of {numbers} numbers that a log can tell of are measured" in said
    assert f"5{NO_BREAK}Jan{NO_BREAK}2026 to 1{NO_BREAK}Mar{NO_BREAK}2026" in said
    assert f"a guess, 20{NO_BREAK}% of its mean (one standard deviation)" in said
    assert "holds both errors: the luck of 40 runs" in said
    assert doubt_section({**answer, "doubt": None}, METRIC) == []


def test_where_nothing_is_measured_the_spread_is_said_to_be_a_guess(answer: dict[str, Any]) -> None:
    told = {**answer["doubt"], "measured": 0}

    assert "is measured: the spread of each is a guess, 20" in doubt_words.rests(told)
    assert doubt_words.sure(told).endswith("is a guess.")
    assert doubt_words.sure(None) == ""


def test_too_few_runs_and_no_leads_are_said(answer: dict[str, Any]) -> None:
    told = answer["doubt"]
    few = {**told, "runs": 4, "split": {**told["split"], "record_next": []}}

    assert "told from 20 runs on" in text(doubt_section({**answer, "doubt": few}, METRIC))
    assert "too few runs yet" in text(doubt_section({**answer, "doubt": {**told, "split": None}}, METRIC))
    luck = {**told, "split": {**told["split"], "log_share": 0.0}}
    assert "All of the doubt seen is luck" in text(doubt_section({**answer, "doubt": luck}, METRIC))


def test_a_part_that_is_there_is_never_said_to_be_none() -> None:
    shares = (0.0, 0.001, 0.5, 0.9999, 1.0)
    said = [doubt_words.part(one).replace(NO_BREAK, " ") for one in shares]
    assert said == ["0 %", "under 1 %", "50 %", "over 99 %", "100 %"]


def test_half_widths_keep_two_digits() -> None:
    halves = (40.0, 9.4, 3.35, 0.096)
    assert [doubt_words.half(one, METRIC).split(NO_BREAK)[1] for one in halves] == ["40", "9.4", "3.4", "0.096"]


def test_the_table_to_take_away_is_in_the_units_of_the_page(answer: dict[str, Any]) -> None:
    metric, us = record_table(answer, {}, METRIC), record_table(answer, {}, US)

    assert metric.heads[-1] == "half_width_if_known_t_per_week"
    assert us.rows[0][-1] == pytest.approx(float(metric.rows[0][-1] or 0.0) * 1.10231131)  # 2204.62262 lb / 2000
    assert record_table({"doubt": None}, {}, METRIC).rows == []


@pytest.mark.parametrize(
    ("path", "name"),
    [
        (STOP_EVERY, "mill, mill stop: how often"),
        ("stations.mill.failures.strip break.repair", "mill, strip break: time to mend"),
        ("stations.mill.rolls.damage", "mill, rolls: how far to a damage"),
        ("stations.gutter cutter.coil_change.time", "gutter cutter, coil change: time it takes"),
    ],
)
def test_a_number_is_named_as_a_plant_would(path: str, name: str) -> None:
    assert name_of(path) == name


def test_the_narrow_interval_is_drawn_within_the_wide_one() -> None:
    outer, inner = Ends(100.0, 80.0, 120.0), Ends(100.0, 95.0, 105.0)
    drawn = honest_interval(outer, inner, said=("wide <1>", "narrow"), unit="t/week", today=90.0)
    table = record_next([ToRecord("Mill & rolls", "assumed", "9 %", "4", 4.0)], outer, becomes="then", unit="t")

    assert 'class="pl-wider" x="11.538%"' in drawn  # 80 on a scale from 74 to 126
    assert 'width="76.923%"' in drawn
    assert 'width="19.231%"' in drawn
    assert "wide &lt;1&gt;" in drawn
    assert "pl-today" in drawn
    assert "Mill &amp; rolls" in table
    assert known_rings(2, 5).count("pl-full") == 2
    assert 'width="75%"' in parts_bar(0.75, said=("a", "b"))


def test_a_tour_turns_the_inputs_by_keyboard_on_a_phone(
    plant: Path, tmp_path: Path, new_tour: Callable[..., Tour]
) -> None:
    made = served(plant.parent, tmp_path / "kept", (line,))
    try:
        tour = new_tour(width=390, theme="dark")
        tour.open(f"{made.address}/?runs=4")
        tour.page.focus("#inputs-uncertain")
        tour.page.keyboard.press("Enter")
        tour.page.wait_for_selector("#doubt-interval svg", timeout=20_000)
        tour.whole()

        assert "inputs=uncertain" in tour.page.url
        assert tour.page.get_attribute("#inputs-uncertain", "aria-pressed") == "true"
        assert "60 runs" in tour.text("#doubt h2 + p")
        assert tour.page.evaluate("document.activeElement.textContent") == "as uncertain as they are"
        assert tour.page.evaluate("document.documentElement.scrollWidth") <= 390
        assert "inputs as uncertain as they are" in tour.text("#foot")
        assert (tour.wrong, tour.outside) == ([], [])
    finally:
        made.close()
