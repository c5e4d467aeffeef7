"""The metals a line may run: densities, heats, strength, each with the source that `materials.csv` names."""

import csv
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from math import isfinite
from pathlib import Path

CELSIUS_ZERO = 273.15  # K

_TABLE = Path(__file__).with_name("materials.csv")
_SOLID_TERMS = tuple(f"heat_capacity_solid_{term}" for term in "abcde")

# What a scenario may give as the values of its own metal.
OWN_KEYS = (
    "density",
    "density_liquid",
    "melting_point",
    "solidus",
    "liquidus",
    "heat_of_fusion",
    "heat_capacity_solid",
    "heat_capacity_liquid",
    "thermal_expansion",
    "strength",
    "hardening",
)


@dataclass(frozen=True, slots=True)
class Material:
    """A metal, solid and liquid.

    Attributes
    ----------
    density, density_liquid : At room temperature, and liquid at the melting point. [kg/m3]
    solidus, liquidus : Where melting begins and ends; equal for a pure metal. [K]
    heat_of_fusion : Taken up between solidus and liquidus. [J/kg]
    heat_capacity_solid : Terms a to e of Shomate's equation a + b t + c t2 + d t3 + e/t2, t = T/1000 K. [J/(kg K)]
    heat_capacity_liquid : Taken as constant. [J/(kg K)]
    valid_from, valid_to : The temperatures between which the heats may be used. [K]
    thermal_expansion : Of the strip, lengthwise. [1/K]
    strength, hardening : K [Pa] and n [1] of the flow stress K strain^n.
    """

    name: str
    density: float
    density_liquid: float
    solidus: float
    liquidus: float
    heat_of_fusion: float
    heat_capacity_solid: tuple[float, float, float, float, float]
    heat_capacity_liquid: float
    valid_from: float
    valid_to: float
    thermal_expansion: float
    strength: float
    hardening: float

    @property
    def melting_point(self) -> float:
        """Temperature above which all of it is liquid (the liquidus). [K]"""
        return self.liquidus


@dataclass(frozen=True, slots=True)
class Row:
    """A line of `materials.csv`; `basis` is published, from memory or assumed."""

    metal: str
    property: str
    value: float
    unit: str
    basis: str
    source: str


def names() -> tuple[str, ...]:
    """Return the metals of `materials.csv`, in its order."""
    return tuple(dict.fromkeys(row.metal for row in _rows()))


def rows(name: str) -> tuple[Row, ...]:
    """Return all that `materials.csv` says of a metal, values in the units of their sources.

    Raises
    ------
    ValueError : No such metal; the message names the nearest one.
    """
    _known(name)
    return tuple(row for row in _rows() if row.metal == name)


@lru_cache
def material(name: str) -> Material:
    """Return a metal of `materials.csv`, in SI units.

    Raises
    ------
    ValueError : No such metal; the message names the nearest one.
    """
    table = {row.property: row for row in rows(name)}
    molar_mass = _si(table.pop("molar_mass"), 1.0)
    si = {key: _si(row, molar_mass) for key, row in table.items()}
    a, b, c, d, e = (si.pop(term) for term in _SOLID_TERMS)
    return Material(name=name, heat_capacity_solid=(a, b, c, d, e), **si)


def own_material(values: Mapping[str, float], *, like: str | None = None, name: str = "own metal") -> Material:
    """Return a metal with a plant's own values.

    Parameters
    ----------
    values : Any of `OWN_KEYS`, in SI units; `melting_point` sets solidus and liquidus, a heat capacity is a constant.
    like : The metal of `materials.csv` that supplies what `values` leaves out.
    name : What to call it.

    Raises
    ------
    ValueError : An unknown key, a value that cannot be, or one left out with no `like` to take it from.
    """
    unknown = [key for key in values if key not in OWN_KEYS]
    if unknown:
        raise ValueError(f"{name}: {unknown[0]} is not a property of a metal{_nearest(unknown[0], OWN_KEYS)}")
    given = dict(values)
    if "melting_point" in given:
        point = given.pop("melting_point")
        given = {"solidus": point, "liquidus": point} | given
    needed = [key for key in OWN_KEYS if key != "melting_point" and key not in given]
    if like is None and needed:
        raise ValueError(f"{name}: {needed[0]} is missing: give it, or name a metal that it is like")
    for key, value in given.items():
        _plausible(name, key, value)
    made = _merged(name, given, material(like) if like is not None else None)
    if made.solidus > made.liquidus:
        raise ValueError(
            f"{name}: the solidus, {made.solidus:g} K, is above the liquidus, {made.liquidus:g} K: "
            "swap them or give one melting point"
        )
    return made


def heat_capacity(metal: Material, temperature: float) -> float:
    """Return the heat capacity of the solid below the liquidus, of the liquid above it [J/(kg K)]."""
    _in_range(metal, temperature)
    if temperature >= metal.liquidus:
        return metal.heat_capacity_liquid
    a, b, c, d, e = metal.heat_capacity_solid
    t = temperature / 1000.0
    return a + b * t + c * t**2 + d * t**3 + e / t**2


def heat_content(metal: Material, t_from: float, t_to: float) -> float:
    """Return the heat that brings the metal from one temperature to another, melting included [J/kg].

    An alloy takes up its heat of fusion evenly between solidus and liquidus; a pure metal at its melting point
    counts as liquid. Negative when the metal cools.

    Parameters
    ----------
    metal : The metal.
    t_from, t_to : Temperatures before and after. [K]

    References
    ----------
    Integral of Shomate's equation as printed with the NIST-JANAF tables (Chase 1998).
    """
    return _enthalpy(metal, t_to) - _enthalpy(metal, t_from)


def _enthalpy(metal: Material, temperature: float) -> float:
    """Return the heat above that of an imaginary solid at 0 K, good for differences only [J/kg]."""
    _in_range(metal, temperature)
    a, b, c, d, e = metal.heat_capacity_solid
    t = min(temperature, metal.liquidus) / 1000.0
    solid = 1000.0 * (a * t + b * t**2 / 2 + c * t**3 / 3 + d * t**4 / 4 - e / t)
    if temperature >= metal.liquidus:
        return solid + metal.heat_of_fusion + metal.heat_capacity_liquid * (temperature - metal.liquidus)
    if temperature > metal.solidus:
        return solid + metal.heat_of_fusion * (temperature - metal.solidus) / (metal.liquidus - metal.solidus)
    return solid


def _in_range(metal: Material, temperature: float) -> None:
    if not metal.valid_from <= temperature <= metal.valid_to:
        raise ValueError(
            f"{metal.name} at {temperature - CELSIUS_ZERO:.1f} degC is outside "
            f"{metal.valid_from - CELSIUS_ZERO:.0f} to {metal.valid_to - CELSIUS_ZERO:.0f} degC, "
            "where its heats are known: check the temperature and its unit"
        )


@lru_cache
def _rows() -> tuple[Row, ...]:
    with _TABLE.open(encoding="utf-8", newline="") as file:
        return tuple(
            Row(line["metal"], line["property"], float(line["value"]), line["unit"], line["basis"], line["source"])
            for line in csv.DictReader(file)
        )


def _known(name: str) -> None:
    if name not in names():
        raise ValueError(f"no metal is called {name!r}{_nearest(name, names())}; known are {', '.join(names())}")


def _nearest(word: str, known: tuple[str, ...]) -> str:
    near = get_close_matches(word, known, n=1)
    return f"; did you mean {near[0]}?" if near else ""


# From the unit in which a source prints to SI; the second argument is the molar mass [kg/mol].
_TO_SI: dict[str, Callable[[float, float], float]] = {
    "kg/m3": lambda value, _: value,
    "g/mol": lambda value, _: value / 1e3,
    "degC": lambda value, _: value + CELSIUS_ZERO,
    "K": lambda value, _: value,
    "kJ/mol": lambda value, molar: value * 1e3 / molar,
    "J/(mol K)": lambda value, molar: value / molar,
    "1e-6/K": lambda value, _: value / 1e6,
    "MPa": lambda value, _: value * 1e6,
    "1": lambda value, _: value,
}


def _si(row: Row, molar_mass: float) -> float:
    return _TO_SI[row.unit](row.value, molar_mass)


def _plausible(name: str, key: str, value: float) -> None:
    """Refuse what is not a number above zero (a hardening or an expansion may be zero)."""
    lowest = 0.0 if key in ("hardening", "thermal_expansion") else None
    if not isfinite(value) or value < 0 or (lowest is None and value == 0):
        raise ValueError(f"{name}: {key} is {value:g}, but must be above 0: give it in its usual unit")


def _merged(name: str, given: Mapping[str, float], like: Material | None) -> Material:
    def value(key: str) -> float:
        return given[key] if key in given or like is None else float(getattr(like, key))

    solid = (
        (given["heat_capacity_solid"], 0.0, 0.0, 0.0, 0.0)
        if "heat_capacity_solid" in given or like is None
        else like.heat_capacity_solid
    )
    return Material(
        name=name,
        density=value("density"),
        density_liquid=value("density_liquid"),
        solidus=value("solidus"),
        liquidus=value("liquidus"),
        heat_of_fusion=value("heat_of_fusion"),
        heat_capacity_solid=solid,
        heat_capacity_liquid=value("heat_capacity_liquid"),
        valid_from=like.valid_from if like is not None else 233.15,
        valid_to=like.valid_to if like is not None else 2500.0,
        thermal_expansion=value("thermal_expansion"),
        strength=value("strength"),
        hardening=value("hardening"),
    )
