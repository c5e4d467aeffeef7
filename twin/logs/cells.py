"""Cells become numbers and times, by what the mapping says and never by a guess."""

from __future__ import annotations

from array import array
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from math import isfinite, nan
from typing import Any
from zoneinfo import ZoneInfo

from twin.logs.faults import refuse
from twin.logs.mapping import Mapping, check_zone
from twin.logs.schema import Column
from twin.logs.tables import NEVER, PLAIN, TWICE

FORMULA = ("=", "@")
_DAY = timedelta(days=1)
_NO_ZONE = "Declare it in the mapping file (zone: Europe/Vienna) or write times with an offset"


class Texts:
    """Cells of text; equal ones are kept once."""

    def __init__(self, one: Column, file: str, words: Callable[[str], str], longest: int) -> None:
        self.values: list[str] = []
        self._column, self._file, self._words, self._longest = one, file, words, longest
        self._known: dict[Any, str] = {None: ""}

    def take(self, cell: Any, line: int) -> None:  # noqa: ANN401
        """Take one cell; a formula is refused, and so is nothing where something must stand."""
        text = self._known.get(cell)
        if text is None:
            text = self._read(cell, line)
            if len(self._known) < 100_000:
                self._known[cell] = text
        if not text and self._column.needed:
            raise refuse(self._file, line, f"{self._column.name} is empty", "Fill it in or leave the row out")
        self.values.append(text)

    def _read(self, cell: Any, line: int) -> str:  # noqa: ANN401
        text = str(int(cell)) if isinstance(cell, float) and cell.is_integer() else str(cell).strip()
        if len(text) > self._longest:
            message = f"{self._column.name} has {len(text)} characters"
            raise refuse(self._file, line, message, f"Shorten it to {self._longest}")
        if text.startswith(FORMULA):
            message = f"{self._column.name} is a formula, '{text[:30]}'"
            raise refuse(self._file, line, message, "Save the values, not the formulas")
        if not text.isprintable():
            text = "".join(sign if sign.isprintable() else " " for sign in text)
        return self._words(text)


class Numbers:
    """Cells of numbers, with the plant's decimal sign and unit."""

    def __init__(self, one: Column, file: str, mapping: Mapping, factor: float) -> None:
        self.values = array("d")
        self._column, self._file, self._mapping, self._factor = one, file, mapping, factor

    def take(self, cell: Any, line: int) -> None:  # noqa: ANN401
        """Take one cell; empty is not known."""
        if cell is None or cell == "" or cell == "-":
            self.values.append(nan)
            return
        value = float(cell) if isinstance(cell, int | float) and not isinstance(cell, bool) else self._text(cell, line)
        if not isfinite(value):
            if cell != cell:  # not a number: how Parquet says that nothing is known
                value = nan
            else:
                raise self._wrong(cell, line, "Write a number")
        self.values.append(value * self._factor)

    def _text(self, cell: Any, line: int) -> float:  # noqa: ANN401
        text, own = str(cell).strip(), self._mapping
        if not text:
            return nan
        if own.thousands:
            text = _ungrouped(text, own.thousands, own.decimal) or "?"
        if own.decimal != ".":
            if "." in text:
                raise self._wrong(cell, line, f"The mapping says that the decimal sign is '{own.decimal}'")
            text = text.replace(own.decimal, ".")
        elif "," in text:
            raise self._wrong(cell, line, "Declare the signs in the mapping file: decimal: ',' or thousands: ','")
        try:
            if "_" in text:
                raise ValueError
            return float(text)
        except ValueError:
            raise self._wrong(cell, line, "Write a plain number; units stand in the mapping file") from None

    def _wrong(self, cell: Any, line: int, way_out: str) -> Exception:  # noqa: ANN401
        return refuse(self._file, line, f"{self._column.name} is '{str(cell)[:40]}', not a number", way_out)


def _ungrouped(text: str, sign: str, decimal: str) -> str:
    """Return a number without its signs of thousands; nothing where they do not part groups of three."""
    whole, point, rest = text.partition(decimal)
    groups = whole.lstrip("+-").split(sign)
    if len(groups) > 1 and (any(len(one) != 3 for one in groups[1:]) or not 1 <= len(groups[0]) <= 3):
        return ""
    return whole.replace(sign, "") + point + rest


class Times:
    """Cells of times; each becomes a second since 1970 UTC and a mark of how clear it was."""

    def __init__(self, one: Column, file: str, mapping: Mapping) -> None:
        self.values = array("d")
        self.marks = bytearray()
        self._column, self._file, self._mapping = one, file, mapping
        self._zone = check_zone(mapping.zone, file) if mapping.zone else None
        self._form = mapping.times

    def take(self, cell: Any, line: int) -> None:  # noqa: ANN401
        """Take one cell; empty is not known."""
        if cell is None or cell == "":
            if self._column.needed:
                raise refuse(self._file, line, f"{self._column.name} is empty", "Fill it in or leave the row out")
            self.values.append(nan)
            self.marks.append(PLAIN)
            return
        moment = cell if isinstance(cell, datetime) else self._read(cell, line)
        if moment.tzinfo is not None:
            self.values.append(moment.timestamp())
            self.marks.append(PLAIN)
            return
        if self._zone is None:
            message = f"{self._column.name} is '{moment}', without an offset, and no zone is declared"
            raise refuse(self._file, line, message, _NO_ZONE)
        after_midnight = 3600 * moment.hour + 60 * moment.minute + moment.second
        if self._mapping.production_day_s and after_midnight < self._mapping.production_day_s:
            moment += _DAY
        second, mark = local_second(moment, self._zone)
        self.values.append(second)
        self.marks.append(mark)

    def _read(self, cell: Any, line: int) -> datetime:  # noqa: ANN401
        text = str(cell).strip()
        try:
            if self._form:
                found = datetime.strptime(text, self._form)
            elif isinstance(cell, date):
                found = datetime(cell.year, cell.month, cell.day)
            else:
                found = datetime.fromisoformat(text)
        except (ValueError, OverflowError):
            wanted = f"as {self._form}" if self._form else "as 2026-03-02T06:00:00+01:00"
            message = f"{self._column.name} is '{text[:40]}', not a time {wanted}"
            raise refuse(
                self._file, line, message, "Say in the mapping file how times are written (times: ...)"
            ) from None
        if not 1970 <= found.year <= 2200:
            raise refuse(self._file, line, f"{self._column.name} is in the year {found.year}", "Check the date")
        return found


def local_second(moment: datetime, zone: ZoneInfo) -> tuple[float, int]:
    """Return the second since 1970 UTC of a local time, the first where it came twice, and how clear it is."""
    first = moment.replace(tzinfo=zone)
    before, after = first.utcoffset(), first.replace(fold=1).utcoffset()
    second = (moment.replace(tzinfo=UTC) - (before or timedelta())).timestamp()
    if before == after or before is None or after is None:
        return second, PLAIN
    return second, TWICE if after < before else NEVER
