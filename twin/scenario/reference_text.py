"""The words of docs/scenario.md that no model can tell."""

INTRODUCTION = """
# The scenario file

A scenario is one YAML file that describes a line: its metal, stores and stations, what it makes, when it is manned,
what it could be changed to. This page is written by the program from what it checks: run
`python -m twin.scenario.reference` after a change. `passline check FILE` tells every fault of a file at once;
`passline check --schema` prints the JSON Schema, with which an editor completes keys and marks unknown ones.

The smallest line that runs:

```yaml
passline: 1
name: Two machines behind one queue
metal: zinc
time: {warm_up: 500 h, length: 20000 h}
stores:
  queue: {holds: coils}
  done:  {holds: coils}
stations:
  supply:
    kind: supply
    to: queue
    every: {exponential: {mean: 30 min}}
    coil: {mass: 1 t, width: 1 m, thickness: 0.7 mm}
  work: {kind: step, from: queue, to: done, machines: 2, time: {exponential: {mean: 20 min}}}
```

Words such as `no` and times such as `06:00` stay text. Tags, merge keys (`<<`) and a key that stands twice are
refused. A file may have 1 MB, and an alias (`*name`) may repeat a value. The order of stations, stores and patterns
in the file is the order in which they are numbered and drawn.
"""

UNITS_INTRODUCTION = """
## Quantities

A quantity is a number and its unit, `45 m/min`. Any unit of the right kind is taken; units are joined with `/`, a
blank and powers: `t/h`, `kWh/t`, `kg/m3`, `J/(kg K)`. A bare number stands only where the thing has no unit: a count,
a factor. The decimal sign is a point. `t` is 1000 kg, a month is a twelfth of a year, a year is 365.25 days. Money is
written in the file's own currency, with `k` for thousand and `M` for million: `3400 kEUR`, `190 EUR/t`.

"""

LAWS = """
## Laws

Where a *law* may stand, a plain quantity is a constant. Else it is a mapping with one key:

| law | meaning |
|---|---|
| `{exponential: {mean: 26 h}}` | without memory |
| `{uniform: {low: 4 min, high: 8 min}}` | anything between, all alike |
| `{triangular: {low: 24 min, mode: 30 min, high: 45 min}}` | least, most likely, greatest |
| `{normal: {mean: 30 min, sd: 5 min}}` | mean and standard deviation; what would be negative is drawn again |
| `{lognormal: {mean: 75 min, cv: 0.8}}` | mean and coefficient of variation of the value itself |
| `{gamma: {mean: 2.2 min, cv: 0.7}}` | mean and coefficient of variation |
| `{weibull: {shape: 2.4, scale: 110 km}}` | wears out when the shape is above 1 |
| `{empirical: [12 min, 15 min, 40 min]}` | one of the observed values |
| `{mixture: [{weight: 0.8, of: 5 min}, {weight: 0.2, of: {exponential: {mean: 2 h}}}]}` | one of several laws |
"""

CALENDARS = """
## Calendars

```yaml
calendars:
  continuous: always
  relay:      {open: ["Mon 06:00 - Sat 06:00"]}
  two shifts: {open: ["Mon-Fri 06:00-14:00", "Mon-Fri 14:00-22:00"], breaks: ["09:30-09:50"]}
  nights:     {open: ["Mon-Thu 22:00-06:00"], holidays: AT, closed: [2026-12-24, 2026-08-03 - 2026-08-16]}
```

Times are wall-clock times of `time.zone`. Hours that end before they begin run past midnight, and belong to the day
on which they begin; times without days hold every day. `holidays` is a country, or a country and a region such as
`DE-BY`: its public holidays are closed from 00:00 to 24:00. `closed` names days, spans of days (the last one is
closed too), or spans of times. On the night on which the clocks go forward a shift from 22:00 to 06:00 lasts 7 hours,
on the other 9. A time that comes twice means its first coming. `always` may be named without an entry.
"""

START = """
## The state at the start

Left out, a run starts as a typical moment of the line: the state at the end of a warm-up. `start: empty` begins with
nothing in the line. Otherwise `start` tells the plant's state now; what is left out is empty, idle, new or ready:

```yaml
start:
  stores:
    bath: 20 t
    cast coils: 12
    cooling store: {A: 10, W: 3}          # mother coils by pattern
    rings: {gutter 333: 14}               # rings by product
  rolls:
    mill: {used: 31 km, sets: {ready: 2, cooling: 1, waiting: 1}, changes_to_back_up: 9}
  machines:
    caster: {state: running, left: 20 min}
    slitter:
      - {machine: 1, state: setup, left: 25 min, set_for: A}
      - {machine: 2, state: down, left: 1 h, reason: slitter stop, holds: D}
```

## The order book

`orders` is a list, or the name of a CSV file in the scenario's own folder with the columns
`order,product,quantity,due`:

```
order,product,quantity,due
4711,gutter 333,600 pieces,2026-03-20
4712,pipe 100,12 t,2026-03-27 12:00
```

`passline run` and the Line page say which of them will be late, how sure that is, and by how many days and tonnes.
Orders change nothing that the line makes: the plan does not follow them. What is finished on each day fills them:

- of each product the order due first is filled first; of two due at once the one that stands first;
- all that is finished from the moment the runs count fills orders before anything else, and an order is filled when all
  of it is there; what a day makes is spread evenly over that day, so a moment is good to the day;
- a date without an hour lasts until its day is over;
- an order due before the runs count is taken as still open and filled first, but called neither late nor on time; of
  one due after their end nothing is said. So let `time.start` lie one `warm_up` before today;
- what lies finished at the start is taken as nothing, unless `start` tells the pieces of each product in a
  finished store;
- of a product that is partly sold as coil, the pieces come at the mean share of the run, and the coil made beside them
  fills no order.
"""

PATHS = """
## Paths and options

`--set` on the command line, the `set` of an option and the sliders of the dashboard name a value by its path:
`stations.slitter.machines`, `stations.mill.rolls.change_after`. Names may hold blanks and points. An item of a list
is named by its reason, `stations.mill.failures.mill stop.every`, else by its number from 1. A value that is not
written in the file yet may be set too. Options are combined with `+`; two of them that set one value differently are
refused. Every option of a file is tried when the file is checked.
"""

FAULTS = """
## When something is wrong

A fault names the file, the line, the place, what is wrong and the way out, on one line each:

```
plant.yaml:4: metal: the metal 'zink' is not known. Did you mean 'zinc'?
plant.yaml:22: stations.mill.to: there is no store 'roled coils'. Did you mean 'rolled coils'?
plant.yaml:26: stations.mill.rolls.change_aftr: the key 'change_aftr' is not known here. Did you mean 'change_after'?
```

All faults of a file are told at once. What cannot be is refused with its reason: a bath below the melting point, a
pass that does not thin the strip, rings wider than the strip, strip of two widths for one pattern, a calendar that
never opens, a heel above the bath, a flow that runs in a loop or ends before its product is finished.
"""
