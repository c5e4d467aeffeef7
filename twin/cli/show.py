"""The answer of a run for people: a sentence first, then small tables, then what it rests on."""

from __future__ import annotations

import sys
from collections.abc import Collection, Iterator, Mapping, Sequence
from shutil import get_terminal_size
from typing import Any

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from twin.cli.inputs import doubt_words, drawn_words
from twin.cli.show_orders import show_orders
from twin.indicators.verdict import Verdict, verdict
from twin.words import NO_BREAK, NOT_ASKED, indicator, share

WEEK_H = 168.0
LEAST_SHARE = 0.005  # a state that rounds to 0 % everywhere has no column
WIDEST = 100
TIMES = "Where the time goes, in % of the clock (slowed: what running loses to a lower speed)"
STATES = ("running", "setup", "changing_rolls", "down", "waiting", "starved", "blocked", "closed")


def show_run(results: Mapping[str, Any], assumed: Sequence[str], finished: Collection[str] = ()) -> None:
    """Print the results of a run; `finished` are the stores that no station draws on, which only grow."""
    console = Console(file=sys.stdout, width=WIDEST, highlight=False, markup=False, emoji=False, legacy_windows=False)
    text_width = min(WIDEST, get_terminal_size((WIDEST, 24)).columns)
    for part in _page(results, assumed, finished):
        # a table is never squeezed, as that would cut numbers off
        console.print(part, width=None if isinstance(part, Table) else text_width)


def _page(results: Mapping[str, Any], assumed: Sequence[str], finished: Collection[str]) -> Iterator[RenderableType]:
    """Yield the parts of the page."""
    answer = verdict(results)
    yield _sentence(answer)
    yield Text(answer.sure + drawn_words(results), style="dim")
    yield from _section("", _line(results))
    yield from _section("Products", _products(results))
    if results.get("orders"):
        yield from show_orders(results["orders"])
    yield from _section("Stations", _stations(results))
    yield from _section(TIMES, _times(results))
    yield from _section("Stores", _stores(results, finished))
    yield from _section("Rolls", _rolls(results))
    if "inputs" in results:
        yield Text("\nHow much of it is not known")
        for sentence in doubt_words(results["inputs"]):
            yield Padding(Text(sentence), (0, 0, 0, 2))
    yield Text("\nWhat it takes for granted")
    for sentence in assumed:
        yield Padding(Text(sentence), (0, 0, 0, 2))
    yield Text(f"\n{_foot(results)}", style="dim")


def _sentence(answer: Verdict) -> Text:
    """Return the verdict with its weights."""
    text = Text()
    for part in answer.parts:
        text.append(part.text, style="bold" if part.strong else "dim" if part.soft else None)
    return text


def _section(title: str, table: Table | None) -> Iterator[RenderableType]:
    """Yield a heading and a table, or nothing where the table has no row."""
    if table is not None and table.row_count:
        yield Text(f"\n{title}" if title else "")
        yield table


def _table(first: str, *rest: str) -> Table:
    """Return an empty table: names at the left, numbers at the right, units in the heads."""
    table = Table(box=None, pad_edge=False, padding=(0, 3, 0, 0), header_style="dim")
    table.add_column(first, overflow="fold", max_width=28)
    for name in rest:
        table.add_column(name, justify="right", no_wrap=True)
    return table


def _line(results: Mapping[str, Any]) -> Table:
    """Return the line as a whole."""
    line, table = results["line"], _table("", "")
    table.show_header = False
    sooner, _, later = (line["lead_time"]["quantiles"][q] for q in ("0.1", "0.5", "0.9"))
    table.add_row("good", indicator(line["good"], "t/week", scale=WEEK_H))
    if line["pieces"]["mean"]:
        table.add_row("good pieces", indicator(line["pieces"], "pieces/week", scale=WEEK_H))
    table.add_row("scrap", indicator(line["scrap"], "t/week", scale=WEEK_H))
    table.add_row("yield", _percent(line["yield"]))
    table.add_row("from coil to finished", indicator(line["lead_time"]))
    table.add_row("one coil in ten sooner than", indicator(sooner))
    table.add_row("one coil in ten later than", indicator(later))
    table.add_row("metal in the line", indicator(line["wip"]))
    return table


def _products(results: Mapping[str, Any]) -> Table:
    """Return what is made of each product."""
    table = _table("product", "good t/week", "pieces/week")
    for name, row in results["products"].items():
        if row["good"]["mean"]:
            table.add_row(name, _week(row["good"]), _week(row["pieces"]) if row["pieces"]["mean"] else NOT_ASKED)
    return table


def _stations(results: Mapping[str, Any]) -> Table:
    """Return what each station gives and for how long it holds the line."""
    table, limits = _table("station", "machines", "out t/week", "stops/week", "holds the line"), results["bottleneck"]
    for name, row in results["stations"].items():
        out = _week(row["out"]) if row["out"]["mean"] else NOT_ASKED
        table.add_row(name, str(row["machines"]), out, _week(row["stops"]), _percent(limits[name]["share"]))
    return table


def _times(results: Mapping[str, Any]) -> Table:
    """Return the states of each station; the last column is what its running loses to a speed below its own."""
    rows = {name: {**row["share"], "slowed": row["slowed"]} for name, row in results["stations"].items()}
    shown = [
        state
        for state in (*STATES, "slowed")
        if any((row[state]["mean"] or 0.0) >= LEAST_SHARE for row in rows.values())
    ]
    table = _table("station", *("rolls" if state == "changing_rolls" else state for state in shown))
    for name, row in rows.items():
        table.add_row(name, *(_percent(row[state]).removesuffix(f"{NO_BREAK}%") for state in shown))
    return table


def _stores(results: Mapping[str, Any], finished: Collection[str]) -> Table:
    """Return how full the stores are."""
    table = _table("store", "mean level", "peak", "full", "empty")
    for name, row in results["stores"].items():
        if name not in finished:
            cells = (indicator(row["level"]), indicator(row["peak"]), _percent(row["full"]), _percent(row["empty"]))
            table.add_row(name, *cells)
    return table


def _rolls(results: Mapping[str, Any]) -> Table:
    """Return how often the rolls are changed, and what that costs of the clock."""
    table = _table("mill", "changes/week", "of them damaged", "each after", "changing", "waiting for a set")
    for name, row in results["rolls"].items():
        table.add_row(
            name,
            indicator(row["changes"], ""),
            indicator(row["damages"], ""),
            indicator(row["campaign"]),
            _percent(row["downtime"]),
            _percent(row["waiting_for_set"]),
        )
    return table


def _week(value: Mapping[str, Any]) -> str:
    """Write an hourly indicator as a weekly one; its unit stands in the head."""
    return indicator(value, "", scale=WEEK_H)


def _percent(value: Mapping[str, Any]) -> str:
    """Write a share with its half-width in whole per cent."""
    low, high = value["low"], value["high"]
    return share(value["mean"], None if low is None or high is None else (high - low) / 2.0)


def _foot(results: Mapping[str, Any]) -> str:
    """Return by what the numbers can be made again."""
    digest = results["digest"]
    return (
        f"{results['scenario']}, digest {digest[:4]}...{digest[-4:]}, seed {results['seed']}, {results['runs']} runs, "
        f"passline {results['version']}. A plan, not a permit: local rules, the machine maker's manual and your own "
        "people decide."
    )
