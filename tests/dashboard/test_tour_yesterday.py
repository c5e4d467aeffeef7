"""Yesterday in a browser: it answers, can be read by anyone, goes from day to day, moves an event, prints its sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from tours import SMALL, Served, Tour, served

from dashboard.pages import line, yesterday
from twin.line import simulate
from twin.logs.save import save_log
from twin.logs.write import log_of
from twin.scenario import apply_set, loads

pytestmark = pytest.mark.browser
Open = Callable[..., Tour]
ASK = "/yesterday?plant=small&runs=2"


@pytest.fixture(scope="module")
def works(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Return a dashboard with two plants, one of which has a log of nine days."""
    folder, logs = tmp_path_factory.mktemp("plants"), tmp_path_factory.mktemp("logs")
    for name in ("small", "other"):
        (folder / f"{name}.yaml").write_text(SMALL, encoding="utf-8")
    scenario = apply_set(loads(SMALL), "time.length", "9 days")
    trace = simulate(scenario, seed=3, trace=True).trace
    assert trace is not None
    (logs / "small").mkdir()
    save_log(log_of(trace, scenario), logs / "small")
    made = served(folder, tmp_path_factory.mktemp("kept"), (line, yesterday), logs)
    yield made
    made.close()


def whole(tour: Tour, address: str) -> None:
    """Open the page and wait until its answer is whole and drawn."""
    tour.page.goto(address)
    tour.page.wait_for_selector(".answer[data-kind=whole]", timeout=90_000)
    tour.page.wait_for_selector("#day-ladder-0 table", state="attached", timeout=10_000)
    tour.page.wait_for_selector("#day-days-0 svg", state="attached", timeout=10_000)


def test_the_page_answers_without_a_fault_and_without_the_outside(works: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, works.address + ASK)

    assert tour.text("h1") == "What happened yesterday?"
    assert "ordinary day" in tour.text(".verdict")
    assert "10 runs of the day" in tour.text(".sure")
    for part in ("among-0", "curve-0", "strips-0", "suspects-0", "ifs-0", "handover-0"):
        assert tour.page.locator(f"#day-{part} > *").count() > 0, part
    assert tour.page.title() == "Yesterday – passline"
    assert tour.wrong == []
    assert tour.outside == []


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_nothing_serious_keeps_anyone_from_reading(works: Served, new_tour: Open, width: int, theme: str) -> None:
    """axe-core's rules of WCAG 2 A and AA and its best practices; serious and critical ones must be clean."""
    tour = new_tour(width, theme)
    whole(tour, works.address + ASK)
    tour.page.evaluate("() => document.querySelectorAll('details.chooser').forEach(list => { list.open = true; })")

    assert tour.serious() == []
    assert tour.beyond() == 0, "the page must not scroll sideways"


def test_the_day_before_is_a_key_away_and_has_an_address(works: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, works.address + ASK)
    tour.page.focus(".day-pick a")
    tour.page.keyboard.press("Enter")
    tour.page.wait_for_function("() => location.search.includes('day=2026-03-16')", timeout=10_000)
    tour.page.wait_for_function("() => document.querySelector('h1').innerText.includes('Mon 16')", timeout=60_000)
    tour.page.click("text=Day after")
    tour.page.wait_for_function("() => location.search.includes('day=2026-03-17')", timeout=10_000)

    assert tour.wrong == []


def test_an_event_is_moved_and_the_day_runs_again(works: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, works.address + ASK)
    page = tour.page
    page.wait_for_selector("#day-events option", state="attached", timeout=10_000)
    page.fill("#day-event", page.eval_on_selector("#day-events option", "option => option.value"))
    page.press("#day-event", "Enter")
    page.wait_for_function("() => document.querySelector('#day-lasts').value !== ''", timeout=10_000)
    page.fill("#day-lasts", "0")
    page.press("#day-lasts", "Tab")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelector('#day-if-said').innerText.startsWith('If ')", timeout=60_000)

    assert "had not happened" in tour.text("#day-if-said")
    page.wait_for_selector("#day-if-0 svg", timeout=10_000)
    assert "if so" in tour.text("#day-if-0")

    page.click("text=Day before")
    page.wait_for_function("() => document.querySelector('h1').innerText.includes('Mon 16')", timeout=60_000)
    page.wait_for_function("() => document.querySelector('#day-if-said').innerText === ''", timeout=10_000)
    assert page.locator("#day-if-0").count() == 0, "what was asked of one day must not stand under another"
    assert tour.wrong == []


def test_a_stopped_day_keeps_its_first_sight_and_goes_on(works: Served, new_tour: Open) -> None:
    """The press comes in one request with a tick of the page's clock, as it may in a busy browser."""
    tour = new_tour()
    page = tour.page
    page.goto(works.address + ASK + "&seed=7")
    page.wait_for_selector(".answer[data-kind=part]", timeout=60_000)
    page.evaluate(
        """() => {
          window.dash_clientside.set_props("poll", { n_intervals: 100000 });
          document.getElementById("stop").click();
        }"""
    )
    page.wait_for_selector("#go-on:visible", timeout=30_000)
    assert "stopped before" in tour.text("#status-words")
    assert "ordinary day" in tour.text(".verdict")
    page.reload()
    page.wait_for_selector(".answer[data-kind=stopped]", timeout=10_000)
    page.click("#go-on")
    page.wait_for_selector(".answer[data-kind=whole]", timeout=90_000)

    assert tour.wrong == []


def test_inputs_as_uncertain_as_they_are_are_a_press_away(works: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, works.address + ASK)
    tour.page.click("#inputs-uncertain")
    tour.page.wait_for_function("() => location.search.includes('inputs=uncertain')", timeout=10_000)
    tour.page.wait_for_function(
        "() => (document.querySelector('.sure') || {}).innerText?.includes('as uncertain as they are')", timeout=90_000
    )

    assert "By the luck of such a day alone" in tour.text("#day-drawings")
    assert tour.wrong == []


def test_the_sheet_of_the_shift_prints_on_one_page(works: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, works.address + ASK)
    with tour.context.expect_page() as waiting:
        tour.page.click(".day-pick >> text=Hand-over sheet")
    sheet = waiting.value
    sheet.wait_for_selector(".sheet", timeout=10_000)
    pdf = sheet.pdf(prefer_css_page_size=True)

    assert pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ") + pdf.count(b"/Type /Page/") == 1
    assert tour.wrong == []


def test_a_plant_without_a_log_says_where_to_put_one(works: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.page.goto(works.address + "/yesterday?plant=other&runs=2")
    tour.page.wait_for_selector(".box", timeout=30_000)

    assert "There is no log of other" in tour.text(".box")
    assert "other.xlsx" in tour.text(".box")
