"""What a page module must have, so that the frame can hold it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from dash import Dash
from dash.development.base_component import Component

from dashboard.drive import Office, Study
from dashboard.tables import Maker


class Page(Protocol):
    """What a page module must have."""

    @property
    def PATH(self) -> str:
        """The path of its address."""

    @property
    def NAME(self) -> str:
        """Its name in the menu."""

    @property
    def QUESTION(self) -> str:
        """The question that it answers."""

    @property
    def STUDY(self) -> Study:
        """What it wants worked out."""

    @property
    def TABLES(self) -> Mapping[str, Maker]:
        """Its tables to take away."""

    def layout(self) -> Component:
        """Return the page with room for its answers."""

    def register(self, app: Dash, office: Office) -> None:
        """Put the page's callbacks on the app."""
