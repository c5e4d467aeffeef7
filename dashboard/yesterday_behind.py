"""What stands behind a day: the days before it with their forecasts, and what the next shift finds."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboard.charts.days import DayBar, day_bars
from dashboard.charts.drawn import DrawnRow, drawn_table, scale_for
from dashboard.charts.plant import titled
from dashboard.charts.svg import tag, words
from dashboard.parts.amounts import Units
from dashboard.parts.options_markup import markup
from dashboard.parts.options_view import Piece
from dashboard.yesterday_words import (
    amount_words,
    clock,
    event_words,
    in_units,
    long_day,
    minutes,
    rolls_words,
    short_day,
    store_words,
)
from twin.words import NO_BREAK, plain

Plain = Mapping[str, Any]
BARS = 7
PRODUCTS_SHOWN = 9
LEAST_DAY_T = 0.05
LOOKED_BACK = (
    "These forecasts were made looking back, each from its morning's records alone: they show what the model is worth, "
    "and count as no promise."
)
BANDS = {"50 %": "one day of two", "80 %": "four days of five", "90 %": "nine days of ten"}


def worked(answer: Plain) -> list[Plain]:
    """Return the last days on which anything was expected or made."""
    return [one for one in answer["past"] if max(one["actual_t"], one["high_t"]) > LEAST_DAY_T]


def listed(rows: str) -> str:
    """Return rows as a list with rings."""
    return tag("ul", rows, class_="day-look")


def nothing(said: str) -> str:
    """Return what is said where there is nothing to draw."""
    return tag("p", words(said), class_="pl-said")


# The days before


def days(answer: Plain, units: Units) -> Piece | None:
    """Return the last days beside what was forecast of each from its morning."""
    per = units.per_tonne
    shown = [one for one in worked(answer) if one["day"] <= answer["day"]][-BARS:]
    if not shown:
        return None
    bars = [DayBar(short_day(one["day"]), *(one[name] * per for name in FIGURES)) for one in shown]
    drawn = day_bars(bars, unit=units.mass, name="The last days and their forecasts")
    note = "Bar: booked. Line: forecast from that morning. Pale: nine such days of ten."
    return Piece("days", "The last days", note, (drawn,), ("last-days",))


FIGURES = ("actual_t", "mean_t", "low_t", "high_t")


def book(answer: Plain, units: Units) -> Piece | None:
    """Return how good the forecasts were so far, and what cannot be said yet."""
    found = answer["book"]
    if not found or not found["days"]:
        return None
    rows = [_coverage(one) for one in found["coverage"] if one["name"] in BANDS]
    drawn = drawn_table(
        rows,
        heads=("asked", "inside"),
        scale=scale_for([*rows, DrawnRow("", mean=100.0)], zero=True, unit="%"),
        first="band for",
        name="How many days ended inside their band",
    )
    claims = "".join(tag("li", words(in_units(one["words"], units))) for one in found["claims"])
    said = in_units(found["watch"]["words"], units)
    made = "Each forecast was kept before its day began." if answer["kept"] else LOOKED_BACK
    note = f"{in_units(found['verdict'], units)} {made}"
    return Piece("book", "How good the forecasts are", note, (drawn, listed(claims), nothing(said)), ("forecasts",))


def _coverage(one: Plain) -> DrawnRow:
    low, mean, high = (100.0 * one[name] for name in ("low", "share", "high"))
    inside = f"{round(one['share'] * one['days'])} of {one['days']}"
    return DrawnRow(BANDS[one["name"]], (f"{plain(100.0 * one['asked'])}{NO_BREAK}%", inside), mean, low, high)


# What the next shift finds


def hand_over(answer: Plain, units: Units) -> Piece:
    """Return what the next shift finds: stores, rolls, machines that stand."""
    found = answer["review"]
    own = found["hand_over"]
    rows = [(titled(one["store"]), store_words(one, units), _counted(one)) for one in own["stores"]]
    rows += [(f"Rolls of {one['station']}", rolls_words(one, units), "") for one in own["rolls"]]
    table = markup(("at the end of the day", "there is", "known"), rows, said=(0, 1, 2))
    note = f"At {clock(found['end_s'], found['zone'])} after {long_day(answer['day'])}."
    return Piece("handover", "For the next shift", note, (table, standing(answer)), ("hand-over",))


def _counted(store: Plain) -> str:
    return "as recorded" if store["recorded"] else "as the model has it"


def standing(answer: Plain) -> str:
    """Return the machines that stand at the end of the day."""
    found = answer["review"]
    own = found["hand_over"]["standing"]
    if not own:
        return nothing("No machine stands.")
    rows = [
        (titled(name) + (f" {number}" if number > 1 else ""), reason, since_words(found, since))
        for name, number, reason, since in own
    ]
    return markup(("stands", "for", "since"), rows, said=(0, 1, 2))


def since_words(found: Plain, since: float) -> str:
    """Return since when a machine stands, and how long that is at the end of the day."""
    lasted = found["end_s"] - since
    return f"{clock(since, found['zone'])}, {minutes(lasted)}" if lasted >= 60.0 else clock(since, found["zone"])


def longest(answer: Plain) -> str:
    """Return the longest recorded stops."""
    found = answer["review"]
    own = [found["events"][number] for number in found["hand_over"]["stops"]]
    rows = [(event_words(one, found["zone"]), minutes(one["end_s"] - one["start_s"])) for one in own]
    return markup(("longest stops", "lasted"), rows) if rows else nothing("No stop was recorded.")


def products(answer: Plain, units: Units) -> str:
    """Return the good output by product."""
    good = answer["review"]["hand_over"]["good"]
    rows = [(titled(name), amount_words(t * 1000.0, "kg", units)) for name, t in good[:PRODUCTS_SHOWN]]
    if len(good) > PRODUCTS_SHOWN:
        rest = sum(t for _, t in good[PRODUCTS_SHOWN:])
        rows.append((f"{len(good) - PRODUCTS_SHOWN} more", amount_words(rest * 1000.0, "kg", units)))
    return markup(("good output", "booked"), rows) if rows else nothing("Nothing was booked.")
