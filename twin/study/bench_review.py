"""Yesterday's ladder: all sets of twelve causes of one random day, and their shares."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta
from itertools import count
from statistics import median

from twin.line import Scripts, simulate
from twin.logs.write import log_of
from twin.scenario import load
from twin.scenario.models import Scenario
from twin.study.bench import Bench, Goal, Row
from twin.study.bench_clocks import cpu_times, lasting, spread
from twin.study.review_day import Day, prepare_day
from twin.study.review_events import causes_of, events_of
from twin.study.review_ladder import Game
from twin.study.review_scripts import pieces
from twin.study.shapley import exact

CAUSES = 12
DAY_S, DAYS, REVIEWED = 86_400.0, 9, 7
FIRST_S, EVERY_S, LASTS_S = 1800.0, 3600.0, 1200.0
SEED = 7

Stops = Mapping[tuple[str, int, str], tuple[tuple[float, float], ...]]


def twelve_causes(setting: Bench) -> Iterator[Row]:
    """Work out shares of twelve causes of two days: one as it came, one with a stop at each station in its morning."""
    plant = lasting(load(setting.scenario), DAYS * DAY_S)
    for what, stops in (("", {}), (", a stop at each station in the morning", morning_stops(plant))):
        own = game(reviewed(plant, stops))
        runs = count()

        def shares(own: Game = own, runs: Iterator[int] = runs) -> None:
            exact(own.values(range(own.everything + 1), [next(runs)]))

        taken = cpu_times(shares, setting.repeats)
        note = f"{len(own.players)} causes, {1 << len(own.players)} sets of them"
        yield Row(f"Shapley's shares of a day's causes{what}", median(taken), "s", Goal(0.2), spread(taken), note)


def morning_stops(plant: Scenario) -> Stops:
    """Return a stop of a reason of its own at each station, one after the other from the begin of the day on."""
    reasons = [(name, 1, f"planted {name}") for name in plant.stations]
    begin = REVIEWED * DAY_S + FIRST_S
    return {key: ((begin + place * EVERY_S, LASTS_S),) for place, key in enumerate(reasons)}


def reviewed(plant: Scenario, stops: Stops) -> Day:
    """Return a day of an invented log of the plant."""
    trace = simulate(plant, seed=SEED, trace=True, scripts=Scripts(stops=stops)).trace
    if trace is None:
        raise RuntimeError("the run was asked for a trace and gave none")
    when = plant.time.start.date() + timedelta(days=REVIEWED)
    return prepare_day(plant, log_of(trace, plant), when)


def game(day: Day) -> Game:
    """Return twelve causes of a day, stops first: those that can be told apart longest."""
    events = events_of(day)
    told = pieces(day, events, causes_of(day, events))
    chosen = sorted(told, key=lambda own: own.kind != "stop")[:CAUSES]
    return Game(day, tuple(chosen), tuple(told[own] for own in chosen), SEED)
