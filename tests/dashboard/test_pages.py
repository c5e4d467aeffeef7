"""What the frame and the Line page show, from plain data: choices, messages, verdict, without a browser."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

import pytest
from dash import no_update
from dash.development.base_component import Component
from tours import SMALL

from dashboard import answers, work
from dashboard.ask import Ask, address, read
from dashboard.drive import Office, Standing
from dashboard.frame_calls import driven, message, settled, token
from dashboard.jobs import Jobs, View
from dashboard.pages import line
from dashboard.parts import messages
from dashboard.parts.amounts import METRIC
from dashboard.parts.frame import foot, links
from dashboard.plants import Plants
from dashboard.settings import Settings
from dashboard.worker import Desk

KEY = "1" * 20


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    folder = tmp_path_factory.mktemp("plants")
    (folder / "small.yaml").write_text(SMALL, encoding="utf-8")
    (folder / "other.yaml").write_text(SMALL.replace("Small plant", "Other plant"), encoding="utf-8")
    kept = tmp_path_factory.mktemp("kept")
    made = Office(Settings(plants=folder, kept=kept), Plants(folder), Jobs())
    work.line(
        Desk(lambda _: None, lambda: False),
        file=str(folder / "small.yaml"),
        plant="small",
        options=[],
        runs=2,
        seed=1,
        kept=str(kept),
        key=KEY,
        mark="line-x",
    )
    yield made
    made.jobs.close()


def text(part: object) -> str:
    """Return all words of a piece of a page."""
    if isinstance(part, Component):
        return text(getattr(part, "children", None))
    if isinstance(part, list | tuple):
        return "".join(text(each) for each in part)
    return "" if part is None else str(part)


def asked(component: Component) -> Ask:
    """Return the question to which a choice leads."""
    return read(props(component)["data-ask"])


def props(component: Component) -> dict[str, Any]:
    """Return what a component passes on to the page."""
    found: dict[str, Any] = component.to_plotly_json()["props"]  # type: ignore[no-untyped-call]
    return found


def links_of(here: str) -> list[Component]:
    return links([("/", "Line"), ("/rolls", "Roll changes")], here, "/")


def test_the_first_plant_is_shown_when_none_is_named(office: Office) -> None:
    shown = settled(office, links_of, None, "", "2026")

    assert shown.plant_shown == "Other plant of the tours"
    assert shown.ask["plant"] == "other"
    assert shown.search is no_update, "an address that nobody changed is left alone"


def test_each_choice_leads_to_an_address_that_differs_in_one_thing(office: Office) -> None:
    here = Ask(plant="small", options=("slow slitter",), runs=30, seed=5, units="us")
    shown = settled(office, links_of, None, address(here), "5")

    assert [asked(choice) for choice in shown.plants] == [
        Ask(plant="other", runs=30, seed=5, units="us"),
        Ask(plant="small", runs=30, seed=5, units="us"),
    ]
    assert [asked(choice).options for choice in shown.options] == [("second roll-shop person", "slow slitter"), ()]
    assert [asked(choice).runs for choice in shown.runs] == [10, 20, 30, 50, 100, 200]
    assert all(asked(choice).options == here.options for choice in shown.runs)
    assert (shown.options_shown, shown.runs_shown, shown.units) == ("slow slitter", "30, seed 5", "Units: short tons")


def test_turning_the_units_changes_the_address_and_nothing_else(office: Office) -> None:
    here = Ask(plant="small", runs=30)

    shown = settled(office, links_of, "units", address(here), "2026")

    assert read(shown.search) == Ask(plant="small", runs=30, units="us")


def test_a_seed_that_is_no_number_is_explained_and_leaves_the_address(office: Office) -> None:
    shown = settled(office, links_of, "seed", address(Ask(plant="small")), "many")

    assert shown.search is no_update
    assert shown.ask["error"].startswith("seed is 'many': give a whole number")
    out = driven(office, line.STUDY, shown.ask, "", "one", None)
    assert "Seed is 'many'" in text(out[8])


def test_page_names_keep_what_is_asked(office: Office) -> None:
    current, other = links_of("?plant=small&runs=10&seed=2026&units=t")

    assert props(current)["aria-current"] == "page"
    assert parse_qs(props(other)["href"].split("?")[1])["plant"] == ["small"]


def test_what_went_wrong_is_said_in_the_right_words(office: Office) -> None:
    dead = View("failed", 1, {}, "The run ended without a result: exit code 9 after 6 s.", "4f2a")

    failed = text(message(Standing("plain", view=dead), office))
    wrong = text(message(Standing("asked", words="plant is 'x': there are small"), office))
    empty = text(message(Standing("empty"), office))

    assert failed.startswith("The run ended without a result.")
    assert "exit code 9 after 6 s. Note 4f2a is in the log." in failed
    assert "still stands" not in failed
    assert wrong == "This cannot be shown.Plant is 'x': there are small."
    assert empty.startswith("No plant is open.")
    assert message(Standing("plain"), office) is None


def test_an_answer_that_still_stands_is_named_by_its_time(office: Office) -> None:
    answer = answers.read(office.settings.kept, KEY)
    assert answer is not None
    dead = View("failed", 1, {}, "ValueError: width 0", "4f2a")

    said = text(message(Standing("plain", KEY, answer, view=dead), office))

    assert "The answer of " in said
    assert "still stands below." in said


def test_a_fault_of_the_file_names_file_line_place_and_the_way_out() -> None:
    fault = {
        "file": "/somewhere/else/demo_z.yaml",
        "line": 48,
        "place": "stations.mill.rolls.change_after",
        "message": "'57 kg' is not a distance",
        "way_out": "Write a distance, for example 57 km",
    }

    said = text(messages.input_faults([fault]))

    assert said == (
        "The scenario file has a fault.demo_z.yaml, line 48 stations.mill.rolls.change_after: "
        "'57 kg' is not a distance. Write a distance, for example 57 km."
    )
    assert text(messages.input_faults([fault, fault])).startswith("The scenario file has 2 faults.")


@pytest.mark.parametrize(
    ("light", "words"),
    [
        ({"kind": "whole", "changes": []}, "The line makes "),
        ({"kind": "part", "changes": []}, "About "),
        ({"kind": "stopped", "changes": []}, "Stopped after 2"),
        (
            {"kind": "old", "changes": ["time, length: 2 weeks → 3 weeks"]},
            "The scenario has changed since: time, length",
        ),
        ({"kind": "last", "changes": []}, "before the file had its faults"),
    ],
)
def test_the_verdict_says_in_which_light_it_stands(office: Office, light: dict[str, Any], words: str) -> None:
    answer = answers.read(office.settings.kept, KEY)
    week = answers.read(office.settings.kept, KEY, "week.json")
    assert answer is not None

    block = line.verdict_block(answer, week, light, METRIC)

    assert text(block).startswith(line.QUESTION)
    assert words in text(block)
    assert ("old" in props(block)["className"]) == (light["kind"] in ("old", "last"))


def test_drawings_are_made_once_for_an_answer_and_again_when_the_units_turn(office: Office) -> None:
    shown = {"key": KEY, "kind": "whole", "changes": []}
    _, drawings, mark = line.shown_answer(office, shown, Ask(), "")
    _, again, _ = line.shown_answer(office, shown, Ask(), mark)

    assert isinstance(drawings, list)
    assert again is no_update
    json.dumps([part.to_plotly_json() for part in drawings], default=lambda part: part.to_plotly_json())


def test_an_answer_that_grows_is_drawn_anew_in_stages() -> None:
    stages = [line.stage(done) for done in range(1, 101)]

    assert sorted(set(stages)) == [1, 2, 3, 4, 5]
    assert stages == sorted(stages)


def test_the_foot_says_how_to_make_the_answer_again(office: Office) -> None:
    answer = answers.read(office.settings.kept, KEY)
    assert answer is not None

    said = text(foot(answer | {"options": ["slow slitter"]}))

    assert "Small plant of the tours with slow slitter, digest " in said
    assert "seed 1, 2 runs, model " in said
    assert said.endswith("your own people decide.")
    assert text(foot(None)).startswith("A plan, not a permit")


def test_the_token_tells_old_part_and_whole_apart(office: Office) -> None:
    answer = answers.read(office.settings.kept, KEY)
    assert answer is not None
    part = answer | {"whole": False}

    assert token(Standing())["kind"] == "plain"
    assert token(Standing("plain", KEY, answer))["kind"] == "whole"
    assert token(Standing("plain", KEY, answer, old=True))["kind"] == "old"
    assert token(Standing("plain", KEY, part))["kind"] == "stopped"
    assert token(Standing("plain", KEY, part, view=View("running")))["kind"] == "part"
    assert token(Standing("input", KEY, answer, old=True))["kind"] == "last"


def test_the_page_never_shows_a_name_as_markup(office: Office, tmp_path: Path) -> None:
    """A name in a scenario file is text, whatever it looks like (OWASP: cross-site scripting)."""
    evil = "<img src=x onerror=alert(1)>"
    folder = tmp_path / "plants"
    folder.mkdir()
    file = folder / "evil.yaml"
    file.write_text(SMALL.replace("cast coils", json.dumps(evil)), encoding="utf-8")
    work.line(
        Desk(lambda _: None, lambda: False),
        file=str(file),
        plant="evil",
        options=[],
        runs=1,
        seed=1,
        kept=str(tmp_path / "kept"),
        key=KEY,
        mark="line-x",
    )
    own = Office(Settings(plants=folder, kept=tmp_path / "kept"), Plants(folder), office.jobs)

    _, drawings, _ = line.shown_answer(own, {"key": KEY, "kind": "whole", "changes": []}, Ask(), "")
    drawn = json.dumps([part.to_plotly_json() for part in drawings], default=lambda part: part.to_plotly_json())

    svg = [piece for piece in drawn.split('"data-drawing": "')[1:]]
    assert svg
    assert all("<img" not in piece.split('"}')[0] for piece in svg)
    assert "&lt;img" in drawn


def test_a_fault_in_what_is_asked_is_not_laid_to_the_file() -> None:
    fault = {"file": "small.yaml", "line": None, "place": "options", "message": "there is no option 'x'", "way_out": ""}

    assert text(messages.input_faults([fault], asked=True)).startswith("The plant cannot be as asked.")
    assert text(messages.input_faults([fault | {"line": 3}], asked=True)).startswith("The scenario file has a fault.")
