"""Attributes that Dash passes on as they are: names for screen readers, data for the scripts of the page."""

from __future__ import annotations

from typing import Any


def named(label: str) -> dict[str, Any]:
    """Return the attribute that names a part for whoever cannot see it."""
    return {"aria-label": label}


def unseen() -> dict[str, Any]:
    """Return the attribute that leaves a mere ornament unread."""
    return {"aria-hidden": "true"}


def polite() -> dict[str, Any]:
    """Return the attribute by which what comes into a part is read out once nothing else is."""
    return {"aria-live": "polite"}


def data(name: str, text: str) -> dict[str, Any]:
    """Return an attribute `data-name` for a script of the page."""
    return {f"data-{name}": text}
