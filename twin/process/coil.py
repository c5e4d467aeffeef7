"""A coil: length, mass, diameter, wraps, and what can be made of it."""

from math import floor, pi, sqrt
from typing import NamedTuple

from twin.process.limits import above_zero

LEAST_FILL, SOLID = 0.5, 1.0


class Winding(NamedTuple):
    """A coil wound layer by layer: wraps (the last one counted whole) and outer diameter [m]."""

    wraps: int
    outer_diameter: float


def mass_per_length(width: float, thickness: float, density: float) -> float:
    """Return the mass of a metre of strip [kg/m].

    Parameters
    ----------
    width, thickness : [m]
    density : [kg/m3]
    """
    above_zero(width=width, thickness=thickness, density=density)
    return width * thickness * density


def strip_length(mass: float, width: float, thickness: float, density: float) -> float:
    """Return the length of strip in a coil, from its mass [m].

    Parameters
    ----------
    mass : [kg]
    width, thickness : [m]
    density : [kg/m3]
    """
    above_zero(mass=mass)
    return mass / mass_per_length(width, thickness, density)


def strip_mass(length: float, width: float, thickness: float, density: float) -> float:
    """Return the mass of a length of strip [kg].

    Parameters
    ----------
    length, width, thickness : [m]
    density : [kg/m3]
    """
    above_zero(length=length)
    return length * mass_per_length(width, thickness, density)


def rolled_length(length: float, thickness_in: float, thickness_out: float) -> float:
    """Return the length of strip after it has been thinned at constant width [m].

    Parameters
    ----------
    length : Before. [m]
    thickness_in, thickness_out : [m]
    """
    above_zero(length=length, thickness_in=thickness_in, thickness_out=thickness_out)
    return length * thickness_in / thickness_out


def outer_diameter(length: float, thickness: float, inner_diameter: float, fill: float = 1.0) -> float:
    """Return the outer diameter of a coil, from the area of its side face [m].

    Parameters
    ----------
    length, thickness : Of the strip. [m]
    inner_diameter : Of the coil. [m]
    fill : Share of the side face that is metal, the rest being air between the wraps; usually 0.97 to 0.99
        (common practice, no source). [1]
    """
    above_zero(length=length, thickness=thickness, inner_diameter=inner_diameter)
    return sqrt(4.0 * length * _pitch(thickness, fill) / pi + inner_diameter**2)


def wind(length: float, thickness: float, inner_diameter: float, fill: float = 1.0) -> Winding:
    """Return wraps and outer diameter of a coil wound layer by layer.

    Wrap i has the circumference pi (inner diameter + (2 i - 1) pitch), so n wraps hold pi (inner n + pitch n2);
    that is solved for n and rounded up to the wrap in which the strip ends.

    Parameters
    ----------
    length, thickness : Of the strip. [m]
    inner_diameter : Of the coil. [m]
    fill : Share of the side face that is metal. [1]
    """
    above_zero(length=length, thickness=thickness, inner_diameter=inner_diameter)
    pitch = _pitch(thickness, fill)
    exact = (sqrt(inner_diameter**2 + 4.0 * pitch * length / pi) - inner_diameter) / (2.0 * pitch)
    wraps = floor(exact) if exact - floor(exact) < 1e-9 else floor(exact) + 1
    return Winding(wraps, inner_diameter + 2.0 * pitch * wraps)


def mass_mismatch(mass: float, length: float, *, width: float, thickness: float, density: float) -> float:
    """Return by how much a recorded mass exceeds that of the recorded strip, as a share of the strip's [1].

    Beyond 3 % one of the records is likely to be wrong (common practice, no source).

    Parameters
    ----------
    mass, length : As recorded. [kg], [m]
    width, thickness : As recorded. [m]
    density : [kg/m3]
    """
    above_zero(mass=mass)
    return mass / strip_mass(length, width, thickness, density) - 1.0


def _pitch(thickness: float, fill: float) -> float:
    """Return the distance from wrap to wrap [m]."""
    if not LEAST_FILL <= fill <= SOLID:
        raise ValueError(
            f"fill is {fill:g}, but must be from {LEAST_FILL:g} to 1 (tightly wound strip has 0.97 to 0.99)"
        )
    return thickness / fill
