"""The cutter: pieces from a ring, the end that is left, and the time."""

from dataclasses import dataclass
from math import floor

from twin.process.coil import strip_length, strip_mass
from twin.process.limits import above_zero, not_negative

# A ring that was weighed out for whole pieces must not lose one to the last digit of a float.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Pieces:
    """A ring cut up: pieces, mass of one [kg], mass of the ends [kg]."""

    count: int
    piece_mass: float
    scrap_mass: float


def piece_mass(*, thickness: float, girth: float, length: float, density: float) -> float:
    """Return the mass of one piece [kg].

    Parameters
    ----------
    thickness, girth, length : Of the flat piece; the girth is the width of its strip. [m]
    density : [kg/m3]
    """
    return strip_mass(length, girth, thickness, density)


def pieces_per_ring(
    ring_mass: float, *, thickness: float, girth: float, length: float, density: float, end_scrap: float = 0.0
) -> Pieces:
    """Return how many whole pieces a ring gives; the rest of it is end scrap.

    Parameters
    ----------
    ring_mass : [kg]
    thickness, girth, length : Of a piece. [m]
    density : [kg/m3]
    end_scrap : Strip lost at the ends of the ring, before and after the pieces. [m]

    Raises
    ------
    ValueError : The ring is too short for a single piece.
    """
    not_negative(end_scrap=end_scrap)
    each = piece_mass(thickness=thickness, girth=girth, length=length, density=density)
    run = strip_length(ring_mass, girth, thickness, density) - end_scrap
    count = floor(run / length + _ROUNDING)
    if count < 1:
        raise ValueError(
            f"a ring of {ring_mass:.4g} kg leaves {max(run, 0.0):.4g} m of strip after {end_scrap:g} m of ends, "
            f"too little for one piece of {length:g} m: take a heavier ring or shorter pieces"
        )
    return Pieces(count, each, max(0.0, ring_mass - count * each))


def piece_rate(length: float, *, speed: float | None = None, strokes: float | None = None) -> float:
    """Return the pieces that a cutter makes while it runs [1/s], the slower of its feed and its blade.

    Parameters
    ----------
    length : Of a piece. [m]
    speed : Of the feed. [m/s]
    strokes : Most that the blade can do. [1/s]

    Raises
    ------
    ValueError : Neither was given.
    """
    above_zero(length=length)
    limits = []
    if speed is not None:
        above_zero(speed=speed)
        limits.append(speed / length)
    if strokes is not None:
        above_zero(strokes=strokes)
        limits.append(strokes)
    if not limits:
        raise ValueError("a cutter needs a feed speed, strokes of its blade, or both")
    return min(limits)


def ring_time(pieces: float, rate: float, coil_change: float = 0.0) -> float:
    """Return the time to load a ring and cut it up [s].

    Parameters
    ----------
    pieces : From the ring. [1]
    rate : Of the cutter. [1/s]
    coil_change : Between two rings. [s]
    """
    above_zero(rate=rate)
    not_negative(pieces=pieces, coil_change=coil_change)
    return coil_change + pieces / rate
