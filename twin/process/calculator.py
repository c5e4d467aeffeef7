"""What one mother coil makes: strip, rings, pieces and mass, by its mass balance alone."""

from typing import NamedTuple

from twin.process.coil import strip_length
from twin.process.cutter import pieces_per_ring
from twin.process.limits import above_zero, share
from twin.process.slitter import slit


class MotherCoil(NamedTuple):
    """A rolled coil before slitting: mass [kg], width and thickness [m], density [kg/m3]."""

    mass: float
    width: float
    thickness: float
    density: float


class Output(NamedTuple):
    """What the coil makes.

    Attributes
    ----------
    length : Of the rolled coil. [m]
    strip : Of all its rings together. [m]
    pieces, pieces_length : Count, and length of all pieces end to end. [1], [m]
    good, scrap : Mass of the pieces, and of trim and ends. [kg]
    """

    length: float
    strip: float
    pieces: int
    pieces_length: float
    good: float
    scrap: float


class Claim(NamedTuple):
    """Whether a told length of product can be true: most that the metal allows [m], claimed over most, and why."""

    most: float
    ratio: float
    possible: bool
    verdict: str


def calculate(coil: MotherCoil, *, rings: int, ring_width: float, piece_length: float, crop: float = 0.0) -> Output:
    """Return what a mother coil makes when it is slit into equal rings and these are cut into pieces.

    Parameters
    ----------
    coil : The rolled coil.
    rings : Rings side by side. [1]
    ring_width : Width of each, the girth of the product. [m]
    piece_length : Length of a piece. [m]
    crop : Share of the coil cropped before slitting. [1]

    Raises
    ------
    ValueError : The rings are wider than the coil, or a quantity cannot be.
    """
    share(crop=crop)
    mass = coil.mass * (1.0 - crop)
    length = strip_length(mass, coil.width, coil.thickness, coil.density)
    cut = slit(mass, coil.width, (ring_width,) * rings)
    each = pieces_per_ring(
        cut.ring_masses[0], thickness=coil.thickness, girth=ring_width, length=piece_length, density=coil.density
    )
    pieces = rings * each.count
    good = pieces * each.piece_mass
    return Output(length, rings * length, pieces, pieces * piece_length, good, coil.mass - good)


def check_claim(claimed: float, coil: MotherCoil, *, rings: int) -> Claim:
    """Return whether a told total length of product can come from one coil.

    The most that the metal allows is its rolled length times the rings side by side, without any loss.

    Parameters
    ----------
    claimed : The told length of all products end to end. [m]
    coil : The rolled coil.
    rings : Rings side by side. [1]
    """
    above_zero(claimed=claimed, rings=rings)
    most = rings * strip_length(coil.mass, coil.width, coil.thickness, coil.density)
    ratio = claimed / most
    if ratio <= 1.0:
        return Claim(most, ratio, True, f"possible: it takes {ratio:.0%} of the metal")
    verdict = (
        f"not possible: {coil.mass / 1e3:.1f} t gives at most {most / 1e3:.1f} km; {claimed / 1e3:.1f} km would take "
        f"{coil.mass * ratio / 1e3:.1f} t, or strip {coil.thickness / ratio * 1e3:.2f} mm thick, "
        f"or {rings * ratio:.1f} rings side by side"
    )
    return Claim(most, ratio, False, verdict)
