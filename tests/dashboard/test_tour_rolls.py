"""Roll changes in a browser: it answers, can be read by anyone, a change is moved by key and mouse, is taken away."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from icalendar import Calendar
from tours import SMALL, Served, Tour, served

from dashboard.pages import line, rolls

pytestmark = pytest.mark.browser
Open = Callable[..., Tour]
ASK = "/rolls?plant=small&runs=3"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Return a dashboard with the page."""
    folder = tmp_path_factory.mktemp("plants")
    (folder / "small.yaml").write_text(SMALL, encoding="utf-8")
    made = served(folder, tmp_path_factory.mktemp("kept"), (line, rolls))
    yield made
    made.close()


def whole(tour: Tour, address: str) -> None:
    """Open the page and wait until its answer is whole and drawn."""
    tour.page.goto(address)
    tour.page.wait_for_selector(".answer[data-kind=whole]", timeout=90_000)
    tour.page.wait_for_selector("#rolls-rules-0 table", state="attached", timeout=10_000)


def test_a_change_is_moved_by_key_and_mouse_and_its_price_is_said_at_once(shop: Served, new_tour: Open) -> None:
    tour = new_tour()
    whole(tour, shop.address + ASK)
    page, lane = tour.page, ".roll-lane[data-lane='0']"
    dial, said = f"{lane} .pl-wide .roll-dial", f"{lane} .roll-said"
    begin = tour.text(said)
    assert "the best time" in begin
    assert page.get_attribute(dial, "aria-valuetext") == page.inner_text(said)

    page.focus(dial)
    page.keyboard.press("PageUp")
    assert tour.text(said) != begin
    page.keyboard.press("PageDown")
    assert tour.text(said) == begin

    box = page.locator(dial).bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 9, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] - 9, box["y"] + box["height"] / 2, steps=4)
    page.mouse.up()
    moved = tour.text(said)
    with page.expect_download() as waiting:
        page.click("a[aria-label='Prices by the quarter hour as CSV']")
    rows = list(csv.DictReader(io.StringIO(Path(waiting.value.path()).read_text(encoding="utf-8-sig"))))
    last = [row for row in rows if row["change"] == "1"][-1]
    assert last["time"][11:16] in moved
    lost = float(last["lost_t"])
    assert (f"+{lost:.1f} t lost" if lost >= 0.05 else "no dearer than the best time") in moved

    page.click(f"{lane} .roll-back")
    assert tour.text(said) == begin
    assert tour.wrong == []
    assert tour.outside == []


@pytest.mark.parametrize(("width", "theme"), [(1280, "light"), (390, "dark")])
def test_nothing_serious_keeps_anyone_from_reading(shop: Served, new_tour: Open, width: int, theme: str) -> None:
    """axe-core's rules of WCAG 2 A and AA and its best practices; serious and critical ones must be clean."""
    tour = new_tour(width, theme)
    whole(tour, shop.address + ASK)

    assert tour.serious() == []
    assert tour.beyond() == 0, "the page must not scroll sideways"
    wide = "() => Math.max(...[...document.querySelectorAll('main *')].map(e => e.getBoundingClientRect().right))"
    if width == 1280:
        assert tour.page.evaluate(wide) <= width, "nothing is cut off at the right"


def test_a_finger_moves_a_change_on_a_phone_and_the_calendar_is_taken_along(shop: Served, new_tour: Open) -> None:
    tour = new_tour(390)
    whole(tour, shop.address + ASK)
    page, lane = tour.page, ".roll-lane[data-lane='0']"
    dial = page.locator(f"{lane} .pl-phone .roll-dial")
    box = dial.bounding_box()
    assert box is not None
    assert box["height"] >= 44
    begin = tour.text(f"{lane} .roll-said")
    dial.click(position={"x": box["width"] - 12, "y": 22})
    assert tour.text(f"{lane} .roll-said") != begin
    with page.expect_download() as waiting:
        page.click("text=Put the windows in a calendar")
    events = Calendar.from_ical(Path(waiting.value.path()).read_bytes()).walk("VEVENT")

    assert waiting.value.suggested_filename == "small-roll-changes.ics"
    assert len(events) == page.locator(".roll-plan tbody tr").count() > 0


def test_a_study_can_be_stopped_and_goes_on(shop: Served, new_tour: Open) -> None:
    tour = new_tour()
    page = tour.page
    page.goto(f"{shop.address}/rolls?plant=small&runs=10000")
    page.click("#stop", timeout=60_000)
    page.wait_for_selector("#go-on:visible, #again:visible", timeout=60_000)

    assert tour.wrong == []
