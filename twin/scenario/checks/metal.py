"""The metal must be liquid where it is cast and grow thinner where it is rolled."""

from __future__ import annotations

from collections.abc import Iterator

from twin.materials import Material, material, names, own_material
from twin.scenario.building import Draft
from twin.scenario.checks.routes import Sources, sources
from twin.scenario.faults import Placed, Problem, did_you_mean
from twin.scenario.models import Caster, Furnace, Metal, Mill
from twin.scenario.quantities import parse

CELSIUS = 273.15


def check(found: Draft) -> list[Placed]:
    """Return every problem of the metal: unknown, not molten, not thinned."""
    problems: list[Placed] = []
    metal = _material(found, problems)
    entry = sources(found)
    for name, station in found.parts.get("stations", {}).items():
        if isinstance(station, Furnace) and metal is not None:
            problems += _melts(name, station, metal)
        if isinstance(station, Mill):
            problems += _thins(found, name, station, entry)
        if isinstance(station, Caster) and station.coil is not None and metal is not None:
            problems += _winds(name, station, metal)
    return problems


def _material(found: Draft, problems: list[Placed]) -> Material | None:
    metal = found.parts.get("metal")
    known = names()
    if isinstance(metal, str) and metal not in known:
        hint = did_you_mean(metal, known, "metals")
        problems.append((("metal",), Problem(f"the metal '{metal}' is not known", metal, ", ".join(known), hint)))
        return None
    if isinstance(metal, Metal) and metal.like is not None and metal.like not in known:
        hint = did_you_mean(metal.like, known, "metals")
        problems.append(
            (("metal", "like"), Problem(f"the metal '{metal.like}' is not known", metal.like, way_out=hint))
        )
        return None
    if isinstance(metal, Metal):
        try:
            return own_material(metal.values(), like=metal.like, name="metal")
        except ValueError as error:
            problems.append(
                (("metal",), Problem(str(error).removeprefix("metal: "), way_out="See docs/scenario.md, metal"))
            )
            return None
    return material(metal) if isinstance(metal, str) else None


def _melts(name: str, furnace: Furnace, metal: Material) -> Iterator[Placed]:
    here = ("stations", name)
    melting, pour = metal.melting_point, furnace.pour - CELSIUS
    if furnace.pour <= melting:
        message = f"the bath is set to {pour:.1f} degC, but {metal.name} melts at {melting - CELSIUS:.1f} degC"
        limit = f"above {melting - CELSIUS:.1f} degC"
        yield (
            (*here, "pour"),
            Problem(message, f"{pour:g} degC", limit, "Set the bath above the melting point"),
        )
    elif furnace.pour > metal.valid_to:
        message = f"the bath is set to {pour:.1f} degC, where {metal.name} is not known any more"
        limit = f"at most {metal.valid_to - CELSIUS:.0f} degC"
        yield (
            (*here, "pour"),
            Problem(message, f"{pour:g} degC", limit, "Lower the bath's temperature"),
        )
    if furnace.charge >= furnace.pour or furnace.charge < metal.valid_from:
        message = f"the charge is put in at {furnace.charge - CELSIUS:.1f} degC"
        limit = f"from {metal.valid_from - CELSIUS:.0f} degC to below the bath's {pour:.0f} degC"
        yield (*here, "charge"), Problem(f"{message}, it must be {limit}", f"{furnace.charge - CELSIUS:g} degC", limit)


def _thins(found: Draft, name: str, mill: Mill, entry: dict[str, Sources]) -> Iterator[Placed]:
    thickest = entry[name].thinnest if name in entry else None
    if thickest is None or mill.passes is None or entry[name].rolled:
        return
    for gauge, passes in mill.passes.items():
        if passes[0].thickness >= thickest:
            message = (
                f"the first pass gives {passes[0].thickness * 1e3:g} mm, but the strip that comes is "
                f"{thickest * 1e3:g} mm: a pass must thin it"
            )
            limit = f"below {thickest * 1e3:g} mm"
            key = _gauge_key(found, name, gauge)
            yield (
                ("stations", name, "passes", key, 0),
                Problem(message, f"{passes[0].thickness * 1e3:g} mm", limit, "Thin the first pass"),
            )


def _gauge_key(found: Draft, name: str, gauge: float) -> str:
    """Return a gauge as the file writes it."""
    written = found.raw["stations"][name]["passes"]
    return next((str(key) for key in written if parse(key, ("length",)).value == gauge), "")


def _winds(name: str, caster: Caster, metal: Material) -> Iterator[Placed]:
    coil = caster.coil
    length = coil.mass / (metal.density * caster.width * caster.thickness) if coil is not None else 1.0
    if length < 1.0 or length > 20_000.0:
        message = f"a coil of that mass would be {length:.3g} m of cast strip"
        yield (
            ("stations", name, "coil", "mass"),
            Problem(message, limit="1 m to 20 km", way_out="Check mass, width and thickness"),
        )
