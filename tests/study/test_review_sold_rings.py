"""Rings that are sold as they come from the slitter, under a product that another station draws from the same store."""

from datetime import date

import pytest

from twin.line import Run, simulate
from twin.logs import Log
from twin.logs.write import log_of
from twin.scenario import Scenario, loads
from twin.study.review_booked import booked
from twin.study.review_day import Day, prepare_day

LINE = """
passline: 1
name: Sold rings
metal: aluminium
time: {zone: Europe/Vienna, start: 2026-03-02 06:00, warm_up: 0 h, length: 2 weeks}
calendars:
  two: {open: ["Mon-Fri 06:00-22:00"]}
stores:
  yard: {holds: coils, capacity: 12}
  rings: {holds: coils, capacity: 20}
  sheets: {holds: pieces}
  sold: {holds: coils}
stations:
  gate: {kind: supply, to: yard, calendar: two, every: 50 min, coil: {mass: 3 t, width: 1000 mm, thickness: 0.8 mm}, when_full: turn away}
  slit: {kind: slitter, from: yard, to: rings, calendar: two, setup: 30 min, speed: 120 m/min, thread: 5 min}
  cut: {kind: cutter, from: rings, to: sheets, calendar: two, makes: [sheet 500, sheet 330], rate: 9 pieces/min}
  pack: {kind: step, from: rings, to: sold, calendar: two, makes: ring 330, time: 8 min}
products:
  sheet 500: {thickness: 0.8 mm, girth: 500 mm, length: 4 m}
  sheet 330: {thickness: 0.8 mm, girth: 330 mm, length: 3 m}
  ring 330: {thickness: 0.8 mm, girth: 330 mm, sold: coil}
patterns:
  A: {share: 80 %, thickness: 0.8 mm, rings: {sheet 500: 1, sheet 330: 1}, sold_as_coil: 20 %}
  C: {share: 20 %, thickness: 0.8 mm, rings: {ring 330: 2, sheet 330: 1}}
start: empty
"""  # noqa: E501


@pytest.fixture(scope="module")
def made() -> Run:
    """Return a run of two weeks of the line with its trace."""
    return simulate(loads(LINE), seed=5, trace=True)


@pytest.fixture(scope="module")
def plant(made: Run) -> tuple[Scenario, Log]:
    """Return the line and the clean log that its run leaves behind."""
    assert made.trace is not None
    return loads(LINE), log_of(made.trace, loads(LINE))


@pytest.fixture(scope="module")
def day(plant: tuple[Scenario, Log]) -> Day:
    """Return a day of the second week; the store of rings has been full before."""
    return prepare_day(*plant, date(2026, 3, 11))


def test_a_ring_that_was_sold_does_not_lie_in_the_store_every_morning_after(
    plant: tuple[Scenario, Log], day: Day
) -> None:
    stock = plant[1]["stock"]
    before = [
        (time, amount)
        for time, store, amount in zip(stock["time"], stock["store"], stock["amount"], strict=True)
        if store == "rings" and time <= day.begin
    ]
    assert len(day.morning.found.coils["rings"]) == max(before)[1] > 5


def test_a_ring_that_was_sold_is_good_as_it_leaves_the_slitter(made: Run, day: Day) -> None:
    """Half of them are sold under the product's own name: only that later ones were taken before them tells of it."""
    assert made.trace is not None
    own = made.trace.tables["output"]
    left = (own["station"] == "slit") & own["finished"] & (own["time_s"] < 9 * 86_400.0)
    truth = {str(coil) for coil in own["coil"][left]}
    records, before = day.records, day.begin
    sold = [one for one in records.made if one.station == "slit" and records.was_sold("slit", one.coil)]
    assert {one.coil for one in sold if one.time < before} == truth
    assert {one.product for one in sold} == {"ring 330", "sheet 500"}
    assert set(sold) <= set(records.good)
    assert {"ring 330", "sheet 330", "sheet 500"} == {name for name, _ in booked(day).products}


def test_a_ring_came_when_room_was_found_for_it_and_not_at_the_last_stop_of_the_log(day: Day) -> None:
    rings = [one for one in day.records.coils["slit"] if one.parent]
    mothers = [one for one in day.records.coils["slit"] if not one.parent]
    begun = {a.coil: b.start for a, b in zip(mothers, mothers[1:], strict=False)}
    assert all(day.records.came("slit", one) <= begun.get(one.parent, float("inf")) for one in rings)
