"""Scenario texts that several tests begin with; all plants are invented."""

SMALL = """\
passline: 1
name: A small line  # invented
metal: zinc
time: {zone: Europe/Vienna, start: 2026-03-02 06:00, warm_up: 1 week, length: 4 weeks}

calendars:
  day shift: {open: ["Mon-Fri 06:00-14:00"], breaks: ["09:00-09:20"]}

shared:
  crane: 1

stores:
  # the bath keeps its heel
  bath: {holds: metal, capacity: 26 t, heel: 13 t}
  cast coils: {holds: coils, capacity: 46}
  rolled coils: {holds: coils, capacity: 64, rest: 14 h}
  rings: {holds: coils}
  gutters: {holds: pieces}

stations:
  furnace: {kind: furnace, to: bath, melt_rate: 6.5 t/h, pour: 510 degC}
  caster:
    kind: caster
    from: bath
    to: cast coils
    thickness: 8 mm
    width: 1034 mm      # as cast
    speed: 1.5 m/min
    coil: {mass: 4.9 t}
  mill:
    kind: mill
    from: cast coils
    to: rolled coils
    passes:
      0.70 mm: [4 mm @ 60 m/min, 1.6 mm @ 120 m/min, 0.70 mm @ 180 m/min]
    failures:
      - {reason: mill stop, every: {exponential: {mean: 26 h}}, repair: 75 min}
      - reason: strip break
        every: 400 km
        repair: 20 min
    rolls: {sets: 5, change_after: 57 km, change: 30 min}
  slitter: {kind: slitter, from: rolled coils, to: rings, calendar: day shift, setup: 48 min, speed: 125 m/min}
  profiler: {kind: profiler, from: rings, to: gutters, makes: [gutter 333], speed: 40 m/min}

products:
  gutter 333: {thickness: 0.70 mm, girth: 333 mm, length: 3 m}
  ring 500: {thickness: 0.70 mm, girth: 500 mm, sold: coil}

patterns:
  A: {share: 60 %, thickness: 0.70 mm, rings: {gutter 333: 3}}
  H: {share: 40 %, thickness: 0.70 mm, rings: {ring 500: 2}}

money: {currency: EUR, contribution: {coil: 190 EUR/t, gutter 333: 560 EUR/t}}

options:
  second slitter: {set: {stations.slitter.machines: 2}, capex: 3400 kEUR, yearly: 330 kEUR, starts_after: 1.2 years}
  third slitter: {set: {stations.slitter.machines: 3}}
  longer campaign: {set: {stations.mill.rolls.change_after: 75 km}}
"""

QUEUE = """\
passline: 1
name: Two machines behind one queue
metal: zinc
time: {warm_up: 500 h, length: 20000 h}
stores:
  queue: {holds: coils}
  done: {holds: coils}
stations:
  supply: {kind: supply, to: queue, every: 30 min, coil: {mass: 1 t, width: 1000 mm, thickness: 0.7 mm}}
  work: {kind: step, from: queue, to: done, machines: 2, time: {exponential: {mean: 20 min}}}
"""


def changed(text: str, old: str, new: str) -> str:
    """Return a text with one thing in it changed, which must be there once."""
    assert text.count(old) == 1, f"'{old}' stands {text.count(old)} times"
    return text.replace(old, new)
