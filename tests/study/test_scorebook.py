"""The book of forecasts: frozen before the day, scored after it, summed up in words."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from twin.store import Store
from twin.study.scorebook import Forecast, Frozen, Scorebook, Settled
from twin.study.scoresummary import Summary, summary, summary_json

FIRST = datetime(2026, 3, 2, 6, tzinfo=UTC)
RUNS = tuple(float(t) for t in range(1, 100))


@dataclass
class Desk:
    """A book with a clock that the tests set."""

    store: Store
    now: datetime = FIRST
    book: Scorebook = field(init=False)

    def __post_init__(self) -> None:
        self.book = Scorebook(self.store, "A line", now=lambda: self.now)

    def freeze(self, day: int, runs: tuple[float, ...] = RUNS, hours_before: float = 8.0) -> Frozen:
        """Freeze the forecast of a day, counted from 0."""
        begin = FIRST + timedelta(days=day)
        self.now = begin - timedelta(hours=hours_before)
        forecast = Forecast(name(day), begin.timestamp(), begin.timestamp() + 86400.0, runs, "ab" * 32, 7, 0.0)
        return self.book.freeze(forecast)

    def settle(self, day: int, actual_t: float) -> Settled | None:
        """Enter an outcome half an hour after the day."""
        self.now = FIRST + timedelta(days=day + 1, minutes=30)
        return self.book.settle(name(day), actual_t, "cd" * 32)


def name(day: int) -> str:
    """Return the name of a day, counted from 0."""
    return (date(2026, 3, 2) + timedelta(days=day)).isoformat()


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """Return an empty book."""
    store = Store(f"sqlite:///{tmp_path / 'book.db'}")
    yield Desk(store)
    store.close()


def test_a_forecast_is_frozen_with_what_made_it(desk: Desk) -> None:
    frozen = desk.freeze(0)

    assert frozen == desk.book.frozen(name(0))
    assert (frozen.forecast.sample_t, frozen.forecast.digest, frozen.forecast.seed) == (RUNS, "ab" * 32, 7)
    assert frozen.in_time
    assert frozen.quantiles_t == pytest.approx((5.0, 25.0, 50.0, 75.0, 95.0))
    assert frozen.band_t == pytest.approx((5.0, 95.0), abs=1.0)  # a little wider: its spread is not known yet
    assert len(frozen.seal) == 64


def test_a_day_is_scored_after_it(desk: Desk) -> None:
    desk.freeze(0)
    settled = desk.settle(0, 16.5)

    assert settled is not None
    assert settled.place.words == "an ordinary bad day, one in six"
    assert settled.inside == (False, True, True)
    assert settled.position == pytest.approx(0.165, abs=0.005)
    assert settled.corrected == 0
    assert desk.book.days() == (settled,)


def test_a_forecast_made_after_the_day_began_is_marked_and_does_not_count(desk: Desk) -> None:
    late = desk.freeze(0, hours_before=-0.01)
    desk.settle(0, 50.0)

    assert not late.in_time
    assert desk.book.days() == ()
    assert [own.frozen for own in desk.book.days(False)] == [late]
    assert summary(desk.book).words == "No day is scored yet; the forecasts of 1 day came too late to count."


def test_of_several_forecasts_the_last_made_in_time_counts(desk: Desk) -> None:
    desk.freeze(0, hours_before=30.0)
    counting = desk.freeze(0, tuple(2.0 * t for t in RUNS), hours_before=8.0)
    desk.freeze(0, tuple(3.0 * t for t in RUNS), hours_before=-2.0)
    settled = desk.settle(0, 50.0)

    assert settled is not None
    assert settled.frozen == counting
    assert len(desk.store.book("A line", "forecast")) == 3


def test_an_outcome_that_is_put_right_holds_and_the_first_stays_in_the_book(desk: Desk) -> None:
    desk.freeze(0)
    desk.settle(0, 50.0)
    desk.settle(0, 50.0)
    settled = desk.settle(0, 60.0)

    assert settled is not None
    assert (settled.actual_t, settled.corrected) == (60.0, 1)
    assert [entry.body["actual_t"] for entry in desk.store.book("A line", "outcome")] == [50.0, 60.0]


def test_an_outcome_without_a_forecast_is_kept_for_the_naive_forecasts(desk: Desk) -> None:
    assert desk.settle(0, 50.0) is None
    assert desk.book.outcomes() == {name(0): 50.0}


def test_days_that_are_not_over_wait(desk: Desk) -> None:
    desk.freeze(0)
    desk.freeze(1)
    desk.settle(0, 50.0)

    assert [own.forecast.day for own in desk.book.waiting()] == [name(1)]


def test_a_forecast_of_too_few_runs_is_refused(desk: Desk) -> None:
    with pytest.raises(ValueError, match="has 18 runs.*at least 19: make more runs"):
        desk.freeze(0, RUNS[:18])


def test_the_band_that_keeps_its_share_is_frozen_with_the_forecast(desk: Desk) -> None:
    """After a day below it the low end goes further out; what was said of earlier days stays."""
    first = desk.freeze(0)
    desk.settle(0, 0.5)
    second = desk.freeze(1)

    assert second.band_t[0] < first.band_t[0]
    assert desk.book.frozen(name(0)) == first


def test_a_day_with_nothing_to_forecast_is_not_counted(desk: Desk) -> None:
    desk.freeze(0, (0.0,) * 30)
    desk.settle(0, 0.0)

    assert desk.book.days()[0].idle
    assert summary(desk.book).days == ()


def test_a_book_that_was_changed_is_not_believed(desk: Desk, tmp_path: Path) -> None:
    import sqlite3

    desk.freeze(0)
    desk.settle(0, 50.0)
    with sqlite3.connect(tmp_path / "book.db") as other:
        other.execute("DROP TRIGGER no_update")
        other.execute("UPDATE books SET body = replace(body, '50.0', '51.0') WHERE kind = 'outcome'")

    told = summary(desk.book)
    assert told.broken == 2
    assert told.words == "Entry 2 of the book was changed after it had been made: what follows cannot be trusted."


def played(desk: Desk, days: int, *, seed: int = 11, spread: float = 1.0, shift_after: int = 10**6) -> Summary:
    """Return the summary of days whose forecasts know the plan of each day, but not its luck."""
    dice = np.random.default_rng(seed)
    for day in range(days):
        plan = 120.0 + 15.0 * dice.normal()
        desk.freeze(day, tuple(float(t) for t in plan + 20.0 * dice.normal(size=99)))
        desk.settle(day, float(plan + spread * 20.0 * dice.normal() - 20.0 * (day >= shift_after)))
    return summary(desk.book)


def test_good_forecasts_are_told_to_be_good_after_enough_days(desk: Desk) -> None:
    told = played(desk, 100, seed=10)
    claims = {claim.name: claim for claim in told.claims}

    assert {cover.name: cover.share for cover in told.coverage} == pytest.approx(
        {"50 %": 0.5, "80 %": 0.8, "90 %": 0.9, "kept": 0.9}, abs=0.1
    )
    assert claims["band"].holds
    assert all(claims[name].holds for name in ("same as yesterday", "mean of four weeks", "last 20 days"))
    assert told.spread is not None and told.spread.low is not None and told.spread.high is not None
    assert told.spread.low < 1.0 < told.spread.high
    assert "days ended inside the band for 90" in told.words
    naive = {own.name: own for own in told.naives}
    assert naive["same as yesterday"].skill > naive["last 20 days"].skill > 0.1  # luck 20 t, plan 15 t


def test_after_few_days_the_book_says_how_many_are_needed(desk: Desk) -> None:
    told = played(desk, 6)
    claims = {claim.name: claim for claim in told.claims}

    assert told.words == "6 days scored so far: too few to say how good the forecasts are; that takes about 159."
    assert (claims["band"].holds, claims["band"].needed) == (None, 153)
    assert claims["band"].words == (
        "Whether the band for nine days of ten holds what it says can be told after about 153 more days."
    )
    assert {claim.holds for claim in told.claims} == {None}


def test_forecasts_that_are_too_narrow_are_found(desk: Desk) -> None:
    told = played(desk, 80, spread=1.8)

    assert {claim.name: claim.holds for claim in told.claims}["band"] is False
    assert told.spread is not None and told.spread.low is not None and told.spread.low > 1.3
    kept, asked = told.coverage[-1], told.coverage[-2]
    assert kept.share > asked.share + 0.08


def test_a_lasting_change_is_found_and_said(desk: Desk) -> None:
    told = played(desk, 70, shift_after=50)

    assert told.watch.state == "alarm"
    assert told.watch.alarms[-1].since_index == pytest.approx(50, abs=5)
    assert told.words.endswith(told.watch.words)
    assert told.bias is not None and told.bias.mean < 0.0


def test_the_summary_can_be_written_for_other_programs(desk: Desk) -> None:
    import json

    told = played(desk, 25)
    said = json.loads(json.dumps(summary_json(told), allow_nan=False))

    assert said["verdict"] == told.words
    assert len(said["days"]) == 25
    assert said["days"][3]["seal"] == told.days[3].frozen.seal
    assert [claim["name"] for claim in said["claims"]][:2] == ["band", "bias"]


def test_an_empty_book_says_so(desk: Desk) -> None:
    told = summary(desk.book)

    assert told.words == "No day is scored yet."
    assert (told.bias, told.crps_t, told.naives, told.coverage) == (None, None, (), ())
