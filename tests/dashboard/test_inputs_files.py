"""A log is brought in: looked at whole, kept under a name made of its content, or refused in words and not written."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from hostile_logs import OUTPUT, STOPS, lying, workbook

from dashboard.app import create_app
from dashboard.ask import Ask, AskError
from dashboard.inputs_files import Given, brings, find_log, keep_log, kept_log, logs_beside, unpacked
from dashboard.inputs_work import opened, told_of
from dashboard.pages import inputs, line
from dashboard.settings import Settings
from twin.logs import LogError

TABLES = (Given("stops.csv", STOPS.encode()), Given("output.csv", OUTPUT.encode()))


def body(*given: Given) -> bytes:
    """Return files as the page sends them."""
    head = json.dumps([[one.name, len(one.content)] for one in given]).encode()
    return head + b"\n" + b"".join(one.content for one in given)


def test_a_request_is_taken_apart_as_it_was_put_together() -> None:
    assert unpacked(body(*TABLES)) == list(TABLES)


@pytest.mark.parametrize("wrong", [b"", b"[]\n", b'[["a", 9]]\nshort', b'[["a", -1]]\n', b"{\n", b"no\nno"])
def test_a_request_that_is_none_is_refused(wrong: bytes) -> None:
    with pytest.raises(LogError, match="no files that can be told apart"):
        unpacked(wrong)


def test_a_log_is_kept_under_our_own_names_and_read_back(tmp_path: Path) -> None:
    name = keep_log(tmp_path, TABLES)
    place = kept_log(tmp_path, name)

    assert place is not None
    assert sorted(one.name for one in place.path.iterdir()) == ["about.json", "output.csv", "stops.csv"]
    assert len(opened(tmp_path, name, place.path, "UTC")[0]["stops"]) == 1
    assert keep_log(tmp_path, TABLES) == name, "the same content has the same name"


def test_the_plants_own_names_of_files_only_say_which_table_each_is(tmp_path: Path) -> None:
    words = b"""
tables:
  stops: {file: Stillstand 2026.csv, separator: ","}
  output: {file: Menge.csv}
"""
    name = keep_log(
        tmp_path,
        [
            Given("Stillstand 2026.csv", STOPS.encode()),
            Given("Menge.csv", OUTPUT.encode()),
            Given("mapping.yaml", words),
        ],
    )
    place = kept_log(tmp_path, name)

    assert place is not None
    assert sorted(one.name for one in place.path.iterdir()) == ["about.json", "output.csv", "stops.csv"]
    assert len(opened(tmp_path, name, place.path, "UTC")[0]["output"]) == 1


def _book(folder: Path, make: Callable[[Path], Path]) -> bytes:
    return make(folder / "book.xlsx").read_bytes()


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ([Given("../../stops.csv", b"x")], "is a path"),
        ([Given("C:\\stops.csv", b"x")], "is a path"),
        ([Given("stops.csv\0.exe", b"x")], "is a path"),
        ([Given("stops.exe", b"MZ")], "are not read"),
        ([Given("stops.csv", b"")], "is empty"),
        ([Given("stops.csv", b"a\0b")], "not plain text"),
        ([Given("stops.csv", b"x" * 200_000)], "more than 100000 characters"),
        ([Given("stops.parquet", b"no parquet at all")], "no Parquet file"),
        ([Given("book.xlsx", b"no workbook at all")], "no workbook"),
        ([Given("Stillstand.csv", STOPS.encode())], "nothing says which table"),
        ([TABLES[0], TABLES[0], TABLES[1]], "comes twice"),
        ([TABLES[0]], "'output' is missing"),
        ([*TABLES, Given("mapping.yaml", b"zoen: UTC")], "no key 'zoen'"),
        ([*TABLES, Given("mapping.yaml", b"&a [*a]")], "contains itself"),
        ([*TABLES, Given("mapping.yaml", b"x: " + b"y" * 200_000)], "more than 100 kB"),
        ([*TABLES, Given("a.yaml", b"{}"), Given("b.yaml", b"{}")], "2 mapping files"),
    ],
)
def test_what_cannot_be_a_log_is_refused_and_nothing_is_written(given: list[Given], words: str, tmp_path: Path) -> None:
    with pytest.raises(LogError, match=words):
        keep_log(tmp_path, given)

    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda path: workbook(path, parts={"xl/worksheets/sheet1.xml": b"0" * 20_000_000}), "packed too tightly"),
        (lying, "no workbook"),
        (lambda path: workbook(path, sheet=f"<row>{'<c/>' * 60_000}</row>"), "more than 16384 columns"),
    ],
)
def test_a_workbook_made_to_harm_is_refused_at_the_door(
    make: Callable[[Path], Path], words: str, tmp_path: Path
) -> None:
    kept = tmp_path / "kept"

    with pytest.raises(LogError, match=words):
        keep_log(kept, [Given("book.xlsx", _book(tmp_path, make))])

    assert not kept.exists()


def test_a_log_that_was_brought_in_and_cannot_be_read_is_not_kept(tmp_path: Path, plants: Path) -> None:
    from twin.scenario import load

    broken = Given("stops.csv", STOPS.replace("06:00", "six").encode())
    name = keep_log(tmp_path, [broken, TABLES[1]])
    place = kept_log(tmp_path, name)
    assert place is not None

    examined, told = told_of(tmp_path, name, place.path, load(plants / "small.yaml"))

    assert examined is None
    assert "not a time" in told["faults"][0]["message"]
    assert kept_log(tmp_path, name) is None


@pytest.fixture
def settings(tmp_path: Path, plants: Path) -> Settings:
    """Return how a plant with a log beside it and one that is a link is served."""
    folder = tmp_path / "plants"
    folder.mkdir()
    (folder / "small.yaml").write_bytes((plants / "small.yaml").read_bytes())
    for name in ("records", "elsewhere"):
        (tmp_path / name).mkdir()
        for one in TABLES:
            (tmp_path / name / one.name).write_bytes(one.content)
    (tmp_path / "records").rename(folder / "records")
    (folder / "link").symlink_to(tmp_path / "elsewhere")
    return Settings(plants=folder, kept=tmp_path / "kept", testing=True)


def test_logs_beside_the_plant_are_found_and_links_are_not_followed(settings: Settings) -> None:
    assert list(logs_beside(settings, "small")) == ["records"]
    assert find_log(settings, "small", "records").path.name == "records"


@pytest.mark.parametrize("name", ["../elsewhere", "/etc", "link", "small.yaml", "0" * 20, "..", "records/../records"])
def test_an_address_cannot_name_any_other_place(name: str, settings: Settings) -> None:
    with pytest.raises(AskError, match="log is"):
        find_log(settings, "small", name)


def test_a_changed_file_is_another_question(settings: Settings) -> None:
    ask = Ask(plant="small", log="records")
    before = brings(settings, ask)
    assert settings.plants is not None
    (settings.plants / "records" / "stops.csv").write_text(STOPS + STOPS.splitlines()[1], encoding="utf-8")

    assert brings(settings, ask)["stamp"] != before["stamp"]
    assert brings(settings, Ask(plant="small")) == {}


@pytest.fixture
def client(settings: Settings) -> FlaskClient:
    """Return a browser without a window."""
    client: FlaskClient = create_app(settings, (line, inputs)).server.test_client()
    return client


HEAD = {"Host": "127.0.0.1:8050", "Content-Type": "application/octet-stream"}


def test_the_door_takes_a_log_and_says_its_name(client: FlaskClient, settings: Settings) -> None:
    answer = client.post("/bring/log", data=body(*TABLES), headers=HEAD)

    assert answer.status_code == 200
    assert find_log(settings, "small", str((answer.json or {}).get("name"))).title == "stops.csv, output.csv"


@pytest.mark.parametrize(
    ("data", "head", "status"),
    [
        (body(Given("x.exe", b"MZ")), {}, 422),
        (body(*TABLES), {"Content-Type": "text/plain"}, 415),
        (body(*TABLES), {"Origin": "http://other.example"}, 403),
        (body(*TABLES), {"Host": "other.example"}, 400),
        (b"x" * 7_100_000, {}, 413),
        (b"x" * 9_000_000, {}, 413),
    ],
)
def test_the_door_is_shut_to_strangers_and_to_too_much(
    client: FlaskClient,
    settings: Settings,
    data: bytes,
    head: dict[str, str],
    status: int,
) -> None:
    assert client.post("/bring/log", data=data, headers=HEAD | head).status_code == status
    assert not (settings.kept / "logs").exists()
