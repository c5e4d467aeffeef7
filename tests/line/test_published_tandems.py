"""Stations in a row that block and starve each other, simulated, against the exact chain and the tables.

Blocking after service: a finished coil stays on its station until the next place is free.
"""

import numpy as np
import pytest
from line.judging import coils_per_hour, measure, runs_of, share, stands, stay
from line.oracles import recursion, tandem, tandem_by_ciw
from line.texts import exponential, in_a_row
from scipy.stats import t

from twin.line import simulate
from twin.scenario import loads


def works(rates: tuple[float, ...]) -> list[dict[str, object]]:
    """Return exponential stations with these rates an hour."""
    return [{"time": exponential(f"{1.0 / rate!r} h")} for rate in rates]


@pytest.mark.parametrize(
    ("rates", "places", "published"),
    [
        ((1, 1), (0,), 2 / 3),
        ((1, 1), (1,), 3 / 4),
        ((1, 1), (2,), 4 / 5),
        ((1, 1), (10,), 12 / 13),
        ((1, 1, 1), (0, 0), 22 / 39),
        ((1, 1, 1), (1, 1), 8529 / 12721),
        ((1, 1, 1, 1), (0, 0, 0), 0.514775),
        ((1, 2), (1,), 14 / 15),
    ],
)
def test_a_saturated_tandem_makes_what_the_tables_say(
    rates: tuple[float, ...], places: tuple[int, ...], published: float
) -> None:
    """F. S. Hillier and R. W. Boling, Operations Research 15 (1967) 286-303, tables (from memory)."""
    text = in_a_row(works(rates), places, warm_up="200 h", length="14000 h")
    last = f"work {len(rates) - 1}"
    made, first = measure(text, coils_per_hour(last), coils_per_hour("work 0"))

    stands(made, published)
    assert np.mean(first) == pytest.approx(np.mean(made), rel=1e-3), "what goes in comes out"


def test_three_stations_without_places_stand_blocked_and_starved_as_published() -> None:
    """Same source; 22/39 also G. C. Hunt, Operations Research 4 (1956)."""
    text = in_a_row(works((1, 1, 1)), (0, 0), warm_up="200 h", length="80000 h")
    blocked_1, blocked_2, starved_2, starved_3, blocked_3, starved_1 = measure(
        text,
        share("work 0", "blocked"),
        share("work 1", "blocked"),
        share("work 1", "starved"),
        share("work 2", "starved"),
        share("work 2", "blocked"),
        share("work 0", "starved"),
    )

    stands(blocked_1, 17 / 39)
    stands(blocked_2, 9 / 39)
    stands(starved_2, 8 / 39)
    stands(starved_3, 17 / 39)
    assert max(blocked_3) == max(starved_1) == 0.0


@pytest.mark.parametrize(("rates", "places"), [((2.0, 1.0, 1.5), (1, 2)), ((1.5, 1.0, 2.0), (2, 1))])
def test_a_line_and_its_mirror_image_make_the_same(rates: tuple[float, ...], places: tuple[int, ...]) -> None:
    """E. J. Muth, Management Science 25 (1979) (from memory): 0.889976 both ways."""
    made = measure(in_a_row(works(rates), places, warm_up="200 h", length="14000 h"), coils_per_hour("work 2"))[0]

    stands(made, 0.889976)
    assert tandem.exponential_tandem(rates, places).output == pytest.approx(0.889976, abs=5e-7)


@pytest.mark.parametrize("places", [0, 5, None])
def test_ten_coils_through_three_fixed_stations_take_57_minutes(places: int | None) -> None:
    """By hand: stations of 3, 5 and 4 minutes; 12 minutes for the first coil, then one every 5."""
    fixed = [{"time": f"{minutes} min"} for minutes in (3, 5, 4)]
    plant = loads(in_a_row(fixed, (places, places), length="3 h"))
    trace = simulate(plant, trace=True).trace
    assert trace is not None
    output = trace.tables["output"]
    finished = output["time_s"][output["station"] == "work 2"]

    assert finished[:10] == pytest.approx([720.0 + 300.0 * i for i in range(10)], rel=1e-12)
    assert recursion.makespan(np.tile([180.0, 300.0, 240.0], (10, 1)), [places or 0] * 2) == 57 * 60.0


def test_a_tandem_with_arrivals_agrees_with_ciw() -> None:
    """ciw (github.com/CiwPython/Ciw, its documentation on blocking): mean stay, apart by chance only; 20 runs each."""
    by_ciw = [tandem_by_ciw.mean_stay(4.0, (1, 1, 1), (0, 1), until=12000, warm_up=300, seed=s) for s in range(20)]
    text = in_a_row(works((1, 1, 1)), (0, 1), gap=exponential("4 h"), warm_up="300 h", length="40000 h")
    ours = [stay()(totals) for totals in runs_of(text)]
    spread = np.sqrt((np.var(by_ciw, ddof=1) + np.var(ours, ddof=1)) / 20)

    assert t.ppf(0.995, 38) * spread < 0.02 * np.mean(ours)
    assert abs(np.mean(by_ciw) - np.mean(ours)) < t.ppf(0.995, 38) * spread
