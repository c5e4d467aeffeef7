"""What a book of forecasts says of them: coverage, scores against naive forecasts, bias, spread, drift."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np

from twin.indicators.intervals import Interval
from twin.study.score import crps
from twin.study.scorebook import LEVELS, Scorebook, Settled
from twin.study.scoreclaims import (
    LOOKED,
    SURE,
    Claim,
    day_variance,
    days_for_difference,
    days_for_no_bias,
    days_to_place,
    days_to_tell,
    mean_of_days,
    share_interval,
)
from twin.study.watch import Watch, watch
from twin.words import chance, number, plain, share

RUNNING_DAYS = 60  # of the running coverage
RUNNING_FIRST = 20  # days before it is shown
FOUR_WEEKS = 20  # working days
NAIVE_FIRST = 5  # days before a mean or a sample of days is taken for a forecast
WITHIN = 0.03  # of the mean output: a bias that is small enough
FEW = 40  # days below which the book says in words only that they are few
CLAIM_FIRST = 20  # days before anything is claimed
SPREAD_FIRST = 8  # days before the spread is spoken of
WIDE, NARROW = 0.80, 0.90
"""A band that says nine of ten is told from one that holds eight of ten."""


@dataclass(frozen=True, slots=True)
class Coverage:
    """How many days ended inside a band.

    Attributes
    ----------
    name : "50 %", "80 %", "90 %" of the forecast, or "kept" for the band that keeps its share.
    asked : The share of days that should be inside.
    share, low, high : The share that was, and its 95 % interval.
    days : How many days.
    words : A sentence.
    """

    name: str
    asked: float
    share: float
    low: float
    high: float
    days: int
    words: str


@dataclass(frozen=True, slots=True)
class Naive:
    """A forecast that anyone can make, and how much better the model's are.

    Attributes
    ----------
    name : "same as yesterday", "mean of four weeks", "last 20 days".
    crps_t, own_t : Mean score of the naive forecasts and of the model's on the same days; less is better.
    skill, low, high : Share of the naive score that the model's spares, and its 95 % interval; None from too few days.
    days : How many days could be compared.
    words : A sentence.
    """

    name: str
    crps_t: float
    own_t: float
    skill: float
    low: float | None
    high: float | None
    days: int
    words: str


@dataclass(frozen=True, slots=True)
class Summary:
    """What the book says.

    Attributes
    ----------
    book : Name of the line.
    days : The days that were scored, by date, without those on which there was nothing to forecast.
    coverage : Of the three bands of the forecast, and of the band that keeps its share.
    running : Share of the last RUNNING_DAYS inside the 90 % band, after each day; None at first.
    running_kept : The same for the band that keeps its share.
    crps_t : Mean score; None without days.
    naives : Comparisons with naive forecasts.
    bias : Mean of actual less the forecast's mean [t], with its interval; None without days.
    spread : How much wider the days are spread than forecast, with its interval; 1 is right, None from too few days.
    watch : Whether something has changed for good.
    claims : What may be said, and what not yet.
    late : Days whose forecast was made after they had begun.
    broken : Number of an entry of the book that was changed; None if all seals hold.
    words : The book in a sentence or two.
    """

    book: str
    days: tuple[Settled, ...]
    coverage: tuple[Coverage, ...]
    running: tuple[float | None, ...]
    running_kept: tuple[float | None, ...]
    crps_t: float | None
    naives: tuple[Naive, ...]
    bias: Interval | None
    spread: Interval | None
    watch: Watch
    claims: tuple[Claim, ...]
    late: int
    broken: int | None
    words: str


def summary(book: Scorebook, *, in_time: bool = True) -> Summary:
    """Return what a book says of the forecasts made in time, or of those that came too late to count."""
    days = tuple(own for own in book.days(in_time) if not own.idle)
    late = sum(not own.idle for own in book.days(False))
    found = tuple(_coverages(days))
    naives = tuple(_naives(days, book.outcomes()))
    bias = mean_of_days([_error(own) for own in days]) if days else None
    changed = watch([own.position for own in days], days=[own.day for own in days])
    hits, kept = [own.inside[-1] for own in days], [own.inside_kept for own in days]
    claims = (
        _band_claim(days),
        _bias_claim(days),
        *(_skill_claim(days, book.outcomes(), name) for name in NAIVES),
    )
    broken = book.store.broken_seal(book.book)
    return Summary(
        book.book,
        days,
        found,
        _running(hits),
        _running(kept),
        float(np.mean([own.crps_t for own in days])) if days else None,
        naives,
        bias,
        _spread(days),
        changed,
        claims,
        late,
        broken,
        _words(days, found, naives, changed, late, broken),
    )


def _error(own: Settled) -> float:
    return own.actual_t - float(np.mean(own.frozen.forecast.sample_t))


# Coverage


def _coverages(days: Sequence[Settled]) -> list[Coverage]:
    if not days:
        return []
    found = [
        _coverage(f"{level:.0%}".replace("%", " %"), level, [own.inside[i] for own in days])
        for i, level in enumerate(LEVELS)
    ]
    return [*found, _coverage("kept", LEVELS[-1], [own.inside_kept for own in days])]


def _coverage(name: str, asked: float, hits: Sequence[bool]) -> Coverage:
    own = share_interval(sum(hits), len(hits))
    low, high = own.low or 0.0, own.high or 0.0
    which = f"the band for {share(asked)} of days" + (", moved so that it keeps its share," if name == "kept" else "")
    words = (
        f"{chance(sum(hits), len(hits))} days ended inside {which} ({share(own.mean)}, {share(low)} to {share(high)})."
    )
    return Coverage(name, asked, own.mean, low, high, len(hits), words)


def _running(hits: Sequence[bool]) -> tuple[float | None, ...]:
    last = [hits[max(0, i + 1 - RUNNING_DAYS) : i + 1] for i in range(len(hits))]
    return tuple(sum(own) / len(own) if len(own) >= RUNNING_FIRST else None for own in last)


def _spread(days: Sequence[Settled]) -> Interval | None:
    """Return the standard deviation of the normal scores with its chi-square interval; 1 is right."""
    if len(days) < SPREAD_FIRST:
        return None
    from scipy.special import chdtri, ndtri

    scores = ndtri([own.position for own in days])
    off, degrees = float(np.var(scores, ddof=1)) * (len(days) - 1), len(days) - 1
    low, high = (sqrt(off / float(chdtri(degrees, tail))) for tail in (0.025, 0.975))
    return Interval(sqrt(off / degrees), low, high)


# Naive forecasts


def _yesterday(before: Sequence[float], actual_t: float) -> float | None:
    return abs(actual_t - before[-1]) if before else None


def _mean_of_weeks(before: Sequence[float], actual_t: float) -> float | None:
    own = before[-FOUR_WEEKS:]
    return abs(actual_t - float(np.mean(own))) if len(own) >= NAIVE_FIRST else None


def _last_days(before: Sequence[float], actual_t: float) -> float | None:
    own = before[-FOUR_WEEKS:]
    return crps(own, actual_t) if len(own) >= NAIVE_FIRST else None


NAIVES: Mapping[str, Callable[[Sequence[float], float], float | None]] = {
    "same as yesterday": _yesterday,
    "mean of four weeks": _mean_of_weeks,
    f"last {FOUR_WEEKS} days": _last_days,
}


def _pairs(
    days: Sequence[Settled], outcomes: Mapping[str, float], name: str
) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Return the scores of the model and of a naive forecast on the days that both forecast."""
    idle = {own.day for own in days if own.idle}
    known = [(day, t) for day, t in outcomes.items() if t > 0.0 and day not in idle]
    own_t, naive_t = [], []
    for settled in days:
        score = NAIVES[name]([t for day, t in known if day < settled.day], settled.actual_t)
        if score is not None:
            own_t.append(settled.crps_t)
            naive_t.append(score)
    return np.array(own_t), np.array(naive_t)


def _naives(days: Sequence[Settled], outcomes: Mapping[str, float]) -> list[Naive]:
    return [_naive(name, *_pairs(days, outcomes, name)) for name in NAIVES if _pairs(days, outcomes, name)[0].size]


def _naive(name: str, own_t: np.ndarray[Any, Any], naive_t: np.ndarray[Any, Any]) -> Naive:
    """Compare scores day by day; the interval is that of a ratio of means, linearised."""
    own, other = float(own_t.mean()), float(naive_t.mean())
    ratio = own / other if other > 0.0 else 1.0
    off = mean_of_days((ratio * naive_t - own_t) / other) if other > 0.0 else Interval(0.0, None, None)
    half = off.half
    low, high = (None, None) if half is None else (1.0 - ratio - half, 1.0 - ratio + half)
    words = f"Against '{name}' the forecasts miss by {number(own, unit='t')} instead of {number(other, unit='t')}"
    words += "." if half is None else f": {share(abs(1.0 - ratio), half)} {'less' if ratio <= 1.0 else 'more'}."
    return Naive(name, other, own, 1.0 - ratio, low, high, own_t.size, words)


# Claims


def _band_claim(days: Sequence[Settled]) -> Claim:
    hits, count = sum(own.inside[-1] for own in days), len(days)
    what = "the band for nine days of ten holds what it says"
    needed = max(1, days_to_tell(NARROW, WIDE, level=LOOKED) - count)
    if count >= CLAIM_FIRST:
        own = share_interval(hits, count, SURE)
        if own.high is not None and own.high < NARROW:
            words = f"The forecasts are too narrow: {chance(hits, count)} days ended inside the band for nine of ten."
            return Claim("band", False, count, 0, words)
        if own.low is not None and own.low >= WIDE:
            words = f"{what[0].upper()}{what[1:]}: {chance(hits, count)} days ended inside."
            return Claim("band", True, count, 0, words)
        needed = max(needed, days_to_place(own.mean, WIDE, NARROW, SURE) - count)
    return Claim("band", None, count, needed, f"Whether {what} can be told {_after(needed)}.")


def _bias_claim(days: Sequence[Settled]) -> Claim:
    what = f"on average the forecasts are right to within {share(WITHIN)}"
    bias = mean_of_days([_error(own) for own in days], LOOKED) if days else None
    if bias is None or bias.low is None or bias.high is None or len(days) < CLAIM_FIRST:
        return Claim("bias", None, len(days), None, f"Whether {what} cannot be told from so few days.")
    within = WITHIN * float(np.mean([own.actual_t for own in days]))
    if max(abs(bias.low), abs(bias.high)) <= within:
        return Claim("bias", True, len(days), 0, f"{what[0].upper()}{what[1:]}.")
    if bias.low > within or bias.high < -within:
        less = "more" if bias.low > 0.0 else "less"
        words = f"The days give {number(abs(bias.mean), bias.half, 't')} {less} than forecast on average."
        return Claim("bias", False, len(days), 0, words)
    asked = days_for_no_bias(bias.mean, day_variance([_error(own) for own in days]), within, SURE)
    needed = None if asked is None else max(1, asked - len(days))
    return Claim("bias", None, len(days), needed, f"Whether {what} can be told {_after(needed)}.")


def _skill_claim(days: Sequence[Settled], outcomes: Mapping[str, float], name: str) -> Claim:
    own_t, naive_t = _pairs(days, outcomes, name)
    what = f"the forecasts are better than '{name}'"
    gain = naive_t - own_t
    found = mean_of_days(gain, LOOKED) if gain.size else None
    if found is None or found.low is None or found.high is None or gain.size < CLAIM_FIRST:
        return Claim(name, None, gain.size, None, f"Whether {what} cannot be told from so few days.")
    if found.low > 0.0:
        return Claim(name, True, gain.size, 0, f"{what[0].upper()}{what[1:]}.")
    if found.high < 0.0:
        return Claim(name, False, gain.size, 0, f"The forecasts are worse than '{name}'.")
    asked = days_for_difference(found.mean, day_variance(gain), SURE)
    needed = None if asked is None else max(1, asked - gain.size)
    return Claim(name, None, gain.size, needed, f"Whether {what} can be told {_after(needed)}.")


def _more(needed: int) -> str:
    return f"{plain(needed)} more day{'' if needed == 1 else 's'}"


def _days(count: int) -> str:
    return _more(count).replace(" more", "")


def _after(needed: int | None) -> str:
    return "no sooner than the days go otherwise" if needed is None else f"after about {_more(needed)}"


# The book in words


def _words(
    days: Sequence[Settled],
    found: Sequence[Coverage],
    naives: Sequence[Naive],
    changed: Watch,
    late: int,
    broken: int | None,
) -> str:
    if broken is not None:
        return f"Entry {broken} of the book was changed after it had been made: what follows cannot be trusted."
    if not days:
        more = f"; the forecasts of {_days(late)} came too late to count" if late else ""
        return f"No day is scored yet{more}."
    if len(days) < FEW:
        asked = plain(days_to_tell(NARROW, WIDE, level=LOOKED))
        few = "too few to say how good the forecasts are"
        return f"{_days(len(days))} scored so far: {few}; that takes about {asked}."
    said = found[len(LEVELS) - 1].words
    better = naives[0].words if naives else ""
    return " ".join(part for part in (said, better, changed.words if changed.state == "alarm" else "") if part)


def summary_json(told: Summary) -> dict[str, Any]:
    """Return the summary as it is written for other programs."""
    return {
        "passline": 1,
        "scenario": told.book,
        "verdict": told.words,
        "late": told.late,
        "broken": told.broken,
        "crps": told.crps_t,
        "days": [_day_json(own) for own in told.days],
        "coverage": [_named(own) for own in told.coverage],
        "running": list(told.running),
        "running_kept": list(told.running_kept),
        "naive": [_named(own) for own in told.naives],
        "bias": None if told.bias is None else told.bias._asdict() | {"unit": "t"},
        "spread": None if told.spread is None else told.spread._asdict() | {"unit": "1"},
        "watch": {
            "state": told.watch.state,
            "words": told.watch.words,
            "false_alarm_days": told.watch.false_alarm_days,
            "finds_in_days": told.watch.finds_in_days,
            "alarms": [_named(own) for own in told.watch.alarms],
        },
        "claims": [_named(own) for own in told.claims],
    }


def _named(own: Any) -> dict[str, Any]:  # noqa: ANN401  any of the small records of a summary
    return {name: getattr(own, name) for name in own.__slots__}


def _day_json(own: Settled) -> dict[str, Any]:
    return {
        "day": own.day,
        "actual": own.actual_t,
        "position": own.place.position,
        "words": own.place.words,
        "crps": own.crps_t,
        "inside": dict(zip((str(level) for level in LEVELS), own.inside, strict=True)),
        "inside_kept": own.inside_kept,
        "in_time": own.frozen.in_time,
        "number": own.frozen.number,
        "seal": own.frozen.seal,
        "version": own.frozen.version,
        "digest": own.frozen.forecast.digest,
        "seed": own.frozen.forecast.seed,
    }
