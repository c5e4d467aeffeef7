"""Links that take what is shown away."""

from __future__ import annotations

from typing import Any

from dash import html

from dashboard.parts.amounts import Units
from dashboard.parts.marks import named

FORMS = ("csv", "xlsx")


def table_links(key: str, name: str, called: str, units: Units) -> html.Span:
    """Return the links that take a table of an answer away, one for each form of file."""
    links: list[Any] = [f"{called}: "]
    for form in FORMS:
        place, label = f"/table/{key}/{name}.{form}?units={units.name}", named(f"{called} as {form.upper()}")
        links += [html.A(form.upper(), href=place, download="", **label), " "]
    return html.Span(links)
