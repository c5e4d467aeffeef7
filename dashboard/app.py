"""The dashboard as one Dash app: the frame round the pages, its few callbacks, and the way it is served."""

from __future__ import annotations

import base64
import hashlib
import logging
import secrets
import socket
import sys
from collections.abc import Sequence
from logging.handlers import RotatingFileHandler
from pathlib import Path

from dash import Dash, html, set_props
from flask import Response, request

from dashboard import frame_calls, tables
from dashboard.callers import set_callers
from dashboard.compress import set_compression
from dashboard.drive import Office
from dashboard.guard import content_policy, set_guards, set_headers
from dashboard.jobs import Jobs
from dashboard.page import Page
from dashboard.pages import inputs, line, options, rolls, yesterday
from dashboard.parts import frame, messages
from dashboard.plants import Plants
from dashboard.settings import Settings, SettingsError, check

LOG = logging.getLogger("passline.pages")
THREADS = 8
LOG_BYTES = 1_000_000
FACE = "sofia-sans-semi-condensed-latin-wght-normal.woff2"
THEME_SCRIPT = (
    "(function(){var t=null;try{t=localStorage.getItem('passline-theme')}catch(e){}"
    "if(!t)t=matchMedia('(prefers-color-scheme: dark)').matches?'dark':'light';"
    "document.documentElement.setAttribute('data-theme',t)})()"
)
INDEX = f"""<!DOCTYPE html>
<html lang="en">
<head>
{{%metas%}}
<title>{{%title%}}</title>
<meta name="color-scheme" content="light dark">
<link rel="icon" href="/assets/mark.svg" type="image/svg+xml">
<link rel="preload" href="/assets/{FACE}" as="font" type="font/woff2" crossorigin>
<script>{THEME_SCRIPT}</script>
{{%css%}}
</head>
<body>
{{%app_entry%}}
{{%config%}}
{{%scripts%}}
{{%renderer%}}
</body>
</html>"""


PAGES: tuple[Page, ...] = (line, options, rolls, yesterday, inputs)


def script_hash(script: str) -> str:
    """Return how a script of the page is named in the content policy."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}'"


def tell_trouble(error: Exception) -> None:
    """Show an error of a callback on the page, and write it into the log under the same note."""
    note = secrets.token_hex(2)
    LOG.error("note %s", note, exc_info=error)
    set_props("trouble", {"children": messages.trouble(f"{type(error).__name__}: {error}.", note)})


def create_app(settings: Settings, pages: Sequence[Page] = PAGES) -> Dash:
    """Return the app, ready to answer: guards first, then pages and callbacks, then warmed up.

    Raises
    ------
    SettingsError : the app may not be served like this.
    """
    check(settings)
    app = Dash(
        "dashboard",
        assets_folder=str(Path(__file__).parent / "assets"),
        title="passline",
        update_title="",
        index_string=INDEX,
        on_error=tell_trouble,
        suppress_callback_exceptions=not settings.testing,
        health_endpoint="healthz",
        meta_tags=[{"name": "viewport", "content": "width=device-width, initial-scale=1"}],
    )
    office = Office(settings, Plants(settings.plants), new_jobs(settings))
    hashes = [script_hash(THEME_SCRIPT)]
    set_guards(app.server, settings)
    set_callers(app)
    set_headers(app.server, lambda: content_policy(hashes))
    if settings.compress:
        set_compression(app.server)
    say_not_found(app, [page.PATH for page in pages])
    tables.serve_tables(app.server, office, {name: maker for page in pages for name, maker in page.TABLES.items()})
    app.layout = frame.frame([(page.PATH, page.NAME) for page in pages])
    if settings.testing:
        whole = html.Div([app.layout, *(page.layout() for page in pages)])
        app.validation_layout = whole  # type: ignore[assignment]  # Dash declares it as None
    frame_calls.register(app, office, pages)
    for page in pages:
        page.register(app, office)
    warm_up(app, hashes)
    app.server.config["office"] = office
    return app


def new_jobs(settings: Settings) -> Jobs:
    """Return the runner of studies, with the imports of a run made beforehand."""
    return Jobs(limit=settings.runs_at_once, stale_s=settings.stale_s, early=("dashboard.work", "scipy.special"))


def say_not_found(app: Dash, paths: Sequence[str]) -> None:
    """Answer 404 where no page is: Dash would say 200 to any address."""

    def mark(response: Response) -> Response:
        if request.endpoint == "/<path:path>" and request.path not in paths and response.status_code == 200:
            response.status_code = 404
        return response

    app.server.after_request(mark)


def warm_up(app: Dash, hashes: list[str]) -> None:
    """Answer once before anyone asks: callbacks and scripts are complete only after that."""
    host = {"Host": "127.0.0.1"}
    client = app.server.test_client()
    client.get("/_dash-layout", headers=host)
    client.get("/", headers=host)
    hashes.extend(app.csp_hashes())


def free_port(host: str, port: int) -> None:
    """Refuse a port that something else holds, before anything is started."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        if sys.platform != "win32":
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise SettingsError(f"port {port} of {host} cannot be used ({error.strerror}): choose another") from error


def keep_log(settings: Settings) -> Path:
    """Write what goes wrong to the terminal and to a file beside the answers; return the file."""
    file = settings.kept / "passline.log"
    file.parent.mkdir(parents=True, exist_ok=True)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a page asks for several files at once: no news
    kept = RotatingFileHandler(file, maxBytes=LOG_BYTES, backupCount=2, encoding="utf-8", delay=True)
    logging.basicConfig(
        level=logging.WARNING, format="%(asctime)s %(name)s: %(message)s", handlers=[kept, logging.StreamHandler()]
    )
    return file


def run(settings: Settings) -> None:
    """Serve the dashboard until Ctrl-C, and say where it is."""
    from waitress import create_server

    check(settings)
    free_port(settings.host, settings.port)
    log = keep_log(settings)
    app = create_app(settings)
    office: Office = app.server.config["office"]
    office.jobs.warm()
    server = create_server(app.server, host=settings.host, port=settings.port, threads=THREADS, ident="passline")
    sys.stderr.write(f"passline is at {settings.address} (Ctrl-C ends it; faults are noted in {log})\n")
    try:
        server.run()
    finally:
        office.jobs.close()
        server.close()
        sys.stderr.write("passline has ended\n")


def serve(
    plants: Path | None,
    host: str = "127.0.0.1",
    port: int = 8050,
    *,
    names: Sequence[str] = (),
    behind_proxy: bool = False,
    auth_file: Path | None = None,
    compress: bool = False,
    logs: Path | None = None,
) -> None:
    """Serve a scenario file or a folder of them, with what was recorded of them.

    Raises
    ------
    SettingsError : the address is open to others without a guard, a file is missing, the port is taken.
    """
    settings = Settings(
        plants=plants,
        host=host,
        port=port,
        names=tuple(names),
        behind_proxy=behind_proxy,
        auth_file=auth_file,
        compress=compress,
        logs=logs,
    )
    run(settings)
