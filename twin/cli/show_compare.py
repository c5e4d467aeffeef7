"""The answer of a comparison for people: a sentence, a small table, where it turns, the cheaper moves."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from shutil import get_terminal_size
from typing import Any

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from twin.cli.inputs import doubt_words, drawn_words
from twin.study.advice import how_sure, title, verdict_parts
from twin.study.told import rests_on, spoken_of, threshold_words
from twin.words import NEVER, NOT_ASKED, indicator, number, plain, share

WIDEST = 120
MOST_RUNGS = 12
SOON_YEARS = 0.05
UNSURE = "unsure"
LIMITED_BY = "Limited by: that of which a little more would bring the most, and the chance that it is that."
FOOT = "A plan, not a permit: local rules, the machine maker's manual and your own people decide."


def show_compare(results: Mapping[str, Any]) -> None:
    """Print the results of a comparison."""
    console = Console(file=sys.stdout, width=WIDEST, highlight=False, markup=False, emoji=False, legacy_windows=False)
    text_width = min(100, get_terminal_size((100, 24)).columns)
    for part in _page(results):
        console.print(part, width=None if isinstance(part, Table) else text_width)


def _page(results: Mapping[str, Any]) -> Iterator[RenderableType]:
    """Yield the parts of the page."""
    yield Text(results["question"], style="dim")
    sentence = Text()
    for part in verdict_parts(results):
        sentence.append(part.text, style="bold" if part.strong else "dim" if part.soft else None)
    yield sentence
    yield Text(how_sure(results) + drawn_words(results), style="dim")
    yield Text("")
    yield _rows(results)
    if any(row["limits"] for row in results["rows"]):
        yield Text(LIMITED_BY, style="dim")
    yield from _listed("It stops being true if ...", _turns(results))
    yield from _ladder(results.get("ladder"))
    yield from _stairs(results.get("stairs"))
    if "inputs" in results:
        of = " + ".join(results["inputs"]["of"]) or "today"
        yield from _listed(f"How much is not known of what {of} brings", doubt_words(results["inputs"]))
    yield from _listed("What this rests on", [f"{what}: {value}" for what, value, _ in rests_on(results)])
    digest = results["digest"]
    made = f"digest {digest[:4]}...{digest[-4:]}, seed {results['seed']}, {results['runs']} runs"
    yield Text(f"\n{results['scenario']}, {made}, passline {results['version']}. {FOOT}", style="dim")


def _table(first: str, *rest: str, words: Sequence[str] = ()) -> Table:
    """Return an empty table: names and words at the left, numbers at the right, units in the heads."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column(first, overflow="fold", max_width=32)
    for name in rest:
        table.add_column(name, justify="left" if name in words else "right", no_wrap=name not in words)
    return table


def _rows(results: Mapping[str, Any]) -> Table:
    """Return one row a line."""
    money = results["currency"]
    heads = ["good t/week", "change", "crews", "lead h"]
    heads += [f"capital k{money}", "back, years", f"value k{money}"] if money else []
    table = _table("line", *heads, "limited by", words=("limited by",))
    best = results["advice"]["best"] if results["advice"] else 0
    for place, row in enumerate(results["rows"]):
        style = "bold" if place == best and place else None
        table.add_row(title(row["options"]), *_cells(row, bool(money)), _limits(row["limits"]), style=style)
    return table


def _cells(row: Mapping[str, Any], money: bool) -> list[str]:
    """Return the numbers of a row."""
    crews = row["crews"]["change"]
    cells = [
        indicator(row["good"], ""),
        NOT_ASKED if row["change"] is None else indicator(row["change"], "", sign=True),
        NOT_ASKED if row["change"] is None else plain(crews, 1 if crews % 1 else 0, sign=True),
        indicator(row["lead_time"], ""),
    ]
    if not money:
        return cells
    if row["npv"] is None:
        return [*cells, NOT_ASKED, NOT_ASKED, NOT_ASKED]
    years = row["payback"]["mean"]
    back = NEVER if years is None else "at once" if years < SOON_YEARS else number(years, places=1)
    if row["npv"]["low"] is not None and row["npv"]["low"] < 0.0 < row["npv"]["high"]:
        back = UNSURE
    return [*cells, plain(row["capex"]["mean"]), back, indicator(row["npv"], "", sign=True)]


def _limits(limits: Mapping[str, float]) -> str:
    """Return what limits, with the chances."""
    return ", ".join(f"{name} {share(chance)}" for name, chance in list(limits.items())[:2])


def _listed(head: str, sentences: Sequence[str]) -> Iterator[RenderableType]:
    """Yield a heading and sentences under it."""
    if sentences:
        yield Text(f"\n{head}")
        for sentence in sentences:
            yield Padding(Text(sentence), (0, 0, 0, 2))


def _turns(results: Mapping[str, Any]) -> list[str]:
    """Return where the advice turns, for the row of the most value."""
    best = spoken_of(results)
    if best is None or not best["thresholds"]:
        return []
    said = [threshold_words(one) for one in (*results.get("turns", ()), *best["thresholds"])]
    return [f"{title(best['options'])}:", *(f"{condition} {consequence}" for condition, consequence in said)]


def _ladder(found: Mapping[str, Any] | None) -> Iterator[RenderableType]:
    """Yield the cheaper moves that add something, cheapest tonne first."""
    if not found:
        return
    rungs = [one for one in found["rungs"] if one["adds"]]
    rungs.sort(key=lambda one: (not one["priced"], _price(one), -one["change"]["mean"]))
    table = _table("move", "at", "change t/week", "a tonne more costs", words=("at",))
    for one in rungs[:MOST_RUNGS]:
        cost = f"{plain(_price(one))} {one['per_tonne']['unit']}" if one["priced"] else "price not given"
        where = ", ".join(dict.fromkeys(one["on"]))
        table.add_row(" + ".join(one["moves"]), where, indicator(one["change"], "", sign=True), cost)
    yield Text("\nCheaper moves at what limits now and next, by themselves and two by two")
    yield table if rungs else Padding(Text("None of them adds anything that could be measured."), (0, 0, 0, 2))
    if found["missed"] is not None:
        more = indicator(found["together"], "t/week")
        pair = " + ".join(found["missed"]["moves"])
        yield Padding(Text(f"Look at the pair {pair}: together they add {more} more than one by one."), (0, 0, 0, 2))


def _price(rung: Mapping[str, Any]) -> float:
    """Return what a tonne more costs, none counting as the dearest."""
    price = rung["per_tonne"]["mean"] if rung["per_tonne"] else None
    return float("inf") if price is None else float(price)


def _stairs(found: Sequence[Mapping[str, Any]] | None) -> Iterator[RenderableType]:
    """Yield what takes over from what."""
    said = [
        f"{stair['limit']}: with about {share(stair['relief'])} more of it the line makes "
        f"{indicator(stair['good'])}; then {'nothing single' if stair['then'] is None else stair['then']} limits."
        for stair in found or ()
    ]
    yield from _listed("Relieved until another takes over", said)
