"""The line as it runs down a phone: drawings at the left on an upright line, words beside them, racks in the rows."""

from dataclasses import dataclass

from dashboard.charts.held import bath, rack, rack_places, stack_places, store_drawn
from dashboard.charts.labels import counted, limit_words, limiting, node_figure, row_label, says
from dashboard.charts.layout import Layout, Node, Row, lay_out
from dashboard.charts.machines import Passing, machine
from dashboard.charts.moment import Moment, StoreNow
from dashboard.charts.place import thicknesses
from dashboard.charts.plant import Plant, Store
from dashboard.charts.sections import section
from dashboard.charts.states import patterns
from dashboard.charts.svg import hatch, line, moved, number, picture, tag, text

WIDTH, MIDDLE, WORDS_X = 350.0, 34.0, 84.0
SCALE = 0.6


@dataclass(frozen=True)
class Fold:
    """One row of the phone's drawing: its markup about its middle, and how far it reaches up and down [px]."""

    markup: str
    above: float
    below: float
    attributes: dict[str, str]


def _small(markup: str, width: float) -> str:
    shift = f"translate({number(MIDDLE - width * SCALE / 2)} 0) scale({SCALE})"
    return tag("g", markup, transform=shift, class_="pl-small")


def _words(node: Node, now: Moment, name: str) -> str:
    held = now.stores.get(node.store.name) if node.store else None
    said = held.first if held else ""
    figure = text(WIDTH, -6, said, "pl-second", text_anchor="end", data_figure=f"first {name}")
    return text(WORDS_X, -6, node.store.shown if node.store else "", "pl-name") + figure


def _station(key: str, node: Node, now: Moment, thick: tuple[float, float]) -> Fold:
    """Return a station: drawing, name, chips, its figure at the right, the wedge at the page's edge."""
    assert node.station is not None
    station = node.station
    if node.store and station.kind == "furnace":
        drawn = store_drawn(key, node.store, now.stores.get(node.store.name, StoreNow(0, 0, "", "")), 10.0)
    else:
        drawn = machine(station.kind, Passing(thick[0], thick[1], "strip", "strip", reach=10.0))
    target, shown = node_figure(node, now)
    body = (
        _small(drawn.markup, 92 if station.kind == "caster" else drawn.width),
        text(WORDS_X, -6, counted(station), "pl-name"),
        moved(WORDS_X, 0, says(key, 14, now, (station,))),
        text(WIDTH, -6, shown, "pl-second", text_anchor="end", data_figure=target),
        text(WIDTH, 14, limit_words(now, (station,)), "pl-limit-word pl-pinch", text_anchor="end"),
        tag("path", d="M-6 -13L6 0L-6 13Z", class_="pl-wedge pl-pinch"),
    )
    reach = max(27.0, drawn.bottom * SCALE)
    return Fold("".join(body), max(27.0, -drawn.top * SCALE), reach, limiting("pl-node", now, (station,)))


def _rack_row(store: Store, now: StoreNow) -> Fold:
    """Return a store of coils or pieces: name and level, below them its places over the whole width."""
    room = WIDTH - WORDS_X
    across = int((room - 3) / 12.4) if store.holds == "coils" else int((room - 3) / 15.4)
    plain = rack_places(store.full) if store.holds == "coils" else stack_places(store.full)
    places = type(plain)(plain.count, -(-plain.count // across), plain.each, plain.across, plain.up)
    kind = "rack" if store.holds == "coils" else "stacks"
    floor = 4.0 + places.height + (18.0 if store.rests else 0.0)
    body = [
        text(WORDS_X, -6, store.shown, "pl-name"),
        text(WIDTH, -6, now.first, "pl-second", text_anchor="end", data_figure=f"first {store.name}"),
    ]
    if store.rests:
        body.append(text(WIDTH, 12, now.second, "pl-second", text_anchor="end", data_figure=f"second {store.name}"))
    body.append(moved(WORDS_X - 3, floor, rack(kind, store, places, now)))
    return Fold("".join(body), 18.0, floor + 8.0, {"class_": "pl-node"})


def _store(key: str, node: Node, now: Moment, thick: float) -> Fold:
    assert node.store is not None
    held = now.stores.get(node.store.name, StoreNow(0, 0, "", ""))
    if node.store.holds in ("coils", "pieces") and node.store.capacity != 0:
        return _rack_row(node.store, held)
    if node.store.holds == "metal":
        return Fold(_small(bath(key, node.store, held, 84), 84) + _words(node, now, node.store.name), 26, 30, {})
    drawn = store_drawn(key, node.store, held, thick)
    return Fold(_small(drawn.markup, drawn.width) + _words(node, now, node.store.name), 22, 28, {"class_": "pl-node"})


def _row(key: str, row: Row, now: Moment) -> Fold:
    label = moved(0, 0, row_label(key, row, now, WORDS_X, WIDTH))
    return Fold(moved(MIDDLE, 0, section(row.section)) + label, 22, 26, limiting("pl-row", now, row.chain))


def folds(key: str, plant: Plant, layout: Layout, now: Moment) -> list[Fold]:
    """Return the rows of the phone's drawing from the top down."""
    thick = thicknesses(plant, layout)
    made = []
    for column in layout.columns:
        for node in column:
            if node.station is not None:
                made.append(_station(key, node, now, thick[node.name]))
            else:
                made.append(_store(key, node, now, thick[node.name][0]))
    return made + [_row(key, row, now) for row in layout.rows]


def flow_down(plant: Plant, now: Moment, name: str, key: str) -> str:
    """Return the line from top to bottom, 350 px wide."""
    layout = lay_out(plant)
    made, y = [], 4.0
    ends: list[float] = []
    for fold in folds(key, plant, layout, now):
        y += fold.above
        made.append(moved(0, y, fold.markup, **fold.attributes))
        ends.append(y)
        y += fold.below + 4.0
    upright = line(MIDDLE, ends[0], MIDDLE, ends[-1], "pl-pass") if ends else ""
    body = (patterns(key), hatch(f"{key}-heel"), upright, *made)
    box = f"-6 0 {number(WIDTH + 6)} {number(y)}"
    return picture(name, *body, viewBox=box, width="100%", class_="pl-flow-down", data_key=key)
