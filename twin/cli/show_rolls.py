"""The answer about the rolls for people: a sentence, the windows, where the sets are, how far a set should run."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from math import inf
from shutil import get_terminal_size

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from twin.indicators.intervals import Interval
from twin.study.rollresult import Answer, Change
from twin.study.rollwindow import clock
from twin.version import VERSION
from twin.words import NO_BREAK, NOT_ASKED, number, plain, share

WIDEST = 120


def show_rolls(answer: Answer) -> None:
    """Print the answer."""
    console = Console(file=sys.stdout, width=WIDEST, highlight=False, markup=False, emoji=False, legacy_windows=False)
    text_width = min(100, get_terminal_size((100, 24)).columns)
    for part in _page(answer):
        console.print(part, width=None if isinstance(part, Table) else text_width)


def _page(answer: Answer) -> Iterator[RenderableType]:
    """Yield the parts of the page."""
    yield Text("When do the rolls come out?", style="dim")
    sentence = Text()
    for part in answer.verdict.parts:
        sentence.append(part.text, style="bold" if part.strong else "dim" if part.soft else None)
    yield sentence
    yield Text(answer.verdict.sure, style="dim")
    yield from _changes(answer)
    yield from _sets(answer)
    yield from _sweep(answer)
    yield from _rules(answer)
    yield from _life(answer)
    yield from _listed("Care", answer.cautions)
    yield from _listed("What this rests on", answer.assumed)
    digest = f"{answer.digest[:4]}...{answer.digest[-4:]}"
    yield Text(f"\n{answer.scenario}, digest {digest}, seed {answer.seed}, passline {VERSION}.", style="dim")


def _table(*heads: str, words: Sequence[str] = ()) -> Table:
    """Return an empty table: words at the left, numbers at the right."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for name in heads:
        table.add_column(name, justify="left" if name in words else "right", no_wrap=name not in words)
    return table


def _changes(answer: Answer) -> Iterator[RenderableType]:
    """Yield the windows of the coming changes, and why they lie there."""
    if not answer.changes:
        return
    yield Text("\nThe coming windows")
    heads = ("change", "from", "best", "until", "t per half h early", "late", "risk")
    table = _table(*heads, words=("change", "from", "best", "until"))
    for change in answer.changes:
        times = [clock(answer.moment(at)) for at in (change.earliest, change.best, change.latest)]
        late = "not allowed" if change.late == inf else plain(change.late, 2)
        table.add_row(_which(change), *times, plain(change.early, 2), late, share(change.risk))
    yield table
    for change in answer.changes:
        heat = "" if change.heat_from is None else f" Heat it from {clock(answer.moment(change.heat_from))}."
        yield Padding(Text(f"{_which(change)}: {change.why}{heat}"), (0, 0, 0, 2))
    if answer.checked is not None:
        told = number(answer.checked.change.mean, answer.checked.change.half, "t", sign=True)
        yield Text(f"In the same futures this plan makes {told} against running to the limit.", style="dim")


def _which(change: Change) -> str:
    return "change" if change.off is None or change.on is None else f"set {change.off} off, {change.on} on"


def _sets(answer: Answer) -> Iterator[RenderableType]:
    """Yield where each set is now."""
    if answer.sets:
        places = [f"{one.number} {one.place}{', damaged' if one.damaged else ''}" for one in answer.sets]
        limit = "" if answer.limit is None else f" of {plain(answer.limit)}"
        yield Text(f"\nSets now: {'; '.join(places)}. On the mill {plain(answer.used, 1)}{limit}{NO_BREAK}km.")


def _numbers(good: Interval, change: Interval, today: bool) -> list[str]:
    told = NOT_ASKED if today else number(change.mean, change.half, "", sign=True)
    return [number(good.mean, good.half, ""), told]


def _sweep(answer: Answer) -> Iterator[RenderableType]:
    """Yield the line at each distance."""
    if answer.sweep is None:
        return
    yield Text("\nHow far should a set run?")
    table = _table("change after km", "good t/week", "change", "damages/week", "waits h/week", "shop at work", "ready")
    for one in answer.sweep.points:
        name = "damage" if one.distance is None else plain(one.distance, 0 if one.distance >= 10.0 else 1)
        ready = NOT_ASKED if one.ready is None else plain(one.ready, 1)
        table.add_row(
            f"{name}, today" if one.today else name,
            *_numbers(one.good, one.change, one.today),
            plain(one.damages.mean, 2),
            plain(one.waits.mean, 1),
            NOT_ASKED if one.grinding is None else share(one.grinding.mean),
            ready,
            style="bold" if one.today else None,
        )
    yield table
    yield Text(answer.sweep.said)


def _rules(answer: Answer) -> Iterator[RenderableType]:
    """Yield the line under each rule."""
    if not answer.rules:
        return
    yield Text("\nWhen is a set changed?")
    table = _table("rule", "good t/week", "change", "changes/week", "waits h/week", words=("rule",))
    for one in answer.rules:
        counts = plain(one.changes.mean, 1), plain(one.waits.mean, 1)
        table.add_row(one.name, *_numbers(one.good, one.change, one.today), *counts)
    yield table


def _life(answer: Answer) -> Iterator[RenderableType]:
    """Yield how rolls are damaged, and the cheapest distance for the mill alone."""
    life, age = answer.life, answer.age
    if life.law:
        shape = "" if life.shape is None else f", shape {plain(life.shape, 2)}"
        scale = "" if life.scale is None else f", scale {plain(life.scale)}{NO_BREAK}km"
        yield Text(f"\nDamage: {life.law}{shape}{scale}.")
    elif life.unknown:
        yield Text(f"\nDamage: {life.unknown}.")
    if age is None:
        return
    if age.best is None:
        yield Text(f"For the mill alone: {age.reason}.")
        return
    low, high = age.flat
    to = "on" if high is None else f"to {plain(high)}{NO_BREAK}km"
    yield Text(
        f"For the mill alone {plain(age.best)}{NO_BREAK}km is cheapest, within 5{NO_BREAK}% from "
        f"{plain(low or 0.0)}{NO_BREAK}km {to}: {age.reason}."
    )


def _listed(head: str, sentences: Sequence[str]) -> Iterator[RenderableType]:
    """Yield a heading and sentences under it."""
    if sentences:
        yield Text(f"\n{head}")
        for sentence in sentences:
            yield Padding(Text(sentence), (0, 0, 0, 2))
