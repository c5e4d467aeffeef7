"""Masses that cannot be: wrong units, stillage weighed along, children heavier than their parent, metal got lost."""

from __future__ import annotations

import numpy as np

from twin.logs.doctor.findings import Case, Done, Finding, listed, stations
from twin.logs.tables import Array, Table

TOLERANCE = 0.03
"""How far mass and length x width x thickness x density may differ."""
CHILDREN = 1.01
CLOSES = 0.05
OFF, OFF_KG = 0.2, 5.0
"""A tare that was declared may be off by so much of what was found, or so many kilograms."""
FEW = 10
FACTORS = (
    (0.001, "mass_kg is in t"),
    (1000.0, "mass_kg is in g"),
    (2.2046226, "mass_kg is in lb"),
    (1.0 / 3.2808399, "length_m is in ft"),
    (1000.0, "thickness_mm or width_mm is in m, or mass_kg in g"),
    (25.4, "thickness_mm or width_mm is in inches"),
    (0.1, "thickness_mm is in tenths of a millimetre"),
)


def _expected(coils: Table, density: float) -> Array:
    return np.asarray(coils["length_m"] * coils["width_mm"] * coils["thickness_mm"] * 1e-6 * density)


def units(case: Case) -> Case:
    """Compare mass with length x width x thickness x density: refuse a wrong unit, find stillage weighed along."""
    coils = case.log["coils"]
    if case.density is None or not len(coils):
        return case
    expected = _expected(coils, case.density)
    mass, moved, found = coils["mass_kg"].copy(), np.zeros(len(coils), dtype=bool), list[Finding]()
    for station, rows in stations(coils):
        known = rows[np.isfinite(mass[rows]) & np.isfinite(expected[rows]) & (expected[rows] > 0.0)]
        if len(known) < FEW:
            continue
        ratio = float(np.median(mass[known] / expected[known]))
        over = mass[known] - expected[known]
        middle = float(np.median(over))
        even = float(np.median(np.abs(over - middle)))
        if middle > 5.0 and even < 0.1 * middle and abs(ratio - 1.0) < 0.5 and _steadier(mass[known], expected[known]):
            declared = case.mapping.tare_kg.get(station)
            if declared is not None:
                mass[known] -= declared
                moved[known] = True
            found.append(_tare(case, coils, station, known, middle, declared))
        elif abs(ratio - 1.0) > TOLERANCE:
            found.append(_unit(coils, station, known, ratio))
    return case.with_log(case.log.put(coils.put(moved, mass_kg=mass)), *found)


def _steadier(mass: Array, expected: Array) -> bool:
    """Tell whether an added mass tells the difference better than a factor, or as well where all coils are alike."""
    ratio = mass / expected
    by_factor = np.abs(mass - expected * np.median(ratio)).mean()
    by_sum = np.abs(mass - expected - np.median(mass - expected)).mean()
    return bool(by_sum <= by_factor + 1e-6 * mass.mean())


def _tare(case: Case, coils: Table, station: str, rows: Array, middle: float, declared: float | None) -> Finding:
    tonnes = middle * len(rows) / 1000.0
    done = "taken off" if declared is not None else "not taken off, as nobody declared it"
    off = declared is not None and abs(middle - declared) > max(OFF_KG, OFF * middle)
    if off:
        done = f"{declared:.0f} kg are taken off, as declared; {middle - (declared or 0.0):+.0f} kg stay"
    words = f"{len(rows)} coils of {station} weigh {middle:.0f} kg more than their size tells: stillage or core, {done}"
    declare = f"Write tare_kg: {{{station}: {middle:.0f}}} in mapping.yaml"
    way_out = "" if declared is not None and not off else declare
    state: Done = "mended" if declared is not None else "marked"
    lines = listed(coils, rows)
    return Finding(
        "tare", "coils", station, lines, len(rows), state, words, way_out, tonnes, value=middle, file=coils.file
    )


def _unit(coils: Table, station: str, rows: Array, ratio: float) -> Finding:
    near = [words for factor, words in FACTORS if abs(ratio / factor - 1.0) < TOLERANCE]
    words = f"masses of {station} are {ratio:.4g} times length x width x thickness x density (3 % is allowed)"
    guess = f"perhaps {near[0]}" if near else "check the units of mass, length, width and thickness"
    way_out = f"Declare the units in mapping.yaml: {guess}"
    lines = listed(coils, rows)
    return Finding("unit", "coils", station, lines, len(rows), "refused", words, way_out, value=ratio, file=coils.file)


def genealogy(case: Case) -> Case:
    """Find parents that are lighter than their children, and numbers of coils that were used twice.

    Masses in a wrong unit, or with stillage that nobody declared, cannot be compared.
    """
    coils = case.log["coils"]
    if not len(coils):
        return case
    doubted = any(one.kind in ("unit", "tare") and one.done != "mended" for one in case.findings)
    found = [*([] if doubted else _heavy(coils)), *_twice(coils)]
    return case.with_log(case.log, *found)


def _heavy(coils: Table) -> list[Finding]:
    """Compare what is born of each coil with what the coil last weighed before."""
    names, parents, start = coils["coil"].tolist(), coils["parent"].tolist(), coils["start"]
    order = np.argsort(start, kind="stable")
    weight: dict[str, float] = {}
    born: dict[str, dict[str, tuple[float, int]]] = {}
    for at in order:
        mass = float(coils["mass_kg"][at])
        if mass != mass:
            continue
        if parents[at]:
            born.setdefault(parents[at], {}).setdefault(names[at], (mass, int(at)))
        elif names[at] not in born:
            weight[names[at]] = mass
    heavy = {
        parent: total / weight[parent]
        for parent, own in born.items()
        if parent in weight and (total := sum(mass for mass, _ in own.values())) > CHILDREN * weight[parent]
    }
    if not heavy:
        return []
    rows = np.array(sorted(at for parent in heavy for _, at in born[parent].values()))
    over = sum((ratio - 1.0) * weight[parent] for parent, ratio in heavy.items()) / 1000.0
    worst = max(heavy, key=lambda parent: heavy[parent])
    words = f"{len(heavy)} coils are lighter than what was slit from them, {worst} by {100 * (heavy[worst] - 1):.0f} %"
    way_out = "Weigh again, or correct the number of the parent"
    lines = listed(coils, rows)
    return [Finding("genealogy", "coils", "", lines, len(rows), "marked", words, way_out, over, file=coils.file)]


def _twice(coils: Table) -> list[Finding]:
    """Find a number that one station worked twice, more than a day apart."""
    first: dict[tuple[str, str], int] = {}
    again = []
    start = coils["start"]
    for at, key in enumerate(zip(coils["coil"].tolist(), coils["station"].tolist(), strict=True)):
        before = first.setdefault(key, at)
        if before != at and abs(float(start[at] - start[before])) > 86_400.0:
            again.append(at)
    if not again:
        return []
    words = f"{len(again)} numbers of coils were used again: what is told of one may belong to the other"
    way_out = "Put the year before the number"
    lines = listed(coils, np.array(again))
    return [Finding("number twice", "coils", "", lines, len(again), "marked", words, way_out, file=coils.file)]


def closure(case: Case) -> Case:
    """Compare, station by station, what coils weighed when they came with good and scrap when they left."""
    coils, output = case.log["coils"], case.log["output"]
    if not len(coils) or not output.has("good_kg") or not output.has("coil"):
        return case
    if any(one.kind == "unit" for one in case.findings):
        return case  # masses in a wrong unit cannot be compared with others
    told_twice = [line for one in case.findings if one.kind == "conflict" for line in one.lines]
    output = output.take(~np.isin(output.line, told_twice))
    came = _came(_without_tare(coils, case.findings))
    found, unordered = [], {one.station for one in case.findings if one.kind == "clock order"}
    for station, rows in stations(output):
        if station in unordered:
            continue  # what came before what cannot be told there
        own = {coil for coil in output["coil"][rows].tolist() if (station, coil) in came}
        taken = np.array([at for at in rows if output["coil"][at] in own], dtype=np.int64)
        if len(own) < FEW:
            continue
        into = sum({came[station, coil][0]: came[station, coil][1] for coil in own}.values())
        out = float(np.nansum(output["good_kg"][taken]) + np.nansum(output["scrap_kg"][taken]))
        if into > 0.0 and abs(out / into - 1.0) > CLOSES:
            words = (
                f"{station} took {into / 1000.0:.0f} t and gave {out / 1000.0:.0f} t good and scrap: "
                f"{100.0 * (out / into - 1.0):+.1f} % (5 % is allowed)"
            )
            way_out = "Check units, missing scrap and coils booked twice"
            effect = (out - into) / 1000.0
            found.append(
                Finding(
                    "mass closure", "output", station, (), len(taken), "refused", words, way_out, effect,
                    value=out / into, file=output.file,
                )
            )  # fmt: skip
    return case.with_log(case.log, *found)


def _without_tare(coils: Table, findings: tuple[Finding, ...]) -> Table:
    """Return coils without the stillage that was found but that nobody declared, to compare them with what left."""
    own = {one.station: one.value or 0.0 for one in findings if one.kind == "tare" and one.done == "marked"}
    if not own:
        return coils
    off = np.array([own.get(station, 0.0) for station in coils["station"].tolist()])
    return coils.put(None, mass_kg=coils["mass_kg"] - off)


def _came(coils: Table) -> dict[tuple[str, str], tuple[str, float]]:
    """Return for each station and coil which coil brought the metal, and its mass then [kg]."""
    order = np.argsort(coils["start"], kind="stable")
    latest: dict[str, tuple[str, float]] = {}
    found: dict[tuple[str, str], tuple[str, float]] = {}
    for at in order:
        station, coil, parent = coils["station"][at], coils["coil"][at], coils["parent"][at]
        before = latest.get(coil)
        if before is not None and before[0] != station:
            found[station, coil] = (coil, before[1])
        elif before is None and parent in latest:
            mother = latest[parent]
            known = found.get((station, parent))
            found[station, coil] = (parent, known[1] if known is not None else mother[1])
        latest[coil] = (station, float(coils["mass_kg"][at]))
    return found
