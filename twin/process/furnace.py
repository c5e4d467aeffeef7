"""The furnace: heat to pour, melt rate, energy, and what the skimmings take."""

from twin.materials import CELSIUS_ZERO, Material, heat_content
from twin.process.limits import above_zero, not_negative, share


def heat_to_pour(metal: Material, *, charge: float, pour: float) -> float:
    """Return the heat that brings a cold charge to the pouring temperature [J/kg].

    The least that the metal can take: losses of the furnace are not in it.

    Parameters
    ----------
    metal : The metal.
    charge, pour : Temperatures of the charge and of the bath. [K]

    Raises
    ------
    ValueError : The metal is not liquid at the pouring temperature, or the charge is hotter than the bath.
    """
    if pour < metal.melting_point:
        raise ValueError(
            f"{metal.name} is not liquid at {pour - CELSIUS_ZERO:.1f} degC: it melts at "
            f"{metal.melting_point - CELSIUS_ZERO:.1f} degC, so it must be poured hotter than that "
            "(check that the temperature was not given in another unit)"
        )
    if charge > pour:
        raise ValueError(
            f"the charge, {charge - CELSIUS_ZERO:.1f} degC, is hotter than the bath it goes into, "
            f"{pour - CELSIUS_ZERO:.1f} degC: exchange the two"
        )
    return heat_content(metal, charge, pour)


def melt_rate(metal: Material, *, power: float, efficiency: float, charge: float, pour: float) -> float:
    """Return the metal a furnace brings to the pouring temperature [kg/s].

    Parameters
    ----------
    metal : The metal.
    power : Taken from the mains or the burner. [W]
    efficiency : Share of it that ends in the metal. [1]
    charge, pour : Temperatures of the charge and of the bath. [K]
    """
    above_zero(power=power)
    _efficient(efficiency)
    return power * efficiency / heat_to_pour(metal, charge=charge, pour=pour)


def melting_energy(metal: Material, mass: float, *, charge: float, pour: float, efficiency: float) -> float:
    """Return the energy bought to melt a mass and bring it to the pouring temperature [J].

    Parameters
    ----------
    metal : The metal.
    mass : Charged. [kg]
    charge, pour : Temperatures of the charge and of the bath. [K]
    efficiency : Share of the energy that ends in the metal. [1]
    """
    not_negative(mass=mass)
    _efficient(efficiency)
    return mass * heat_to_pour(metal, charge=charge, pour=pour) / efficiency


def efficiency_of(metal: Material, energy_per_mass: float, *, charge: float, pour: float) -> float:
    """Return the efficiency that a furnace's energy bill means [1].

    Parameters
    ----------
    metal : The metal.
    energy_per_mass : Bought for a unit of metal melted, without holding. [J/kg]
    charge, pour : Temperatures of the charge and of the bath. [K]

    Raises
    ------
    ValueError : The bill is below the heat that the metal itself takes.
    """
    above_zero(energy_per_mass=energy_per_mass)
    least = heat_to_pour(metal, charge=charge, pour=pour)
    if energy_per_mass < least:
        raise ValueError(
            f"{energy_per_mass / 3600:.1f} kWh/t is less than the {least / 3600:.1f} kWh/t that {metal.name} itself "
            "takes from charge to pour: check the energy and the tonnes it was divided by"
        )
    return least / energy_per_mass


def holding_energy(power: float, time: float) -> float:
    """Return the energy that keeps a bath hot [J].

    Parameters
    ----------
    power : Holding power. [W]
    time : How long. [s]
    """
    not_negative(power=power, time=time)
    return power * time


def charge_for(mass_out: float, *, loss: float) -> float:
    """Return what must be charged so that this much can be cast [kg].

    Parameters
    ----------
    mass_out : Metal wanted from the bath. [kg]
    loss : Share of the charge that leaves as skimmings and oxide. [1]
    """
    not_negative(mass_out=mass_out)
    share(loss=loss)
    return mass_out / (1.0 - loss)


def recovery_time(
    metal: Material, mass: float, *, power: float, efficiency: float, charge: float, pour: float
) -> float:
    """Return how long the bath takes to come back to its temperature after a charge [s].

    Assumes that nothing is poured meanwhile and that all power serves the charge; holding errs it to the short side.

    Parameters
    ----------
    metal : The metal.
    mass : Charged at once. [kg]
    power, efficiency : As for the melt rate. [W], [1]
    charge, pour : Temperatures of the charge and of the bath. [K]
    """
    not_negative(mass=mass)
    return mass / melt_rate(metal, power=power, efficiency=efficiency, charge=charge, pour=pour)


def _efficient(efficiency: float) -> None:
    if not 0 < efficiency <= 1:
        raise ValueError(f"efficiency is {efficiency:.3g}, but must be above 0 and at most 1 (65 % is 0.65)")
