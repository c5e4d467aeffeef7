"""The orders on the Line page: a sentence, a table, what was taken; nothing where the plant has no order book."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tours import SMALL

from dashboard import answers, work
from dashboard.parts.amounts import METRIC, units_of
from dashboard.parts.line_orders import orders_section, orders_table
from dashboard.worker import Desk

KEY = "1" * 20
BOOK = """orders:
  - {order: open,     product: ring 333, quantity: 20 t,   due: 2026-03-04}
  - {order: soon,     product: ring 333, quantity: 60 t,   due: 2026-03-12}
  - {order: too much, product: ring 500, quantity: 5000 t, due: 2026-03-12 12:00}
"""


def made(folder: Path, text: str, runs: int = 3) -> dict[str, Any]:
    """Return the answer of the Line page for a plant."""
    (folder / "small.yaml").write_text(text, encoding="utf-8")
    told: dict[str, Any] = {
        "file": str(folder / "small.yaml"),
        "plant": "small",
        "options": [],
        "runs": runs,
        "seed": 1,
    }
    work.line(Desk(lambda _: None, lambda: False), **told, kept=str(folder), key=KEY, mark="line-x")
    answer = answers.read(folder, KEY)
    assert answer is not None
    return dict(answer)


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Return the answer for a plant with orders."""
    return made(tmp_path_factory.mktemp("orders"), SMALL + BOOK)


def test_the_section_says_in_a_sentence_how_many_are_late_and_shows_them(answer: dict[str, Any]) -> None:
    (part,) = orders_section(answer, METRIC)
    said = str(part).replace("\\xa0", " ")

    assert "1 ± 0 of 2 orders due from Mon 9 Mar to Mon 23 Mar" in said
    assert "Least sure is too much: late in 3 of 3 runs." in said
    assert said.index("too much</th>") < said.index("soon</th>")
    assert "open</th>" not in said
    assert "neither late nor on time: open." in said
    assert f"/table/{KEY}/orders.csv?units=t" in said


def test_the_table_to_take_away_has_every_order_and_all_ends(answer: dict[str, Any]) -> None:
    table = orders_table(answer, {}, METRIC)
    rows = [dict(zip(table.heads, row, strict=True)) for row in table.rows]

    assert [row["order"] for row in rows] == ["open", "soon", "too much"]
    assert (rows[0]["state"], rows[0]["on_time"]) == ("already due", None)
    assert rows[2]["late_t"] == pytest.approx(5000.0)
    assert (rows[2]["on_time"], rows[2]["filled_half"], rows[2]["filled_in_runs"]) == (0.0, None, 0)
    short_tons = orders_table(answer, {}, units_of("us"))
    # a short ton is 907.184 74 kg (NIST Handbook 44, appendix C)
    assert short_tons.rows[2][4] == pytest.approx(5000.0 / 0.90718474)


def test_a_plant_without_orders_has_no_section(tmp_path: Path) -> None:
    answer = made(tmp_path, SMALL)

    assert "orders" not in answer
    assert orders_section(answer, METRIC) == []
    assert "products" not in (answers.read_arrays(tmp_path, KEY) or {})


def test_a_stopped_run_of_before_the_orders_begins_anew(tmp_path: Path) -> None:
    made(tmp_path, SMALL, runs=2)
    answer = made(tmp_path, SMALL + BOOK)

    assert answer["orders"]["runs"] == 3


def test_a_stopped_run_goes_on_with_its_orders(tmp_path: Path, answer: dict[str, Any]) -> None:
    made(tmp_path, SMALL + BOOK, runs=2)

    assert made(tmp_path, SMALL + BOOK)["orders"] == answer["orders"]
