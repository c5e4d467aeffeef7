"""Put a drawing (text of vector graphics) into the page; `assets/drawings.js` mounts it."""

from __future__ import annotations

from typing import Any

from dash import html

from dashboard.parts.marks import data


def drawing(text: str, *, id: str | None = None, className: str = "drawing") -> html.Div:
    """Return the place in which the browser mounts the drawing."""
    named: dict[str, Any] = {} if id is None else {"id": id}
    return html.Div(className=className, **named, **data("drawing", text))
