"""The studies behind Yesterday, each in a process of its own: one day explained, and one event of it otherwise.

The day stands on the page as soon as it is explained; the forecasts of the days before follow, one by one.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date
from datetime import time as clock
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dashboard import answers
from dashboard.inputs import flat
from dashboard.worker import Desk
from dashboard.yesterday_log import invent
from twin.logs import read_log
from twin.logs.mapping import Mapping as LogMapping
from twin.logs.mapping import load_mapping
from twin.scenario import Scenario, apply_options, load
from twin.store import Store
from twin.study.replicate import NothingMadeError
from twin.study.review import ReviewStep, days_of, expectation, review_day, whatif
from twin.study.review_answer import DayEvent, Edit
from twin.study.review_booked import booked
from twin.study.review_day import Day, bounds, day_of, prepare_day
from twin.study.review_events import events_of
from twin.study.scorebook import Forecast, Scorebook
from twin.study.scoresummary import summary, summary_json
from twin.study.watchdays import day_begins
from twin.version import VERSION

if TYPE_CHECKING:
    from twin.logs import Log
    from twin.logs.doctor import Examined

DAYS_A_RUN = 5
"""Runs of a day for each run that is asked for: a day is short."""
LOOK_BACK_DAYS, LOOK_BACK_RUNS = 40, 59
MOST_IFS = 5
LEAST_IF_S = 900.0
BOOKS = "forecasts.sqlite"
NEWS_EVERY_S = 0.4
Plain = dict[str, Any]


@dataclass(frozen=True)
class Records:
    """A plant with its log, which is examined once for all days."""

    scenario: Scenario
    log: Log
    mapping: LogMapping | None

    @cached_property
    def begins(self) -> clock | None:
        """Return when the plant's production day begins, where its mapping says so."""
        return day_begins(self.mapping)

    @cached_property
    def days(self) -> tuple[date, ...]:
        """Return the production days that the log covers."""
        return days_of(self.scenario, self.log, self.begins)

    @cached_property
    def examined(self) -> Examined:
        """Return the log with what is wrong with it. Raises LogError where it is not fit for use."""
        return self._asked(self.days[-1]).examined

    def day(self, day: date | str) -> Day:
        """Return one day, ready to be run. Raises LogError where the log does not tell of it or is not fit for use."""
        when = date.fromisoformat(day) if isinstance(day, str) else day
        if when not in self.days:
            return self._asked(when)
        return day_of(self.scenario, self.examined, when, bounds(self.scenario, when, self.begins))

    def _asked(self, when: date) -> Day:
        return prepare_day(self.scenario, self.log, when, begins=self.begins, mapping=self.mapping)


def records(file: str, options: Sequence[str], log: str, invented: bool) -> Records:
    """Return a plant with its log, which is made first where it is invented."""
    base, place = load(file), Path(log)
    if invented:
        invent(base, place)
    scenario = apply_options(base, list(options)) if options else base
    folder = place if place.is_dir() else place.parent
    mapping = load_mapping(folder / "mapping.yaml") if (folder / "mapping.yaml").is_file() else None
    return Records(scenario, read_log(place, zone=scenario.time.zone), mapping)


@dataclass(slots=True)
class Keeper:
    """Writes the answer down as it grows, and tells the page how far it is."""

    desk: Desk
    folder: Path
    key: str
    answer: Plain
    began: float = field(default_factory=time.monotonic)
    told: float = 0.0

    def step(self, step: ReviewStep) -> None:
        """Tell how far it is, now and then."""
        if time.monotonic() - self.told > NEWS_EVERY_S:
            self.told = time.monotonic()
            wanted = max(step.wanted, step.done, 1)
            self.desk.tell({"done": step.done, "wanted": wanted, "half": None, "what": step.what})

    def keep(self, *, whole: bool = False, **parts: Any) -> None:  # noqa: ANN401  plain data of any kind
        """Write the answer down with more in it."""
        self.answer |= parts | {"whole": whole, "made": time.time(), "took_s": time.monotonic() - self.began}
        answers.write(self.folder, self.key, {}, "week.json")
        answers.write(self.folder, self.key, self.answer)
        self.desk.tell({"done": self.answer["done"], "wanted": self.answer["wanted"], "half": None, "what": "kept"})


def yesterday(
    desk: Desk,
    *,
    file: str,
    plant: str,
    options: Sequence[str],
    runs: int,
    seed: int,
    kept: str,
    key: str,
    mark: str,
    log: str,
    day: str,
    stamp: str,
    invented: bool,
) -> Mapping[str, Any]:
    """Explain a production day of a log, the last one where none is named; return how many runs were made."""
    del stamp  # it only names the question
    desk.tell({"done": 0, "wanted": 1, "half": None, "what": "reading the log"})
    own, wanted = records(file, options, log, invented), DAYS_A_RUN * runs
    named = {"key": key, "plant": plant, "options": list(options), "seed": seed, "wanted": wanted, "invented": invented}
    keeper = Keeper(desk, Path(kept), key, described(own, named, day))
    found = answers.read(keeper.folder, key)
    if found is not None and not found["whole"]:
        keeper.answer = found
    else:
        try:
            explain(own, keeper, wanted, seed)
        except NothingMadeError:
            return {"done": 0, "wanted": wanted}
    whole = look_back(own, keeper, seed)
    keeper.keep(whole=whole)
    answers.remember(keeper.folder, mark, key)
    answers.tidy(keeper.folder)
    return {"done": wanted, "wanted": wanted}


def described(own: Records, named: Plain, day: str) -> Plain:
    """Return what is known of the answer before anything is worked out."""
    days = [one.isoformat() for one in own.days]
    return named | {
        "name": own.scenario.name,
        "digest": own.scenario.digest,
        "version": VERSION,
        "half": None,
        "inputs": flat(own.scenario),
        "day": day or (days[-1] if days else date.today().isoformat()),
        "days": days,
        "past": [],
        "book": None,
        "kept": False,
    }


def explain(own: Records, keeper: Keeper, runs: int, seed: int) -> None:
    """Explain the day, and put it on the page."""
    day = own.day(keeper.answer["day"])
    found = review_day(day, runs=runs, seed=seed, progress=keeper.step, stop=keeper.desk.stopped)
    plain = asdict(found)
    for part in (*plain["events"], *plain["suspect"]):
        part["file"] = Path(part["file"]).name
    limits = {name: station.kind for name, station in own.scenario.stations.items()}
    ifs = [asdict(one) for one in without(day, found.events, seed)]
    keeper.keep(done=runs, review=plain, ifs=ifs, kinds=limits)


@dataclass(frozen=True, slots=True)
class If:
    """The day without some of its events: their numbers, and the change with its interval [t]."""

    events: tuple[int, ...]
    change_t: float
    low_t: float
    high_t: float
    made_t: float


def without(day: Day, events: Sequence[DayEvent], seed: int) -> list[If]:
    """Return the day without each of its longest events, those first without which it gives most, and without all."""
    long = sorted(
        (one for one in events if one.end_s - one.start_s >= LEAST_IF_S), key=lambda one: one.start_s - one.end_s
    )
    tried = sorted((_without(day, (one.number,), seed) for one in long[: 4 * MOST_IFS]), key=lambda own: -own.change_t)
    kept = tried[:MOST_IFS]
    together = tuple(number for own in kept if own.change_t > 0.05 for number in own.events)
    return [*kept, _without(day, together, seed)] if len(together) > 1 else kept


def _without(day: Day, numbers: tuple[int, ...], seed: int) -> If:
    found = whatif(day, [Edit(number, remove=True) for number in numbers], seed=seed)
    return If(numbers, found.change_t, found.low_t, found.high_t, found.made_t)


# The days before


def look_back(own: Records, keeper: Keeper, seed: int) -> bool:
    """Forecast the last days of the log, each from its own morning; return whether all of them are made.

    These forecasts are made after the fact: they show what the model is worth, they do not count as promises kept.
    """
    name = f"{keeper.answer['plant']} {own.scenario.digest[:16]} {seed}"
    book = Scorebook(Store(f"sqlite:///{(keeper.folder / BOOKS).as_posix()}"), name)
    wanted, whole = own.days[-LOOK_BACK_DAYS:], True
    for done, when in enumerate(wanted):
        if keeper.desk.stopped():
            whole = False
            break
        forecast_once(own, book, when, seed)
        keeper.step(ReviewStep("days before forecast", done + 1, len(wanted)))
    keeper.answer |= {"past": list(past(book)), "book": summary_json(summary(book, in_time=False)), "kept": False}
    if not keeper.answer["invented"]:
        keeper.answer |= promises(own.scenario)
    return whole


def promises(scenario: Scenario) -> Plain:
    """Return what the plant's own book says of forecasts that were made before their days; nothing as long as none is.

    The folder of logs is watched by another process, which keeps that book.
    """
    told = summary(Scorebook(Store(), scenario.name))
    return {"book": summary_json(told), "kept": True} if told.days else {}


def forecast_once(own: Records, book: Scorebook, when: date, seed: int) -> None:
    """Enter the forecast of a day and what it gave, unless both stand in the book."""
    name, known = when.isoformat(), book.frozen(when.isoformat())
    day = own.day(when)
    if known is None:
        expected, _ = expectation(day, runs=LOOK_BACK_RUNS, seed=seed)
        book.freeze(Forecast(name, day.begin, day.end, expected.runs_t, own.scenario.digest, seed, day.begin))
    made = booked(day)
    book.settle(name, made.booked_t - made.edges_t)  # a run says what is made in the day, whenever it is booked


def past(book: Scorebook) -> Iterator[Plain]:
    """Yield each day of the book: what it gave, what was forecast, and the band in which nine days of ten end."""
    for one in book.days(None):
        low, *_, high = one.frozen.quantiles_t
        sample = one.frozen.forecast.sample_t
        yield {
            "day": one.day,
            "actual_t": one.actual_t,
            "mean_t": sum(sample) / len(sample),
            "low_t": low,
            "high_t": high,
            "position": one.place.position,
        }


# One event otherwise


def otherwise(
    desk: Desk,
    *,
    file: str,
    options: Sequence[str],
    log: str,
    invented: bool,
    day: str,
    edit: Mapping[str, Any],
    seed: int,
    kept: str,
    key: str,
) -> Mapping[str, Any]:
    """Run a day again with one event otherwise, everything else as it was recorded."""
    own = records(file, options, log, invented)
    ready = own.day(day)
    found = whatif(ready, [Edit(**edit)], seed=seed)
    event = next(one for one in events_of(ready) if one.number == edit["event"])
    answers.write(Path(kept), key, {"edit": dict(edit), "event": asdict(event), "whole": True, **asdict(found)})
    desk.tell({"done": 1, "wanted": 1})
    return {"done": 1, "wanted": 1}
