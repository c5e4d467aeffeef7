"""A small line and its days for the tests of reviews; all numbers are invented."""

from datetime import datetime, timedelta

import numpy as np

from twin.line import Scripts, simulate
from twin.logs import Log
from twin.logs.write import log_of
from twin.scenario import Scenario, loads
from twin.scenario.beginning import Start
from twin.study.review_day import at_moment, fresh
from twin.study.review_morning import typical_morning

LINE = """
passline: 1
name: Small line
metal: zinc
time: {zone: Europe/Vienna, start: 2026-03-02 06:00, warm_up: 2 weeks, length: 1 week}
calendars:
  relay: {open: ["Mon 06:00 - Sat 06:00"]}
  two shifts: {open: ["Mon-Fri 06:00-14:00", "Mon-Fri 14:00-22:00"], breaks: ["09:30-09:50", "17:30-17:50"]}
stores:
  bath: {holds: metal, capacity: 20 t, heel: 8 t}
  cast coils: {holds: coils, capacity: 20}
  cool coils: {holds: coils, capacity: 12, rest: 4 h}
  rings: {holds: coils}
  gutters: {holds: pieces}
stations:
  furnace: {kind: furnace, to: bath, melt_rate: 6 t/h, pour: 510 degC, skimming: {every: 8 h, takes: 25 min}}
  caster:
    kind: caster
    from: bath
    to: cast coils
    thickness: 8 mm
    width: 1000 mm
    speed: {nominal: 1.5 m/min, slowest: 0.8 m/min}
    coil: {mass: 4.5 t}
    patience: 6 min
    restart: {takes: 2 h, scrap: 1 t}
    failures: [{reason: cast break, every: {exponential: {mean: 120 h}}, repair: 2 h}]
  mill:
    kind: mill
    from: cast coils
    to: cool coils
    calendar: relay
    handling: {load: 5 min}
    crop: 2 %
    passes:
      0.70 mm: [4 mm @ 60 m/min, 1.6 mm @ 110 m/min, 0.70 mm @ 150 m/min]
      0.80 mm: [4 mm @ 60 m/min, 1.6 mm @ 110 m/min, 0.80 mm @ 150 m/min]
    failures: [{reason: mill stop, every: {exponential: {mean: 9 h}}, repair: {lognormal: {mean: 50 min, cv: 0.7}}}]
    rolls:
      sets: 5
      change_after: 40 km
      change: {triangular: {low: 24 min, mode: 30 min, high: 45 min}}
      damage: {weibull: {shape: 2.4, scale: 90 km}}
      damaged_change: {triangular: {low: 60 min, mode: 80 min, high: 120 min}}
      damage_scrap: 0.5 t
      first_coil: {slower: 1.2, scrap: 0.2 t}
      shop: {calendar: two shifts, people: 1, cool: 4 h, grind: 1.5 h, assemble: 30 min}
  slitter:
    kind: slitter
    from: cool coils
    to: rings
    calendar: two shifts
    setup: {time: {triangular: {low: 20 min, mode: 30 min, high: 50 min}}}
    thread: 4 min
    speed: 110 m/min
    per_ring: 1.5 min
    coils_per_pattern: {uniform: {low: 3, high: 6}}
    failures: [{reason: strip break, every: {exponential: {mean: 6 h}}, repair: {gamma: {mean: 30 min, cv: 0.6}}}]
  former:
    kind: profiler
    from: rings
    to: gutters
    calendar: two shifts
    makes: [gutter 300]
    speed: 40 m/min
    coil_change: 6 min
    failures: [{reason: jam, every: {exponential: {mean: 5 h}}, repair: {exponential: {mean: 15 min}}}]
    scrap: 1 %
products:
  gutter 300: {thickness: 0.70 mm, girth: 300 mm, length: 3 m}
  ring 300: {thickness: 0.70 mm, girth: 300 mm, sold: coil}
  ring 240: {thickness: 0.80 mm, girth: 240 mm, sold: coil}
patterns:
  A: {share: 60 %, thickness: 0.70 mm, rings: {gutter 300: 3}, sold_as_coil: 30 %}
  B: {share: 40 %, thickness: 0.80 mm, rings: {ring 240: 4}}
"""


def on_monday(scenario: Scenario, run: int = 0, days: int = 1, begin: datetime | None = None) -> Scenario:
    """Return a line that begins with a morning which it reaches by itself, told in its file."""
    first = begin or scenario.time.start
    told = typical_morning(scenario, first, run=run)
    length = (timedelta(days=days)).total_seconds()
    return fresh(at_moment(scenario, first, length), start=Start.model_validate(told))


def log_made_by(scenario: Scenario, seed: int, scripts: Scripts | None = None) -> Log:
    """Return the log that a run of a line leaves behind."""
    made = simulate(scenario, seed=seed, trace=True, scripts=scripts)
    assert made.trace is not None
    return log_of(made.trace, scenario)


def made_log(scenario: Scenario, *, days: int, seed: int, run: int = 0) -> Log:
    """Return the log of some days of a line, written by its twin."""
    return log_made_by(on_monday(scenario, run, days), seed)


PLANTED = (("slitter", "strip break"), ("former", "jam"), ("mill", "mill stop"))


def planted_day(scenario: Scenario, seed: int) -> tuple[Scenario, Log]:
    """Return a line with a morning of its own, and the log of a day on which some machines had long stops."""
    random = np.random.default_rng(seed)
    now = on_monday(scenario, run=seed, begin=scenario.time.start + timedelta(days=int(random.integers(0, 5))))
    stops = {}
    for station, reason in PLANTED:
        starts = np.sort(random.uniform(0.5, 15.0, size=int(random.integers(0, 3)))) * 3600.0
        stops[station, 1, reason] = tuple((float(at), float(random.uniform(600.0, 9000.0))) for at in starts)
    return now, log_made_by(now, seed, Scripts(stops=stops))


def with_noise(log: Log, seed: int, share: float) -> Log:
    """Return a log of which the durations of the stops are off by a share, as people write them down."""
    stops, random = log["stops"], np.random.default_rng(seed)
    lasts = (stops["end"] - stops["start"]) * np.exp(random.normal(0.0, share, size=len(stops)))
    return log.put(stops.put(end=stops["start"] + lasts))


def with_gaps(log: Log, seed: int, share: float) -> Log:
    """Return a log of which a share of the stops was never written down."""
    stops = log["stops"]
    return log.put(stops.take(np.random.default_rng(seed).random(len(stops)) >= share))


def line() -> Scenario:
    """Return the small line."""
    return loads(LINE)
