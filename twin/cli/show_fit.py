"""What a log says, for people: measured beside assumed, what looks odd, what the doctor found."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from shutil import get_terminal_size
from typing import TYPE_CHECKING

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from twin.study.fitresult import Cause, Estimate, Fitted
from twin.words import number, places_for, plain

if TYPE_CHECKING:
    from twin.scenario import Scenario

WIDEST = 110
UNITS = {"s": ((3600.0, "h"), (60.0, "min"), (1.0, "s")), "m": ((1000.0, "km"),), "kg": ((1000.0, "t"),)}
WHAT = {"every": "between stops", "repair": "repair", "setup": "takes", "change": "takes", "life": "life"}
MOST_FINDINGS = 15


def show_fit(found: Fitted, scenario: Scenario) -> None:
    """Print what a log says of a line."""
    console = Console(file=sys.stdout, width=WIDEST, highlight=False, markup=False, emoji=False, legacy_windows=False)
    text_width = min(WIDEST, get_terminal_size((WIDEST, 24)).columns)
    for part in _page(found, scenario):
        console.print(part, width=None if isinstance(part, Table) else text_width)


def _page(found: Fitted, scenario: Scenario) -> Iterator[RenderableType]:
    yield Text(verdict(found), style="bold")
    yield Text(f"{plain(found.days)} days of log; 95 % intervals.", style="dim")
    yield Text("\nMeasured beside assumed")
    yield _causes(found)
    if found.beside:
        yield Text("\nRates and yields beside those of the simulated line")
        yield _beside(found)
    yield from _listed("What does not look like chance", list(found.notes))
    yield from _listed("What the doctor of the log found", _findings(found))
    digest = scenario.digest
    yield Text(f"\n{scenario.name}, digest {digest[:4]}...{digest[-4:]}. Figures of a log, no judgement of people.")


def verdict(found: Fitted) -> str:
    """Return in a sentence how far the log and what was assumed agree."""
    off = [one for one in found.causes if one.differs]
    told = len(found.causes)
    if not told:
        return "The log tells nothing of the numbers of this line."
    if not off:
        return f"The log bears out all {told} numbers that it tells of."
    names = ", ".join(dict.fromkeys(f"{one.station} ({one.called})" for one in off[:4]))
    more = f" and {len(off) - 4} more" if len(off) > 4 else ""
    return f"The log tells of {told} numbers; {len(off)} of them are not as assumed: {names}{more}."


def shown(one: Cause, what: Estimate | float) -> str:
    """Return a number of a cause in the unit that fits it, with its interval if it has one."""
    mean = what.mean if isinstance(what, Estimate) else what
    scales = UNITS.get(one.unit, ((1.0, one.unit),))
    size, unit = next((own for own in scales if one.assumed.average >= own[0]), scales[-1])
    if isinstance(what, float):
        return number(mean / size, None, unit, places=places_for(max(abs(mean / size), 1e-9) / 100.0))
    low, high = (f"{end / size:.3g}" for end in (what.low, what.high))
    return f"{mean / size:.4g} ({low} to {high}) {unit}"


def _causes(found: Fitted) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for name in ("station", "reason", ""):
        table.add_column(name, overflow="fold", max_width=20)
    for name in ("n", "measured", "assumed", "law", "fits"):
        table.add_column(name, justify="right", no_wrap=True)
    for one in found.causes:
        fits = "" if one.fits is None else f"{one.fits:.2f}"
        table.add_row(
            one.station,
            one.called,
            WHAT[one.what],
            str(one.source.n),
            shown(one, one.mean),
            shown(one, one.assumed.average),
            one.name,
            fits,
            style="bold" if one.differs else None,
        )
    return table


def _beside(found: Fitted) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("station")
    table.add_column("")
    for name in ("plant", "simulated in as many days", ""):
        table.add_column(name, justify="right", no_wrap=True)
    for one in found.beside:
        scale, unit = (100.0, "%") if one.unit == "1" else (1.0, one.unit)
        measured, low, high = (f"{value * scale:.3g}" for value in (one.measured, one.low, min(one.high, 100.0)))
        said = "differs" if one.differs else ""
        table.add_row(one.station, one.what, f"{measured} {unit}", f"{low} to {high} {unit}", said)
    return table


def _findings(found: Fitted) -> list[str]:
    said = [
        f"{one.words} ({one.done}" + (f", {abs(one.effect_t):.3g} t)" if one.effect_t else ")")
        for one in found.findings[:MOST_FINDINGS]
    ]
    left = len(found.findings) - MOST_FINDINGS
    return [*said, f"and {left} more: see --json"] if left > 0 else said


def _listed(title: str, sentences: list[str]) -> Iterator[RenderableType]:
    if sentences:
        yield Text(f"\n{title}")
        for sentence in sentences:
            yield Padding(Text(sentence), (0, 0, 0, 2))
