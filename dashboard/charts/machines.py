"""How each kind of station looks to someone beside it. The origin is its left edge on the pass line [px]."""

from collections.abc import Callable
from dataclasses import dataclass

from dashboard.charts.coil import coil, coil_of
from dashboard.charts.svg import moved, number, tag

LIP = -19.0
"""Height at which metal runs over the rim of a vessel. [px]"""


@dataclass(frozen=True)
class Passing:
    """What passes a station: how thick its strip is drawn before and after [px], and what lies before and behind it.

    `rings` is set where it fans out to the rows at the right; `reach` is how far plain strip runs out of it [px].
    """

    thick_in: float
    thick_out: float
    takes: str = "none"
    gives: str = "none"
    rings: bool = False
    reach: float = 26.0


@dataclass(frozen=True)
class Drawn:
    """A drawing and how far it reaches from its origin [px]; the lines of the flow join it at enter and leave."""

    markup: str
    enter: float
    leave: float
    top: float
    bottom: float
    width: float


def strip(start: float, end: float, thick: float) -> str:
    """Return strip along the pass line."""
    return tag("rect", class_="pl-strip", x=start, y=-thick / 2, width=end - start, height=thick)


def _coil_on(x: float, thick: float, mass: float = 4.9) -> tuple[str, float]:
    """Return a coil that stands on the strip under it, and its radius."""
    outer, inner = coil_of(mass, 17.0)
    return moved(x, thick / 2 - outer, coil(outer, inner)), outer


def _before(passing: Passing, to: float) -> tuple[str, float]:
    """Return the strip that comes in, from its coil where the station takes coils, and where the flow joins it."""
    if passing.takes == "coils":
        drawn, outer = _coil_on(to - 37, passing.thick_in)
        return drawn + strip(to - 37, to + 1, passing.thick_in), to - 37 - outer
    if passing.takes in ("none", "metal"):
        return "", to
    return strip(to - passing.reach, to, passing.thick_in), to - passing.reach


def _behind(passing: Passing, start: float) -> tuple[str, float]:
    """Return the strip that goes out, onto its coil where the station gives coils, and where the flow goes on."""
    if passing.gives == "coils":
        drawn, outer = _coil_on(start + 29, passing.thick_out)
        return strip(start - 1, start + 29, passing.thick_out) + drawn, start + 29 + outer
    return strip(start - 1, start + passing.reach, passing.thick_out), start + passing.reach


def _circle(x: float, y: float, radius: float, class_: str = "pl-outline") -> str:
    return tag("circle", cx=x, cy=y, r=radius, class_=class_)


def _supply(passing: Passing) -> Drawn:
    outer, inner = coil_of(4.9, 15.0)
    coils = "".join(moved(x, -outer, coil(outer, inner)) for x in (outer + 1, 3 * outer + 5))
    gate = tag("path", d="M72 -40V8", class_="pl-gate")
    return Drawn(coils + gate, 0, 76, -42, 10, 76)


def vessel(width: float) -> str:
    """Return an open vessel that stands across the pass line."""
    right = number(width)
    return tag("path", d=f"M0 -26V40Q0 48 8 48H{number(width - 8)}Q{right} 48 {right} 40V-26", class_="pl-vessel")


def _furnace(passing: Passing) -> Drawn:
    return Drawn(vessel(84), 0, 84, -28, 50, 84)


def _caster(passing: Passing) -> Drawn:
    belts = "".join(tag("rect", class_="pl-outline", x=0, y=y, width=92, height=26, rx=13) for y in (-33.0, 7.0))
    wheels = "".join(_circle(x, y, 6.6) for x in (13.0, 79.0) for y in (-20.0, 20.0))
    behind, leave = _behind(passing, 104)
    return Drawn(strip(-8, 104, passing.thick_out) + behind + belts + wheels, -8, leave, -34, 34, 92)


def _mill(passing: Passing) -> Drawn:
    before, enter = _before(passing, 8)
    behind, leave = _behind(passing, 62)
    through = strip(8, 36, passing.thick_in) + strip(36, 62, passing.thick_out)
    rolls = "".join(_circle(36, y, 25) for y in (-41.0, 41.0))
    rolls += "".join(_circle(36, y, 8.2, "pl-roll") for y in (-8.4, 8.4))
    pins = "".join(_circle(36, y, 1.3, "pl-pin") for y in (-41.0, -8.4, 8.4, 41.0))
    return Drawn(before + through + behind + rolls + pins, enter, leave, -67, 67, 72)


def _knives() -> str:
    upper = "".join(tag("rect", class_="pl-outline", x=x, y=-35, width=4.4, height=38, rx=2) for x in (15, 29, 43, 57))
    lower = "".join(tag("rect", class_="pl-outline", x=x, y=-3, width=4.4, height=38, rx=2) for x in (20, 34, 48, 62))
    arbors = tag("path", d="M8 -16H70M8 16H70", class_="pl-arbor")
    return upper + lower + arbors


def _slitter(passing: Passing) -> Drawn:
    before, enter = _before(passing, 10)
    fan = "".join(f"M66 {number(y / 3)}Q80 {number(y / 3)} 92 {number(y)}" for y in (-7.5, -2.5, 2.5, 7.5))
    threads = "" if passing.rings else tag("path", d=fan, class_="pl-thread")
    drawn = before + strip(10, 66, passing.thick_in) + threads + _knives()
    if passing.gives != "coils" or passing.rings:
        return Drawn(drawn, enter, 66 if passing.rings else 92, -36, 36, 72)
    outer, inner = coil_of(1.5, 17.0)
    back = tag("circle", r=outer, class_="pl-behind")
    rings = "".join(moved(101 + 7 * i, 5 - outer, back, coil(outer, inner)) for i in range(3))
    return Drawn(drawn + rings, enter, 101 + 14 + outer, -36, 36, 72)


def _cutter(passing: Passing) -> Drawn:
    before, enter = _before(passing, 6)
    blade = tag("path", d="M0 -38H18V-14L0 -5Z", class_="pl-outline")
    under = tag("rect", class_="pl-outline", x=0, y=3, width=18, height=26)
    thick = max(2.0, passing.thick_out)
    blanks = "".join(strip(x, x + 15, thick) for x in (22, 42, 62))
    return Drawn(before + strip(6, 16, passing.thick_in) + blanks + blade + under, enter, 80, -39, 30, 76)


def _profiler(passing: Passing) -> Drawn:
    before, enter = _before(passing, 4)
    pairs = "".join(_circle(x, y, 7.4) for x in (9.0, 27.0, 45.0) for y in (-9.0, 9.0))
    section = tag("path", d="M64 -7V-2A10 10 0 0 0 84 -2V-6", class_="pl-section")
    return Drawn(before + strip(4, 54, passing.thick_out) + pairs + section, enter, 92, -17, 17, 90)


def _step(passing: Passing) -> Drawn:
    before, enter = _before(passing, 2)
    behind, leave = _behind(passing, 60)
    bench = tag("rect", class_="pl-outline", x=2, y=-31, width=60, height=49)
    legs = tag("path", d="M10 18V32M54 18V32", class_="pl-outline")
    return Drawn(before + behind + legs + bench, enter, leave, -32, 33, 64)


_KINDS: dict[str, Callable[[Passing], Drawn]] = {
    "supply": _supply,
    "furnace": _furnace,
    "caster": _caster,
    "mill": _mill,
    "slitter": _slitter,
    "cutter": _cutter,
    "profiler": _profiler,
    "step": _step,
}


def machine(kind: str, passing: Passing) -> Drawn:
    """Return the drawing of a kind of station."""
    return _KINDS[kind](passing)


def wedges(x: float, top: float, bottom: float) -> str:
    """Return the two wedges that pinch a station from above and below."""
    above = f"M{number(x - 12)} {number(top - 12)}h24l-12 11z"
    below = f"M{number(x - 12)} {number(bottom + 12)}h24l-12 -11z"
    return tag("path", d=above + below, class_="pl-wedge")
