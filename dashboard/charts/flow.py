"""The line in flow order, as it looks at one time of the week; the playing script moves it on."""

from dashboard.charts.flow_down import flow_down
from dashboard.charts.labels import limit_words, limiting, pinch, row_label, state_words, station_label, store_label
from dashboard.charts.layout import Layout, Row, lay_out
from dashboard.charts.machines import LIP, strip
from dashboard.charts.moment import Moment, moment, time_text
from dashboard.charts.place import Placed, Placing, place
from dashboard.charts.plant import Plant, Station
from dashboard.charts.sections import section
from dashboard.charts.states import patterns
from dashboard.charts.svg import group, hatch, line, moved, number, picture, scrolling, tag, words
from dashboard.charts.week import Week

UNDER = 144.0
"""How far under the pass line a way goes that passes stations by. [px]"""


def _curve(x1: float, y1: float, x2: float, y2: float) -> str:
    middle = number((x1 + x2) / 2)
    return f"M{number(x1)} {number(y1)}C{middle} {number(y1)} {middle} {number(y2)} {number(x2)} {number(y2)}"


def _passes_by(start: tuple[float, float], across: float, under: float, end: tuple[float, float]) -> str:
    """Return a way that leaves a store at its floor, dives under the words and rises again to its row."""
    x, y = start
    ex, ey = end
    down = f"M{number(x)} {number(y)}v5q0 5 5 5H{number(across - 5)}q5 0 5 5V{number(under - 6)}q0 6 6 6"
    turn = ex - 40
    rise = f"H{number(turn)}C{number(ex - 12)} {number(under)} {number(ex - 28)} {number(ey)} {number(ex)} {number(ey)}"
    return down + rise


def strip_between(x1: float, x2: float, y: float, thick: float) -> str:
    """Return strip that runs through from one station to the next."""
    return moved(0, y, strip(x1 - 1, x2 + 1, thick))


def _link(before: Placed, after: Placed, neighbours: bool) -> str:
    """Return the way from one node to the next: the pass line, a spout of metal, a bend to another lane."""
    x1, x2 = before.x + before.drawn.leave, after.x + after.drawn.enter
    if not neighbours:
        start = (before.x + before.drawn.width - 24, before.y + before.drawn.bottom + 2)
        return tag("path", d=_passes_by(start, x1 + 10, before.y + UNDER, (x2, after.y)), class_="pl-way")
    held = before.node.store
    if held is not None and held.holds == "metal":
        rim = before.y + LIP
        spout = f"M{number(before.x + 84)} {number(rim)}L{number(x2 + 2)} {number(after.y - 1)}"
        return tag("path", d=spout, class_="pl-spout")
    if before.y == after.y:
        is_strip = any(node.store is not None and node.store.holds == "strip" for node in (before.node, after.node))
        return strip_between(x1, x2, before.y, before.thick) if is_strip else line(x1, before.y, x2, after.y, "pl-pass")
    return tag("path", d=_curve(x1, before.y, x2, after.y), class_="pl-way")


def _links(layout: Layout, placing: Placing) -> str:
    made = []
    for a, b in layout.links:
        neighbours = layout.column_of(b) - layout.column_of(a) == 1
        made.append(_link(placing.nodes[a], placing.nodes[b], neighbours))
    return "".join(made)


def _fan(layout: Layout, placing: Placing) -> str:
    """Return the ways to the rows: fanned out from the last column, or passing by from further up."""
    made, passing_by = [], 0
    last = len(layout.columns) - 1
    for i, row in enumerate(layout.rows):
        end = (placing.row_x, placing.row_y[i])
        for name in row.leaves:
            start = placing.nodes[name]
            if layout.column_of(name) == last:
                spread = (i - (len(layout.rows) - 1) / 2) * 2.2
                path = _curve(start.x + start.drawn.leave, start.y + spread, *end)
            else:
                path = _way_under(layout, placing, name, end, 8.0 * passing_by)
                passing_by += 1
            made.append(tag("path", d=path, class_="pl-way"))
    return "".join(made)


def _way_under(layout: Layout, placing: Placing, name: str, end: tuple[float, float], deeper: float) -> str:
    here = placing.nodes[name]
    after = [placing.nodes[node.name] for node in layout.columns[layout.column_of(name) + 1]]
    # a station further down must be passed on its left
    below = [it.x + min(0.0, it.drawn.enter) - 10 for it in after if it.y > here.y]
    across = min([after[0].x - 22, *below]) - deeper
    floor = (here.x + here.drawn.width - 28 - deeper, here.y + here.drawn.bottom + 2)
    lowest = max(node.y for node in placing.nodes.values())
    return _passes_by(floor, across, lowest + UNDER + deeper, end)


def _node(key: str, placed: Placed, now: Moment) -> str:
    """Return a node with its label and, on a station, the wedges that show when it limits."""
    drawn, node = placed.drawn, placed.node
    if node.station is None:
        return moved(placed.x, placed.y, drawn.markup, store_label(node, now))
    station = node.station
    middle = 38.0 if station.kind == "slitter" else drawn.width / 2
    wedge = pinch(middle, drawn.top, drawn.bottom, limit_words(now, (station,)))
    body = drawn.markup + station_label(key, node, now) + wedge
    return moved(placed.x, placed.y, body, **limiting("pl-node", now, (station,)))


def _row(key: str, row: Row, placing: Placing, index: int, now: Moment) -> str:
    right = placing.width - placing.row_x - 22
    body = section(row.section) + row_label(key, row, now, 30.0, right)
    return moved(placing.row_x + 22, placing.row_y[index], body, **limiting("pl-row", now, row.chain))


def flow_across(plant: Plant, now: Moment, name: str, key: str) -> str:
    """Return the line from left to right, at least 1200 px wide."""
    layout = lay_out(plant)
    placing = place(key, plant, layout, now)
    height = placing.bottom - placing.top
    body = (
        patterns(key) + hatch(f"{key}-heel"),
        group(_links(layout, placing), _fan(layout, placing), class_="pl-ways"),
        *(_node(key, placed, now) for placed in placing.nodes.values()),
        *(_row(key, row, placing, i, now) for i, row in enumerate(layout.rows)),
    )
    box = f"0 {number(placing.top)} {number(placing.width)} {number(height)}"
    style = f"min-width:{number(placing.width * 0.76)}px;max-width:{number(placing.width)}px"
    return picture(name, *body, viewBox=box, width="100%", class_="pl-flow-across", style=style, data_key=key)


def _cell(shown: str, **follows: str) -> str:
    return tag("td", words(shown), **follows)


def flow_table(plant: Plant, now: Moment, name: str) -> str:
    """Return the same in a table of words, which the playing script keeps up to date too."""
    rows = []
    for station in plant.stations:
        machines = now.machines.get(station.name, ())
        limits = group_of_limits(station, now)
        figure = _cell(now.figures.get(station.name, station.note), data_figure=station.name)
        rows.append((station.shown, _cell(state_words(machines), data_words=station.name) + figure + limits))
    for store in plant.stores:
        held = now.stores.get(store.name)
        if held:
            first = _cell(held.first, data_figure=f"first {store.name}")
            rows.append((store.shown, first + _cell(held.second, data_figure=f"second {store.name}") + _cell("")))
    rows += [(branch.title or branch.at, _cell("") + _cell(branch.figure) + _cell("")) for branch in plant.branches]
    heads = ("station or store", "now", "figure", "what limits")
    head = tag("thead", tag("tr", *(tag("th", words(cell), scope="col") for cell in heads)))
    body = tag("tbody", *(tag("tr", tag("th", words(title), scope="row"), cells) for title, cells in rows))
    return tag("div", tag("table", tag("caption", words(name)), head, body), class_="pl-hidden")


def group_of_limits(station: Station, now: Moment) -> str:
    """Return the cell that says whether a station limits the line now."""
    said = tag("span", words(limit_words(now, (station,))), class_="pl-limit-word pl-pinch")
    return tag("td", tag("span", said, **limiting("pl-now", now, (station,))))


def flow_drawing(plant: Plant, week: Week, at_s: float = 0.0) -> str:
    """Return the line at a time of the week, for wide pages and for phones, with the same in a table.

    The playing script of the page moves both on, as they carry the key of the week.
    """
    now = moment(week, at_s)
    name = f"The line in flow order, {time_text(week, at_s)}"
    key = week["key"]
    wide = scrolling(name, flow_across(plant, now, name, f"{key}-flow"))
    down = tag("div", flow_down(plant, now, name, f"{key}-down"), class_="pl-phone")
    return tag("div", wide, down, flow_table(plant, now, name), class_="pl-flow", data_play=key)
