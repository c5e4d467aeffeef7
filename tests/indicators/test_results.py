"""The results of made-up weeks whose every number can be worked out on paper."""

from math import sqrt
from pathlib import Path

import numpy as np
import pytest
from made_totals import HOUR, MADE_SCENARIO, made_totals, quiet_totals

from twin.indicators import ISO_MAPPING, columns, measure, summarise
from twin.indicators.columns import ISO, STATES
from twin.indicators.iso22400 import (
    Elements,
    allocation_efficiency,
    availability,
    effectiveness,
    nee_index,
    oee_index,
    quality_ratio,
    rework_ratio,
    scrap_ratio,
    set_up_ratio,
    technical_efficiency,
    utilisation_efficiency,
)
from twin.indicators.measure import quantiles

# made up for the check and worked out by hand from the formulas of ISO 22400-2:2014 (from memory; no
# worked number of the standard was found); times in minutes
UNIT = Elements(
    planned_busy=450.0,
    unit_busy=420.0,
    processing=405.0,
    production=360.0,
    set_up=45.0,
    delay=15.0,
    ideal_run=0.5 * 648.0,
    produced=648.0,
    good=622.0,
    scrap=16.0,
    rework=10.0,
)


def approx(printed: float) -> object:
    """Compare with a value printed to six decimals."""
    return pytest.approx(printed, abs=5e-7)


def test_ratios_follow_the_definitions_of_iso_22400() -> None:
    assert availability(UNIT) == approx(0.8)
    assert effectiveness(UNIT) == approx(0.9)
    assert quality_ratio(UNIT) == approx(0.959877)
    assert oee_index(UNIT) == approx(0.691111)
    assert nee_index(UNIT) == approx(0.7775)
    assert utilisation_efficiency(UNIT) == approx(0.857143)
    assert allocation_efficiency(UNIT) == approx(0.933333)
    assert technical_efficiency(UNIT) == approx(0.96)
    assert set_up_ratio(UNIT) == approx(0.111111)
    assert scrap_ratio(UNIT) == approx(0.024691)
    assert rework_ratio(UNIT) == approx(0.015432)


def test_the_oee_index_is_ideal_time_of_good_pieces_over_planned_busy_time() -> None:
    assert oee_index(UNIT) == pytest.approx(0.5 * 622.0 / 450.0, rel=1e-12)


def test_the_line_by_hand() -> None:
    line = summarise([made_totals()], MADE_SCENARIO, 1)["line"]

    assert line["good"] == {"mean": pytest.approx(126.0 / 168.0), "low": None, "high": None, "unit": "t/h"}
    assert line["pieces"]["mean"] == pytest.approx(150.0)
    assert line["scrap"]["mean"] == pytest.approx(18.0 / 168.0)
    assert line["yield"]["mean"] == pytest.approx(126.0 / 144.0)
    assert line["lead_time"]["mean"] == pytest.approx(50.0)
    assert [line["lead_time"]["quantiles"][q]["mean"] for q in ("0.1", "0.5", "0.9")] == [10.0, 50.0, 90.0]
    assert line["wip"]["mean"] == pytest.approx(30.0)


def test_a_station_of_two_machines_by_hand() -> None:
    """Two mills: 336 machine hours, of which 124 closed; 170 t out, 10 t scrapped; 8.4 h lost to speed."""
    mill = summarise([made_totals()], MADE_SCENARIO, 1)["stations"]["mill"]

    assert mill["machines"] == 2
    assert mill["out"]["mean"] == pytest.approx(170.0 / 168.0)
    assert mill["coils"]["mean"] == pytest.approx(34.0 / 168.0)
    assert mill["scrap"]["mean"] == pytest.approx(10.0 / 168.0)
    assert mill["stops"]["mean"] == pytest.approx(7.0 / 168.0)
    assert mill["share"]["running"]["mean"] == pytest.approx(126.0 / 336.0)
    assert sum(mill["share"][state]["mean"] for state in STATES) == pytest.approx(1.0)
    assert mill["slowed"]["mean"] == pytest.approx(8.4 / 336.0)
    assert mill["iso"]["availability"]["mean"] == pytest.approx(126.0 / 212.0)
    assert mill["iso"]["effectiveness"]["mean"] == pytest.approx(117.6 / 126.0)
    assert mill["iso"]["quality_ratio"]["mean"] == pytest.approx(170.0 / 180.0)
    assert mill["iso"]["oee_index"]["mean"] == pytest.approx(117.6 / 212.0 * 170.0 / 180.0)
    assert tuple(mill["iso"]) == ISO


def test_only_a_supply_turns_coils_away() -> None:
    stations = summarise([made_totals()], MADE_SCENARIO, 1)["stations"]

    assert stations["supply"]["turned_away"]["mean"] == pytest.approx(10.0 / 40.0)
    assert "turned_away" not in stations["mill"]


def test_stores_and_rolls_by_hand() -> None:
    results = summarise([made_totals()], MADE_SCENARIO, 1)

    yard, done, rolls = results["stores"]["yard"], results["stores"]["done"], results["rolls"]["mill"]
    assert (yard["level"]["mean"], yard["level"]["unit"]) == (pytest.approx(5.0), "coils")
    assert (done["level"]["mean"], done["level"]["unit"]) == (pytest.approx(2.0), "t")
    assert (yard["peak"]["mean"], done["peak"]["mean"]) == (9.0, 4.0)
    assert (yard["full"]["mean"], yard["empty"]["mean"]) == (pytest.approx(0.1), pytest.approx(0.25))
    assert {key: rolls[key]["mean"] for key in ("changes", "damages", "campaign")} == pytest.approx(
        {"changes": 4.0, "damages": 1.0, "campaign": 50.0}
    )


def test_roll_changes_of_two_mills_take_a_share_of_both_their_clocks() -> None:
    """2.1 h of changing and 4.2 h of waiting for a set, of 336 machine hours, as in the states of the station."""
    results = summarise([made_totals()], MADE_SCENARIO, 1)
    rolls, states = results["rolls"]["mill"], results["stations"]["mill"]["share"]

    assert rolls["downtime"]["mean"] == pytest.approx(2.1 / 336.0)
    assert rolls["downtime"]["mean"] == pytest.approx(states["changing_rolls"]["mean"])
    assert rolls["waiting_for_set"]["mean"] == pytest.approx(4.2 / 336.0)


def test_the_limit_moves_from_the_mills_to_the_profiler_by_hand() -> None:
    """Both mills are active for 42 h of 168, then the profiler for the other 126."""
    shares = summarise([made_totals()], MADE_SCENARIO, 1)["bottleneck"]

    assert {name: row["share"]["mean"] for name, row in shares.items()} == {
        "supply": 0.0,
        "mill": pytest.approx(0.25),
        "profiler": pytest.approx(0.75),
        "mill roll shop": 0.0,
    }


def test_intervals_are_of_student_over_the_runs() -> None:
    """Three weeks of 84, 96 and 90 t of gutters make 126, 144 and 135 t in all."""
    good = summarise([made_totals(t) for t in (84.0, 96.0, 90.0)], MADE_SCENARIO, 1)["line"]["good"]

    half = 4.302653 * 9.0 / sqrt(3.0) / 168.0  # t of 2 degrees of freedom at 0.975: any table
    assert good["mean"] == pytest.approx(135.0 / 168.0)
    assert good["high"] - good["mean"] == pytest.approx(half, rel=1e-6)
    assert good["mean"] - good["low"] == pytest.approx(half, rel=1e-6)


def test_what_no_run_could_tell_is_null_and_not_zero() -> None:
    results = summarise([quiet_totals()], MADE_SCENARIO, 1)

    assert results["line"]["lead_time"]["mean"] is None
    assert results["bottleneck"]["mill"]["share"]["mean"] is None


def test_a_run_without_a_value_is_left_out_of_the_mean() -> None:
    results = summarise([made_totals(), quiet_totals()], MADE_SCENARIO, 1)

    assert results["line"]["lead_time"]["mean"] == pytest.approx(50.0)
    assert results["line"]["lead_time"]["low"] is None


def test_balances_are_the_worst_of_all_runs() -> None:
    results = summarise([made_totals(), made_totals(mass_error_kg=-2e-3)], MADE_SCENARIO, 1)

    assert results["balance"] == {"mass_error_kg": 2e-3, "time_error_s": 0.0}


def test_a_crane_is_told_by_how_many_are_in_use_at_once_on_average() -> None:
    """Two cranes lift for 42 h in all, in a week of 168 h."""
    assert summarise([made_totals()], MADE_SCENARIO, 1)["shared"]["crane"]["in_use"]["mean"] == pytest.approx(0.25)


def test_the_head_names_scenario_seed_runs_and_length() -> None:
    results = summarise([made_totals(), made_totals()], MADE_SCENARIO, 7)

    head = {key: results[key] for key in ("passline", "scenario", "digest", "seed", "runs", "length_h", "warm_up_h")}
    assert head == {
        "passline": 1,
        "scenario": "Three stations, no room between",
        "digest": MADE_SCENARIO.digest,
        "seed": 7,
        "runs": 2,
        "length_h": 168.0,
        "warm_up_h": 24.0,
    }


def test_there_is_a_number_for_every_column() -> None:
    totals = made_totals()

    assert measure(totals).shape == (len(columns(totals.layout)),)
    assert len({column.path for column in columns(totals.layout)}) == len(columns(totals.layout))


def test_quantiles_lie_between_order_statistics() -> None:
    """Hyndman and Fan 1996, definition 7, which numpy has as its default."""
    values = np.array([3.0, 1.0, 10.0, 2.0]) * HOUR

    assert quantiles(values).tolist() == pytest.approx(np.quantile(values, [0.1, 0.5, 0.9]).tolist())


def test_the_mapping_to_iso_22400_is_printed_in_the_documents(root: Path) -> None:
    page = (root / "docs" / "iso22400.md").read_text(encoding="utf-8")

    assert [element for element, ours in ISO_MAPPING.items() if element not in page or ours not in page] == []
