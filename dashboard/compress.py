"""Answers made smaller on their way, for slow networks; on one machine it only costs time."""

from __future__ import annotations

import gzip

from flask import Flask, Response, request

LEAST_BYTES = 1_000
LEVEL = 5
TEXTS = ("text/", "application/json", "application/javascript", "image/svg+xml")


def set_compression(server: Flask) -> None:
    """Compress what is text and not small, for browsers that say they can read it (RFC 9110, section 8.4.1.3)."""

    def shrink(response: Response) -> Response:
        response.vary.add("Accept-Encoding")
        if not wanted(response):
            return response
        response.direct_passthrough = False
        content = response.get_data()
        if len(content) >= LEAST_BYTES:
            response.set_data(gzip.compress(content, LEVEL, mtime=0))
            response.headers["Content-Encoding"] = "gzip"
            response.headers["Content-Length"] = str(response.content_length)
        return response

    server.after_request(shrink)


def wanted(response: Response) -> bool:
    """Tell whether an answer should and may be made smaller."""
    can = "gzip" in request.headers.get("Accept-Encoding", "").lower()
    plain = response.status_code == 200 and "Content-Encoding" not in response.headers
    return can and plain and (response.mimetype or "").startswith(TEXTS)
