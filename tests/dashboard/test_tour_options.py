"""Before you buy in a browser: it answers, can be read by anyone, moves a number at once, prints, is taken away."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
from tours import SMALL, Served, Tour, served

from dashboard.pages import line, options

pytestmark = pytest.mark.browser
Open = Callable[..., Tour]
MONEY = "money: {currency: EUR, weeks_per_year: 47, rate: 9 %, years: 10, contribution: {coil: 190 EUR/t}}\n"
ASK = (
    "/options?plant=small&options=second+roll-shop+person&options=slow+slitter"
    "&sum=second+roll-shop+person+%2B+slow+slitter&runs=10"
)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Return a dashboard with both pages and a plant that has money."""
    folder = tmp_path_factory.mktemp("plants")
    (folder / "small.yaml").write_text(SMALL + MONEY, encoding="utf-8")
    short = SMALL.replace("warm_up: 1 week, length: 2 weeks", "warm_up: 1 day, length: 4 days")
    (folder / "short.yaml").write_text(short + MONEY, encoding="utf-8")
    made = served(folder, tmp_path_factory.mktemp("kept"), (line, options))
    yield made
    made.close()


def whole(tour: Tour, address: str) -> None:
    """Open the page and wait until its answer is whole and drawn."""
    tour.page.goto(address)
    tour.page.wait_for_selector(".answer[data-kind=whole]", timeout=90_000)
    tour.page.wait_for_selector("#buy-ways-0 table", state="attached", timeout=10_000)


def test_the_page_answers_without_a_fault_and_without_the_outside(shop: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, shop.address + ASK)

    assert tour.text("h1") == "Second roll-shop person: does it pay?"
    assert "t/week" in tour.text(".verdict")
    assert "simulated runs of 2 weeks each, so changes are like with like" in tour.text(".sure")
    assert tour.text("#options-shown") == "3 beside today"
    for part in ("ways-0", "chances-0", "place-0"):
        assert tour.page.locator(f"#buy-{part} > *").count() > 0, part
    assert tour.page.title() == "Before you buy – passline"
    assert tour.wrong == []
    assert tour.outside == []


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_nothing_serious_keeps_anyone_from_reading(shop: Served, new_tour: Open, width: int, theme: str) -> None:
    """axe-core's rules of WCAG 2 A and AA and its best practices; serious and critical ones must be clean."""
    tour = new_tour(width, theme)
    whole(tour, shop.address + ASK)
    tour.page.evaluate("() => document.querySelectorAll('details.chooser').forEach(list => { list.open = true; })")
    lists = "[...document.querySelectorAll('details.chooser[open] > .panel')]"
    lefts = tour.page.evaluate(f"() => {lists}.map(one => one.getBoundingClientRect().left)")

    assert tour.serious() == []
    assert tour.beyond() == 0, "the page must not scroll sideways"
    assert min(lefts) >= (20 if width < 500 else 40), "lists keep to the page"


def test_a_sum_is_put_beside_today_and_taken_away_by_the_address(shop: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, shop.address + ASK)
    tour.page.click(".buy-sums summary")
    tour.page.click(".buy-sums button[aria-pressed=true]")
    tour.page.wait_for_function("() => !location.search.includes('sum=')")

    asked = parse_qs(urlsplit(tour.page.url).query)
    assert asked["options"] == ["second roll-shop person", "slow slitter"]


@pytest.mark.parametrize(("width", "theme"), [(1280, "light"), (390, "dark")])
def test_with_uncertain_inputs_every_part_says_what_it_holds(
    shop: Served, new_tour: Open, width: int, theme: str
) -> None:
    tour = new_tour(width, theme)
    whole(tour, f"{shop.address}/options?plant=short&options=slow+slitter&inputs=uncertain")
    tour.page.wait_for_selector("#doubt-known > *", timeout=10_000)
    notes = tour.text("#buy-drawings")

    assert "Inputs are as uncertain as they are" in tour.text(".sure")
    assert "which holds the luck of the runs and what is not known of the plant" in notes
    assert "What limits is found with the numbers of the plant at their best estimates." in notes
    assert "what is not known of the plant together" in notes
    assert tour.page.is_visible("#buy-at-best"), "a moved number takes the others at their best"
    assert "more runs would tell" not in tour.text(".verdict")
    assert tour.serious() == []
    assert tour.beyond() == 0, "the page must not scroll sideways"
    tour.page.emulate_media(media="print")
    assert tour.page.is_visible("#doubt h2")
    assert tour.wrong == []


def test_with_best_estimates_nothing_is_said_of_it(shop: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, shop.address + ASK)

    assert tour.page.is_hidden("#buy-at-best")
    assert "not known" not in tour.text("#buy-drawings")


@pytest.mark.parametrize(("width", "theme"), [(390, "dark"), (1280, "light")])
def test_what_is_not_known_can_be_read_by_anyone(shop: Served, new_tour: Open, width: int, theme: str) -> None:
    tour = new_tour(width, theme)
    tour.page.goto(f"{shop.address}/?plant=small&options=slow+slitter&inputs=uncertain")
    tour.page.wait_for_selector(".answer[data-kind=whole]", timeout=90_000)
    tour.page.wait_for_selector("#doubt-known > *", timeout=10_000)

    assert "as uncertain as they are" in tour.text(".sure")
    assert tour.serious() == []
    assert tour.beyond() == 0, "the page must not scroll sideways"
    sheets = tour.page.pdf(prefer_css_page_size=True)
    assert 2 <= sheets.count(b"/Type /Page\n") + sheets.count(b"/Type /Page ") <= 6
    tour.page.emulate_media(media="print")
    assert tour.page.is_visible("#doubt h2")
    assert tour.wrong == []


def test_a_number_is_moved_and_answers_at_once(shop: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, shop.address + ASK)
    page = tour.page
    page.fill("#buy-number", "stations.mill.rolls.sets")
    page.press("#buy-number", "Enter")
    page.wait_for_selector("#buy-curve svg", timeout=30_000)
    page.wait_for_function(
        "() => document.querySelector('#buy-at').innerText.includes('against today')", timeout=30_000
    )
    before = page.inner_text("#buy-at")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.post_data or request.url))

    page.focus("#buy-slider")
    page.keyboard.press("ArrowRight")
    page.wait_for_function("said => document.querySelector('#buy-at').innerText !== said", arg=before, timeout=10_000)
    page.wait_for_selector("#buy-add:visible", timeout=10_000)
    assert [body for body in asked if "buy-slider" in body] == [], "a moved slider asks nobody"
    page.click("#buy-add")
    page.wait_for_function("() => location.search.includes('set=stations.mill.rolls.sets')")

    assert tour.wrong == []


def test_the_report_comes_as_a_file_and_prints_on_two_pages(shop: Served, new_tour: Open, tmp_path: Path) -> None:
    tour = new_tour()
    whole(tour, shop.address + ASK)
    with tour.page.expect_download() as waiting:
        tour.page.click("a[aria-label=Report]")
    file = tmp_path / "report.html"
    waiting.value.save_as(file)
    printed = tour.context.new_page()
    printed.set_content(file.read_text(encoding="utf-8"))
    pdf = printed.pdf(prefer_css_page_size=True)

    assert waiting.value.suggested_filename == "small-report.html"
    assert pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ") + pdf.count(b"/Type /Page/") == 2


def test_what_cannot_be_is_said_with_the_way_out(shop: Served, new_tour: Open) -> None:
    tour = new_tour()
    tour.page.goto(shop.address + "/options?plant=small&set=stations.slitter.machnes%3D2&runs=10")
    tour.page.wait_for_selector(".box", timeout=30_000)

    assert "Did you mean" in tour.text(".box")
