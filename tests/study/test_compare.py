"""Options beside today: exact gains of small lines, honest errors, the promised choice, the fixed results."""

import json
from pathlib import Path

import numpy as np
import pytest
from study_texts import MILL_AND_SLITTER, TANDEM, TWO_EQUAL_LIMITS

from twin.indicators.intervals import Interval
from twin.scenario import ScenarioError, load, loads
from twin.study.advice import _as_much, _more_runs, how_sure, verdict_parts
from twin.study.compare import Asked, Comparison, compare, read_options
from twin.study.compared import compared
from twin.study.inputs import read_inputs
from twin.study.maker import Maker, weekly
from twin.study.people import crews, open_h
from twin.study.race import Race, looks
from twin.study.selection import select_best
from twin.study.statistics import mean_interval
from twin.study.uncertain import vary_of

ROOT = Path(__file__).parents[2]
HERE = Maker(workers=1)
WEEK = 168.0

# Two stations with one place between, exponential times, always a coil ready. With equal paces of 1 the output is 3/4,
# with the second twice as fast 14/15 (F. S. Hillier, R. W. Boling, Operations Research 15 (1967), from memory).
PAIR = """
passline: 1
name: Two stations
metal: zinc
time: {warm_up: 50 h, length: 400 h}
stores:
  ready: {holds: coils, capacity: 1}
  gap:   {holds: coils, capacity: 1}
  done:  {holds: coils}
stations:
  supply: {kind: supply, to: ready, coil: {mass: 1 t, width: 1000 mm, thickness: 0.7 mm}}
  first:  {kind: step, from: ready, to: gap, time: {exponential: {mean: 1 h}}}
  second: {kind: step, from: gap, to: done, time: {exponential: {mean: 1 h}}}
options:
  quick second: {set: {stations.second.time: {exponential: {mean: 30 min}}}, capex: 100 kEUR, yearly: 10 kEUR}
  late quick:   {set: {stations.second.time: {exponential: {mean: 30 min}}}, capex: 50 kEUR, starts_after: 1 year}
  more room:    {set: {stores.gap.capacity: 2}, yearly: 1 kEUR}
  slow second:  {set: {stations.second.time: {exponential: {mean: 2 h}}}}
money: {currency: EUR, weeks_per_year: 50, rate: 8 %, years: 5, contribution: {coil: 10 EUR/t}}
"""

SLOW = "options: {slow second: {set: {stations.second.time: {exponential: {mean: 2 h}}}}}"

# A slitter that is no limit: coils come at random, once in 100 min on average, and take an hour each.
QUEUE = """
passline: 1
name: A slitter with hours to spare
metal: zinc
time: {warm_up: 100 h, length: 400 h}
stores: {queue: {holds: coils}, done: {holds: coils}}
stations:
  supply:
    kind: supply
    to: queue
    every: {exponential: {mean: 100 min}}
    coil: {mass: 1 t, width: 1 m, thickness: 1 mm}
  slitter: {kind: step, from: queue, to: done, time: {exponential: {mean: 1 h}}}
options:
  second slitter: {set: {stations.slitter.machines: 2}}
"""

MILL_FIRST = (
    MILL_AND_SLITTER
    + """
options:
  second slitter: {set: {stations.slitter.machines: 2}, capex: 3000 kEUR}
money: {currency: EUR, contribution: {coil: 100 EUR/t}}
"""
)


def compared_on(text: str, *options: str, runs: int = 10, seed: int = 2026, limits: bool = False) -> Comparison:
    """Return options of a scenario beside today, without more runs than asked."""
    line = loads(text)
    asked = Asked(read_options(line, options), runs=runs, most=runs, with_limits=limits)
    return compare(line, asked, Maker(seed=seed, workers=1))


# Known truth


def test_a_faster_station_brings_what_theory_says() -> None:
    found = compared_on(PAIR, "quick second", runs=40)
    change = found.rows[1].change
    assert change is not None and change.half is not None
    exact = WEEK * (14 / 15 - 3 / 4)

    assert change.mean == pytest.approx(exact, abs=1.4 * change.half)  # 99 % of the t interval is 1.34 times its 95 %
    assert change.half < 0.1 * exact


def test_three_stations_gain_what_theory_says_from_places_between_them() -> None:
    """22/39 without room, 8529/12721 with a place in each gap (Hillier and Boling 1967, from memory)."""
    text = TANDEM.replace(
        "  room: ", "  both gaps:   {set: {stores.first gap.capacity: 1, stores.second gap.capacity: 1}}\n  room: "
    )
    change = compared_on(text, "both gaps", runs=40).rows[1].change
    assert change is not None and change.half is not None

    assert change.mean == pytest.approx(WEEK * (8529 / 12721 - 22 / 39), abs=1.4 * change.half)


def test_a_second_slitter_shortens_the_wait_where_it_stands_alone() -> None:
    """Poisson 0.9/h, exponential mean 1 h: waits 9 h with one machine, 0.253918 h with two (any text, M/M/c)."""
    text = QUEUE.replace("mean: 100 min", "mean: 66.6666666666667 min").replace(
        "warm_up: 100 h, length: 400 h", "warm_up: 1000 h, length: 60000 h"
    )
    results = compared(compared_on(text, "second slitter", runs=6))
    one, two = (row["lead_time"] for row in results["rows"])

    assert two["mean"] - 1.0 == pytest.approx(0.253918, rel=0.03)
    assert one["low"] - 0.5 < 10.0 < one["high"] + 0.5
    assert one["mean"] == pytest.approx(10.0, rel=0.05)


def test_behind_a_slower_mill_a_second_slitter_brings_nothing_and_the_verdict_says_why() -> None:
    """Mill 5 min, slitter 4 min, both constant: one coil in 5 min either way."""
    found = compared_on(MILL_FIRST, "second slitter", runs=3, limits=True)
    results = compared(found)
    row = results["rows"][1]

    assert row["change"]["mean"] == 0.0
    assert row["payback"]["mean"] is None
    assert row["p_pays_back"] == 0.0
    assert row["limits"] == {"mill": 1.0}
    assert results["verdict"] == "No: it adds 0\u00a0±\u00a00\u00a0t/week, because the mill still holds the line."


def test_a_machine_that_is_no_limit_is_called_worthless_nineteen_times_in_twenty() -> None:
    """The true gain is 0: what comes in goes out. So the 95 % interval must hold 0 in about 95 of 100 studies."""
    line = loads(QUEUE)
    asked = Asked(read_options(line, ["second slitter"]), runs=6, most=6, with_limits=False)
    holds = 0
    for seed in range(120):
        change = compare(line, asked, Maker(seed=seed, workers=1)).rows[1].change
        assert change is not None and change.low is not None and change.high is not None
        holds += change.low <= 0.0 <= change.high

    assert 105 <= holds <= 120  # 114 expected, standard deviation 2.4


def test_intervals_of_changes_cover_the_exact_change() -> None:
    exact, covered = WEEK * (14 / 15 - 3 / 4), 0
    line = loads(PAIR)
    asked = Asked(read_options(line, ["quick second"]), runs=6, most=6, with_limits=False)
    for seed in range(120):
        change = compare(line, asked, Maker(seed=seed, workers=1)).rows[1].change
        assert change is not None and change.low is not None and change.high is not None
        covered += change.low <= exact <= change.high

    assert 105 <= covered <= 120


def test_the_same_days_make_the_change_narrower_than_other_days_would() -> None:
    found = compared_on(PAIR, "more room", runs=20)
    today, more = weekly(found.rows[0].made), weekly(found.rows[1].made)
    paired = mean_interval(more - today).half
    apart = mean_interval(more - np.roll(today, 1)).half
    assert paired is not None and apart is not None

    assert paired < 0.7 * apart


# The choice


def test_the_race_is_the_procedure_that_takes_runs_one_by_one() -> None:
    for repeat in range(60):
        dice = np.random.default_rng([4, repeat])
        runs = dice.normal(size=(5, 300)) + dice.normal(size=300) + np.array([0.0, 0.1, 0.3, 1.0, 0.2])[:, None]
        alone = select_best(lambda i, run, runs=runs: float(runs[i, run]), 5, difference=0.5, most_runs=300)  # type: ignore[misc]
        race, count = Race(0.5), 10
        while len(race.look([one[:count] for one in runs])) > 1:
            count += 13

        assert race.left == [alone.best]


def test_the_choice_is_right_as_often_as_promised() -> None:
    """A thousand races of five designs, the best ahead by just the difference worth finding, common luck in each run:
    S.-H. Kim and B. L. Nelson, ACM TOMACS 11 (2001), promise 95 %."""
    right = 0
    for repeat in range(1000):
        dice = np.random.default_rng([6, repeat])
        runs = dice.normal(size=(5, 300)) + dice.normal(size=300)
        runs[2] += 1.0
        race, count = Race(1.0), 20
        while len(race.look([one[:count] for one in runs])) > 1 and count < 300:
            count += 20
        right += race.left == [2]

    assert right >= 937  # 950 expected at worst; 937 is two standard deviations below


def test_a_race_of_one_is_won_and_one_run_decides_nothing() -> None:
    assert Race(1.0).look([np.array([1.0, 2.0])]) == [0]
    assert Race(1.0).look([np.array([1.0]), np.array([9.0])]) == [0, 1]
    with pytest.raises(ValueError, match="above 0"):
        Race(0.0).look([np.array([1.0, 2.0]), np.array([2.0, 3.0])])


def test_runs_go_on_until_the_best_is_sure_and_only_for_what_may_be_the_best() -> None:
    """Twice the speed for 35 kEUR is a little better than another place for 1 kEUR a year, but runs of 100 h show it
    slowly; half the speed is out after the first runs."""
    line = loads(
        PAIR.replace("length: 400 h", "length: 100 h").replace("capex: 100 kEUR, yearly: 10 kEUR", "capex: 35 kEUR")
    )
    options = read_options(line, ["quick second", "more room", "slow second"])
    found = compare(line, Asked(options, runs=20, most=200, with_limits=False), HERE)
    runs = [row.made.runs for row in found.rows]

    assert found.decided
    assert found.best.options == ("quick second",)
    assert runs[3] == 20 < runs[1]
    assert sum(row.best for row in found.rows) == pytest.approx(1.0)


# Money in rows


def test_what_comes_later_earns_later_and_a_sum_counts_its_parts_by_their_time() -> None:
    found = compared_on(PAIR, "quick second", "late quick", "late quick + more room", runs=10)
    soon, late, both = (row.worth for row in found.rows[1:])
    assert soon is not None and late is not None and both is not None

    assert soon.earned.mean == pytest.approx(late.earned.mean)
    assert soon.earned.mean == pytest.approx(10.0 * WEEK * (14 / 15 - 3 / 4), rel=0.1)
    assert late.flows[1:13].sum() == pytest.approx(0.0, abs=1.0)
    assert frozenset({"more room"}) in found.made  # what works while the machine is on its way
    assert both.purchase.stages[0].options == ("more room",)


def test_the_results_have_the_fixed_keys() -> None:
    results = json.loads(json.dumps(compared(compared_on(PAIR, "quick second", runs=4, limits=True))))
    today, row = results["rows"]

    assert {"passline", "scenario", "seed", "runs", "verdict", "rows"} <= set(results)
    assert (results["passline"], results["scenario"], results["seed"], results["runs"]) == (1, "Two stations", 2026, 4)
    wanted = {"options", "good", "change", "limits", "wip", "lead_time", "contribution", "capex", "yearly", "npv"}
    assert wanted | {"payback", "p_pays_back"} <= set(row) == set(today)
    assert (today["options"], today["change"], today["npv"], today["payback"]) == ([], None, None, None)
    assert row["options"] == ["quick second"]
    for key, unit in (("good", "t/week"), ("change", "t/week"), ("contribution", "kEUR/week"), ("payback", "years")):
        assert set(row[key]) >= {"mean", "low", "high", "unit"}
        assert row[key]["unit"] == unit
    assert row["capex"]["mean"] == 100.0
    assert set(row["npv"]["quantiles"]) == {"0.1", "0.5", "0.9"}
    assert 0.0 <= row["p_pays_back"] <= 1.0
    assert all(0.0 <= chance <= 1.0 for chance in row["limits"].values())
    assert sum(row["limits"].values()) <= 1.0 + 1e-9


def test_without_money_the_answer_is_in_tonnes() -> None:
    results = compared(compared_on(PAIR[: PAIR.index("options:")] + SLOW, "slow second", runs=4))

    assert results["rows"][1]["npv"] is None
    assert results["verdict"].startswith("It adds −")


def test_the_numbers_do_not_depend_on_who_makes_the_runs() -> None:
    line = loads(PAIR)
    asked = Asked(read_options(line, ["quick second", "more room"]), runs=6, most=6)
    one, two = (json.dumps(compared(compare(line, asked, Maker(workers=workers)))) for workers in (1, 2))

    assert one == two


def test_stopping_keeps_what_was_made() -> None:
    line = loads(PAIR)
    seen: list[int] = []
    asked = Asked(read_options(line, ["quick second"]), runs=400, most=400)
    found = compare(line, asked, Maker(workers=1, tell=lambda step: seen.append(step.done), stop=lambda: len(seen) > 2))

    assert found.stopped
    assert 0 < found.today.made.runs < 400
    assert compared(found)["stopped"]


# What is said


def test_the_sentence_names_the_pair_and_its_cheap_twin() -> None:
    """Two equal steps; a machine for either, or extra hours for either: the machine alone is no help, with hours at the
    other step it is, and hours at both do the same for less."""
    text = (
        TWO_EQUAL_LIMITS
        + """
options:
  new machine:  {set: {stations.second.time: 8 min}, capex: 3400 kEUR, yearly: 20 kEUR}
  extra hours:  {set: {stations.second.time: 8.05 min}, capex: 20 kEUR, yearly: 60 kEUR}
  first faster: {set: {stations.first.time: 8 min}, capex: 25 kEUR, yearly: 10 kEUR}
money: {currency: EUR, weeks_per_year: 50, rate: 9 %, years: 10, contribution: {coil: 100 EUR/t}}
"""
    )
    sums = ("new machine", "new machine + first faster", "extra hours + first faster")
    results = compared(compared_on(text, *sums, runs=3, limits=True))

    assert results["question"] == "New machine: does it pay?"
    assert results["verdict"].replace("\u00a0", " ").replace("\u202f", " ") == (
        "Not alone: it adds 0 ± 0 t/week, because the first then holds the line. With first faster it adds 252 ± 0; "
        "extra hours + first faster adds as much or more for 45 kEUR instead of 3 425."
    )
    assert any(part.strong for part in verdict_parts(results))
    assert "3 simulated runs" in how_sure(results).replace("\u00a0", " ")


def test_nonsense_is_refused_with_a_reason() -> None:
    line = loads(PAIR)
    with pytest.raises(ScenarioError, match="there is no option 'quick secnd'"):
        read_options(line, ["quick secnd"])
    with pytest.raises(ScenarioError, match="to different values"):
        read_options(line, ["quick second + slow second"])
    poor = loads(
        PAIR.replace("contribution: {coil: 10 EUR/t}", "contribution: {coil: 10 EUR/t}, demand: {coil: 50 t/week}")
    )
    with pytest.raises(ScenarioError, match="50 t/week of coil can be sold, but the line makes 1"):
        compare(poor, Asked((("quick second",),), runs=4, most=4), HERE)


def test_options_are_read_in_their_order_and_once() -> None:
    line = loads(PAIR)

    assert read_options(line, []) == (("quick second",), ("late quick",), ("more room",), ("slow second",))
    assert read_options(line, ["more room + quick second", "quick second + more room", "more room"]) == (
        ("more room", "quick second"),
        ("more room",),
    )


# People


def test_crews_are_counted_from_hours_and_machines() -> None:
    """73.3 and 36.7 net hours of the two calendars (the plant's own balance); a crew is 40 h, breaks included."""
    plant = load(ROOT / "scenarios" / "hollin_weir.yaml")
    found = crews(plant).by_place

    assert open_h(plant, "two shifts") == pytest.approx(73.3, abs=0.05)
    assert open_h(plant, "day shift") == pytest.approx(36.7, abs=0.05)
    assert (found["slitter"], found["mill"], found["mill roll shop"]) == (2.0, 3.0, 1.0)
    assert found["caster"] == pytest.approx(4.2)


# The plants


@pytest.mark.slow
def test_the_demo_plant_shows_two_limits_at_the_same_tonnage() -> None:
    """What the plant was made for: each cure alone brings nearly nothing, two together a fifth more, and night shift
    with roll-shop shift do what the machine does for a small part of its price."""
    plant = load(ROOT / "scenarios" / "hollin_weir.yaml")
    sums = [
        "second slitter",
        "slitter night shift",
        "roll-shop second shift",
        "second slitter + roll-shop second shift",
        "slitter night shift + roll-shop second shift",
        "off-line arbor",
        "off-line arbor + roll-shop second shift",
        "two more roll sets",
        "second slitter + campaign 75 km",
        "slitter night shift + campaign 75 km",
    ]
    results = compared(compare(plant, Asked(read_options(plant, sums), runs=10, most=20), Maker()))
    rows = {" + ".join(row["options"]): row for row in results["rows"]}
    today = rows[""]["good"]["mean"]

    def change(name: str) -> float:
        return float(rows[name]["change"]["mean"] / today)

    assert 590 < today < 660
    for alone in (
        "second slitter",
        "slitter night shift",
        "roll-shop second shift",
        "off-line arbor",
        "two more roll sets",
    ):
        assert -0.03 < change(alone) < 0.06
    for pair in ("second slitter + roll-shop second shift", "slitter night shift + roll-shop second shift"):
        assert 0.18 < change(pair) < 0.32
    assert 0.08 < change("off-line arbor + roll-shop second shift") < 0.2
    assert 0.1 < change("slitter night shift + campaign 75 km") < 0.25
    assert rows["second slitter"]["npv"]["mean"] < -3000
    assert "Not alone" in results["verdict"]
    assert "slitter night shift + roll-shop second shift" in results["verdict"]


@pytest.mark.slow
def test_in_the_other_plant_machine_and_shift_are_the_same_and_the_casters_limit_next() -> None:
    plant = load(ROOT / "scenarios" / "marram.yaml")
    asked = Asked(read_options(plant, ["second slitter", "slitter second shift"]), runs=8, most=8)
    results = compared(compare(plant, asked, Maker()))
    today, machine, shift = results["rows"]

    assert machine["change"]["mean"] == pytest.approx(shift["change"]["mean"], abs=0.02 * today["good"]["mean"])
    assert machine["change"]["low"] > 0.05 * today["good"]["mean"]
    assert max(today["limits"], key=today["limits"].get) == "slitter"
    assert max(shift["limits"], key=shift["limits"].get) == "casters"


@pytest.mark.parametrize(("runs", "at"), [(3, [3]), (20, [20]), (60, [16, 60]), (200, [16, 64, 200])])
def test_a_long_comparison_is_looked_at_on_its_way(runs: int, at: list[int]) -> None:
    """Four times as many runs halve an interval, so that each look is worth its drawing."""
    assert looks(4, runs) == at


def test_no_number_of_runs_is_said_to_tell_where_the_plant_is_not_known() -> None:
    """However many runs are made, what is not known of the plant is left (the split of variance says how much)."""
    plant = loads(
        PAIR.replace("1 h}}}\n  second", "1 h}}, failures: [{reason: jam, every: 20 h, repair: 1 h}]}\n  second")
    )
    known = read_inputs(plant)
    asked = Asked((("quick second",), ("more room",)), runs=8, most=8, with_limits=False)
    varied = compare(plant, asked, Maker(workers=1, vary=vary_of(known)))
    best = compare(plant, asked, HERE)

    assert {row.made.group for row in varied.rows} == {2}
    assert _more_runs(varied.rows[1]) is None
    assert _more_runs(best.rows[1]) is not None


@pytest.mark.parametrize(("low", "runs", "named"), [(-400.0, 4, False), (-400.0, 60, True), (-1.0, 4, True)])
def test_in_a_first_look_nothing_is_said_to_do_as_well_by_luck(low: float, runs: int, named: bool) -> None:
    assert _as_much(Interval(40.0, low, 480.0), 12.0, runs) is named
