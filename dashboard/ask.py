"""What a page is asked, and the address that asks it: the same address shows the same page anywhere."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any
from urllib.parse import parse_qs, urlencode

RUNS = (10, 20, 50, 100, 200)
MOST_RUNS = 10_000
UNITS = {"t": "t", "us": "short tons"}
BEST, UNCERTAIN = "best", "uncertain"
INPUTS = {BEST: "best estimates", UNCERTAIN: "as uncertain as they are"}
LEAST_UNCERTAIN_RUNS = 60  # 30 plants of two runs, as the commands take
LONGEST_NAME = 200
LARGEST_SEED = 2**53 - 1  # the largest whole number that a browser keeps exactly


class AskError(ValueError):
    """The address asks for something that cannot be; the message names the part, its value and the way out."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A plant with options, so many runs from a seed, shown in these units.

    ``sums`` are options put together as ``A + B``, ``sets`` single values as ``path=value``: both stand beside today on
    the page that compares, and other pages pass them on. ``day`` is a production day of a log, "" the last one; ``log``
    is a log that was brought in, by the name under which it is kept or that of its folder. ``inputs`` says whether runs
    take the numbers of the plant at their best estimates or as uncertain as they are.
    """

    plant: str = ""
    options: tuple[str, ...] = ()
    runs: int = 20
    seed: int = 2026
    units: str = "t"
    sums: tuple[str, ...] = ()
    sets: tuple[str, ...] = ()
    day: str = ""
    log: str = ""
    inputs: str = BEST

    @property
    def mark(self) -> str:
        """Return a short name of the question, whatever the scenario file says today."""
        uncertain = ("inputs uncertain",) if self.inputs == UNCERTAIN else ()
        text = repr((self.plant, self.options, self.runs, self.seed, *self.beside, *uncertain))
        return hashlib.sha256(text.encode()).hexdigest()[:16]

    @property
    def beside(self) -> tuple[str, ...]:
        """Return what else stands beside today, as text that tells sums and sets apart."""
        return (*(f"sum {one}" for one in self.sums), *(f"set {one}" for one in self.sets))


def taken(ask: Ask, *, doubts: bool) -> Ask:
    """Return a question as a study takes it: one that knows no doubt of its inputs takes the best estimates.

    Uncertain inputs need runs enough to tell luck from what is not known, two for each plant that is drawn.
    """
    if not doubts or ask.inputs == BEST:
        return replace(ask, inputs=BEST)
    return replace(ask, runs=min(MOST_RUNS, max(LEAST_UNCERTAIN_RUNS, ask.runs + ask.runs % 2)))


def whole_number(name: str, text: str, least: int, most: int) -> int:
    """Return the number that the address gives, or say why not."""
    try:
        value = int(text)
    except ValueError:
        value = least - 1
    if not least <= value <= most:
        raise AskError(f"{name} is {text!r}: give a whole number from {least} to {most}")
    return value


def a_day(text: str) -> str:
    """Return the day that the address gives, or say why not; no day is ""."""
    try:
        return date.fromisoformat(text).isoformat() if text else ""
    except ValueError:
        raise AskError(f"day is {text!r}: write it like 2026-03-03") from None


def read(search: str | None) -> Ask:
    """Return what an address asks; what it leaves out is as usual.

    Raises
    ------
    AskError : a number or a day is none, or units or inputs are unknown.
    """
    given = parse_qs((search or "").removeprefix("?"), keep_blank_values=False)

    def one(name: str, usual: str) -> str:
        return given.get(name, [usual])[-1]

    units = one("units", "t")
    if units not in UNITS:
        raise AskError(f"units are {units!r}: write {' or '.join(UNITS)}")
    inputs = one("inputs", BEST)
    if inputs not in INPUTS:
        raise AskError(f"inputs are {inputs!r}: write {' or '.join(INPUTS)}")
    return Ask(
        plant=one("plant", ""),
        options=tuple(given.get("options", ())),
        runs=whole_number("runs", one("runs", "20"), 1, MOST_RUNS),
        seed=whole_number("seed", one("seed", "2026"), 0, LARGEST_SEED),
        units=units,
        sums=tuple(given.get("sum", ())),
        sets=tuple(given.get("set", ())),
        day=a_day(one("day", "")),
        log=one("log", "")[:LONGEST_NAME],
        inputs=inputs,
    )


def address(ask: Ask) -> str:
    """Return the part of the address from the question mark on."""
    rows = [("plant", ask.plant)] if ask.plant else []
    rows += [("options", name) for name in ask.options]
    rows += [("sum", one) for one in ask.sums]
    rows += [("set", one) for one in ask.sets]
    rows += [("day", ask.day)] if ask.day else []
    rows += [("log", ask.log)] if ask.log else []
    rows += [("inputs", ask.inputs)] if ask.inputs != BEST else []
    rows += [("runs", str(ask.runs)), ("seed", str(ask.seed)), ("units", ask.units)]
    return "?" + urlencode(rows)


def to_plain(ask: Ask) -> dict[str, Any]:
    """Return the question as plain data for the page to hold."""
    return asdict(ask) | {"options": list(ask.options), "sums": list(ask.sums), "sets": list(ask.sets)}


def from_plain(data: Mapping[str, Any]) -> Ask:
    """Return the question that the page holds."""
    beside = (tuple(data.get("sums", ())), tuple(data.get("sets", ())))
    return Ask(
        data["plant"],
        tuple(data["options"]),
        int(data["runs"]),
        int(data["seed"]),
        data["units"],
        *beside,
        data.get("day", ""),
        data.get("log", ""),
        data.get("inputs", BEST),
    )
