"""The Line page in a browser: it answers, can be read by anyone, prints, and asks nobody outside."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import openpyxl
import pytest
from tours import Served, Tour

from dashboard.doubt_view import DOUBT_TABLES
from dashboard.pages import line
from dashboard.parts.line_orders import ORDER_TABLES

pytestmark = pytest.mark.browser
Open = Callable[..., Tour]
ASK = "/?plant=small&runs=10"


def test_the_page_answers_without_a_fault_and_without_the_outside(dashboard: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.open(dashboard.address + ASK)

    assert tour.text("h1") == line.QUESTION
    assert tour.text(".verdict").startswith("The line makes ")
    assert "t/week" in tour.text(".verdict")
    assert tour.text(".sure").startswith("10 simulated runs of 2 weeks each after 1 week of warm-up, 95 % interval.")
    assert tour.page.title() == "Line – passline"
    for part in ("flow", "player", "strips", "legend", "days", "levels", "changes", "hours"):
        assert tour.page.locator(f"#{part} > *").count() > 0, part
    assert "Share" not in tour.page.content()
    assert tour.wrong == []
    assert tour.outside == []


def test_an_empty_address_becomes_one_that_reproduces_the_page(dashboard: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.page.goto(dashboard.address)
    tour.page.wait_for_selector(".verdict")

    asked = parse_qs(urlsplit(tour.page.url).query)

    assert asked == {"plant": ["small"], "runs": ["20"], "seed": ["2026"], "units": ["t"]}


def test_the_same_address_shows_the_same_answer_in_another_browser(dashboard: Served, new_tour: Open) -> None:
    one, other = new_tour(), new_tour()
    address = dashboard.address + "/?plant=small&options=slow+slitter&runs=10&seed=5&units=t"
    one.open(address)
    other.open(address)

    assert one.text(".verdict") == other.text(".verdict")
    assert one.text("#options-shown") == "slow slitter"
    assert "seed 5, 10 runs" in other.text("#foot")
    assert "A plan, not a permit" in other.text("#foot")


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_nothing_serious_keeps_anyone_from_reading(dashboard: Served, new_tour: Open, width: int, theme: str) -> None:
    """axe-core's rules of WCAG 2 A and AA and its best practices; serious and critical ones must be clean."""
    tour = new_tour(width, theme)
    tour.open(dashboard.address + ASK)

    assert tour.serious() == []
    tour.page.evaluate("() => document.querySelectorAll('details.chooser').forEach(list => { list.open = true; })")
    assert tour.serious() == []
    assert tour.beyond() == 0, "the page must not scroll sideways"


def test_fingers_find_every_control_on_a_phone(dashboard: Served, new_tour: Open) -> None:
    """WCAG 2.2, 2.5.5 Target Size (Enhanced): 44 by 44 CSS px; a word in a sentence is excepted, width by its text."""
    tour = new_tour(390)
    tour.open(dashboard.address + ASK)

    low = tour.page.evaluate(
        """() => [...document.querySelectorAll('button, summary, .take a, #menu a, input[type=range]')]
            .filter(e => e.offsetParent && e.getBoundingClientRect().height < 43.5)
            .map(e => e.outerHTML.slice(0, 80) + ' ' + e.getBoundingClientRect().height)"""
    )

    assert low == []


def test_the_theme_is_kept_and_stands_before_the_first_paint(dashboard: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.context.add_init_script(
        "document.addEventListener('DOMContentLoaded', () =>"
        " window.first = document.documentElement.getAttribute('data-theme'))"
    )
    tour.open(dashboard.address + ASK)
    assert tour.page.evaluate("() => window.first") == "light"

    tour.page.click("#theme")
    tour.page.reload()
    tour.whole()

    assert tour.page.evaluate("() => window.first") == "dark"
    assert tour.text("#theme") == "Light"
    paper = tour.page.evaluate("() => getComputedStyle(document.body).backgroundColor")
    assert paper == "rgb(17, 24, 29)"


def test_the_keyboard_alone_reaches_and_works_everything(dashboard: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.open(dashboard.address + ASK)
    keys = tour.page.keyboard

    keys.press("Tab")
    assert tour.page.evaluate("() => document.activeElement.className") == "skip"
    keys.press("Tab")
    assert tour.page.evaluate("() => document.activeElement.getAttribute('aria-current')") == "page"
    for name in ("units", "theme", "print"):
        keys.press("Tab")
        assert tour.page.evaluate("() => document.activeElement.id") == name
    keys.press("Tab")
    keys.press("Tab")
    keys.press("Enter")
    assert tour.page.locator("#options-chooser[open]").count() == 1
    keys.press("Tab")
    keys.press("Space")
    tour.page.wait_for_function("() => location.search.includes('options=second+roll-shop+person')")
    keys.press("Escape")
    assert tour.page.locator("#options-chooser[open]").count() == 0
    assert tour.page.evaluate("() => document.activeElement.tagName") == "SUMMARY"
    tour.whole()
    tour.page.focus("#player input[type=range]")
    before = tour.text("#player output")
    keys.press("ArrowRight")
    assert tour.text("#player output") != before
    assert tour.wrong == []


def test_moving_through_the_week_asks_the_server_nothing(dashboard: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.open(dashboard.address + ASK)
    asked: list[str] = []
    tour.page.on("request", lambda request: asked.append(request.post_data or request.url))

    tour.page.focus("#player input[type=range]")
    for _ in range(20):
        tour.page.keyboard.press("ArrowRight")

    assert [body for body in asked if "watch" not in body] == []


def test_the_units_can_be_changed(dashboard: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.open(dashboard.address + ASK)
    tour.page.click("#units")
    tour.page.wait_for_function("() => document.querySelector('.verdict').innerText.includes('short tons/week')")

    assert "units=us" in tour.page.url
    assert "short tons" in tour.text("#units")


def test_each_table_can_be_taken_away(dashboard: Served, new_tour: Open, tmp_path: Path) -> None:
    tour = new_tour()
    tour.open(dashboard.address + ASK)
    links = tour.page.locator(".take a")
    names = [link.get_attribute("aria-label") or "" for link in links.all()]
    shown = line.TABLES.keys() - DOUBT_TABLES.keys() - ORDER_TABLES.keys()
    assert len(names) == 2 * len(shown), "what to record next needs uncertain inputs, and this plant has no orders"

    for number, name in enumerate(names):
        tour.page.wait_for_timeout(200)  # Chromium holds back a page that gives ten files within a second
        with tour.page.expect_download() as waiting:
            links.nth(number).click()
        file = tmp_path / waiting.value.suggested_filename
        waiting.value.save_as(file)
        if name.endswith("CSV"):
            rows = list(csv.reader(io.StringIO(file.read_bytes().decode("utf-8-sig"), newline="")))
        else:
            rows = [list(row) for row in openpyxl.load_workbook(file).worksheets[0].iter_rows(values_only=True)]
        assert len(rows) > 1, name
        assert len({len(row) for row in rows}) == 1, name


def test_the_page_prints_light_on_white_without_its_controls(dashboard: Served, new_tour: Open, tmp_path: Path) -> None:
    tour = new_tour(theme="dark")
    tour.open(dashboard.address + ASK)

    sheets = tour.page.pdf(prefer_css_page_size=True, print_background=True)
    tour.page.emulate_media(media="print")

    assert sheets.startswith(b"%PDF")
    assert 2 <= sheets.count(b"/Type /Page\n") + sheets.count(b"/Type /Page ") <= 6
    for hidden in ("#menu", ".switches", ".bar", ".take"):
        assert tour.page.locator(hidden).first.is_visible() is False, hidden
    ink, paper = tour.page.evaluate(
        "() => [getComputedStyle(document.body).color, getComputedStyle(document.body).backgroundColor]"
    )
    assert (ink, paper) == ("rgb(22, 34, 43)", "rgb(255, 255, 255)")
    assert tour.page.locator("#foot").is_visible()
    assert tour.page.locator(".care").is_visible()


LATE = """() => {
  const late = [], put = window.setTimeout;
  window.setTimeout = (what, wait, ...more) => wait > 0 ? put(what, wait, ...more) : late.push(() => what(...more));
  window.addEventListener("input", () => late.splice(0).forEach((what) => what()), true);
}"""


def test_letters_stay_in_order_when_the_page_is_slower_than_the_keys(dashboard: Served, new_tour: Open) -> None:
    """What the page puts off by nothing comes only with the next key, as on a busy machine."""
    tour = new_tour()
    tour.open(dashboard.address + ASK)
    tour.page.evaluate(LATE)
    tour.page.click("#runs-chooser summary")
    tour.page.click("#seed")
    tour.page.press("#seed", "Control+a")
    tour.page.keyboard.type("123456789")

    assert tour.page.input_value("#seed") == "123456789"
