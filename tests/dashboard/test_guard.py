"""Who may ask: a strange host or origin is turned away, passwords are checked, headers hold a browser back."""

from __future__ import annotations

import base64
from pathlib import Path

import pytest
from flask import Flask
from werkzeug.security import generate_password_hash

from dashboard.guard import content_policy, host_names, name_of, read_passwords, set_guards, set_headers
from dashboard.settings import Settings, SettingsError, check


def server_of(settings: Settings) -> Flask:
    server = Flask(__name__)
    set_guards(server, settings)
    set_headers(server, lambda: content_policy(["'sha256-x'"]))

    @server.route("/", methods=["GET", "POST"])
    def home() -> str:
        return "here"

    return server


@pytest.mark.parametrize("host", ["127.0.0.1:8050", "localhost:8050", "localhost", "[::1]:8050", "LOCALHOST"])
def test_the_machine_itself_may_ask(host: str) -> None:
    assert server_of(Settings()).test_client().get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize("host", ["plant.example:8050", "127.0.0.1.example.org", "localhost.example.org"])
def test_a_foreign_name_for_this_machine_is_refused(host: str) -> None:
    """A page elsewhere may let its own name point here (DNS rebinding); the Host header gives it away."""
    answer = server_of(Settings()).test_client().get("/", headers={"Host": host})

    assert answer.status_code == 400


def test_a_page_of_another_site_cannot_send_anything() -> None:
    """RFC 6454 section 7: a browser names the origin of a request, and a script cannot change it."""
    client = server_of(Settings()).test_client()
    own, other = "http://localhost:8050", "http://evil.example"

    assert client.post("/", headers={"Host": "localhost:8050", "Origin": own}).status_code == 200
    assert client.post("/", headers={"Host": "localhost:8050"}).status_code == 200
    assert client.post("/", headers={"Host": "localhost:8050", "Origin": other}).status_code == 403
    assert client.post("/", headers={"Host": "localhost:8050", "Origin": "null"}).status_code == 403


def test_a_name_given_on_the_command_line_may_ask(tmp_path: Path) -> None:
    settings = Settings(host="192.0.2.7", names=("plant.example",), behind_proxy=True)

    assert server_of(settings).test_client().get("/", headers={"Host": "plant.example"}).status_code == 200
    assert server_of(settings).test_client().get("/", headers={"Host": "other.example"}).status_code == 400
    assert host_names(Settings(host="192.0.2.7", behind_proxy=True)) is None


def test_the_name_of_a_host_is_read_without_its_port() -> None:
    """RFC 3986 section 3.2.2: an IPv6 address stands in brackets."""
    assert name_of("[2001:db8::1]:8050") == "2001:db8::1"
    assert name_of("Plant.Example:80") == "plant.example"


def test_the_dashboard_refuses_to_be_open_to_others_without_a_guard(tmp_path: Path) -> None:
    passwords = tmp_path / "people"
    passwords.write_text(f"mira:{generate_password_hash('x')}\n", encoding="utf-8")

    with pytest.raises(SettingsError, match="--auth-file"):
        check(Settings(host="0.0.0.0"))
    assert check(Settings(host="0.0.0.0", behind_proxy=True)).behind_proxy
    assert check(Settings(host="0.0.0.0", auth_file=passwords)).auth_file == passwords
    assert check(Settings(host="::1")).address == "http://[::1]:8050"


def test_settings_that_cannot_work_say_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="is not there: name a scenario file"):
        check(Settings(plants=tmp_path / "nothing.yaml"))
    with pytest.raises(SettingsError, match="from 1 to 65535"):
        check(Settings(port=70_000))
    with pytest.raises(SettingsError, match="one line `name:hash` a person"):
        check(Settings(auth_file=tmp_path / "nobody"))


def test_passwords_open_the_door_and_nothing_else_does(tmp_path: Path) -> None:
    """RFC 7617: name and password in base64, UTF-8; 401 with a challenge otherwise."""
    passwords = tmp_path / "people"
    hashed = generate_password_hash("warm walzen", method="pbkdf2:sha256:1000")
    passwords.write_text(f"# of the plant\nmira:{hashed}\n\n", encoding="utf-8")
    client = server_of(Settings(auth_file=passwords)).test_client()

    def tried(name: str, password: str) -> int:
        word = base64.b64encode(f"{name}:{password}".encode()).decode()
        return client.get("/", headers={"Host": "localhost", "Authorization": f"Basic {word}"}).status_code

    refused = client.get("/", headers={"Host": "localhost"})
    assert refused.status_code == 401
    assert refused.headers["WWW-Authenticate"].startswith("Basic ")
    assert tried("mira", "warm walzen") == 200
    assert tried("mira", "warm walzen") == 200
    assert tried("mira", "Warm walzen") == 401
    assert tried("otto", "warm walzen") == 401
    assert tried("", "") == 401


@pytest.mark.parametrize("text", ["mira", "mira:", "mira:plain", ":a$b$c", "", "# nobody"])
def test_a_password_file_that_guards_nothing_is_refused(tmp_path: Path, text: str) -> None:
    file = tmp_path / "people"
    file.write_text(text, encoding="utf-8")

    with pytest.raises(SettingsError, match="name:hash"):
        read_passwords(file)


def test_each_answer_tells_the_browser_to_load_nothing_from_elsewhere() -> None:
    """W3C Content Security Policy Level 3: directives by name; `default-src 'self'` covers what is not named."""
    headers = server_of(Settings()).test_client().get("/", headers={"Host": "localhost"}).headers
    policy = dict(part.strip().split(" ", 1) for part in headers["Content-Security-Policy"].split(";"))

    assert policy["default-src"] == "'self'"
    assert policy["script-src"] == "'self' 'sha256-x'"
    assert policy["connect-src"] == "'self'"
    assert policy["frame-ancestors"] == "'none'"
    assert policy["object-src"] == "'none'"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert not any("http" in value for value in policy.values())


def test_a_request_too_large_is_refused() -> None:
    """RFC 9110 section 15.5.14: 413 Content Too Large."""
    server = Flask(__name__)
    set_guards(server, Settings())

    @server.post("/")
    def home() -> str:
        from flask import request

        return str(len(request.get_data()))

    answer = server.test_client().post("/", data=b"x" * (9 * 1024 * 1024), headers={"Host": "localhost"})
    assert answer.status_code == 413
