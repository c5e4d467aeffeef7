"""The answer of a review for people: a sentence, the ladder, what to look at, the records that look wrong."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from shutil import get_terminal_size

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from twin.cli.show_compare import FOOT, WIDEST
from twin.study.review_answer import Review, Rung
from twin.words import NO_BREAK, plain

MOST_SUSPECT = 6
CARE = "Events and machines are named, never people. A day inside its range calls for no explanation from anyone."


def show_review(found: Review, inputs: str) -> None:
    """Print a review; `inputs` says how the numbers of the line were taken."""
    console = Console(file=sys.stdout, width=WIDEST, highlight=False, markup=False, emoji=False, legacy_windows=False)
    text_width = min(100, get_terminal_size((100, 24)).columns)
    for part in _page(found, inputs):
        console.print(part, width=None if isinstance(part, Table) else text_width)


def _page(found: Review, inputs: str) -> Iterator[RenderableType]:
    yield Text(f"What happened on {found.day}?", style="dim")
    sentence = Text()
    for part in found.verdict.parts:
        sentence.append(part.text, style="bold" if part.strong else None)
    yield sentence
    band = f"Nine such days of ten give {plain(found.expected.low_t)} to {plain(found.expected.high_t)}{NO_BREAK}t. "
    yield Text(f"{band}{found.verdict.sure} {inputs}", style="dim")
    yield Text("")
    yield _ladder(found)
    yield from _sure(found)
    yield from _listed("At most three things to look at", [f"{one.words} ({one.evidence})" for one in found.look_at])
    worst = [_suspect(one.what, one.effect_t) for one in found.suspect[:MOST_SUSPECT]]
    yield from _listed("Records that look wrong", worst)
    yield from _listed("What was assumed", found.assumed)
    digest = found.digest
    made = f"digest {digest[:4]}...{digest[-4:]}, seed {found.seed}, {found.runs} runs"
    yield Text(f"\n{CARE}", style="dim")
    yield Text(f"{found.scenario}, {made}, passline {found.version}. {FOOT}", style="dim")


def _ladder(found: Review) -> Table:
    """Return the rungs from expected to actual, which add up."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for name, side in (("cause", "left"), ("t", "right"), ("in other orders", "right"), ("± by the runs", "right")):
        table.add_column(name, justify="right" if side == "right" else "left")
    table.add_column("record", overflow="fold")
    table.add_row("such days, whatever their morning", plain(found.such.mean_t, 1), "", "", "")
    table.add_row(*_cells(found.morning))
    table.add_row("expected", plain(found.expected.mean_t, 1), "", "", "")
    for one in found.ladder:
        table.add_row(*_cells(one))
    if found.booking is not None:
        table.add_row(found.booking.cause, plain(found.booking.t, 1, sign=True), "", "", "output")
    table.add_row("unexplained", plain(found.unexplained_t, 1, sign=True), "", "", "")
    table.add_row("actual", plain(found.actual_t, 1), "", "", "", style="bold")
    return table


def _cells(one: Rung) -> tuple[str, ...]:
    name = f"{one.cause}, {one.station}" if one.station else one.cause
    orders = f"{plain(one.low, 1, sign=True)} to {plain(one.high, 1, sign=True)}"
    return name, plain(one.t, 1, sign=True), orders, plain(0.5 * (one.sample_high - one.sample_low), 1), one.record


def _sure(found: Review) -> Iterator[RenderableType]:
    if found.largest:
        yield Text(f"\n{found.largest} of logs that might as well have been written and of samples of the runs.")


def _suspect(what: str, effect_t: float | None) -> str:
    return what if effect_t is None else f"{what}: {plain(effect_t, 1, sign=True)}{NO_BREAK}t"


def _listed(head: str, sentences: list[str] | tuple[str, ...]) -> Iterator[RenderableType]:
    if sentences:
        yield Text(f"\n{head}")
        for sentence in sentences:
            yield Padding(Text(sentence), (0, 0, 0, 2))
