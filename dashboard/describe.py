"""A scenario as the pages need it once it has been run: the shape of its line, as plain data."""

from __future__ import annotations

from typing import Any

from twin.scenario import Scenario
from twin.scenario.models import Caster, Mill, Slitter, Station, Supply


def plain_line(scenario: Scenario) -> dict[str, Any]:
    """Return stations, stores and what leaves them, in the order of the file; masses in kg, thickness in mm."""
    return {
        "stations": [station_row(scenario, name, station) for name, station in scenario.stations.items()],
        "stores": [
            {
                "name": name,
                "holds": store.holds,
                "capacity": store.capacity,
                "heel": store.heel,
                "rests": store.rest > 0.0,
            }
            for name, store in scenario.stores.items()
        ],
        "leaves": leaves(scenario),
        "rings": {name: ring_words(scenario, name) for name in scenario.patterns},
    }


def station_row(scenario: Scenario, name: str, station: Station) -> dict[str, Any]:
    """Return one station: where it stands, and how thick the strip is that leaves it."""
    rolls = station.rolls if isinstance(station, Mill) else None
    limit = rolls.change_after if rolls else None
    return {
        "name": name,
        "kind": station.kind,
        "from": station.source,
        "to": station.to,
        "machines": station.machines,
        "thickness_mm": thickness_behind(scenario, station),
        "change_after_km": limit.value / 1000.0 if limit and limit.dimension == "length" else None,
        "rolls": rolls is not None,
    }


def thickness_behind(scenario: Scenario, station: Station) -> float | None:
    """Return the thickness of the strip that leaves a station [mm], None where the file does not say."""
    if isinstance(station, Caster):
        return station.thickness * 1000.0
    if isinstance(station, Supply):
        return station.coil.thickness * 1000.0
    if isinstance(station, Mill | Slitter):
        shares: dict[float, float] = {}
        for pattern in scenario.patterns.values():
            shares[pattern.thickness] = shares.get(pattern.thickness, 0.0) + (pattern.share or 1.0)
        if shares:
            return max(shares, key=lambda gauge: shares[gauge]) * 1000.0
        if isinstance(station, Mill) and station.passes:
            return next(iter(station.passes)) * 1000.0
    return None


def ring_words(scenario: Scenario, pattern: str) -> str:
    """Return the rings of a pattern: 3 × 333 mm."""
    found: dict[float, int] = {}
    for product, count in scenario.patterns[pattern].rings.items():
        girth = scenario.products[product].girth
        found[girth] = found.get(girth, 0) + count
    return " + ".join(f"{count} × {girth * 1000.0:.0f} mm" for girth, count in found.items())


def drawn_on(scenario: Scenario, store: str) -> bool:
    """Tell whether a station takes from a store: if none does, what lies there is finished."""
    return any(station.source == store for station in scenario.stations.values())


def makes(scenario: Scenario, name: str) -> tuple[str, ...]:
    """Return the products that come out of a station, looking upstream until a station says; () when none does."""
    seen: set[str] = set()
    while name not in seen:
        seen.add(name)
        station = scenario.stations[name]
        if station.makes:
            return tuple(station.makes)
        before = [other for other, given in scenario.stations.items() if station.source and given.to == station.source]
        if len(before) != 1:
            return ()
        name = before[0]
    return ()


def section_words(scenario: Scenario, products: tuple[str, ...]) -> str:
    """Return what is known of the shape of products, in words."""
    found = [scenario.products[name] for name in products if name in scenario.products]
    return " ".join([*products, *(product.profile or "" for product in found)])


def leaves(scenario: Scenario) -> list[dict[str, Any]]:
    """Return where finished metal leaves the line, and which stations make it there.

    That is the last station of each way, the store that it gives to, and a store on the way that is sold from, where
    ``by`` is empty: what leaves there is what no station takes away.
    """
    ends = {name: own.to for name, own in scenario.stations.items() if own.to and not drawn_on(scenario, own.to)}
    rows = [{"at": name, "title": "", "section": shapes(scenario, [name]), "by": [name]} for name in ends]
    for store in dict.fromkeys(ends.values()):
        by = [name for name, to in ends.items() if to == store]
        rows.append({"at": store, "title": "", "section": shapes(scenario, by), "by": by})
    sold = sold_on_the_way(scenario, list(ends))
    return [{"at": sold, "title": "Sold as coil", "section": "ring", "by": []}, *rows] if sold else rows


def sold_on_the_way(scenario: Scenario, ends: list[str]) -> str:
    """Return the store behind a slitter from which rings are sold as they are, "" where there is none."""
    made = {product for name in ends for product in makes(scenario, name)}
    coils = [name for name, product in scenario.products.items() if product.sold == "coil" and name not in made]
    slit = [own.to for own in scenario.stations.values() if own.kind == "slitter" and own.to]
    return slit[0] if coils and slit and drawn_on(scenario, slit[0]) else ""


def shapes(scenario: Scenario, stations: list[str]) -> str:
    """Return what is known of the shape of what stations make, in words."""
    return section_words(scenario, tuple(product for name in stations for product in makes(scenario, name)))
