"""The answer of a comparison as pieces of a page: headings, sentences and drawings as text. No Dash, no simulation.

The page and the report are both made of these pieces.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dashboard.charts.chances import Threshold, rests_on, threshold
from dashboard.charts.drawn import DrawnRow, drawn_table, scale_for
from dashboard.charts.hours import HoursRow, station_hours
from dashboard.charts.plant import titled
from dashboard.charts.states import legend
from dashboard.charts.svg import tag, words
from dashboard.parts.amounts import Units
from dashboard.parts.options_markup import MOST_MOVES, added_table, ladder_table, place_table
from dashboard.parts.options_odds import odds_drawn, rows_drawn
from twin.study.advice import Scale, title
from twin.study.told import amount, spoken_of, threshold_words
from twin.study.told import rests_on as what_it_rests_on
from twin.words import NEVER, NO_BREAK, NOT_ASKED, indicator, number, plain, share

MOST_THRESHOLDS = 4
LIMITS_SHOWN = 2
WEEK_H = 168.0
NOTE_LETTERS = 60
BOTH = ", which holds the luck of the runs and what is not known of the plant"
LIMITS_AT_BEST = " What limits is found with the numbers of the plant at their best estimates."
ALL_PLANTS = " The runs have plants of their own; this is the mean of all."
GATES_OF_MEAN = " The gates are those of the mean of all plants that were drawn."
AT_BEST = " The numbers of the plant are at their best estimates here: the intervals are those of the runs alone."
LIKELY = 0.1
SOON_YEARS = 0.05
PLACE_MOST, PLACE_FEW = 8, 5
ROWS_SHORT, RINGS_SHORT, PLACE_SHORT, MOVES_SHORT = 9, 5, 4, 5
CARE = (
    "A further shift is not free of risk: look at hours worked, fatigue and local working-time rules. More casting "
    "means more charging: keep the preheating and drying of the charge as it is. A planned stop at rolls, knives or "
    "caster is never made shorter to reach a number on this page; local rules, the machine maker's manual and licensed "
    "people decide."
)
Plain = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Piece:
    """One part of the page: heading, sentence, drawings as text, and the tables that can be taken away."""

    name: str
    title: str
    note: str
    drawings: tuple[str, ...]
    tables: tuple[str, ...] = ()


def scale_of(units: Units) -> Scale:
    """Return the unit of mass for sentences."""
    return Scale(units.mass, units.per_tonne)


def pieces(results: Plain, units: Units, *, key: str = "", short: bool = False, uncertain: bool = False) -> list[Piece]:
    """Return all pieces in order; those that have nothing to show are left out.

    `short` leaves the most telling rows of each, as for a report of two pages; `uncertain` says that the runs took
    inputs as uncertain as they are.
    """
    rows = telling(results, ROWS_SHORT) if short else list(results["rows"])
    made = [
        ways(results, rows, units, uncertain=uncertain),
        chances(results, telling(results, RINGS_SHORT) if short else rows, uncertain=uncertain),
        turns(results, units, key, 3 if short else MOST_THRESHOLDS, uncertain=uncertain),
        rests(results),
        hours(results, key, uncertain=uncertain),
        added(results, units),
        place(results, telling(results, PLACE_SHORT) if short else rows),
        cheaper(results, units, MOVES_SHORT if short else MOST_MOVES, uncertain=uncertain),
        handed_over(results, units, uncertain=uncertain),
    ]
    return [piece for piece in made if piece is not None]


def telling(results: Plain, most: int) -> list[Plain]:
    """Return so many rows in their order: today, those that the sentence is about, then those of the most value."""
    rows, told = results["rows"], results["advice"]
    if len(rows) <= most or not told:
        return list(rows)
    first = [0, *(told[name] for name in ("focus", "joined", "twin", "best") if told[name] is not None)]

    def worth(place: int) -> float:
        row = rows[place]
        return float((row["npv"] or row["change"] or {"mean": 0.0})["mean"])

    ranked = dict.fromkeys([*first, *sorted(range(len(rows)), key=worth, reverse=True)])
    return [rows[i] for i in sorted(list(ranked)[:most])]


def ways(results: Plain, rows: Sequence[Plain], units: Units, *, uncertain: bool = False) -> Piece:
    """Return today and the ways to change it, drawn on one scale."""
    money = results["currency"]
    heads = [f"good {units.mass}/week", "change against today", "crews", "lead time, h"]
    if money:
        years = f"value in {results['terms']['years']:g} years, k{money}"
        heads += [f"capital, k{money}", "pays back, years", years]
    limits = "what limits then, chance"
    heads.append(limits)
    per, best = units.per_tonne, best_of(results)
    drawn = [_way(row, units, bool(money), holds=row is best) for row in rows]
    table = drawn_table(
        drawn,
        heads=heads,
        scale=scale_for(drawn, today=per * rows[0]["good"]["mean"], unit=f"{units.mass}/week"),
        first="change",
        name="Today and the ways to change it",
        said=frozenset({limits}),
    )
    worth = "the most value on these inputs" if money else "the most tonnes"
    note = (
        f"Good {units.mass}/week; the upright line is today. A bar is the 95{NO_BREAK}% interval of the change"
        f"{BOTH if uncertain else ''}; its middle mark is the mean. Shaded: {worth}. What limits is that of which a "
        "tenth more brings the most tonnes, with the chance that it is this one; Line shows what holds the line hour "
        "by hour, which may be another."
    ) + (LIMITS_AT_BEST if uncertain else "")
    return Piece("ways", "Today and the ways to change it", note, (table,), ("options",))


def best_of(results: Plain) -> Plain | None:
    """Return the way of the most value, nothing where that is today."""
    told = results["advice"]
    return results["rows"][told["best"]] if told and told["best"] else None


def _way(row: Plain, units: Units, money: bool, *, holds: bool) -> DrawnRow:
    """Return one row: where it lies is today's mean and the change, so that its bar is that of the change."""
    per, change = units.per_tonne, row["change"]
    mean, low, high = (row["good"][end] for end in ("mean", "low", "high"))
    if change is not None and change["low"] is not None:
        low, high = mean + change["low"] - change["mean"], mean + change["high"] - change["mean"]
    crews = row["crews"]["change"]
    cells = [
        indicator(row["good"], "", scale=per),
        NOT_ASKED if change is None else indicator(change, "", scale=per, sign=True),
        NOT_ASKED if change is None else plain(crews, 1 if crews % 1 else 0, sign=True),
        indicator(row["lead_time"], ""),
        *(_money_cells(row) if money else ()),
        ", ".join(_limits(row["limits"])),
    ]
    ends = (None, None) if low is None or high is None else (per * low, per * high)
    note = row.get("about", "")
    return DrawnRow(
        title=title(row["options"]),
        cells=tuple(cells),
        mean=per * mean,
        low=ends[0],
        high=ends[1],
        note=note if len(note) <= NOTE_LETTERS else "",
        holds=holds,
    )


def _money_cells(row: Plain) -> tuple[str, ...]:
    """Return capital, payback and value."""
    if row["npv"] is None:
        return (NOT_ASKED,) * 3
    years = row["payback"]["mean"]
    back = NEVER if years is None else "at once" if years < SOON_YEARS else number(years, places=1)
    if row["npv"]["low"] is not None and row["npv"]["low"] < 0.0 < row["npv"]["high"]:
        back = "unsure"
    return plain(row["capex"]["mean"]), back, indicator(row["npv"], "", sign=True)


def _limits(limits: Mapping[str, float]) -> list[str]:
    """Return what limits with its chance, the likeliest first."""
    likely = [(name, chance) for name, chance in limits.items() if chance >= LIKELY][:LIMITS_SHOWN]
    return [f"{'roll shop' if name.endswith(' roll shop') else name} {share(chance)}" for name, chance in likely]


def chances(results: Plain, shown: Sequence[Plain], *, uncertain: bool = False) -> Piece | None:
    """Return how likely each way pays back: rings, and curves by years from the order."""
    found = odds_drawn(results, shown, uncertain=uncertain)
    return None if found is None else Piece("chances", "How likely is it to pay back?", *found, ("odds",))


def turns(
    results: Plain, units: Units, key: str, most: int = MOST_THRESHOLDS, *, uncertain: bool = False
) -> Piece | None:
    """Return where the advice turns for the way of the most value, the nearest first."""
    best = spoken_of(results)
    found = [*results.get("turns", ()), *((best["thresholds"] or ()) if best is not None else ())]
    if best is None or not found:
        return None
    nearest = sorted(found, key=lambda one: abs(one["gate"] / one["now"] - 1.0) if one["now"] else 1.0)
    rules = [_rule(one, units, f"{key}gate{i}") for i, one in enumerate(nearest[:most])]
    note = f"Ring: today. Gate: where the advice for {title(best['options']).lower()} turns. Hatched: beyond it."
    note += GATES_OF_MEAN if uncertain else ""
    return Piece("turns", "It stops being true if …", note, tuple(rules))


def _rule(one: Plain, units: Units, key: str) -> str:
    """Return one threshold as it is drawn."""
    mass = one["unit"] == "t/week"
    scale, unit = (units.per_tonne, f"{units.mass}/week") if mass else (1.0, one["unit"])
    condition, consequence = threshold_words(one, scale, unit)
    return threshold(
        Threshold(
            condition=condition,
            consequence=consequence,
            today=scale * one["now"],
            gate=scale * one["gate"],
            today_words=f"{amount(scale * one['now'], unit)} now",
            gate_words=amount(scale * one["gate"], unit),
            below=one["stops"] == "below",
        ),
        key=key,
    )


def rests(results: Plain) -> Piece | None:
    """Return what the answer rests on."""
    found = what_it_rests_on(results)
    if not found:
        return None
    note = "Full ring: measured here. Open ring: assumed; the odds carry the doubt that is given for it."
    return Piece("rests", "What this rests on", note, (rests_on(found),))


def hours(results: Plain, key: str, *, uncertain: bool = False) -> Piece | None:
    """Return how the week of one station changes: the one whose running hours change most."""
    shown = rows_drawn(results) if results["advice"] else []
    rows = [results["rows"][0], *shown] if shown else results["rows"][:4]
    name = _most_changed(rows)
    if name is None:
        return None
    length = WEEK_H * max(1.0 - row["stations"][name]["share"]["closed"] for row in rows)
    bars = [HoursRow(title(row["options"]), _open_hours(row["stations"][name])) for row in rows]
    called = f"The {name}: {plain(length)} hours"
    drawn = station_hours(bars, length_h=length, step_h=24.0 if length > 48.0 else 8.0, key=f"{key}hours", name=called)
    note = "Hours of a mean week, from all runs; of several machines, the mean. What is missing is closed."
    note += ALL_PLANTS if uncertain else ""
    return Piece(
        "hours",
        f"The {name}’s {plain(length)} hours",
        note,
        (drawn, legend(key=f"{key}hours-legend", slowed=False, limits=False)),
        ("hours-of-options",),
    )


def _most_changed(rows: Sequence[Plain]) -> str | None:
    """Return the station, with the same machines and hours in all rows, whose week changes most; none if none does."""
    stations = [name for name in rows[0]["stations"] if _same(name, rows) and not name.endswith("roll shop")]

    def spread(name: str) -> float:
        today = rows[0]["stations"][name]["share"]
        weeks = [row["stations"][name]["share"] for row in rows[1:]]
        return float(sum(abs(week[state] - today[state]) for week in weeks for state in today))

    most = max(stations, key=spread, default=None)
    return most if most is not None and spread(most) > 0.005 else None


def _same(name: str, rows: Sequence[Plain]) -> bool:
    """Return whether a station has the same machines and the same hours in all rows."""
    own = [row["stations"].get(name) for row in rows]
    if any(one is None for one in own):
        return False
    closed = [one["share"]["closed"] for one in own]
    return len({one["machines"] for one in own}) == 1 and max(closed) - min(closed) < 0.005


def _open_hours(station: Plain) -> dict[str, float]:
    """Return the hours of the open states."""
    return {state: WEEK_H * part for state, part in station["share"].items() if state != "closed"}


def added(results: Plain, units: Units) -> Piece | None:
    """Return what the added tonnes are, product by product, of the way of the most value."""
    best = spoken_of(results)
    if best is None:
        return None
    table = added_table(best, units, results["currency"])
    change = plain(units.per_tonne * best["change"]["mean"], sign=True)
    note = f"{title(best['options'])}: the added tonnes are not average tonnes; each product counts at its own price."
    return Piece("added", f"What the {change}{NO_BREAK}{units.mass} are", note, (table,), ("added",))


def place(results: Plain, rows: Sequence[Plain]) -> Piece:
    """Return people and place: crews, cranes, coils that wait."""
    few = telling({**results, "rows": rows}, PLACE_FEW) if results["advice"] and len(rows) > PLACE_MOST else rows
    rest = [rows[0], *(row for row in rows if row not in few)]
    more = tag("summary", words(f"{len(rest) - 1} more")) + place_table(rest)
    tables = (place_table(few), *((tag("details", more, class_="pl-more"),) if len(rest) > 1 else ()))
    note = (
        f"A crew mans one machine, {results['rows'][0]['crews']['hours']:g} hours a week; how many people it is, the "
        "plant knows. Coils: mean and most, of the places there are."
    )
    return Piece("place", "People and place", note, tables, ("place",))


def cheaper(results: Plain, units: Units, most: int = MOST_MOVES, *, uncertain: bool = False) -> Piece | None:
    """Return the cheaper moves at what limits now and next."""
    found = results.get("ladder")
    if not found:
        return None
    table = ladder_table(found, units, most)
    if not table:
        return None
    note = "At what limits now and next, by themselves and two by two; those that add nothing measurable are left out."
    if uncertain:
        note += " Intervals hold what is not known of the plant; what limits next is found at the best estimates."
    if found["missed"] is not None:
        more = indicator(found["together"], f"{units.mass}/week", scale=units.per_tonne)
        pair = " + ".join(found["missed"]["moves"])
        note += f" Look at {pair}: together they add {more} more than one by one."
    return Piece("cheaper", "Cheaper moves", note, (table,), ("moves",))


def handed_over(results: Plain, units: Units, *, uncertain: bool = False) -> Piece | None:
    """Return what takes over when today's limit is relieved."""
    said = []
    for stair in results.get("stairs") or ():
        good = indicator(stair["good"], f"{units.mass}/week", scale=units.per_tonne)
        then = "nothing single limits" if stair["then"] is None else f"the {stair['then']} limits"
        said.append(f"{titled(stair['limit'])}: with about {share(stair['relief'])} more of it, {good}; then {then}.")
    if not said:
        return None
    items = "".join(f"<li>{words(sentence)}</li>" for sentence in said)
    return Piece(
        "stairs",
        "Until another takes over",
        "Today’s limit, relieved step by step." + (AT_BEST if uncertain else ""),
        (f'<ul class="buy-list">{items}</ul>',),
    )
