"""`passline compare`: does it pay, and what would be better?"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated, Any

import typer

from twin.cli.faults import STOPPED, UsersFault, faults_told, say
from twin.cli.files import refuse_unwritable, told_if_unwritable, write_json, write_whole
from twin.cli.inputs import HELP, LEAST_RUNS, Inputs, doubt, drawn_words, varied
from twin.cli.run import Clock, changed
from twin.cli.ticker import Ticker

if TYPE_CHECKING:
    from twin.scenario import Scenario
    from twin.study.compare import Asked, Comparison
    from twin.study.futures import Doubts
    from twin.study.inputs import Inputs as Known
    from twin.study.maker import Maker
    from twin.study.uncertain import Uncertain

DOUBTS = ("capex", "contribution", "delivery")


def compare(
    file: Annotated[Path, typer.Argument(help="The scenario, a YAML file.")],
    option: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME",
            help="An option of the scenario, or a sum 'A + B'; may be given again. Left out: all options, and pairs of "
            "them that free one limit after the other.",
        ),
    ] = None,
    sets: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="PATH=VALUE", help="Change one value of today's line; may be given again."),
    ] = None,
    runs: Annotated[int, typer.Option(min=2, help="Runs that each line gets.")] = 20,
    most: Annotated[int, typer.Option(min=2, help="Runs at which to stop even if it is not sure which is best.")] = 100,
    seed: Annotated[int, typer.Option(min=0, help="Seed of all random numbers.")] = 2026,
    workers: Annotated[
        int | None, typer.Option(min=1, help="Processes; left out: one a core where it pays. Same numbers.")
    ] = None,
    clock: Annotated[Clock | None, typer.Option(help="What drives the rules; same numbers.")] = None,
    seconds: Annotated[float | None, typer.Option(min=0.001, help="Stop after this time with what there is.")] = None,
    doubt_of: Annotated[
        list[str] | None,
        typer.Option(
            "--doubt",
            metavar="WHAT=SHARE",
            help="How far off capex, contribution or delivery may be, as 'capex=15 %'; may be given again.",
        ),
    ] = None,
    ladder: Annotated[bool, typer.Option("--ladder", help="Try the cheaper moves that the line allows too.")] = False,
    stairs: Annotated[
        bool, typer.Option("--stairs", help="Relieve today's limit until another takes over, then that one.")
    ] = False,
    turns: Annotated[
        bool, typer.Option("--turns", help="Find with which inputs of the line another choice would be the better one.")
    ] = False,
    json: Annotated[
        str | None, typer.Option("--json", metavar="OUT", help="Write the results as JSON; - prints them alone.")
    ] = None,
    report: Annotated[
        Path | None, typer.Option(metavar="OUT.html", help="Write a report of two pages, one file in itself.")
    ] = None,
    inputs: Annotated[Inputs, typer.Option(help=HELP)] = Inputs.BEST,
) -> None:
    """Put options beside today on the same random weeks: what they add, what limits then, whether they pay.

    Ctrl-C stops and keeps what was found so far.
    """
    with faults_told():
        refuse_unwritable(json, report)
        scenario = changed(file, [], sets or [])
        vary, known = varied(scenario, inputs)
        runs = runs if vary is None else max(runs, LEAST_RUNS)
        asked = _asked(scenario, option or [], runs, most, _doubts(doubt_of or []))
        with _ticking() as ticker:
            maker = replace(_maker(seed, workers, clock, seconds, ticker), vary=vary)
            found = _found(_study(scenario, asked, maker, bool(option)), maker, _Extra(ladder, stairs, turns))
        _show(found.with_doubt(vary, known), json, report)


def _doubt(found: Comparison, vary: Uncertain, known: Known) -> dict[str, Any]:
    """Return what is not known of what the best design adds, or of what today makes where that is the best."""
    from twin.study.maker import weekly

    best, today = found.best.made, found.today.made
    runs = min(best.runs, today.runs)
    adds = weekly(best)[:runs] - weekly(today)[:runs] if found.best.options else weekly(today)
    return {"of": list(found.best.options), **doubt(adds, vary, known, found.seed, "t/week")}


def _doubts(given: list[str]) -> Doubts:
    """Read how far off the money may be."""
    from twin.study.futures import Doubts

    found: dict[str, float] = {}
    for one in given:
        what, _, text = one.partition("=")
        plain = text.strip()
        try:
            share = float(plain.removesuffix("%")) / (100.0 if plain.endswith("%") else 1.0)
            if what.strip() not in DOUBTS:
                raise ValueError
            Doubts(**{what.strip(): share})
        except ValueError as fault:
            ways = f"write one of {', '.join(DOUBTS)} with a share from 0 to 200 %, as 'capex=15 %'"
            raise UsersFault(f"--doubt '{one}' cannot be read: {ways}") from fault
        found[what.strip()] = share
    return Doubts(**found)


def _asked(scenario: Scenario, option: list[str], runs: int, most: int, doubts: Doubts) -> Asked:
    """Return what is to be compared."""
    from twin.study.compare import Asked, read_options

    if not scenario.options:
        raise UsersFault(f"{scenario.file}: has no options, so there is nothing to compare. Write some under options:")
    return Asked(read_options(scenario, option), runs=runs, most=max(runs, most), doubts=doubts)


@contextmanager
def _ticking() -> Iterator[Ticker]:
    """Tell how far it is until it is done."""
    ticker = Ticker()
    try:
        yield ticker
    except KeyboardInterrupt as stop:
        say("Stopped before every line had a run: nothing to show.")
        raise typer.Exit(STOPPED) from stop
    finally:
        ticker.done()


def _maker(seed: int, workers: int | None, clock: Clock | None, seconds: float | None, ticker: Ticker) -> Maker:
    """Return how the runs are made."""
    from twin.study.maker import Maker

    ends = None if seconds is None else monotonic() + seconds
    return Maker(
        seed=seed,
        workers=workers,
        clock=None if clock is None else clock.value,
        tell=lambda step: ticker.tell(f"{step.what}: {step.done} of {step.wanted} runs"),
        stop=None if ends is None else lambda: monotonic() > ends,
    )


def _study(scenario: Scenario, asked: Asked, maker: Maker, named: bool) -> Comparison:
    """Make the comparison; without names, propose pairs too."""
    from twin.study.compare import compare as study
    from twin.study.propose import proposed
    from twin.study.replicate import NothingMadeError

    try:
        return study(scenario, asked, maker) if named else proposed(scenario, asked, maker)
    except NothingMadeError as fault:
        raise UsersFault("no line had a run in the time given: give it more seconds") from fault


@dataclass(frozen=True, slots=True)
class Found:
    """A comparison with its plain results."""

    comparison: Comparison
    results: dict[str, Any]

    def with_doubt(self, vary: Uncertain | None, known: Known | None) -> Found:
        """Return the same with what is not known of its answer, where inputs are uncertain."""
        if vary is None or known is None:
            return self
        return replace(self, results={**self.results, "inputs": _doubt(self.comparison, vary, known)})


@dataclass(frozen=True, slots=True)
class _Extra:
    """What is asked for beyond the comparison."""

    ladder: bool
    stairs: bool
    turns: bool


def _found(comparison: Comparison, maker: Maker, extra: _Extra) -> Found:
    """Return the results, with ladder, stairs and turns where they are asked for."""
    from twin.study.advice import advice
    from twin.study.compared import compared
    from twin.study.ladder import ladder as climb
    from twin.study.ladder import plain_ladder
    from twin.study.stairs import plain_stairs
    from twin.study.stairs import stairs as hand_over
    from twin.study.turning import plain_turns, turning

    results = compared(comparison)
    now = comparison.today.limits
    if extra.ladder and now is not None and not comparison.stopped:
        found = _unless_stopped(lambda: climb(comparison.today.made, now, maker, known=comparison.made))
        results["ladder"] = None if found is None else plain_ladder(found)
    if extra.stairs and now is not None and not comparison.stopped:
        steps = _unless_stopped(lambda: hand_over(comparison.today.made, maker, now=now))
        results["stairs"] = None if steps is None else plain_stairs(steps)
    told = advice(comparison)
    if extra.turns and told is not None and not comparison.stopped:
        found = _unless_stopped(lambda: turning(comparison, told, maker))
        results["turns"] = [] if found is None else plain_turns(found)
    return Found(comparison, results)


def _unless_stopped(work: Callable[[], Any]) -> Any:  # noqa: ANN401 - whatever the work gives
    """Return what work gives, nothing if it was stopped."""
    from twin.study.replicate import NothingMadeError

    try:
        return work()
    except (NothingMadeError, KeyboardInterrupt):
        return None


def _show(found: Found, json: str | None, report: Path | None) -> None:
    """Print the answer for people, write it for programs and as a report."""
    if found.comparison.stopped:
        say("Stopped before it was sure: the numbers are of the runs made until then.")
    if json != "-":
        from twin.cli.show_compare import show_compare

        show_compare(found.results)
    if json is not None:
        write_json(found.results, json)
    if report is not None:
        from dashboard.options_report import report_of

        text = report_of(found.results, doubt=drawn_words(found.results)).encode()
        with told_if_unwritable(report):
            write_whole(report, lambda out: out.write(text))
        say(f"{report}: the report; it prints on two pages.")
