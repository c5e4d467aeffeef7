"""How likely each way pays back, as drawings and a sentence; from plain data, no Dash, no simulation."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from dashboard.charts.chances import Curve, chance_curves, odds
from dashboard.charts.svg import tag, words
from twin.study.advice import title
from twin.words import chance

RINGS = 20
ASKED_YEARS = 5.0
MOST_CURVES = 4
SETTLED_YEARS = 0.25
MOST_RINGS = 8
SETTLED = "What the answer is about is paid back within a quarter of a year of the order, or never."
Plain = Mapping[str, Any]
Ring = tuple[str, int, int]


def odds_drawn(
    results: Plain, shown: Sequence[Plain], *, uncertain: bool = False
) -> tuple[str, tuple[str, ...]] | None:
    """Return a sentence with rings, and curves by years from the order; nothing where no way has a price."""
    rows = [row for row in shown if row["odds"] is not None]
    if not rows:
        return None
    asked = min(ASKED_YEARS, results["terms"]["years"])
    rings = [(title(row["options"]), round(RINGS * _within(row, asked)), RINGS) for row in rows]
    rings.sort(key=lambda one: -one[1])
    curves = [Curve(title(row["options"]), row["odds"]["years"], row["odds"]["chance"]) for row in rows_drawn(results)]
    years = min(results["terms"]["years"], 8.0)
    rises = any(not curve.settled(SETTLED_YEARS) for curve in curves)
    doubts = any(results["terms"][f"doubt_{name}"] for name in ("capex", "contribution", "delivery"))
    drawn_of = ["random weeks", *(["what is not known of the plant"] if uncertain else [])]
    drawn_of += ["uncertain money"] if doubts else []
    of_what = f"{', '.join(drawn_of[:-1])} and {drawn_of[-1]} together" if len(drawn_of) > 1 else drawn_of[0]
    note = (
        f"Each ring is one of {RINGS} futures: {of_what}. Filled: paid back within {asked:g} years of the order. "
        + ("Below: chances in 100 of having paid back, by years from the order." if rises else SETTLED)
    )
    told, in_words = ringed(rings, {curve.title for curve in curves})
    drawn = (odds(told), *in_words, *((chance_curves(curves, years=years),) if rises else ()))
    return note, drawn


def ringed(rings: Sequence[Ring], spoken_about: Collection[str]) -> tuple[list[Ring], list[str]]:
    """Return the ways that are drawn as rings, and of many the others in a sentence: those sure to pay or not to."""
    if len(rings) <= MOST_RINGS:
        return list(rings), []
    drawn = [one for one in rings if 0 < one[1] < one[2] or one[0] in spoken_about]
    rest = [one for one in rings if one not in drawn]
    said = []
    for full in sorted({one[1] for one in rest}, reverse=True):
        names = [name for name, own, _ in rest if own == full]
        said.append(f"{chance(full, RINGS)}: {', '.join(names)}.")
    return drawn, [tag("p", words(f"Not drawn, as all futures agree. {' '.join(said)}"), class_="pl-note-below")]


def _within(row: Plain, years: float) -> float:
    """Return the chance of having the money back within so many years."""
    reached = [part for at, part in zip(row["odds"]["years"], row["odds"]["chance"], strict=True) if at <= years]
    return float(reached[-1]) if reached else 0.0


def rows_drawn(results: Plain) -> list[Plain]:
    """Return the rows whose curves are drawn: the best, the one asked for, what it joins, its twin; each once."""
    told, rows = results["advice"], results["rows"]
    wanted = dict.fromkeys(i for i in (told["best"], told["joined"], told["focus"], told["twin"]) if i)
    return [rows[i] for i in wanted if rows[i]["odds"] is not None][:MOST_CURVES]
