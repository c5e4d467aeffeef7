"""The order book in words: one sentence, the rows late ones first, and what was taken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from twin.words import NO_BREAK, NOT_ASKED, chance, indicator, number, uneven

Book = Mapping[str, Any]
Row = Mapping[str, Any]
HEADS = ("order", "product", "quantity", "due", "on time", "days late", "mass late", "filled")
"""What the cells of a row are."""
MOST = 10
NAMED = 6
TAKEN = (
    "Of each product the order due first is filled first, of two due at once the one that stands first; all that is "
    "finished fills orders before anything else, from the moment the runs count.",
    "An order is filled when all of it is there: no part deliveries. What a day makes is spread evenly over it, so a "
    "moment is good to the day. A due date without an hour lasts until its day is over.",
    "The plan does not follow the orders: the line makes what its plan and patterns say.",
)
COIL_BESIDE = (
    "Of a product that is partly sold as coil, the pieces come at the mean share of the run, and the coil made beside "
    "them fills no order."
)


def verdict(book: Book, per_tonne: float = 1.0, unit: str = "t") -> str:
    """Return the order book in one sentence or two; masses in a unit of which so many make a tonne."""
    counted, runs = book["counted"], book["runs"]
    until = f"from {day(book['from'])} to {day(book['to'])}, while the runs count"
    if not counted:
        none = f"None of the {_orders(book['orders'])} falls due {until}: nothing is said of them."
        return f"{none} Let time.start lie one warm-up before the day from which they are made."
    if not book["late"]["mean"]:
        every = "the one run" if runs == 1 else f"each of {runs} runs"
        return f"No order is late in {every}, of {counted} that fall due {until}."
    whole = 0 if book["late"]["low"] == book["late"]["high"] else None
    late = indicator(book["late"], "", places=whole)
    mass = indicator(book["late_mass"], unit, scale=per_tonne)
    worst = ranked(book)[0]
    missed = chance(runs - _kept(worst, runs), runs)
    return (
        f"{late} of {_orders(counted)} due {until}, are late, with {mass}. "
        f"Least sure is {worst['order']}: late in {missed} {'run' if runs == 1 else 'runs'}."
    )


def ranked(book: Book) -> list[Row]:
    """Return the rows that fall due while the runs count: the least sure first, then those due first."""
    rows = [row for row in book["rows"] if row["state"] == "counted"]
    return sorted(rows, key=lambda row: (row["on_time"]["mean"], row["due"]))


def beyond(rows: Sequence[Row], runs: int) -> str:
    """Return the rows that are not shown, in words."""
    if not rows:
        return ""
    least = min(_kept(row, runs) for row in rows)
    at_least = "" if least == runs else "at least "
    return f"{_orders(len(rows))} more: on time in {at_least}{chance(least, runs)} {'run' if runs == 1 else 'runs'}."


def cells(row: Row, runs: int, per_tonne: float = 1.0, unit: str = "t") -> tuple[str, ...]:
    """Return a row in words, cell by cell as in `HEADS`."""
    pieces = row["unit"] == "pieces"
    quantity = (
        number(row["quantity"], unit="pieces", places=0) if pieces else number(row["mass"] * per_tonne, unit=unit)
    )
    sure = row["on_time"]
    share = f"({100.0 * sure['low']:.0f} to {100.0 * sure['high']:.0f} %)".replace(" ", NO_BREAK)
    return (
        row["order"],
        row["product"],
        quantity,
        due(row["due"]),
        f"{chance(_kept(row, runs), runs)} {share}",
        days_late(row["days_late"], row["filled_within"], runs),
        mass_late(row["late_mass"], per_tonne),
        filled(row),
    )


def days_late(found: Mapping[str, Any], within: int, runs: int) -> str:
    """Return the median of the days late with its interval; open where it lies beyond the end of the runs."""
    if found["median"] is None:
        return "not filled" if not within else f"filled in {chance(within, runs)}"
    if not found["median"] and not found["high"]:
        return "0"
    middle = f"{found['median']:.1f}"
    if found["low"] is None:
        return middle
    high = "?" if found["high"] is None else f"{found['high']:.1f}"
    return f"{middle} ({found['low']:.1f} to {high})".replace(" ", NO_BREAK)


def mass_late(found: Mapping[str, Any], per_tonne: float = 1.0) -> str:
    """Return the mean mass late with its interval, uneven where it ends at nothing or at the whole order."""
    if not found["mean"]:
        return "0"
    mean, low, high = (None if found[end] is None else found[end] * per_tonne for end in ("mean", "low", "high"))
    if mean is None or low is None or high is None or abs(mean - low - (high - mean)) <= 1e-6 * mean:
        return indicator(found, "", scale=per_tonne)
    return uneven(mean, low, high)


def filled(row: Row) -> str:
    """Return the days on which an order is filled: from the one run in ten that is first to the one that is last."""
    first, last = row["filled"]["0.1"], row["filled"]["0.9"]
    if first is None:
        return NOT_ASKED
    if last is None:
        return f"{day(first)} or later"
    return day(first) if day(first) == day(last) else f"{day(first)} to {day(last)}"


def notes(book: Book) -> list[str]:
    """Return what the table does not hold, and what was taken."""
    said = []
    if book["already_due"]:
        said.append(
            f"Due before the runs count, so called neither late nor on time: {_named(book['already_due'])}. They are "
            "taken as still open and filled first."
        )
    if book["due_after"]:
        said.append(f"Due after the end of the runs, so nothing is said of them: {_named(book['due_after'])}.")
    if book["stock"]:
        lies = ", ".join(f"{number(tonnes, unit='t')} of {name}" for name, tonnes in book["stock"].items())
        said.append(f"In finished stores at the start: {lies}; it fills orders first.")
    else:
        said.append("What lies finished when the runs begin to count is taken as nothing.")
    return [*said, *TAKEN, *([COIL_BESIDE] if any(row["unit"] == "pieces" for row in book["rows"]) else [])]


def day(moment: str) -> str:
    """Return a moment as its day: Fri 20 Mar."""
    found = datetime.fromisoformat(moment)
    return f"{found:%a} {found.day} {found:%b}".replace(" ", NO_BREAK)


def due(moment: str) -> str:
    """Return when an order is due: its day, with the hour where there is one."""
    found = datetime.fromisoformat(moment)
    return day(moment) if (found.hour, found.minute) == (0, 0) else f"{day(moment)} {found:%H:%M}"


def _kept(row: Row, runs: int) -> int:
    """Return in how many runs an order is on time."""
    return round(float(row["on_time"]["mean"]) * runs)


def _orders(count: int) -> str:
    """Return a number of orders."""
    return f"{count} order" if count == 1 else f"{count} orders"


def _named(names: Sequence[str]) -> str:
    """Return some names, and how many more there are."""
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    return ", ".join(names[:NAMED]) + more
