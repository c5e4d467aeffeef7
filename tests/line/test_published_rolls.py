"""Rolls that wear out, simulated, against renewal theory."""

import json
from collections.abc import Mapping

import numpy as np
import pytest
from line.judging import HOUR, measure, runs_of, share, stands
from line.oracles import renewal
from line.texts import COILS, scenario

# The strip is as thin as a scenario allows, 0.5 m x 0.01 mm of zinc at 7140 kg/m3, so that a coil may be very long:
# 1 km weighs 35.7 kg; the mill runs 60 km/h.
TONNES_PER_KM = 0.0357


def rolling(rolls: Mapping[str, object], *, coil_km: float, length: str, machines: int = 1) -> str:
    """Return one mill that always has metal and does nothing but roll and change rolls."""
    coil = {"mass": f"{coil_km * TONNES_PER_KM!r} t", "width": "500 mm", "thickness": "0.01 mm"}
    mill = {"kind": "mill", "from": "ready", "to": "done", "speed": "1000 m/min", "machines": machines}
    stations = {
        "supply": {"kind": "supply", "to": "ready", "coil": coil},
        "mill": mill | {"rolls": {"sets": "unlimited", "change": "30 min", **rolls}},
    }
    return scenario("A mill and its rolls", {"ready": COILS | {"capacity": 1}, "done": COILS}, stations, length=length)


def test_rolls_changed_at_the_best_age_stand_still_as_long_as_renewal_theory_says() -> None:
    """Life Weibull shape 3, scale 120 h of rolling; a planned change takes 1 h, one after damage 6 h.

    R. E. Barlow and F. Proschan (1965), chapter 4; at 55.93 h 2.6438 % of the time is lost, 9.63 % of the changes
    follow damage. Coils are half a campaign long, so that the change falls due exactly at the end of one. Stated to
    2 %, and to 5 % for damages; half-widths to seven tenths of that.
    """
    worn = {"change_after": "3355.79 km", "damage": {"weibull": {"shape": 3, "scale": "7200 km"}}}
    text = rolling(worn | {"change": "1 h", "damaged_change": "6 h"}, coil_km=1677.9, length="200000 h")
    lost, changes, damaged = [], [], []
    for totals in runs_of(text):
        lost.append(share("mill", "changing_rolls")(totals))
        changes.append(float(totals.rolls.changes.sum()) / totals.duration_s * HOUR * 1000.0)
        damaged.append(float(totals.rolls.damages.sum() / totals.rolls.changes.sum()))

    exact = renewal.campaigns(3.0, 120.0, 55.93, 1.0, 6.0)
    stands(lost, 0.026438, within=0.02, narrow=0.014)
    stands(changes, 17.845, within=0.02, narrow=0.014)
    stands(damaged, 0.0963, within=0.05, narrow=0.035)
    assert (exact.down, exact.damaged) == pytest.approx((0.026438, 0.0963), abs=5e-5)


def test_rolls_run_until_they_are_damaged_stand_still_longer() -> None:
    """Same source: 5.3023 % of the time lost when no change is planned."""
    worn = {"damage": {"weibull": {"shape": 3, "scale": "7200 km"}}, "damaged_change": "6 h"}
    text = rolling(worn, coil_km=1677.9, length="100000 h")

    stands(measure(text, share("mill", "changing_rolls"))[0], 0.053023, within=0.02, narrow=0.014)


@pytest.mark.parametrize(
    ("life", "until", "published"),
    [
        ({"weibull": {"shape": 2, "scale": "6000 km"}}, 3.0, 3.021745),
        ({"weibull": {"shape": 2, "scale": "6000 km"}}, 1.0, 0.753691),
        ({"uniform": {"low": "0 km", "high": "6000 km"}}, 1.0, np.e - 1.0),
        ({"gamma": {"mean": "6000 km", "cv": 0.5**0.5}}, 4.0, 3.75),
    ],
    ids=json.dumps,
)
def test_changes_that_take_no_time_are_counted_as_renewals(
    life: Mapping[str, object], until: float, published: float
) -> None:
    """D. R. Cox, Renewal Theory (1962) (from memory): the expected number up to 1, 3 or 4 times 100 h of rolling.

    Each run holds 50 mills with new rolls.
    """
    worn = {"damage": life, "damaged_change": "0 min"}
    text = rolling(worn, coil_km=2500.0, length=f"{until * 100.0!r} h", machines=50)
    number = [float(totals.rolls.damages.sum()) / 50.0 for totals in runs_of(text, count=1000)]

    stands(number, published)
