"""Sizes of gutters and flat products that standards name."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

# EN 988:1996 section 5, as far as a scanned text showed it: thicknesses [m], their tolerance [m], sheet lengths [m].
PREFERRED_THICKNESSES = (0.60e-3, 0.65e-3, 0.70e-3, 0.80e-3, 1.00e-3)
THICKNESS_TOLERANCE = 0.03e-3
PREFERRED_SHEET_LENGTHS = (2.0, 3.0)
NARROWEST_STRIP, WIDEST_STRIP = 0.100, 1.000

# Longest gutter between two expansion joints, fixed outside, up to the size 500 (after DIN 18461 as quoted). [m]
EXPANSION_JOINT_SPACING = 15.0


class GutterSize(NamedTuple):
    """A half-round gutter, all lengths in metres.

    Attributes
    ----------
    girth : Width of the strip it is made of, by which it is named. [m]
    thickness : Least nominal thickness by metal. [m]
    bead, diameter, rear_edge : Of the half-round shape. [m]
    """

    girth: float
    thickness: Mapping[str, float]
    bead: float
    diameter: float
    rear_edge: float


_METALS = ("aluminium", "copper", "galvanised steel", "zinc", "stainless steel")
_THICKNESS_MM = {
    200: (0.7, 0.6, 0.6, 0.65, 0.4),
    250: (0.7, 0.6, 0.6, 0.65, 0.4),
    280: (0.7, 0.6, 0.6, 0.70, 0.4),
    333: (0.7, 0.6, 0.6, 0.70, 0.4),
    400: (0.8, 0.7, 0.7, 0.80, 0.5),
    500: (0.8, 0.7, 0.7, 0.80, 0.5),
}
_SHAPE_MM = {
    200: (16, 80, 8),
    250: (18, 105, 10),
    280: (18, 127, 11),
    333: (20, 153, 11),
    400: (22, 192, 11),
    500: (22, 250, 21),
}


def gutter_sizes() -> tuple[int, ...]:
    """Return the nominal sizes of gutters: the width of their strip in millimetres."""
    return tuple(_SHAPE_MM)


def gutter_size(nominal: int) -> GutterSize:
    """Return the half-round gutter of a nominal size.

    Parameters
    ----------
    nominal : Width of its strip, as the size is named. [mm]

    Raises
    ------
    ValueError : No such size.

    References
    ----------
    EN 612:2005 as quoted in dimension tables of the trade (the standard itself was not seen); shapes after
    DIN 18461 as quoted there.
    """
    if nominal not in _SHAPE_MM:
        known = ", ".join(str(size) for size in _SHAPE_MM)
        raise ValueError(f"no gutter has the nominal size {nominal}: sizes are {known} mm of strip width")
    bead, diameter, rear_edge = (millimetres / 1e3 for millimetres in _SHAPE_MM[nominal])
    thickness = {metal: mm / 1e3 for metal, mm in zip(_METALS, _THICKNESS_MM[nominal], strict=True)}
    return GutterSize(nominal / 1e3, MappingProxyType(thickness), bead, diameter, rear_edge)
