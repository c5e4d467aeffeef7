"""The furnace against worked heat balances."""

import pytest

from twin.materials import CELSIUS_ZERO, heat_content, material
from twin.process.furnace import (
    charge_for,
    efficiency_of,
    heat_to_pour,
    holding_energy,
    melt_rate,
    melting_energy,
    recovery_time,
)

ZINC = material("zinc")
KWH_PER_TONNE = 3600.0


def celsius(degrees: float) -> float:
    """Return kelvin."""
    return degrees + CELSIUS_ZERO


def test_melt_rate_is_power_that_reaches_the_metal_over_its_heat() -> None:
    """600 kW at 65 %, zinc from 25 to 480 degC: 4.587 t/h from SGTE enthalpies; 3 % for the spread of properties."""
    rate = melt_rate(ZINC, power=600e3, efficiency=0.65, charge=celsius(25), pour=celsius(480))

    assert rate * 3.6 == pytest.approx(4.587, rel=0.03)
    assert rate * heat_content(ZINC, celsius(25), celsius(480)) == pytest.approx(600e3 * 0.65, rel=1e-12)


def test_simple_constants_give_nearly_the_same_melt_rate() -> None:
    """0.388 kJ/(kg K) solid, 112 kJ/kg, 0.48 liquid from 20 degC: 4.743 t/h; constant heats are up to 4 % low."""
    by_hand = 600.0 * 0.65 / (0.388 * (419.527 - 20) + 112.0 + 0.48 * (480 - 419.527)) * 3.6

    assert by_hand == pytest.approx(4.743, abs=0.001)
    rate = melt_rate(ZINC, power=600e3, efficiency=0.65, charge=celsius(20), pour=celsius(480)) * 3.6
    assert rate == pytest.approx(by_hand, rel=0.05)
    assert rate < by_hand


def test_zinc_takes_about_88_kwh_a_tonne_to_pour() -> None:
    """20 to 510 degC with 112 kJ/kg of fusion; the printed figure uses rounded heats, so 3 %."""
    heat = heat_to_pour(material("zinc-titanium"), charge=celsius(20), pour=celsius(510))

    assert heat / KWH_PER_TONNE == pytest.approx(88, rel=0.03)


def test_a_furnace_at_750_degrees_fahrenheit_holds_no_liquid_zinc() -> None:
    """Common practice, no source, tells of such a furnace; 398.9 degC is below the fixed point 419.527 (ITS-90)."""
    fahrenheit = 750.0
    kelvin = celsius((fahrenheit - 32.0) / 1.8)

    with pytest.raises(ValueError, match=r"zinc is not liquid at 398\.9 degC: it melts at 419\.5 degC"):
        melt_rate(ZINC, power=600e3, efficiency=0.65, charge=celsius(20), pour=kelvin)
    with pytest.raises(ValueError, match=r"zinc-titanium is not liquid at 398\.9 degC"):
        heat_to_pour(material("zinc-titanium"), charge=celsius(20), pour=kelvin)


def test_a_charge_hotter_than_the_bath_is_refused() -> None:
    """The two temperatures were exchanged."""
    with pytest.raises(ValueError, match=r"the charge, 510\.0 degC, is hotter than the bath"):
        heat_to_pour(ZINC, charge=celsius(510), pour=celsius(480))


def test_energy_bought_and_efficiency_are_two_sides_of_one_balance() -> None:
    """An invented bill: 106 kWh/t for zinc, 20 to 510 degC, is 83 to 85 %."""
    bill = 106 * KWH_PER_TONNE
    efficiency = efficiency_of(ZINC, bill, charge=celsius(20), pour=celsius(510))

    assert 0.82 < efficiency < 0.86
    energy = melting_energy(ZINC, 1000.0, charge=celsius(20), pour=celsius(510), efficiency=efficiency)
    assert energy == pytest.approx(1000.0 * bill, rel=1e-12)


def test_an_energy_bill_below_the_heat_of_the_metal_is_refused() -> None:
    """No furnace melts zinc with 60 kWh/t."""
    with pytest.raises(ValueError, match=r"60\.0 kWh/t is less than the 8\d\.\d kWh/t that zinc itself"):
        efficiency_of(ZINC, 60 * KWH_PER_TONNE, charge=celsius(20), pour=celsius(480))


def test_holding_takes_power_times_time() -> None:
    """85 kW over a week of 168 h: 14.28 MWh."""
    assert holding_energy(85e3, 168 * 3600.0) / 3.6e9 == pytest.approx(14.28)


def test_a_charge_covers_its_loss() -> None:
    """What was lost and what was cast add up to the charge."""
    charge = charge_for(668_600 + 4_800, loss=0.012)

    assert charge * (1 - 0.012) == pytest.approx(673_400)
    assert charge / 1e3 == pytest.approx(681.6, abs=0.05)


def test_a_cold_charge_takes_as_long_as_melting_it() -> None:
    """One tonne at 4.6 t/h: 13 minutes; common practice, no source, says 10 to 30 minutes a tonne."""
    minutes = recovery_time(ZINC, 1000.0, power=600e3, efficiency=0.65, charge=celsius(20), pour=celsius(480)) / 60.0

    assert 10 < minutes < 30


@pytest.mark.parametrize("efficiency", [0.0, -0.1, 1.01, 65.0, float("nan")])
def test_an_efficiency_that_cannot_be_is_refused(efficiency: float) -> None:
    """65 for 65 % is the usual slip."""
    with pytest.raises(ValueError, match="must be above 0 and at most 1"):
        melt_rate(ZINC, power=600e3, efficiency=efficiency, charge=celsius(20), pour=celsius(480))


def test_a_loss_of_all_metal_is_refused() -> None:
    """A share of 1 leaves nothing to cast."""
    with pytest.raises(ValueError, match=r"loss is 100\.000%"):
        charge_for(1000.0, loss=1.0)
