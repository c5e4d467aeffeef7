"""Before you buy, from plain data and without a browser: what is drawn, what can be taken away, how numbers move."""

from __future__ import annotations

import csv
import io
import itertools
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from dash import html
from dash.development.base_component import Component
from flask import Flask
from tours import SMALL

from dashboard import answers, doubt_words, options_work
from dashboard.ask import Ask, address, read
from dashboard.charts.chances import Curve, chance_curves
from dashboard.doubt import Doubts
from dashboard.doubt_view import doubt_section
from dashboard.drive import Office, Standing, order
from dashboard.jobs import Jobs, View
from dashboard.options_report import report_of
from dashboard.pages import options
from dashboard.parts import options_numbers, options_parts
from dashboard.parts.amounts import METRIC, US
from dashboard.parts.bar import progress_words
from dashboard.parts.options_odds import ringed
from dashboard.parts.options_tables import MAKERS
from dashboard.parts.options_view import pieces, telling
from dashboard.plants import Plants
from dashboard.settings import Settings
from dashboard.tables import to_csv, to_xlsx
from dashboard.worker import Desk
from twin.indicators import Part
from twin.scenario import ScenarioError, load
from twin.study.advice import title
from twin.study.curve import curve

KEY = "2" * 20
MONEY = """money: {currency: EUR, weeks_per_year: 47, rate: 9 %, years: 10, contribution: {coil: 190 EUR/t}}
"""
PLANT = SMALL.replace("people: 2}}", "people: 2}, yearly: 90 kEUR}").replace(
    "slitter.speed: 60 m/min}}", "slitter.speed: 60 m/min}, capex: 40 kEUR}"
)


@pytest.fixture(scope="module")
def told() -> list[dict[str, Any]]:
    """Return what a study tells of how far it is, in order."""
    return []


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory, told: list[dict[str, Any]]) -> Iterator[Office]:
    folder = tmp_path_factory.mktemp("plants")
    (folder / "small.yaml").write_text(PLANT + MONEY, encoding="utf-8")
    made = Office(Settings(plants=folder, kept=tmp_path_factory.mktemp("kept")), Plants(folder), Jobs())
    options_work.options(
        Desk(lambda data: told.append(dict(data)), lambda: False),
        file=str(folder / "small.yaml"),
        plant="small",
        options=["second roll-shop person", "slow slitter"],
        sums=["second roll-shop person + slow slitter"],
        sets=["stations.mill.rolls.sets=4"],
        runs=6,
        seed=2026,
        kept=str(made.settings.kept),
        key=KEY,
        mark="options-mark",
    )
    assert told[-1]["done"] >= 6
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
        inner = getattr(part, "children", None)
        return words(inner)
    if isinstance(part, list | tuple):
        return " ".join(words(one) for one in part)
    return "" if part is None else str(part)


def test_the_study_keeps_rows_in_the_order_in_which_they_were_asked(answer: dict[str, Any]) -> None:
    assert [row["options"] for row in answer["results"]["rows"]] == [
        [],
        ["second roll-shop person"],
        ["slow slitter"],
        ["second roll-shop person", "slow slitter"],
        ["stations.mill.rolls.sets=4"],
    ]
    assert answer["whole"]
    assert answer["results"]["rows"][4]["capex"]["mean"] == 0.0


def test_every_piece_is_drawn_in_both_units_with_its_own_keys(answer: dict[str, Any]) -> None:
    metric, us = (pieces(answer["results"], units, key="k-") for units in (METRIC, US))
    names = [piece.name for piece in metric]

    assert {"ways", "chances", "turns", "rests", "place"} <= set(names)
    assert names == [piece.name for piece in us]
    ids = [part.split('"')[0] for piece in metric for text in piece.drawings for part in text.split(' id="')[1:]]
    assert len(ids) == len(set(ids))
    ways = us[0].drawings[0]
    assert "short tons/week" in ways
    assert "Second roll-shop person" in ways


def test_today_stands_first_and_has_no_change(answer: dict[str, Any]) -> None:
    ways = pieces(answer["results"], METRIC)[0].drawings[0]

    assert ways.index("Today") < ways.index("Second roll-shop person")
    assert "what limits then" in ways


def test_a_short_page_keeps_today_and_what_the_sentence_is_about(answer: dict[str, Any]) -> None:
    results = answer["results"]
    kept = telling(results, 3)

    assert kept[0]["options"] == []
    assert results["rows"][results["advice"]["focus"]] in kept
    assert len(kept) == 3
    assert telling(results, 99) == results["rows"]


@pytest.mark.parametrize("name", sorted(MAKERS))
def test_tables_are_taken_away_with_numbers_as_numbers(answer: dict[str, Any], name: str) -> None:
    table = MAKERS[name](answer, {}, METRIC)
    lines = list(csv.reader(io.StringIO(to_csv(table).decode("utf-8-sig"))))
    book = openpyxl.load_workbook(io.BytesIO(to_xlsx(table)))

    assert tuple(lines[0]) == table.heads
    assert len(lines) == len(table.rows) + 1
    assert all(len(line) == len(table.heads) for line in lines)
    cells = [cell.value for row in book.worksheets[0].iter_rows(min_row=2) for cell in row]
    assert name == "moves" or any(isinstance(cell, int | float) for cell in cells)


def test_the_table_of_options_has_the_numbers_of_the_results(answer: dict[str, Any]) -> None:
    table = MAKERS["options"](answer, {}, US)
    row = answer["results"]["rows"][1]

    assert table.heads[1] == "good_short_tons_per_week"
    assert table.rows[1][1] == pytest.approx(row["good"]["mean"] * US.per_tonne)
    assert table.rows[1][table.heads.index("running_kEUR_per_year")] == 90.0


def test_the_verdict_is_marked_while_it_is_a_part_and_when_it_is_old(answer: dict[str, Any]) -> None:
    part = options.verdict_block(answer, {"kind": "part"}, METRIC)
    old = options.verdict_block(answer, {"kind": "old", "changes": ["the speed of the slitter"]}, METRIC)

    assert "So far no: " in words(part)
    assert "does it pay?" in words(part)
    assert getattr(old, "className", "") == "answer old"
    assert "the speed of the slitter" in words(old)


def test_the_answer_is_drawn_once_and_again_when_units_turn(office: Office, answer: dict[str, Any]) -> None:
    shown = {"key": KEY, "kind": "whole"}
    verdict, drawings, mark = options.shown_answer(office, shown, Ask(), "")
    _, same, _ = options.shown_answer(office, shown, Ask(), mark)
    _, other, _ = options.shown_answer(office, shown, Ask(units="us"), mark)

    assert verdict is not None
    assert len(drawings) > 3
    assert not isinstance(same, list)
    assert isinstance(other, list)


def test_without_an_answer_the_question_stands_alone(office: Office) -> None:
    assert options.shown_answer(office, None, Ask(), "") == (None, None, "")
    asked, _, _ = options.shown_answer(office, {"key": "", "kind": "plain"}, Ask(), "")
    assert words(asked) == options.QUESTION


def test_the_report_is_served_as_a_file_to_keep_and_nothing_else_is(office: Office) -> None:
    server = Flask("t")
    options.serve_report(server, office)
    client = server.test_client()
    kept = client.get(f"/report/{KEY}.html?units=us")

    assert kept.status_code == 200
    assert kept.headers["Content-Disposition"] == 'attachment; filename="small-report.html"'
    assert "short tons/week" in kept.get_data(as_text=True)
    for bad in ("../secret", "3" * 20, "x"):
        assert client.get(f"/report/{bad}.html").status_code == 404


def test_a_name_in_a_file_is_never_markup(answer: dict[str, Any]) -> None:
    text = json.dumps(answer["results"]).replace("slow slitter", "<script>alert(1)</script>")
    report = report_of(json.loads(text))

    assert "<script>" not in report
    assert "&lt;script&gt;" in report


# Sums and single values


def test_sums_offered_leave_a_sound_plant_and_say_where_they_lead(office: Office) -> None:
    plant = office.plants.base("small")
    here = Ask(plant="small", sums=("second roll-shop person + slow slitter",), sets=("stations.slitter.machines=2",))
    made = words(options_parts.sums(plant, here))

    assert "second roll-shop person + slow slitter" in made
    assert "stations.slitter.machines=2" in made
    assert "2 more beside today" in made


def test_an_address_with_sums_and_values_reads_back_the_same() -> None:
    here = Ask(plant="p", options=("a",), sums=("a + b",), sets=("stores.x.capacity=46 coils", "stations.a.machines=2"))

    assert read(address(here)) == here
    assert here.mark != Ask(plant="p", options=("a",)).mark


def test_what_is_beside_today_goes_to_the_study_and_into_its_key(office: Office) -> None:
    here = Ask(plant="small", options=("slow slitter",), sets=("stations.slitter.machines=2",))
    opened = office.plants.open(Ask(plant="small"))
    assert opened is not None
    told = order(office, options.STUDY, here, opened, KEY)

    assert (told["options"], told["sums"], told["sets"]) == (["slow slitter"], [], ["stations.slitter.machines=2"])


def test_a_single_value_becomes_a_row_and_a_wrong_one_is_refused(office: Office) -> None:
    plant = office.plants.base("small")
    line = options_work.with_sets(plant, ["stations.slitter.machines=2"])

    assert line.options["stations.slitter.machines=2"].set == {"stations.slitter.machines": 2}
    with pytest.raises(ScenarioError, match="there is no 'machnes'"):
        options_work.with_sets(plant, ["stations.slitter.machnes=2"])


# Numbers that move


def test_every_number_that_is_offered_can_be_moved() -> None:
    plant = load(Path(__file__).parents[2] / "scenarios" / "tarn_lane.yaml")
    paths = options_numbers.movable(plant)
    dials = [options_numbers.dial(plant, path) for path in paths[::7]]

    assert len(paths) > 50
    for own in (one for one in dials if one is not None):
        assert len(own.values) >= 2
        assert 0 <= own.today < len(own.values)


def test_a_count_moves_one_by_one_and_a_quantity_from_half_to_twice(office: Office) -> None:
    plant = office.plants.base("small")
    machines = options_numbers.dial(plant, "stations.slitter.machines")
    limit = options_numbers.dial(plant, "stations.mill.rolls.change_after")
    assert machines is not None and limit is not None

    assert machines.values == (1.0, 2.0, 3.0, 4.0, 5.0)
    assert (machines.today, machines.texts[0]) == (0, "1")
    assert (limit.values[0], limit.values[-1]) == (20.0, 80.0)
    assert limit.texts[limit.today] == "40 km"
    assert options_numbers.dial(plant, "stations.slitter.nothing") is None


def test_positions_that_the_plant_does_not_allow_are_left_out(office: Office) -> None:
    """Rings that are together wider than the coil are no choice."""
    plant = office.plants.base("small")
    share = options_numbers.dial(plant, "patterns.A.rings.ring 333")
    assert share is not None

    assert max(share.values) == 3.0  # four rings of 333 mm are wider than 1034 mm


def test_the_curve_is_run_and_told_position_by_position(office: Office) -> None:
    plant = office.plants.open(Ask(plant="small"))
    assert plant is not None
    own = options_numbers.dial(plant.base, "stations.mill.rolls.sets")
    assert own is not None
    seen: list[Any] = []
    options_work.response(
        Desk(lambda _: seen.append(answers.read(office.settings.kept, "4" * 20)), lambda: False),
        file=str(plant.file),
        path=own.path,
        values=own.texts,
        first=own.today,
        seed=2026,
        kept=str(office.settings.kept),
        key="4" * 20,
    )
    found = answers.read(office.settings.kept, "4" * 20)
    assert found is not None and found["whole"]
    known = [place for place, mean in enumerate(seen[0]["mean"]) if mean is not None]
    assert own.today in known, "the slider's place is answered first"
    assert found["values"] == list(own.texts)
    in_order = list(curve(plant.base, own.path, own.texts, runs=options_work.CURVE_RUNS, workers=1))[-1]
    assert found["mean"] == in_order.mean.tolist(), "what is asked first changes no number"

    at_today = options_numbers.answer_at(found, own, own.today, METRIC)
    assert "+0" in at_today
    assert "against today" in at_today
    assert "<svg" in options_numbers.curve_drawing(found, own, METRIC)
    empty = found | {name: [None] * len(own.values) for name in ("mean", "low", "high")}
    assert options_numbers.curve_drawing(empty, own, METRIC) == ""
    assert options_numbers.answer_at(empty, own, 0, METRIC).endswith("being run.")


def test_a_moved_slider_finds_its_sentence_on_the_page(office: Office) -> None:
    own = options_numbers.dial(office.plants.base("small"), "stations.slitter.machines")
    assert own is not None
    along = options.said_along(office.settings.kept, "", own, Ask(plant="small"))

    assert along["said"] == [f"{text}: being run." for text in own.texts]
    assert along["asks"][own.today] == ""
    assert read(along["asks"][1]).sets == ("stations.slitter.machines=2",)


def test_ways_that_all_futures_agree_on_are_told_in_words_where_there_are_many() -> None:
    sure = [(f"way {i}", 20 if i < 5 else 0, 20) for i in range(10)]
    drawn, said = ringed([*sure, ("perhaps", 7, 20)], {"way 0"})

    assert drawn == [("way 0", 20, 20), ("perhaps", 7, 20)]
    assert said[0].count("way ") == 9
    assert "20\u00a0of\u00a020: way 1, way 2, way 3, way 4." in said[0]
    assert ringed(sure[:8], set()) == (sure[:8], [])


@pytest.mark.parametrize(("chance", "settled"), [([1.0, 1.0], True), ([0.0, 0.0], True), ([0.0, 1.0], False)])
def test_a_curve_says_nothing_where_nothing_happens_after_the_first_weeks(chance: list[float], settled: bool) -> None:
    assert Curve("way", [0.0, 3.0], chance).settled(0.25) is settled


def test_names_of_curves_that_climb_together_stand_one_below_the_other() -> None:
    drawn = chance_curves([Curve("one + two", [0, 1], [0, 1]), Curve("three", [0, 1], [0, 1])], years=8)
    places = re.findall(r'<text[^>]* y="([0-9.]+)"[^>]*class="pl-note pl-halo[^"]*">([^<]*)<', drawn)
    at = {name: float(y) for y, name in places}

    assert list(at) == ["one", "+ two", "three"]
    assert at["one"] < at["+ two"] < at["three"]


def test_a_long_name_does_not_reach_into_that_of_a_curve_that_climbs_later() -> None:
    """On a phone a name is about half as wide as the drawing: names of lines that climb near each other are apart."""
    early, later = Curve("one + two", [0, 1], [0, 1]), Curve("three + four", [0, 3.4, 3.5], [0, 0, 1])
    places = re.findall(r'<text[^>]* y="([0-9.]+)"[^>]*class="pl-note pl-halo', chance_curves([early, later], years=8))
    rows = sorted(map(float, places))

    assert len(rows) == 4
    assert min(below - above for above, below in itertools.pairwise(rows)) >= 16.0
    assert rows[-1] < 190.0, "no name below the floor"


def test_a_curve_that_climbs_after_the_years_drawn_is_named_at_the_floor() -> None:
    drawn = chance_curves([Curve("soon", [0, 1], [0, 1]), Curve("late", [0, 7, 11], [0, 0, 1])], years=8)
    places = re.findall(r'<text[^>]* x="([0-9.]+)%"[^>]*class="pl-note pl-halo[^"]*">([^<]*)<', drawn)

    assert [name for _, name in places] == ["soon", "late"]
    assert all(0.0 <= float(x) <= 100.0 for x, _ in places), "no name beside the drawing"


def test_each_part_says_that_inputs_are_as_uncertain_as_they_are(answer: dict[str, Any]) -> None:
    """Each note says what its interval holds, or that it takes best estimates; with these nothing of it is said."""
    best, drawn = (
        {piece.name: piece.note for piece in pieces(answer["results"], METRIC, uncertain=uncertain)}
        for uncertain in (False, True)
    )
    told = {
        "ways": "which holds the luck of the runs and what is not known of the plant",
        "chances": "random weeks and what is not known of the plant together",
        "turns": "the mean of all plants that were drawn",
        "hours": "this is the mean of all",
        "cheaper": "Intervals hold what is not known of the plant",
        "stairs": "at their best estimates here",
    }

    said = {name: words for name, words in told.items() if name in drawn}
    assert len(said) >= 3
    assert [name for name, words in said.items() if words not in drawn[name]] == []
    assert [name for name, words in said.items() if words in best[name]] == []


def test_shares_that_come_to_more_than_all_are_explained() -> None:
    one = {"path": "stations.mill.rolls.change", "name": "mill, roll change", "how": "assumed", "n": 0}
    lead = {**one, "half": 4.0, "half_without": 3.0}
    ends = {"mean": 10.0, "low": 6.0, "high": 14.0}
    told = {"of": ["a"], "runs": 60, "group": 2, "guess": 0.2, "numbers": 3, "measured": 0, "first": "", "last": ""}
    split = {"answer": ends, "runs_only": ends, "endless_runs": 3.0, "log_share": 0.9}

    def said(share: float) -> str:
        leads = [{**lead, "share": share}, {**lead, "share": share}]
        found = {"doubt": {**told, "split": {**split, "record_next": leads}}, "key": KEY}
        return words(doubt_section(found, METRIC, ask=Ask()))

    assert doubt_words.MORE_THAN_ALL.strip() in said(0.6)
    assert doubt_words.MORE_THAN_ALL.strip() not in said(0.4)


def test_the_study_tells_which_part_it_is_at_and_never_loses_count(
    answer: dict[str, Any], told: list[dict[str, Any]]
) -> None:
    """A part that has begun never comes again, and a count is never beyond what is wanted."""
    parts = [one["what"].split(",")[0] for one in told]

    assert all(re.fullmatch(r"part \d of 4, \w.*", one["what"]) for one in told)
    assert parts == sorted(parts)
    assert answer["whole"] and parts[0] == "part 1 of 4" and parts[-1] == "part 4 of 4"
    assert all(0 <= one["done"] <= one["wanted"] for one in told)


def test_a_study_that_goes_on_tells_no_part_before_it_runs(office: Office, answer: dict[str, Any]) -> None:
    """What was kept is told at once, without a run of its own."""
    told: list[Any] = []
    desk = Desk(told.append, lambda: False)
    plant = office.plants.base("small")
    keeper = options_work.Keeper(desk, plant, "small", 6, 1, office.settings.kept, "5" * 20, Doubts(plant, "best"))
    keeper.results = answer["results"]
    keeper.keep(whole=False)

    assert told == [{"half": None}]
    shown = progress_words(Standing("plain", view=View("running", 1, told[0])), METRIC)
    assert shown == "starts"


def test_the_link_to_inputs_keeps_all_that_is_asked(answer: dict[str, Any]) -> None:
    told = {"numbers": 3, "measured": 1, "first": "", "last": "", "guess": 0.2, "split": None, "group": 2, "of": []}
    asked = Ask(plant="small", sums=("a + b",), sets=("stations.slitter.machines=2",), inputs="uncertain")
    drawn = options_parts.sections({**answer, "doubt": told}, METRIC, asked)

    link = html.Div(drawn).to_plotly_json()  # type: ignore[no-untyped-call]
    assert f"/inputs{address(asked)}" in str(link)


def test_a_number_is_found_by_part_of_its_name(office: Office) -> None:
    plant = office.plants.base("small")

    assert options_numbers.named(plant, "slitter speed") == ["stations.slitter.speed"]
    assert options_numbers.named(plant, "stations.mill.rolls.sets") == ["stations.mill.rolls.sets"]
    many = options_numbers.named(plant, "mill")
    assert len(many) > 6
    assert options_numbers.which("mill", many).endswith(f" and {len(many) - 6} more.")
    assert options_numbers.named(plant, "furnace") == []
    assert options_numbers.which("furnace", []) == "No number that can be moved is called furnace."


def test_a_single_value_is_read_by_its_place_and_a_sentence_that_may_change_says_so() -> None:
    assert title(["stations.slitter.speed=235 m/min", "short runs"]) == "Slitter speed 235 m/min + short runs"
    assert options.so_far((Part("Yes: it adds "), Part("3", strong=True)))[0].text == "So far yes: it adds "
    assert options.so_far((Part("Whether it pays cannot be told"),))[0].text == "So far: Whether it pays cannot be told"
