"""The rolls: how fast they wear, when a campaign is used up, how often they can be ground."""

from collections.abc import Sequence
from math import floor, inf, pi
from typing import NamedTuple

from twin.process.limits import above_zero, not_negative


class Duty(NamedTuple):
    """Strip that has gone through the rolls under one load.

    Attributes
    ----------
    length : Of the strip behind the rolls. [m]
    mass : Of the strip, counted once for each pass. [kg]
    force_per_width : Roll force over strip width. [N/m]
    thickness : Exit thickness. [m]
    """

    length: float
    mass: float
    force_per_width: float
    thickness: float


class WearLaw(NamedTuple):
    """How much of a roll's life a metre of strip costs, against a metre of reference strip.

    Attributes
    ----------
    force_per_width, thickness : Of the strip whose kilometres count once. [N/m], [m]
    force_exponent, gauge_exponent : How steeply force and thinness count. Assumed as 1 unless a plant's own roll
        records say otherwise: no published value for zinc or aluminium strip was found. [1]
    measured : Whether the exponents come from the plant's own records.
    """

    force_per_width: float
    thickness: float
    force_exponent: float = 1.0
    gauge_exponent: float = 1.0
    measured: bool = False


class CampaignLimit(NamedTuple):
    """When the rolls come out: equivalent kilometres [m], mass [kg], wear depth [m]; infinite where it has no say."""

    length: float = inf
    mass: float = inf
    depth: float = inf


class Used(NamedTuple):
    """Share of a campaign that is used up [1] and the limit that it comes from."""

    share: float
    by: str


def archard_volume(coefficient: float, force: float, distance: float, hardness: float) -> float:
    """Return the volume worn off, k W s / H [m3].

    Parameters
    ----------
    coefficient : k; depends on metal, lubricant and dirt, so it is assumed unless measured. [1]
    force : Pressing the surfaces together. [N]
    distance : Slid. [m]
    hardness : Of the surface that wears. [Pa]

    References
    ----------
    J. F. Archard, J. Appl. Phys. 24 (1953) 981 (from memory).
    """
    not_negative(coefficient=coefficient, force=force, distance=distance)
    above_zero(hardness=hardness)
    return coefficient * force * distance / hardness


def wear_depth(duty: Duty, *, coefficient: float, slip: float, hardness: float, roll_diameter: float) -> float:
    """Return how deep a work roll wears under the strip, on the radius [m].

    Archard's volume spread over the face that the strip touches. The groove at the strip's edges is deeper.

    Parameters
    ----------
    duty : Strip and load.
    coefficient : Archard's k, assumed unless measured. [1]
    slip : Distance slid over length rolled, about a quarter of the reduction (assumed). [1]
    hardness : Of the roll. [Pa]
    roll_diameter : [m]
    """
    above_zero(roll_diameter=roll_diameter)
    not_negative(slip=slip)
    return archard_volume(coefficient, duty.force_per_width, duty.length * slip, hardness) / (pi * roll_diameter)


def wear_weight(duty: Duty, law: WearLaw) -> float:
    """Return how many metres of reference strip a metre of this strip counts for [1].

    Force over width and thinness count by power laws, so a kilometre of thin hard strip costs more life than one of
    thick: the same mark shows more, and the rolls see more kilometres for every tonne.

    Parameters
    ----------
    duty : Strip and load.
    law : Reference strip and exponents.
    """
    above_zero(
        force_per_width=duty.force_per_width,
        thickness=duty.thickness,
        reference_force_per_width=law.force_per_width,
        reference_thickness=law.thickness,
    )
    by_force = (duty.force_per_width / law.force_per_width) ** law.force_exponent
    by_gauge = (law.thickness / duty.thickness) ** law.gauge_exponent
    return float(by_force * by_gauge)


def equivalent_length(duties: Sequence[Duty], law: WearLaw) -> float:
    """Return the length of reference strip that costs the same life [m].

    Parameters
    ----------
    duties : All that the rolls have seen.
    law : Reference strip and exponents.
    """
    return sum(duty.length * wear_weight(duty, law) for duty in duties)


def used(length: float, mass: float, depth: float, limit: CampaignLimit) -> Used:
    """Return how far a campaign is used up, by the limit that comes first.

    Parameters
    ----------
    length : Equivalent kilometres so far. [m]
    mass : Strip so far. [kg]
    depth : Wear so far. [m]
    limit : When the rolls come out.

    Raises
    ------
    ValueError : No limit at all, or one that is not above zero.
    """
    not_negative(length=length, mass=mass, depth=depth)
    shares = {}
    for by, value, most in (
        ("kilometres", length, limit.length),
        ("tonnes", mass, limit.mass),
        ("wear depth", depth, limit.depth),
    ):
        if not most > 0:
            raise ValueError(f"the limit in {by} is {most:g}, but must be above 0")
        if most < inf:
            shares[by] = value / most
    if not shares:
        raise ValueError("a roll campaign needs a limit in kilometres, tonnes or wear depth")
    first = max(shares, key=lambda by: shares[by])
    return Used(shares[first], first)


def grinds_left(diameter: float, scrap_below: float, removed: float) -> int:
    """Return how often a roll can still be ground [1].

    Parameters
    ----------
    diameter, scrap_below : Now, and the least that may be used. [m]
    removed : On the diameter, by one grind. [m]
    """
    above_zero(diameter=diameter, scrap_below=scrap_below, removed=removed)
    if diameter < scrap_below:
        return 0
    return floor((diameter - scrap_below) / removed + 1e-9)
