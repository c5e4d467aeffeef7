"""The two sentences on top of a review, and the line below them that holds the rest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

import numpy as np

from twin.indicators.verdict import Part, Verdict
from twin.study.review_answer import Expected, FirstSight, LogQuality, Rung
from twin.study.review_day import Day
from twin.words import MINUS, NO_BREAK, plain, share

MISSING_TOO_MUCH = 0.15
UNEXPLAINED_TOO_MUCH = 0.08
"""Of what was expected: with more than this unexplained, and more than all rungs together, no cause can be named."""
LEAST_SURE = 0.5
SURE_ENOUGH = 0.9
MOST_TIED = 2  # causes too near each other to be told apart are named both, three are not
WORTH_T = 1.0
WORTH_SHARE = 0.01
NUMBERS = ("two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def cannot_tell(
    quality: LogQuality, ladder: Sequence[Rung], unexplained: float, expected: float, sure: float | None
) -> str:
    """Return why the log cannot say which cause was the largest; nothing where it can."""
    if quality.missing >= MISSING_TOO_MUCH:
        return f"about {plain(100.0 * quality.missing)}{NO_BREAK}% of the standstills have no record"
    told = sum(abs(one.t) for one in ladder)
    if abs(unexplained) > UNEXPLAINED_TOO_MUCH * expected and abs(unexplained) > told:
        return f"{plain(abs(unexplained))}{NO_BREAK}t stay unexplained, more than all causes together"
    if sure is not None and sure < LEAST_SURE and ladder and len(largest_of(ladder)) > MOST_TIED:
        return "the largest causes are too near each other for this log"
    return ""


def largest_of(ladder: Sequence[Rung]) -> tuple[Rung, ...]:
    """Return the fewest rungs of which one is the largest cause in nine cases of ten, the likeliest first."""
    ranked = sorted(ladder, key=lambda one: -(one.largest or 0.0))
    chances = np.cumsum([one.largest or 0.0 for one in ranked])
    return tuple(ranked[: 1 + int(np.searchsorted(chances, SURE_ENOUGH))])


def largest_words(ladder: Sequence[Rung]) -> str:
    """Return which cause is the largest, or of which two it is one; nothing where that was not asked."""
    if not ladder or any(one.largest is None for one in ladder):
        return ""
    likely = largest_of(ladder)
    chance = sum(one.largest or 0.0 for one in likely)
    if len(likely) == MOST_TIED:
        first, second = (named(one) for one in likely)
        return f"The largest cause is one of these two, {first} or {second}: so in {share(chance)}"
    top = max(ladder, key=lambda one: abs(one.t))
    return f"The largest cause is {named(top)}: so in {share(top.largest or 0.0)}"


# The sentences on top


def opening(actual: float, expected: Expected, signal: bool) -> Iterator[Part]:
    """Yield the first sentence: whether the day was ordinary, what it gave and what was expected."""
    if nothing_asked(actual, expected):
        yield Part("Nothing was expected of this day, and nothing was made.")
        return
    yield Part(f"{'Not an' if signal else 'An'} ordinary day: ")
    yield Part(f"{plain(actual)}{NO_BREAK}t where {plain(expected.mean_t)} were expected", strong=True)
    yield Part(". ")


def nothing_asked(actual: float, expected: Expected) -> bool:
    """Tell whether nothing was to be made and nothing was."""
    return expected.high_t <= 0.0 and actual <= 0.0


def verdict(
    day: Day, first: FirstSight, ladder: Sequence[Rung], unexplained: float, why_not: str, morning: Rung
) -> Verdict:
    """Return the sentences gone on with, and the line below with what they leave out."""
    expected = first.expected
    if nothing_asked(first.actual_t, expected):
        return first.verdict
    gap = first.actual_t - expected.mean_t
    below = [first.verdict.sure, *_more(gap, ladder, why_not), *_morning(day, expected, morning)]
    if abs(unexplained) >= max(WORTH_T, WORTH_SHARE * expected.mean_t):
        sign = MINUS if unexplained < 0.0 else "+"
        below.append(f"{sign}{plain(abs(unexplained))}{NO_BREAK}t stay unexplained.")
    return Verdict((*first.verdict.parts, Part(_cause(gap, ladder, why_not))), " ".join(below))


def _cause(gap: float, ladder: Sequence[Rung], why_not: str) -> str:
    """Return the second sentence: the largest cause on the side on which the day lies, and how sure that is."""
    if why_not:
        return f"The largest cause cannot be told: {why_not}."
    ours = _ours(gap, ladder)
    if abs(gap) < WORTH_T or not ours:
        return "No single cause stands out."
    top = ours[0]
    if any(abs(one.t) > abs(top.t) for one in ladder):
        return f"Largest {'loss' if gap < 0.0 else 'gain'}: {_weighed(top)}."
    if any(one.largest is None for one in ladder):
        return f"Largest cause: {_weighed(top)}."
    likely = largest_of(ladder)
    if len(likely) != MOST_TIED or top not in likely:
        likely = (top,)
    chance = sum(one.largest or 0.0 for one in likely)
    return f"Largest cause: {' or '.join(_weighed(one) for one in likely)}; sure in {_percent(chance)}."


def _percent(chance: float) -> str:
    return f"over 99{NO_BREAK}%" if chance > 0.99 else share(chance)


def _ours(gap: float, ladder: Sequence[Rung]) -> list[Rung]:
    """Return the causes on the side of the gap that are worth a word, the largest first."""
    ours = sorted((one for one in ladder if one.t * gap > 0.0), key=lambda one: -abs(one.t))
    return [one for one in ours if abs(one.t) >= max(0.5, 0.1 * abs(gap))]


def _weighed(one: Rung) -> str:
    return f"{named(one)}, {plain(one.t, sign=True)}{NO_BREAK}t"


def named(one: Rung) -> str:
    """Return a cause with its station: mill stop at the mill."""
    return f"{one.cause} at the {one.station}" if one.station else one.cause


# The line below


def rarity(position: float, days: float) -> str:
    """Return how often such a day comes: `One day in seven is as low.`"""
    said = f"{one_in(days)} is as {'low' if position < 0.5 else 'high'}."
    return f"{said[0].upper()}{said[1:]}"


def one_in(days: float) -> str:
    """Return `one day in seven`."""
    count = round(days)
    if count <= 2:
        return "every second day"
    return f"one day in {NUMBERS[count - 2] if count - 2 < len(NUMBERS) else plain(count)}"


def _more(gap: float, ladder: Sequence[Rung], why_not: str) -> Iterator[str]:
    """Yield what the two largest causes explain together, where there are two."""
    ours = _ours(gap, ladder)[:2]
    if why_not or abs(gap) < WORTH_T or len(ours) < 2:
        return
    names = " and ".join(named(one) for one in ours)
    names, told = f"{names[0].upper()}{names[1:]}", abs(sum(one.t for one in ours))
    if told <= abs(gap) + 0.5:
        yield f"{names} explain {plain(told)} of the {plain(abs(gap))}{NO_BREAK}t."
        return
    back = "other causes gave part of it back" if gap < 0.0 else "other causes took part of it"
    yield f"{names} {'took' if gap < 0.0 else 'gave'} {plain(told)}{NO_BREAK}t, {back}."


def _morning(day: Day, expected: Expected, morning: Rung) -> Iterator[str]:
    """Yield what the state of the line in the morning gave or took, where it is worth a word and not mere luck."""
    if abs(morning.t) < max(WORTH_T, WORTH_SHARE * expected.mean_t) or morning.sample_low <= 0.0 <= morning.sample_high:
        return
    name = f"{datetime.fromtimestamp(day.begin, day.plant.time.tz):%A}"
    verb = "took" if morning.t < 0.0 else "gave"
    usual = f"A typical {name} gives {plain(expected.mean_t - morning.t)}{NO_BREAK}t"
    yield f"{usual}; the state of the line in the morning {verb} {plain(abs(morning.t))}."
