"""Random lines, as text: strategies that make plants, coil lines and streams which a scenario file may describe.

They mean to be as odd as the grammar allows: stores without room, machines side by side, calendars, failures of every
kind, coils that rest, a crane that all share, patterns, rolls, and finishing lines that wait for pieces.
"""

from typing import Any

from hypothesis import strategies as st
from line.texts import scenario

Parts = dict[str, Any]

CALENDARS = {
    "two shifts": {"open": ["Mon-Fri 06:00-22:00"], "breaks": ["09:00-09:20", "18:00-18:15"]},
    "day": {"open": ["Mon-Fri 06:00-14:00"]},
    "relay": {"open": ["Mon 06:00 - Sat 06:00"]},
    "some": {"open": ["Mon 00:00-10:00", "Tue 03:00-23:00", "Wed 12:00 - Fri 08:00", "Sun 10:00-12:00"]},
}
PASSES = {
    "0.70 mm": ["3 mm @ 60 m/min", "0.70 mm @ 180 m/min"],
    "0.80 mm": ["2.5 mm @ 90 m/min", "0.80 mm @ 150 m/min"],
}
PRODUCTS = {
    "gutter": {"thickness": "0.70 mm", "girth": "333 mm", "length": "3 m"},
    "trough": {"thickness": "0.70 mm", "girth": "250 mm", "length": "2 m"},
    "box": {"thickness": "0.80 mm", "girth": "400 mm", "length": "4 m"},
    "ring": {"thickness": "0.70 mm", "girth": "200 mm", "sold": "coil"},
}
PATTERNS = {
    "A": {"thickness": "0.70 mm", "rings": {"gutter": 3}},
    "B": {"thickness": "0.80 mm", "rings": {"box": 2, "ring": 1}},
    "C": {"thickness": "0.70 mm", "rings": {"trough": 2, "gutter": 1}, "sold_as_coil": "30 %"},
    "D": {"thickness": "0.70 mm", "rings": {"ring": 5}},
}


LAWS = (
    "constant",
    "exponential",
    "uniform",
    "triangular",
    "normal",
    "lognormal",
    "gamma",
    "weibull",
    "empirical",
    "mixture",
)


def law(kind: str, mean: float, unit: str) -> Any:  # noqa: ANN401 - what YAML holds
    """Return the law of this kind with this mean, as it is written."""

    def some(part: float) -> str:
        return f"{mean * part!r} {unit}"

    written: Parts = {
        "constant": some(1.0),
        "exponential": {"exponential": {"mean": some(1.0)}},
        "uniform": {"uniform": {"low": some(0.5), "high": some(1.5)}},
        "triangular": {"triangular": {"low": some(0.6), "mode": some(0.9), "high": some(1.5)}},
        "normal": {"normal": {"mean": some(1.0), "sd": some(0.4)}},
        "lognormal": {"lognormal": {"mean": some(1.0), "cv": 0.8}},
        "gamma": {"gamma": {"mean": some(1.0), "cv": 0.6}},
        "weibull": {"weibull": {"shape": 2.2, "scale": some(1.13)}},
        "empirical": {"empirical": [some(0.4), some(1.0), some(1.0), some(1.6)]},
        "mixture": {
            "mixture": [
                {"weight": 0.7, "of": some(0.5)},
                {"weight": 0.3, "of": {"exponential": {"mean": some(2.1)}}},
            ]
        },
    }
    return written[kind]


def means(low: float, high: float) -> st.SearchStrategy[float]:
    """Make a mean between two numbers, not too fine to read."""
    return st.floats(low, high).map(lambda x: round(x, 3))


def laws(unit: str, low: float, high: float) -> st.SearchStrategy[Any]:
    """Make laws of every kind with means between two numbers of this unit."""
    return st.builds(law, st.sampled_from(LAWS), means(low, high), st.just(unit))


def capacities(*, least: int = 0) -> st.SearchStrategy[Parts]:
    """Make the room of a store of coils: none, little, or without bound."""
    rooms = [room for room in (0, 1, 2, 5, 20) if room >= least]
    return st.sampled_from([{"holds": "coils"}, *({"holds": "coils", "capacity": room} for room in rooms)])


@st.composite
def failures(draw: st.DrawFn, ways: tuple[str, ...], *, crew: bool = True, whole: bool = False) -> list[Parts]:
    """Make up to two causes of failure that count in one of these ways; `whole` keeps coils and metal."""
    made = []
    for number in range(draw(st.integers(0, 2))):
        way = draw(st.sampled_from(ways))
        every = {
            "running": laws("h", 2.0, 30.0),
            "clock": laws("h", 5.0, 60.0),
            "t": laws("t", 10.0, 200.0),
            "km": laws("km", 2.0, 60.0),
            "pieces": laws("pieces", 100.0, 3000.0),
        }[way]
        cause: Parts = {"reason": f"cause {number}", "every": draw(every), "repair": draw(laws("min", 2.0, 300.0))}
        cause |= {"counts": "clock"} if way == "clock" else {}
        if not whole:
            cause |= draw(st.sampled_from([{}, {"coil": "scrapped"}, {"scrap": "50 kg"}, {"calendar": "two shifts"}]))
        cause |= {"needs": "fitters"} if crew and draw(st.booleans()) else {}
        made.append(cause)
    return made


def calendars() -> st.SearchStrategy[Parts]:
    """Make the calendar of a station, mostly none."""
    return st.sampled_from([{}, {}, {}, *({"calendar": name} for name in CALENDARS)])


@st.composite
def supplies(draw: st.DrawFn, to: str, thickness: str, *, bounded: bool) -> Parts:
    """Make a supply: always ready (where that has an end) or by intervals, waiting or turned away, limited or not."""
    coil = {"mass": draw(st.sampled_from(["1 t", "2.5 t", "4.9 t"])), "width": "1034 mm", "thickness": thickness}
    made: Parts = {"kind": "supply", "to": to, "coil": coil}
    made |= draw(st.sampled_from([{}, {"limit": 7}, {"when_full": "turn away"}]))
    endless = not bounded and "limit" not in made
    if endless or "when_full" in made or draw(st.booleans()):
        made["every"] = draw(laws("min", 15.0, 90.0))
    return made | draw(calendars())


@st.composite
def melting(draw: st.DrawFn, to: str) -> tuple[Parts, Parts]:
    """Make stations and stores from the furnace to cast coils."""
    furnace: Parts = {"kind": "furnace", "to": "bath", "melt_rate": "6.5 t/h", "pour": "510 degC"}
    furnace |= draw(st.sampled_from([{}, {"skimming": {"every": "8 h", "takes": "25 min", "loss": "1.2 %"}}]))
    furnace |= draw(st.sampled_from([{}, {"melt_loss": "0.5 %"}, {"returns": "20 %"}]))
    caster: Parts = {
        "kind": "caster",
        "from": "bath",
        "to": to,
        "thickness": "8.2 mm",
        "width": "1034 mm",
        "speed": draw(st.sampled_from(["1.56 m/min", {"nominal": "1.56 m/min", "slowest": "0.85 m/min"}])),
        "coil": {"mass": "4.9 t"},
        "patience": draw(st.sampled_from(["0 min", "6 min"])),
        "restart": draw(st.sampled_from([{"takes": "3.5 h", "scrap": "2.4 t"}, {"takes": "1 h"}])),
        "failures": draw(failures(("running", "clock", "t", "km"), whole=True)),
    }
    caster |= draw(st.sampled_from([{}, {"service": {"every": "60 h", "takes": "9 h"}}]))
    bath = draw(st.sampled_from([{"capacity": "26 t", "heel": "13 t"}, {"capacity": "3 t"}, {}]))
    return {"furnace": furnace | draw(calendars()), "caster": caster}, {"bath": {"holds": "metal"} | bath}


@st.composite
def rolls(draw: st.DrawFn) -> Parts:
    """Make work rolls: by the limit, by damage or both, with or without a roll shop."""
    made: Parts = {"sets": draw(st.sampled_from([1, 2, 5, "unlimited"])), "change": draw(laws("min", 10.0, 60.0))}
    made |= draw(
        st.sampled_from(
            [
                {"change_after": "30 km"},
                {"damage": {"weibull": {"shape": 2.4, "scale": "60 km"}}},
                {"change_after": "57 km", "damage": {"weibull": {"shape": 2.4, "scale": "110 km"}}},
            ]
        )
    )
    if "damage" in made:
        made |= {"damaged_change": "95 min", "damage_scrap": "0.3 t"}
    made |= draw(st.sampled_from([{}, {"first_coil": {"slower": 1.25, "scrap": "0.1 t"}}]))
    made |= draw(
        st.sampled_from([{}, {"rule": {"when idle after": "15 km", "keep ready": 1}}, {"rule": {"at": ["Wed 14:00"]}}])
    )
    made |= draw(st.sampled_from([{}, {"heating": "4 h"}]))
    shop = {"calendar": "day", "people": 1, "cool": "10 h", "grind": "3.1 h", "assemble": "1.5 h"}
    backed = {
        "cool": "2 h",
        "grind": "2 h",
        "extra_after_damage": "2 h",
        "back_up": {"every": "3 changes", "grind": "5 h"},
    }
    return made | draw(st.sampled_from([{}, {"shop": shop}, {"shop": backed}]))


@st.composite
def mills(draw: st.DrawFn) -> Parts:
    """Make a mill."""
    made: Parts = {
        "kind": "mill",
        "passes": PASSES,
        "speed_factor": 0.85,
        "crop": draw(st.sampled_from(["0 %", "2.2 %"])),
    }
    made |= {"between_passes": "1.3 min", "failures": draw(failures(("running", "clock", "t", "km")))}
    made |= draw(st.sampled_from([{}, {"rolls": draw(rolls())}]))
    return made | draw(lifting()) | draw(calendars())


def lifting() -> st.SearchStrategy[Parts]:
    """Make the handling of coils, by the shared crane or without."""
    crane = {
        "load": "3 min",
        "unload": "3 min",
        "crane_in": "2.5 min",
        "crane_out_per_ring": "2.4 min",
        "needs": "crane",
    }
    return st.sampled_from([{}, {"handling": {"load": "5 min"}}, {"handling": crane}])


@st.composite
def steps(draw: st.DrawFn) -> Parts:
    """Make a step that takes coils one by one."""
    made: Parts = {"kind": "step", "time": draw(laws("min", 5.0, 60.0)), "machines": draw(st.integers(1, 3))}
    made["failures"] = draw(failures(("running", "clock", "t", "km")))
    return made | draw(lifting()) | draw(calendars())


@st.composite
def slitters(draw: st.DrawFn) -> Parts:
    """Make a slitter."""
    made: Parts = {"kind": "slitter", "speed": "125 m/min", "machines": draw(st.integers(1, 3)), "thread": "4 min"}
    made["setup"] = draw(st.sampled_from(["0 min", "48 min", {"time": "48 min", "scrap": "60 kg", "needs": "fitters"}]))
    made |= draw(
        st.sampled_from([{}, {"coils_per_pattern": {"uniform": {"low": 2, "high": 5}}}, {"per_ring": "1.4 min"}])
    )
    made |= draw(st.sampled_from([{}, {"knives": {"every": "20 km", "takes": "45 min"}}, {"stop_start": "0.8 min"}]))
    made["failures"] = draw(failures(("running", "clock", "t", "km")))
    return made | draw(lifting()) | draw(calendars())


@st.composite
def finishing(draw: st.DrawFn, product: str) -> tuple[Parts, Parts]:
    """Make what turns the rings of a product into pieces: a cutter and a profiler, or one of them."""
    pieces = {"holds": "pieces"}
    cutter: Parts = {"kind": "cutter", "from": "rings", "makes": [product], "coil_change": "6.5 min"}
    cutter |= draw(st.sampled_from([{"rate": "28 pieces/min"}, {"speed": "60 m/min", "strokes": "30 strokes/min"}]))
    cutter |= {"failures": draw(failures(("running", "clock", "pieces", "t", "km"), whole=True))} | draw(calendars())
    profiler: Parts = {"kind": "profiler", "speed": "40 m/min", "scrap": draw(st.sampled_from(["0 %", "1.8 %"]))}
    profiler |= draw(st.sampled_from([{}, {"tool_change": "30 min", "first_off": "5 pieces"}, {"bundle": "25 pieces"}]))
    profiler |= {"failures": draw(failures(("running", "clock", "pieces", "t", "km"), whole=True))} | draw(calendars())
    shape = draw(st.sampled_from(["pair", "cutter", "profiler"]))
    stores: Parts = {f"{product} pieces": pieces}
    if shape == "pair":
        machines = {"machines": draw(st.integers(1, 2))}
        room = draw(st.sampled_from([pieces, pieces | {"capacity": 0}, pieces | {"capacity": 60}]))
        stores[f"{product} blanks"] = room
        cutter |= {"to": f"{product} blanks"} | machines
        profiler |= {"from": f"{product} blanks", "to": f"{product} pieces"} | machines
        return {f"{product} cutter": cutter, f"{product} profiler": profiler}, stores
    if shape == "cutter":
        return {f"{product} cutter": cutter | {"to": f"{product} pieces"}}, stores
    return {f"{product} profiler": profiler | {"from": "rings", "makes": [product], "to": f"{product} pieces"}}, stores


def times() -> st.SearchStrategy[Parts]:
    """Make the length of a run, mostly from Monday to some day of the next week."""
    hours = st.integers(60, 260).map(lambda h: {"length": f"{h} h"})
    return st.builds(lambda a, b: a | b, hours, st.sampled_from([{}, {"warm_up": "20 h"}, {"warm_up": "75.5 h"}]))


@st.composite
def plants(draw: st.DrawFn) -> str:
    """Make a plant with patterns: cast or supplied, rolled, slit, and cut or profiled."""
    stores: Parts = {"mothers": draw(capacities(least=1)), "rolled": draw(capacities()) | draw(resting())}
    if draw(st.booleans()):
        stations, more = draw(melting("mothers"))
    else:
        stations, more = {"supply": draw(supplies("mothers", "8.2 mm", bounded="capacity" in stores["mothers"]))}, {}
    stations["mill"] = draw(mills()) | {"from": "mothers", "to": "rolled"}
    stations["slitter"] = draw(slitters()) | {"from": "rolled", "to": "rings"}
    names = draw(st.lists(st.sampled_from(sorted(PATTERNS)), min_size=1, unique=True))
    patterns: Parts = {name: PATTERNS[name] | {"share": f"{100 / len(names)!r} %"} for name in names}
    stores |= more | {"rings": draw(capacities())}
    ring_products = sorted({ring for name in names for ring in patterns[name]["rings"]} - {"ring"})
    for product in ring_products:
        made, kept = draw(finishing(product))
        stations |= made
        stores |= kept
    held = draw(st.sampled_from([{}, {"hold_above": {"slitter": 4}}]))
    patterns = {name: pattern | held for name, pattern in patterns.items()}
    return _text("A random plant", stores, stations, draw(times()), products=PRODUCTS, patterns=patterns)


def resting() -> st.SearchStrategy[Parts]:
    """Make what a store does to coils with time: nothing, or cooling."""
    return st.sampled_from([{}, {}, {"rest": "14 h"}, {"rest": "1 h", "keeps": "40 h"}])


@st.composite
def coil_lines(draw: st.DrawFn) -> str:
    """Make a line of steps in a row, with anything between them and anything the matter with them."""
    count = draw(st.integers(1, 5))
    stores: Parts = {"gap 0": draw(capacities(least=1)) | draw(resting()), "done": {"holds": "coils"}}
    stations: Parts = {"supply": draw(supplies("gap 0", "0.7 mm", bounded="capacity" in stores["gap 0"]))}
    for i in range(count):
        if i + 1 < count:
            stores[f"gap {i + 1}"] = draw(capacities()) | draw(resting())
        ends = {"from": f"gap {i}", "to": f"gap {i + 1}" if i + 1 < count else "done"}
        stations[f"work {i}"] = draw(steps()) | ends
    return _text("A random line of steps", stores, stations, draw(times()))


@st.composite
def streams(draw: st.DrawFn) -> str:
    """Make stations that metal runs through as a stream, with loopers of any size between them."""
    count = draw(st.integers(1, 5))
    stores: Parts = {"done": {"holds": "strip"}}
    stations: Parts = {}
    for i in range(count):
        work: Parts = {"kind": "step", "rate": f"{draw(st.floats(0.5, 5.0)):.3f} t/h"}
        work["failures"] = draw(failures(("running", "clock", "t"), whole=True))
        work |= draw(calendars()) | ({"from": f"looper {i - 1}"} if i else {})
        if i + 1 < count:
            size = draw(st.sampled_from([{}, {"capacity": "0 t"}, {"capacity": "1.5 t"}, {"capacity": "40 t"}]))
            stores[f"looper {i}"] = {"holds": "strip"} | size
        stations[f"work {i}"] = work | {"to": f"looper {i}" if i + 1 < count else "done"}
    return _text("A random stream", stores, stations, draw(times()))


def any_line() -> st.SearchStrategy[str]:
    """Make any of these."""
    return st.one_of(plants(), coil_lines(), streams())


def _text(name: str, stores: Parts, stations: Parts, time: Parts, **top: object) -> str:
    shared = {"crane": 1, "fitters": {"count": 1, "calendar": "relay"}}
    length, warm_up = str(time["length"]), str(time.get("warm_up", "0 h"))
    return scenario(name, stores, stations, length=length, warm_up=warm_up, **top, calendars=CALENDARS, shared=shared)
