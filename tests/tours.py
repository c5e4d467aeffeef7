"""What the tours are made with: a small plant, a served dashboard, a window that remembers what went wrong."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Route
from waitress.server import create_server

from dashboard.app import create_app
from dashboard.drive import Office
from dashboard.page import Page as AppPage
from dashboard.pages import line
from dashboard.settings import Settings

SMALL = """passline: 1
name: Small plant of the tours
about: Invented for the tests; every station is quick, so that a run takes a moment.
metal: zinc-titanium
time: {zone: Europe/Vienna, start: 2026-03-02 06:00, warm_up: 1 week, length: 2 weeks}
calendars:
  relay: {open: ["Mon 06:00 - Sat 06:00"]}
  day shift: {open: ["Mon-Fri 06:00-14:00"], breaks: ["09:30-09:50"]}
stores:
  cast coils: {holds: coils, capacity: 30}
  cooling store: {holds: coils, capacity: 40, rest: 10 h}
  done: {holds: coils}
stations:
  supply: {kind: supply, to: cast coils, coil: {mass: 4.9 t, width: 1034 mm, thickness: 8.2 mm}, every: 55 min}
  mill:
    kind: mill
    from: cast coils
    to: cooling store
    calendar: relay
    passes: {0.70 mm: [3.3 mm @ 90 m/min, 1.35 mm @ 150 m/min, 0.70 mm @ 180 m/min]}
    failures: [{reason: mill stop, every: {exponential: {mean: 20 h}}, repair: 75 min}]
    rolls:
      sets: 3
      change_after: 40 km
      change: 30 min
      damage: {weibull: {shape: 2.4, scale: 110 km}}
      shop: {calendar: day shift, people: 1, cool: 6 h, grind: 3 h, assemble: 1 h}
  slitter:
    kind: slitter
    from: cooling store
    to: done
    calendar: relay
    setup: 40 min
    speed: 125 m/min
    thread: 4 min
products:
  ring 333: {thickness: 0.70 mm, girth: 333 mm, sold: coil}
  ring 500: {thickness: 0.70 mm, girth: 500 mm, sold: coil}
patterns:
  A: {share: 60 %, thickness: 0.70 mm, rings: {ring 333: 3}}
  B: {share: 40 %, thickness: 0.70 mm, rings: {ring 500: 2}}
options:
  second roll-shop person: {set: {stations.mill.rolls.shop.people: 2}}
  slow slitter: {set: {stations.slitter.speed: 60 m/min}}
"""


@dataclass
class Served:
    """A dashboard that is being served, with the folder of its plants."""

    address: str
    folder: Path
    office: Office
    close: Callable[[], None]


def served(folder: Path, kept: Path, pages: tuple[AppPage, ...] = (line,), logs: Path | None = None) -> Served:
    """Serve a folder of plants, maybe with their logs, on a free port, in a thread of this process."""
    app = create_app(Settings(plants=folder, logs=logs, kept=kept, testing=True), pages)
    office: Office = app.server.config["office"]
    office.jobs.warm()
    server = create_server(app.server, host="127.0.0.1", port=0, threads=4)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()

    def close() -> None:
        office.jobs.close()
        server.close()
        server.task_dispatcher.shutdown()
        thread.join(5.0)

    return Served(f"http://127.0.0.1:{server.effective_port}", folder, office, close)


@dataclass
class Tour:
    """A browser window that blocks what is outside and remembers what went wrong."""

    context: BrowserContext
    page: Page
    wrong: list[str] = field(default_factory=list)
    outside: list[str] = field(default_factory=list)

    def watch(self) -> None:
        """Listen to the console, to errors and to every request."""
        self.page.on("console", self._console)
        self.page.on("pageerror", lambda error: self.wrong.append(f"error: {error}"))
        self.context.route("**/*", self._request)

    def _console(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.wrong.append(f"{message.type}: {message.text}")

    def _request(self, route: Route) -> None:
        if route.request.url.startswith(("http://127.0.0.1:", "data:", "blob:")):
            route.continue_()
        else:
            self.outside.append(route.request.url)
            route.abort()

    def open(self, address: str) -> None:
        """Open a page and wait for its whole answer."""
        self.page.goto(address)
        self.whole()

    def whole(self) -> None:
        """Wait until the answer is whole and drawn."""
        self.page.wait_for_selector("#again:visible", timeout=30_000)
        self.page.wait_for_selector(".answer[data-kind=whole]", timeout=10_000)
        self.page.wait_for_selector("#hours svg", state="attached", timeout=10_000)

    def serious(self) -> list[str]:
        """Return what axe-core finds serious or critical by the rules of WCAG 2 A and AA and its best practices."""
        found = Axe().run(self.page).response["violations"]
        return [
            f"{rule['id']}: {node['target']}"
            for rule in found
            if rule["impact"] in ("serious", "critical")
            for node in rule["nodes"]
        ]

    def beyond(self) -> int:
        """Return by how many pixels the page is wider than its window."""
        wider = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        return int(self.page.evaluate(f"() => {wider}"))

    def text(self, selector: str) -> str:
        """Return the words of a part, with plain blanks."""
        return " ".join(self.page.inner_text(selector).split())
