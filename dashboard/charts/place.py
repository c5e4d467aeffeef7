"""Where the pieces of a flow drawing come to lie, in pixels."""

from dataclasses import dataclass
from math import log

from dashboard.charts.held import store_drawn
from dashboard.charts.labels import label_width
from dashboard.charts.layout import Layout, Node
from dashboard.charts.machines import Drawn, Passing, machine
from dashboard.charts.moment import Moment, StoreNow
from dashboard.charts.plant import Plant, Station

WIDTH = 1200.0
PASS_LINE = 112.0
LANE = 240.0
MOST_THICK = 10.6
GAP, BEND, SPOUT, FAN, ROW_WIDTH, ROW_STEP = 14.0, 26.0, 46.0, 48.0, 270.0, 48.0


@dataclass(frozen=True)
class Placed:
    """A node with its drawing: x of its left edge, y of its pass line, how thick the strip is behind it [px]."""

    node: Node
    drawn: Drawn
    x: float
    y: float
    thick: float


@dataclass(frozen=True)
class Placing:
    """Everything placed: nodes by name, the x where rows begin, their ys, and the size of the whole."""

    nodes: dict[str, Placed]
    row_x: float
    row_y: tuple[float, ...]
    width: float
    top: float
    bottom: float


def drawn_thickness(thickness_mm: float) -> float:
    """Return how thick strip is drawn [px]: 10 for 8.2 mm, 3 for 0.7 mm, by the logarithm, never under 1.8."""
    slope = (10.0 - 3.0) / log(8.2 / 0.7)
    return max(1.8, 3.0 + slope * log(max(thickness_mm, 0.05) / 0.7))


def thicknesses(plant: Plant, layout: Layout) -> dict[str, tuple[float, float]]:
    """Return how thick strip is drawn before and behind each node [px].

    Not to scale, but it always falls along the line: where the strip stays as thick as it was it is drawn a little
    thinner, so that the eye reads the direction.
    """
    found: dict[str, tuple[float, float]] = {}
    for column in layout.columns:
        for node in column:
            before = [found[a][1] for a, b in layout.links if b == node.name and a in found]
            thick_in = min(before) if before else MOST_THICK
            given = node.station.thickness_mm if node.station else None
            falls = max(1.8, thick_in - 0.6) if before else thick_in
            thick_out = min(falls, drawn_thickness(given)) if given else (falls if node.station else thick_in)
            rolled = node.station is not None and node.station.kind == "mill"
            found[node.name] = (0.7 * thick_in + 0.3 * thick_out if rolled else thick_in, thick_out)
    return found


def _holds(plant: Plant, names: tuple[str, ...]) -> str:
    if not names:
        return "none"
    store = plant.store(names[0])
    return "none" if store.capacity == 0 and store.holds != "coils" else store.holds


def passing(plant: Plant, station: Station, thick: tuple[float, float], fans: bool) -> Passing:
    """Return what passes a station of the trunk."""
    return Passing(thick[0], thick[1], _holds(plant, station.source), _holds(plant, station.to), fans)


def draw_nodes(key: str, plant: Plant, layout: Layout, now: Moment) -> dict[str, Drawn]:
    """Return the drawing of each node."""
    thick = thicknesses(plant, layout)
    fanning = {name for row in layout.rows for name in row.leaves}
    drawn: dict[str, Drawn] = {}
    for column in layout.columns:
        for node in column:
            empty = StoreNow(0.0, 0.0, "", "")
            held = now.stores.get(node.store.name, empty) if node.store else empty
            if node.store and (node.station is None or node.station.kind == "furnace"):
                drawn[node.name] = store_drawn(key, node.store, held, thick[node.name][0])
            elif node.station:
                fans = node.name in fanning
                drawn[node.name] = machine(node.station.kind, passing(plant, node.station, thick[node.name], fans))
    return drawn


def _pours(node: Node) -> bool:
    vessel = node.store.holds == "metal" if node.store else False
    return vessel or (node.station is not None and node.station.kind == "furnace")


def column_steps(layout: Layout, drawn: dict[str, Drawn], now: Moment) -> list[float]:
    """Return the least distance from each column to the next, so that neither drawings nor words touch [px]."""
    passed_by = {name for row in layout.rows for name in row.leaves}
    steps = []
    for here, after in zip(layout.columns, layout.columns[1:], strict=False):
        reach = max(max(drawn[n.name].leave, drawn[n.name].width) for n in here)
        gap = SPOUT if any(map(_pours, here)) and not any(map(_pours, after)) else GAP
        back = max(-drawn[n.name].enter for n in after)
        bends = len(here) > 1 or len(after) > 1
        plain = 26.0 if any(map(_pours, here)) else 16.0  # a vessel has the longest words of all
        room = (64.0 if bends else 44.0) if any(n.name in passed_by for n in here) else plain
        gap += BEND if bends else 0.0
        steps.append(max(reach + gap + max(0.0, back), max(label_width(n, now) for n in here) + room))
    return steps


def _lefts(layout: Layout, drawn: dict[str, Drawn], now: Moment) -> tuple[list[float], float]:
    """Return the left edge of each column and the x at which rows begin; what is left of the width is shared out."""
    steps = column_steps(layout, drawn, now)
    last = layout.columns[-1]
    end = max(max(drawn[n.name].leave for n in last) + FAN, max(label_width(n, now) for n in last) + 16)
    first = 2.0 + max(0.0, *(-drawn[n.name].enter for n in layout.columns[0]))
    need = first + sum(steps) + end + (ROW_WIDTH if layout.rows else 0.0)
    spare = min(60.0, max(0.0, WIDTH - need) / max(1, len(steps) + 1))
    lefts = [first]
    for step in steps:
        lefts.append(lefts[-1] + step + spare)
    return lefts, lefts[-1] + end + spare


def place(key: str, plant: Plant, layout: Layout, now: Moment) -> Placing:
    """Return where everything lies."""
    drawn = draw_nodes(key, plant, layout, now)
    lefts, row_x = _lefts(layout, drawn, now)
    thick = thicknesses(plant, layout)
    lane_y = {name: PASS_LINE + LANE * lane for name, lane in layout.lanes.items()}
    placed = {
        node.name: Placed(node, drawn[node.name], left, lane_y[node.name], thick[node.name][1])
        for left, column in zip(lefts, layout.columns, strict=True)
        for node in column
    }
    centre = PASS_LINE + LANE * layout.middle_of(-1) + (10.0 if len(layout.rows) > 1 else 0.0)
    first = centre - ROW_STEP * (len(layout.rows) - 1) / 2
    row_y = tuple(first + ROW_STEP * i for i in range(len(layout.rows)))
    width = max(WIDTH, row_x + ROW_WIDTH) if layout.rows else max(WIDTH, row_x)
    top = min([*(it.y + it.drawn.top - 34 for it in placed.values()), *(y - 26 for y in row_y)])
    bottom = max([PASS_LINE + LANE * layout.last_lane + 160.0, *(y + 30 for y in row_y)])
    return Placing(placed, row_x, row_y, width, top, bottom)
