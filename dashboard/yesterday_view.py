"""A day as pieces of a page: headings, sentences, drawings as text. The page and the sheet of the shift use them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from dashboard.charts.day_band import DayAmong, day_among
from dashboard.charts.day_curve import DayCurve, curve_key, day_curve
from dashboard.charts.day_strips import DaySpan, DayStrip, Spell, day_strips
from dashboard.charts.ladder import Rung, ladder
from dashboard.charts.plant import titled
from dashboard.charts.states import MACHINE_STATES, UNKNOWN, legend
from dashboard.charts.svg import tag, words
from dashboard.parts.amounts import Units
from dashboard.parts.options_markup import markup
from dashboard.parts.options_view import Piece
from dashboard.yesterday_behind import book, days, hand_over, listed, nothing, worked
from dashboard.yesterday_words import (
    cause_words,
    changed,
    if_words,
    in_units,
    luck_words,
    record_words,
    short_day,
    sure_words,
    tonnes,
    where_words,
)
from twin.words import NO_BREAK

Plain = Mapping[str, Any]
RUNGS_SHOWN = 9
LEAST_RUNG_T = 0.05
LAST_DAYS = 20
MARK_H = 2
HOUR_S = 3600.0
CARE = (
    "This page names events and machines, never people; a day inside its range calls for no explanation from anyone. "
    "A stop that was shorter than planned is no success to be repeated: what rolls, knives, molten metal and cranes "
    "need takes its time, and local rules, the machine maker's manual and licensed people decide."
)


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
    note = f"Between the two ends nine days of ten end that begin as this one did.{luck_words(answer, units)}{rings}"
    return Piece("among", "An ordinary day?", note, (day_among(day, unit=units.mass, when=when),))


def nothing_asked(answer: Plain) -> bool:
    """Tell whether nothing was expected and nothing was made, as on a Sunday: then there is nothing to explain."""
    found = answer["review"]
    return not max(found["expected"]["high_t"], found["actual_t"]) > 0.0


REPLAY = ("replay", "model with all that was recorded")


def curve(answer: Plain, units: Units) -> Piece:
    """Return the good tonnes through the day in their fan, beside the replay once there is one."""
    note = (
        f"Good output as it was booked, in {units.mass} from the begin of the day, in the fan of what such days bring."
    )
    drawn = in_the_fan(answer, units, REPLAY, answer["review"]["fan"]["replay_t"])
    return Piece("curve", "Through the day", note, drawn, ("day-curve",))


def in_the_fan(
    answer: Plain,
    units: Units,
    called: tuple[str, str],
    beside: Sequence[float],
    name: str = "Good tonnes through the day",
) -> tuple[str, str]:
    """Return the day in its fan with a second line, called so in the drawing and so in its key; and the key."""
    found, per = answer["review"], units.per_tonne
    fan = found["fan"]
    scaled = [[value * per for value in row] for row in fan["quantiles_t"]]
    actual, second = ([value * per for value in values] for values in (fan["actual_t"], beside))
    mean = found["expected"]["mean_t"] * per
    day = DayCurve(fan["time_s"], scaled, actual, (called[0], second), mean, list(marks(found, every=3, fan=True)))
    return day_curve(day, unit=units.mass, name=name), curve_key(called[1] if second else "")


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
    morning = found.get("morning")
    state = [Rung("State of the line in the morning", "", morning["t"] * per)] if morning else []
    drawn = ladder(
        found["expected"]["mean_t"] * per,
        found["actual_t"] * per,
        rungs(answer, units),
        found["unexplained_t"] * per,
        before=state,
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
    if found["tells"] and found.get("largest"):
        never_all = found["largest"].replace(f"in 100{NO_BREAK}%", f"in over 99{NO_BREAK}%")
        said.append(f"{never_all} of logs that might just as well have been written.")
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
    return Piece("look", "Worth a look", "In this order, each with where it is written.", (listed(rows),))


def suspects(answer: Plain, units: Units) -> Piece:
    """Return the records that look wrong with what they may be worth."""
    found = answer["review"]["suspect"]
    rows = [
        (record_words(one), titled(in_units(one["what"], units)), tonnes(one["effect_t"], units, sign=True))
        for one in found
    ]
    note = "The largest effect first. Nothing is changed without you."
    drawn = markup(("where", "what", "effect"), rows, said=(0, 1)) if rows else nothing("No record looks wrong.")
    return Piece("suspects", "Records to look at", note, (drawn,), ("suspects",) if rows else ())


def ifs(answer: Plain, units: Units) -> Piece:
    """Return the day without some of its events."""
    found = answer["review"]
    rows = [
        (if_words(one, found["events"], found["zone"]), tonnes(one["made_t"], units), changed(one, units))
        for one in answer["ifs"]
    ]
    note = "The same day again with one event left out; everything else stays as recorded."
    heads = ("if", f"good {units.mass}", "against actual")
    drawn = markup(heads, rows) if rows else nothing("No event of a quarter of an hour or more was recorded.")
    return Piece("ifs", "And if …", note, (drawn,), ("what-if",) if rows else ())


def if_so(answer: Plain, tried: Plain, units: Units) -> tuple[str, str]:
    """Return the day with one event otherwise beside the day itself, in the same fan, and the key."""
    return in_the_fan(
        answer, units, ("if so", "if that had been so"), tried["curve_t"], "The day with one event otherwise"
    )


def explained(answer: Plain) -> bool:
    """Tell whether the causes of the day are worked out, and are not only to come."""
    return bool(answer.get("explained", True))


def pieces(answer: Plain, units: Units) -> list[Piece]:
    """Return all pieces in the order of the page; those that have nothing to show, or not yet, are left out."""
    idle = nothing_asked(answer)
    causes = explained(answer) and not idle
    made = [
        None if idle else among(answer, units),
        None if idle else curve(answer, units),
        look_at(answer, units) if explained(answer) else None,
        climb(answer, units) if causes else None,
        strips(answer),
        suspects(answer, units),
        ifs(answer, units) if causes else None,
        days(answer, units),
        book(answer, units),
        hand_over(answer, units),
    ]
    return [piece for piece in made if piece is not None]
