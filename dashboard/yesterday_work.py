"""The study behind Yesterday, in a process of its own: one day at first sight, explained, and the days before it.

What is found is put on the page as it is found: the day in its fan first, then its causes, then the forecasts of the
days before, one by one.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from dashboard import answers
from dashboard.ask import BEST, UNCERTAIN
from dashboard.doubt import Doubts
from dashboard.inputs import flat
from dashboard.worker import Desk
from dashboard.yesterday_records import Records, records
from twin.scenario import Scenario
from twin.store import Store
from twin.study.replicate import NothingMadeError
from twin.study.review import explained, whatif
from twin.study.review_answer import DayEvent, Edit
from twin.study.review_booked import booked
from twin.study.review_day import Day, Vary
from twin.study.review_first import ReviewStep, expectation, sight_of
from twin.study.scorebook import Forecast, Scorebook
from twin.study.scoresummary import summary, summary_json
from twin.study.uncertain import DrawnOnce
from twin.version import VERSION
from twin.words import plain

DAYS_A_RUN, DRAWN_DAYS_A_RUN = 5, 2
"""Runs of a day for each run that is asked for, with best estimates and with a plant drawn for each: a day is short."""
LOOK_BACK_DAYS, LOOK_BACK_RUNS = 40, 59
MOST_IFS = 5
LEAST_IF_S = 900.0
BOOKS = "forecasts.sqlite"
NEWS_EVERY_S = 0.4
STAGES = {"reading": (0, 10), "expected": (10, 20), "causes": (20, 50), "sure": (50, 70), "before": (70, 100)}
"""How far the whole is at the begin and the end of each stage [%]."""
A_DAYS_CAUSES = 4000
"""About so many runs of a day are made for its causes at the most."""
AT_FIRST, EXPLAINED = "before the causes were found", "before all days were forecast"
Plain = dict[str, Any]


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
        """Tell how far the day is explained, now and then."""
        counted = f"{plain(step.done)} of {plain(step.wanted)}" if step.wanted else plain(step.done)
        words = {
            "expected": f"what was to be expected: {counted} days run",
            "causes": f"causes: {counted} days run",
            "sure": f"how sure the causes are: {counted} other logs tried",
        }
        self.say(step.stage, step.done / (step.wanted or A_DAYS_CAUSES), words[step.stage])

    def say(self, stage: str, share: float, words: str, *, at_once: bool = False) -> None:
        """Tell how far it is, in words and in the whole."""
        if at_once or time.monotonic() - self.told > NEWS_EVERY_S:
            self.told = time.monotonic()
            begin, end = STAGES[stage]
            done = round(begin + (end - begin) * min(1.0, share))
            self.desk.tell({"done": done, "wanted": 100, "half": None, "said": words})

    def keep(self, *, whole: bool = False, **parts: Any) -> None:  # noqa: ANN401  plain data of any kind
        """Write the answer down with more in it."""
        self.answer |= parts | {"whole": whole, "made": time.time(), "took_s": time.monotonic() - self.began}
        answers.write(self.folder, self.key, {}, "week.json")
        answers.write(self.folder, self.key, self.answer)


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
    inputs: str = BEST,
    known: str = "",
) -> Mapping[str, Any]:
    """Explain a production day of a log, the last one where none is named; return how many runs were made."""
    desk.tell({"done": 0, "wanted": 100, "half": None, "said": "reading the log"})
    own = records(file, options, log, invented)
    doubts = Doubts(own.scenario, inputs, group=1)
    vary = DrawnOnce(doubts.vary) if doubts.vary is not None else None
    wanted = (DAYS_A_RUN if vary is None else DRAWN_DAYS_A_RUN) * runs
    named = {"key": key, "plant": plant, "options": list(options), "seed": seed, "wanted": wanted, "invented": invented}
    named |= {"stamp": stamp, "known": known, "doubt": doubts.told(np.zeros(0), seed)}
    keeper = Keeper(desk, Path(kept), key, described(own, named, day))
    found = answers.read(keeper.folder, key)
    if found is not None and found.get("explained") and not found["whole"]:
        keeper.answer = found
    else:
        try:
            explain(own, keeper, wanted, seed, vary)
        except NothingMadeError:
            return {"done": 0, "wanted": wanted}
    whole = look_back(own, keeper, seed, vary)
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
        "day": day or own.last.isoformat(),
        "days": days,
        "past": [],
        "book": None,
        "kept": False,
        "explained": False,
    }


def explain(own: Records, keeper: Keeper, runs: int, seed: int, vary: Vary | None) -> None:
    """Put the day on the page as it looks at first, then explained."""
    keeper.say("reading", 0.7, "finding the morning", at_once=True)
    day = own.day(keeper.answer["day"])
    kinds = {name: station.kind for name, station in own.scenario.stations.items()}
    sight = sight_of(day, runs=runs, seed=seed, vary=vary, progress=keeper.step, stop=keeper.desk.stopped)
    first = sight.first
    known = expectation(day, runs=runs, seed=seed) if vary is not None else None
    luck = None if known is None else {"low_t": known.low_t, "high_t": known.high_t}
    rest: Plain = {
        "ladder": [],
        "booking": None,
        "look_at": [],
        "unexplained_t": first.actual_t - first.expected.mean_t,
    }
    seen = named_files(asdict(first)) | rest
    keeper.keep(done=runs, explained=False, so_far=AT_FIRST, review=seen, ifs=[], kinds=kinds, luck=luck)
    keeper.say("expected", 1.0, "such days, whatever their morning", at_once=True)
    found = explained(sight, progress=keeper.step, stop=keeper.desk.stopped)
    keeper.keep(done=runs, explained=True, so_far=EXPLAINED, review=named_files(asdict(found)))
    keeper.say("sure", 0.9, "the day without its longest events", at_once=True)
    keeper.keep(ifs=[asdict(one) for one in without(day, found.events, seed)])


def named_files(found: Plain) -> Plain:
    """Return a review as plain data whose files are named without where they lie."""
    for part in (*found.get("events", ()), *found["suspect"]):
        part["file"] = Path(part["file"]).name
    return found


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


def look_back(own: Records, keeper: Keeper, seed: int, vary: Vary | None) -> bool:
    """Forecast the last days of the log, each from its own morning; return whether all of them are made.

    These forecasts are made after the fact: they show what the model is worth, they do not count as promises kept.
    """
    name = f"{keeper.answer['plant']} {own.scenario.digest[:16]} {seed}"
    name += f" uncertain {keeper.answer['known'][:16]}" if vary is not None else ""
    book = Scorebook(Store(f"sqlite:///{(keeper.folder / BOOKS).as_posix()}"), name)
    wanted, whole = own.days[-LOOK_BACK_DAYS:], True
    for done, when in enumerate(wanted):
        if keeper.desk.stopped():
            whole = False
            break
        forecast_once(own, book, when, seed, vary)
        count = done + 1
        keeper.say("before", count / len(wanted), f"days before: {count} of {len(wanted)} forecast")
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


def forecast_once(own: Records, book: Scorebook, when: date, seed: int, vary: Vary | None = None) -> None:
    """Enter the forecast of a day and what it gave, unless both stand in the book or nobody knows its morning."""
    name, known = when.isoformat(), book.frozen(when.isoformat())
    day = own.day(when)
    if day.begun_unknown:
        return
    if known is None:
        expected = expectation(day, runs=LOOK_BACK_RUNS, seed=seed, vary=vary)
        inputs, begin = BEST if vary is None else UNCERTAIN, day.begin
        book.freeze(Forecast(name, begin, day.end, expected.runs_t, own.scenario.digest, seed, begin, inputs))
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
