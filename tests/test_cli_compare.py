"""`passline compare` as people and programs use it: what it prints, what it writes, how it ends."""

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from study_texts import TANDEM
from typer.testing import CliRunner, Result

from twin.cli import app

MONEY = """
money: {currency: EUR, weeks_per_year: 50, rate: 8 %, years: 5, contribution: {coil: 10 EUR/t}}
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Return a scenario file with options and money."""
    path = tmp_path / "tandem.yaml"
    priced = TANDEM.replace("quick first: {", "quick first: {capex: 20 kEUR, yearly: 2 kEUR, ")
    priced = priced.replace("room:        {", "room: {yearly: 1 kEUR, ")
    path.write_text(priced + MONEY, encoding="utf-8")
    return path


def passline(*words: str | float | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [str(word) for word in words])


def plain(text: str) -> str:
    """Return text with blanks in place of all special ones."""
    return re.sub(r"\s+", " ", text)


def test_the_answer_says_whether_it_pays_and_names_what_limits(file: Path) -> None:
    done = passline("compare", file, "--option", "quick first", "--option", "room", "--runs", 6, "--workers", 1)

    assert done.exit_code == 0
    assert "Quick first: does it pay?" in done.stdout
    assert "3 lines on the same 6 simulated runs" in plain(done.stdout)
    for word in ("Today", "Quick first", "Room", "capital kEUR", "It stops being true if", "What this rests on"):
        assert word in done.stdout
    assert "A plan, not a permit" in plain(done.stdout)
    assert "Limited by: that of which a little more would bring the most" in plain(done.stdout)


def test_the_results_go_to_a_file_or_alone_to_the_output(file: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.json"
    told = passline("compare", file, "--option", "room", "--runs", 4, "--json", out, "--workers", 1)
    alone = passline("compare", file, "--option", "room", "--runs", 4, "--json", "-", "--workers", 1)

    assert told.exit_code == alone.exit_code == 0
    assert json.loads(alone.stdout) == json.loads(out.read_text(encoding="utf-8"))
    results = json.loads(alone.stdout)
    assert [row["options"] for row in results["rows"]] == [[], ["room"]]
    assert results["passline"] == 1


def test_without_names_all_options_are_tried_and_pairs_that_help(file: Path) -> None:
    results = json.loads(passline("compare", file, "--runs", 6, "--json", "-", "--workers", 1).stdout)
    rows = [row["options"] for row in results["rows"]]

    assert rows[:4] == [[], ["quick first"], ["room"], ["slow first"]]
    assert all(len(row) == 2 for row in rows[4:])


def test_the_cheaper_moves_and_the_stairs_come_when_asked(file: Path) -> None:
    done = passline(
        "compare",
        file,
        "--option",
        "room",
        "--runs",
        6,
        "--ladder",
        "--stairs",
        "--turns",
        "--json",
        "-",
        "--workers",
        1,
    )
    results = json.loads(done.stdout)

    assert results["ladder"] is None or {"now", "then", "rungs", "missed", "together"} <= set(results["ladder"])
    assert isinstance(results["stairs"], list)
    assert isinstance(results["turns"], list)


class Outside(HTMLParser):
    """Gathers what a page would load from elsewhere."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag in ("script", "link", "img", "iframe"):
            self.found.append(tag)
        self.found += [value or "" for name, value in given.items() if name in ("src", "href")]


def test_the_report_is_one_file_that_needs_no_other(file: Path, tmp_path: Path) -> None:
    report = tmp_path / "report.html"
    done = passline("compare", file, "--option", "room", "--runs", 4, "--report", report, "--workers", 1)
    text = report.read_text(encoding="utf-8")
    page = Outside()
    page.feed(text)

    assert done.exit_code == 0
    assert page.found == []
    assert "url(data:font/woff2;base64," in text
    assert re.findall(r"url\((?!data:|#|\"#)[^)]*\)", text) == []
    assert "Today and the ways to change it" in text
    assert "A plan, not a permit" in text


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--option", "rom"), "there is no option 'rom'. Did you mean 'room'?"),
        (("--option", "quick first + slow first"), "to different values"),
        (("--doubt", "capex=300 %"), "share from 0 to 200 %"),
        (("--doubt", "weather=3 %"), "write one of capex, contribution, delivery"),
        (("--report", "/nowhere/at/all.html"), "cannot be written"),
        (("--set", "stations.first.tme=3 h"), "Did you mean"),
    ],
)
def test_what_the_user_can_put_right_ends_with_2_and_one_message(
    file: Path, words: tuple[str, ...], message: str
) -> None:
    done = passline("compare", file, *words, "--runs", 4, "--workers", 1)

    assert done.exit_code == 2
    assert message in plain(done.stderr)
    assert "Traceback" not in done.stderr


def test_a_file_without_options_is_told_so(tmp_path: Path) -> None:
    path = tmp_path / "bare.yaml"
    path.write_text(TANDEM[: TANDEM.index("options:")], encoding="utf-8")
    done = passline("compare", path)

    assert done.exit_code == 2
    assert "nothing to compare" in done.stderr


def test_time_that_is_up_keeps_what_was_found(file: Path) -> None:
    done = passline(
        "compare", file, "--option", "room", "--runs", 5000, "--seconds", 0.6, "--json", "-", "--workers", 1
    )
    results = json.loads(done.stdout)

    assert done.exit_code == 0
    assert results["stopped"]
    assert 1 <= results["runs"] < 5000
    assert "Stopped before it was sure" in done.stderr
