"""The order book on the command line: a table for people, a key of the JSON for programs, nothing without orders."""

import json
from pathlib import Path

import pytest
from study_texts import TANDEM
from tours import SMALL
from typer.testing import CliRunner

from twin.cli import app

ROWS = [
    "early,ring 333,20 t,2026-03-04",
    *(f"order {day},ring 333,{tonnes} t,2026-03-{day}" for day, tonnes in zip(range(10, 20), [60] * 10, strict=True)),
    "too much,ring 500,5000 t,2026-03-12 12:00",
    "far,ring 500,10 t,2026-06-01",
]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Return a plant with an invented book of orders beside it."""
    (tmp_path / "orders.csv").write_text("\n".join(["order,product,quantity,due", *ROWS]) + "\n", encoding="utf-8")
    path = tmp_path / "plant.yaml"
    path.write_text(SMALL + "orders: orders.csv\n", encoding="utf-8")
    return path


def run(*words: str | Path) -> str:
    """Return what `passline run` prints."""
    done = CliRunner().invoke(app, ["run", *map(str, words)])
    assert done.exit_code == 0, done.output
    return done.stdout.replace("\u00a0", " ")


def test_the_order_least_sure_stands_first_and_the_rest_is_told_in_words(file: Path) -> None:
    said = run(file, "--runs", "4", "--workers", "1")

    table = said.split("\nOrders\n")[1].split("\nStations\n")[0]
    assert "of 11 orders due from Mon 9 Mar to Mon 23 Mar" in table
    rows = [line for line in table.splitlines() if "ring" in line]
    assert rows[0].split("  ")[0] == "too much"
    assert "0 of 4 (0 to 49 %)" in rows[0], "Wilson's interval of 0 of 4: z2 / (4 + z2) = 0.49"
    assert "not filled" in rows[0]
    assert len(rows) == 10
    assert "1 order more: on time in" in table
    assert "neither late nor on time: early." in table
    assert "nothing is said of them: far." in table


def test_the_json_has_a_key_of_its_own_and_all_others_as_they_were(file: Path, tmp_path: Path) -> None:
    bare = tmp_path / "bare.yaml"
    bare.write_text(SMALL, encoding="utf-8")
    with_orders, without = (
        json.loads(run(one, "--runs", "2", "--workers", "1", "--json", "-")) for one in (file, bare)
    )

    assert with_orders.keys() - without.keys() == {"orders"}
    assert all(with_orders[key] == without[key] for key in without if key not in ("digest", "scenario"))
    rows = with_orders["orders"]["rows"]
    assert [row["order"] for row in rows] == [row.split(",")[0] for row in ROWS]
    assert (rows[-2]["filled"]["0.1"], rows[-2]["days_late"]["median"]) == (None, None)
    assert rows[-2]["late_mass"]["mean"] == pytest.approx(5000.0)


def test_a_line_without_orders_says_nothing_of_them(tmp_path: Path) -> None:
    path = tmp_path / "tandem.yaml"
    path.write_text(TANDEM, encoding="utf-8")

    assert "Orders" not in run(path, "--runs", "2", "--workers", "1")
