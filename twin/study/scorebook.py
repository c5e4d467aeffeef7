"""The book of forecasts: each frozen before its day, and scored after it.

Whatever is entered stays (`twin.store`). A forecast that was made after its day had begun is marked and does not count;
of several made in time the last counts. What is said of the forecasts is worked out anew from the entries.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np

from twin.store import Entry, Store
from twin.study.score import Place, band, crps, place, position_of
from twin.study.scoreband import band_at, kept_after, score_of

FORECAST, OUTCOME = "forecast", "outcome"
LEAST_RUNS = 19
"""Fewer runs have no band in which nine days of ten end."""
SAME_T = 5e-7  # outcomes nearer to each other than half a gram are one
LEVELS = (0.5, 0.8, 0.9)
NEAR = 0.01
"""Share of a day's output within which runs are like it: twice what a replay misses even of a clean log (one sd)."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """What is said of a day beforehand.

    Attributes
    ----------
    day : Date on which the production day begins, "2026-03-03".
    begin_s, end_s : The production day. [s since 1970 UTC]
    sample_t : Good tonnes of the day in each run.
    digest, seed : Of the scenario with which the runs were made, and their seed.
    until_s : Until when records were known. [s since 1970 UTC]
    inputs : "best" or "uncertain": whether the inputs were varied from run to run.
    """

    day: str
    begin_s: float
    end_s: float
    sample_t: tuple[float, ...]
    digest: str
    seed: int
    until_s: float
    inputs: str = "best"


@dataclass(frozen=True, slots=True)
class Frozen:
    """A forecast as it stands in the book.

    Attributes
    ----------
    made_s, version : When it was entered [s since 1970 UTC], and by which version of passline.
    in_time : Whether that was before the day began; else it does not count.
    number, seal : Of the entry.
    band_t : The band that keeps its share in the long run, as it stood on that day.
    """

    forecast: Forecast
    made_s: float
    version: str
    in_time: bool
    number: int
    seal: str
    band_t: tuple[float, float]

    @property
    def quantiles_t(self) -> tuple[float, ...]:
        """Return the 5, 25, 50, 75 and 95 % quantiles of the runs."""
        found = np.quantile(self.forecast.sample_t, (0.05, 0.25, 0.5, 0.75, 0.95), method="weibull")
        return tuple(float(t) for t in found)


@dataclass(frozen=True, slots=True)
class Settled:
    """A day that was forecast and is over.

    Attributes
    ----------
    place : Where the day lies in its forecast, in words.
    position : The same for statistics: ties, and runs within NEAR of the day, are broken by a toss that the seal of the
        forecast decides.
    crps_t : The score of the forecast; less is better.
    inside : For each of LEVELS whether the day lies in that band of the forecast.
    inside_kept : Whether it lies in the band that keeps its share.
    corrected : How often the outcome was changed after it had been entered first.
    """

    day: str
    actual_t: float
    frozen: Frozen
    place: Place
    position: float
    crps_t: float
    inside: tuple[bool, ...]
    inside_kept: bool
    corrected: int

    @property
    def idle(self) -> bool:
        """Return whether there was nothing to forecast: all runs give the same, and so did the day."""
        return self.place.ties == self.place.runs


class Scorebook:
    """The book of one line."""

    def __init__(self, store: Store, book: str, *, now: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self.store = store
        self.book = book
        self._now = now

    def freeze(self, forecast: Forecast) -> Frozen:
        """Enter a forecast; it stays as it is, whatever is entered later.

        Raises
        ------
        ValueError : It has too few runs.
        """
        if len(forecast.sample_t) < LEAST_RUNS:
            raise ValueError(
                f"the forecast of {forecast.day} has {len(forecast.sample_t)} runs, but a band in which nine days of "
                f"ten end needs at least {LEAST_RUNS}: make more runs"
            )
        before = [own for own in self._over() if own[0].forecast.day < forecast.day]
        kept = kept_after(_learnt(*own) for own in before)
        body = {
            "begin_s": forecast.begin_s,
            "end_s": forecast.end_s,
            "sample_t": list(forecast.sample_t),
            "digest": forecast.digest,
            "seed": forecast.seed,
            "until_s": forecast.until_s,
            "inputs": forecast.inputs,
            "band_t": list(band_at(forecast.sample_t, kept.ends)),
        }
        return _frozen(self.store.add(self.book, FORECAST, forecast.day, body, made=self._now()))

    def settle(self, day: str, actual_t: float, source: str = "") -> Settled | None:
        """Enter what a day gave [t] and return its score; None where no forecast of it stands in the book.

        An outcome that differs from the one before is entered as a correction and holds from then on. `source` says
        where it comes from, such as the digest of the log.
        """
        known = self.store.book(self.book, OUTCOME, day)
        if not known or abs(known[-1].body["actual_t"] - actual_t) > SAME_T:
            body = {"actual_t": float(actual_t), "source": source}
            known.append(self.store.add(self.book, OUTCOME, day, body, made=self._now()))
        frozen = self.frozen(day)
        return None if frozen is None else _settled(frozen, known)

    def frozen(self, day: str) -> Frozen | None:
        """Return the forecast of a day that counts, else the last that was made of it."""
        return _counting(self.made(day))

    def made(self, day: str) -> tuple[Frozen, ...]:
        """Return all forecasts that were made of a day, oldest first."""
        return tuple(_frozen(entry) for entry in self.store.book(self.book, FORECAST, day))

    def days(self, in_time: bool | None = True) -> tuple[Settled, ...]:
        """Return the days that are scored, by date: those that count, those that do not (False), or all (None)."""
        over = self._over()
        return tuple(_settled(*own) for own in over if in_time in (None, own[0].in_time))

    def _over(self) -> list[tuple[Frozen, list[Entry]]]:
        """Return the days that are over, each with the forecast that counts, by date."""
        forecasts, outcomes = self._entries()
        days = sorted(set(forecasts) & set(outcomes))
        counting = [(_counting([_frozen(entry) for entry in forecasts[day]]), outcomes[day]) for day in days]
        return [(frozen, known) for frozen, known in counting if frozen is not None]

    def outcomes(self) -> dict[str, float]:
        """Return what each day gave that was entered [t], by date, forecast or not."""
        _, outcomes = self._entries()
        return {day: float(outcomes[day][-1].body["actual_t"]) for day in sorted(outcomes)}

    def waiting(self) -> tuple[Frozen, ...]:
        """Return the forecasts of days whose outcome is not known yet, by date."""
        forecasts, outcomes = self._entries()
        found = (
            _counting([_frozen(entry) for entry in forecasts[day]]) for day in sorted(set(forecasts) - set(outcomes))
        )
        return tuple(frozen for frozen in found if frozen is not None)

    def _entries(self) -> tuple[dict[str, list[Entry]], dict[str, list[Entry]]]:
        kinds: dict[str, dict[str, list[Entry]]] = {FORECAST: {}, OUTCOME: {}}
        for entry in self.store.book(self.book):
            kinds[entry.kind].setdefault(entry.day, []).append(entry)
        return kinds[FORECAST], kinds[OUTCOME]


def _learnt(frozen: Frozen, outcomes: Sequence[Entry]) -> tuple[tuple[float, float], float, float]:
    """Return what a day says of the bands to come: the band that was said for it, what came, its normal score."""
    actual_t, sample_t = float(outcomes[-1].body["actual_t"]), frozen.forecast.sample_t
    return frozen.band_t, actual_t, score_of(position_of(sample_t, actual_t, _toss(frozen), NEAR), len(sample_t))


def _toss(frozen: Frozen) -> float:
    """Return a number from 0 to 1 that the seal of a forecast decides."""
    return int(frozen.seal[:13], 16) / 16.0**13


def _counting(made: Sequence[Frozen]) -> Frozen | None:
    """Return the last that was made in time, else the last."""
    return next((own for own in reversed(made) if own.in_time), made[-1] if made else None)


def _frozen(entry: Entry) -> Frozen:
    known: Mapping[str, Any] = entry.body
    forecast = Forecast(
        entry.day,
        known["begin_s"],
        known["end_s"],
        tuple(known["sample_t"]),
        known["digest"],
        known["seed"],
        known["until_s"],
        known["inputs"],
    )
    made_s, (low, high) = entry.made.timestamp(), known["band_t"]
    in_time = made_s < forecast.begin_s
    return Frozen(forecast, made_s, entry.version, in_time, entry.number, entry.seal, (low, high))


def _settled(frozen: Frozen, outcomes: Sequence[Entry]) -> Settled:
    actual_t, sample_t = float(outcomes[-1].body["actual_t"]), frozen.forecast.sample_t
    ends = [band(sample_t, level) for level in LEVELS]
    return Settled(
        frozen.forecast.day,
        actual_t,
        frozen,
        place(sample_t, actual_t),
        position_of(sample_t, actual_t, _toss(frozen), NEAR),
        crps(sample_t, actual_t),
        tuple(low <= actual_t <= high for low, high in ends),
        frozen.band_t[0] <= actual_t <= frozen.band_t[1],
        len(outcomes) - 1,
    )
