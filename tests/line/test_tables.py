"""The physics of each station as plain numbers, worked out by hand for metal of 10 t/m3."""

from typing import Any

import pytest
from line.by_hand import COIL, COILS, PIECES, STRIP, SUPPLY, Parts, plant

from twin.line.model import Model, model_of
from twin.scenario import loads

FURNACE: Parts = {"kind": "furnace", "to": "bath", "melt_rate": "6 t/h", "pour": "510 degC"}
CASTER: Parts = {"kind": "caster", "from": "bath", "thickness": "8 mm", "width": "1 m", "speed": "1.5 m/min"}
PRODUCTS = {
    "short": {"thickness": "1 mm", "girth": "500 mm", "length": "1 m"},
    "sheet": {"thickness": "1 mm", "girth": "900 mm", "length": "2 m", "sold": "sheet"},
}
PATTERNS = {
    "S": {"count": 1, "thickness": "1 mm", "rings": {"short": 2}},
    "W": {"count": 1, "thickness": "1 mm", "rings": {"sheet": 1}, "skips": ["slitter"]},
}
MIN = 60.0


def of(stations: Parts, stores: Parts, **top: Any) -> Model:  # noqa: ANN401
    return model_of(loads(plant(stores, stations, 10, **top)))


def slitting(slitter: Parts, **other: Parts) -> Model:
    stations: Parts = {
        "supply": SUPPLY,
        "slitter": {"kind": "slitter", "from": "ready", "to": "rings", "speed": "50 m/min"} | slitter,
        "cutter": {"kind": "cutter", "from": "rings", "to": "done", "rate": "9 pieces/min", "makes": ["short"]},
        "sheets": {"kind": "cutter", "from": "ready", "to": "cut", "rate": "9 pieces/min", "makes": ["sheet"]},
    }
    for name, more in other.items():
        stations[name] = stations[name] | more
    stores = {"ready": COILS | {"capacity": 1}, "rings": COILS, "done": PIECES, "cut": PIECES}
    return of(stations, stores, products=PRODUCTS, patterns=PATTERNS)


def test_a_caster_gives_thickness_times_width_times_density_times_speed() -> None:
    """0.008 m x 1 m x 10 000 kg/m3 x 1.5 m/min = 120 kg/min; a metre weighs 80 kg."""
    stations = {"furnace": FURNACE, "caster": CASTER | {"to": "done"}}
    model = of(stations, {"bath": {"holds": "metal"}, "done": STRIP})
    assert model.tables["caster"].nominal == pytest.approx(120 / MIN)
    assert model.tables["caster"].m_per_kg[0] == pytest.approx(1 / 80)
    assert model.tables["furnace"].nominal == pytest.approx(6000 / 3600)


def test_a_furnace_told_by_its_power_melts_what_the_heat_allows() -> None:
    """Zinc from 20 to 510 degC: 0.39 kJ/kgK to 419.5 degC, 112 kJ/kg, then 0.48 kJ/kgK: 311 kJ/kg (from memory)."""
    heat = 0.39e3 * 399.5 + 112e3 + 0.48e3 * 90.5
    furnace = {key: value for key, value in FURNACE.items() if key != "melt_rate"}
    stations = {"furnace": furnace | {"power": "500 kW", "efficiency": "80 %"}, "caster": CASTER | {"to": "done"}}
    model = of(stations, {"bath": {"holds": "metal"}, "done": STRIP}, metal="zinc")
    assert model.tables["furnace"].nominal == pytest.approx(0.8 * 500e3 / heat, rel=0.04)


def test_a_mill_tells_time_and_bite_of_its_passes_by_kilogram() -> None:
    """From 4 mm: 2 mm at 40 m/min and 1 mm at 50 m/min. A tonne is 50 m and 100 m long: 1.25 and 2 min."""
    mill = {"kind": "mill", "from": "ready", "to": "done", "passes": {"1 mm": ["2 mm @ 40 m/min", "1 mm @ 50 m/min"]}}
    supply = SUPPLY | {"coil": COIL | {"thickness": "4 mm"}}
    stores = {"ready": COILS | {"capacity": 1}, "done": COILS}
    model = of({"supply": supply, "mill": mill | {"between_passes": "3 min"}}, stores)
    numbers = model.tables["mill"]
    assert numbers.s_per_kg[0] * 1000 == pytest.approx(3.25 * MIN)
    assert numbers.m_per_kg[0] * 1000 == pytest.approx(150)
    assert numbers.fixed_s[0] == pytest.approx(6 * MIN)


def test_in_line_a_mill_is_as_fast_as_its_slowest_pass() -> None:
    """2 mm at 40 m/min give 800 kg/min, 1 mm at 50 m/min 500 kg/min."""
    mill = {"kind": "mill", "from": "strip", "to": "done", "passes": {"1 mm": ["2 mm @ 40 m/min", "1 mm @ 50 m/min"]}}
    stations = {"furnace": FURNACE, "caster": CASTER | {"to": "strip", "thickness": "4 mm"}, "mill": mill}
    model = of(stations, {"bath": {"holds": "metal"}, "strip": STRIP, "done": STRIP})
    assert model.tables["mill"].nominal == pytest.approx(500 / MIN)


def test_a_slitter_counts_fixed_times_and_those_for_each_ring() -> None:
    """1 + 0.5 + 2 x 0.25 min, and 100 m a tonne at 50 m/min: 2 min."""
    model = slitting({"thread": "1 min", "stop_start": "0.5 min", "per_ring": "0.25 min"})
    numbers = model.tables["slitter"]
    lane = 1 + model.routes.patterns.index("S")
    assert numbers.fixed_s[lane] == pytest.approx(2 * MIN)
    assert numbers.s_per_kg[lane] * 1000 == pytest.approx(2 * MIN)


def test_times_that_are_drawn_are_kept_as_laws() -> None:
    model = slitting({"per_ring": {"uniform": {"low": "1 min", "high": "2 min"}}})
    drawn = model.tables["slitter"].drawn
    assert [(name, often[1 + model.routes.patterns.index("S")]) for name, _, often in drawn] == [("per ring", 2.0)]


def test_handling_without_a_crane_is_part_of_a_coils_time_and_with_one_is_not() -> None:
    alone = slitting({"handling": {"load": "3 min", "unload": "2 min"}})
    assert alone.tables["slitter"].fixed_s[1] == pytest.approx(5 * MIN)
    stations: Parts = {
        "supply": SUPPLY,
        "work": {"kind": "step", "from": "ready", "to": "done", "time": "9 min"},
    }
    stores = {"ready": COILS | {"capacity": 1}, "done": COILS}
    shared = {"shared": {"crane": 1}}
    lifted = {"handling": {"load": "3 min", "unload": "2 min", "needs": "crane"}}
    model = of(stations | {"work": stations["work"] | lifted}, stores, **shared)
    assert model.tables["work"].fixed_s[0] == pytest.approx(9 * MIN)
    moved = {"handling": {"load": "3 min", "crane_in": "2 min", "needs": "crane"}}
    model = of(stations | {"work": stations["work"] | moved}, stores, **shared)
    assert model.tables["work"].fixed_s[0] == pytest.approx(12 * MIN)


def test_a_cutter_knows_what_a_piece_weighs_and_how_much_of_a_coils_width_is_used() -> None:
    """A short piece weighs 5 kg, a sheet 18 kg; a sheet of 900 mm uses 90 % of a coil of 1000 mm."""
    model = slitting({}, cutter={"end_scrap": "0.2 m"})
    ring = 1 + 2 + list(PRODUCTS).index("short")
    mother = 1 + model.routes.patterns.index("W")
    assert model.tables["cutter"].piece_kg[ring] == pytest.approx(5)
    assert model.tables["cutter"].end_kg[ring] == pytest.approx(1)
    assert model.tables["cutter"].keep_share[ring] == 1
    assert model.tables["sheets"].piece_kg[mother] == pytest.approx(18)
    assert model.tables["sheets"].keep_share[mother] == pytest.approx(0.9)


@pytest.mark.parametrize(
    ("how", "rate"),
    [
        ({"rate": "12 pieces/min"}, 12),
        ({"rate": "60 kg/min"}, 12),
        ({"rate": None, "speed": "8 m/min"}, 8),
        ({"rate": None, "strokes": "6 strokes/min"}, 6),
        ({"rate": None, "speed": "8 m/min", "strokes": "6 strokes/min"}, 6),
    ],
)
def test_a_cutter_is_as_fast_as_its_rate_or_the_slower_of_strip_and_strokes(how: Parts, rate: float) -> None:
    model = slitting({}, cutter=how)
    ring = 1 + 2 + list(PRODUCTS).index("short")
    assert model.tables["cutter"].speeds[ring] == pytest.approx(rate / MIN)


def test_a_step_told_by_a_rate_takes_its_time_by_mass_or_by_coil() -> None:
    stores = {"ready": COILS | {"capacity": 1}, "done": COILS}
    step: Parts = {"kind": "step", "from": "ready", "to": "done"}
    by_mass = of({"supply": SUPPLY, "work": step | {"rate": "6 t/h"}}, stores)
    by_coil = of({"supply": SUPPLY, "work": step | {"rate": "12 coils/h"}}, stores)
    assert by_mass.tables["work"].s_per_kg[0] * 1000 == pytest.approx(10 * MIN)
    assert by_coil.tables["work"].fixed_s[0] == pytest.approx(5 * MIN)
