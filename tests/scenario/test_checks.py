from graphlib import CycleError, TopologicalSorter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario_texts import QUEUE, SMALL, changed

from twin.scenario import ScenarioError, loads


def told(text: str) -> list[str]:
    """Return the faults of a text as 'place: message', none when it is sound."""
    try:
        loads(text)
    except ScenarioError as error:
        return [f"{fault.place}: {fault.message}" for fault in error.faults]
    return []


def small(*changes: tuple[str, str]) -> list[str]:
    text = SMALL
    for old, new in changes:
        text = changed(text, old, new)
    return told(text)


def test_the_small_plant_is_sound() -> None:
    assert told(SMALL) == []
    assert told(QUEUE) == []


@pytest.mark.parametrize(
    ("pour", "sound"), [("419.5 degC", False), ("419.6 degC", True), ("787 degF", False), ("693 K", True)]
)
def test_a_bath_of_zinc_must_be_above_its_melting_point(pour: str, sound: bool) -> None:
    """ITS-90 (Metrologia 27, 1990, table 1): zinc 419.527 degC."""
    assert (small(("pour: 510 degC", f"pour: {pour}")) == []) == sound


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 6), st.integers(100, 600))
def test_rings_are_taken_exactly_when_they_fit_the_strip(count: int, girth: int) -> None:
    text = SMALL.replace("girth: 500 mm", f"girth: {girth} mm").replace("{ring 500: 2}", f"{{ring 500: {count}}}")

    faults = told(text)

    assert (faults == []) == (count * girth <= 1034)
    assert all("mm more than the 1034 mm strip" in fault for fault in faults)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=1, max_size=8))
def test_a_loop_is_found_exactly_where_there_is_one(edges: list[tuple[int, int]]) -> None:
    """Independent: the standard library's topological sort refuses a graph with a cycle."""
    stores = sorted({store for edge in edges for store in edge})
    stations = "".join(f"  s{n}: {{kind: step, from: b{a}, to: b{b}, time: 1 h}}\n" for n, (a, b) in enumerate(edges))
    text = (
        "passline: 1\nname: Steps\nmetal: zinc\nstart: {stores: {"
        + ", ".join(f"b{n}: 1" for n in stores)
        + "}}\nstores:\n"
    )
    text += "".join(f"  b{n}: {{holds: coils}}\n" for n in stores) + "stations:\n" + stations
    graph: dict[int, set[int]] = {}
    for source, to in edges:
        graph.setdefault(to, set()).add(source)
    try:
        TopologicalSorter(graph).prepare()
        looped = False
    except CycleError:
        looped = True

    assert any("runs in a loop" in fault for fault in told(text)) == looped


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("machines: 2", "machines: 2, makes: [x]", "there is no product 'x'"),
        ("every: 30 min, ", "", "a supply that always has a coil ready would fill 'queue' without end"),
        ("to: queue, ", "", "a supply must give to a store"),
        ("to: queue", "from: done, to: queue", "a supply draws on no store"),
        ("queue: {holds: coils}", "queue: {holds: coils, heel: 3 t}", "a store of coils has no heel"),
        (
            "queue: {holds: coils}",
            "queue: {holds: coils, rest: 3 h, keeps: 2 h}",
            "coils are scrap before they have rested",
        ),
        ("done: {holds: coils}", "done: {holds: pieces}", "a step hands on what it takes"),
        ("queue: {holds: coils}", "queue: {holds: coils, capacity: 3 t}", "'3 t' is not a number of coils"),
        (
            "time: {exponential: {mean: 20 min}}",
            "time: 3 min, rate: 1 t/h",
            "a step needs either time or rate, not both",
        ),
        ("done: {holds: coils}", "done: {holds: coils, rest: 1 h, capacity: 0}", ""),
        (
            "kind: step, from: queue, to: done, machines: 2, time",
            "kind: slitter, from: queue, to: done, thread",
            "speed is missing",
        ),
    ],
)
def test_what_a_queue_cannot_have_is_refused_with_the_reason(old: str, new: str, words: str) -> None:
    faults = told(changed(QUEUE, old, new))

    assert any(words in fault for fault in faults) if words else faults == []


INLINE = """\
passline: 1
name: In line
metal: zinc
stores:
  bath: {holds: metal}
  looper: {holds: strip, capacity: 2 t}
  coils: {holds: coils}
stations:
  furnace: {kind: furnace, to: bath, melt_rate: 6 t/h, pour: 500 degC}
  caster: {kind: caster, from: bath, to: looper, thickness: 8 mm, width: 1 m, speed: 2 m/min}
  mill: {kind: mill, from: looper, to: coils, speed: 20 m/min, coil: {mass: 5 t}}
"""


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("passline: 1", "passline: 1", ""),
        (", coil: {mass: 5 t}", "", "coil is missing: the mill winds coils"),
        ("kind: mill", "kind: mill, machines: 2", "machines joined by strip are paired one to one"),
        ("to: looper", "to: coils", "coil is missing: the caster winds coils"),
        ("speed: 2 m/min", "speed: 2 m/min, coil: {mass: 5 t}", "the caster winds no new coil, it gives strip"),
        ("speed: 2 m/min", "speed: {nominal: 2 m/min, slowest: 1 m/min}", "must take some time before it casts again"),
        ("from: looper, to: coils", "from: coils, to: coils", "the flow runs in a loop"),
        ("from: bath, to: looper", "from: looper, to: looper", "a caster cannot take strip"),
    ],
)
def test_what_a_line_in_one_cannot_have_is_refused_with_the_reason(old: str, new: str, words: str) -> None:
    faults = told(changed(INLINE, old, new))

    assert any(words in fault for fault in faults) if words else faults == []


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("share: 40 %", "count: 4", "some patterns have a share and this one a count"),
        ("share: 40 %, ", "", "a pattern needs a share or a count where there is no plan"),
        ("share: 60 %", "share: 60 %, count: 3", "a pattern has a share or a count, not both"),
        ("{gutter 333: 3}", "{}", "a pattern needs at least one ring"),
        (", length: 3 m}", "}", "length is missing"),
        ("sold: coil", "sold: cole", "sold is 'cole', it must be one of piece, coil, sheet"),
        ("makes: [gutter 333]", "makes: [gutter 333, ring 500]", "has no length: it is sold as coil"),
        ("makes: [gutter 333], ", "", "has no length: it is sold as coil"),
        (
            "makes: [gutter 333], speed: 40 m/min",
            "makes: [gutter 333], speed: {ring 500: 40 m/min}",
            "there is no speed for 'gutter 333'",
        ),
        ("{ring 500: 2}", "{ring 500: 2}, skips: slitter", "has more than one ring, but its coils pass no slitter"),
        ("{ring 500: 2}", "{ring 500: 2}, skips: sliter", "there is no station 'sliter'"),
        ("{ring 500: 2}", "{ring 500: 2}, hold_above: {profler: 3}", "there is no station 'profler'"),
        ("contribution: {coil:", "contribution: {coils:", "there is no product 'coils'"),
        ("repair: 75 min", "repair: 75 min, calendar: weekends", "there is no calendar 'weekends'"),
        ("sets: 5, ", "", "sets is missing"),
        ("change_after: 57 km, ", "", "rolls that never wear and are never damaged need no sets"),
        ("zone: Europe/Vienna", "zone: Mars/Base", "'Mars/Base' is not a time zone"),
        ("metal: zinc", "metal: {like: zinc, melting_point: 800 degC}", "the bath is set to 510.0 degC"),
        ("metal: zinc", "metal: {density: 7140 kg/m3}", "is missing"),
        ("4.9 t", "4 kg", "a coil of that mass would be"),
        ("0.70 mm: [4 mm", "0.70 mm: [4.0 mm @ 60 m/min", "is not a pass"),
    ],
)
def test_what_a_plant_cannot_have_is_refused_with_the_reason(old: str, new: str, words: str) -> None:
    assert any(words in fault for fault in small((old, new)))


@pytest.mark.parametrize(
    ("start", "words"),
    [
        ("{stores: {cast coils: 20 t}}", "'cast coils' holds coils, so its stock is a number"),
        ("{stores: {bath: 20}}", "'bath' holds metal, so its stock is a mass"),
        ("{stores: {bath: 27 t}}", "more lies in 'bath' than it can hold: 27 of 26 t"),
        ("{stores: {rings: {gutter 33: 3}}}", "there is no pattern or product 'gutter 33'"),
        ("{stores: {bathe: 3 t}}", "there is no store 'bathe'"),
        ("{rolls: {slitter: {used: 3 km}}}", "'slitter' has no rolls"),
        ("{rolls: {mill: {used: 3 t}}}", "used is a mass, but change_after is a length"),
        ("{machines: {slitter: {machine: 2}}}", "'slitter' has 1 machines, there is no number 2"),
        ("{machines: {slitter: [{}, {}]}}", "machine 1 is told of twice"),
        ("{machines: {mill: {state: down, reason: fire}}}", "'mill' has no failure 'fire'"),
        ("{machines: {slitter: {state: changing rolls}}}", "'slitter' has no rolls to change"),
        ("{machines: {slitter: {state: asleep}}}", "state is 'asleep', it must be one of"),
        ("{machines: {slitter: {set_for: Q}}}", "there is no pattern or product 'Q'"),
        ("{stores: {bath: 20 t, gutters: {gutter 333: 30}}, rolls: {mill: {sets: {ready: 4}}}}", ""),
    ],
)
def test_a_start_must_fit_the_line(start: str, words: str) -> None:
    faults = small(("options:", f"start: {start}\noptions:"))

    assert any(words in fault for fault in faults) if words else faults == []


def test_a_store_that_nobody_feeds_may_live_on_its_stock() -> None:
    text = "passline: 1\nname: Stock\nmetal: zinc\nstores: {heap: {holds: coils}}\n"
    text += "stations: {work: {kind: step, from: heap, time: 1 h}}\n"

    assert any("no station gives to 'heap'" in fault for fault in told(text))
    assert told(text + "start: {stores: {heap: 12}}\n") == []


def test_a_line_without_a_mill_must_get_the_gauge_it_slits() -> None:
    text = """\
passline: 1
name: Slitting only
metal: zinc
stores: {coils: {holds: coils, capacity: 3}, rings: {holds: coils}}
stations:
  supply: {kind: supply, to: coils, coil: {mass: 5 t, width: 1 m, thickness: 0.7 mm}}
  slitter: {kind: slitter, from: coils, to: rings, speed: 100 m/min}
products: {ring: {thickness: 0.7 mm, girth: 300 mm, sold: coil}}
patterns: {A: {share: 100 %, thickness: 0.7 mm, rings: {ring: 3}}}
"""
    assert told(text) == []
    assert told(text.replace("{A: {share: 100 %, thickness: 0.7 mm", "{A: {share: 100 %, thickness: 0.6 mm")) == [
        "patterns.A.thickness: no mill rolls this to 0.6 mm: the strip that comes is 0.7 mm"
    ]


def test_two_failures_of_a_station_have_two_reasons() -> None:
    """They would draw the same numbers, and strike together."""
    jam = "{reason: jam, every: {exponential: {mean: 9 h}}, repair: 1 h}"
    once, twice = (changed(QUEUE, "machines: 2", f"failures: [{jams}]") for jams in (jam, f"{jam}, {jam}"))
    assert told(once) == []
    assert told(twice) == ["stations.work.failures.jam.reason: 'work' has two failures with the reason 'jam'"]


def test_too_many_stations_are_refused() -> None:
    many = "".join(f"  s{number}: {{kind: step, time: 1 h}}\n" for number in range(201))
    text = "passline: 1\nname: Many\nmetal: zinc\nstores: {a: {holds: coils}}\nstations:\n" + many

    assert "stations: stations has 201 entries, more than 200" in told(text)


TWO_SUPPLIES = """\
passline: 1
name: Two lorries
metal: zinc
stores: {yard: {holds: coils, capacity: 8}, rings: {holds: coils}}
stations:
  a: {kind: supply, to: yard, every: 4 h, coil: {mass: 4 t, width: 1000 mm, thickness: 0.7 mm, pattern: A}}
  b: {kind: supply, to: yard, every: 4 h, coil: {mass: 2 t, width: 500 mm, thickness: 0.7 mm, pattern: B}}
  slitter: {kind: slitter, from: yard, to: rings, speed: 100 m/min}
products: {ring: {thickness: 0.7 mm, girth: 240 mm, sold: coil}}
patterns:
  A: {share: 50 %, thickness: 0.7 mm, width: 1000 mm, rings: {ring: 4}}
  B: {share: 50 %, thickness: 0.7 mm, width: 500 mm, rings: {ring: 2}}
"""


def test_patterns_of_different_widths_tell_theirs() -> None:
    """Else all rings would take their part of one and the same width, and weigh too little or too much."""
    assert told(TWO_SUPPLIES) == []
    assert told(TWO_SUPPLIES.replace(" width: 500 mm, rings", " rings")) == [
        "patterns.B.width: strip of 500 mm or 1000 mm comes into the line, and this pattern has no width"
    ]


def test_a_pattern_is_cut_from_one_width() -> None:
    assert told(TWO_SUPPLIES.replace(", pattern: B}", "}")) == [
        "patterns.A.width: its coils may be 500 mm or 1000 mm wide, from 'b' and from 'a'"
    ]


def test_a_pattern_is_not_wider_than_the_strip_that_comes_for_it() -> None:
    assert told(TWO_SUPPLIES.replace(" width: 500 mm, rings", " width: 501 mm, rings")) == [
        "patterns.B.width: a coil of 501 mm is wider than the 500 mm strip that comes"
    ]


def test_a_pattern_has_the_gauge_of_the_strip_that_comes_for_it_where_nothing_rolls() -> None:
    """The 0.6 mm of one supply is none of the other's pattern, though both lie in one yard."""
    thinner = TWO_SUPPLIES.replace("0.7 mm, pattern: B}", "0.6 mm, pattern: B}")
    assert told(thinner) == ["patterns.B.thickness: no mill rolls this to 0.7 mm: the strip that comes is 0.6 mm"]


@pytest.mark.parametrize(("every", "sound"), [("8 s", True), ("7 s", False), ("1e-12 s", False)])
def test_a_supply_that_floods_the_line_is_refused(every: str, sound: bool) -> None:
    """20 500 h are 73.8 million seconds: ten million coils at one every 7.38 s."""
    faults = told(changed(QUEUE, "every: 30 min", f"every: {{exponential: {{mean: {every}}}}}"))

    assert (faults == []) == sound
    assert all("coils in a run, more than 1e+07" in fault for fault in faults)
