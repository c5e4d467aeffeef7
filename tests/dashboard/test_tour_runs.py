"""Runs in the browser: stopped, gone on with, found again after a reload, failed; and a file that has a fault."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType

import pytest
from tours import SMALL, Served, Tour, served

from dashboard.drive import Study
from dashboard.pages import line

pytestmark = pytest.mark.browser
Open = Callable[..., Tour]
LONG = "/?plant=small&runs=5000"


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Served]:
    """A dashboard of this test alone, whose plant it may change."""
    folder = tmp_path / "plants"
    folder.mkdir()
    (folder / "small.yaml").write_text(SMALL, encoding="utf-8")
    made = served(folder, tmp_path / "kept")
    yield made
    made.close()


def done(tour: Tour) -> int:
    """Return how many runs the bar says are wound."""
    found = re.search(r"(\d+) of 5000 runs", tour.text("#status-words"))
    return int(found.group(1)) if found else 0


def wait_past(tour: Tour, count: int) -> None:
    tour.page.wait_for_function(
        "count => Number((/(\\d+) of 5000 runs/.exec(document.querySelector('#status-words')?.innerText) || [0, 0])[1])"
        " > count",
        arg=count,
        timeout=20_000,
    )


def test_a_run_shows_its_first_answer_is_found_after_a_reload_stopped_and_gone_on_with(
    own: Served, new_tour: Open
) -> None:
    tour = new_tour()
    tour.page.goto(own.address + LONG)
    tour.page.wait_for_selector("#stop:visible", timeout=20_000)
    wait_past(tour, 2)
    assert tour.text(".verdict").startswith("About ")
    assert tour.text(".verdict").endswith("so far.")
    assert tour.page.locator("#coil svg").count() == 1

    before = done(tour)
    tour.page.reload()
    tour.page.wait_for_selector("#stop:visible", timeout=20_000)
    wait_past(tour, before)

    tour.page.click("#stop")
    tour.page.wait_for_selector("#go-on:visible", timeout=20_000)
    tour.page.wait_for_selector(".verdict:has-text('Stopped')", timeout=20_000)
    kept = re.match(r"Stopped after (\d+) of 5000 runs: [\d .]+ ± ", tour.text(".verdict"))
    assert kept, tour.text(".verdict")
    assert int(kept.group(1)) > before

    tour.page.reload()
    tour.page.wait_for_selector(".verdict:has-text('Stopped')", timeout=20_000)
    assert tour.text(".verdict").startswith(f"Stopped after {kept.group(1)} of 5000 runs")

    tour.page.click(".answer [data-press=go-on]")
    tour.page.wait_for_selector("#stop:visible", timeout=20_000)
    wait_past(tour, int(kept.group(1)))
    assert tour.wrong == []


def test_another_choice_stops_the_old_run_and_starts_its_own(own: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.page.goto(own.address + LONG)
    wait_past(tour, 2)

    tour.page.click("#runs-chooser summary")
    tour.page.click("#runs-chooser button:has-text('10 runs')")
    tour.whole()

    assert "runs=10&" in tour.page.url
    assert tour.text(".verdict").startswith("The line makes ")
    assert tour.wrong == []


def failing(target: str) -> ModuleType:
    """Return the Line page with a study that fails."""
    page = ModuleType("failing")
    page.__dict__.update(
        {name: getattr(line, name) for name in ("PATH", "NAME", "QUESTION", "TABLES", "layout", "register")}
    )
    page.__dict__["STUDY"] = Study("line", target)
    return page


@pytest.mark.parametrize(
    ("target", "words"),
    [
        ("job_targets:die_before_answering", "The run ended without a result: exit code 9 after"),
        ("job_targets:fail_to_answer", "ValueError: width 0 is not allowed."),
    ],
)
def test_a_failing_run_is_told_in_words(tmp_path: Path, plants: Path, new_tour: Open, target: str, words: str) -> None:
    made = served(plants, tmp_path / "kept", (failing(target),))
    tour = new_tour()
    tour.page.goto(made.address + "/?plant=small&runs=10")
    tour.page.wait_for_selector("#message .box", timeout=20_000)
    said = tour.text("#message")
    again = tour.page.locator("#message button:has-text('Run again')")
    made.close()

    assert said.startswith("The run ended without a result.")
    assert words in said
    assert re.search(r"Note [0-9a-f]{4} is in the log\.", said)
    assert again.count() == 1
    assert tour.wrong == []


def test_a_file_with_a_fault_says_where_and_the_way_out(own: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.open(own.address + "/?plant=small&runs=10")
    verdict = tour.text(".verdict")
    (own.folder / "small.yaml").write_text(SMALL.replace("change_after: 40 km", "change_after: 40 h"), encoding="utf-8")
    tour.page.reload()
    tour.page.wait_for_selector("#message .box")

    said = tour.text("#message")

    assert said.startswith("The scenario file has a fault.")
    assert "small.yaml, line 24" in said
    assert "change_after" in said
    tour.page.wait_for_selector(".answer.old")
    assert tour.text(".verdict") == verdict, "the last answer stays"
    assert tour.page.locator(".answer.old").count() == 1


def test_an_answer_older_than_its_file_is_marked_and_can_be_made_anew(own: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.open(own.address + "/?plant=small&runs=10")
    (own.folder / "small.yaml").write_text(SMALL.replace("capacity: 30", "capacity: 60"), encoding="utf-8")
    tour.page.reload()
    tour.page.wait_for_selector(".answer.old")
    assert "The scenario has changed since: cast coils, capacity: 30 → 60." in tour.text(".answer")

    tour.page.click(".answer [data-press=again]")
    tour.page.wait_for_selector(".answer.old", state="detached", timeout=20_000)
    tour.whole()

    assert tour.text(".verdict").startswith("The line makes ")
    assert tour.wrong == []


def test_a_plant_that_is_not_there_is_explained(dashboard: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.page.goto(dashboard.address + "/?plant=elsewhere")
    tour.page.wait_for_selector("#message .box")

    assert tour.text("#message") == "This cannot be shown. Plant is 'elsewhere': there are small."
    assert tour.page.locator(".verdict").count() == 0


def test_without_a_plant_the_page_says_where_to_begin(tmp_path: Path, new_tour: Open) -> None:
    made = served(tmp_path, tmp_path / "kept")
    tour = new_tour()
    tour.page.goto(made.address)
    tour.page.wait_for_selector(".empty")
    said = tour.text("#message")
    made.close()

    assert said.startswith("No plant is open.")
    assert "passline serve FILE" in said


def test_a_server_that_does_not_answer_is_noticed_and_so_is_its_return(dashboard: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.open(dashboard.address + "/?plant=small&runs=10")
    tour.context.route("**/_dash-update-component*", lambda route: route.abort("connectionrefused"))
    tour.page.click("#units")
    tour.page.wait_for_selector("#lost:visible", timeout=10_000)
    assert tour.text("#lost").startswith("The server does not answer.")

    tour.context.unroute("**/_dash-update-component*")
    tour.page.click("#units")
    tour.page.wait_for_selector("#lost", state="hidden", timeout=10_000)


def test_a_fault_of_the_page_is_told_and_the_rest_still_stands(own: Served, new_tour: Open) -> None:
    """An answer on file has lost a part: the page cannot draw it, says so, and its bar still works."""
    tour = new_tour()
    tour.open(own.address + "/?plant=small&runs=10")
    kept = own.office.settings.kept
    for file in kept.glob("*.json"):
        if "week" not in file.name:
            file.write_bytes(file.read_bytes().replace(b'"results"', b'"remains"'))
    tour.page.reload()
    tour.page.wait_for_selector("#trouble .box", timeout=20_000)

    assert tour.text("#trouble").startswith("The page could not be drawn. KeyError: 'results'.")
    assert re.search(r"Note [0-9a-f]{4} is in the log", tour.text("#trouble"))
    assert tour.page.locator("#again").is_visible()
