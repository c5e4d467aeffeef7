"""Which way coils may go through a line, and who decides on their patterns."""

from typing import Any

import pytest
from line.by_hand import COILS, PIECES, STRIP, SUPPLY, Parts, plant

from twin.line.routes import Routes, routes
from twin.scenario import loads

PRODUCTS = {
    "gutter": {"thickness": "1 mm", "girth": "500 mm", "length": "3 m"},
    "ring": {"thickness": "1 mm", "girth": "500 mm", "sold": "coil"},
    "sheet": {"thickness": "1 mm", "girth": "1000 mm", "length": "2 m", "sold": "sheet"},
}
PATTERNS = {
    "G": {"count": 1, "thickness": "1 mm", "rings": {"gutter": 2}},
    "R": {"count": 1, "thickness": "1 mm", "rings": {"ring": 2}},
    "W": {"count": 1, "thickness": "1 mm", "rings": {"sheet": 1}, "skips": ["slitter"]},
}
STATIONS: dict[str, Any] = {
    "supply": SUPPLY,
    "cutter": {"kind": "cutter", "from": "rings", "to": "gutters", "makes": ["gutter"], "rate": "9 pieces/min"},
    "sheets": {"kind": "cutter", "from": "mid", "to": "cut", "makes": ["sheet"], "rate": "9 pieces/min"},
    "slitter": {"kind": "slitter", "from": "mid", "to": "rings", "speed": "10 m/min"},
    "mill": {"kind": "mill", "from": "ready", "to": "mid", "speed": "10 m/min"},
}
STORES = {"ready": COILS | {"capacity": 1}, "mid": COILS, "rings": COILS, "gutters": PIECES, "cut": PIECES}


def ways(stations: Parts = STATIONS, stores: Parts = STORES) -> Routes:
    return routes(loads(plant(stores, stations, 10, products=PRODUCTS, patterns=PATTERNS)))


# Lanes: 0 without a pattern; 1 G, 2 R, 3 W; 4 gutter, 5 ring, 6 sheet.


def test_stations_stand_in_the_order_of_the_flow_whatever_the_order_of_the_file() -> None:
    order = ways().order
    assert order.index("supply") < order.index("mill") < order.index("slitter") < order.index("cutter")
    assert order.index("mill") < order.index("sheets")


def test_a_mill_decides_on_the_patterns_of_the_coils_that_it_takes() -> None:
    found = ways()
    assert found.planners == {"mill"}
    assert found.takes["mill"] == (0,)
    assert found.gives["mill"] == (1, 2, 3)


def test_without_a_mill_the_supply_decides() -> None:
    stations = {name: own for name, own in STATIONS.items() if name != "mill"}
    stations["supply"] = SUPPLY | {"to": "mid", "every": "9 min"}
    stores = {name: own for name, own in STORES.items() if name != "ready"}
    found = ways(stations, stores)
    assert found.planners == {"supply"}
    assert found.gives["supply"] == (1, 2, 3)


def test_a_second_mill_rolls_what_the_first_has_decided() -> None:
    stations = STATIONS | {
        "mill": {"kind": "mill", "from": "ready", "to": "half", "speed": "10 m/min"},
        "finisher": {"kind": "mill", "from": "half", "to": "mid", "speed": "10 m/min"},
    }
    found = ways(stations, STORES | {"half": COILS})
    assert found.planners == {"mill"}
    assert found.rolled >= {"finisher", "slitter", "cutter", "sheets"}
    assert found.takes["finisher"] == (1, 2, 3)


def test_a_slitter_takes_mother_coils_but_those_that_skip_it_and_gives_their_rings() -> None:
    found = ways()
    assert found.takes["slitter"] == (1, 2)
    assert found.gives["slitter"] == (4, 5)


def test_a_cutter_beside_the_slitter_takes_the_coils_that_skip_it() -> None:
    assert ways().takes["sheets"] == (3,)


def test_a_cutter_takes_the_rings_that_it_makes_and_no_others() -> None:
    assert ways().takes["cutter"] == (4,)


def test_rings_that_nobody_takes_are_not_drawn() -> None:
    assert ways().drawn["rings"] == {4}
    assert ways().drawn["mid"] == {1, 2, 3}


def test_a_pattern_of_one_product_tells_the_product_of_its_mother_coils() -> None:
    assert ways().lane_product == (-1, 0, 1, 2, 0, 1, 2)
    assert ways().lanes == 7


def test_a_supply_of_coils_for_one_pattern_gives_that() -> None:
    """And the mill has nothing left to decide for them."""
    supply = SUPPLY | {"coil": SUPPLY["coil"] | {"pattern": "R"}}  # type: ignore[operator]
    patterns = {"R": PATTERNS["R"]}
    stations = {name: own for name, own in STATIONS.items() if name in ("mill", "slitter")} | {"supply": supply}
    stores = {name: STORES[name] for name in ("ready", "mid", "rings")}
    found = routes(loads(plant(stores, stations, 10, products={"ring": PRODUCTS["ring"]}, patterns=patterns)))
    assert found.gives["supply"] == (1,)
    assert found.takes["mill"] == (1,)


@pytest.mark.parametrize("kind", ["strip", "coils"])
def test_a_mill_in_line_decides_on_the_coils_that_it_winds(kind: str) -> None:
    """Whether the caster gives it strip or coils, it is the first mill that decides."""
    caster: Parts = {
        "kind": "caster",
        "from": "bath",
        "to": "ready",
        "thickness": "2 mm",
        "width": "1 m",
        "speed": "1 m/min",
    }
    mill: Parts = {"kind": "mill", "from": "ready", "to": "mid", "speed": "10 m/min"}
    if kind == "strip":
        mill |= {"coil": {"mass": "1 t"}}
    else:
        caster |= {"coil": {"mass": "1 t"}}
    furnace = {"kind": "furnace", "to": "bath", "melt_rate": "1 t/h", "pour": "510 degC"}
    stations = STATIONS | {"furnace": furnace, "caster": caster, "mill": mill}
    del stations["supply"]
    stores = STORES | {"bath": {"holds": "metal"}, "ready": STRIP if kind == "strip" else COILS}
    assert ways(stations, stores).planners == {"mill"}
