"""What the page of inputs says in sentences: how much is measured, whether the log can be used, when it was."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from dashboard.inputs_numbers import ASSUMED, MEASURED, MEMORY
from twin.indicators import Part
from twin.words import NO_BREAK, plain, share

Plain = Mapping[str, Any]
DAY_S = 86_400.0


def day_name(at: float, zone: str) -> str:
    """Return the local day of a time: 2 Mar 2026."""
    local = datetime.fromtimestamp(at, ZoneInfo(zone))
    return f"{local.day} {local:%b %Y}"


def counts(answer: Plain) -> Counter[str]:
    """Return how many numbers have each source."""
    return Counter(one["source"] for one in answer["numbers"])


def verdict(answer: Plain) -> tuple[Part, ...]:
    """Return the answer to the page's question: of the numbers, or of the log where one was brought in."""
    log = answer["log"]
    if log is None:
        return _of_numbers(answer)
    if not log["read"]:
        number_ = len(log["faults"])
        what = "one fault" if number_ == 1 else f"{number_} faults"
        return (Part("This log cannot be read. "), Part(f"Put {what} right first", strong=True), Part("."))
    if not log["trusted"]:
        bad = sum(1 for one in log["findings"] if one["done"] == "refused")
        return (
            Part(f"The log of {days_of(log)} must not be used yet: "),
            Part(
                f"{bad} of its {len(log['findings'])} findings {'has' if bad == 1 else 'have'} to be put right",
                strong=True,
            ),
            Part(", or every figure made from it would be wrong."),
        )
    return _of_log(answer)


def _of_numbers(answer: Plain) -> tuple[Part, ...]:
    found, total = counts(answer), len(answer["numbers"])
    measured, memory = found[MEASURED], found[MEMORY]
    if not measured:
        rest = f", {memory} of them from memory" if memory else ""
        return (
            Part(f"None of the {total} numbers is measured", strong=True),
            Part(f": all are assumed{rest}. A log of the plant can tell some of them."),
        )
    return (
        Part(f"{measured} of the {total} numbers are measured", strong=True)
        if measured > 1
        else Part(f"One of the {total} numbers is measured", strong=True),
        Part(f"; {found[ASSUMED]} are assumed{f' and {memory} stand from memory' if memory else ''}."),
    )


def _of_log(answer: Plain) -> tuple[Part, ...]:
    log = answer["log"]
    wrong = [one for one in log["findings"] if one["done"] != "refused"]
    if not wrong:
        said = Part(f"The log of {days_of(log)} can be used as it is", strong=True)
        return said, Part(f": nothing wrong was found in it.{_told(answer)}")
    stopped = sum(one["stopped_s"] for one in log["stations"])
    guessed = sum(one["guessed_s"] for one in log["stations"])
    mended = sum(1 for one in wrong if one["done"] == "mended")
    told = f"{len(wrong)} things were wrong in it" if len(wrong) > 1 else "One thing was wrong in it"
    ways = [f"{count} {done}" for count, done in ((mended, "mended"), (len(wrong) - mended, "marked")) if count]
    return (
        Part(f"The log of {days_of(log)} can be used. "),
        Part(f"{told}: {' and '.join(ways)}", strong=True),
        Part(f". {_share(guessed, stopped)} of the stopped time is inferred.{_told(answer)}"),
    )


def _told(answer: Plain) -> str:
    """Return how many numbers the log tells, and how many of them were assumed wrongly."""
    causes = answer["fits"]["causes"] if answer["fits"] else []
    if not causes:
        return ""
    outside = sum(1 for one in causes if one["differs"])
    count = {0: "none lies", 1: "one lies"}.get(outside, f"{outside} lie")
    return f" It tells of {len(causes)} numbers; {count} outside what was assumed."


def _share(part: float, whole: float) -> str:
    """Return a share in per cent, small ones told as less than one."""
    found = part / whole if whole else 0.0
    return f"Less than 1{NO_BREAK}%" if 0.0 < found < 0.005 else share(found) if found else "None"


def days_of(log: Plain) -> str:
    """Return the length of a log in days."""
    days = round((log["span"][1] - log["span"][0]) / DAY_S)
    return "one day" if days == 1 else f"{days} days"


def sure(answer: Plain) -> str:
    """Return what the answer rests on: rows, first and last day, zone."""
    log = answer["log"]
    if log is None or not log["read"]:
        said = {MEASURED: "full ring: measured", ASSUMED: "open ring: assumed", MEMORY: "dotted ring: from memory"}
        return f"{len(answer['numbers'])} numbers in the scenario file. {', '.join(said.values()).capitalize()}."
    rows = ", ".join(f"{plain(own['rows'])} {name}" for name, own in log["tables"].items())
    first, last = (day_name(at, log["zone"]) for at in log["span"])
    return f"{rows}; {first} to {last}, zone {log['zone']}."


def where(one: Plain) -> str:
    """Return where a finding stands: file and lines."""
    lines = one["lines"]
    if not one["file"]:
        return one["table"] or "all tables"
    if not lines:
        return str(one["file"])
    named = ", ".join(str(line) for line in lines[:3])
    more = f" and {plain(one['count'] - 3)} more" if one["count"] > 3 else ""
    return f"{one['file']}, {'row' if one['count'] == 1 else 'rows'} {named}{more}"
