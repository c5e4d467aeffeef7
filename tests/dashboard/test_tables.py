"""A table taken away arrives as it was shown, and no cell of it can act as a formula."""

from __future__ import annotations

import csv
import io

import openpyxl
import pytest

from dashboard.tables import Table, safe, to_csv, to_xlsx

TABLE = Table(
    "days",
    ("day", "good_t", "note"),
    [["Mon", 92.25, "ordinary"], ["Tue", -3, 'a "cut", twice'], ["Wed", None, "=1+1"], ["Thu", 0, "Säge → ±"]],
)


def test_csv_is_read_back_by_an_independent_reader() -> None:
    """RFC 4180: lines end in CRLF, quotes are doubled; the mark at the start says UTF-8."""
    content = to_csv(TABLE)
    rows = list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))

    assert content.startswith(b"\xef\xbb\xbf")
    assert content.count(b"\r\n") == 5
    assert rows[0] == ["day", "good_t", "note"]
    assert rows[1] == ["Mon", "92.25", "ordinary"]
    assert rows[2] == ["Tue", "-3", 'a "cut", twice']
    assert rows[3] == ["Wed", "", "'=1+1"]
    assert rows[4] == ["Thu", "0", "Säge → ±"]


def test_a_workbook_keeps_numbers_as_numbers() -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(to_xlsx(TABLE)))["days"]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows()]

    assert rows[1] == ["Mon", 92.25, "ordinary"]
    assert rows[2][1] == -3
    assert rows[3] == ["Wed", None, "'=1+1"]
    assert all(cell.data_type != "f" for row in sheet.iter_rows() for cell in row)


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_text_that_could_act_as_a_formula_is_made_harmless(start: str) -> None:
    """The list of openings is OWASP's, page "CSV Injection" (tab and carriage return among them)."""
    assert safe(f"{start}cmd") == f"'{start}cmd"
    assert safe("plain") == "plain"
    assert safe(-5.0) == -5.0
