"""Runs of one scenario or of several, as many as are wanted, on as many workers as there are.

The result depends on the scenario, the seed and the number of runs alone: run 7 is run 7 wherever it was
made, and runs are gathered in their order. So 1, 2 or 8 workers give the same bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from time import monotonic
from typing import TYPE_CHECKING, TypedDict, Unpack

from twin.indicators.intervals import Interval, mean_interval
from twin.study.pool import Door, Here, cores, shared
from twin.study.precision import runs_enough
from twin.study.replications import WEEK_H, Gathering, Replications, Stopped
from twin.study.stream import Stream
from twin.study.work import ClockName, Task, Vary, pack, run_batch

if TYPE_CHECKING:
    from twin.scenario import Scenario

__all__ = ["How", "NothingMadeError", "Progress", "Replications", "growing", "replicate", "replicate_many"]

RUNS = 20
MOST_RUNS = 10_000  # where a precision is asked for and no number of runs
SEED = 2026

SOON_S = 0.6  # work that is done here in this time is not worth starting processes for
HERE_S = 0.1  # length of a batch here: how soon a wish to stop is heard
BATCH_S = 0.25  # the same in a worker
SHARES = 2  # each batch is so small a part of what is left for a worker that none waits long for the last


class How(TypedDict, total=False):
    """How runs are to be made; what is left out has a sensible value."""

    runs: int
    """How many; with a precision the most. (20; 10 000)"""
    seed: int
    workers: int | None
    """1: in this process; more: that many beside it; None: here if it is quick, else one a core."""
    clock: ClockName | None
    precision: float | None
    """Half-width of good t/week, as a share of its mean, at which to stop."""
    seconds: float | None
    """Time after which to stop with what there is."""
    activity: bool
    """Whether to find out what limits the line; without it a run is a little quicker."""
    vary: Vary | None
    """Gives each run a scenario of its own, for instance with inputs as uncertain as they are."""
    door: Door | None
    """Where to make the runs instead of `workers`, for instance on a cluster."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a study is: the answer so far is that of the first scenario, in t/week."""

    done: int
    wanted: int
    good: Interval
    elapsed_s: float


Tell = Callable[[Progress], None]
Stop = Callable[[], bool]


def replicate(
    scenario: Scenario,
    *,
    progress: Tell | None = None,
    stop: Stop | None = None,
    known: Replications | None = None,
    **how: Unpack[How],
) -> Replications:
    """Return runs of a scenario.

    `progress` is told after each batch; `stop` is asked often, and ends the study with the runs made so far,
    as Ctrl-C does. `known` are earlier runs of the same scenario and seed to go on from.

    Raises
    ------
    KeyboardInterrupt : Ctrl-C before the first run was done.
    NothingMadeError : `stop` said yes before the first run was done.
    """
    return replicate_many([scenario], progress=progress, stop=stop, known=None if known is None else [known], **how)[0]


def replicate_many(
    scenarios: Sequence[Scenario],
    *,
    progress: Tell | None = None,
    stop: Stop | None = None,
    known: Sequence[Replications] | None = None,
    **how: Unpack[How],
) -> list[Replications]:
    """Return as many runs of each of several scenarios, run by run with the same random numbers."""
    study = _Study(scenarios, _Plan(**_filled(how)), stop, known)
    try:
        for _ in study.grow():
            if progress is not None:
                progress(study.progress())
    except KeyboardInterrupt:
        if study.done == 0:
            raise
        study.stopped = "asked"
    return study.result()


def growing(
    scenario: Scenario, *, stop: Stop | None = None, known: Replications | None = None, **how: Unpack[How]
) -> Iterator[Replications]:
    """Yield the runs made so far, again and again, until all are made."""
    study = _Study([scenario], _Plan(**_filled(how)), stop, None if known is None else [known])
    for _ in study.grow():
        yield study.result()[0]
    if study.done:
        yield study.result()[0]


@dataclass(frozen=True, slots=True)
class _Plan:
    """`How` with nothing left out."""

    runs: int
    seed: int = SEED
    workers: int | None = None
    clock: ClockName | None = None
    precision: float | None = None
    seconds: float | None = None
    activity: bool = True
    vary: Vary | None = None
    door: Door | None = None

    def __post_init__(self) -> None:
        for name, value, least in (("runs", self.runs, 1), ("workers", self.workers, 1), ("seed", self.seed, 0)):
            if value is not None and value < least:
                raise ValueError(f"{name} must be at least {least}, not {value}")
        for name, limit in (("precision", self.precision), ("seconds", self.seconds)):
            if limit is not None and not limit > 0.0:
                raise ValueError(f"{name} must be above 0, not {limit:g}")


def _filled(how: How) -> How:
    """Return the number of runs where none is given."""
    return {"runs": RUNS if how.get("precision") is None else MOST_RUNS, **how}


class NothingMadeError(RuntimeError):
    """A study was stopped before its first run was done."""


class _Study:
    """Runs being made of one or several scenarios."""

    def __init__(
        self, scenarios: Sequence[Scenario], plan: _Plan, stop: Stop | None, known: Sequence[Replications] | None
    ) -> None:
        earlier: Sequence[Replications | None] = known or [None] * len(scenarios)
        group = int(getattr(plan.vary, "group", 0))
        self.gathered = [
            Gathering(scenario, plan.seed, plan.runs, one, group)
            for scenario, one in zip(scenarios, earlier, strict=True)
        ]
        self.stopped: Stopped = ""
        self._enough: int | None = None
        self._plan, self._stop = plan, stop
        self._packed = pack(scenarios)
        self._begun = monotonic()
        self._pace = 0.0  # seconds a run, 0 while unknown
        self._next = self.done

    @property
    def done(self) -> int:
        """Return how many runs all scenarios have."""
        return min(one.runs for one in self.gathered)

    def result(self) -> list[Replications]:
        """Return the runs that all scenarios have, and not more than were wanted."""
        if self.done == 0:
            raise NothingMadeError("stopped before the first run was done")
        runs = min(self.done, self._plan.runs) if self._enough is None else self._enough
        return [one.replications(runs, self.stopped) for one in self.gathered]

    def progress(self) -> Progress:
        """Return how far it is."""
        return Progress(
            done=self.done,
            wanted=self._plan.runs,
            good=mean_interval(WEEK_H * self.gathered[0].good),
            elapsed_s=monotonic() - self._begun,
        )

    def grow(self) -> Iterator[None]:
        """Make runs; yield whenever all scenarios have more of them."""
        if not self._ended():
            if self._begins_here():
                yield from self._try_here()
            yield from self._take(self._door(), most=self._plan.runs)
        if not self.stopped:
            self.stopped = "runs"

    def _begins_here(self) -> bool:
        """Return whether the first run is made here: where workers may not be worth it, or are yet to be started."""
        workers = self._plan.workers
        return self._plan.door is None and workers != 1 and (workers is None or not shared(workers).warm)

    def _try_here(self) -> Iterator[None]:
        """Make the first run here, for a first answer and to learn how long one takes; where few may do, those too."""
        yield from self._take(Here(), most=min(self._next + 1, self._plan.runs))
        if self._plan.workers is None and self._plan.precision is not None and self._pace > 0.0:
            yield from self._take(Here(), most=min(self._next + int(SOON_S / self._pace), self._plan.runs))

    def _take(self, door: Door, most: int) -> Iterator[None]:
        """Make runs up to number `most` at a door."""
        for task, batch in Stream(run_batch, door, self._ended).results(self._tasks(door, most)):
            self._pace = batch.took_s / task.count
            self.gathered[task.number].take(batch)
            if task.number == len(self.gathered) - 1:
                self._look_at_precision()
                yield

    def _tasks(self, door: Door, most: int) -> Iterator[Task]:
        """Cut the runs that are left into batches, the scenarios side by side."""
        plan = self._plan
        while self._next < most:
            first, count = self._next, self._batch_size(door, most - self._next)
            self._next += count
            for number in range(len(self.gathered)):
                yield Task(self._packed, plan.seed, first, count, number, plan.clock, plan.activity, plan.vary)

    def _batch_size(self, door: Door, left: int) -> int:
        """Return how many runs make a batch: short enough to hear a stop, few enough to cost nothing."""
        if self._pace <= 0.0:
            return 1
        here = isinstance(door, Here)
        soon = max(1, int((HERE_S if here else BATCH_S) / self._pace))
        part = left if here else ceil(left * len(self.gathered) / (SHARES * door.workers))
        return min(soon, part, left)

    def _door(self) -> Door:
        """Return where to make the runs that are left."""
        plan = self._plan
        if plan.door is not None:
            return plan.door
        workers = cores() if plan.workers is None else plan.workers
        left = (plan.runs - self.done) * len(self.gathered) * self._pace
        if workers == 1 or (plan.workers is None and left < SOON_S):
            return Here()
        return shared(workers)

    def _look_at_precision(self) -> None:
        """Stop where every scenario is known well enough."""
        if self._plan.precision is None:
            return
        done = self.done
        enough = [runs_enough(one.good[:done], self._plan.precision) for one in self.gathered]
        if None not in enough:
            self._enough = max(number for number in enough if number is not None)
            self.stopped = "precision"

    def _ended(self) -> bool:
        """Return whether to stop before the wanted number of runs, and remember why."""
        if self.stopped:
            return True
        if self._stop is not None and self._stop():
            self.stopped = "asked"
        elif self._plan.seconds is not None and self.done and monotonic() - self._begun > self._plan.seconds:
            self.stopped = "time"
        return bool(self.stopped)
