"""Playing the week in a browser: the script shows at any time what Python draws for that time, and keys move it."""

import json
import re
from collections.abc import Iterator
from html import escape
from pathlib import Path
from typing import Any

import pytest
from charts_example import PLANT, WEEK_S, week
from playwright.sync_api import Browser, Page, sync_playwright

from dashboard.charts.flow import flow_drawing
from dashboard.charts.moment import moment, time_text
from dashboard.charts.player import play_bar
from dashboard.charts.strips import rows_from, week_strips

pytestmark = pytest.mark.browser

ASSETS = Path(__file__).parents[2] / "dashboard" / "assets"
WEEK: dict[str, Any] = week()
ROWS = rows_from(WEEK)
SWITCHES = ["--no-sandbox", "--headless", "--disable-gpu", "--disable-background-networking"]


def drawings(at_s: float) -> dict[str, str]:
    return {
        "flow": flow_drawing(PLANT, WEEK, at_s),
        "bar": play_bar(WEEK, at_s),
        "strips": week_strips(ROWS, WEEK, at_s=at_s),
    }


def document(at_s: float) -> str:
    """Return a page as the framework makes it: empty elements that carry drawings, and the week."""
    sheets = "".join(f"<style>{(ASSETS / name).read_text()}</style>" for name in ("tokens.css", "drawings.css"))
    scripts = "".join(f"<script>{(ASSETS / name).read_text()}</script>" for name in ("drawings.js", "line.js"))
    body = "".join(f'<div id="{name}" data-drawing="{escape(drawn)}"></div>' for name, drawn in drawings(at_s).items())
    body += f'<div id="week" hidden data-week="{escape(json.dumps(WEEK))}"></div>'
    return f'<!doctype html><html lang="en"><head>{sheets}</head><body>{body}{scripts}</body></html>'


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator[Browser]:
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=chromium, args=SWITCHES)
        yield opened
        opened.close()


def opened(browser: Browser, at_s: float = 0.0, **context: Any) -> Iterator[Page]:  # noqa: ANN401 - browser's options
    within = browser.new_context(viewport={"width": 1280, "height": 900}, **context)
    page = within.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
    page.set_content(document(at_s))
    page.wait_for_selector(".pl-flow-across", state="attached")
    yield page
    within.close()
    assert faults == []


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    yield from opened(browser)


@pytest.fixture
def calm_page(browser: Browser) -> Iterator[Page]:
    yield from opened(browser, reduced_motion="reduce")


def shown(page: Page) -> str:
    return page.inner_text(".pl-play-time")


def content(page: Page, name: str) -> str:
    """Return what a drawing has become; the time in its name is not moved on and is left out."""
    inner = page.evaluate(f"document.getElementById('{name}').innerHTML")
    plain = re.sub(r' aria-label="The line in flow order[^"]*"|<caption>.*?</caption>', "", inner)
    # day names hide under the flag by the width of the page, in Python by the width of the design
    return re.sub(r" pl-under-flag| value=\"\d+\"", "", plain)


TIMES = [0.0, 600.0, 29_400.0, 93_700.0, 204_000.0, 259_200.0, 294_123.0, 360_000.0, 451_777.0, WEEK_S]


@pytest.mark.parametrize("part", ["flow", "bar", "strips"])
def test_the_script_shows_what_python_draws(page: Page, part: str) -> None:
    """Moved to a time by the script, each drawing is piece by piece what Python draws for that time."""
    for time in TIMES:
        page.evaluate(f"dash_clientside.passline.show({time})")
        moved = content(page, part)
        page.evaluate(
            "text => { document.getElementById('fresh')?.remove(); const made = document.createElement('div');"
            " made.id = 'fresh'; made.innerHTML = text; document.body.append(made); }",
            drawings(time)[part].replace("data-play", "data-still"),
        )
        fresh = content(page, "fresh").replace("data-still", "data-play")

        (said, numbers), (drawn, drawn_numbers) = parts_of(moved), parts_of(fresh)

        assert said == drawn, f"{part} at {time:.0f} s"
        # both write two decimals of the same value
        assert numbers == pytest.approx(drawn_numbers, abs=0.011), f"{part} at {time:.0f} s"


def parts_of(markup: str) -> tuple[list[str], list[float]]:
    """Return markup as its tags and words with attributes in one order, and apart from them the numbers in it."""
    found: list[str] = []
    for piece in re.findall(r"<[^>]+>|[^<]+", markup):
        name = re.match(r"<[\w-]+", piece)
        if name is None:
            found.append(piece)
            continue
        attributes = re.findall(r'([\w:-]+)="([^"]*)"', piece)
        kept = sorted(f'{key}="{value.strip(" ;")}"' for key, value in attributes if value and key != "tabindex")
        found.append(f"{name.group()} {' '.join(kept)}>".replace(": ", ":"))
    numbers = [float(value) for piece in found for value in re.findall(r"-?\d+(?:\.\d+)?", piece)]
    return [re.sub(r"-?\d+(?:\.\d+)?", "#", piece) for piece in found], numbers


def test_keys_move_the_week_and_everything_follows(page: Page) -> None:
    page.focus(".pl-play-slider")
    page.keyboard.press("End")
    assert shown(page) == time_text(WEEK, WEEK_S)
    page.keyboard.press("Home")
    for _ in range(3):
        page.keyboard.press("ArrowRight")

    assert shown(page) == time_text(WEEK, 1800.0)
    assert page.get_attribute(".pl-play-slider", "aria-valuetext") == time_text(WEEK, 1800.0)
    assert page.text_content(".pl-strip-grid .pl-flag-text") == time_text(WEEK, 1800.0)


def test_the_button_plays_an_hour_in_a_quarter_of_a_second_and_holds(page: Page) -> None:
    page.click(".pl-play-button")
    page.wait_for_function("document.querySelector('.pl-play-time').textContent >= 'Mon 02:00'")
    page.click(".pl-play-button")
    held = shown(page)
    page.wait_for_timeout(100)

    assert shown(page) == held
    assert page.get_attribute(".pl-play-button", "aria-pressed") == "false"


def test_where_movement_is_not_wanted_the_week_goes_on_by_whole_hours(calm_page: Page) -> None:
    calm_page.evaluate(
        "window.seen = []; document.addEventListener('passline:time', (event) => seen.push(event.detail.time_s))"
    )
    calm_page.click(".pl-play-button")
    calm_page.wait_for_function("window.seen.length > 4")
    calm_page.click(".pl-play-button")

    assert all(time % 3600 == 0 for time in calm_page.evaluate("window.seen"))


def test_a_drawing_that_is_drawn_again_follows_at_once_at_the_same_time(page: Page) -> None:
    page.evaluate("dash_clientside.passline.show(204000)")
    page.evaluate(
        "text => document.getElementById('flow').setAttribute('data-drawing', text)", flow_drawing(PLANT, WEEK, 0.0)
    )
    page.wait_for_function("document.querySelector('[data-figure=\"mill\"]').textContent.startsWith('5')")

    assert page.text_content('[data-figure="mill"]') == moment(WEEK, 204_000.0).figures["mill"]
    assert shown(page) == time_text(WEEK, 204_000.0)


def test_a_new_week_is_taken_up_without_a_new_page(page: Page) -> None:
    other = json.loads(json.dumps(WEEK))
    for series in other["figures"]:
        if series["target"] == "mill":
            series["form"] = "{} of 99 km"
    page.evaluate("text => document.getElementById('week').setAttribute('data-week', text)", json.dumps(other))

    page.wait_for_function("document.querySelector('[data-figure=\"mill\"]').textContent.endsWith('of 99 km')")


def test_the_slider_works_once_however_often_the_week_is_renewed(page: Page) -> None:
    for step in range(3):
        renewed = {**WEEK, "reasons": [*WEEK["reasons"], str(step)]}
        page.evaluate("text => document.getElementById('week').setAttribute('data-week', text)", json.dumps(renewed))
        page.wait_for_timeout(20)
    page.click(".pl-play-button")
    page.wait_for_timeout(80)

    assert page.get_attribute(".pl-play-button", "aria-pressed") == "true", "one click plays, it is not taken back"


def test_a_step_of_ten_minutes_touches_little_of_the_page(page: Page) -> None:
    """No time is asserted: what makes a step fast is that only what changed is written."""
    page.evaluate(
        "window.touched = 0; new MutationObserver((list) => { touched += list.length; }).observe(document.body,"
        " {subtree: true, childList: true, attributes: true, characterData: true})"
    )
    steps = 60
    page.evaluate(f"for (let i = 0; i < {steps}; i += 1) dash_clientside.passline.show(200000 + 600 * i)")
    page.wait_for_timeout(50)

    assert page.evaluate("touched") / steps < 60, (
        f"of {page.evaluate('document.querySelectorAll(`*`).length')} elements"
    )


def test_on_a_phone_the_day_of_the_time_is_shown(page: Page) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    page.evaluate("dash_clientside.passline.show(3 * 86400 + 3600)")

    assert page.get_attribute(".pl-days", "x") == "-300%"
    assert page.is_visible(".pl-flow-down")
    assert not page.is_visible(".pl-flow-across")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_paper_gets_the_wide_drawings_in_light(page: Page) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    page.emulate_media(media="print")

    assert page.is_visible(".pl-flow-across")
    assert not page.is_visible(".pl-play")
