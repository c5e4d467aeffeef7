"""Every option of a file is tried, so that none of them fails only when someone asks for it."""

from __future__ import annotations

from twin.scenario.building import Draft, Known, draft
from twin.scenario.faults import Placed, Problem
from twin.scenario.options import changed_by


def check(found: Draft) -> list[Placed]:
    """Return the problems of each option alone, told at the option."""
    from twin.scenario.checks import check as check_all

    problems: list[Placed] = []
    for name, option in found.parts.get("options", {}).items():
        here = ("options", name, "set")
        who = f"option '{name}'"
        for path, value in option.set.items():
            raw, faults = changed_by(found.raw, [(who, path, value)], "")
            problems += [((*here, path), Problem(f.message, f.value, f.limit, f.way_out)) for f in faults]
        raw, faults = changed_by(found.raw, [(who, path, value) for path, value in option.set.items()], "")
        if faults:
            continue
        tried = draft(raw, found.folder, Known(found.raw, found.parts))
        tried.problems += check_all(tried, options_too=False)
        key = next(iter(option.set))
        for place, p in tried.problems:
            words = ".".join(str(step) for step in place)
            problems.append(((*here, key), Problem(f"{who}: {words}: {p.message}", p.value, p.limit, p.way_out)))
    return problems
