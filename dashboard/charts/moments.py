"""What a page shows at other moments: a rack with nothing in it, a coil that winds as the work goes on."""

from math import pi

from dashboard.charts.coil import spiral, wound
from dashboard.charts.held import Places, filling
from dashboard.charts.moment import StoreNow
from dashboard.charts.svg import hatch, number, picture, tag, text

BORE, TURN = 5.0, 3.4


def winding_coil(share: float, *, count: str = "", size: float = 52.0) -> str:
    """Return the coil that winds by real progress: a dotted ring is the whole, the spiral what is done.

    Where movement is not wanted the count in words stands in its place.
    """
    whole = size / 2 - 3
    outer = wound(share, BORE, whole - 4)
    turns = max(0.6, (outer - BORE) / TURN)
    ring = tag("circle", r=whole, class_="pl-whole")
    part = min(1.0, max(0.0, share))
    coil = tag("path", d=spiral(BORE, max(outer, BORE + 0.5), turns, -pi / 2 + 2 * pi * part), class_="pl-wound")
    said = text(0, 4, count, "pl-count")
    box = f"{number(-size / 2)} {number(-size / 2)} {number(size)} {number(size)}"
    name = f"{count or f'{round(100 * part)} %'} done"
    return picture(name, ring, coil, said, viewBox=box, width=size, height=size, class_="pl-winding")


def empty_rack(columns: int = 22, rows: int = 6) -> str:
    """Return a rack of free places, for a page on which no plant is open."""
    places = Places(columns * rows, rows, 1.0)
    drawn = filling("rack", places, StoreNow(0.0, 0.0, "", ""))
    frame = f"M0 -{number(places.height)}V0H{number(places.width)}V-{number(places.height)}"
    box = f"-1 {number(-places.height - 1)} {number(places.width + 2)} {number(places.height + 2)}"
    path = tag("path", d=frame, class_="pl-frame")
    return picture("An empty rack", path, drawn, viewBox=box, width=places.width + 2, height=places.height + 2)


def old_answer(height: float = 72.0, key: str = "old") -> str:
    """Return the hatched edge that stands at the left of an answer older than its scenario."""
    body = tag("rect", width=10, height=height, fill=f"url(#{key}-hatch)")
    return picture("older than the scenario", hatch(f"{key}-hatch"), body, width=10, height=height)
