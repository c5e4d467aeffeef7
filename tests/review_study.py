"""How well the causes of a day are found in a log that is not perfect: many days with planted stops, once, by hand.

Run as `python tests/review_study.py 150`: prints what stands in docs/review.md.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from review_days import line, planted_day, with_gaps, with_noise

from twin.logs import Log, LogError
from twin.scenario import Scenario
from twin.study.review import review
from twin.study.review_answer import Review, Rung
from twin.study.review_verdict import MOST_TIED, largest_of

RUNS, TRUE_RUNS, TRUE_SEED = 40, 80, 7
LARGE_T = 3.0
GRADES = (0.0, 0.6, 0.8, 0.9, 1.01)


@dataclass(frozen=True, slots=True)
class Trial:
    """One day: whether the true largest cause was found, or among those named, how sure, what it was worth."""

    found: bool
    named: bool
    sure: float
    tells: bool
    worth_t: float
    missing: float


def top(answer: Review) -> str:
    """Return the largest cause."""
    best = max(answer.ladder, key=lambda one: abs(one.t), default=None)
    return "" if best is None else label(best)


def label(one: Rung) -> str:
    """Return what tells a cause from the others."""
    return f"{one.cause}, {one.station}"


def trial(scenario: Scenario, log: Log, worse: Log) -> Trial | None:
    """Return how a day is judged by a worse log; None where it made nothing to explain or the log is refused."""
    day = scenario.time.start.date()
    true = review(scenario, log, day, runs=TRUE_RUNS, seed=TRUE_SEED, sure=False)
    worth = max((abs(one.t) for one in true.ladder), default=0.0)
    if worth < 1.0:
        return None
    try:
        told = review(scenario, worse, day, runs=RUNS)
    except LogError:
        return Trial(False, False, 0.0, False, worth, 1.0)
    found = top(told) == top(true)
    tied = largest_of(told.ladder)
    named = found or (len(tied) <= MOST_TIED and top(true) in {label(one) for one in tied})
    return Trial(found, named, told.top_sure or 0.0, told.tells, worth, told.quality.missing)


def trials(days: int, noise: float, gaps: float, first: int = 1000) -> list[Trial]:
    """Return the trials of so many days with noise in durations and gaps in the records."""
    made, plain = [], line()
    for seed in range(first, first + days):
        scenario, log = planted_day(plain, seed)
        worse = with_noise(with_gaps(log, seed, gaps), seed, noise)
        if (one := trial(scenario, log, worse)) is not None:
            made.append(one)
    return made


def said(name: str, made: list[Trial]) -> str:
    """Return a row of the table, and the calibration by grades of sureness."""
    found = np.array([one.found for one in made], dtype=float)
    sure = np.array([one.sure for one in made])
    named = np.mean([one.named for one in made])
    tells = np.mean([one.tells for one in made])
    large = np.array([one.worth_t >= LARGE_T for one in made])
    largest = f"{found[large].mean():.3f} of {large.sum()}" if large.any() else "none"
    shares = f"{found.mean():.3f} | {named:.3f} | {largest} | {sure.mean():.3f} | {1.0 - tells:.2f}"
    rows = [f"| {name} | {len(made)} | {shares} |"]
    for low, high in zip(GRADES, GRADES[1:], strict=False):
        own = (sure >= low) & (sure < high)
        if own.any():
            told = f"{own.sum()} days, {sure[own].mean():.3f}, {found[own].mean():.3f}"
            rows.append(f"  sure {low:.1f} to {min(high, 1):.1f}: {told}")
    return "\n".join(rows)


def main() -> None:
    """Print the tables."""
    days = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    for name, noise, gaps in (
        ("10 % noise", 0.10, 0.0),
        ("10 % noise, 25 % missing", 0.10, 0.25),
        ("10 % noise, 10 % missing", 0.10, 0.10),
        ("30 % noise", 0.30, 0.0),
    ):
        sys.stdout.write(said(name, trials(days, noise, gaps)) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
