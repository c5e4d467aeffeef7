"""Random lines with options, states of the plant now, and records: every clock gives the same bytes.

A hundred of them here, a thousand at night.
"""

from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from line import lines
from line.bytes_of import fingerprint
from line.judging import clocks
from line.odd_cases import odd_case

from twin.line import simulate

A_HUNDRED, A_THOUSAND = (
    settings(
        max_examples=count, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
    )
    for count in (100, 1000)
)
cases = given(lines.any_line(), st.integers(0, 2**32))


def agree(text: str, number: int) -> None:
    """Run one random line every way; what makes no sense as a line is left out."""
    chance = Random(number)
    plant, scripts = odd_case(text, chance)
    trace = chance.random() < 0.25
    found = {}
    for clock in clocks():
        run = simulate(plant, seed=number, run=number % 7, clock=clock, scripts=scripts, trace=trace)
        found[clock] = fingerprint(run.totals) + (fingerprint(run.trace.tables) if run.trace is not None else "")
    assert len(set(found.values())) == 1, found


@A_HUNDRED
@cases
def test_a_hundred_random_lines_with_options_states_and_records_are_the_same_on_every_clock(
    text: str, number: int
) -> None:
    agree(text, number)


@pytest.mark.nightly
@A_THOUSAND
@cases
def test_a_thousand_random_lines_with_options_states_and_records_are_the_same_on_every_clock(
    text: str, number: int
) -> None:
    agree(text, number)
