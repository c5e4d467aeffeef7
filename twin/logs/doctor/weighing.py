"""Coils that were weighed again: two rows of one coil at one station and time that differ in their mass alone."""

from __future__ import annotations

import numpy as np

from twin.logs.doctor.findings import Case, Finding, counted, listed

WITHIN = 0.05
"""Two weighings of one coil may differ by so much; more is a contradiction."""


def reweighed(case: Case) -> Case:
    """Take the later weighing of a coil that stands twice with another mass."""
    coils = case.log["coils"]
    if not len(coils):
        return case
    mass = coils["mass_kg"]
    names = ("coil", "station", "start", "end")
    keys = list(zip(*(coils[name].tolist() for name in names), strict=True))
    if len(set(keys)) == len(keys):
        return case
    first: dict[tuple[object, ...], int] = {}
    drop = []
    for at, key in enumerate(keys):
        before = first.get(key)
        if before is not None and _again(mass[before], mass[at]):
            drop.append(before)
        first[key] = at
    if not drop:
        return case
    gone, stays = np.array(drop), np.ones(len(coils), dtype=bool)
    stays[gone] = False
    later = np.array([first[keys[at]] for at in drop])
    effect = float(mass[later].sum() - mass[gone].sum()) / 1000.0
    words = f"{counted(len(drop), 'coil')} weighed again: the later mass is taken"
    found = Finding(
        "re-weighed", "coils", "", listed(coils, gone), len(drop), "mended", words, "Keep one weighing a coil", effect,
        file=coils.file,
    )  # fmt: skip
    return case.with_log(case.log.put(coils.take(stays)), found)


def _again(before: float, after: float) -> bool:
    return before == before and after == after and 0.0 < abs(after - before) <= WITHIN * before
