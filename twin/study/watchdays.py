"""A log that has come in: its new days enter the book of forecasts, and the next days are forecast.

The book gets what each day gave. The next production day is forecast from the morning that the log tells; where it
has begun already, so is the one after it, by a run through both, so that one forecast always counts.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import numpy as np

from twin.logs import Log, Mapping, load_mapping, read_log
from twin.logs.mapping import NAME
from twin.scenario import Scenario
from twin.study.inputs import read_inputs
from twin.study.review_booked import booked
from twin.study.review_day import Day, Vary, bounds, day_of, days_of, prepare_day, run_days
from twin.study.scorebook import Forecast, Frozen, Scorebook, Settled
from twin.study.uncertain import DrawnOnce, vary_of

RUNS = 99
SEED = 2026
AHEAD_DAYS = 5  # looked ahead for the next production day: over a long week-end
LOOK_BACK = 40  # days of a new log that are forecast after the fact, marked as such
MISSED = 0.005
"""By how much of a day's output the model misses what is booked even when all that happened is known (1 sd).

Measured where a clean log was replayed: 0.4 % (rms) on the demo plant. Without it a line that hardly varies would have
a band narrower than anything that is weighed and written down.
"""
A_DAY_A_PLANT = 1  # runs that share a plant with uncertain inputs: what is asked is how days scatter, luck and all
WITH_DOUBT = "; inputs as uncertain as they are"
AGAIN = 2  # the last days that were entered are looked at again: what was begun in them may be booked by now


class StoppedError(RuntimeError):
    """Asked to stop before the log was taken in; what was entered until then stays."""


@dataclass(frozen=True, slots=True)
class How:
    """How forecasts are made: so many runs from this seed, and so many past days of a new log after the fact.

    With `uncertain` each run takes a plant of its own, as far off as what is known of its numbers leaves open.
    """

    runs: int = RUNS
    seed: int = SEED
    look_back: int = LOOK_BACK
    uncertain: bool = False


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What a log brought.

    Attributes
    ----------
    days : Production days that it covers.
    entered : Days whose outcome was entered or put right.
    settled : Of these, those that had been forecast in time.
    frozen : Forecasts of days to come that were entered.
    looked_back : Days that were forecast after the fact, so that they do not count.
    words : The same in a sentence or two.
    """

    days: tuple[str, ...]
    entered: tuple[str, ...]
    settled: tuple[Settled, ...]
    frozen: tuple[Frozen, ...]
    looked_back: tuple[str, ...]
    words: str


def take_in(
    scenario: Scenario,
    place: Path,
    book: Scorebook,
    how: How = How(),  # noqa: B008  it is frozen
    *,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
    stop: Callable[[], bool] = lambda: False,
) -> TakenIn:
    """Take a log into the book of a line.

    Raises
    ------
    LogError : The log cannot be read or trusted, or covers no whole day.
    ScenarioError : The log does not fit the line.
    StoppedError : `stop` said so.
    """
    beside = (place if place.is_dir() else place.parent) / NAME
    mapping = load_mapping(beside) if beside.is_file() else None
    log, begins = read_log(place, zone=scenario.time.zone), day_begins(mapping)
    days = days_of(scenario, log, begins)
    some_day = days[-1] if days else datetime.fromtimestamp(0, UTC).date()
    last = prepare_day(scenario, log, some_day, begins=begins, mapping=mapping)
    vary = DrawnOnce(vary_of(read_inputs(scenario), A_DAY_A_PLANT)) if how.uncertain else None
    own = _Taking(scenario, last, book, how, _digest(log), begins, stop, vary)
    entered, settled = own.enter(days)
    frozen = own.forecast_next(days[-1], now().timestamp())
    looked_back = own.look_back(days[-how.look_back :] if how.look_back else ())
    names = tuple(day.isoformat() for day in days)
    words = _words(names, entered, settled, frozen) + (WITH_DOUBT if how.uncertain else "")
    return TakenIn(names, entered, settled, frozen, looked_back, words)


def day_begins(mapping: Mapping | None) -> time | None:
    """Return when the plant's production day begins, where its mapping says so."""
    if mapping is None or mapping.production_day_s <= 0.0:
        return None
    minutes = round(mapping.production_day_s / 60.0)
    return time(minutes // 60, minutes % 60)


def _digest(log: Log) -> str:
    """Return one digest for all files of a log."""
    import hashlib

    return hashlib.sha256("".join(sorted(log.digests.values())).encode()).hexdigest()


@dataclass(frozen=True)
class _Taking:
    """A log that is being taken in."""

    scenario: Scenario
    last: Day
    book: Scorebook
    how: How
    digest: str
    begins: time | None
    stop: Callable[[], bool]
    vary: Vary | None

    def day(self, day: date) -> Day:
        if self.stop():
            raise StoppedError("stopped while a log was taken in")
        return day_of(self.scenario, self.last.examined, day, bounds(self.scenario, day, self.begins))

    def enter(self, days: Sequence[date]) -> tuple[tuple[str, ...], tuple[Settled, ...]]:
        """Enter what the new days gave, and look again at the last ones that were known."""
        known = self.book.outcomes()
        again = sorted(day.isoformat() for day in days if day.isoformat() in known)[-AGAIN:]
        entered, settled = [], []
        for day in days:
            name = day.isoformat()
            if name in known and name not in again:
                continue
            _, begin, end = bounds(self.scenario, day, self.begins)
            made = booked(replace(self.last, date=day, begin=begin, end=end))  # its morning does not matter
            actual_t = made.booked_t - made.edges_t
            own = self.book.settle(name, actual_t, self.digest)
            if name not in known or abs(known[name] - actual_t) > 1e-6:
                entered.append(name)
                settled += [own] if own is not None and own.frozen.in_time else []
        return tuple(entered), tuple(settled)

    def forecast_next(self, last: date, now_s: float) -> tuple[Frozen, ...]:
        """Freeze forecasts of the production days after the last one, up to the first that has not begun yet."""
        first = last + timedelta(days=1)
        ahead = [bounds(self.scenario, first + timedelta(days=i), self.begins)[1:] for i in range(AHEAD_DAYS)]
        day = self.day(first)
        curves = self._runs(_stretched(day, ahead[-1][1]))
        found = []
        for i, (begin, end) in enumerate(ahead):
            hours = [round((moment - day.begin) / 3600.0) for moment in (begin, end)]
            sample = curves[:, hours[1]] - curves[:, hours[0]]
            if sample.any():
                found.append((first + timedelta(days=i), (begin, end), sample.tolist()))
        in_time = [i for i, (_, (begin, _), _) in enumerate(found) if begin > now_s]
        until = in_time[0] + 1 if in_time else 1  # behind an old log there is no day that has not begun
        return tuple(own for which in found[:until] for own in self._freeze(*which, day.begin))

    def look_back(self, days: Sequence[date]) -> tuple[str, ...]:
        """Forecast days that are over from their own mornings, where no forecast of them stands in the book.

        Not the day with which the log begins: what was going on in its morning is not in it.
        """
        found = []
        for date_ in days:
            if self.book.frozen(date_.isoformat()) is None:
                day = self.day(date_)
                if day.begun_unknown:
                    continue
                self._freeze(date_, (day.begin, day.end), self._runs(day)[:, -1].tolist(), day.begin)
                found.append(date_.isoformat())
        return tuple(found)

    def _runs(self, day: Day) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
        """Return the runs of a day; an end to all of it is asked about now and then."""
        made = []
        for run in range(self.how.runs):
            if self.stop():
                raise StoppedError("stopped while a day was forecast")
            made.append(run_days(day, day.base, [run], seed=self.how.seed, vary=self.vary)[0])
        return np.array(made)

    def _freeze(self, day: date, when: tuple[float, float], sample: Sequence[float], until: float) -> list[Frozen]:
        """Freeze a forecast of what will be booked, unless the same stands in the book already."""
        dice = np.random.default_rng([self.how.seed, day.toordinal()])
        sample = [t * (1.0 + MISSED * float(dice.standard_normal())) for t in sample]
        forecast = Forecast(
            day.isoformat(),
            *when,
            tuple(sample),
            self.scenario.digest,
            self.how.seed,
            min(until, self.last.examined.log.span[1]),
            "uncertain" if self.how.uncertain else "best",
        )
        known = any(own.forecast == forecast for own in self.book.made(forecast.day))
        return [] if known else [self.book.freeze(forecast)]


def _stretched(day: Day, end: float) -> Day:
    """Return a day that goes on until a later moment."""
    clock = day.scenario.time.model_copy(update={"length": end - day.begin})
    longer = day.scenario.model_copy(update={"time": clock})
    longer.__dict__.pop("digest", None)
    return replace(day, scenario=longer, end=end)


def _words(days: Sequence[str], entered: Sequence[str], settled: Sequence[Settled], frozen: Sequence[Frozen]) -> str:
    said = [f"{days[0]} to {days[-1]}" if len(days) > 1 else days[0]]
    if settled:
        said.append(f"{settled[-1].day} was {settled[-1].place.words}")
    elif entered:
        said.append(f"{entered[-1]} entered; it had not been forecast in time")
    else:
        said.append("nothing new")
    ahead = [own.forecast.day + ("" if own.in_time else " (begun already: does not count)") for own in frozen]
    if ahead:
        said.append(f"forecast {' and '.join(ahead)}")
    return "; ".join(said)
