"""Where things stand in the drawing of a line: any chain lays itself out, and nothing lies on anything else."""

from itertools import pairwise

import pytest
from charts_example import PLANT, week
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard.charts.labels import label_width
from dashboard.charts.layout import Layout, lay_out
from dashboard.charts.moment import Moment, moment
from dashboard.charts.place import Placed, Placing, place
from dashboard.charts.plant import Branch, Plant, Station, Store, section_for

NOTHING = Moment({}, {}, {}, "")


def names(layout: Layout) -> list[list[str]]:
    return [[node.name for node in column] for column in layout.columns]


def placed(plant: Plant, now: Moment = NOTHING) -> tuple[Layout, Placing]:
    layout = lay_out(plant)
    return layout, place("test", plant, layout, now)


def chain(kinds: list[str], holds: list[str], capacity: list[float | None]) -> Plant:
    """Return stations one after the other with a store behind each."""
    stores = tuple(Store(f"s{i}", held, size) for i, (held, size) in enumerate(zip(holds, capacity, strict=True)))
    stations = tuple(
        Station(f"m{i}", kind, (f"s{i - 1}",) if i else (), (f"s{i}",), machines=1 + i % 3)
        for i, kind in enumerate(kinds)
    )
    return Plant(stations, stores)


def assert_nothing_overlaps(layout: Layout, placing: Placing, now: Moment) -> None:
    """Drawings and words of a column end before those of the next begin."""
    for column, after in pairwise(layout.columns):
        ends = max(reach(placing.nodes[node.name], now) for node in column)
        begins = min(it.x + min(0.0, it.drawn.enter) for it in (placing.nodes[node.name] for node in after))
        drawings = max(it.x + it.drawn.leave for it in (placing.nodes[node.name] for node in column))
        assert drawings < begins
        assert ends < min(placing.nodes[node.name].x for node in after)


def reach(it: Placed, now: Moment) -> float:
    return it.x + label_width(it.node, now)


def test_the_example_stands_in_flow_order_with_its_branches_at_the_right() -> None:
    layout = lay_out(PLANT)

    assert names(layout) == [
        ["station furnace"],
        ["station caster"],
        ["store cast coils"],
        ["station mill"],
        ["store cooling store"],
        ["station slitter"],
    ]
    assert [row.title for row in layout.rows] == [
        "Rings and coil, sold",
        "Gutter line",
        "Box gutter line",
        "Pipe line",
        "Wide sheet line",
    ]
    assert [[station.name for station in row.chain] for row in layout.rows][1] == ["gutter cutter", "gutter profiler"]
    assert layout.rows[-1].leaves == ("store cooling store",), "the wide sheets pass the slitter by"


def test_a_branch_without_a_heading_of_its_own_is_headed_by_its_station() -> None:
    rows = Plant(PLANT.stations, PLANT.stores, tuple(Branch(one.at, one.at) for one in PLANT.branches))

    assert [row.title for row in lay_out(rows).rows][1] == "Gutter profiler"


def test_nothing_in_the_example_lies_on_anything_else() -> None:
    now = moment(week(), 200_000.0)
    layout, placing = placed(PLANT, now)

    assert_nothing_overlaps(layout, placing, now)
    assert placing.width == 1200.0


def test_two_casters_on_one_store_stand_in_lanes() -> None:
    plant = Plant(
        (
            Station("north melter", "furnace", (), ("north bath",)),
            Station("south melter", "furnace", (), ("south bath",)),
            Station("north caster", "caster", ("north bath",), ("cast coils",)),
            Station("south caster", "caster", ("south bath",), ("cast coils",)),
            Station("mill", "mill", ("cast coils",), ("done",)),
        ),
        (
            Store("north bath", "metal", 20),
            Store("south bath", "metal", 20),
            Store("cast coils", "coils", 30),
            Store("done", "coils"),
        ),
    )
    layout, placing = placed(plant)

    assert names(layout)[:2] == [
        ["station north melter", "station south melter"],
        ["station north caster", "station south caster"],
    ]
    casters = [placing.nodes[f"station {name} caster"] for name in ("north", "south")]
    assert casters[1].y - casters[0].y > casters[0].drawn.bottom + 134 - casters[1].drawn.top, "words need room too"
    mill = placing.nodes["station mill"]
    assert mill.y == pytest.approx((casters[0].y + casters[1].y) / 2)


def test_two_melters_of_one_bath_keep_the_bath_as_a_store_of_its_own() -> None:
    stations = tuple(Station(f"melter {i}", "furnace", (), ("bath",)) for i in (1, 2))
    plant = Plant(
        (*stations, Station("caster", "caster", ("bath",), ("coils",))),
        (Store("bath", "metal", 26, heel=13), Store("coils", "coils")),
    )

    assert names(lay_out(plant)) == [["station melter 1", "station melter 2"], ["store bath"], ["station caster"]]


def test_a_second_supply_stands_just_before_what_it_feeds() -> None:
    plant = Plant(
        (
            Station("furnace", "furnace", (), ("bath",)),
            Station("caster", "caster", ("bath",), ("coils",)),
            Station("lorries", "supply", (), ("coils",)),
            Station("mill", "mill", ("coils",), ("done",)),
        ),
        (Store("bath", "metal", 20), Store("coils", "coils", 30), Store("done", "coils")),
    )

    assert "station lorries" in names(lay_out(plant))[1]


def test_a_line_that_sends_something_back_is_still_laid_out() -> None:
    plant = Plant(
        (
            Station("furnace", "furnace", ("returns",), ("bath",)),
            Station("caster", "caster", ("bath",), ("coils",)),
            Station("mill", "mill", ("coils",), ("returns", "done")),
        ),
        (Store("bath", "metal", 20), Store("coils", "coils", 30), Store("returns", "metal", 5), Store("done", "coils")),
    )
    layout, _ = placed(plant)

    assert sorted(name for column in names(layout) for name in column) == [
        "station caster",
        "station furnace",
        "station mill",
        "store coils",
        "store returns",
    ]


def test_more_than_seven_columns_are_wider_than_the_page() -> None:
    plant = chain(["step"] * 6, ["coils"] * 6, [20.0] * 6)
    layout, placing = placed(plant)

    assert len(layout.columns) > 7
    assert placing.width > 1200.0


KINDS = st.sampled_from(["furnace", "caster", "mill", "slitter", "cutter", "profiler", "step"])
HOLDS = st.sampled_from(["metal", "strip", "coils", "pieces"])
SIZES = st.one_of(st.none(), st.floats(0, 900).map(round).map(float))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(KINDS, HOLDS, SIZES), min_size=1, max_size=9))
def test_any_chain_stands_in_order_and_nothing_overlaps(links: list[tuple[str, str, float | None]]) -> None:
    plant = chain(*([link[part] for link in links] for part in range(3)))  # type: ignore[arg-type]
    layout, placing = placed(plant)

    for before, after in layout.links:
        assert layout.column_of(before) < layout.column_of(after)
    assert_nothing_overlaps(layout, placing, NOTHING)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(["slitter", "mill", "step", "cutter"]), min_size=2, max_size=5), st.integers(2, 4))
def test_stations_side_by_side_never_share_a_place(kinds: list[str], stages: int) -> None:
    stores = tuple(Store(f"s{i}", "coils", 20) for i in range(stages)) + (Store("end", "coils"),)
    stations = [
        Station(f"m{stage} {i}", kind, (f"s{stage}",), (f"s{stage + 1}" if stage + 1 < stages else "end",))
        for stage in range(stages)
        for i, kind in enumerate(kinds)
    ]
    layout, placing = placed(Plant(tuple(stations), stores))

    spots = [(it.x, it.y) for it in placing.nodes.values()]
    assert len(set(spots)) == len(spots)
    assert len(set(placing.row_y)) == len(layout.rows)


def test_strip_is_drawn_thinner_along_the_line() -> None:
    _, placing = placed(PLANT)
    order = ["caster", "mill", "slitter"]
    thick = [placing.nodes[f"station {name}"].thick for name in order]

    assert thick == sorted(thick, reverse=True)
    assert thick[0] == pytest.approx(10.0), "8.2 mm is drawn 10 px thick"


def test_a_station_that_names_a_store_the_line_does_not_have_is_refused() -> None:
    with pytest.raises(ValueError, match=r"mill names the store 'yard', which the line does not have"):
        Plant((Station("mill", "mill", ("yard",), ()),), ())


def test_a_kind_nobody_can_draw_is_refused_with_those_that_can_be() -> None:
    with pytest.raises(ValueError, match=r"press is a 'press': a station is one of supply, furnace"):
        Plant((Station("press", "press"),), ())


def test_two_stores_of_one_name_are_refused() -> None:
    with pytest.raises(ValueError, match=r"two stores on the line are called 'yard'"):
        Plant((), (Store("yard", "coils"), Store("yard", "metal")))


def test_a_row_that_leaves_nowhere_is_refused() -> None:
    with pytest.raises(ValueError, match=r"a row is to leave at 'barn'"):
        Plant((), (), (Branch("barn"),))


@pytest.mark.parametrize(
    ("said", "section"),
    [
        (("gutter 333", "half-round"), "half-round gutter"),
        (("box gutter 400",), "box gutter"),
        (("Pipe 100",), "pipe"),
        (("coil", "ring 200"), "ring"),
        (("sheet 1000",), "sheet"),
        (("tray 430",), "channel"),
    ],
)
def test_words_about_a_product_suggest_its_cross_section(said: tuple[str, ...], section: str) -> None:
    assert section_for(*said) == section
