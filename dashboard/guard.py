"""Who may ask: the host and origin of each request, passwords, and what a browser may load and do."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from urllib.parse import urlsplit

from flask import Flask, Response, request
from werkzeug.security import check_password_hash

from dashboard.settings import LOOPBACK, Settings, SettingsError

LARGEST_REQUEST = 8 * 1024 * 1024
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


def host_names(settings: Settings) -> frozenset[str] | None:
    """Return the host names a request may carry, or None when the proxy in front has checked them."""
    if settings.behind_proxy and not settings.names:
        return None
    return frozenset({settings.host, *settings.names, *LOOPBACK})


def name_of(host: str) -> str:
    """Return a Host header's name without its port, in lower case; brackets of an IPv6 address fall away."""
    return (urlsplit(f"//{host}").hostname or "").lower()


def content_policy(script_hashes: Iterable[str]) -> str:
    """Return the Content-Security-Policy: only this server, its own scripts, and no frame around the page."""
    scripts = " ".join(["'self'", *script_hashes])
    return (
        f"default-src 'self'; script-src {scripts}; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; "
        "connect-src 'self'; worker-src 'self' blob:; font-src 'self' data:; frame-ancestors 'none'; "
        "base-uri 'self'; form-action 'self'; object-src 'none'"
    )


def read_passwords(file: Path) -> dict[str, str]:
    """Read the password file: one line `name:hash` a person, made by `werkzeug.security.generate_password_hash`.

    Raises
    ------
    SettingsError : a line is not of that form.
    """
    people: dict[str, str] = {}
    for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), start=1):
        if not line.strip() or line.startswith("#"):
            continue
        name, _, hashed = line.strip().partition(":")
        if not name or hashed.count("$") != 2:
            raise SettingsError(f"{file.name}, line {number}: expected `name:hash`, the hash as method$salt$hash")
        people[name] = hashed
    if not people:
        raise SettingsError(f"{file.name} names nobody: write one line `name:hash` a person")
    return people


def refuse_strangers(names: frozenset[str] | None) -> Callable[[], Response | None]:
    """Return a check of each request: a known host, and a sender that is this very page."""

    def check() -> Response | None:
        if names is not None and name_of(request.host) not in names:
            return Response("This address is not one that the dashboard answers to.\n", 400, mimetype="text/plain")
        origin = request.headers.get("Origin")
        if request.method not in ("GET", "HEAD") and origin is not None and urlsplit(origin).netloc != request.host:
            return Response("The request comes from another site.\n", 403, mimetype="text/plain")
        return None

    return check


def ask_password(people: Mapping[str, str]) -> Callable[[], Response | None]:
    """Return a check of each request's name and password (HTTP Basic); a hash is worked out once a password."""
    known: set[str] = set()

    def right(name: str, password: str) -> bool:
        seen = hashlib.sha256(f"{name}\0{password}\0{people.get(name, '')}".encode()).hexdigest()
        if seen not in known and name in people and check_password_hash(people[name], password):
            known.add(seen)
        return seen in known

    def check() -> Response | None:
        given = request.authorization
        if given is not None and given.type == "basic" and right(given.username or "", given.password or ""):
            return None
        ask = {"WWW-Authenticate": 'Basic realm="passline", charset="UTF-8"'}
        return Response("Name and password, please.\n", 401, ask, mimetype="text/plain")

    return check


def set_guards(server: Flask, settings: Settings) -> None:
    """Put the checks before each request; they must stand before the first request is answered."""
    server.config["MAX_CONTENT_LENGTH"] = LARGEST_REQUEST
    server.before_request(refuse_strangers(host_names(settings)))
    if settings.auth_file is not None:
        server.before_request(ask_password(read_passwords(settings.auth_file)))


def set_headers(server: Flask, policy: Callable[[], str]) -> None:
    """Put the security headers on each answer; the policy is asked for late, when all scripts are known."""

    def add(response: Response) -> Response:
        response.headers.update(HEADERS)
        response.headers["Content-Security-Policy"] = policy()
        return response

    server.after_request(add)
