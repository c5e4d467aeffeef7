"""The profiler: time for a piece, and the girth that a shape takes."""

from collections.abc import Sequence
from math import pi
from typing import NamedTuple

from twin.process.limits import above_zero, not_negative, share

# A bend this much tighter than the sheet is thick stretches it more (Groover, sheet-metal bending).
_TIGHT_BEND, _TIGHT_FACTOR, _WIDE_FACTOR = 2.0, 0.33, 0.50


class Bend(NamedTuple):
    """A bend of a profile: angle through which the sheet is turned [rad] and inner radius [m]."""

    angle: float
    radius: float


def piece_time(length: float, speed: float, *, gap: float = 0.0) -> float:
    """Return the time from one piece to the next [s].

    Parameters
    ----------
    length : Of a piece. [m]
    speed : Of the line. [m/s]
    gap : Between a piece and the next. [m]
    """
    above_zero(length=length, speed=speed)
    not_negative(gap=gap)
    return (length + gap) / speed


def good_pieces(pieces: float, scrap: float) -> float:
    """Return the pieces that pass, on average [1].

    Parameters
    ----------
    pieces : Formed. [1]
    scrap : Share that does not pass. [1]
    """
    not_negative(pieces=pieces)
    share(scrap=scrap)
    return pieces * (1.0 - scrap)


def bend_factor(radius: float, thickness: float) -> float:
    """Return where the unstretched fibre lies, as a share of the thickness from the inside [1].

    Parameters
    ----------
    radius : Inner radius of the bend. [m]
    thickness : [m]

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, sheet-metal bending (from memory): 0.33 below a radius of
    two thicknesses, 0.50 from there on.
    """
    not_negative(radius=radius)
    above_zero(thickness=thickness)
    return _TIGHT_FACTOR if radius < _TIGHT_BEND * thickness else _WIDE_FACTOR


def bend_allowance(angle: float, radius: float, thickness: float, factor: float | None = None) -> float:
    """Return the length of sheet that a bend takes [m].

    Parameters
    ----------
    angle : Through which the sheet is turned. [rad]
    radius : Inner radius of the bend. [m]
    thickness : [m]
    factor : Place of the unstretched fibre; left out, by `bend_factor`. [1]

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, sheet-metal bending (from memory).
    """
    above_zero(angle=angle)
    place = bend_factor(radius, thickness) if factor is None else factor
    return angle * (radius + place * thickness)


def developed_girth(flats: Sequence[float], bends: Sequence[Bend], thickness: float) -> float:
    """Return the width of the strip that a folded shape takes [m].

    Parameters
    ----------
    flats : Straight parts between the bends. [m]
    bends : All its bends.
    thickness : [m]
    """
    not_negative(**{f"flat part {number}": flat for number, flat in enumerate(flats, start=1)})
    return sum(flats) + sum(bend_allowance(bend.angle, bend.radius, thickness) for bend in bends)


def half_round_girth(diameter: float, bead: float, rear_edge: float, straight: float = 0.0) -> float:
    """Return the width of the strip that a half-round gutter takes [m].

    Half a circle, a closed bead in front and the turned rear edge; both diameters are measured at the middle of the
    sheet, so a gutter measured outside is overstated by about three sheet thicknesses.

    Parameters
    ----------
    diameter, bead : Of the gutter and of its bead. [m]
    rear_edge : Turned over at the back. [m]
    straight : Sum of the straight parts above the half circle. [m]
    """
    above_zero(diameter=diameter)
    not_negative(bead=bead, rear_edge=rear_edge, straight=straight)
    return pi * diameter / 2.0 + pi * bead + rear_edge + straight


def round_pipe_girth(diameter: float, seam: float = 0.0) -> float:
    """Return the width of the strip that a round pipe takes [m].

    Parameters
    ----------
    diameter : At the middle of the sheet. [m]
    seam : Taken up by a lap or lock seam; none for a butt weld. [m]
    """
    above_zero(diameter=diameter)
    not_negative(seam=seam)
    return pi * diameter + seam


def square_pipe_girth(side: float, seam: float = 0.0) -> float:
    """Return the width of the strip that a square pipe takes, its corners taken as sharp [m].

    Parameters
    ----------
    side : At the middle of the sheet. [m]
    seam : Taken up by a lap or lock seam. [m]
    """
    above_zero(side=side)
    not_negative(seam=seam)
    return 4.0 * side + seam


def thermal_movement(length: float, temperature_change: float, expansion: float) -> float:
    """Return how much longer a fixed length grows when it warms [m].

    Parameters
    ----------
    length : [m]
    temperature_change : [K]
    expansion : Of the metal. [1/K]
    """
    above_zero(length=length)
    return length * temperature_change * expansion
