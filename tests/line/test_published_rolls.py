"""Rolls that wear out, simulated, against renewal theory."""

import json
import math
from collections.abc import Mapping

import numpy as np
import pytest
from line.judging import HOUR, measure, runs_of, share, stands
from line.oracles import renewal
from line.texts import COILS, scenario

# The strip is as thin as a scenario allows, 0.5 m x 0.01 mm of zinc at 7140 kg/m3, so that a coil may be very long:
# 1 km weighs 35.7 kg; the mill runs 60 km/h.
TONNES_PER_KM = 0.0357
CAMPAIGN_KM = 3355.8


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
    follow damage. Stated to 2 %, and to 5 % for damages. A change waits for the end of its coil: 34 coils are a
    campaign exactly, but after damage within a coil the next limit falls within one too; that is in the exact values.
    """
    worn = {"change_after": f"{CAMPAIGN_KM - 0.01} km", "damage": {"weibull": {"shape": 3, "scale": "7200 km"}}}
    text = rolling(worn | {"change": "1 h", "damaged_change": "6 h"}, coil_km=CAMPAIGN_KM / 34, length="200000 h")
    lost, changes, damaged = [], [], []
    for totals in runs_of(text):
        lost.append(share("mill", "changing_rolls")(totals))
        changes.append(float(totals.rolls_changes.sum()) / totals.duration_s * HOUR * 1000.0)
        damaged.append(float(totals.rolls_damages.sum() / totals.rolls_changes.sum()))

    whole = renewal.campaigns(3.0, 120.0, 55.93, 1.0, 6.0)
    exact = renewal.campaigns_of_coils(3.0, 120.0, 55.93, 1.0, 6.0, coil=55.93 / 34)
    assert (whole.down, whole.damaged) == pytest.approx((0.026438, 0.0963), abs=5e-5)
    assert exact.changes == pytest.approx(whole.changes, rel=2e-3), "coils of this size hardly matter"
    stands(lost, exact.down, within=0.02, narrow=0.014)
    stands(changes, exact.changes * 1000.0, within=0.02, narrow=0.014)
    stands(damaged, exact.damaged, within=0.05, narrow=0.035)
    assert np.mean(changes) == pytest.approx(17.845, rel=0.02)


def test_rolls_run_until_they_are_damaged_stand_still_longer() -> None:
    """Same source: 5.3023 % of the time lost when no change is planned."""
    worn = {"damage": {"weibull": {"shape": 3, "scale": "7200 km"}}, "damaged_change": "6 h"}
    text = rolling(worn, coil_km=1677.9, length="40000 h")

    stands(measure(text, share("mill", "changing_rolls"))[0], 0.053023, within=0.02, narrow=0.014)


@pytest.mark.parametrize(
    ("life", "until", "published", "runs"),
    [
        ({"weibull": {"shape": 2, "scale": "6000 km"}}, 3.0, 3.021745, 400),
        ({"weibull": {"shape": 2, "scale": "6000 km"}}, 2.0, 1.894039, 600),
        ({"uniform": {"low": "0 km", "high": "6000 km"}}, 1.0, math.e - 1.0, 900),
        ({"gamma": {"mean": "6000 km", "cv": 0.5**0.5}}, 4.0, 3.75, 500),
    ],
    ids=json.dumps,
)
def test_changes_that_take_no_time_are_counted_as_renewals(
    life: Mapping[str, object], until: float, published: float, runs: int
) -> None:
    """D. R. Cox, Renewal Theory (1962) (from memory): the expected number up to 1, 2, 3 or 4 times 100 h of rolling.

    Each run holds 50 mills with new rolls.
    """
    worn = {"damage": life, "damaged_change": "0 min"}
    text = rolling(worn, coil_km=2500.0, length=f"{until * 100.0!r} h", machines=50)
    number = [float(totals.rolls_damages.sum()) / 50.0 for totals in runs_of(text, count=runs)]

    stands(number, published)
