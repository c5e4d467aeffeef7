from datetime import datetime
from pathlib import Path

import pytest
from scenario_texts import SMALL, changed

from twin.scenario import Scenario, ScenarioError, apply_set, load, loads
from twin.scenario.quantities import Amount

HEAD = "order,product,quantity,due\n"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "plant.yaml"
    path.write_text(changed(SMALL, "options:", "orders: orders.csv\noptions:"), encoding="utf-8")
    return path


def plant_with(file: Path, rows: str | bytes) -> Scenario:
    file.with_name("orders.csv").write_bytes(rows if isinstance(rows, bytes) else rows.encode())
    return load(file)


def refused(file: Path, rows: str | bytes) -> str:
    with pytest.raises(ScenarioError) as caught:
        plant_with(file, rows)
    return str(caught.value)


def test_an_order_book_is_read_from_the_file_beside_the_scenario(file: Path) -> None:
    rows = [
        "4711,gutter 333,600 pieces,2026-03-20",
        "",
        '"4712, urgent",ring 500,12 t,2026-03-27 12:00',
        "4713,gutter 333,30,2026-04-01",
    ]
    orders = plant_with(file, HEAD + "\n".join(rows)).orders

    assert [order.order for order in orders] == ["4711", "4712, urgent", "4713"]
    assert [order.quantity for order in orders] == [
        Amount(600.0, "pieces"),
        Amount(12_000.0, "mass"),
        Amount(30.0, "pieces"),
    ]
    assert orders[1].due == datetime(2026, 3, 27, 12)


def test_orders_may_stand_in_the_scenario_itself() -> None:
    inline = "orders: [{order: 4711, product: gutter 333, quantity: 600 pieces, due: 2026-03-20}]\noptions:"

    assert loads(changed(SMALL, "options:", inline)).orders[0].order == "4711"


def test_orders_are_kept_when_a_value_is_set(file: Path) -> None:
    plant = plant_with(file, HEAD + "4711,gutter 333,600 pieces,2026-03-20\n")
    file.with_name("orders.csv").unlink()

    assert apply_set(plant, "stations.slitter.machines", 2).orders == plant.orders


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("order;product;quantity;due\n", "the columns are 'order;product;quantity;due'"),
        ("", "the columns are ''"),
        (HEAD + "4711,gutter 333,600 pieces\n", "row 2: 3 values, not 4"),
        (HEAD + "4711,gutter 333,600 pieces,soon\n", "row 2: 'soon' is not a local date or time"),
        (HEAD + "4711,gutter 333,-6 pieces,2026-03-20\n", "row 2: '-6 pieces' is too little"),
        (HEAD + "1,gutter 333,6,2026-03-20\n2,guter 333,6,2026-03-20\n", "there is no product 'guter 333'"),
        (HEAD + '"4711,gutter', "unexpected end of data"),
        (b"\xff\xfe", "is not UTF-8"),
    ],
)
def test_a_faulty_order_book_is_refused_with_its_row(file: Path, rows: str | bytes, words: str) -> None:
    assert words in refused(file, rows)


@pytest.mark.parametrize(
    "name", ["/etc/passwd", "../orders.csv", "a/../../orders.csv", "C:\\orders.csv", "..\\orders.csv", "link.csv"]
)
def test_nothing_outside_the_folder_is_read(file: Path, tmp_path_factory: pytest.TempPathFactory, name: str) -> None:
    outside = tmp_path_factory.mktemp("outside") / "orders.csv"
    outside.write_text(HEAD)
    file.with_name("link.csv").symlink_to(outside)
    file.write_text(changed(SMALL, "options:", f"orders: '{name}'\noptions:"), encoding="utf-8")

    with pytest.raises(ScenarioError, match="does not lie beside the scenario"):
        load(file)


def test_a_text_without_a_file_cannot_have_an_order_file() -> None:
    with pytest.raises(ScenarioError, match="need a scenario in a file"):
        loads(changed(SMALL, "options:", "orders: orders.csv\noptions:"))
