"""A plant's log is read as it is written, in its own words, or refused in words with a line number."""

import json
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from twin.line import simulate
from twin.logs import Log, LogError, mapping_of, read_log
from twin.logs.save import Writing, save_log
from twin.logs.schema import data_package
from twin.logs.tables import NEVER, PLAIN, TWICE, table_of
from twin.logs.write import log_of
from twin.scenario import loads

ROOT = Path(__file__).parents[2]
STOPS = "station,machine,start,end,reason\nmill,1,2026-03-02T06:00:00+01:00,2026-03-02T06:30:00+01:00,jam\n"
OUTPUT = "station,time,coil,good_kg\nmill,2026-03-02T07:00:00+01:00,7,4800\n"


def log_in(folder: Path, stops: str = STOPS, output: str = OUTPUT, mapping: str = "") -> Path:
    """Write a small invented log."""
    (folder / "stops.csv").write_text(stops, encoding="utf-8")
    (folder / "output.csv").write_text(output, encoding="utf-8")
    if mapping:
        (folder / "mapping.yaml").write_text(mapping, encoding="utf-8")
    return folder


def small() -> Log:
    """Return a log of three stops and one coil."""
    begin = datetime(2026, 3, 2, 6, tzinfo=UTC).timestamp()
    start = begin + np.array([0.0, 3600.0, 7200.0])
    stops = table_of(
        "stops",
        {
            "station": np.array(["mill", "mill", "slitter"], dtype=object),
            "start": start,
            "end": start + 600.0,
            "reason": np.array(["jam", "=jam", "-"], dtype=object),
        },
    )
    output = table_of(
        "output",
        {"station": np.array(["mill"], dtype=object), "time": start[:1], "good_kg": np.array([4812.5])},
    )
    return Log({"stops": stops, "output": output}, "Europe/Vienna")


@pytest.mark.parametrize("form", ["csv", "parquet", "xlsx"])
def test_what_is_written_reads_back_the_same_in_every_form(form: str, tmp_path: Path) -> None:
    place = tmp_path / ("log.xlsx" if form == "xlsx" else "log")
    save_log(small(), place, form=form)  # type: ignore[arg-type]

    back = read_log(place)

    assert back["stops"]["start"].tolist() == small()["stops"]["start"].tolist()
    assert back["output"]["good_kg"].tolist() == [4812.5]
    assert back["stops"]["reason"].tolist() == ["jam", "'=jam", "'-"], "what looks like a formula is put in quotes"


def test_a_plants_own_words_units_and_signs_are_declared_in_the_mapping(tmp_path: Path) -> None:
    (tmp_path / "Stillstand.csv").write_text(
        "Anlage;Beginn;Ende;Grund\nWW1;02.03.2026 06:00;02.03.2026 06:30;Störung\n", encoding="cp1252"
    )
    (tmp_path / "Menge.csv").write_text("Anlage;Zeit;Gut\nWW1;02.03.2026 07:00;1.234,5\n", encoding="utf-8")
    (tmp_path / "mapping.yaml").write_text(
        """
zone: Europe/Vienna
decimal: ","
thousands: "."
times: "%d.%m.%Y %H:%M"
stations: {WW1: mill}
reasons: {Störung: mill stop}
tables:
  stops: {file: Stillstand.csv, encoding: cp1252, columns: {station: Anlage, start: Beginn, end: Ende, reason: Grund}}
  output: {file: Menge.csv, columns: {station: Anlage, time: Zeit, good_kg: Gut}, units: {good_kg: t}}
""",
        encoding="utf-8",
    )

    log = read_log(tmp_path)

    assert (log["stops"]["station"][0], log["stops"]["reason"][0]) == ("mill", "mill stop")
    assert log["stops"]["start"][0] == datetime(2026, 3, 2, 5, tzinfo=UTC).timestamp(), "06:00 in Vienna is 05:00 UTC"
    assert log["output"]["good_kg"][0] == pytest.approx(1_234_500.0)


def test_the_two_nights_are_marked(tmp_path: Path) -> None:
    """Clocks went back on 25 October 2026 at 03:00 and forward on 28 March 2027 at 02:00 (Directive 2000/84/EC)."""
    times = ("2026-10-25 02:30", "2027-03-28 02:30", "2026-10-25 12:00")
    rows = "".join(f"mill,1,{time},,jam\n" for time in times)

    log = read_log(log_in(tmp_path, f"station,machine,start,end,reason\n{rows}"), zone="Europe/Vienna")

    assert log["stops"].marks["start"].tolist() == [TWICE, NEVER, PLAIN]


def test_the_production_day_puts_the_night_on_the_next_date(tmp_path: Path) -> None:
    stops = "station,start,end,reason\nmill,2026-03-02 23:50,2026-03-02 00:20,jam\n"

    log = read_log(log_in(tmp_path, stops, mapping="{zone: Europe/Vienna, production_day: '06:00'}"))

    assert log["stops"]["end"][0] - log["stops"]["start"][0] == 1800.0


@pytest.mark.parametrize(
    ("stops", "line", "words"),
    [
        (STOPS.replace("+01:00", ""), 2, "no zone is declared"),
        (STOPS.replace("jam", "=1+1"), 2, "is a formula"),
        (STOPS.replace("2026-03-02T06:30:00+01:00", "half past six"), 2, "not a time"),
        (STOPS.replace("mill,1", "mill,one"), 2, "not a number"),
        (STOPS.replace("jam", "jam\0"), 2, "not plain text"),
        (STOPS.replace("jam", "x" * 3000), 2, "3000 characters"),
        (STOPS + '"mill', 0, "cannot be read"),
        (STOPS + "y" * 200_000, 3, "more than 100000 characters"),
        (",".join(f"c{number}" for number in range(900)), 1, "900 columns"),
        (STOPS.replace("reason", "start"), 1, "two columns are called 'start'"),
        (STOPS.replace("start,", "began,"), 1, "there is no column 'start'"),
        (STOPS.replace(",jam", ",jam,more"), 2, "the row has 6 cells"),
        (STOPS.replace("mill,1", ",1"), 2, "station is empty"),
        ("", 0, "empty"),
    ],
)
def test_a_file_that_cannot_be_trusted_is_refused_with_its_line(
    stops: str, line: int, words: str, tmp_path: Path
) -> None:
    with pytest.raises(LogError, match=words) as refused:
        read_log(log_in(tmp_path, stops))

    assert not line or refused.value.faults[0].line == line


def test_another_encoding_is_refused_with_the_way_out(tmp_path: Path) -> None:
    log_in(tmp_path)
    (tmp_path / "stops.csv").write_bytes(STOPS.replace("jam", "Störung").encode("cp1252"))

    with pytest.raises(LogError, match="not utf-8") as refused:
        read_log(tmp_path)

    assert "cp1252" in refused.value.faults[0].way_out


def test_a_workbook_that_is_a_bomb_or_brings_instructions_is_refused_unopened(tmp_path: Path) -> None:
    bomb, orders = tmp_path / "bomb.xlsx", tmp_path / "orders.xlsx"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as book:
        book.writestr("xl/worksheets/sheet1.xml", b"0" * 50_000_000)
    with zipfile.ZipFile(orders, "w") as book:
        book.writestr("xl/workbook.xml", "<?xml version='1.0'?><!DOCTYPE x [<!ENTITY a 'b'>]><x/>")

    with pytest.raises(LogError, match="packed too tightly"):
        read_log(bomb)
    with pytest.raises(LogError, match="brings instructions"):
        read_log(orders)


def test_a_formula_in_a_workbook_is_refused_with_its_row(tmp_path: Path) -> None:
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    for name in ("stops", "output"):
        sheet = book.create_sheet(name)
        sheet.append(["station", "start", "time", "reason"])
        sheet.append(["mill", "2026-03-02T06:00:00+01:00", "2026-03-02T06:00:00+01:00", "=1+1"])
    book.save(tmp_path / "log.xlsx")

    with pytest.raises(LogError, match="formula") as refused:
        read_log(tmp_path / "log.xlsx")

    assert refused.value.faults[0].line == 2


@pytest.mark.parametrize("name", ["../stops.csv", "/etc/passwd", "a/b.csv", "..", "x\\y.csv"])
def test_a_mapping_cannot_lead_out_of_the_folder(name: str, tmp_path: Path) -> None:
    log_in(tmp_path)

    with pytest.raises(LogError, match="no plain file name"):
        read_log(tmp_path, mapping=mapping_of({"tables": {"stops": {"file": name}}}))


def test_a_link_that_leads_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    inner = tmp_path / "log"
    inner.mkdir()
    log_in(inner)
    (inner / "stops.csv").unlink()
    (tmp_path / "other.csv").write_text(STOPS, encoding="utf-8")
    (inner / "stops.csv").symlink_to(tmp_path / "other.csv")

    with pytest.raises(LogError, match="leads out of the folder"):
        read_log(inner)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ({"zone": "Mars/Olympus"}, "no time zone"),
        ({"zoen": "UTC"}, "no key 'zoen'"),
        ({"decimal": ",", "thousands": ","}, "cannot be the decimal sign"),
        ({"tables": {"output": {"units": {"good_kg": "m"}}}}, "no unit for it"),
        ({"production_day": "25:00"}, "production_day"),
        ({"tables": {"stops": {"encoding": "ebcdic"}}}, "encoding"),
    ],
)
def test_a_mapping_that_is_wrong_is_refused(raw: dict[str, object], words: str) -> None:
    with pytest.raises(LogError, match=words):
        mapping_of(raw)


def test_local_writing_reads_back_with_the_zone(tmp_path: Path) -> None:
    save_log(small(), tmp_path, writing=Writing(local=True))

    assert read_log(tmp_path, zone="Europe/Vienna")["stops"]["start"].tolist() == small()["stops"]["start"].tolist()


def test_the_published_schema_is_the_one_that_is_read() -> None:
    published = json.loads((ROOT / "docs" / "log.datapackage.json").read_text(encoding="utf-8"))

    assert published == data_package()


ONE_CRANE = """
passline: 1
name: One crane for two steps, which meet for a fifth of a second in each round; invented
metal: zinc
time: {length: 10 h}
shared: {crane: 1}
stores: {ready: {holds: coils, capacity: 9}, done: {holds: coils}}
stations:
  supply: {kind: supply, to: ready, coil: {mass: 1 t, width: 1 m, thickness: 1 mm}}
  first:  {kind: step, from: ready, to: done, time: 599.8 s, handling: {crane_in: 60 s, needs: crane}}
  second: {kind: step, from: ready, to: done, time: 600 s,   handling: {crane_in: 60 s, needs: crane}}
"""


def test_a_wait_of_less_than_a_second_is_written_down_by_nobody() -> None:
    """In whole seconds it would end when it starts, which the doctor takes for a stop without its end."""
    scenario = loads(ONE_CRANE)
    trace = simulate(scenario, trace=True).trace
    assert trace is not None
    waits = (trace.tables["states"]["state"] == "waiting").sum()

    stops = log_of(trace, scenario)["stops"]

    took = (stops["end"] - stops["start"])[stops["reason"] == "waiting for crane"]
    assert waits > 50
    assert took.tolist() == []  # the wait of a minute in the first round began with the log, and is left out
