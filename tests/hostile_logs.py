"""Files made to harm whoever reads them, small on the disk; every one must be refused in words."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path

from openpyxl.xml.constants import SHEET_MAIN_NS

STOPS = "station,machine,start,end,reason\nmill,1,2026-03-02T06:00:00Z,2026-03-02T06:30:00Z,jam\n"
OUTPUT = "station,time,coil,good_kg\nmill,2026-03-02T07:00:00Z,7,4800\n"
SHEET = "xl/worksheets/sheet1.xml"
_HEAD = f'<worksheet xmlns="{SHEET_MAIN_NS}"><sheetData>'
_TAIL = "</sheetData></worksheet>"


def workbook(path: Path, *, parts: Mapping[str, bytes] | None = None, sheet: str = "", pack: bool = True) -> Path:
    """Write a workbook with the two sheets, the first of them or other parts put in its place."""
    from openpyxl import Workbook

    book, plain = Workbook(write_only=True), io.BytesIO()
    for name in ("stops", "output"):
        own = book.create_sheet(name)
        own.append(["station", "start", "time", "reason"])
        own.append(["mill", "2026-03-02T06:00:00Z", "2026-03-02T06:00:00Z", "jam"])
    book.save(plain)
    changed = dict(parts or {}) | ({SHEET: (_HEAD + sheet + _TAIL).encode()} if sheet else {})
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED if pack else 0) as new:
        for one in old.infolist():
            new.writestr(one.filename, changed.pop(one.filename, old.read(one)))
        for name, content in changed.items():
            new.writestr(name, content)
    return path


def lying(path: Path) -> Path:
    """Write a workbook whose first sheet says that it unpacks to 500 bytes, and unpacks to many megabytes."""
    workbook(path, sheet='<row r="1"><c r="A1"><v>1</v></c></row>' * 200_000)
    content = bytearray(path.read_bytes())
    at = content.find(b"PK\x01\x02")
    while at >= 0:
        length = struct.unpack("<H", content[at + 28 : at + 30])[0]
        if content[at + 46 : at + 46 + length] == SHEET.encode():
            content[at + 24 : at + 28] = struct.pack("<I", 500)
        at = content.find(b"PK\x01\x02", at + 4)
    path.write_bytes(content)
    return path


def folder(path: Path, *, stops: bytes = STOPS.encode(), output: bytes = OUTPUT.encode(), mapping: str = "") -> Path:
    """Write a log of two CSV files."""
    path.mkdir()
    (path / "stops.csv").write_bytes(stops)
    (path / "output.csv").write_bytes(output)
    if mapping:
        (path / "mapping.yaml").write_text(mapping, encoding="utf-8")
    return path


def parquet(path: Path, station: object) -> Path:
    """Write a log of two Parquet files with a column of another kind for the stations."""
    import pyarrow
    from pyarrow.parquet import write_table

    path.mkdir()
    times = pyarrow.array(["2026-03-02T06:00:00Z"] * len(station))  # type: ignore[arg-type]
    table = pyarrow.table({"station": station, "start": times, "time": times, "reason": times})
    for name in ("stops", "output"):
        write_table(table, path / f"{name}.parquet")
    return path


def dictionary_bomb(path: Path) -> Path:
    """Write 200 000 rows that all name one text of a million letters: 50 kB that unpack to 200 GB."""
    import pyarrow

    places = pyarrow.array([0] * 200_000, pyarrow.int32())
    return parquet(path, pyarrow.DictionaryArray.from_arrays(places, pyarrow.array(["x" * 1_000_000])))


def links(path: Path) -> Path:
    """Write a log whose mapping file is a link to something outside."""
    (path.parent / "secret.yaml").write_text("secret: 1\n", encoding="utf-8")
    folder(path)
    (path / "mapping.yaml").symlink_to(path.parent / "secret.yaml")
    return path


def endless(path: Path) -> Path:
    """Write a log whose stops are a device that never ends."""
    folder(path)
    (path / "stops.csv").unlink()
    (path / "stops.csv").symlink_to("/dev/zero")
    return path


def _lists(path: Path) -> Path:
    import pyarrow

    return parquet(path, pyarrow.array([["a"] * 1000] * 100))


_LATE = b"<?xml version='1.0'?><!--" + b" " * 9000 + b"--><!DOCTYPE x [<!ENTITY a 'b'>]><x>&a;</x>"
_ROW = '<row r="1"><c r="A1" t="inlineStr"><is><t>station</t></is></c></row>'

FILES: dict[str, tuple[Callable[[Path], Path], str]] = {
    "formula.csv": (lambda p: folder(p, stops=STOPS.replace("jam", "=cmd|' /C calc'!A0").encode()), "is a formula"),
    "formula at.csv": (lambda p: folder(p, stops=STOPS.replace("jam", "@SUM(1)").encode()), "is a formula"),
    "columns.csv": (lambda p: folder(p, stops=b"a," * 10_000_000 + b"a\n"), "line has more than 100000"),
    "many columns.csv": (lambda p: folder(p, stops=b"a," * 900 + b"a\n"), "has 901 columns"),
    "endless line.csv": (lambda p: folder(p, stops=b"x" * 20_000_000), "line has more than 100000"),
    "endless quote.csv": (lambda p: folder(p, stops=STOPS.encode() + b'"' + b"x\n" * 400_000), "cannot be read"),
    "nul.csv": (lambda p: folder(p, stops=STOPS.encode() + b"mill\0,1,,,\n"), "not plain text"),
    "utf-16.csv": (lambda p: folder(p, stops=STOPS.encode("utf-16")), "not plain text"),
    "cp1252.csv": (lambda p: folder(p, stops=STOPS.replace("jam", "Störung").encode("cp1252")), "is not utf-8"),
    "picture.csv": (lambda p: folder(p, stops=b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 9), "is not utf-8"),
    "path.csv": (lambda p: folder(p, mapping="tables: {stops: {file: ../../etc/passwd}}"), "no plain file name"),
    "absolute.csv": (lambda p: folder(p, mapping="tables: {stops: {file: /etc/passwd}}"), "no plain file name"),
    "yaml bomb.csv": (
        lambda p: folder(
            p,
            mapping="a: &a [x,x,x,x,x,x,x,x,x]\n"
            + "".join(f"{chr(98 + i)}: &{chr(98 + i)} [{','.join([f'*{chr(97 + i)}'] * 9)}]\n" for i in range(9)),
        ),
        "more values",
    ),
    "link.csv": (links, "leads out of the folder"),
    "device.csv": (endless, "leads out of the folder"),
    "bomb.xlsx": (lambda p: workbook(p, parts={SHEET: b"0" * 50_000_000}), "packed too tightly"),
    "lying.xlsx": (lying, "no workbook that can be read"),
    "columns.xlsx": (
        lambda p: workbook(p, sheet=f"<row>{'<c><v>1</v></c>' * 60_000}</row>"),
        "more than 16384 columns",
    ),
    "wide.xlsx": (lambda p: workbook(p, sheet='<row r="1"><c r="XFD1"><v>1</v></c></row>'), "has 16384 columns"),
    "rows.xlsx": (lambda p: workbook(p, sheet=f'{_ROW}<row r="99999999999"/>'), "more than 1048576 rows"),
    "long cell.xlsx": (
        lambda p: workbook(p, sheet=f'{_ROW}<row r="2"><c t="inlineStr"><is><t>{"ab" * 90_000}</t></is></c></row>'),
        "more than 32767 signs",
    ),
    "texts.xlsx": (
        lambda p: workbook(p, parts={"xl/sharedStrings.xml": b"<sst><si><t>" + b"ab" * 90_000 + b"</t></si></sst>"}),
        "more than 32767 signs",
    ),
    "deep.xlsx": (lambda p: workbook(p, sheet="<a>" * 900 + "</a>" * 900), "too deeply"),
    "late orders.xlsx": (lambda p: workbook(p, parts={SHEET: _LATE}), "brings instructions"),
    "outside.xlsx": (lambda p: workbook(p, parts={"../../evil.xml": b"<x/>"}), "outside of itself"),
    "broken.xlsx": (lambda p: workbook(p, sheet="<row>"), "no workbook that can be read"),
    "dates.xlsx": (
        lambda p: workbook(p, sheet='<row r="1"><c r="A1" t="d"><v>9-99</v></c></row>'),
        "cannot be read",
    ),
    "text.xlsx": (lambda p: p if p.write_text("no workbook", encoding="utf-8") else p, "no workbook that can be read"),
    "dictionary.parquet": (dictionary_bomb, "a cell has 1000000 bytes"),
    "lists.parquet": (_lists, "holds list"),
    "program.exe": (lambda p: p if p.write_bytes(b"MZ") else p, "are not read"),
}
"""A name for each file, how it is made, and words of its refusal."""
