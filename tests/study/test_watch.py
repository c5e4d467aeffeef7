"""Runs of days watched for a lasting change: the published run lengths of cumulative sums."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ndtr

from twin.study.watch import watch
from twin.study.watchlimits import limit_for, one_sided, run_length

# J. M. Lucas, R. B. Crosier, Technometrics 24 (1982) 199-205, table 1: two-sided, slack 0.5, limit 4 (as printed again
# in the manual of the package spc for R, S. Knoth)
TWO_SIDED = {
    0.0: "168", 0.25: "74.2", 0.5: "26.6", 0.75: "13.3", 1.0: "8.38", 1.5: "4.75", 2.0: "3.34", 2.5: "2.62",
    3.0: "2.19", 4.0: "1.71", 5.0: "1.31",
}  # fmt: skip
# L. C. Vance, Journal of Quality Technology 18 (1986) 189-193, table 1: one-sided, slack 0, limit 10 (ibidem)
ONE_SIDED = {
    -0.125: "400.28", 0.0: "124.66", 0.125: "59.30", 0.25: "36.71", 0.5: "20.37", 0.75: "14.06", 1.0: "10.75",
}  # fmt: skip


def rounding(printed: str) -> float:
    """Return half a unit of the last digit of a printed number."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


@pytest.mark.parametrize(("shift", "printed"), TWO_SIDED.items())
def test_two_sided_run_lengths_are_those_of_lucas_and_crosier(shift: float, printed: str) -> None:
    assert run_length(0.5, 4.0, shift) == pytest.approx(float(printed), abs=rounding(printed))


@pytest.mark.parametrize(("shift", "printed"), ONE_SIDED.items())
def test_one_sided_run_lengths_are_those_of_vance(shift: float, printed: str) -> None:
    assert one_sided(0.0, 10.0, shift) == pytest.approx(float(printed), abs=rounding(printed) * 1.01)


@pytest.mark.parametrize(("shift", "printed"), [(-0.5, "1963"), (0.0, "117.6"), (0.5, "17.35"), (1.5, "3.75")])
def test_one_sided_run_lengths_are_those_of_waldmann(shift: float, printed: str) -> None:
    """K.-H. Waldmann, Technometrics 28 (1986) 61-67 (1963; 17.35), and Brook and Evans 1972 (117.59; 3.75)."""
    assert one_sided(0.5, 3.0, shift) == pytest.approx(float(printed), abs=rounding(printed))


@pytest.mark.parametrize(("slack", "limit"), [(0.25, 8.01), (0.5, 4.77), (0.75, 3.34), (1.0, 2.52), (1.5, 1.61)])
def test_limits_for_a_false_alarm_in_370_days_are_those_of_hawkins(slack: float, limit: float) -> None:
    """D. M. Hawkins, Journal of Quality Technology 25 (1993) 248-261, table for a run length of 370 (from memory)."""
    assert limit_for(slack, 370.0) == pytest.approx(limit, abs=0.015)


def sums_until_alarm(shift: float, runs: int, days: int) -> NDArray[np.float64]:
    """Return after how many days each of many sums, written down anew, passes the limit of one false alarm a year."""
    scores = np.random.default_rng(31).normal(shift, 1.0, size=(runs, days))
    limit, up, down = limit_for(0.5, 250.0), np.zeros(runs), np.zeros(runs)
    ended = np.full(runs, np.inf)
    for day in range(days):
        up, down = np.maximum(0.0, up + scores[:, day] - 0.5), np.maximum(0.0, down - scores[:, day] - 0.5)
        ended = np.where(np.isinf(ended) & (np.maximum(up, down) > limit), day + 1.0, ended)
    return ended


def test_a_shift_of_one_sd_is_found_in_twelve_days_at_one_false_alarm_a_year() -> None:
    found = sums_until_alarm(1.0, runs=4000, days=200)

    assert np.isfinite(found).all()
    assert found.mean() <= 12.0
    assert found.mean() == pytest.approx(run_length(0.5, limit_for(0.5, 250.0), 1.0), abs=4 * found.std() / 4000**0.5)


def test_without_change_false_alarms_come_once_a_year() -> None:
    ended = sums_until_alarm(0.0, runs=1500, days=2500)

    assert np.minimum(ended, 2500.0).mean() == pytest.approx(250.0, abs=4 * 250.0 / 1500**0.5)


def positions(seed: int, quiet: int, changed: int, shift: float) -> list[float]:
    """Return positions of days of which the last ones are shifted."""
    scores = np.random.default_rng(seed).normal(size=quiet + changed)
    return [float(p) for p in ndtr(scores + shift * (np.arange(quiet + changed) >= quiet))]


def test_an_alarm_says_since_when_how_much_and_when_it_was_noticed() -> None:
    own = watch(positions(4, 60, 14, -1.5), days=[f"day {i}" for i in range(74)])
    alarm = own.alarms[-1]

    assert (own.state, own.side) == ("alarm", "low")
    assert alarm.since_index == pytest.approx(60, abs=3)
    assert alarm.shift_sd == pytest.approx(-1.5, abs=1.0)
    assert own.words.startswith(f"Since about day {alarm.since_index} the days give less than forecast")
    assert own.words.endswith(f"noticed on day {own.alarms[0].index}.")


def test_a_change_that_goes_on_keeps_its_beginning() -> None:
    own = watch(positions(4, 60, 60, -1.5))

    assert len(own.alarms) > 3
    assert len({(alarm.since_index, alarm.first_day) for alarm in own.alarms}) == 1
    assert own.words.endswith(f"noticed on {own.alarms[0].day}.")
    assert own.alarms[-1].shift_sd == pytest.approx(-1.5, abs=4 / 60**0.5)


def test_the_days_turned_upside_down_give_the_alarms_upside_down() -> None:
    places = positions(9, 40, 30, 1.2)
    one, other = watch(places), watch([1.0 - p for p in places])

    assert one.up == pytest.approx(other.down)
    assert [alarm.index for alarm in one.alarms] == [alarm.index for alarm in other.alarms]
    assert {alarm.side for alarm in one.alarms} == {"high"}


def test_quiet_days_are_said_to_be_quiet_with_what_would_be_noticed() -> None:
    own = watch([0.5, 0.4, 0.6, 0.55])

    assert own.state == "quiet"
    assert own.words == (
        "No lasting change is seen. A lasting change as large as a day's ordinary scatter is noticed after 9 days on "
        "average; a false alarm comes once in 250 days."
    )


def test_days_that_lean_are_no_alarm_yet() -> None:
    own = watch([0.5, 0.08, 0.06, 0.1])

    assert (own.state, own.side, own.alarms) == ("leaning", "low", ())
    assert "no more than happens by chance" in own.words


def test_before_the_first_day_nothing_is_known() -> None:
    assert watch([]).state == "quiet"


def test_rarer_false_alarms_find_later() -> None:
    assert watch([], false_alarm_days=1000.0).finds_in_days > watch([], false_alarm_days=100.0).finds_in_days


def test_forecasts_that_are_too_narrow_bring_more_false_alarms() -> None:
    """If the days are spread a fifth wider than forecast, a false alarm comes three times a year."""
    limit = limit_for(0.5, 250.0)

    assert run_length(0.5, limit, spread=1.2) < 250.0 / 3.0 < run_length(0.5, limit, spread=1.1)


def test_what_cannot_be_watched_is_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        watch([0.5, 1.2])
    with pytest.raises(ValueError, match="2 positions and 1 names"):
        watch([0.5, 0.2], days=["Monday"])
    with pytest.raises(ValueError, match="give 2 to"):
        watch([0.5], false_alarm_days=0.5)
    with pytest.raises(ValueError, match="larger slack"):
        limit_for(0.001, 1e6)
