"""Where another choice becomes the better one, and which pairs are proposed, on lines whose answer is known."""

import pytest
from study_texts import QUICK_TWINS

from twin.scenario import loads
from twin.study.advice import advice
from twin.study.compare import Asked, compare, read_options
from twin.study.maker import Maker
from twin.study.propose import proposed
from twin.study.told import threshold_words
from twin.study.turning import plain_turns, turning

HERE = Maker(workers=1)

# A slitter with a setup of 60 min after each 4 coils of 60 min: 4 coils in 5 h. Another hour for setups costs nothing,
# the quick setup costs 30 kEUR a year.
SLITTING = """
passline: 1
name: A slitter and its setups
metal: zinc
time: {warm_up: 20 h, length: 400 h}
stores: {ready: {holds: coils, capacity: 8}, rings: {holds: coils}}
stations:
  supply:  {kind: supply, to: ready, coil: {mass: 1 t, width: 1000 mm, thickness: 0.7 mm}}
  slitter:
    kind: slitter
    from: ready
    to: rings
    speed: 100 m/min
    thread: 51.5 min
    setup: 60 min
    coils_per_pattern: 4 coils
products:
  ring 1: {thickness: 0.7 mm, girth: 300 mm, sold: coil}
  ring 2: {thickness: 0.7 mm, girth: 400 mm, sold: coil}
patterns:
  A: {share: 50 %, thickness: 0.7 mm, rings: {ring 1: 3}}
  B: {share: 50 %, thickness: 0.7 mm, rings: {ring 2: 2}}
options:
  quick setup: {set: {stations.slitter.setup.time: 30 min}, yearly: 6 kEUR}
  more speed:  {set: {stations.slitter.thread: 40 min}, yearly: 20 kEUR}
money: {currency: EUR, weeks_per_year: 50, rate: 0 %, years: 5, contribution: {coil: 20 EUR/t}}
"""


def test_shorter_runs_turn_the_advice_to_the_quick_setup() -> None:
    """With setups twice as often, or twice as long, the quick setup gains more; in between lies the gate."""
    line = loads(SLITTING)
    found = compare(line, Asked(read_options(line, ["quick setup", "more speed"]), runs=6, most=6), HERE)
    told = advice(found)
    assert told is not None
    turns = plain_turns(turning(found, told, HERE))
    best = found.rows[told.best].options

    for turn in turns:
        assert turn["what"].startswith("slitter: ")
        assert turn["stops"] == ("below" if turn["gate"] < turn["now"] else "above")
        assert turn["rival"] not in best
        condition, consequence = threshold_words(turn)
        assert condition.startswith("Slitter: ")
        assert "is worth more" in consequence
    assert turns, "with setups that matter half or twice as much, the other choice must be better somewhere"


def test_the_gate_is_where_both_are_worth_the_same() -> None:
    line = loads(SLITTING)
    found = compare(line, Asked(read_options(line, ["quick setup", "more speed"]), runs=6, most=6), HERE)
    told = advice(found)
    assert told is not None
    for turn in turning(found, told, HERE):
        if turn.what == "slitter: coils a pattern":
            text = SLITTING.replace("coils_per_pattern: 4 coils", f"coils_per_pattern: {turn.gate:.4f} coils")
            there = loads(text)
            again = compare(there, Asked(read_options(there, ["quick setup", "more speed"]), runs=6, most=6), HERE)
            one, other = (row.worth for row in again.rows[1:])
            assert one is not None and other is not None
            scale = abs(found.rows[told.best].worth.value.mean)  # type: ignore[union-attr]
            assert one.value.mean == pytest.approx(other.value.mean, abs=0.35 * scale)


def test_only_pairs_that_help_are_proposed() -> None:
    """Two equal steps: quick ones at both add, quick ones at one add nothing, a third option is no help to either."""
    text = QUICK_TWINS + "  more room: {set: {stores.gap.capacity: 9}}\n"
    found = proposed(loads(text), Asked((), runs=4, most=4), HERE)

    assert [row.options for row in found.rows[4:]] == [("quick first", "quick second")]
