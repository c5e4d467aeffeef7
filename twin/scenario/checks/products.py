"""Patterns must fit the strip, be rolled to their gauge, add up, and lead every product to where it is finished."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from twin.scenario.building import Draft
from twin.scenario.checks.flow import Link, links
from twin.scenario.checks.routes import Route, route
from twin.scenario.faults import Placed, Problem
from twin.scenario.models import Caster, Cutter, Mill, Pattern, Profiler, Slitter, Supply

MILLIMETRE = 1e-3
_SHORT = 1e-9
"""Lengths that differ by less are the same: a millionth of a millimetre. [m]"""


class Strip(NamedTuple):
    """Strip that is cast or supplied: by which station, how wide and thick [m], for which pattern (None: any)."""

    station: str
    width: float
    thickness: float
    pattern: str | None


def check(found: Draft) -> list[Placed]:
    """Return every problem of patterns and products."""
    problems = [*_shares(found), *(_needed(found) if not found.problems else ())]
    for name, pattern in found.parts.get("patterns", {}).items():
        problems += _fits(found, name, pattern)
        problems += _rolled(found, name, pattern)
    return problems


def runs(found: Draft) -> list[Placed]:
    """Return every problem of how products run through a line whose flow is sound."""
    return list(_led_on(found))


def _shares(found: Draft) -> Iterator[Placed]:
    patterns: dict[str, Pattern] = found.parts.get("patterns", {})
    if "plan" in found.raw or not found.whole("patterns"):
        return
    shares = [pattern.share for pattern in patterns.values() if pattern.share is not None]
    if math.fsum(shares) > 1.0 + 1e-9:
        total = f"{math.fsum(shares) * 100:g} %"
        yield (
            ("patterns",),
            Problem(f"the shares add up to {total}", total, "at most 100 %", "Lower some of the shares"),
        )
    for name, pattern in patterns.items():
        if pattern.share is None and pattern.count is None:
            message = "a pattern needs a share or a count where there is no plan"
            yield ("patterns", name, "share"), Problem(message, way_out="Add share: 20 %, or write a plan")
        elif pattern.share is None and shares:
            message = "some patterns have a share and this one a count"
            yield (
                ("patterns", name, "count"),
                Problem(message, way_out="Give all of them shares, or all of them counts"),
            )
    if patterns and shares and math.fsum(shares) == 0.0:
        yield ("patterns",), Problem("all shares are 0 %", "0 %", "above 0 %", "Give at least one pattern a share")


def _needed(found: Draft) -> Iterator[Placed]:
    if found.names("patterns"):
        return
    for name, station in found.parts.get("stations", {}).items():
        if isinstance(station, Slitter | Cutter | Profiler):
            message = f"a {station.kind} needs patterns, to know what it makes"
            yield ("stations", name), Problem(message, way_out="Add patterns and products, or make it a step")


def _coming(found: Draft) -> list[Strip]:
    """Return all strip that is cast or supplied."""
    coming: list[Strip] = []
    for name, station in found.parts.get("stations", {}).items():
        if isinstance(station, Caster):
            coming.append(Strip(name, station.width, station.thickness, None))
        elif isinstance(station, Supply):
            coil = station.coil
            coming.append(Strip(name, coil.width, coil.thickness, coil.pattern))
    return coming


def _fits(found: Draft, name: str, pattern: Pattern) -> Iterator[Placed]:
    """Yield a problem when the mother coil's width is not known or not what comes, or when the rings are wider."""
    coming = _coming(found)
    own = {one.width: one.station for one in coming if one.pattern in (None, name)}
    strip = pattern.width if pattern.width is not None else min(own, default=None)
    if len({round(width / _SHORT) for width in own}) > 1:
        yield ("patterns", name, "width"), _several(name, own)
    elif pattern.width is None and len({round(one.width / _SHORT) for one in coming}) > 1 and own:
        message = f"strip of {_shown(*sorted({one.width for one in coming}))} comes into the line"
        way_out = f"Write the width of this pattern's coils: width: {_shown(*own)}"
        yield ("patterns", name, "width"), Problem(f"{message}, and this pattern has no width", way_out=way_out)
    elif strip is not None and own and strip > max(own) + _SHORT:
        message = f"a coil of {_shown(strip)} is wider than the {_shown(*own)} strip that comes"
        limit = f"at most {_shown(*own)}"
        yield ("patterns", name, "width"), Problem(message, _shown(strip), limit, "Lower it, or cast it wider")
    elif strip is not None and set(pattern.rings) <= set(found.parts.get("products", {})):
        yield from _rings_fit(found, name, pattern, strip)


def _several(name: str, own: dict[float, str]) -> Problem:
    """Return the problem of a pattern whose coils may have one width or another."""
    widths = sorted(own)
    message = f"its coils may be {_shown(*widths)} wide, from '{own[widths[0]]}' and from '{own[widths[-1]]}'"
    way_out = f"Give both one width, or tell each supply its pattern: coil: {{pattern: {name}}}"
    return Problem(message, _shown(*widths), "one width", way_out)


def _rings_fit(found: Draft, name: str, pattern: Pattern, strip: float) -> Iterator[Placed]:
    products = found.parts["products"]
    trim = (
        pattern.trim.value * (strip if pattern.trim.dimension == "share" else 1.0) if pattern.trim is not None else 0.0
    )
    rings = math.fsum(products[product].girth * count for product, count in pattern.rings.items())
    if rings + trim > strip + _SHORT:
        more = (rings + trim - strip) / MILLIMETRE
        words = f"the rings add up to {rings / MILLIMETRE:g} mm"
        words += f" and the trim to {trim / MILLIMETRE:g} mm" if trim else ""
        message = f"{words}, {more:g} mm more than the {strip / MILLIMETRE:g} mm strip"
        limit = f"at most {strip / MILLIMETRE:g} mm"
        yield (
            ("patterns", name, "rings"),
            Problem(message, f"{rings / MILLIMETRE:g} mm", limit, "Drop a ring or widen the strip"),
        )


def _rolled(found: Draft, name: str, pattern: Pattern) -> Iterator[Placed]:
    """Yield a problem when no mill rolls the pattern's gauge, or when nothing rolls and other strip comes."""
    if not found.whole("stations"):
        return
    stations = found.parts.get("stations", {})
    mills = [own for key, own in stations.items() if isinstance(own, Mill) and key not in pattern.skips]
    comes = sorted({one.thickness for one in _coming(found) if one.pattern in (None, name)})
    gauge, here = _shown(pattern.thickness), ("patterns", name, "thickness")
    if not mills and comes and pattern.thickness not in comes:
        limit = _shown(*comes)
        message = f"no mill rolls this to {gauge}: the strip that comes is {limit}"
        yield here, Problem(message, gauge, limit, "Add a mill or change it")
    elif mills and all(mill.passes is not None and pattern.thickness not in mill.passes for mill in mills):
        limit = _shown(*sorted({own for mill in mills for own in mill.passes or ()}))
        way_out = f"Add passes for {gauge}, or use {limit}"
        yield here, Problem(f"no mill has passes for {gauge}", gauge, limit, way_out)
    elif mills and comes and pattern.thickness > comes[0]:
        limit = f"at most {_shown(comes[0])}"
        yield here, Problem(f"{gauge} is thicker than the {_shown(comes[0])} strip that comes", gauge, limit, "Thin it")


def _shown(*thicknesses: float) -> str:
    return " or ".join(f"{thickness / MILLIMETRE:g} mm" for thickness in thicknesses)


def _led_on(found: Draft) -> Iterator[Placed]:
    chain = links(found)
    routes = {name: route(found, chain, name, pattern) for name, pattern in found.parts.get("patterns", {}).items()}
    for name, run in routes.items():
        yield from _ends(found, name, run)
    comes: dict[str, set[str]] = {}
    for run in routes.values():
        for station, products in run.stations.items():
            comes.setdefault(station, set()).update(products)
    for link in chain:
        yield from _station(found, link, comes.get(link.station, set()))


def _ends(found: Draft, name: str, run: Route) -> Iterator[Placed]:
    pattern = found.parts["patterns"][name]
    if not run.stations:
        message = f"no coil of pattern '{name}' comes into the line"
        yield ("patterns", name), Problem(message, name, way_out="Let a supply or caster give it")
        return
    if sum(pattern.rings.values()) > 1 and not run.slit:
        message = f"pattern '{name}' has more than one ring, but its coils pass no slitter"
        yield ("patterns", name, "rings"), Problem(message, name, way_out="Add a slitter, or one ring only")
    for product in pattern.rings:
        sold = found.parts["products"][product].sold
        unformed = run.ends.get(product, set()) - run.formed.get(product, set())
        if sold != "coil" and unformed:
            store = sorted(unformed)[0]
            message = f"a dead end: rings of '{product}' stay in '{store}', no cutter or profiler takes them"
            way_out = f"Name '{product}' in the makes of a station that draws on '{store}', or write sold: coil"
            yield ("patterns", name, "rings", product), Problem(message, product, way_out=way_out)


def _station(found: Draft, link: Link, comes: set[str]) -> Iterator[Placed]:
    station = found.parts["stations"][link.station]
    here = ("stations", link.station)
    if station.makes is not None and found.names("patterns"):
        for number, product in enumerate(station.makes):
            if product not in comes:
                message = f"'{product}' never comes here: no pattern brings it"
                yield (
                    (*here, "makes", number),
                    Problem(message, product, way_out="Name it in a pattern, or leave it out"),
                )
    if isinstance(station, Cutter | Profiler):
        for product in sorted(comes):
            if found.parts["products"][product].length is None:
                message = f"'{product}' comes here too and has no length: it is sold as coil"
                way_out = "Name the products it takes: makes: [...]"
                yield (*here, "makes"), Problem(message, product, way_out=way_out)
    if isinstance(station, Profiler) and isinstance(station.speed, dict):
        for product in station.speed:
            if product not in found.names("products"):
                from twin.scenario.checks.names import unknown

                yield from unknown(found, "products", product, (*here, "speed", product))
        missing = sorted(comes - set(station.speed))
        if missing:
            message = f"there is no speed for '{missing[0]}', which comes here"
            yield (*here, "speed"), Problem(message, missing[0], way_out=f"Add {missing[0]}: 40 m/min")
