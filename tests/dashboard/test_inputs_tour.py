"""Inputs in a browser: a log is brought in, doubted, learned from; numbers are changed, saved and read by anyone."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path
from zipfile import ZipFile

import pytest
from hostile_logs import STOPS
from playwright.sync_api import Browser
from tours import SMALL, Served, Tour, served

from dashboard.pages import inputs, line
from twin.line import simulate
from twin.logs.dirt import dirty
from twin.logs.save import save_log
from twin.logs.write import log_of
from twin.scenario import load

pytestmark = pytest.mark.browser
Open = Callable[..., Tour]
SCATTERED = SMALL.replace("setup: 40 min", "setup: {triangular: {low: 30 min, mode: 40 min, high: 60 min}}")
ASK = "/inputs?plant=small&log=records&set=stations.slitter.machines%3D2&set=stations.slitter.speed%3D3+t"


@pytest.fixture(scope="module")
def works(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Return a dashboard with a plant and three weeks of its records, some of them wrong."""
    folder = tmp_path_factory.mktemp("plants")
    (folder / "small.yaml").write_text(SCATTERED, encoding="utf-8")
    plant = load(folder / "small.yaml")
    trace = simulate(plant, trace=True).trace
    assert trace is not None
    soiled, planted = dirty(log_of(trace, plant), plant, ["overlap", "no end", "free text"], seed=1)
    assert planted
    save_log(soiled, folder / "records")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PASSLINE_STORE", f"sqlite:///{folder / 'store.db'}")
        made = served(folder, tmp_path_factory.mktemp("kept"), (line, inputs))
        yield made
        made.close()


def whole(tour: Tour, address: str) -> None:
    """Open the page and wait until all of it is drawn."""
    tour.page.goto(address)
    tour.page.wait_for_selector(".answer[data-kind=whole]", timeout=60_000)
    tour.page.wait_for_selector("#in-numbers-drawn details", state="attached", timeout=10_000)


@pytest.fixture(scope="module")
def seen(works: Served, browser: Browser) -> Iterator[Tour]:
    """Return a window with the whole page, for all that only look at it."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    tour = Tour(context, context.new_page())
    tour.watch()
    whole(tour, works.address + ASK)
    yield tour
    context.close()


def test_the_log_is_told_with_what_is_wrong_and_what_it_teaches(seen: Tour) -> None:
    assert seen.text("h1") == "What is known of the line, and from where?"
    assert "can be used" in seen.text(".verdict")
    assert "of the stopped time is inferred" in seen.text(".verdict")
    assert "zone Europe/Vienna" in seen.text(".sure")
    for part in ("sketch-drawn svg", "timeline svg", "stations-drawn tr", "fits-drawn tr", "fit-0 svg"):
        assert seen.page.locator(f"#in-{part}").count() > 0, part
    assert seen.page.title() == "Inputs – passline"
    assert seen.wrong == []
    assert seen.outside == []


def test_a_table_is_narrowed_by_words_and_by_kind(seen: Tour) -> None:
    rows = seen.page.locator("#in-findings tbody tr:visible")
    before = rows.count()
    seen.page.select_option("[data-sift-kind=in-findings]", "overlap")

    assert 0 < rows.count() < before
    assert "shown" in seen.text("[data-sift-said=in-findings]")
    seen.page.fill("[data-sift=in-numbers]", "mill failures")
    assert seen.page.locator("#in-numbers details:visible").count() == 1
    assert seen.page.locator("#in-numbers tbody tr:visible").count() == 2


def test_the_tables_are_taken_away(seen: Tour) -> None:
    for name in ("Findings", "Known", "Fits", "Numbers"):
        for form in ("CSV", "XLSX"):
            with seen.page.expect_download() as waiting:
                seen.page.click(f"a[aria-label='{name} as {form}']")
            content = Path(waiting.value.path()).read_bytes()
            if form == "CSV":
                assert content.count(b"\n") > 1, name
            else:
                assert "[Content_Types].xml" in ZipFile(io.BytesIO(content)).namelist()


def test_it_prints_without_its_controls(seen: Tour) -> None:
    seen.page.emulate_media(media="print")

    assert not seen.page.is_visible("#in-path")
    assert not seen.page.is_visible("input[data-bring]")
    assert seen.page.is_visible(".verdict")
    assert len(seen.page.pdf(prefer_css_page_size=True)) > 20_000


def test_the_draft_in_the_address_tells_its_faults_and_is_saved_when_it_has_none(works: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, works.address + ASK)
    page = tour.page
    page.wait_for_selector("#in-draft .box")

    assert "is not a speed" in tour.text("#in-draft .box")
    assert not page.is_visible("#in-save")
    page.click("#in-draft button[aria-label='Take stations.slitter.speed out']")
    page.wait_for_selector("#in-save:visible")
    page.fill("#in-name", "two slitters")
    page.click("#in-save")
    page.wait_for_selector("#in-saved a")

    assert load(works.folder / "two slitters.yaml").stations["slitter"].machines == 2
    page.click("#in-save")
    page.wait_for_function("() => document.querySelector('#in-saved').innerText.includes('not overwritten')")
    assert tour.wrong == []


def test_a_number_is_picked_with_the_keyboard_and_put_into_the_draft(works: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, works.address + "/inputs?plant=small")
    page = tour.page
    page.locator("#in-numbers summary", has_text="Slitter").press("Enter")
    page.locator("button[data-pick='stations.slitter.thread']").press("Enter")
    page.wait_for_function("() => document.activeElement.id === 'in-value'")
    page.keyboard.type("5 min")
    page.keyboard.press("Enter")
    page.wait_for_selector("#in-add:visible")

    assert "this can be" in tour.text("#in-checked")
    page.press("#in-add", "Enter")
    page.wait_for_function("() => location.search.includes('set=stations.slitter.thread')")
    page.wait_for_selector("#in-draft tbody tr")
    assert tour.wrong == []


def test_what_was_measured_is_taken_into_a_new_file(works: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, works.address + "/inputs?plant=small&log=records")
    page = tour.page
    page.fill("#in-accept-name", "measured plant")
    page.click("#in-accept")
    page.wait_for_selector("#in-accepted a", timeout=60_000)

    assert "# measured: " in (works.folder / "measured plant.yaml").read_text(encoding="utf-8")
    whole(tour, works.address + "/inputs?plant=measured+plant")
    assert "numbers are measured" in tour.text(".verdict")
    assert tour.wrong == []


def test_files_are_brought_in_or_refused_in_words(works: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, works.address + "/inputs?plant=small")
    page, records = tour.page, works.folder / "records"
    page.set_input_files("input[data-bring]", {"name": "stops.csv", "mimeType": "text/csv", "buffer": b"a\0b"})
    page.wait_for_selector("#in-bring-said .box")
    assert "not plain text" in tour.text("#in-bring-said")
    tour.wrong.clear()  # the browser notes that the server refused it

    files = [records / f"{name}.csv" for name in ("stops", "output", "coils")]
    page.set_input_files("input[data-bring]", files)
    page.wait_for_function("() => /log=[0-9a-f]{20}/.test(location.search)")
    page.wait_for_selector("#in-timeline svg", state="attached", timeout=60_000)
    assert tour.wrong == []


def test_a_log_that_cannot_be_read_says_why(works: Served, new_tour: Open) -> None:
    (works.folder / "broken").mkdir(exist_ok=True)
    (works.folder / "broken" / "stops.csv").write_text(STOPS.replace("06:00", "six"), encoding="utf-8")
    (works.folder / "broken" / "output.csv").write_text("station,time\n", encoding="utf-8")
    tour = new_tour()
    whole(tour, works.address + "/inputs?plant=small&log=broken")

    assert "cannot be read" in tour.text(".verdict")
    assert "stops.csv, line 2" in tour.text("#in-found .box")


@pytest.mark.parametrize(("width", "theme"), [(1280, "light"), (390, "dark")])
def test_nothing_serious_keeps_anyone_from_reading(works: Served, new_tour: Open, width: int, theme: str) -> None:
    """axe-core's rules of WCAG 2 A and AA and its best practices; serious and critical ones must be clean."""
    tour = new_tour(width, theme)
    whole(tour, works.address + ASK)
    tour.page.evaluate("() => document.querySelectorAll('details').forEach(list => { list.open = true; })")

    assert tour.serious() == []
    assert tour.beyond() == 0, "the page must not scroll sideways"
