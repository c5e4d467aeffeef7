"""Many runs: the same bytes however they are made, and no more of them than are needed."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from study_texts import TANDEM

from twin.indicators import columns, measure, summarise
from twin.line import simulate
from twin.scenario import Scenario, apply_set, loads
from twin.study import pool
from twin.study.pool import Here
from twin.study.precision import look_ahead, relative_half_widths
from twin.study.replicate import NothingMadeError, Progress, growing, replicate, replicate_many


@pytest.fixture(scope="module", autouse=True)
def no_process_left() -> Iterator[None]:
    """End the warm processes when the tests of this file are done."""
    yield
    pool.close()


@pytest.fixture(scope="module")
def tandem() -> Scenario:
    """Return the smallest line that blocks and starves."""
    return loads(TANDEM)


def test_one_two_and_eight_workers_give_the_same_bytes(tandem: Scenario) -> None:
    digests = {replicate(tandem, runs=19, workers=workers).digest for workers in (1, 2, 8)}

    assert len(digests) == 1


def test_either_clock_gives_the_same_bytes(tandem: Scenario) -> None:
    simpy, pure = (replicate(tandem, runs=3, workers=1, clock=clock).digest for clock in ("simpy", "pure"))

    assert simpy == pure


def test_run_seven_is_run_seven_wherever_it_was_made(tandem: Scenario) -> None:
    made = replicate(tandem, runs=9, seed=5, workers=2)

    assert made.values[7].tobytes() == measure(simulate(tandem, seed=5, run=7, activity=True).totals).tobytes()


def test_runs_and_seeds_differ(tandem: Scenario) -> None:
    one, other = replicate(tandem, runs=2, seed=1), replicate(tandem, runs=2, seed=2)

    busy = ("stations", "third", "share", "running")
    assert len({*one.column(*busy), *other.column(*busy)}) == 4


def test_what_is_gathered_is_what_summarise_makes_of_the_totals(tandem: Scenario) -> None:
    totals = [simulate(tandem, seed=2026, run=run, activity=True).totals for run in range(4)]

    assert replicate(tandem, runs=4).summary() == summarise(totals, tandem, 2026)


def test_the_interval_holds_the_exact_output(tandem: Scenario) -> None:
    """Hillier and Boling 1967: 22/39 coils of 1 t an hour; 99 % interval of 40 runs."""
    good = replicate(tandem, runs=40).column("line", "good")
    standard_error = good.std(ddof=1) / np.sqrt(good.size)

    assert abs(good.mean() - 22.0 / 39.0) <= 2.708 * standard_error  # t of 39 degrees of freedom at 0.995


def test_designs_are_compared_on_the_same_random_numbers(tandem: Scenario) -> None:
    """Paired runs of two designs that hardly differ move together."""
    wider = apply_set(tandem, "stores.second gap.capacity", "1")
    today, changed = (made.column("line", "good") for made in replicate_many([tandem, wider], runs=12))

    assert np.corrcoef(today, changed)[0, 1] > 0.5
    assert bool((changed >= today).all())  # one more place never loses output (Muth 1979)


def test_several_scenarios_are_made_as_if_alone(tandem: Scenario) -> None:
    wider = apply_set(tandem, "stores.second gap.capacity", "3")
    together = replicate_many([tandem, wider], runs=7, workers=2)

    assert [made.digest for made in together] == [replicate(one, runs=7).digest for one in (tandem, wider)]


def test_it_stops_at_the_precision_asked_for(tandem: Scenario) -> None:
    made = replicate(tandem, precision=0.02, workers=1)
    shares = relative_half_widths(made.column("line", "good"))
    first = int(np.flatnonzero(shares[19:] <= 0.02)[0]) + 20

    assert made.stopped == "precision"
    assert made.runs >= first + look_ahead(first)
    assert shares[-1] <= 0.02


def test_precision_stops_at_the_same_run_on_any_number_of_workers(tandem: Scenario) -> None:
    assert replicate(tandem, precision=0.02, workers=1).digest == replicate(tandem, precision=0.02, workers=2).digest


def test_a_limit_of_runs_holds_before_the_precision(tandem: Scenario) -> None:
    made = replicate(tandem, precision=1e-6, runs=21)

    assert (made.runs, made.stopped) == (21, "runs")


def test_out_of_time_it_keeps_what_was_made(tandem: Scenario) -> None:
    made = replicate(tandem, runs=10**6, workers=1, seconds=0.2)

    assert made.stopped == "time"
    assert 1 <= made.runs < 10**6
    assert made.values.tobytes() == replicate(tandem, runs=made.runs, workers=1).values.tobytes()


@pytest.mark.parametrize("workers", [1, 2])
def test_a_stop_keeps_what_was_made(tandem: Scenario, workers: int) -> None:
    told: list[Progress] = []
    made = replicate(tandem, runs=10**6, workers=workers, progress=told.append, stop=lambda: len(told) >= 3)

    assert made.stopped == "asked"
    assert made.runs == told[-1].done
    assert (told[-1].wanted, told[-1].good) == (10**6, made.good)


def test_ctrl_c_keeps_what_was_made(tandem: Scenario) -> None:
    def press(progress: Progress) -> None:
        if progress.done >= 3:
            raise KeyboardInterrupt

    made = replicate(tandem, runs=10**6, workers=1, progress=press)

    assert made.stopped == "asked"
    assert made.runs >= 3


def test_stopped_before_the_first_run_there_is_nothing_to_keep(tandem: Scenario) -> None:
    with pytest.raises(NothingMadeError):
        replicate(tandem, stop=lambda: True)

    assert list(growing(tandem, stop=lambda: True)) == []


def test_a_growing_answer_only_adds_runs(tandem: Scenario) -> None:
    seen = list(growing(tandem, runs=6, workers=1))

    counts = [made.runs for made in seen]
    assert counts == sorted(counts)
    assert (counts[-1], seen[-1].stopped) == (6, "runs")
    assert all(made.values.tobytes() == seen[-1].values[: made.runs].tobytes() for made in seen)


def test_going_on_from_earlier_runs_gives_the_same_bytes(tandem: Scenario) -> None:
    earlier = replicate(tandem, runs=4)
    made = replicate(tandem, runs=9, known=earlier)

    assert made.digest == replicate(tandem, runs=9).digest


def test_runs_of_another_seed_are_not_gone_on_from(tandem: Scenario) -> None:
    with pytest.raises(ValueError, match="start anew"):
        replicate(tandem, runs=9, seed=2, known=replicate(tandem, runs=2, seed=1))


def longer_each_run(scenario: Scenario, seed: int, run: int) -> Scenario:
    """Return a scenario of its own for each run."""
    del seed
    return scenario if run == 0 else apply_set(scenario, "stations.first.time", f"{run} h")


def test_each_run_may_have_a_scenario_of_its_own(tandem: Scenario) -> None:
    made = replicate(tandem, runs=4, vary=longer_each_run, workers=1)

    alone = simulate(longer_each_run(tandem, 2026, 3), run=3, activity=True).totals
    assert made.values[3].tobytes() == measure(alone).tobytes()
    assert not np.array_equal(made.values[3], replicate(tandem, runs=4).values[3])


def test_the_door_can_be_given(tandem: Scenario) -> None:
    assert replicate(tandem, runs=3, door=Here()).digest == replicate(tandem, runs=3).digest


def test_nonsense_is_refused_before_anything_is_run(tandem: Scenario) -> None:
    with pytest.raises(ValueError, match="runs must be at least 1, not 0"):
        replicate(tandem, runs=0)
    with pytest.raises(ValueError, match="precision must be above 0, not -1"):
        replicate(tandem, precision=-1.0)
    with pytest.raises(KeyError, match="no indicator at line > gold"):
        replicate(tandem, runs=1).column("line", "gold")


def test_good_days_add_up_to_the_good_of_the_run(tandem: Scenario) -> None:
    made = replicate(tandem, runs=2)

    hours = made.length_s / 3600.0
    assert made.day_good_kg.shape == (2, made.day_start_s.size)
    assert made.day_good_kg.sum(axis=1) / 1000.0 / hours == pytest.approx(made.column("line", "good"))


def test_the_numbers_of_a_run_are_small(tandem: Scenario) -> None:
    """What is kept of a run is a row of numbers: 10 000 runs of a line of this size take a few megabytes."""
    made = replicate(tandem, runs=2)

    assert made.values.shape == (2, len(columns(made.layout)))
    assert replace(made, values=made.values).values.nbytes < 2 * 2000
