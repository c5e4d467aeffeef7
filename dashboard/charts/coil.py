"""A coil as it looks end-on: an Archimedean spiral from its bore to its outer turn, so that its area is its mass."""

from math import cos, pi, sin, sqrt

from dashboard.charts.svg import number, tag

BORE_MM = 508.0
"""Bore of a coil, 20 in: common practice, no source. [mm]"""


def outer_radius(mass: float, bore_radius: float, mass_per_area: float) -> float:
    """Return the outer radius of a coil whose end face has the area of its mass.

    All three may be in any one scale: mass_per_area is the mass of one unit of end face, so that a coil of no mass
    is its bore and one of four times the mass has four times the face.
    """
    if mass < 0 or bore_radius < 0 or mass_per_area <= 0:
        raise ValueError(
            f"a coil needs a mass and a bore of 0 or more and a mass per area above 0, but has {mass:g}, "
            f"{bore_radius:g} and {mass_per_area:g}"
        )
    return sqrt(bore_radius**2 + mass / (pi * mass_per_area))


def spiral(inner: float, outer: float, turns: float, start: float = -pi / 2) -> str:
    """Return the path of an Archimedean spiral about the origin that ends at the angle `start` on its outer radius.

    Points every eighth of a turn lie exactly on the spiral and are joined by arcs.
    """
    steps = max(1, round(turns * 8))
    angles = [start - 2 * pi * turns * (1 - step / steps) for step in range(steps + 1)]
    radii = [inner + (outer - inner) * step / steps for step in range(steps + 1)]
    points = [(radius * cos(angle), radius * sin(angle)) for radius, angle in zip(radii, angles, strict=True)]
    path = [f"M{number(points[0][0])} {number(points[0][1])}"]
    for step in range(1, steps + 1):
        bend = number((radii[step] + radii[step - 1]) / 2)
        path.append(f"A{bend} {bend} 0 0 1 {number(points[step][0])} {number(points[step][1])}")
    return "".join(path)


def coil(outer: float, inner: float, class_: str = "pl-coil", *, start: float = -pi / 2) -> str:
    """Return a coil about the origin, its turns so far apart that they stay apart [px]."""
    turns = min(5.0, max(1.5, (outer - inner) / 2.7))
    pitch = (outer - inner) / turns
    return tag("path", d=spiral(inner, outer, turns, start), class_=class_, stroke_width=min(2.2, 0.58 * pitch))


def coil_of(mass: float, scale: float = 18.0, full_mass: float = 4.9) -> tuple[float, float]:
    """Return outer radius and bore radius [px] of a coil, where one of `full_mass` has the radius `scale`.

    The bore keeps the ratio 508 mm to 1060 mm that a zinc coil of 4.9 t, 1034 mm wide, has.
    """
    bore = scale * BORE_MM / 1060.0
    face = pi * (scale**2 - bore**2)
    return outer_radius(mass, bore, full_mass / face), bore


def wound(share: float, inner: float, outer: float) -> float:
    """Return the radius that a coil has reached when a share of its metal is on it: area, not radius, grows evenly."""
    part = min(1.0, max(0.0, share))
    return sqrt(inner**2 + part * (outer**2 - inner**2))
