"""The address of a page says all that the page shows, and an address that cannot be is explained."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.ask import LARGEST_SEED, MOST_RUNS, UNITS, Ask, AskError, address, from_plain, read, to_plain

NAMES = st.text(st.characters(codec="utf-8"), min_size=1, max_size=40)
ASKS = st.builds(
    Ask,
    plant=NAMES,
    options=st.lists(NAMES, max_size=4, unique=True).map(tuple),
    runs=st.integers(1, MOST_RUNS),
    seed=st.integers(0, LARGEST_SEED),
    units=st.sampled_from(sorted(UNITS)),
    day=st.dates().map(str) | st.just(""),
)


@given(ASKS)
def test_an_address_asks_what_it_was_made_from(ask: Ask) -> None:
    assert read(address(ask)) == ask


@given(ASKS)
def test_a_page_can_hold_its_question_as_plain_data(ask: Ask) -> None:
    assert from_plain(to_plain(ask)) == ask


def test_an_empty_address_asks_for_the_usual() -> None:
    assert read("") == read(None) == Ask()


def test_an_address_is_an_ordinary_query() -> None:
    """WHATWG URL, section 5.2, application/x-www-form-urlencoded: a blank is a plus, a name may come twice."""
    assert address(Ask(plant="demo z", options=("a+b", "c"))) == (
        "?plant=demo+z&options=a%2Bb&options=c&runs=20&seed=2026&units=t"
    )


@pytest.mark.parametrize(
    ("search", "part"),
    [
        ("?runs=many", "runs is 'many': give a whole number from 1 to"),
        ("?runs=0", "runs is '0'"),
        ("?runs=1000000", "runs is"),
        ("?seed=-1", "seed is '-1'"),
        ("?seed=1.5", "seed is"),
        ("?units=stone", "units are 'stone': write t or us"),
        ("?day=yesterday", "day is 'yesterday': write it like 2026-03-03"),
        ("?day=2026-02-30", "day is '2026-02-30'"),
    ],
)
def test_an_address_that_cannot_be_is_explained(search: str, part: str) -> None:
    with pytest.raises(AskError, match=": ") as caught:
        read(search)
    assert part in str(caught.value)


def test_the_units_do_not_change_the_question() -> None:
    assert Ask(units="t").mark == Ask(units="us").mark
    assert Ask(seed=1).mark != Ask(seed=2).mark
