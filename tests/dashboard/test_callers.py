"""What is sent to the place of the callbacks and is none: refused in plain words, one line in the log, no fault."""

from __future__ import annotations

import logging

import pytest
from flask.testing import FlaskClient

from dashboard.callers import PLACE

HOST = {"Host": "127.0.0.1:8050"}
ROUTE = {
    "output": "page.children",
    "outputs": {"id": "page", "property": "children"},
    "inputs": [{"id": "address", "property": "pathname", "value": "/nowhere"}],
    "changedPropIds": ["address.pathname"],
}


def test_a_call_of_a_callback_is_answered(client: FlaskClient) -> None:
    answer = client.post(PLACE, json=ROUTE, headers=HOST)

    assert answer.status_code == 200
    assert "There is no such page." in answer.text


@pytest.mark.parametrize(
    "body",
    [
        {"a": 1},
        [],
        "text",
        7,
        {**ROUTE, "output": "nothing.children"},
        {**ROUTE, "output": ["page.children"]},
        {**ROUTE, "output": "owner.data", "outputs": {"id": "owner", "property": "data"}},
        {**ROUTE, "inputs": []},
        {**ROUTE, "inputs": 5},
        {**ROUTE, "inputs": ["address.pathname"]},
        {**ROUTE, "inputs": [{"id": "address", "property": "search", "value": ""}]},
        {**ROUTE, "state": [{"id": "ask", "property": "data"}]},
        {**ROUTE, "outputs": {"id": "menu", "property": "children"}},
        {**ROUTE, "changedPropIds": {"a": 1}},
    ],
)
def test_a_body_that_is_no_callback_is_refused_in_a_line(
    client: FlaskClient, body: object, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        answer = client.post(PLACE, json=body, headers=HOST)

    assert answer.status_code == 400
    assert answer.mimetype == "text/plain"
    assert answer.text.startswith("This request is none that a page makes")
    assert len(caplog.records) == 1
    assert caplog.records[0].exc_info is None


@pytest.mark.parametrize("sent", [b"", b"{", b"\xff\xfe", b"[1,", b"null"])
def test_what_cannot_be_read_is_refused_in_a_line(
    client: FlaskClient, sent: bytes, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        answer = client.post(PLACE, data=sent, content_type="application/json", headers=HOST)

    assert (answer.status_code, answer.mimetype) == (400, "text/plain")
    assert [record.exc_info for record in caplog.records] == [None]


def test_what_a_form_can_send_is_refused(client: FlaskClient) -> None:
    """A page elsewhere can send forms and plain text without being asked (Fetch standard, simple requests)."""
    answer = client.post(PLACE, data="{}", content_type="text/plain", headers=HOST)

    assert (answer.status_code, answer.mimetype) == (415, "text/plain")
