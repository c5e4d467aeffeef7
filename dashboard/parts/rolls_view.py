"""What the page Roll changes shows below its verdict: pieces made of plain data, each with its drawings and tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from dashboard.charts.curve import Point, distance_curve
from dashboard.charts.drawn import DrawnRow, drawn_table, scale_for
from dashboard.charts.roll_windows import Lane, Step, price_lanes
from dashboard.charts.sets import RollSet, roll_sets
from dashboard.charts.states import LOOKS, legend
from dashboard.charts.timeline import SetRow, Span, sets_along
from dashboard.charts.week import days_between
from dashboard.parts.amounts import Units
from dashboard.parts.rolls_markup import facts_table, folding, plan_table
from dashboard.parts.rolls_words import (
    at_a_time,
    best,
    clock,
    diameter,
    half_hour,
    moment,
    run,
    title,
    tonnes,
    turned,
    window,
)
from twin.words import NO_BREAK, NOT_ASKED, indicator, plain, share

HOUR_S = 3600.0
DAY_S = 86400.0
BEFORE_S = 12 * HOUR_S
"""How much of the past is drawn. [s]"""
LEAST_BEFORE_S = 8 * HOUR_S
"""So much is drawn though nothing is known of it, so that the name of the day stands clear of now. [s]"""
MOVE = "Move a ring by mouse, finger or arrow keys to see the price."
STATES = {"on mill": "on_mill", "waiting": "waits_grinder"}
Plain = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Piece:
    """One part of the page: heading, sentence, drawings as text, and the tables that can be taken away."""

    name: str
    title: str
    note: str
    drawings: tuple[str, ...]
    tables: tuple[str, ...] = ()


def pieces(results: Plain, units: Units) -> list[Piece]:
    """Return all pieces in order; those that have nothing to show are left out."""
    made = [
        places(results, units),
        windows(results, units),
        along(results),
        distances(results, units),
        fails(results, units),
        each_distance(results, units),
        rules(results, units),
    ]
    return [piece for piece in made if piece is not None]


def span_of(results: Plain) -> Span:
    """Return the days that are drawn: half a day before now, less where less is known, and the planned days."""
    past = min((stay["start"] for stay in results["stays"]), default=0.0)
    before = max(LEAST_BEFORE_S, min(BEFORE_S, -past) // HOUR_S * HOUR_S)
    length = before + results["days"] * DAY_S
    return Span(length, days_between(moment(results, -before), length), before)


# Where the sets are


def places(results: Plain, units: Units) -> Piece | None:
    """Return where each set is now."""
    if not results["sets"]:
        return None
    limit = results["limit"]
    turn = f", a full turn is the {run(limit, units)} limit" if limit else ""
    note = f"The strip runs between the rolls. The grey arc is the distance rolled{turn}."
    shown = [_set(results, one, units) for one in results["sets"]]
    return Piece("places", "Where the sets are", note, (roll_sets(shown),), ("roll-sets",))


def _set(results: Plain, one: Plain, units: Units) -> RollSet:
    """Return one set with the one time that matters."""
    used, limit = results["used"], results["limit"]
    if one["place"] == "on mill":
        of = f"{plain(used * units.per_km)} of {run(limit, units)}" if limit else run(used, units)
        return RollSet(one["number"], "on mill", diameter(one["diameter"], units), of, used / limit if limit else None)
    return RollSet(one["number"], one["place"], diameter(one["diameter"], units), _time_of(results, one))


def _time_of(results: Plain, one: Plain) -> str:
    """Return until when a set is where it is, else since when."""
    said = ""
    if one["until"] is not None and one["place"] != "ready":
        said = f"until {clock(moment(results, one['until']))}"
    elif one["since"] is not None:
        said = f"since {clock(moment(results, one['since']))}"
    return ", ".join(part for part in ("damaged" if one["damaged"] else "", said) if part)


# The coming windows


def windows(results: Plain, units: Units) -> Piece | None:
    """Return the coming changes: lanes to move them in, and the table of who and what each needs."""
    if not results["changes"]:
        return None
    span = span_of(results)
    lanes = [_lane(results, change, units, span) for change in results["changes"]]
    drawn = [lane for lane in lanes if lane is not None]
    floor = tonnes(results["worth_telling"], units, sign=False)
    note = (
        f"On the solid floor a change costs less than {floor}. The curve is what any other time costs the whole line, "
        f"with all later changes planned anew. {MOVE}"
    )
    if not results["hour_matters"]:
        note = f"The hour does not matter: anywhere on the solid floor a change costs less than {floor}. {MOVE}"
    if any(lane.shut for lane in drawn):
        note += " Behind an upright bar the set is past its limit."
    table = plan_table(results, units)
    name = f"The coming changes of the {results['station']}"
    chart = price_lanes(drawn, span, unit=units.mass, name=name) if drawn else ""
    return Piece("windows", "The coming windows", note, (chart, table), ("roll-changes", "roll-prices"))


def _lane(results: Plain, change: Plain, units: Units, span: Span) -> Lane | None:
    """Return the lane of a change as far as it lies in the days that are drawn."""
    now = span.now or 0.0
    shown = [price for price in change["prices"] if price["at"] + now <= span.length]
    if not shown or change["best"] + now > span.length:
        return None
    whole = len(shown) == len(change["prices"])
    return Lane(
        title=title(change),
        when=_when(results, change),
        earliest=change["earliest"] + now,
        best=change["best"] + now,
        latest=min(change["latest"] + now, span.length),
        early=_a_half_hour(change["early"], units),
        late=_a_half_hour(change["late"], units),
        shut=whole and change["late"] is None,
        steps=tuple(
            Step(
                price["at"] + now,
                None if price["tonnes"] is None else price["tonnes"] * units.per_tonne,
                at_a_time(results, change, price, units),
            )
            for price in shown
        ),
    )


def _when(results: Plain, change: Plain) -> str:
    """Return window and best time in words; where the window is one moment, that alone."""
    wide = change["latest"] - change["earliest"] >= 60.0
    return window(results, change) + (f", best {best(results, change)}" if wide else "")


def _a_half_hour(price: float | None, units: Units) -> str:
    """Return what is written at a wall; a long unit stands at the head of the axis alone."""
    said = half_hour(price, units).removesuffix("short tons").rstrip(NO_BREAK)
    return "" if not price else f"{said} each ½{NO_BREAK}h"


# The sets along time


def along(results: Plain) -> Piece | None:
    """Return where each set was and will be."""
    if not results["stays"]:
        return None
    span = span_of(results)
    now = span.now or 0.0
    rows = []
    for number in sorted({stay["number"] for stay in results["stays"]}):
        own = [stay for stay in results["stays"] if stay["number"] == number]
        states = [STATES.get(stay["place"], stay["place"]) for stay in own]
        rows.append(
            SetRow(f"Set {number}", [stay["start"] + now for stay in own], [stay["end"] + now for stay in own], states)
        )
    shown = tuple(state for state in LOOKS if any(state in row.state for row in rows))
    shop = [(start + now, end + now) for start, end in results["shop_open"]]
    drawn = sets_along(rows, span, open_s=shop)
    key = legend(shown, slowed=False, limits=False, key="rolls-key")
    known = any(stay["start"] < 0.0 for stay in results["stays"])
    before = "as it happened" if known else "nothing is known"
    note = f"Left of now {before}, right of it as planned, paler."
    if shop:
        note += " The grey bars on top are the hours of the roll shop from now on."
    return Piece("along", "The sets along time", note, (drawn, key), ("roll-stays",))


# How far a set should run


def distances(results: Plain, units: Units) -> Piece | None:
    """Return good output a week against the distance a set runs."""
    sweep = results["sweep"]
    if sweep is None:
        return None
    per, far = units.per_tonne, units.per_km
    points = [point for point in sweep["points"] if point["distance"] is not None and point["good"]["low"] is not None]
    if len(points) < 2:
        return None
    drawn = [
        Point(_round(far * point["distance"]), *(per * point["good"][end] for end in ("mean", "low", "high")))
        for point in points
    ]
    today = next((_round(far * point["distance"]) for point in points if point["today"]), None)
    ends = [end * far if end is not None else drawn[-1].x for end in sweep["flat"]]
    curve = distance_curve(
        drawn, today=today, flat=(_round(ends[0]), _round(ends[1])), units=(units.distance, f"{units.mass}/week")
    )
    note = f"Good {units.mass}/week against the distance after which rolls are changed. {turned(sweep['said'], units)}"
    return Piece("distances", "How far should a set run?", note, (curve,))


def _round(value: float) -> float:
    return round(value, 1 if value < 10.0 else 0)


def each_distance(results: Plain, units: Units) -> Piece | None:
    """Return what goes with each distance: changes, damage, scrap, waiting, the work of the roll shop, sets ready."""
    if results["sweep"] is None:
        return None
    mass = units.mass
    heads = ["a set runs", f"good {mass}/week", "against today", "changes/week", "damaged/week", f"scrap, {mass}/week"]
    heads += ["waits, h/week", "shop at work", "sets ready"]
    rows = [_distance(point, units) for point in results["sweep"]["points"]]
    note = (
        "Means of a week, from the same runs. Waits: for a roll set. Shop at work: share of its open hours. "
        "Sets ready: on average."
    )
    table = folding(heads, rows, frozenset({"a set runs"}), "What goes with each distance")
    return Piece("each", "What goes with each distance", note, (table,), ("roll-distances",))


def _distance(point: Plain, units: Units) -> list[str]:
    """Return the cells of one distance."""
    work, ready, per = point["grinding"], point["ready"], units.per_tonne
    far = "until damage" if point["distance"] is None else run(point["distance"], units)
    return [
        far + (", today" if point["today"] else ""),
        indicator(point["good"], "", scale=per),
        NOT_ASKED if point["today"] else indicator(point["change"], "", scale=per, sign=True),
        plain(point["changes"]["mean"], 1),
        plain(point["damages"]["mean"], 1),
        plain(per * point["scrap"]["mean"], 1),
        plain(point["waits"]["mean"], 1),
        NOT_ASKED if work is None else share(work["mean"]),
        NOT_ASKED if ready is None else plain(ready, 1),
    ]


# How rolls fail


def fails(results: Plain, units: Units) -> Piece:
    """Return how rolls live here, and what a change costs the mill alone."""
    note = "For the mill alone, in minutes of it: what the whole line makes of that stands beside."
    if results["sweep"] is None:
        note = "For the mill alone, in minutes of it."
    return Piece("fails", "How rolls fail here", note, (facts_table(results, units),))


# Rules compared


def rules(results: Plain, units: Units) -> Piece | None:
    """Return the whole line under each rule for the moment of a change."""
    found = results["rules"]
    if not found:
        return None
    today = next(rule for rule in found if rule["today"])
    heads = [
        f"good {units.mass}/week",
        "against today",
        "changes/week",
        "damaged/week",
        "waits, h/week",
        "shop at work",
    ]
    drawn = [_rule(rule, today, units) for rule in found]
    scale = scale_for(drawn, today=units.per_tonne * today["good"]["mean"], unit=f"{units.mass}/week")
    table = drawn_table(drawn, heads=heads, scale=scale, first="rule", name="Rules for the moment of a change")
    note = (
        "The same weeks under each rule. The upright line is today; a bar is the "
        f"95{NO_BREAK}% interval of the change, run by run."
    )
    return Piece("rules", "When should they come out, as a rule?", note, (table,), ("roll-rules",))


def _rule(rule: Plain, today: Plain, units: Units) -> DrawnRow:
    """Return one rule: where it lies is today's mean and the change."""
    per, change, work = units.per_tonne, rule["change"], rule["grinding"]
    middle = per * (today["good"]["mean"] + change["mean"])
    ends = [None if change[end] is None else middle + per * (change[end] - change["mean"]) for end in ("low", "high")]
    name = turned(rule["name"], units)
    return DrawnRow(
        title=name[:1].upper() + name[1:],
        cells=(
            indicator(rule["good"], "", scale=per),
            NOT_ASKED if rule["today"] else indicator(change, "", scale=per, sign=True),
            plain(rule["changes"]["mean"], 1),
            plain(rule["damages"]["mean"], 1),
            plain(rule["waits"]["mean"], 1),
            NOT_ASKED if work is None else share(work["mean"]),
        ),
        mean=middle,
        low=ends[0],
        high=ends[1],
    )


def rests_on(results: Plain, units: Units) -> list[str]:
    """Return what the answer takes for granted, and how the plan was checked."""
    said = [turned(one, units) for one in results["assumed"]]
    checked = results["checked"]
    if checked is not None:
        good = indicator(checked["good"], units.mass, scale=units.per_tonne)
        change = indicator(checked["change"], units.mass, scale=units.per_tonne, sign=True)
        said.append(
            f"The plan was simulated in {checked['futures']} futures of {plain(checked['hours'])}{NO_BREAK}h: {good}, "
            f"{change} against always running to the limit with the same luck."
        )
    return said
