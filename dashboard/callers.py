"""What a page may ask of the server: its own callbacks, each with its own inputs; all else is refused in a line."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from dash import Dash
from flask import Response, request

LOG = logging.getLogger("passline.pages")
PLACE = "/_dash-update-component"
NO_CALLBACK = 400
NO_JSON = 415
LONGEST_SAID = 80


def no_callback(body: object, callbacks: Mapping[str, Mapping[str, Any]]) -> str:
    """Return why a body is no call of a callback, nothing where it is one."""
    if not isinstance(body, dict):
        return "it is no mapping"
    output = str(body.get("output"))
    own = callbacks.get(output, {})
    if "callback" not in own:
        return f"no page has the output {output[:LONGEST_SAID]!r}"
    for part, given in (("inputs", own["inputs"]), ("state", own["state"])):
        if names(body.get(part, [])) != names(given):
            return f"its {part} are not those of {output[:LONGEST_SAID]!r}"
    if not own.get("no_output") and names(body.get("outputs", [])) != parted(output):
        return f"its outputs are not those of {output[:LONGEST_SAID]!r}"
    changed = body.get("changedPropIds", [])
    named = isinstance(changed, list) and all(isinstance(one, str) for one in changed)
    return "" if named else "what has changed is not named"


def names(parts: object) -> list[str] | None:
    """Return the properties in a list of them, or in one alone, as `id.property`; None where it is no such list."""
    rows: Sequence[Any] = [parts] if isinstance(parts, dict) else parts if isinstance(parts, list) else [None]
    if not all(isinstance(row, dict) and isinstance(row.get("id"), str) for row in rows):
        return None
    return [f"{row['id']}.{row.get('property')}" for row in rows]


def parted(output: str) -> list[str]:
    """Return the properties that an output's name names: `a.data`, or `..a.data...b.data..`."""
    return output[2:-2].split("...") if output.startswith("..") else [output]


def refuse_no_callback(callbacks: Callable[[], Mapping[str, Mapping[str, Any]]]) -> Callable[[], Response | None]:
    """Return a check of each request that should be a call of a callback."""

    def check() -> Response | None:
        if request.path != PLACE or request.method != "POST":
            return None
        if not request.is_json:
            return refused("it is not sent as JSON", NO_JSON)
        body = request.get_json(silent=True)
        why = "it is no JSON" if body is None else no_callback(body, callbacks())
        return refused(why, NO_CALLBACK) if why else None

    return check


def refused(why: str, status: int) -> Response:
    """Return the answer to a request that no page makes, and note it in one line of the log."""
    LOG.warning("a request was refused that is no callback: %s", why)
    return Response(f"This request is none that a page makes: {why}.\n", status, mimetype="text/plain")


def set_callers(app: Dash) -> None:
    """Put the check before each request; it must stand before the first one is answered."""
    app.server.before_request(refuse_no_callback(lambda: app.callback_map))
