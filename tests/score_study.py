"""How well the book of forecasts works: on days drawn from a law that is known, and on days of the twin itself."""

import sys
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from logs_study import ROOT
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats import chisquare, kstest

from twin.line import simulate
from twin.logs.save import save_log
from twin.logs.write import log_of
from twin.scenario import apply_set, load
from twin.store import Store
from twin.study.score import band, place
from twin.study.scoreband import band_at, kept_at_first, moved, score_of
from twin.study.scorebook import Scorebook, Settled
from twin.study.scoreclaims import SURE, share_interval
from twin.study.scoresummary import summary
from twin.study.watch import watch
from twin.study.watchdays import How, take_in
from twin.study.watchlimits import limit_for

Floats = NDArray[np.float64]
RUNS = 99


@dataclass(frozen=True)
class Spread:
    """Positions of days, and how far they are from uniform."""

    days: int
    ks: float
    tenths: tuple[int, ...]
    chi: float
    inside: float


def spread_of(positions: Floats) -> Spread:
    """Return how evenly positions are spread."""
    tenths = np.histogram(positions, 10, (0.0, 1.0))[0]
    inside = float(((positions > 0.05) & (positions < 0.95)).mean())
    return Spread(
        positions.size,
        float(kstest(positions, "uniform").pvalue),
        tuple(int(n) for n in tenths),
        float(chisquare(tenths).pvalue),
        inside,
    )


def drawn_positions(days: int, seed: int) -> Floats:
    """Return positions of days whose law the forecasts know: a plan, skewed luck, and at times nothing at all."""
    dice = np.random.default_rng(seed)
    found = []
    for _ in range(days):
        plan, luck = 120.0 + 15.0 * dice.normal(), dice.gamma(3.0, 8.0, size=RUNS + 1)
        made = np.maximum(0.0, plan - luck) * (dice.random(RUNS + 1) > 0.03)
        found.append(place(made[1:], made[0], toss=dice.random()).position)
    return np.array(found)


def days_until_alarm(shift: float, lines: int, seed: int, *, carry: float = 0.0, quiet: int = 0) -> Floats:
    """Return for many lines after how many days from a shift on the sums raise an alarm, false ones before left out.

    `carry` is how much of a day's luck the next one inherits, `quiet` how many days lie before the shift.
    """
    dice, limit = np.random.default_rng(seed), limit_for(0.5, 250.0)
    up, down, luck = np.zeros(lines), np.zeros(lines), dice.normal(size=lines)
    ended, early = np.full(lines, np.inf), np.zeros(lines, dtype=bool)
    for day in range(6000):
        luck = carry * luck + np.sqrt(1.0 - carry * carry) * dice.normal(size=lines)
        score = luck + shift * (day >= quiet)
        up, down = np.maximum(0.0, up + score - 0.5), np.maximum(0.0, down - score - 0.5)
        over = np.maximum(up, down) > limit
        early |= over & (day < quiet)
        ended = np.where(np.isinf(ended) & over & (day >= quiet), day + 1.0 - quiet, ended)
        if np.isfinite(ended[~early]).all():
            break
    return ended[~early]


@dataclass(frozen=True)
class Kept:
    """Coverage of the band that keeps its share, and of the forecast's own, over many lines."""

    before: float
    first_20: float
    first_40: float
    first_100: float
    first_200: float
    later: float
    own_200: float
    quiet_width: float
    wider: float


def kept_share(shift: float, lines: int, seed: int, at: int = 250, days: int = 500) -> Kept:
    """Return how many days end inside the bands before and after a shift, for forecasts of RUNS runs."""
    dice = np.random.default_rng(seed)
    inside, own, width = (np.zeros((lines, days)) for _ in range(3))
    for line in range(lines):
        kept = kept_at_first()
        for day in range(days):
            runs = dice.normal(120.0, 20.0, size=RUNS)
            actual = dice.normal(120.0, 20.0) + 20.0 * shift * (day >= at)
            said, plain = band_at(runs, kept.ends), band(runs)
            inside[line, day], own[line, day] = said[0] <= actual <= said[1], plain[0] <= actual <= plain[1]
            width[line, day] = (said[1] - said[0]) / (plain[1] - plain[0])
            score = score_of(place(runs, actual, toss=dice.random()).position, RUNS)
            kept = moved(kept, said, actual, score)
    return Kept(
        float(inside[:, :at].mean()),
        float(inside[:, at : at + 20].mean()),
        float(inside[:, at : at + 40].mean()),
        float(inside[:, at : at + 100].mean()),
        float(inside[:, at : at + 200].mean()),
        float(inside[:, at + 200 :].mean()),
        float(own[:, at : at + 200].mean()),
        float(width[:, 50:at].mean()),
        float(width[:, at + 100 :].mean()),
    )


def claimed_wrongly(lines: int, seed: int, days: int = 250) -> float:
    """Return the share of lines with right forecasts of which it is said within a year that they are too narrow."""
    inside = (np.random.default_rng(seed).random((lines, days)) < 0.9).cumsum(axis=1)
    limits = [
        max((hits for hits in range(day + 1) if (share_interval(hits, day, SURE).high or 1.0) < 0.9), default=-1)
        for day in range(20, days + 1)
    ]
    return float((inside[:, 19:] <= np.array(limits)).any(axis=1).mean())


def twin_days(name: str, log_days: int, run: int, changed: tuple[str, str] | None = None) -> tuple[Settled, ...]:
    """Return the days of a plant's own log, or of that of a changed plant, in the forecasts of the unchanged one."""
    scenario = load(ROOT / "scenarios" / f"{name}.yaml")
    real = apply_set(scenario, "time.length", f"{log_days} days")
    if changed is not None:
        real = apply_set(real, *changed)
    trace = simulate(real, run=run, trace=True).trace
    assert trace is not None
    log = log_of(trace, real)
    when = datetime.fromtimestamp(log.span[1] + 1800.0, UTC)
    with TemporaryDirectory() as folder:
        save_log(log, Path(folder) / "log")
        store = Store(f"sqlite:///{folder}/book.db")
        book = Scorebook(store, scenario.name, now=lambda: when)
        take_in(scenario, Path(folder) / "log", book, How(59, seed=99 + run, look_back=log_days), now=lambda: when)
        found = summary(book, in_time=False).days
        store.close()
    return found


def told(*lines: str) -> None:
    """Write lines of a table."""
    sys.stdout.write("\n".join(lines) + "\n")
    sys.stdout.flush()


def of_laws() -> None:
    """Print what is found on days of known laws."""
    for seed in range(3):
        told(f"500 drawn days: {spread_of(drawn_positions(500, seed))}")
    for shift in (0.5, 1.0, 1.5, 2.0):
        at_once, later = days_until_alarm(shift, 20_000, 1), days_until_alarm(shift, 20_000, 2, quiet=60)
        told(
            f"shift {shift} sd: found after {at_once.mean():.1f} days, after 60 quiet days {later.mean():.1f}, "
            f"median {np.median(later):.0f}, nine of ten within {np.quantile(later, 0.9):.0f}"
        )
    for carry in (0.0, 0.1, 0.2, 0.3):
        own, found = days_until_alarm(0.0, 4000, 3, carry=carry), days_until_alarm(1.0, 4000, 4, carry=carry)
        told(f"carry {carry}: false alarm in {own.mean():.0f} days, 1 sd in {found.mean():.1f}")
    for shift in (0.0, -1.0, 1.0, -2.0):
        told(f"coverage, shift {shift}: {kept_share(shift, 200, 5)}")
    told(f"right forecasts called too narrow within a year: {claimed_wrongly(5000, 6):.3f}")


def of_the_twin(names: list[str], runs: int) -> None:
    """Print what is found on days of the twin's own logs, and of logs of a changed plant."""
    for name in names:
        days = [day for run in range(runs) for day in twin_days(name, 40, run)]
        positions = np.array([day.position for day in days])
        scores = ndtri(positions)
        neighbours = np.corrcoef(scores[:-1], scores[1:])[0, 1]
        kept = np.mean([day.inside_kept for day in days])
        told(f"{name}: {spread_of(positions)} kept {kept:.3f}")
        told(f"   scores: sd {scores.std():.2f} mean {scores.mean():.2f} neighbours {neighbours:.2f}")
    for run in range(runs):
        days_ = twin_days("hollin_weir", 40, run, ("stations.slitter.per_ring", "3.0 min"))
        own = watch([day.position for day in days_])
        told(f"slower slitter, run {run}: {[alarm.index + 1 for alarm in own.alarms][:3]} {own.words}")


if __name__ == "__main__":
    if "twin" in sys.argv:
        of_the_twin(sys.argv[2:] or ["hollin_weir", "marram", "skerry"], 3)
    else:
        of_laws()
