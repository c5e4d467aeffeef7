"""The app as a whole, without a browser: guarded, complete after warm-up, silent to the outside."""

from __future__ import annotations

import gzip
import os
import re
import signal
import socket
import subprocess
import sys
from pathlib import Path
from urllib.request import urlopen

import psutil
import pytest
from dash import Dash
from flask.testing import FlaskClient

from dashboard.app import PAGES, THEME_SCRIPT, create_app, free_port, script_hash
from dashboard.drive import Office
from dashboard.settings import Settings, SettingsError

HOST = {"Host": "127.0.0.1:8050"}


def test_the_index_page_is_small_and_names_its_language(client: FlaskClient) -> None:
    answer = client.get("/", headers=HOST)

    assert answer.status_code == 200
    assert '<html lang="en">' in answer.text
    assert "<footer>" not in answer.text, "the scripts must not be a second landmark"
    assert len(answer.data) < 40_000


def test_nothing_on_the_index_page_points_elsewhere(client: FlaskClient) -> None:
    """What a browser would fetch stands in src and href; all of it must be of this server."""
    text = client.get("/", headers=HOST).text

    places = re.findall(r'(?:src|href)="([^"]+)"', text)
    assert len(places) > 8
    assert [place for place in places if not place.startswith("/")] == []


def test_each_script_in_the_page_is_allowed_by_the_policy(client: FlaskClient) -> None:
    answer = client.get("/", headers=HOST)
    inline = re.findall(r"<script(?![^>]*(?:src=|application/json))[^>]*>(.*?)</script>", answer.text, re.DOTALL)
    policy = answer.headers["Content-Security-Policy"]

    assert len(inline) >= 2
    for script in inline:
        assert script_hash(script) in policy
    assert script_hash(THEME_SCRIPT) in policy
    assert "unsafe-eval" not in policy


def test_every_file_that_the_page_names_is_there(client: FlaskClient) -> None:
    text = client.get("/", headers=HOST).text

    for place in re.findall(r'(?:src|href)="(/[^"]+)"', text):
        with client.get(place, headers=HOST) as answer:
            assert answer.status_code == 200, place


def test_the_face_comes_with_its_licence(client: FlaskClient) -> None:
    """SIL Open Font License 1.1, condition 2: each copy contains the copyright notice and the licence."""
    with client.get("/assets/sofia-sans-semi-condensed-OFL.txt", headers=HOST) as answer:
        text = answer.get_data(as_text=True)

    assert "SIL OPEN FONT LICENSE Version 1.1" in text
    assert "Sofia Sans Project Authors" in text


def test_an_address_without_a_page_is_not_found(client: FlaskClient) -> None:
    assert client.get("/nowhere", headers=HOST).status_code == 404
    for page in PAGES:
        assert client.get(page.PATH, headers=HOST).status_code == 200


def test_health_is_told(client: FlaskClient) -> None:
    assert client.get("/healthz", headers=HOST).status_code == 200


def test_a_stranger_is_refused(client: FlaskClient) -> None:
    assert client.get("/", headers={"Host": "elsewhere.example"}).status_code == 400


def test_the_menu_holds_the_pages_that_work_and_no_others(app: Dash, client: FlaskClient) -> None:
    layout = client.get("/_dash-layout", headers=HOST).text

    assert [page.NAME for page in PAGES][0] == "Line"
    for name in ("Before you buy", "Roll changes", "Yesterday", "Inputs"):
        assert (f'"{name}"' in layout) == any(name == page.NAME for page in PAGES)


def test_two_apps_in_one_process_both_have_their_callbacks(app: Dash, tmp_path: Path) -> None:
    other = create_app(Settings(kept=tmp_path))
    office: Office = other.server.config["office"]
    office.jobs.close()

    assert len(other.callback_map) == len(app.callback_map) >= 5


@pytest.mark.parametrize("place", ["/table/..%2f..%2fetc/days.csv", f"/table/{'0' * 20}/days.csv", "/table/x/y.csv"])
def test_a_table_of_no_answer_is_not_found(client: FlaskClient, place: str) -> None:
    assert client.get(place, headers=HOST).status_code == 404


def test_a_server_open_to_others_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="nothing asks who comes in"):
        create_app(Settings(host="0.0.0.0", kept=tmp_path))


def test_a_port_in_use_is_refused_before_anything_starts() -> None:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        held.listen()
        port = held.getsockname()[1]
        with pytest.raises(SettingsError, match=f"port {port} of 127.0.0.1 cannot be used"):
            free_port("127.0.0.1", port)


def test_what_is_sent_can_be_made_smaller_without_losing_a_letter(
    app: Dash, client: FlaskClient, tmp_path: Path
) -> None:
    """RFC 9110 section 8.4.1.3 and RFC 1952: gzip, only for who says it can read it."""
    small = create_app(Settings(kept=tmp_path, compress=True))
    office: Office = small.server.config["office"]
    office.jobs.close()
    place = "/assets/frame.css"
    with client.get(place, headers=HOST) as answer:
        plain = answer.get_data()
    with small.server.test_client().get(place, headers=HOST | {"Accept-Encoding": "gzip, br"}) as answer:
        assert answer.headers["Content-Encoding"] == "gzip"
        assert gzip.decompress(answer.get_data()) == plain
        assert len(answer.get_data()) < len(plain) / 2
    with small.server.test_client().get(place, headers=HOST) as answer:
        assert answer.get_data() == plain


def test_the_server_says_where_it_is_and_ends_at_ctrl_c_without_leaving_anything(root: Path, tmp_path: Path) -> None:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        port = held.getsockname()[1]
    script = (
        f"import signal, sys; sys.path.insert(0, {str(root)!r})\n"
        "from dashboard.app import serve\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell lets its background jobs ignore it\n"
        f"if __name__ == '__main__': serve(None, port={port})\n"
    )
    file = tmp_path / "serve.py"
    file.write_text(script, encoding="utf-8")
    environment = {**os.environ, "PASSLINE_KEPT": str(tmp_path / "kept")}
    server = subprocess.Popen([sys.executable, str(file)], stderr=subprocess.PIPE, text=True, env=environment)
    assert server.stderr is not None
    first = server.stderr.readline()
    children = psutil.Process(server.pid).children()
    with urlopen(f"http://127.0.0.1:{port}/healthz", timeout=10) as answer:
        assert answer.status == 200

    server.send_signal(signal.SIGINT)
    _, rest = server.communicate(timeout=20)

    assert first.startswith(f"passline is at http://127.0.0.1:{port} (Ctrl-C ends it; faults are noted in ")
    assert rest == "passline has ended\n"
    assert server.returncode == 0
    assert children, "one process should stand ready for the first run"
    assert psutil.wait_procs(children, timeout=5)[1] == []
