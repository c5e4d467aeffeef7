"""A scenario made ready to run: names, which stations flow, days, reasons; and the tables of a trace."""

import numpy as np
import pytest
from line.by_hand import COILS, PIECES, STRIP, Parts, plant, ran, rows, table

from twin.line import simulate
from twin.line.model import model_of
from twin.scenario import loads

PRODUCTS = {"short": {"thickness": "1 mm", "girth": "500 mm", "length": "1 m"}}
PATTERNS = {"S": {"share": "100 %", "thickness": "1 mm", "rings": {"short": 2}}}
ROLLS = {"sets": 3, "change_after": "0.3 km", "change": "5 min", "shop": {"grind": "20 min", "people": 2}}
FAILURE = {"reason": "jam", "every": "300 pieces", "repair": "4 min"}


def whole(minutes: float = 240, **time: object) -> str:
    stations: Parts = {
        "furnace": {"kind": "furnace", "to": "bath", "melt_rate": "20 t/h", "pour": "510 degC", "melt_loss": "1 %"},
        "caster": {
            "kind": "caster",
            "from": "bath",
            "to": "coils",
            "thickness": "2 mm",
            "width": "1 m",
            "speed": "5 m/min",
            "coil": {"mass": "1 t"},
        },
        "mill": {
            "kind": "mill",
            "from": "coils",
            "to": "rolled",
            "passes": {"1 mm": ["1 mm @ 20 m/min"]},
            "rolls": ROLLS,
            "crop": "2 %",
        },
        "slitter": {"kind": "slitter", "from": "rolled", "to": "rings", "speed": "10 m/min"},
        "cutter": {"kind": "cutter", "from": "rings", "to": "blanks", "rate": "20 pieces/min", "coil_change": "1 min"},
        "profiler": {"kind": "profiler", "from": "blanks", "to": "done", "speed": "18 m/min", "failures": [FAILURE]},
    }
    stores: Parts = {
        "bath": {"holds": "metal", "capacity": "9 t"},
        "coils": COILS,
        "rolled": COILS | {"rest": "10 min"},
        "rings": COILS,
        "blanks": PIECES | {"capacity": 60},
        "done": PIECES,
    }
    top: Parts = {"products": PRODUCTS, "patterns": PATTERNS}
    if time:
        top |= {"time": {"length": f"{minutes!r} min", **time}}
    return plant(stores, stations, minutes, **top)


def test_machines_stand_station_by_station_and_the_people_of_the_roll_shop_last() -> None:
    layout = model_of(loads(whole())).layout
    assert layout.machines[0] == ("furnace", 1)
    assert layout.machines[-2:] == (("mill roll shop", 1), ("mill roll shop", 2))
    assert layout.kinds[-1] == "roll shop"
    assert layout.mills == ("mill",)


def test_what_has_no_product_has_a_word_of_its_own() -> None:
    layout = model_of(loads(whole())).layout
    assert layout.products == ("short", "piece")
    stations = {"one": {"kind": "step", "to": "done", "rate": "1 t/h"}}
    assert model_of(loads(plant({"done": STRIP}, stations, 10))).layout.products == ("strip",)


def test_material_runs_through_what_is_not_worked_coil_by_coil() -> None:
    model = model_of(loads(whole()))
    assert model.flowing == {"furnace", "caster", "cutter", "profiler"}
    assert model.finished == {"done"}


def test_a_model_is_made_once_for_each_content() -> None:
    text = whole()
    assert model_of(loads(text)) is model_of(loads(text))
    assert model_of(loads(text)) is not model_of(loads(whole(300)))


def test_only_a_typical_start_has_a_warm_up() -> None:
    begin = {"warm_up": "1 h"}
    typical = whole(240, **begin).replace('"start": "empty"', '"start": "typical"')
    assert model_of(loads(typical)).warm_up == 3600
    assert model_of(loads(whole(240, **begin))).warm_up == 0


@pytest.mark.parametrize(
    ("start", "zone", "hours", "days"),
    [
        ("2026-01-05 06:00", "UTC", 48, [18, 42]),
        ("2026-03-28 12:00", "Europe/Vienna", 48, [12, 35]),  # the clocks go forward: Sunday has 23 h
        ("2026-10-24 12:00", "Europe/Vienna", 48, [12, 37]),  # and back: 25 h
        ("2026-01-05 00:00", "UTC", 48, [24]),
    ],
)
def test_days_turn_at_local_midnight(start: str, zone: str, hours: float, days: list[float]) -> None:
    text = whole(hours * 60, start=start, zone=zone)
    assert [at / 3600 for at in model_of(loads(text)).days] == days


def test_reasons_are_the_fixed_ones_then_who_is_shared_then_the_plants_own() -> None:
    reasons = model_of(loads(whole())).reasons
    assert reasons[-1] == "jam"
    assert reasons[0] == ""


# The trace


def test_states_fill_the_clock_of_every_machine_the_roll_shop_among_them() -> None:
    run = ran(whole())
    told = table(run, "states")
    for station, machine in run.totals.layout.machines:
        mine = (told["station"] == station) & (told["machine"] == machine)
        starts, ends = told["start_s"][mine], told["end_s"][mine]
        assert starts[0] == 0 and ends[-1] == 240 * 60
        assert (starts[1:] == ends[:-1]).all()


def test_a_coil_is_found_at_every_station_that_it_went_through() -> None:
    """The first mother coil, its rings, and what they weigh: 1 t cast, 980 kg rolled, rings of 490 kg."""
    run = ran(whole())
    assert rows(run, "coils", "station", "mass_kg", "length_m", "thickness_mm", coil=1) == [
        ("caster", 1000, 50, 2),
        ("mill", 980, 98, 1),
        ("slitter", 980, 98, 1),
    ]
    rings = rows(run, "coils", "coil", "mass_kg", "length_m", "width_mm", parent=1, station="slitter")
    assert [row[1:] for row in rings] == [(490, 98, 500), (490, 98, 500)]
    worked = [coil for (coil,) in rows(run, "coils", "coil", parent=1, station="cutter")]
    assert worked == [row[0] for row in rings]


def test_levels_tell_what_lies_there_and_how_many_coils_may_be_taken() -> None:
    run = ran(whole())
    told = rows(run, "levels", "time_s", "level", "ready", store="rolled")
    assert all(0 <= ready <= level for _, level, ready in told)
    # Cast until 10, rolled until 15; at 25 the first may be taken, and is, and the second is set down.
    assert (15, 1, 0) in told
    assert (25, 1, 0) in told


def test_a_roll_set_is_somewhere_all_the_time() -> None:
    run = ran(whole())
    for number in (1, 2, 3):
        spans = rows(run, "sets", "start_s", "end_s", set=number)
        assert spans[0][0] == 0 and spans[-1][1] == 240
        assert all(before[1] == after[0] for before, after in zip(spans, spans[1:], strict=False))


def test_a_trace_changes_nothing() -> None:
    scenario = loads(whole())
    assert simulate(scenario, clock="pure", trace=True).totals.digest == simulate(scenario, clock="pure").totals.digest


def test_a_trace_begins_where_counting_begins() -> None:
    text = whole(240, warm_up="2 h").replace('"start": "empty"', '"start": "typical"')
    run = ran(text)
    for name in ("states", "coils", "output", "scrap", "levels", "sets"):
        own = table(run, name)
        column = next(key for key in ("end_s", "time_s") if key in own)
        assert float(np.min(own[column])) >= 7200
    assert float(np.min(table(run, "states")["start_s"])) == 7200
