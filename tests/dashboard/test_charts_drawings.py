"""What every drawing must be: well-formed, named, with the same numbers in words; and true to what it shows."""

import re
from dataclasses import replace
from math import atan2, hypot, pi
from xml.etree import ElementTree

import pytest
from charts_example import PLANT, WEEK_S, week
from hypothesis import given
from hypothesis import strategies as st

from dashboard.charts.axes import ticks
from dashboard.charts.chances import Curve, Threshold, chance_curves, odds, rests_on, threshold
from dashboard.charts.changes import RollChange, roll_changes
from dashboard.charts.coil import coil_of, outer_radius, spiral, wound
from dashboard.charts.curve import Point, distance_curve
from dashboard.charts.day_band import DayAmong, day_among
from dashboard.charts.day_curve import DayCurve, day_curve, spaced
from dashboard.charts.day_strips import DaySpan, DayStrip, Spell, day_strips
from dashboard.charts.days import DayBar, day_bars
from dashboard.charts.drawn import DrawnRow, Scale, drawn_table, interval_marks, scale_for
from dashboard.charts.flow import flow_drawing
from dashboard.charts.held import Places, filled, rack_places
from dashboard.charts.hours import HoursRow, station_hours
from dashboard.charts.ladder import Rung, in_order, ladder
from dashboard.charts.levels import store_levels
from dashboard.charts.moments import empty_rack, old_answer, winding_coil
from dashboard.charts.pieces import LETTER_PX, pieces, visible
from dashboard.charts.plant import Branch, Plant, Station, Store
from dashboard.charts.player import play_bar
from dashboard.charts.roll_windows import Lane, Step, price_lanes
from dashboard.charts.sets import RollSet, roll_sets
from dashboard.charts.states import LOOKS, legend
from dashboard.charts.strips import limit_path, rows_from, week_strips
from dashboard.charts.svg import figure, number
from dashboard.charts.timeline import SetRow, Span, sets_along
from dashboard.charts.week import Day, MachineTrace, week_data

Tree = ElementTree.Element
AT = 204_000.0
DAYS = [DayBar("Mon", 92.0, 124.0, 92.0, 158.0), DayBar("Tue", 159.0, 124.0, 92.0, 158.0), DayBar("Sat", None)]
HOURS = [HoursRow("Caster", {"running": 121.0, "blocked": 34.0}), HoursRow("Mill", {"running": 83.0, "down": 3.8})]
CHANGES = [RollChange("Mon 12:01", "set 3 → 4", "57.4 km", "planned", "31 min", "no wait", 57.4 / 57)]
SETS = [RollSet(2, "on mill", "351.2 mm", "41 of 57 km", 41 / 57), RollSet(3, "ready", "349.8 mm", "since 11:20")]
OPTIONS = [
    DrawnRow("Today", ("619 ± 12",), 619, 607, 631),
    DrawnRow("Night shift", ("763 ± 9",), 763, 754, 772, note="one crew more", holds=True),
]
SPAN = Span(72 * 3600.0, [Day(0.0, "Wed 18 Nov", "Wed"), Day(86400.0, "Thu 19 Nov", "Thu")], 12 * 3600.0)
STEPS = tuple(Step(43_200.0 + 900.0 * i, abs(i - 20) / 4, f"step {i}") for i in range(40))
LANES = [Lane("Set 2 off, set 3 on", "Wed 16:10–19:50", 58_200, 61_200, 71_400, "+0.5 t", "+0.5 t", STEPS, shut=True)]
SET_ROWS = [
    SetRow("Set 1", [0.0, 40_000.0, 60_000.0], [40_000.0, 60_000.0, 90_000.0], ["on_mill", "cooling", "grinding"])
]
RUNGS = [
    Rung("Strip break", "slitter", -11.8, -16.2, -7.4, "stops, row 31"),
    Rung("Nine more coils ready", "cooling store", 4.0, 1.5, 6.1),
    Rung("Tool change took longer", "gutter line", -3.4),
]
POINTS = [Point(30, 541, 530, 552), Point(57, 619, 608, 630), Point(110, 624, 613, 635)]
DAY = DayCurve(
    [0.0, 43_200.0, 86_400.0],
    [[0.0, 40.0 + i, 80.0 + i] for i in range(5)],
    [0, 30, 96],
    ("replay", [0, 35, 90]),
    124,
    [(0.0, "06")],
)
PAIRS = [
    DayStrip("Mill", [Spell("running", 0, 6e4), Spell("unrecorded", 6e4, 7e4), Spell("changing rolls", 7e4, 8e4)], []),
    DayStrip("Slitter", [Spell("starved", 0.0, 3e4), Spell("down", 3e4, 4e4)], [Spell("closed", 0.0, 86_400.0)]),
]
DRAWINGS = {
    "flow": flow_drawing(PLANT, week(), AT),
    "strips": week_strips(rows_from(week()), week(), at_s=AT),
    "days": day_bars(DAYS),
    "levels": store_levels(week(), ["cooling store", "cast coils"]),
    "hours": station_hours(HOURS),
    "changes": roll_changes(CHANGES),
    "options": drawn_table(OPTIONS, heads=["good t/week"], scale=scale_for(OPTIONS, today=619)),
    "sets": roll_sets(SETS),
    "rack": empty_rack(),
    "coil": winding_coil(0.7, count="14/20"),
    "old": old_answer(),
    "key": legend(),
    "windows": price_lanes(LANES, SPAN),
    "sets along": sets_along(SET_ROWS, SPAN),
    "ladder": ladder(124.0, 102.8, RUNGS, -10.0),
    "day": day_curve(DAY),
    "day strips": day_strips(PAIRS, DaySpan(86_400.0, [(h * 3600.0, f"{h:02d}:00") for h in range(0, 25, 3)])),
    "band": day_among(DayAmong(96, 124, (82, 166), [88, 103, 171])),
    "curve": distance_curve(POINTS, today=57, flat=(57, 110)),
    "odds": odds([("Night shift", 18, 20), ("Second slitter", 0, 20)]),
    "chances": chance_curves([Curve("Night shift", [0, 1, 2], [0.0, 0.5, 0.9])], years=2),
    "threshold": threshold(Threshold("Orders fall.", "No change pays.", 760, 655, "760 on the book", "655 t/week")),
    "rests": rests_on([("slitter setup", "48 min, 412 setups", True), ("a second crew", "6 people", False)]),
}


def tree(drawn: str) -> Tree:
    """Return a drawing as the tree it makes; no name space, so that names are short; an input of HTML is closed."""
    closed = re.sub(r"<input([^>]*)>", r"<input\1/>", drawn.replace(' xmlns="http://www.w3.org/2000/svg"', ""))
    return ElementTree.fromstring(f"<div>{closed}</div>")


def with_class(root: Tree, name: str) -> list[Tree]:
    return [element for element in root.iter() if name in element.get("class", "").split()]


def words_of(element: Tree) -> str:
    return " ".join("".join(element.itertext()).split())


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_drawing_is_well_formed(name: str) -> None:
    assert len(tree(DRAWINGS[name])) > 0


@pytest.mark.parametrize("name", DRAWINGS)
def test_every_picture_has_a_name_or_says_that_it_is_decoration(name: str) -> None:
    root = tree(DRAWINGS[name])
    inner = {child for svg in root.iter("svg") for child in svg.iter("svg") if child is not svg}

    for svg in root.iter("svg"):
        if svg not in inner:
            assert (svg.get("role") == "img" and svg.get("aria-label")) or svg.get("aria-hidden") == "true"


@pytest.mark.parametrize(
    "name",
    [
        "flow",
        "strips",
        "days",
        "levels",
        "hours",
        "changes",
        "options",
        "sets",
        "sets along",
        "ladder",
        "day",
        "day strips",
        "curve",
        "odds",
        "chances",
    ],
)
def test_a_drawing_of_numbers_has_a_table_with_them(name: str) -> None:
    root = tree(DRAWINGS[name])
    tables = list(root.iter("table"))

    assert tables
    assert all(table.find("caption") is not None or name == "options" for table in tables)
    assert all(head.get("scope") for table in tables for head in table.iter("th"))


def test_the_table_of_days_has_the_numbers_of_the_bars() -> None:
    said = words_of(next(tree(DRAWINGS["days"]).iter("table")))

    assert all(part in said for part in ("92 t", "159 t", "124 t", "158 t"))


@pytest.mark.parametrize("name", DRAWINGS)
def test_patterns_are_found_in_the_drawing_that_uses_them(name: str) -> None:
    """A pattern in a drawing that is not shown cannot be used by one that is."""
    for svg in tree(DRAWINGS[name]).iter("div"):
        if "pl-wide" in svg.get("class", "") or "pl-phone" in svg.get("class", ""):
            text = ElementTree.tostring(svg, encoding="unicode")
            assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(re.findall(r'pattern id="([^"]+)"', text))


def test_no_two_drawings_of_a_page_share_the_name_of_a_pattern() -> None:
    found = [name for drawn in DRAWINGS.values() for name in re.findall(r'pattern id="([^"]+)"', drawn)]

    assert len(found) == len(set(found))


def test_names_from_a_file_cannot_become_markup() -> None:
    evil = 'mill"><script>alert(1)</script>'
    plant = Plant(
        (Station(evil, "mill", ("yard",), ("done",), note="<b>"),),
        (Store("yard", "coils", 5, title="<i>yard</i>"), Store("done", "coils")),
        (Branch("done", "<u>", "ring", "<s>"),),
    )
    trace = MachineTrace(evil, 1, [0.0], [50.0], ["waiting"], [], ["<em>"])
    cut = week_data(plant, clock=(0.0, 50.0), days=[], machines=[trace])
    packed = cut | {"days": [{"t": 0, "label": "<mark>", "name": "<mark>", "clock": 0}]}
    drawn = flow_drawing(plant, packed) + week_strips(rows_from(packed), packed, at_s=1.0) + play_bar(packed)

    assert not re.search(r"<(script|b|i|u|s|em|mark)>", drawn)
    assert "&lt;script&gt;" in drawn


@pytest.mark.parametrize("share", [0.0, 0.3, 1.0])
def test_the_bar_under_the_line_is_a_slider_that_keys_move(share: float) -> None:
    at = round(share * WEEK_S)
    bar = play_bar(week(), at)

    assert re.search(rf'<input type="range"[^>]* min="0" max="604800" step="600" value="{at}"', bar)
    assert 'aria-label="Time in the week"' in bar
    assert '<button type="button"' in bar


def points_of(path: str) -> list[tuple[float, float]]:
    ends = re.findall(r"(-?[\d.]+) (-?[\d.]+)(?=A|$)", path)
    return [(float(x), float(y)) for x, y in ends]


@given(st.floats(2, 20), st.floats(5, 40), st.floats(1, 6))
def test_a_coil_is_an_archimedean_spiral(bore: float, wall: float, turns: float) -> None:
    """Its radius grows in proportion to its angle: r = a + b theta."""
    points = points_of(spiral(bore, bore + wall, turns))
    angle, last = 0.0, atan2(points[0][1], points[0][0])
    reached = [0.0]
    for x, y in points[1:]:
        step = (atan2(y, x) - last) % (2 * pi)
        angle, last = angle + step, atan2(y, x)
        reached.append(angle)

    assert angle == pytest.approx(2 * pi * turns, rel=0.02)
    for (x, y), turned in zip(points, reached, strict=True):
        assert hypot(x, y) == pytest.approx(bore + wall * turned / (2 * pi * turns), abs=0.02 + 0.01 * wall)


@given(st.floats(0.01, 30.0), st.floats(0.0, 30.0), st.floats(0.1, 5.0))
def test_the_face_of_a_coil_is_its_mass(mass: float, bore: float, per_area: float) -> None:
    outer = outer_radius(mass, bore, per_area)

    assert pi * (outer**2 - bore**2) * per_area == pytest.approx(mass, rel=1e-9, abs=1e-9)


def test_a_coil_drawn_at_its_scale_has_the_true_ratio_of_bore_to_outside() -> None:
    """4.9 t of zinc 1034 mm wide on a 508 mm bore, wound to 98 %: common practice, no source.

    Its mass is width x density x fill x the area of its face.
    """
    outer = (4900 / (pi * 1.034 * 7140 * 0.98) + 0.254**2) ** 0.5

    drawn_outer, drawn_bore = coil_of(4.9)
    assert drawn_bore / drawn_outer == pytest.approx(0.254 / outer, rel=0.005)


@given(st.floats(0.0, 1.0))
def test_a_winding_coil_grows_by_area(share: float) -> None:
    reached = wound(share, 5.0, 20.0)

    assert (reached**2 - 25.0) / (400.0 - 25.0) == pytest.approx(share, abs=1e-9)


def test_a_coil_without_a_face_is_refused() -> None:
    with pytest.raises(ValueError, match="mass per area above 0"):
        outer_radius(1.0, 1.0, 0.0)


@pytest.mark.parametrize(("full", "each"), [(46, 1), (64, 1), (120, 1), (121, 2), (700, 10), (12_000, 100)])
def test_a_ring_of_a_large_store_stands_for_a_round_number(full: float, each: float) -> None:
    places = rack_places(full)

    assert places.each == each
    assert places.count <= 120
    assert places.count * places.each >= full


def test_a_rack_fills_upwards_column_by_column() -> None:
    places = Places(12, 3, 1.0)
    spots = [places.spot(place) for place in range(12)]

    assert spots[0][1] > spots[1][1] > spots[2][1], "a place further up has a smaller y"
    assert spots[2][0] < spots[3][0]


@given(st.integers(1, 300), st.floats(0, 400), st.floats(0, 1))
def test_a_rack_never_shows_more_than_it_holds(full: int, level: float, part: float) -> None:
    places = rack_places(float(full))
    ready, taken = filled(places, level, level * part)

    assert 0 <= ready <= taken <= places.count


def test_the_rack_of_the_example_shows_as_many_rings_as_coils() -> None:
    root = tree(DRAWINGS["flow"])
    store = next(g for g in root.iter("g") if g.get("data-store") == "cooling store")
    rings = {name: with_class(store, name)[0].get("d", "").count("M") for name in ("pl-full", "pl-cools", "pl-free")}

    assert rings == {"pl-full": 52, "pl-cools": 12, "pl-free": 0}, "64 of 64, 52 ready at this time of the example"


def test_letters_stand_only_where_there_is_room() -> None:
    root = tree(DRAWINGS["strips"])
    for div, pixels in (("pl-wide", 896.0), ("pl-phone", 350.0 * 7)):
        for piece in with_class(with_class(root, div)[0], "pl-piece"):
            width = float(piece.get("width", "0%").rstrip("%")) / 100 * pixels
            assert bool(with_class(piece, "pl-letter")) == (width >= LETTER_PX - 0.01)


def test_slowed_running_is_drawn_thin_and_other_running_full() -> None:
    rects = with_class(with_class(tree(DRAWINGS["strips"]), "pl-wide")[0], "pl-running")
    heights = {rect.get("height") for rect in rects if rect.tag == "rect"}

    assert heights == {"18", "8"}


def test_strips_are_as_long_as_their_time() -> None:
    root = with_class(tree(DRAWINGS["strips"]), "pl-wide")[0]
    caster = [p for p in visible(pieces(week(), 1), WEEK_S / 896) if p.state == "running"]
    widths = sorted(number(100 * piece.length / WEEK_S, 4) + "%" for piece in caster)
    drawn = [r.get("width") for r in with_class(root, "pl-running") if r.tag == "rect"]

    assert all(width in drawn for width in widths)


def test_the_line_of_what_limits_runs_under_the_right_strips() -> None:
    packed = week()
    rows = rows_from(packed)
    ys = [100.0 * i for i in range(len(rows))]
    level, upright = limit_path(packed, rows, ys)
    name_at = {row.limit: y for row, y in zip(rows, ys, strict=True)}
    limits = packed["limits"]

    assert level.startswith(f"M0 {number(name_at['slitter'])}H")
    assert level.count("M") == len(limits["t"])
    assert upright.count("M") == len(limits["t"]) - 1


def test_the_cursor_hides_the_name_of_the_day_under_it() -> None:
    names = with_class(tree(DRAWINGS["strips"]), "pl-day-name")
    hidden = [words_of(name) for name in names if "pl-under-flag" in name.get("class", "")]

    assert hidden == ["Wed 18 Nov"]


def test_a_bar_of_a_day_is_as_high_as_its_tonnes() -> None:
    bars = with_class(tree(DRAWINGS["days"]), "pl-strip")
    heights = [float(bar.get("height", 0)) for bar in bars]

    assert heights[1] / heights[0] == pytest.approx(159 / 92, rel=0.001)


def test_a_day_that_has_not_been_has_no_bar() -> None:
    assert len(with_class(tree(DRAWINGS["days"]), "pl-strip")) == 2


def test_a_level_at_its_capacity_lies_on_the_line_that_means_full() -> None:
    root = tree(DRAWINGS["levels"])
    line = min(float(line.get("y1", 0)) for line in with_class(root, "pl-full-line"))
    path = with_class(root, "pl-solid")[0].get("d", "")

    assert f"M0 {number(line, 1)}" in path, "the cooling store of the example starts full"


def test_hours_fill_the_bar_in_proportion() -> None:
    root = with_class(tree(DRAWINGS["hours"]), "pl-wide")[0]
    widths = [float(piece.get("width", "0").rstrip("%")) for piece in with_class(root, "pl-piece")]

    assert widths[:2] == pytest.approx([100 * 121 / 168, 100 * 34 / 168], abs=0.01)


def test_an_interval_ends_where_its_numbers_are() -> None:
    root = tree(interval_marks(Scale(0.0, 200.0), 50.0, 60.0, 90.0, 10.0))
    bar = with_class(root, "pl-span")[0]

    assert (bar.get("x"), bar.get("width")) == ("25%", "20%")
    assert [svg.get("x") for svg in root.iter("svg")] == ["25%", "45%", "30%"]


def test_a_number_without_an_interval_is_its_mean_alone() -> None:
    root = tree(interval_marks(Scale(0.0, 200.0), 60.0, 60.0, 60.0, 10.0))

    assert with_class(root, "pl-span") == []
    assert len(with_class(root, "pl-ink")) == 1


def test_the_row_that_holds_is_marked() -> None:
    rows = list(tree(DRAWINGS["options"]).iter("tr"))

    assert [row.get("class") for row in rows] == [None, None, "pl-holds"]


def test_sets_stand_at_their_places_and_a_full_turn_is_the_limit() -> None:
    said = words_of(with_class(tree(DRAWINGS["sets"]), "pl-wide")[0])

    assert said.index("On the mill") < said.index("351.2 mm") < said.index("Cooling") < said.index("349.8 mm")
    assert said.count("none") == 4
    with pytest.raises(ValueError, match="set 9 is at 'the pub'"):
        roll_sets([RollSet(9, "the pub")])


def test_every_state_of_a_machine_has_a_letter_of_its_own() -> None:
    letters = [LOOKS[state].letter for state in ("running", "setup", "changing_rolls", "down", "waiting", "starved")]
    letters.append(LOOKS["blocked"].letter)

    assert len(set(letters)) == 7
    assert all(len(letter) == 1 for letter in letters)


def test_the_key_names_every_state_in_words() -> None:
    said = words_of(tree(DRAWINGS["key"]))

    assert all(LOOKS[state].word in said for state in ("running", "setup", "down", "waiting", "blocked", "closed"))


@pytest.mark.parametrize(
    ("value", "digits", "shown"),
    [(1234567.0, 0, "1\u2009234\u2009567"), (-0.2, 0, "0"), (-2.5, 0, "\u22123"), (2.5, 0, "3"), (0.05, 1, "0.1")],
)
def test_figures_are_written_with_thin_spaces_and_a_true_minus(value: float, digits: int, shown: str) -> None:
    assert figure(value, digits) == shown


@given(st.floats(-1e4, 1e4), st.floats(0.01, 1e5))
def test_round_values_lie_inside_and_are_evenly_spaced(low: float, span: float) -> None:
    found = ticks(low, low + span)
    gaps = {round((b - a) / span, 6) for a, b in zip(found, found[1:], strict=False)}

    assert all(low - 1e-6 * span <= value <= low + span * (1 + 1e-6) for value in found)
    assert len(gaps) <= 1
    assert 1 <= len(found) <= 6


def test_the_rungs_of_a_ladder_join_end_to_end() -> None:
    """Each starts where the last ended: the lower riser of a row is the upper riser of the next."""
    rows = list(tree(DRAWINGS["ladder"]).iter("tr"))[1:]
    risers = [[line.get("x1") for line in with_class(row, "pl-riser")] for row in rows]

    assert all(above[-1] == below[0] for above, below in zip(risers, risers[1:], strict=False))
    assert len(rows) == len(RUNGS) + 4, "expected, rungs, replay, unexplained, actual"


def test_gains_come_before_losses_and_the_largest_first() -> None:
    assert [rung.tonnes for rung in in_order(RUNGS)] == [4.0, -11.8, -3.4]


def test_a_ladder_may_begin_at_such_days_and_climb_to_what_was_expected_by_the_morning() -> None:
    drawn = ladder(124.0, 102.8, RUNGS, -10.0, before=[Rung("State of the line in the morning", "", 6.0)])
    rows = list(tree(drawn).iter("tr"))[1:]
    risers = [[line.get("x1") for line in with_class(row, "pl-riser")] for row in rows]

    assert words_of(rows[0]).startswith("Such days")
    assert "118.0" in words_of(rows[0])
    assert words_of(rows[2]).startswith("Expected")
    assert all(above[-1] == below[0] for above, below in zip(risers, risers[1:], strict=False))


def test_a_ladder_that_does_not_add_up_is_refused_with_what_is_missing() -> None:
    with pytest.raises(ValueError, match=r"the unexplained must be -10$"):
        ladder(124.0, 102.8, RUNGS, -6.0)


def test_the_unexplained_is_hatched_and_stands_before_the_actual() -> None:
    rows = list(tree(DRAWINGS["ladder"]).iter("tr"))

    assert with_class(rows[-2], "pl-unexplained")
    assert not any(with_class(row, "pl-unexplained") for row in rows[:-2])


def test_a_set_is_cut_at_now_and_paler_behind_it() -> None:
    pieces_drawn = with_class(with_class(tree(DRAWINGS["sets along"]), "pl-wide")[0], "pl-piece")
    later = ["pl-later" in piece.get("class", "") for piece in pieces_drawn]

    assert later == [False, False, True, True], "cooling is going on now and is drawn in two parts"


def test_odds_count_full_rings() -> None:
    drawn = list(tree(DRAWINGS["odds"]).iter("svg"))

    assert [len(with_class(svg, "pl-full")) for svg in drawn] == [18, 0]
    with pytest.raises(ValueError, match="21 of 20"):
        odds([("Night shift", 21, 20)])


def test_a_day_lies_in_its_band_where_its_tonnes_are() -> None:
    root = tree(DRAWINGS["band"])
    bar = with_class(root, "pl-span")[0]
    left, width = (float(bar.get(name, "0%").rstrip("%")) for name in ("x", "width"))
    ring = next(svg for svg in root.iter("svg") if svg.find("circle[@class='pl-heavy-ring']") is not None)

    assert (float(ring.get("x", "0%").rstrip("%")) - left) / width == pytest.approx((96 - 82) / (166 - 82), abs=1e-3)


def test_a_time_without_a_record_is_drawn_as_such_and_never_as_running() -> None:
    strips = tree(DRAWINGS["day strips"])

    assert with_class(strips, "pl-no-record")
    assert "no record" in words_of(strips)


@given(st.lists(st.floats(0.0, 220.0), min_size=1, max_size=5))
def test_names_at_the_ends_of_lines_keep_apart_and_in_their_order(wanted: list[float]) -> None:
    made = spaced(wanted, 17.0, 225.0)
    ranked = [y for _, y in sorted(zip(wanted, made, strict=True), key=lambda pair: pair[0])]

    assert all(after - before > 16.99 for before, after in zip(sorted(made), sorted(made)[1:], strict=False))
    assert ranked == sorted(made)
    assert max(made) <= 225.0


def test_a_day_may_stand_alone_in_its_fan() -> None:
    alone = day_curve(replace(DAY, second=("replay", ())))

    assert "replay" not in alone
    assert "replay" in day_curve(DAY)


def test_a_fan_of_the_wrong_hours_is_refused() -> None:
    with pytest.raises(ValueError, match="the actual has 2 values for 3 times"):
        day_curve(replace(DAY, actual=[0.0, 1.0]))


@pytest.mark.parametrize(("leaves", "told"), [(82, False), (50, True)])
def test_a_price_on_a_phone_stands_where_there_is_room_for_it(leaves: int, told: bool) -> None:
    """A lane is 350 px wide there, and words of 115 px beside the curve must not run out of it."""
    steps = tuple(Step(900.0 * k, 0.0 if k < leaves else 9.0 * (k - leaves + 1), f"step {k}") for k in range(101))
    lane = Lane("Set 1 off", "some time", 0.0, 9000.0, 27_000.0, "", "+9 t each ½ h", steps)
    phone = price_lanes([lane], SPAN).split("roll-plot pl-phone")[1]

    assert ("each ½ h" in phone) is told
