"""What the tours share: a served dashboard, a browser, windows of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from dash import Dash
from flask.testing import FlaskClient
from playwright.sync_api import Browser, sync_playwright
from tours import SMALL, Served, Tour, served

from dashboard.app import create_app
from dashboard.drive import Office
from dashboard.settings import Settings


@pytest.fixture(scope="session")
def plants(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with one small plant."""
    folder = tmp_path_factory.mktemp("plants")
    (folder / "small.yaml").write_text(SMALL, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def dashboard(plants: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Return a dashboard that all tours may use, as long as they leave its plant as it is."""
    made = served(plants, tmp_path_factory.mktemp("kept"))
    yield made
    made.close()


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Dash]:
    """Return the application, which a module may ask without a browser."""
    made = create_app(Settings(kept=tmp_path_factory.mktemp("kept"), testing=True))
    yield made
    office: Office = made.server.config["office"]
    office.jobs.close()


@pytest.fixture
def client(app: Dash) -> FlaskClient:
    """Return one who asks it."""
    made: FlaskClient = app.server.test_client()
    return made


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """Return the browser, opened once."""
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-dev-shm-usage"])
        yield opened
        opened.close()


@pytest.fixture
def new_tour(browser: Browser) -> Iterator[Callable[..., Tour]]:
    """Return a way to open windows of a width and theme; all are closed at the end."""
    opened: list[Tour] = []

    def make(width: int = 1280, theme: str = "light", **more: object) -> Tour:
        height = 800 if width > 500 else 844
        context = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme="dark" if theme == "dark" else "light",
            reduced_motion="reduce" if more.get("still") else "no-preference",
        )
        tour = Tour(context, context.new_page())
        tour.watch()
        opened.append(tour)
        return tour

    yield make
    for tour in opened:
        tour.context.close()
