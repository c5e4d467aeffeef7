"""How a study of several lines has its runs made: with one seed for all, one way to tell how far it is, one to stop."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from twin.indicators.intervals import FloatArray
from twin.study.pool import Door, cores
from twin.study.replicate import SEED, Progress, replicate_many
from twin.study.replications import WEEK_H, Replications
from twin.study.work import ClockName, Vary

if TYPE_CHECKING:
    from twin.scenario import Scenario


MANY = 60  # runs that are surely worth processes of their own
AT_ONCE = 40  # lines whose models a worker keeps at hand


@dataclass(frozen=True, slots=True)
class Step:
    """How far a study is: what it is at, and how many of the runs for that are made."""

    what: str
    done: int
    wanted: int


@dataclass(frozen=True, slots=True)
class Maker:
    """Makes runs of several lines on the same random days.

    Attributes
    ----------
    seed, workers, clock, door : As for `replicate`.
    vary : Gives each run inputs of its own, as uncertain as they are; left out, all runs have the best ones.
    tell : Is told how far it is.
    stop : Is asked whether to stop with what there is.
    """

    seed: int = SEED
    workers: int | None = None
    clock: ClockName | None = None
    door: Door | None = None
    vary: Vary | None = None
    tell: Callable[[Step], None] | None = None
    stop: Callable[[], bool] | None = None

    def make(
        self, what: str, scenarios: Sequence[Scenario], runs: int, known: Sequence[Replications] | None = None
    ) -> list[Replications]:
        """Return so many runs of each scenario, earlier ones included.

        Many lines are taken a few at a time, so that a worker still knows a line when its next run comes.

        Raises
        ------
        NothingMadeError, KeyboardInterrupt : Stopped before each had a run.
        """

        made: list[Replications] = []
        for first in range(0, len(scenarios), AT_ONCE):
            part = slice(first, first + AT_ONCE)
            before = Step(what, first * runs, len(scenarios) * runs)
            made += self._part(before, scenarios[part], runs, None if known is None else known[part])
        return made

    def _part(
        self, before: Step, scenarios: Sequence[Scenario], runs: int, known: Sequence[Replications] | None
    ) -> list[Replications]:
        """Return runs of a few lines."""

        def told(progress: Progress) -> None:
            if self.tell is not None:
                done = before.done + progress.done * len(scenarios)
                self.tell(Step(before.what, done, before.wanted))

        return replicate_many(
            scenarios,
            known=known,
            progress=told,
            stop=self.stop,
            runs=runs,
            seed=self.seed,
            workers=self._workers(len(scenarios) * runs),
            clock=self.clock,
            door=self.door,
            vary=self.vary,
            activity=False,
        )

    def _workers(self, runs: int) -> int | None:
        """Return how many processes; for many runs all at once, as trying one of each line here takes long."""
        return cores() if self.workers is None and runs >= MANY else self.workers

    def with_best_inputs(self) -> Maker:
        """Return the same with every input at its best estimate."""
        return replace(self, vary=None)


def weekly(made: Replications) -> FloatArray:
    """Return the good output of each run. [t/week]"""
    return WEEK_H * made.column("line", "good")
