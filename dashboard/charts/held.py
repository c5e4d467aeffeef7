"""How a store looks: a rack of places, a bath over its heel, a loop of strip, stacks of pieces, or no room at all.

What changes with time is drawn by small functions of a few numbers; the playing script draws by the same numbers, which
stand on the drawing as data.
"""

from dataclasses import dataclass
from math import ceil

from dashboard.charts.machines import Drawn, vessel
from dashboard.charts.moment import StoreNow
from dashboard.charts.plant import Store
from dashboard.charts.svg import Attribute, group, number, tag, text

PITCH = 12.4
"""Distance of two places in a rack. [px]"""
MOST_PLACES = 120
"""Above so many places one ring stands for several."""

BATH_TOP, BATH_BOTTOM = -19.0, 45.0
LOOP_DEPTH = (8.0, 44.0)


@dataclass(frozen=True)
class Places:
    """The grid of a rack or of stacks: places are filled upwards, column by column."""

    count: int
    rows: int
    each: float
    across: float = PITCH
    up: float = PITCH

    @property
    def columns(self) -> int:
        """How many columns there are."""
        return ceil(self.count / self.rows)

    @property
    def width(self) -> float:
        """Width of the frame around all places [px]."""
        return self.columns * self.across + 5.4

    @property
    def height(self) -> float:
        """Height of the frame around all places [px]."""
        return self.rows * self.up + 4.6

    def spot(self, place: int) -> tuple[float, float]:
        """Return the middle of a place: x from the left of the frame, y from its floor [px]."""
        column, row = divmod(place, self.rows)
        return 2.7 + self.across * (column + 0.5), -2.4 - self.up * (row + 0.5)


def round_each(least: float) -> float:
    """Return the smallest of 1, 2, 5, 10, 20, 50 ... that is not less."""
    step = 1.0
    while True:
        for factor in (1.0, 2.0, 5.0):
            if step * factor >= least:
                return step * factor
        step *= 10.0


def rack_places(full: float, rows: int = 6, most: int = MOST_PLACES) -> Places:
    """Return the places of a rack for so many coils."""
    each = round_each(full / most)
    count = max(1, ceil(full / each))
    return Places(count, min(rows, count), each)


def stack_places(full: float, rows: int = 8, most: int = 48) -> Places:
    """Return the places of stacks of pieces: one flat bar stands for a round number of pieces."""
    each = round_each(full / most)
    count = max(1, ceil(full / each))
    return Places(count, min(rows, count), each, across=15.4, up=6.6)


def filled(places: Places, level: float, ready: float) -> tuple[int, int]:
    """Return how many places are drawn as takeable and how many as taken at all."""
    taken = min(places.count, int(level / places.each + 0.5))
    return min(taken, int(ready / places.each + 0.5)), taken


def _ring(x: float, y: float, radius: float) -> str:
    r, d = number(radius), number(2 * radius)
    return f"M{number(x - radius)} {number(y)}a{r} {r} 0 1 0 {d} 0a{r} {r} 0 1 0 -{d} 0"


def _rings(places: Places, first: int, last: int, radius: float) -> str:
    return "".join(_ring(*places.spot(place), radius) for place in range(first, last))


def _bars(places: Places, first: int, last: int) -> str:
    spots = (places.spot(place) for place in range(first, last))
    return "".join(f"M{number(x - 6)} {number(y)}h12" for x, y in spots)


def _frame(places: Places) -> str:
    right, height = number(places.width), number(places.height)
    return tag("path", d=f"M0 -{height}V0H{right}V-{height}", class_="pl-frame")


def filling(kind: str, places: Places, now: StoreNow) -> str:
    """Return the places as they are now: full ring, thin ring, dot; or bars and dots for stacks."""
    ready, taken = filled(places, now.level, now.ready)
    free = tag("path", d=_rings(places, taken, places.count, 0.5), class_="pl-free")
    if kind == "stacks":
        return tag("path", d=_bars(places, 0, taken), class_="pl-pieces") + free
    full = tag("path", d=_rings(places, 0, ready, 3.0), class_="pl-full")
    return full + tag("path", d=_rings(places, ready, taken, 4.0), class_="pl-cools") + free


def rack(kind: str, store: Store, places: Places, now: StoreNow) -> str:
    """Return a rack or stacks with the floor of the frame at the origin."""
    note = f"one {'ring' if kind == 'rack' else 'bar'} = {number(places.each)}"
    said = text(places.width, 14, note, "pl-note", text_anchor="end") if places.each > 1 else ""
    data: dict[str, Attribute] = {"data_kind": kind, "data_count": places.count, "data_rows": places.rows}
    data |= {"data_each": places.each, "data_across": places.across, "data_up": places.up}
    return group(_frame(places), filling(kind, places, now), said, data_store=store.name, **data)


def bath(key: str, store: Store, now: StoreNow, width: float) -> str:
    """Return a vessel with its level over its heel; the origin is the left of the vessel on the pass line."""
    per = (BATH_BOTTOM - BATH_TOP) / store.full if store.full else 0.0
    level = BATH_BOTTOM - per * min(now.level, store.full)
    heel = BATH_BOTTOM - per * store.heel
    metal = tag("path", d=bath_body(level, width), class_="pl-bath")
    under = tag("path", d=bath_body(max(level, heel), width), class_="pl-heel", fill=f"url(#{key}-heel)")
    mark = tag("path", d=f"M3 {number(heel)}H{number(width - 3)}", class_="pl-heel-line") if store.heel else ""
    data: dict[str, Attribute] = {
        "data_kind": "bath",
        "data_per": number(per, 6),
        "data_heel": heel,
        "data_width": width,
    }
    return group(metal, under if store.heel else "", mark, vessel(width), data_store=store.name, **data)


def bath_body(level: float, width: float) -> str:
    """Return what fills a vessel below a level."""
    right, corner, low = number(width - 3), number(width - 9), number(max(level, 39.0))
    return f"M3 {number(level)}H{right}V{low}Q{right} 45 {corner} 45H9Q3 45 3 {low}Z"


def loop_depth(share: float) -> float:
    """Return how deep a loop hangs: the deeper the fuller the store is [px]."""
    return LOOP_DEPTH[0] + (LOOP_DEPTH[1] - LOOP_DEPTH[0]) * min(1.0, max(0.0, share))


def loop_path(depth: float, radius: float) -> str:
    """Return the strip of a loop over three rollers, its middle line at `radius` about each."""
    x = [number(16 + 2 * radius * turn) for turn in range(4)]
    low, bend = number(depth), f"A{number(radius)} {number(radius)} 0 0 "
    down = f"M0 0H{x[0]}V{low}{bend}0 {x[1]} {low}V0{bend}1 {x[2]} 0V{low}{bend}0 {x[3]} {low}"
    return f"{down}V0H{number(32 + 6 * radius)}"


def loop(store: Store, now: StoreNow, thick: float) -> tuple[str, float]:
    """Return a store of strip and its width; the origin is where the strip comes in."""
    radius = 7.0 + thick / 2
    depth = loop_depth(now.level / store.full if store.full else 0.0)
    path = tag("path", d=loop_path(depth, radius), class_="pl-loop", stroke_width=thick)
    upper = tag("circle", cx=16 + 3 * radius, cy=0, r=6.6, class_="pl-outline")
    low = "".join(tag("circle", cx=16 + radius * i, cy=depth, r=6.6, class_="pl-outline pl-low") for i in (1, 5))
    data: dict[str, Attribute] = {"data_kind": "loop", "data_full": store.full, "data_radius": radius}
    return group(path, upper, low, data_store=store.name, **data), 32 + 6 * radius


def handed_on(store: Store) -> str:
    """Return the mark of a store with no room: things go from machine to machine."""
    return tag("circle", cx=15, cy=0, r=3.6, class_="pl-outline")


def store_drawn(key: str, store: Store, now: StoreNow, thick: float) -> Drawn:
    """Return the drawing of a store; the origin is its left edge on the pass line."""
    if store.capacity == 0:
        return Drawn(handed_on(store), 0, 30, -5, 5, 30)
    if store.holds == "metal":
        return Drawn(bath(key, store, now, 84), 0, 84, -28, 50, 84)
    if store.holds == "strip":
        drawn, width = loop(store, now, thick)
        return Drawn(drawn, 0, width, -18, 62, width)
    kind = "rack" if store.holds == "coils" else "stacks"
    places = rack_places(store.full) if kind == "rack" else stack_places(store.full)
    floor = min(40.0, places.height / 2)
    drawn = f'<g transform="translate(-3 {number(floor)})">{rack(kind, store, places, now)}</g>'
    return Drawn(drawn, -3, places.width - 3, floor - places.height, floor, places.width)
