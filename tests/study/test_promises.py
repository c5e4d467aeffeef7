"""Which orders will be late: worked by hand, laws that hold for any book, and an outside check of the sequence."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from twin.scenario import Scenario, loads
from twin.study.promises import order_book, promises, quantile, state_of
from twin.study.promises_told import beyond, cells, notes, ranked, verdict
from twin.study.replicate import replicate
from twin.study.serving import by_due, filled_s

HOUR_S, DAY_S = 3600.0, 86_400.0
PLANT = """
passline: 1
name: One ton an hour
about: Invented for the tests.
metal: zinc
time: {start: 2026-03-02, warm_up: 24 h, length: 96 h}
stores:
  ready: {holds: coils}
  done:  {holds: coils}
stations:
  supply:  {kind: supply, to: ready, every: 1 h, coil: {mass: 1 t, width: 1000 mm, thickness: 0.7 mm}}
  slitter: {kind: slitter, from: ready, to: done, speed: 100 m/min}
products:
  ring:  {thickness: 0.7 mm, girth: 500 mm, sold: coil}
patterns:
  P: {share: 100 %, thickness: 0.7 mm, width: 1000 mm, rings: {ring: 2}}
"""
BOOK = """
orders:
  - {order: open,  product: ring, quantity: 12 t, due: 2026-03-02 12:00}
  - {order: last,  product: ring, quantity: 24 t, due: 2026-03-04 12:00}
  - {order: first, product: ring, quantity: 24 t, due: 2026-03-04}
  - {order: far,   product: ring, quantity: 10 t, due: 2026-04-01}
"""
needs = st.lists(st.floats(0.1, 50.0), min_size=1, max_size=6)
made = st.lists(st.floats(0.0, 40.0), min_size=1, max_size=8)


def served(days: list[float], need: list[float], stock: float = 0.0) -> list[float]:
    """Return when each of some orders is filled, in days."""
    edges = np.arange(len(days) + 1, dtype=float)
    found: list[float] = filled_s(edges, np.array([days]), np.array([need]), stock)[0].tolist()
    return found


@pytest.fixture(scope="module")
def plant() -> Scenario:
    """Return a line without chance, with four orders."""
    return loads(PLANT + BOOK)


def test_ten_tonnes_at_one_tonne_an_hour_are_there_at_hour_ten() -> None:
    """Worked by hand: 24 t a day; the second order of 20 t is whole at hour 30."""
    at = filled_s(np.array([0.0, DAY_S, 2 * DAY_S]), np.array([[24e3, 24e3]]), np.array([[10e3, 20e3]]))

    assert at[0] / HOUR_S == pytest.approx([10.0, 30.0])


def test_what_is_not_made_within_the_run_is_not_filled_and_idle_days_fill_nothing() -> None:
    assert served([10.0, 0.0, 10.0], [10.0, 5.0, 6.0]) == [1.0, 2.5, np.inf]


def test_stock_fills_orders_before_anything_is_made() -> None:
    assert served([10.0], [4.0, 6.0], stock=4.0) == pytest.approx([0.0, 0.6])


def test_days_and_edges_must_fit() -> None:
    with pytest.raises(ValueError, match="2 days have 3 edges, not 2"):
        filled_s(np.array([0.0, 1.0]), np.zeros((1, 2)), np.ones((1, 1)))


@given(made, needs, st.integers(0, 5), st.floats(0.0, 20.0))
def test_a_larger_order_is_never_filled_earlier_nor_are_those_after_it(
    days: list[float], need: list[float], place: int, more: float
) -> None:
    larger = list(need)
    larger[place % len(need)] += more

    assert all(b >= a for a, b in zip(served(days, need), served(days, larger), strict=True))


@given(made, needs, st.floats(0.1, 50.0), st.integers(0, 6))
def test_one_order_more_leaves_those_due_earlier_as_they_were(
    days: list[float], need: list[float], new: float, place: int
) -> None:
    place = min(place, len(need))
    before, after = served(days, need), served(days, [*need[:place], new, *need[place:]])

    assert after[:place] == before[:place]
    assert all(b >= a for a, b in zip(before[place:], after[place + 1 :], strict=True))


@given(st.lists(st.tuples(st.integers(1, 9), st.integers(0, 30)), min_size=1, max_size=6))
def test_no_sequence_has_a_smaller_greatest_lateness_than_the_earliest_due_date(orders: list[tuple[int, int]]) -> None:
    """Jackson's rule for one machine (J. R. Jackson 1955, from memory), against all permutations."""

    def greatest(sequence: list[int]) -> float:
        at = served([10.0] * 6, [float(orders[place][0]) for place in sequence])
        return max(when - orders[place][1] / 10.0 for when, place in zip(at, sequence, strict=True))

    best = min(greatest(list(sequence)) for sequence in permutations(range(len(orders))))

    assert greatest(by_due([float(due) for _, due in orders])) == pytest.approx(best)


def test_of_two_orders_due_at_once_the_first_of_the_file_is_filled_first() -> None:
    assert by_due([5.0, 3.0, 5.0, 3.0]) == [1, 3, 0, 2]


def test_an_order_is_judged_only_where_it_falls_due_while_the_runs_count() -> None:
    assert [state_of(due, 10.0, 20.0) for due in (10.0, 10.1, 20.0, 20.1)] == [
        "already due",
        "counted",
        "counted",
        "due after the end",
    ]


def test_a_line_without_chance_fills_its_orders_by_hand(plant: Scenario) -> None:
    """Counting begins on 3 March 00:00 with 24 t a day: 12 t open, 24 t first, 24 t last, 10 t far.

    They are whole after 12, 36, 60 and 70 h. `first` is due by the end of 4 March (48 h), `last` at 36 h: so `last`
    comes before it, whole at 36 h, and `first` at 60 h, half a day late. A coil at a midnight is an hour more or less.
    """
    runs = replicate(plant, runs=3, workers=1)
    found = {one.order.order: one for one in promises(runs)}

    hours = {name: (one.filled_s / HOUR_S - 24.0) for name, one in found.items()}
    for name, hour in {"open": 12.0, "last": 36.0, "first": 60.0, "far": 70.0}.items():
        assert hours[name] == pytest.approx(np.full(3, hour), abs=1.0), name
    assert [found[name].state for name in ("open", "last", "first", "far")] == [
        "already due",
        "counted",
        "counted",
        "due after the end",
    ]
    assert found["first"].late.tolist() == [1.0, 1.0, 1.0]


def test_the_book_says_how_many_how_sure_and_what_is_left_out(plant: Scenario) -> None:
    book = order_book(
        replicate(loads(PLANT + BOOK.replace("2026-03-04 12:00", "2026-03-04 16:00")), runs=20, workers=1)
    )

    assert book is not None
    rows = {row["order"]: row for row in book["rows"]}
    assert (book["late"]["mean"], book["late_mass"]["mean"], book["counted"]) == (1.0, 24.0, 2)
    # Wilson's interval of 0 of 20 and 20 of 20: z2 / (n + z2), with z = 1.96
    assert rows["first"]["on_time"]["high"] == pytest.approx(1.96**2 / (20.0 + 1.96**2), abs=1e-4)
    assert rows["last"]["on_time"]["low"] == pytest.approx(20.0 / (20.0 + 1.96**2), abs=1e-4)
    assert rows["first"]["days_late"]["median"] == pytest.approx(0.5, abs=1.0 / 24.0)
    assert rows["first"]["filled"]["0.5"].startswith("2026-03-05T1")
    assert rows["far"]["on_time"] is None
    assert rows["far"]["filled_within"] == 20
    assert verdict(book).startswith("1\u00a0±\u00a00 of 2 orders due from Tue\u00a03\u00a0Mar to Sat\u00a07\u00a0Mar")
    assert "Least sure is first: late in 20\u00a0of\u00a020 runs." in verdict(book)
    said = " ".join(notes(book))
    assert "neither late nor on time: open." in said
    assert "Due after the end of the runs, so nothing is said of them: far." in said
    assert [row["order"] for row in ranked(book)] == ["first", "last"]
    assert cells(ranked(book)[0], 20)[3:5] == ("Wed\u00a04\u00a0Mar", "0\u00a0of\u00a020 (0\u00a0to\u00a016\u00a0%)")
    assert beyond(ranked(book)[1:], 20) == "1 order more: on time in 20\u00a0of\u00a020 runs."


def test_pieces_that_lie_finished_count_and_pieces_need_their_mass() -> None:
    """A piece of 0.7 mm x 333 mm x 3 m zinc: 7140 kg/m3 (the materials' own value) makes 4.99 kg."""
    text = (
        PLANT.replace("stores:", "start: {stores: {goods: {gutter: 100}}}\nstores:")
        .replace("warm_up: 24 h", "warm_up: 0 h")
        .replace("  done:  {holds: coils}", "  done:  {holds: coils}\n  goods: {holds: pieces}")
        .replace(
            "products:",
            "  line: {kind: profiler, from: done, to: goods, makes: [gutter], speed: 100 m/min}\nproducts:\n"
            "  gutter: {thickness: 0.7 mm, girth: 333 mm, length: 3 m}",
        )
        .replace("rings: {ring: 2}", "rings: {gutter: 3}")
    )
    orders = "orders:\n" + "".join(
        f"  - {{order: {name}, product: gutter, quantity: {count} pieces, due: 2026-03-03}}\n"
        for name, count in (("lies there", 100), ("one hour", 198))
    )
    there, made = promises(replicate(loads(text + orders), runs=1, workers=1))

    assert there.filled_s[0] == 0.0
    assert there.mass_kg == pytest.approx(100 * 0.0007 * 0.333 * 3.0 * 7140.0, rel=0.01)
    assert made.filled_s[0] == pytest.approx(HOUR_S, rel=0.1), "24 t a day hold some 198 pieces an hour"


def test_products_do_not_wait_for_each_other() -> None:
    two = PLANT.replace("products:", "products:\n  other: {thickness: 0.7 mm, girth: 500 mm, sold: coil}")
    two = two.replace("rings: {ring: 2}", "rings: {ring: 1, other: 1}")
    more = BOOK + "  - {order: huge, product: other, quantity: 900 t, due: 2026-03-03}\n"
    alone, beside = (promises(replicate(loads(two + book), runs=2, workers=1)) for book in (BOOK, more))

    for one, other in zip(alone, beside, strict=False):
        assert one.filled_s.tolist() == other.filled_s.tolist()
    assert np.isinf(beside[-1].filled_s).all()


def test_runs_without_orders_carry_nothing_more_and_orders_change_no_number(plant: Scenario) -> None:
    bare = replicate(loads(PLANT), runs=2, workers=1)

    assert bare.product_day_kg is None
    assert order_book(bare) is None
    assert replicate(plant, runs=2, workers=1).digest == bare.digest


def test_two_workers_give_the_same_book(plant: Scenario) -> None:
    one, two = (order_book(replicate(plant, runs=6, workers=workers)) for workers in (1, 2))

    assert one == two


def test_a_quantile_may_lie_beyond_the_runs() -> None:
    values = np.array([np.inf, 1.0, 2.0, np.inf])

    assert [quantile(values, share) for share in (0.1, 0.5, 0.9)] == [1.0, 2.0, np.inf]


def test_runs_that_share_a_plant_count_as_one_in_the_chance_and_the_median_has_no_interval(plant: Scenario) -> None:
    runs = replicate(plant, runs=20, workers=1)
    book, shared = order_book(runs), order_book(replace(runs, group=4))

    assert book is not None
    assert shared is not None
    assert book["rows"][1]["on_time"]["low"] == pytest.approx(20.0 / (20.0 + 1.96**2), abs=1e-4)
    assert shared["rows"][1]["on_time"]["low"] == pytest.approx(5.0 / (5.0 + 1.96**2), abs=1e-4)
    assert (shared["rows"][2]["days_late"]["low"], shared["rows"][2]["days_late"]["high"]) == (None, None)
