"""What in a log does not look like chance alone: trends, weekdays, shifts, runs of long or short ones, in sentences.

Many questions are asked of one log, so each is asked more sharply the more there are (S. Holm, Scandinavian Journal of
Statistics 6 (1979) 65-70): of all sentences together at most one log in twenty says something that is not so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import sqrt
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from twin.logs.hours import Hours
from twin.study.fitresult import Cause
from twin.study.fitsamples import Records

FloatArray = NDArray[np.float64]
LEVEL = 0.05
LEAST_EVENTS = 20
LEAST_EXPECTED = 3.0
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
WATCHES = ("06:00 to 14:00", "14:00 to 22:00", "22:00 to 06:00")
WATCH_H = 8
HALF_HOUR_S = 1800.0
LEAST_VARIATION = 0.1


@dataclass(frozen=True)
class Doubt:
    """Something that would be odd if only chance were at work: how odd, and what to say then."""

    chance: float
    words: str


def notes(records: Records, causes: Iterable[Cause]) -> tuple[str, ...]:
    """Return what does not look like chance, the oddest first; what was inferred is said too."""
    causes = list(causes)
    doubts = [one for cause in causes for one in _doubts(records, cause)]
    said = [one.words for one in holm(doubts)]
    said += [_inferred(one) for one in causes if one.sample.inferred_share > 0.0]
    return tuple(said)


def holm(doubts: Sequence[Doubt], level: float = LEVEL) -> list[Doubt]:
    """Return those that are too odd for chance, so that with this level at most one of all is wrongly said."""
    ranked = sorted(doubts, key=lambda one: one.chance)
    kept = []
    for place, one in enumerate(ranked):
        if one.chance > level / (len(ranked) - place):
            break
        kept.append(one)
    return kept


def _doubts(records: Records, cause: Cause) -> Iterator[Doubt]:
    if cause.n < LEAST_EVENTS:
        return
    what = f"{cause.station}, {cause.called}"
    if cause.what == "every":
        yield from _rates(records, cause, what)
    else:
        yield from _lengths(records, cause, what)
    yield _following(cause, what)


def _rates(records: Records, cause: Cause, what: str) -> Iterator[Doubt]:
    """Ask whether failures come more often with time, on some weekday, in some shift; by what wore the machine then."""
    passed = records.passed(cause.station, cause.reason)
    starts = np.concatenate(
        [records.stops(cause.station, machine, cause.reason).start for machine in records.machines(cause.station)]
    )
    total = sum(float(one(np.array([records.span[1]]))[0]) for one in passed)
    if total <= 0.0:
        return
    ages = sum(one(starts) for one in passed) / total
    cv = variation(cause.sample.values)
    yield laplace(np.asarray(ages), f"{what}: it comes more and more", f"{what}: it comes less and less", cv)
    for kind, names in (("day", DAYS), ("watch", WATCHES)):
        places = _places(starts, kind, records)
        share = np.zeros(len(names))
        for one in passed:
            spells = _cut(one.running)
            middle = (spells.starts + spells.ends) / 2.0
            np.add.at(share, _places(middle, kind, records), one(spells.ends) - one(spells.starts))
        yield from uneven(np.bincount(places, minlength=len(names)).astype(float), share / share.sum(), names, what, cv)


def _cut(hours: Hours) -> Hours:
    """Return spells cut at each half hour, so that none lies in two shifts or days."""
    first = np.floor(hours.starts[0] / HALF_HOUR_S) * HALF_HOUR_S
    marks = np.arange(first, hours.ends[-1], HALF_HOUR_S)
    edges = np.unique(np.concatenate([hours.starts, hours.ends, marks]))
    keep = hours.is_open((edges[1:] + edges[:-1]) / 2.0)
    return Hours(edges[:-1][keep], edges[1:][keep])


def _lengths(records: Records, cause: Cause, what: str) -> Iterator[Doubt]:
    """Ask whether it takes longer with time, on some weekday, in some shift."""
    values, at = cause.sample.values, cause.sample.at
    rank = spearman(at, values)
    later = "longer" if rank[0] > 0 else "shorter"
    yield Doubt(rank[1], f"{what}: it takes {later} as time goes on (rank correlation {rank[0]:+.2f})")
    for kind, names in (("day", DAYS), ("watch", WATCHES)):
        yield from kruskal(values, _places(at, kind, records), names, what)


def _places(times: FloatArray, kind: str, records: Records) -> NDArray[np.int64]:
    zone = ZoneInfo(records.scenario.time.zone)
    local = [datetime.fromtimestamp(float(at), zone) for at in times]
    if kind == "day":
        return np.array([one.weekday() for one in local], dtype=np.int64)
    return np.array([(one.hour - 6) % 24 // WATCH_H for one in local], dtype=np.int64)


def variation(gaps: FloatArray) -> float:
    """Return the coefficient of variation of the gaps between events; 1 where chance alone brings them. [1]"""
    return max(float(gaps.std(ddof=1) / gaps.mean()), LEAST_VARIATION)


def laplace(ages: FloatArray, more: str, less: str, cv: float = 1.0) -> Doubt:
    """Ask whether events crowd to one end: the mean of ages [shares of all that passed] against one half.

    The test of P. S. Laplace (1773), as in D. R. Cox and P. A. W. Lewis, The Statistical Analysis of Series of Events
    (1966); gaps that scatter otherwise than by chance alone are allowed for by their variation (P. A. W. Lewis and
    D. W. Robinson, 1974, from memory).
    """
    from scipy.special import ndtr

    normal = (float(ages.mean()) - 0.5) * sqrt(12.0 * len(ages)) / cv
    return Doubt(2.0 * float(ndtr(-abs(normal))), f"{more if normal > 0 else less} (Laplace's test, {normal:+.1f})")


def uneven(counts: FloatArray, shares: FloatArray, names: Sequence[str], what: str, cv: float = 1.0) -> Iterator[Doubt]:
    """Ask whether events are spread as what ran is (Pearson's chi-square); name the place that is farthest off.

    Events that come in bunches (variation above 1) scatter more than chance alone makes them.
    """
    from scipy.special import chdtrc

    keep = shares * counts.sum() >= LEAST_EXPECTED
    if keep.sum() < 2:
        return
    seen, wanted = counts[keep], shares[keep] / shares[keep].sum() * counts[keep].sum()
    distance = float(((seen - wanted) ** 2 / wanted).sum())
    worst = int(np.argmax((seen - wanted) ** 2 / wanted))
    name = [one for one, kept in zip(names, keep, strict=True) if kept][worst]
    words = f"{what}: {name} differs: {seen[worst]:.0f} where {wanted[worst]:.0f} are due"
    yield Doubt(float(chdtrc(float(keep.sum() - 1), distance / max(cv, 1.0) ** 2)), words)


def kruskal(values: FloatArray, places: NDArray[np.int64], names: Sequence[str], what: str) -> Iterator[Doubt]:
    """Ask whether values are alike at all places.

    The rank test of W. H. Kruskal and W. A. Wallis, Journal of the American Statistical Association 47 (1952).
    """
    from scipy.special import chdtrc

    groups = {place: values[places == place] for place in sorted(set(places.tolist()))}
    groups = {place: own for place, own in groups.items() if len(own) >= LEAST_EXPECTED}
    if len(groups) < 2 or np.ptp(values) == 0.0:
        return
    centre = np.median if np.median(values) > 0.0 else np.mean  # of times in coarse steps half may be nothing
    middle = float(centre(values))
    worst = max(groups, key=lambda place: abs(float(centre(groups[place])) - middle) * sqrt(len(groups[place])))
    off = float(centre(groups[worst])) / middle - 1.0
    words = f"{what}: {names[worst]} differs: it takes {abs(off):.0%} {'longer' if off > 0 else 'shorter'} than usual"
    joint = np.concatenate(list(groups.values()))
    ranked, (_, ties) = ranks(joint), np.unique(joint, return_counts=True)
    ends = np.cumsum([len(own) for own in groups.values()])
    squares = sum(float(own.sum()) ** 2 / len(own) for own in np.split(ranked, ends[:-1]))
    count = len(joint)
    distance = 12.0 / (count * (count + 1.0)) * squares - 3.0 * (count + 1.0)
    tied = 1.0 - float((ties.astype(float) ** 3 - ties).sum()) / (float(count) ** 3 - count)
    yield Doubt(float(chdtrc(float(len(groups) - 1), distance / tied)), words)


def _following(cause: Cause, what: str) -> Doubt:
    """Ask whether a long one tends to follow a long one."""
    values = cause.sample.values
    rank = spearman(values[:-1], values[1:])
    near = "alike" if rank[0] > 0 else "unlike"
    noun = "gaps between stops" if cause.what == "every" else "times"
    return Doubt(rank[1], f"{what}: {noun} that follow each other are {near} (rank correlation {rank[0]:+.2f})")


def spearman(first: FloatArray, second: FloatArray) -> tuple[float, float]:
    """Return the rank correlation and the chance of one as far from none (C. Spearman, 1904)."""
    from scipy.special import stdtr

    if np.ptp(first) == 0.0 or np.ptp(second) == 0.0:
        return 0.0, 1.0
    degrees = len(first) - 2.0
    found = min(max(float(np.corrcoef(ranks(first), ranks(second))[0, 1]), -1.0), 1.0)
    distance = abs(found) * sqrt(degrees / max(1.0 - found * found, 1e-300))
    return found, 2.0 * float(stdtr(degrees, -distance))


def ranks(values: FloatArray) -> FloatArray:
    """Return the place of each value in their order, from 1; equal ones share the mean of their places."""
    _, place, count = np.unique(values, return_inverse=True, return_counts=True)
    last = np.cumsum(count)
    return np.asarray((last - (count - 1) / 2.0)[place])


def _inferred(one: Cause) -> str:
    share = one.sample.inferred_share
    return f"{one.station}, {one.called}: {share:.0%} of the records were mended and are left out of how long it takes"
