"""Each table of a page to take away, as CSV or as a workbook; a cell can never act as a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flask import Flask, Response, abort, request

from dashboard import answers
from dashboard.drive import Office
from dashboard.parts.amounts import Units, units_of

Cell = str | float | int | None
ACTS = ("=", "+", "-", "@", "\t", "\r", "\n")
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@dataclass(frozen=True, slots=True)
class Table:
    """A table: heads with their units, and rows."""

    name: str
    heads: tuple[str, ...]
    rows: Sequence[Sequence[Cell]]


Maker = Callable[[Mapping[str, Any], Mapping[str, Any], Units], Table]


def safe(cell: Cell) -> Cell:
    """Return a cell that a spreadsheet takes for what it is: text that could act as a formula gets an apostrophe."""
    if isinstance(cell, str) and cell.startswith(ACTS):
        return f"'{cell}"
    return cell


def to_csv(table: Table) -> bytes:
    """Return the table as CSV (RFC 4180), in UTF-8 with a mark so that spreadsheets read its letters rightly."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([safe(head) for head in table.heads])
    writer.writerows([safe(cell) for cell in row] for row in table.rows)
    return "\ufeff".encode() + out.getvalue().encode()


def to_xlsx(table: Table) -> bytes:
    """Return the table as a workbook with one sheet; numbers stay numbers."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet(table.name[:31])
    sheet.append([safe(head) for head in table.heads])
    for row in table.rows:
        sheet.append([safe(cell) for cell in row])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


FORMS: dict[str, tuple[str, Callable[[Table], bytes]]] = {
    "csv": ("text/csv; charset=utf-8", to_csv),
    "xlsx": (XLSX, to_xlsx),
}


def serve_tables(server: Flask, office: Office, makers: Mapping[str, Maker]) -> None:
    """Answer `/table/KEY/NAME.csv` and `.xlsx` with a table of a kept answer."""

    @server.get("/table/<key>/<name>.<form>")
    def table(key: str, name: str, form: str) -> Response:
        if name not in makers or form not in FORMS or not answers.KEY.fullmatch(key):
            abort(404)
        answer = answers.read(office.settings.kept, key)
        week = answers.read(office.settings.kept, key, "week.json")
        if answer is None or week is None:
            abort(404)
        made = makers[name](answer, week, units_of(request.args.get("units", "t")))
        kind, write = FORMS[form]
        file = f"{answer['plant']}-{name}.{form}".replace(" ", "-")
        plain = "".join(sign for sign in file if sign.isascii() and (sign.isalnum() or sign in "-_."))
        return Response(write(made), mimetype=kind, headers={"Content-Disposition": f'attachment; filename="{plain}"'})
