"""What stands under a station or a store: its name, what it does now, one figure."""

import json

from dashboard.charts.layout import Node, Row
from dashboard.charts.machines import wedges
from dashboard.charts.moment import MachineNow, Moment
from dashboard.charts.plant import Station
from dashboard.charts.states import chip
from dashboard.charts.svg import group, moved, text, text_width

NAME, SAID, FIGURE = 92.0, 114.0, 134.0
"""Baselines under the pass line. [px]"""
CHIP_STEP = 22.0
ROLL_SHOP = " roll shop"


def limit_names(stations: tuple[Station, ...]) -> list[str]:
    """Return the names under which these stations, or the roll shop of one, may be what limits the line."""
    return [name for station in stations for name in (station.name, station.name + ROLL_SHOP)]


def limit_words(now: Moment, stations: tuple[Station, ...]) -> str:
    """Return what the wedges at these stations say when they show: the station limits, or its roll shop does."""
    shop = now.limit.endswith(ROLL_SHOP) and now.limit in limit_names(stations)
    return "roll shop limits" if shop else "limits now"


def machines_now(now: Moment, stations: tuple[Station, ...]) -> tuple[MachineNow, ...]:
    """Return the machines of stations in order; one without a record says so."""
    missing = MachineNow("no_record", "no record")
    return tuple(
        machine for station in stations for machine in now.machines.get(station.name, (missing,) * station.machines)
    )


def state_words(machines: tuple[MachineNow, ...]) -> str:
    """Return the word for what machines do; where one runs and another does not, the word is about the other."""
    said = list(dict.fromkeys(machine.word for machine in machines))
    others = [word for word in said if word != "running"]
    return ", ".join((others or said)[:2])


def says(key: str, y: float, now: Moment, stations: tuple[Station, ...]) -> str:
    """Return one chip a machine and the word for what they do; the chips' lower part stands on the baseline y."""
    machines = machines_now(now, stations)
    chips = "".join(moved(i * CHIP_STEP, y - 13, chip(key, m.state)) for i, m in enumerate(machines))
    word = text(len(machines) * CHIP_STEP + 3, y, state_words(machines), "pl-word")
    return group(chips, word, class_="pl-says", data_stations=json.dumps([station.name for station in stations]))


def node_figure(node: Node, now: Moment) -> tuple[str, str]:
    """Return the name of the figure under a station and the figure as it is now."""
    assert node.station is not None
    held = now.stores.get(node.store.name) if node.store else None
    if node.store and held:
        return f"store {node.store.name}", f"{held.first}, {held.second}" if held.second else held.first
    return node.station.name, now.figures.get(node.station.name, node.station.note)


def counted(station: Station) -> str:
    """Return the name of a station, with the number of its machines where there are several."""
    return f"{station.shown} × {station.machines}" if station.machines > 1 else station.shown


def station_label(key: str, node: Node, now: Moment) -> str:
    """Return name, chips and word, one figure. The origin is the left edge of the drawing on the pass line."""
    assert node.station is not None
    target, shown = node_figure(node, now)
    name = text(0, NAME, counted(node.station), "pl-name")
    figure = text(0, FIGURE, shown, "pl-second pl-halo", data_figure=target)
    return name + says(key, SAID, now, (node.station,)) + figure


def store_label(node: Node, now: Moment) -> str:
    """Return name and two lines of a store."""
    assert node.store is not None
    held = now.stores.get(node.store.name)
    first, second = (held.first, held.second) if held else ("", "")
    name = text(0, NAME, node.store.shown, "pl-name")
    one = text(0, SAID, first, "pl-first", data_figure=f"first {node.store.name}")
    return name + one + text(0, FIGURE, second, "pl-second", data_figure=f"second {node.store.name}")


def label_width(node: Node, now: Moment) -> float:
    """Return about how wide the label of a node may become [px]."""
    if node.station is not None:
        chips = len(machines_now(now, (node.station,))) * CHIP_STEP + 3 + text_width("changing rolls")
        return max(text_width(counted(node.station)), chips, text_width(node_figure(node, now)[1]))
    assert node.store is not None
    held = now.stores.get(node.store.name)
    lines = (node.store.shown, held.first if held else "", held.second if held else "")
    return max(text_width(shown) for shown in lines)


def pinch(x: float, top: float, bottom: float, said: str) -> str:
    """Return the wedges that show what limits now, with their words; the class of what holds them shows them."""
    word = text(x, top - 17, said, "pl-limit-word", text_anchor="middle")
    return group(wedges(x, top, bottom), word, class_="pl-pinch")


def limiting(class_: str, now: Moment, stations: tuple[Station, ...]) -> dict[str, str]:
    """Return the attributes of a node or row that may limit: the names it limits by, and whether it does now."""
    names = limit_names(stations)
    shown = f"{class_} pl-limits" if now.limit in names else class_
    return {"class_": shown, "data_limits": json.dumps(names)}


def row_label(key: str, row: Row, now: Moment, left: float, right: float) -> str:
    """Return title, chips, figures of a row from `left` to `right`; the middle of its cross-section is at 0."""
    title = text(left, -3, row.title, "pl-name")
    figure = text(right, -3, row.figure, "pl-second", text_anchor="end")
    second = text(right, 15, now.figures.get(row.at, ""), "pl-second pl-hides", text_anchor="end", data_figure=row.at)
    if not row.chain:
        return title + figure + second
    limit = text(right, 15, limit_words(now, row.chain), "pl-limit-word pl-pinch", text_anchor="end")
    return title + moved(left, 0, says(key, 15, now, row.chain)) + figure + second + limit
