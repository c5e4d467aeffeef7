"""The cross-section by which a product is known, about the origin and some 30 px across."""

from dashboard.charts.coil import coil
from dashboard.charts.svg import tag

_PATHS = {
    # a half-round gutter: front bead at the right, plain back edge at the left
    "half-round gutter": "M-14 -9V-2A13 13 0 0 0 12 -2M12 -2V-6M12.5 -6A4 4 0 1 1 12.5 -7",
    # a box gutter: upright sides, bead at the right
    "box gutter": "M-13 -12V11H12V-4M12 -4A4 4 0 1 1 12.4 -5.4",
    # a round pipe with the seam inside it
    "pipe": "M-12 0A12 12 0 1 0 12 0A12 12 0 1 0 -12 0M-5 -8.4H5",
    # sheets one above the other
    "sheet": "M-16 -6H16M-16 0H16M-16 6H16",
    # an open channel
    "channel": "M-12 -9V9H12V-9",
}


def section(kind: str, mass: float = 1.0) -> str:
    """Return the cross-section of a product; a ring is seen end-on, as it lies."""
    if kind == "ring":
        return coil(12.5 * min(1.0, max(0.6, mass)), 4.0, "pl-ring")
    return tag("path", d=_PATHS[kind], class_="pl-section")
