"""The order book for people: a sentence, those least sure to be on time in a small table, the rest in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from twin.study.promises_told import HEADS, MOST, beyond, cells, notes, ranked, verdict

FOLDED = ("order", "product")
RIGHT = ("days late", "mass late")
LEFT_OUT = ("quantity", "filled")


def show_orders(book: Mapping[str, Any]) -> Iterator[RenderableType]:
    """Yield the parts of the order book."""
    rows, runs = ranked(book), book["runs"]
    yield Text("\nOrders")
    yield Padding(Text(verdict(book)), (0, 0, 0, 2))
    if rows:
        yield _table(rows[:MOST], runs)
    for sentence in (beyond(rows[MOST:], runs), *notes(book)):
        if sentence:
            yield Padding(Text(sentence, style="dim"), (0, 0, 0, 2))


def _table(rows: list[Mapping[str, Any]], runs: int) -> Table:
    """Return the first rows; quantity and when each is filled stand in the JSON, as a screen has no room for them."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    shown = [place for place, name in enumerate(HEADS) if name not in LEFT_OUT]
    for name in (HEADS[place] for place in shown):
        side: Literal["right", "left"] = "right" if name in RIGHT else "left"
        head = "t late" if name == "mass late" else name
        table.add_column(head, justify=side, no_wrap=name not in FOLDED, overflow="fold")
    for row in rows:
        said = cells(row, runs)
        table.add_row(*(said[place] for place in shown))
    return table
