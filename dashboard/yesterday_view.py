"""A day as pieces of a page: headings, sentences, drawings as text. The page and the sheet of the shift use them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from dashboard.charts.day_band import DayAmong, day_among
from dashboard.charts.day_curve import DayCurve, curve_key, day_curve
from dashboard.charts.day_strips import DaySpan, DayStrip, Spell, day_strips
from dashboard.charts.days import DayBar, day_bars
from dashboard.charts.drawn import DrawnRow, drawn_table, scale_for
from dashboard.charts.ladder import Rung, ladder
from dashboard.charts.plant import titled
from dashboard.charts.states import MACHINE_STATES, UNKNOWN, legend
from dashboard.charts.svg import tag, words
from dashboard.parts.amounts import Units
from dashboard.parts.options_markup import markup
from dashboard.parts.options_view import Piece
from dashboard.yesterday_words import (
    amount_words,
    cause_words,
    changed,
    clock,
    event_words,
    if_words,
    in_units,
    long_day,
    minutes,
    record_words,
    rolls_words,
    short_day,
    store_words,
    sure_words,
    tonnes,
    where_words,
)
from twin.words import NO_BREAK, plain

Plain = Mapping[str, Any]
RUNGS_SHOWN = 9
LEAST_RUNG_T = 0.05
LAST_DAYS, BARS = 20, 7
PRODUCTS_SHOWN = 9
MARK_H = 2
HOUR_S = 3600.0
CARE = (
    "This page names events and machines, never people; a day inside its range calls for no explanation from anyone. "
    "A stop that was shorter than planned is no success to be repeated: what rolls, knives, molten metal and cranes "
    "need takes its time, and local rules, the machine maker's manual and licensed people decide."
)
LOOKED_BACK = (
    "These forecasts were made looking back, each from its morning's records alone: they show what the model is worth, "
    "and count as no promise."
)
BANDS = {"50 %": "one day of two", "80 %": "four days of five", "90 %": "nine days of ten"}


def among(answer: Plain, units: Units) -> Piece:
    """Return the day among the last ones, in the band in which nine such days of ten end."""
    found, per = answer["review"], units.per_tonne
    expected = found["expected"]
    mean = expected["mean_t"] * per
    before = [one for one in worked(answer) if one["day"] < answer["day"]][-LAST_DAYS:]
    off = [mean + (one["actual_t"] - one["mean_t"]) * per for one in before]
    day = DayAmong(found["actual_t"] * per, mean, (expected["low_t"] * per, expected["high_t"] * per), off)
    last = answer["days"] and answer["day"] == answer["days"][-1]
    when = "yesterday" if last else f"{short_day(answer['day'])}:"
    rings = f" Rings: how far the {len(before)} days before were from what was forecast of them." if before else ""
    note = f"Between the two ends nine days of ten end that begin as this one did.{rings}"
    return Piece("among", "An ordinary day?", note, (day_among(day, unit=units.mass, when=when),))


def nothing_asked(answer: Plain) -> bool:
    """Tell whether nothing was expected and nothing was made, as on a Sunday: then there is nothing to explain."""
    found = answer["review"]
    return not max(found["expected"]["high_t"], found["actual_t"]) > 0.0


def worked(answer: Plain) -> list[Plain]:
    """Return the last days on which anything was expected or made."""
    return [one for one in answer["past"] if max(one["actual_t"], one["high_t"]) > LEAST_RUNG_T]


def curve(answer: Plain, units: Units) -> Piece:
    """Return the good tonnes through the day in their fan."""
    found, per = answer["review"], units.per_tonne
    fan = found["fan"]
    scaled = [[value * per for value in row] for row in fan["quantiles_t"]]
    actual, replay = ([value * per for value in fan[name]] for name in ("actual_t", "replay_t"))
    mean = found["expected"]["mean_t"] * per
    day = DayCurve(fan["time_s"], scaled, actual, replay, mean, list(marks(found, every=3, fan=True)))
    note = (
        f"Good output as it was booked, in {units.mass} from the begin of the day, in the fan of what such days bring."
    )
    return Piece("curve", "Through the day", note, (day_curve(day, unit=units.mass), curve_key()), ("day-curve",))


def marks(found: Plain, *, every: int = MARK_H, fan: bool = False) -> Iterator[tuple[float, str]]:
    """Yield every few hours of the day with the time of day: seconds from its begin, or since 1970 for the fan."""
    begin, end = found["begin_s"], found["end_s"]
    zone = ZoneInfo(found["zone"])
    moment = begin
    while moment <= end + 1.0:
        yield moment if fan else moment - begin, f"{datetime.fromtimestamp(moment, zone):%H:%M}"
        moment += every * HOUR_S


def rungs(answer: Plain, units: Units) -> list[Rung]:
    """Return the causes as rungs, the smallest put together."""
    found, per = answer["review"], units.per_tonne
    large = [one for one in found["ladder"] if abs(one["t"]) >= LEAST_RUNG_T]
    shown = sorted(large, key=lambda one: -abs(one["t"]))[:RUNGS_SHOWN]
    made = [
        Rung(
            cause_words(one, found["events"], found["zone"]),
            where_words(one),
            one["t"] * per,
            one["low"] * per,
            one["high"] * per,
            one["record"],
            sure_words(one["sure"], tells=found["tells"]),
        )
        for one in shown
    ]
    rest = [one for one in found["ladder"] if one not in shown]
    left = sum(one["t"] for one in rest)
    if rest and abs(left) > 1e-9:
        causes = "one smaller cause" if len(rest) == 1 else f"{len(rest)} smaller causes"
        made.append(Rung(titled(causes), "", left * per))
    return made


def climb(answer: Plain, units: Units) -> Piece:
    """Return the ladder from expected to actual."""
    found, per = answer["review"], units.per_tonne
    booking = found["booking"]
    after = [Rung("Made on another day", "booked in this one", booking["t"] * per)] if booking else []
    drawn = ladder(
        found["expected"]["mean_t"] * per,
        found["actual_t"] * per,
        rungs(answer, units),
        found["unexplained_t"] * per,
        after=after,
        unit=units.mass,
        notes=("on the day's calendar and plan", "the model with all that was recorded", "good output booked"),
    )
    return Piece("ladder", "From expected to actual", ladder_note(found), (drawn,), ("causes", "events"))


def ladder_note(found: Plain) -> str:
    """Return what has to be said before any cause is looked at."""
    said = []
    if not found["signal"]:
        said.append("The day was ordinary: causes like these come and go on such days.")
    if not found["tells"]:
        said.append(f"Which cause was the largest cannot be told: {found['why_not']}.")
    said.append("The rungs add up exactly. Filled: lost; open: gained; hatched: nobody can explain it yet.")
    said.append("The thin whisker shows how far a rung moves when causes are counted in another order.")
    if found["tells"] and found["top_sure"] is not None:
        said.append(
            f"The largest is the largest with {sure_words(found['top_sure'], tells=True)} certainty, "
            "given the quality of the log."
        )
    return " ".join(said)


def strips(answer: Plain) -> Piece:
    """Return the recorded day above the model's typical one."""
    found = answer["review"]
    typical = {(one["station"], one["machine"]): one["spells"] for one in found["typical"]}
    several = [one["station"] for one in found["recorded"]]
    rows = []
    for one in found["recorded"]:
        number = f" {one['machine']}" if several.count(one["station"]) > 1 else ""
        other = typical.get((one["station"], one["machine"]), [])
        pair = (list(_spells(found, spells)) for spells in (one["spells"], other))
        rows.append(DayStrip(titled(one["station"]) + number, *pair))
    span = DaySpan(found["end_s"] - found["begin_s"], list(marks(found)))
    note = (
        "Upper strip: as recorded. Thin strip: the model on a typical day that begins as this one did. "
        "“?”: nobody wrote anything down."
    )
    key = legend((*MACHINE_STATES, UNKNOWN), key="day-key", slowed=False, limits=False)
    return Piece("strips", "The day, recorded and modelled", note, (day_strips(rows, span), key), ("day-states",))


def _spells(found: Plain, spells: Sequence[Plain]) -> Iterator[Spell]:
    begin = found["begin_s"]
    for one in spells:
        yield Spell(one["state"], max(0.0, one["start_s"] - begin), min(found["end_s"], one["end_s"]) - begin)


def look_at(answer: Plain, units: Units) -> Piece | None:
    """Return at most three things to look at, each with its evidence."""
    found = answer["review"]["look_at"]
    if not found:
        return None
    rows = "".join(
        tag("li", words(in_units(one["words"], units)), tag("span", words(titled(one["evidence"])), class_="evidence"))
        for one in found
    )
    return Piece("look", "Worth a look", "In this order, each with where it is written.", (_list(rows),))


def _list(rows: str) -> str:
    return tag("ul", rows, class_="day-look")


def suspects(answer: Plain, units: Units) -> Piece:
    """Return the records that look wrong with what they may be worth."""
    found = answer["review"]["suspect"]
    rows = [
        (record_words(one), titled(in_units(one["what"], units)), tonnes(one["effect_t"], units, sign=True))
        for one in found
    ]
    note = "The largest effect first. Nothing is changed without you."
    drawn = markup(("where", "what", "effect"), rows, said=(0, 1)) if rows else _nothing("No record looks wrong.")
    return Piece("suspects", "Records to look at", note, (drawn,), ("suspects",) if rows else ())


def _nothing(said: str) -> str:
    return tag("p", words(said), class_="pl-said")


def ifs(answer: Plain, units: Units) -> Piece:
    """Return the day without some of its events."""
    found = answer["review"]
    rows = [
        (if_words(one, found["events"], found["zone"]), tonnes(one["made_t"], units), changed(one, units))
        for one in answer["ifs"]
    ]
    note = "The same day again with one event left out; everything else stays as recorded."
    heads = ("if", f"good {units.mass}", "against actual")
    drawn = markup(heads, rows) if rows else _nothing("No event of a quarter of an hour or more was recorded.")
    return Piece("ifs", "And if …", note, (drawn,), ("what-if",) if rows else ())


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
    return Piece("book", "How good the forecasts are", note, (drawn, _list(claims), _nothing(said)), ("forecasts",))


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
    table = markup(("at the end of the day", "there is", ""), rows, said=(0, 1, 2))
    note = f"At {clock(found['end_s'], found['zone'])} after {long_day(answer['day'])}."
    return Piece("handover", "For the next shift", note, (table, standing(answer)), ("hand-over",))


def _counted(store: Plain) -> str:
    return "as recorded" if store["recorded"] else "as the model has it"


def standing(answer: Plain) -> str:
    """Return the machines that stand at the end of the day."""
    found = answer["review"]
    own = found["hand_over"]["standing"]
    if not own:
        return _nothing("No machine stands.")
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
    return markup(("longest stops", "lasted"), rows) if rows else _nothing("No stop was recorded.")


def products(answer: Plain, units: Units) -> str:
    """Return the good output by product."""
    good = answer["review"]["hand_over"]["good"]
    rows = [(titled(name), amount_words(t * 1000.0, "kg", units)) for name, t in good[:PRODUCTS_SHOWN]]
    if len(good) > PRODUCTS_SHOWN:
        rest = sum(t for _, t in good[PRODUCTS_SHOWN:])
        rows.append((f"{len(good) - PRODUCTS_SHOWN} more", amount_words(rest * 1000.0, "kg", units)))
    return markup(("good output", "booked"), rows) if rows else _nothing("Nothing was booked.")


def pieces(answer: Plain, units: Units) -> list[Piece]:
    """Return all pieces in the order of the page; those that have nothing to show are left out."""
    idle = nothing_asked(answer)
    made = [
        None if idle else among(answer, units),
        None if idle else curve(answer, units),
        look_at(answer, units),
        None if idle else climb(answer, units),
        strips(answer),
        suspects(answer, units),
        None if idle else ifs(answer, units),
        days(answer, units),
        book(answer, units),
        hand_over(answer, units),
    ]
    return [piece for piece in made if piece is not None]
