"""What is not known of an answer in sentences, numbers rounded alike. No drawing, no Dash."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from math import floor, log10
from typing import Any

from dashboard.doubt import half_of
from dashboard.parts.amounts import Units
from twin.words import NO_BREAK, PLUS_MINUS, places_for, plain, share

Plain = Mapping[str, Any]
TOO_FEW = "There are too few runs yet to tell luck from what is not known."
LEAST_RUNS_FOR_LEADS = 20
NEAR = (
    "In each row: the interval as it is and, within it, what would be left if that number were known exactly; a longer "
    "log comes near it. Shares are of the variance that comes from what is not known; below 5\u00a0% none is named."
)

MORE_THAN_ALL = " Each is found by itself from few plants, so together they may come to more than the whole."


def kinds(told: Plain) -> tuple[int, int, int]:
    """Return how many numbers there are, how many are measured and how many are not."""
    return told["numbers"], told["measured"], told["numbers"] - told["measured"]


def guess(told: Plain) -> str:
    """Return how far off a number may be that nobody measured."""
    return f"{share(told['guess'])} of its mean (one standard deviation)"


def rests(told: Plain) -> str:
    """Return what share of the numbers is measured, and what is taken for the others."""
    numbers, measured, rest = kinds(told)
    if not numbers:
        return "No number of this line is left to chance, so nothing is drawn."
    if not measured:
        return (
            f"None of the {numbers} numbers that a log can tell of is measured: the spread of each is a guess, "
            f"{guess(told)}. A log that is accepted into the plant puts what was seen in the place of the guess."
        )
    when = f", in records of {day(told['first'])} to {day(told['last'])}" if told["first"] else ""
    said = f"{measured} of {numbers} numbers that a log can tell of are measured ({share(measured / numbers)}){when}."
    if not rest:
        return said
    one = "One is" if rest == 1 else f"{rest} are"
    return f"{said} {one} assumed: the spread is a guess, {guess(told)}."


def day(iso: str) -> str:
    """Return a day as it is read: `11 Apr 2026`."""
    try:
        own = date.fromisoformat(iso)
    except ValueError:
        return iso
    return f"{own.day}{NO_BREAK}{own:%b}{NO_BREAK}{own.year}"


def sure(told: Plain | None) -> str:
    """Return what stands behind the line that says how sure an answer is, nothing with best estimates."""
    if told is None or not told["numbers"]:
        return ""
    numbers, measured, _ = kinds(told)
    if not measured:
        return f" Inputs are as uncertain as they are: none is measured, a spread of {share(told['guess'])} is a guess."
    return f" Inputs are as uncertain as they are: {measured} of {numbers} are measured."


def digits(half: float) -> int:
    """Return the decimals that leave two digits of a half-width: three of them are set side by side here."""
    return 1 - floor(log10(half)) if half > 0.0 else 0


def half(value: float, units: Units) -> str:
    """Return a half-width of t/week in the units of the page."""
    own = units.per_tonne * value
    return f"{PLUS_MINUS}{NO_BREAK}{plain(own, digits(own))}"


def both(told: Plain, units: Units) -> str:
    """Return the interval of the answer with its two parts."""
    parts, unit = told["split"], f"{units.mass}/week"
    if parts is None:
        return TOO_FEW if told["numbers"] else ""
    wide = half_of(parts["answer"])
    mean = plain(units.per_tonne * parts["answer"]["mean"], digits(units.per_tonne * wide), sign=bool(told["of"]))
    what = f"What {' + '.join(told['of'])} adds" if told["of"] else "What the line makes"
    own = units.per_tonne * wide
    finer = "" if digits(own) == places_for(own) else "to one digit more "
    answer = f"{what}, {finer}{mean}{NO_BREAK}{half(wide, units)}{NO_BREAK}{unit}, holds both errors"
    alone = half(half_of(parts["runs_only"]), units)
    said = f"{answer}: the luck of {told['runs']} runs, which alone would show {alone}, and what is not known."
    if parts["log_share"] == 0.0:
        return f"{said} All of the doubt seen is luck of the runs: more runs would narrow it."
    left = half(parts["endless_runs"], units)
    cure = "records of the plant" if parts["log_share"] > 0.5 else "more runs"
    return f"{said} However many runs, {left} would be left; {cure} would narrow it most."


def above_and_below(told: Plain, units: Units) -> tuple[str, str]:
    """Return the words at the two intervals: half-widths with what they hold."""
    parts, unit = told["split"], f"{units.mass}/week"
    wide = half_of(parts["answer"])
    outer = f"{half(wide, units)}{NO_BREAK}{unit} with what is not known"
    return outer, f"{half(half_of(parts['runs_only']), units)}{NO_BREAK}{unit} by the runs alone"


def parts_said(told: Plain) -> tuple[str, str]:
    """Return the two parts of the doubt as shares of its variance."""
    known = told["split"]["log_share"]
    return f"too little known: {part(known)}", f"too few runs: {part(1.0 - known)}"


def part(of_all: float) -> str:
    """Return a share in whole per cent, never none of what is there nor all where something else is there."""
    if 0.0 < of_all < 0.005:
        return f"under 1{NO_BREAK}%"
    return f"over 99{NO_BREAK}%" if 0.995 <= of_all < 1.0 else share(of_all)


def known_from(one: Plain) -> str:
    """Return what a number rests on: `measured, 23 values` or `assumed`."""
    return f"{one['how']}, {one['n']} values" if one["how"] == "measured" else str(one["how"])


def no_leads(told: Plain) -> str:
    """Return why no number is named."""
    if told["runs"] < LEAST_RUNS_FOR_LEADS:
        return f"Which number matters is told from {LEAST_RUNS_FOR_LEADS} runs on."
    return "No number by itself makes up 5\u00a0% of what is not known, as far as these runs tell."
