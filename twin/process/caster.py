"""The caster: tonnes an hour from a moving strip, and how thickness sets the pace."""

from twin.process.limits import above_zero


def mass_flow(thickness: float, width: float, speed: float, density: float) -> float:
    """Return the metal that leaves as strip [kg/s].

    Parameters
    ----------
    thickness, width : Of the cast strip. [m]
    speed : Of the strip. [m/s]
    density : Of the solid metal. [kg/m3]
    """
    above_zero(thickness=thickness, width=width, speed=speed, density=density)
    return thickness * width * speed * density


def speed_for(rate: float, *, thickness: float, width: float, density: float) -> float:
    """Return the strip speed that gives a casting rate [m/s].

    Parameters
    ----------
    rate : Metal cast. [kg/s]
    thickness, width : Of the cast strip. [m]
    density : Of the solid metal. [kg/m3]
    """
    above_zero(rate=rate, thickness=thickness, width=width, density=density)
    return rate / (thickness * width * density)


def coil_time(coil_mass: float, rate: float) -> float:
    """Return the time to cast one coil [s].

    Parameters
    ----------
    coil_mass : [kg]
    rate : Casting rate. [kg/s]
    """
    above_zero(coil_mass=coil_mass, rate=rate)
    return coil_mass / rate


def solidification_ratio(thickness: float, reference: float, exponent: float = 2.0) -> float:
    """Return how long a strip takes to solidify, measured by a strip of the reference thickness [1].

    Chvorinov's rule: time goes with (volume / cooled surface) squared, and for a strip cooled on both faces that
    ratio is half its thickness. Where the mould's heat transfer rules, as on steel belts, the exponent lies between
    1 and 2, so that the gain from a thinner strip is overstated here.

    Parameters
    ----------
    thickness, reference : The two thicknesses. [m]
    exponent : 2 after Chvorinov. [1]

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, chapter 10 (from memory).
    """
    above_zero(thickness=thickness, reference=reference, exponent=exponent)
    return float((thickness / reference) ** exponent)
