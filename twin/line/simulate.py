"""One run of a scenario: the door to the line."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from twin.line import clock_loop
from twin.line.build import build, store_names
from twin.line.engine import compiled_available
from twin.line.model import NO_SCRIPTS, Model, Scripts, model_of
from twin.line.ready import line_for, line_once
from twin.line.rules import state as st
from twin.line.totals import Totals, totals_of
from twin.scenario.faults import Fault, ScenarioError
from twin.scenario.models import Scenario

if TYPE_CHECKING:
    from twin.line.draws import Draws
    from twin.line.rules.state import Line
    from twin.line.trace import Trace

Clock = Literal["simpy", "compiled", "pure"]


@dataclass(frozen=True)
class Run:
    """What one run gave.

    Attributes
    ----------
    scenario, seed, run, clock : What made it.
    totals : Counts.
    trace : Everything that happened, as tables; None if not asked for.
    """

    scenario: Scenario
    seed: int
    run: int
    clock: str
    totals: Totals
    trace: Trace | None


def simulate(
    scenario: Scenario,
    *,
    seed: int = 2026,
    run: int = 0,
    clock: Clock | None = None,
    trace: bool = False,
    activity: bool = False,
    scripts: Scripts | None = None,
    then: Sequence[int] = (),
    once: bool = False,
) -> Run:
    """Simulate one run.

    Parameters
    ----------
    scenario : The line; it is not changed.
    seed, run : What the random numbers are a function of; runs of one seed are independent.
    clock : "simpy", "compiled" or "pure"; all give the same bytes. Left out: SimPy where a trace is asked for, else
        the compiled loop, or the plain one where nothing could be compiled.
    trace : Keep everything that happens.
    activity : Keep the changes of state, from which the momentary bottleneck is found.
    scripts : What really happened, in place of draws.
    then : Runs that will be asked for next; their numbers are drawn along, which is quicker.
    once : The scenario is made for this run alone, so its line need not be kept for another.

    Raises
    ------
    ScenarioError : The line never gets on, or so slowly that the run would hardly ever end.
    """
    chosen = clock or ("simpy" if trace else "compiled")
    pure = chosen == "pure" or not compiled_available()
    model = model_of(scenario)
    lent: AbstractContextManager[tuple[Line, Draws]]
    if trace:  # which keeps its line
        lent = nullcontext(build(model, seed, run, scripts or NO_SCRIPTS, pure=pure))
    elif once or scripts is not None:
        lent = line_once(model, seed, run, scripts or NO_SCRIPTS, pure=pure)
    else:
        lent = line_for(model, seed, run, pure=pure, then=then)
    with collector_resting(), lent as (line, draws), told_of_endless(line, model):
        line.trace = trace
        line.active_log = activity
        if chosen == "simpy":
            from twin.line import clock_simpy

            clock_simpy.run(line, draws, model, pure=pure)
        else:
            clock_loop.run(line, draws, model, pure=pure)
            chosen = "pure" if pure else "compiled"
        totals = totals_of(line, model, store_names(model))
        return Run(scenario, seed, run, chosen, totals, _trace(line, model) if trace else None)


@contextmanager
def told_of_endless(line: Line, model: Model) -> Iterator[None]:
    """Tell of a line that never gets on as of the fault of its scenario that it is."""
    try:
        yield
    except OverflowError as endless:
        busiest = max(line.machines, key=lambda machine: (machine.kind != st.SUPPLY, machine.coils))
        place = f"stations.{model.layout.stations[busiest.station]}"
        way_out = "Give every station a time, or the supply an interval, that is not next to nothing"
        raise ScenarioError([Fault(model.scenario.file, 0, place, "", "", way_out, str(endless))]) from None


@contextmanager
def collector_resting() -> Iterator[None]:
    """Let the garbage collector rest: a run makes many small lasting objects and no circles among them."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _trace(line: Line, model: Model) -> Trace:
    from twin.line.trace import trace_of

    return trace_of(line, model)
